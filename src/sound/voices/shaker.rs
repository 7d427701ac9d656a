use super::super::modal::{Burst, Recipe};
use super::{Touch, Voicing, weight_db};
use crate::rhythm::Weight;

/// Grains thrown against the wall of a small closed shell: a band of noise round the shell's resonance (the model of
/// Cook 1997, *Computer Music Journal* 21(3), reduced to its average; 3200 Hz is his maraca, the higher band from
/// memory).
pub(super) fn voicing(weight: Weight, touch: &Touch) -> Voicing {
    let length = match weight {
        Weight::Ghost => 0.8,
        Weight::Plain => 1.0,
        Weight::Accent => 1.3,
    };
    let band = |hz: f64, q, gain, t60: f64| Burst {
        hz: hz * touch.pitch,
        q,
        gain,
        attack: 0.0025,
        t60: t60 * length * touch.ring,
    };
    Voicing {
        recipe: Recipe {
            partials: Vec::new(),
            bursts: vec![
                band(3200.0, 1.6, 0.45, 0.075),
                band(7400.0, 1.2, 1.0, 0.085),
            ],
            attack: 0.0,
            longest: 0.25,
        },
        level: -35.0 + weight_db(weight) + touch.level,
    }
}
