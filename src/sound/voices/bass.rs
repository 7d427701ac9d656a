use super::super::modal::{Burst, Partial, Recipe};
use super::{Touch, Voicing, note_hz, weight_contact, weight_db};
use crate::rhythm::Weight;
use std::f64::consts::PI;

/// Where the finger plucks, as a share of the string's length (from memory).
const PLUCK: f64 = 0.16;
/// Stiffness of the string (Fletcher & Rossing ch. 2 for the formula, the value from memory).
const STIFFNESS: f64 = 0.000_12;
/// Harmonics that are heard.
const HARMONICS: u32 = 24;

pub(super) fn voicing(note: u8, weight: Weight, touch: &Touch) -> Voicing {
    let lowest = note_hz(note);
    let soft = 1.0 / (0.9 * weight_contact(weight) * touch.contact);
    let partials = (1..=HARMONICS).map(|n| {
        let n = f64::from(n);
        let hz = lowest * n * (1.0 + STIFFNESS * n * n).sqrt();
        // A plucked string's spectrum falls as the square of the harmonic and misses those with a node under the
        // finger (Fletcher & Rossing ch. 2); at the bridge it falls as n only. The finger's width rounds it off.
        let gain =
            (n * PI * (PLUCK + 0.2 * touch.place)).sin().abs() / n * (-hz / (900.0 * soft)).exp();
        Partial {
            hz,
            gain,
            t60: 1.5 * touch.ring / (1.0 + 0.12 * (n - 1.0)),
        }
    });
    Voicing {
        recipe: Recipe {
            partials: partials.collect(),
            bursts: vec![Burst {
                hz: 700.0,
                q: 0.8,
                gain: 0.05,
                attack: 0.0005,
                t60: 0.018,
            }],
            attack: 0.0015,
            longest: 1.3,
        },
        level: -26.5 + weight_db(weight) + touch.level,
    }
}
