//! The voice of the bass.

use super::super::modal::{Burst, Partial, Recipe};
use super::body::{harmonic, response};
use super::{Touch, note_hz, weight_contact, weight_db};
use crate::rhythm::Weight;
use std::f64::consts::PI;

/// Where the finger plucks, as a share of the string's length (from memory).
const PLUCK: f64 = 0.16;
/// The open strings, MIDI notes: E, A, D, G (common practice).
const OPEN: [u8; 4] = [28, 33, 38, 43];
/// Stiffness of an open string. Kemp 2020 (*SN Applied Sciences* 2:636) gives about 100 cents at the tenth harmonic of
/// a wound string stopped in its middle, which makes 1.2e-3, and a quarter of that on the open string.
const STIFFNESS: f64 = 0.000_29;
/// Harmonics that are heard.
const HARMONICS: u32 = 36;
/// The string swings up and down as well as across, which the bridge takes up less: cents, gain and factor on the
/// decay of each (Weinreich 1977 for the two; the values from memory).
const SWINGS: [(f64, f64, f64); 2] = [(0.0, 1.0, 0.8), (0.9, 0.4, 1.5)];
/// The lowest harmonics come up only while the string and the body take turns, within a few of their periods; recorded
/// basses take 24 to 39 ms from a tenth to nine tenths (`cargo bench --bench sound -- recordings`). Seconds in which what
/// they lack falls by 60 dB, and the highest harmonic that swells so.
const COMING: f64 = 0.170;
const COMING_UP: f64 = 6.0;
/// Up to this harmonic the slower swing is heard (from memory).
const SLOW: f64 = 8.0;

pub(super) fn recipe(note: u8, weight: Weight, touch: &Touch) -> Recipe {
    let lowest = note_hz(note);
    let open = OPEN.into_iter().rev().find(|o| *o <= note);
    // Half the length is four times as stiff.
    let stiffness = STIFFNESS * open.map_or(1.0, |o| (lowest / note_hz(o)).powi(2));
    let soft = 1.0 / (0.9 * weight_contact(weight) * touch.contact);
    let mut partials = Vec::new();
    for n in (1..=HARMONICS).map(f64::from) {
        let hz = harmonic(lowest, n, stiffness);
        let body = response(hz, 55.0);
        // A plucked string's spectrum falls as the square of the harmonic and misses those with a node under the
        // finger (Fletcher & Rossing ch. 2); at the bridge it falls as n only. The finger's width rounds it off.
        let gain = (n * PI * (PLUCK + 0.2 * touch.place)).sin().abs() / n
            * (-hz / (900.0 * soft)).exp()
            * body;
        // What the body takes up, the string loses sooner.
        let t60 = 1.5 * touch.ring / (1.0 + 0.12 * (n - 1.0)) / body.sqrt();
        let swings = if n <= SLOW { &SWINGS[..] } else { &SWINGS[..1] };
        for (cents, share, slow) in swings {
            partials.push(Partial {
                hz: hz * 2f64.powf(cents / 1200.0),
                gain: gain * share,
                t60: t60 * slow,
            });
        }
        if n <= COMING_UP {
            let all: f64 = swings.iter().map(|(_, share, _)| share).sum();
            partials.push(Partial {
                hz,
                gain: -gain * all,
                t60: COMING / n.sqrt(),
            });
        }
    }
    Recipe {
        level: -24.5 + weight_db(weight) + touch.level,
        partials,
        // The finger leaving the string, and the thump of the body.
        bursts: vec![
            Burst::new(1400.0, 0.7, 0.008, 0.0005, 0.012),
            Burst::new(110.0, 1.2, 0.03, 0.012, 0.060),
        ],
        attack: 0.0015,
        longest: 1.3,
        ..Recipe::default()
    }
}
