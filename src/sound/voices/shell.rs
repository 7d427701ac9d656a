use super::super::modal::{Burst, Partial, Recipe};
use super::{Touch, Voicing, weight_contact, weight_db};
use crate::rhythm::Weight;

/// A thin metal shell struck with a stick (ratio to the lowest mode, gain, decay in seconds). No published table was
/// found: all from memory.
const MODES: [(f64, f64, f64); 8] = [
    (1.0, 0.55, 0.075),
    (1.38, 0.80, 0.090),
    (1.91, 1.00, 0.080),
    (2.57, 0.70, 0.065),
    (3.43, 0.55, 0.050),
    (4.66, 0.42, 0.040),
    (6.08, 0.28, 0.030),
    (7.95, 0.16, 0.022),
];
const LOWEST_HZ: f64 = 930.0;

pub(super) fn voicing(weight: Weight, touch: &Touch) -> Voicing {
    let bright = 1.0 / weight_contact(weight);
    let partials = MODES.map(|(ratio, gain, t60)| Partial {
        hz: LOWEST_HZ * ratio * touch.pitch,
        gain: gain * bright.powf(ratio.log2()) * (1.0 + touch.place * ratio),
        t60: t60 * touch.ring,
    });
    Voicing {
        recipe: Recipe {
            partials: partials.to_vec(),
            bursts: vec![Burst {
                hz: 3800.0 * bright,
                q: 0.7,
                gain: 0.35,
                attack: 0.0002,
                t60: 0.016,
            }],
            attack: 0.0002,
            longest: 0.25,
        },
        level: -30.5 + weight_db(weight) + touch.level,
    }
}
