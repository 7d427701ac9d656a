//! The voice of the piano.

use super::super::modal::{Burst, Partial, Recipe};
use super::body::{harmonic, response};
use super::{Touch, note_hz, weight_contact, weight_db};
use crate::rhythm::Weight;
use std::f64::consts::PI;

/// Where the hammer strikes, as a share of the string's length (Fletcher & Rossing ch. 12: about an eighth).
const HAMMER: f64 = 1.0 / 8.0;
/// Contact of the hammer at middle C, seconds, and how it shortens with the frequency: 4 ms in the lowest octave to 1 ms
/// in the highest (Askenfelt & Jansson 1990), and half of that in a hard blow, as a montuno is played (from memory).
const CONTACT: f64 = 0.001;
const SHORTENS: f64 = 0.3;
const MIDDLE_C: f64 = 261.63;
/// The three strings of one note are a little apart in pitch; together they lose their sound fast, and what swings
/// against the rest stays (Weinreich 1977): cents, gain and factor on the decay of each (values from memory).
const STRINGS: [(f64, f64, f64); 3] = [(0.0, 1.0, 0.55), (1.1, 0.35, 1.0), (-0.8, 0.25, 1.4)];
/// Up to this harmonic the slower strings are heard, up to this frequency anything (from memory).
const SLOW: f64 = 6.0;
const HIGHEST_HZ: f64 = 9000.0;

/// Stiffness of the strings of a note: the sum of what the bridges of bass and treble ask for (Rigaud, David & Daudet
/// 2013, *J. Acoust. Soc. Am.* 133; the coefficients from memory).
fn stiffness(note: u8) -> f64 {
    let m = f64::from(note);
    (-0.0847 * m - 5.82).exp() + (0.0926 * m - 13.64).exp()
}

/// Share of a frequency in the blow of a hammer: felt stiffens as it is pressed (Hall & Askenfelt 1988, *J. Acoust. Soc.
/// Am.* 83), which makes a sharper pulse than half a sine; how sharp is fitted to recordings.
fn blow(hz: f64, contact: f64) -> f64 {
    (1.0 + (1.2 * hz * contact).powi(2)).sqrt().recip()
}

pub(super) fn recipe(note: u8, weight: Weight, touch: &Touch) -> Recipe {
    let lowest = note_hz(note);
    let register = (MIDDLE_C / lowest).powf(SHORTENS);
    let contact = CONTACT * register * weight_contact(weight) * touch.contact;
    let mut partials = Vec::new();
    for n in (1..=40).map(f64::from) {
        let hz = harmonic(lowest, n, stiffness(note));
        if hz > HIGHEST_HZ {
            break;
        }
        let board = response(hz, 37.0);
        let gain = (n * PI * HAMMER).sin().abs().max(0.15) * blow(hz, contact) * board;
        // Single partials fall by 1 to 100 dB a second over the keyboard, unevenly (Martin 1947, *J. Acoust. Soc. Am.*
        // 19): here 20 to 30 for the lowest at middle C. What the board takes up, the string loses sooner.
        let t60 =
            2.6 * (MIDDLE_C / lowest).sqrt() * touch.ring / (1.0 + 0.10 * (n - 1.0)) / board.sqrt();
        let strings = if n <= SLOW {
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
    Recipe {
        level: -30.5 + weight_db(weight) + touch.level,
        partials,
        // The knock of hammer and key, which runs into the board (from memory).
        bursts: vec![
            Burst::new(180.0, 1.0, 0.20, 0.004, 0.250),
            Burst::new(900.0, 0.6, 0.06, 0.0006, 0.025),
        ],
        attack: 0.001,
        longest: 0.9,
        ..Recipe::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stiffness_is_of_the_order_that_is_measured() {
        // Fletcher & Rossing, ch. 12, and Fletcher 1964: some 4e-4 in the middle of the keyboard, least in the octaves
        // below it (Schuck & Young 1943), and more than 1e-3 two octaves above.
        let middle = stiffness(60);
        assert!((2e-4..6e-4).contains(&middle), "{middle}");
        assert!(stiffness(45) < middle && stiffness(84) > 1e-3);
    }
}
