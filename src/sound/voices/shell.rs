//! The voice of the shell.

use super::super::modal::{Burst, Partial, Recipe};
use super::{AIR, Touch, pulse_spectrum, weight_contact, weight_db};
use crate::rhythm::Weight;
use std::f64::consts::{PI, TAU};

/// The steel shell of a small timbale, metres: radius, length and thickness of the wall (14 by 6 1/2 inches, common
/// practice, no source; the thickness from memory).
const RADIUS: f64 = 0.178;
const LENGTH: f64 = 0.165;
const WALL: f64 = 0.001;
/// Speed of sound along a thin steel bar, m/s, and Poisson's ratio (Fletcher & Rossing, ch. 2 and 3).
const STEEL: f64 = 5050.0;
const POISSON: f64 = 0.3;
/// Half waves along the shell and whole waves round it, up to which modes are counted.
const ALONG: u32 = 5;
const ROUND: u32 = 24;
/// Contact of the shank of a stick with metal, seconds (from memory).
const CONTACT: f64 = 0.000_16;
/// Where it strikes, as a share of the length from the upper rim (from memory).
const PLACE: f64 = 0.36;
/// Decay of the slowest modes, seconds: the shell hangs in a stand and one hand lies on it or near it (from memory).
const T60: f64 = 0.11;

/// Frequency, Hz, of the mode with `along` half waves along the shell and `round` waves round it: the theory of
/// Donnell, Mushtari and Vlasov for a thin cylinder whose ends keep round (Leissa 1973, *Vibration of Shells*, NASA
/// SP-288, ch. 2). The rims and hoops keep them round, but not quite.
fn hz(along: u32, round: u32) -> f64 {
    let lengthwise = (f64::from(along) * PI * RADIUS / LENGTH).powi(2);
    let all = f64::from(round * round) + lengthwise;
    let stretching = (lengthwise / all).powi(2);
    let bending = (WALL / RADIUS).powi(2) / (12.0 * (1.0 - POISSON * POISSON)) * all * all;
    STEEL / (TAU * RADIUS) * (stretching + bending).sqrt()
}

/// How well a mode sounds into the room: waves round the shell that are shorter than those in the air cancel out
/// nearly (Fletcher & Rossing, ch. 7: sound from cylinders; the form that joins both sides is from memory).
fn radiation(hz: f64, round: u32) -> f64 {
    let longer = (TAU * hz * RADIUS / AIR / f64::from(round)).powi(4);
    longer / (1.0 + longer)
}

pub(super) fn recipe(weight: Weight, touch: &Touch) -> Recipe {
    let bright = 1.0 / weight_contact(weight);
    let contact = CONTACT * weight_contact(weight) * touch.contact;
    let modes = (1..=ALONG).flat_map(|along| (2..=ROUND).map(move |round| (along, round)));
    let partials = modes.map(|(along, round)| {
        let hz = hz(along, round);
        let shape = (f64::from(along) * PI * (PLACE + touch.place)).sin().abs();
        Partial {
            hz: hz * touch.pitch,
            // The same blow moves a stiffer mode less.
            gain: shape * radiation(hz, round) * pulse_spectrum(hz, contact) / hz,
            // Losses grow with the frequency (from memory).
            t60: T60 * touch.ring * (1000.0 / hz).powf(0.6),
        }
    });
    Recipe {
        level: -33.0 + weight_db(weight) + touch.level,
        partials: partials.collect(),
        bursts: vec![Burst::new(3800.0 * bright, 0.7, STICK, 0.0002, 0.008)],
        attack: 0.0002,
        scattered: true,
        longest: 0.25,
        ..Recipe::default()
    }
}

/// The knock of the wood itself, in the unit of the modes (from memory).
const STICK: f64 = 0.000_06;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn many_waves_round_the_shell_bend_it_like_a_ring() {
        // The limit for many waves (Rayleigh, Theory of Sound, section 233, with the stiffness of a plate): their
        // number squared times thickness over radius, over the root of 12 (1 - 0.09).
        let waves = 300u32;
        let ring = STEEL / (TAU * RADIUS) * f64::from(waves * waves) * (WALL / RADIUS)
            / (12.0 * 0.91f64).sqrt();
        assert!((hz(1, waves) / ring - 1.0).abs() < 1e-3);
    }

    #[test]
    fn the_lowest_mode_has_eight_waves() {
        // By hand from the formula: 11.49 for the length, 75.5 in all; 0.0232 stretching and 0.0165 bending.
        let lowest = (2..=ROUND).min_by(|a, b| hz(1, *a).total_cmp(&hz(1, *b)));
        assert_eq!(lowest, Some(8));
        assert!((hz(1, 8) - 899.0).abs() < 5.0, "{}", hz(1, 8));
    }
}
