use super::super::modal::{Burst, Partial, Recipe};
use super::{Touch, Voicing, note_hz, pulse_spectrum, weight_contact, weight_db};
use crate::rhythm::Weight;
use std::f64::consts::PI;

/// Where the hammer strikes, as a share of the string's length (Fletcher & Rossing ch. 12: about an eighth).
const HAMMER: f64 = 1.0 / 8.0;
/// Stiffness of a string in the middle of the keyboard (Fletcher & Rossing ch. 12: of this order).
const STIFFNESS: f64 = 0.000_4;
/// Contact of the hammer, seconds (Askenfelt & Jansson 1990: 1 to 4 ms over the keyboard).
const CONTACT: f64 = 0.001_4;
/// The strings of one note are a little apart in pitch and die at two speeds (Weinreich 1977): cents, gain and factor
/// on the decay of each (values from memory).
const STRINGS: [(f64, f64, f64); 2] = [(0.0, 1.0, 0.55), (1.6, 0.5, 1.0)];

pub(super) fn voicing(note: u8, weight: Weight, touch: &Touch) -> Voicing {
    let lowest = note_hz(note);
    let contact = CONTACT * weight_contact(weight) * touch.contact;
    let mut partials = Vec::new();
    for n in (1..=16).map(f64::from) {
        let hz = lowest * n * (1.0 + STIFFNESS * n * n).sqrt();
        if hz > 7000.0 {
            break;
        }
        let gain = (n * PI * HAMMER).sin().abs().max(0.05) * pulse_spectrum(hz, contact) / n.sqrt();
        let t60 = 2.6 * (262.0 / lowest).sqrt() * touch.ring / (1.0 + 0.18 * (n - 1.0));
        let strings = if n <= 6.0 {
            &STRINGS[..]
        } else {
            &STRINGS[..1]
        };
        for (cents, share, slow) in strings {
            partials.push(Partial {
                hz: hz * 2f64.powf(cents / 1200.0),
                gain: gain * share,
                t60: t60 * slow,
            });
        }
    }
    Voicing {
        recipe: Recipe {
            partials,
            bursts: vec![Burst {
                hz: 420.0,
                q: 0.7,
                gain: 0.12,
                attack: 0.0006,
                t60: 0.030,
            }],
            attack: 0.001,
            longest: 0.9,
        },
        level: -28.5 + weight_db(weight) + touch.level,
    }
}
