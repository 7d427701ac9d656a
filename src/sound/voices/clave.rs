//! The voice of the clave.

use super::super::modal::{Burst, Partial, Recipe};
use super::{Touch, pulse_spectrum, weight_contact, weight_db};
use crate::rhythm::Weight;

/// Bending modes of a bar free at both ends, relative to the lowest (Fletcher & Rossing, *The Physics of Musical
/// Instruments*, ch. 2): with how strongly a stroke near the middle excites them and how long they ring (from recordings, as
/// `cargo bench --bench sound -- recordings` reads them).
const MODES: [(f64, f64, f64); 4] = [
    (1.0, 1.0, 0.085),
    (2.756, 0.18, 0.045),
    (5.404, 0.20, 0.020),
    (8.933, 0.08, 0.014),
];
/// Pitch of the pair of sticks, Hz: recorded ones lie from 1875 to 2423.
const LOWEST_HZ: f64 = 2300.0;
/// Contact of hard wood on hard wood, seconds (from memory).
const CONTACT: f64 = 0.000_12;

pub(super) fn recipe(weight: Weight, touch: &Touch) -> Recipe {
    let contact = CONTACT * weight_contact(weight) * touch.contact;
    let partials = MODES.map(|(ratio, gain, t60)| {
        let hz = LOWEST_HZ * ratio * touch.pitch;
        Partial {
            hz,
            gain: gain * pulse_spectrum(hz, contact),
            t60: t60 * touch.ring,
        }
    });
    Recipe {
        level: -27.5 + weight_db(weight) + touch.level,
        partials: partials.to_vec(),
        bursts: vec![Burst::new(3600.0, 0.8, 0.10, 0.0002, 0.010)],
        attack: 0.0002,
        longest: 0.3,
        ..Recipe::default()
    }
}
