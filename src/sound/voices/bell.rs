use super::super::modal::{Burst, Partial, Recipe};
use super::{Touch, Voicing, weight_db};
use crate::rhythm::Weight;

/// A large hand bell. No published table of modes was found; ratios, gains and decays are from memory: two strong
/// modes about a fifth apart over a cluster of weaker ones that do not fit any scale.
struct Place {
    lowest_hz: f64,
    /// Ratio to the lowest mode, gain, decay in seconds.
    modes: &'static [(f64, f64, f64)],
    level: f64,
}

/// Struck on the mouth: the low, open sound.
const MOUTH: Place = Place {
    lowest_hz: 562.0,
    modes: &[
        (1.0, 1.0, 0.42),
        (1.503, 0.85, 0.36),
        (2.11, 0.18, 0.20),
        (2.74, 0.32, 0.22),
        (3.61, 0.22, 0.15),
        (4.42, 0.20, 0.12),
        (5.87, 0.14, 0.09),
        (7.31, 0.09, 0.07),
        (9.02, 0.06, 0.05),
    ],
    level: -27.0,
};

/// Struck near the closed end: the high, short sound.
const NECK: Place = Place {
    lowest_hz: 845.0,
    modes: &[
        (1.0, 0.75, 0.15),
        (1.82, 1.0, 0.13),
        (2.41, 0.42, 0.10),
        (2.94, 0.50, 0.09),
        (3.91, 0.38, 0.08),
        (4.86, 0.26, 0.06),
        (6.02, 0.18, 0.05),
        (7.60, 0.10, 0.04),
    ],
    level: -29.5,
};

pub(super) fn voicing(weight: Weight, touch: &Touch) -> Voicing {
    // On this instrument an accent is the low sound of the mouth, everything else the high sound of the neck.
    let (place, db) = match weight {
        Weight::Accent => (&MOUTH, 0.0),
        other => (&NECK, weight_db(other)),
    };
    let partials = place.modes.iter().map(|&(ratio, gain, t60)| Partial {
        hz: place.lowest_hz * ratio * touch.pitch,
        gain: gain * (1.0 + touch.place * ratio),
        t60: t60 * touch.ring,
    });
    Voicing {
        recipe: Recipe {
            partials: partials.collect(),
            bursts: vec![Burst {
                hz: 2600.0,
                q: 0.9,
                gain: 0.22,
                attack: 0.0003,
                t60: 0.012,
            }],
            attack: 0.0003,
            longest: 0.6,
            ..Recipe::default()
        },
        level: place.level + db + touch.level,
    }
}
