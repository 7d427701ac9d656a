//! The voices: for every sound of the band a table of its modes, each value with its source or `from memory`.

mod bass;
mod bell;
mod body;
mod clave;
mod click;
mod conga;
mod membrane;
mod piano;
mod shaker;
mod shell;
mod touch;

use super::modal::Recipe;
use crate::rhythm::{Hand, Instrument, Stroke, Weight};
use touch::Touch;

/// One sound that the band can make.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Sound {
    /// A stroke, with its hand or the right one.
    Drum(Stroke),
    Band {
        instrument: Instrument,
        weight: Weight,
        /// MIDI note number for bass and piano; 0 for the rest.
        note: u8,
    },
}

impl Sound {
    /// How a sound is made and how loud it is.
    pub fn recipe(self, take: u32) -> Recipe {
        let touch = Touch::new(self.seed(take));
        match self {
            Sound::Drum(stroke) => conga::recipe(stroke, hand(stroke), &touch),
            Sound::Band {
                instrument,
                weight,
                note,
            } => match instrument {
                Instrument::Clave => clave::recipe(weight, &touch),
                Instrument::Bell => bell::recipe(weight, &touch),
                Instrument::Shell => shell::recipe(weight, &touch),
                Instrument::Bass => bass::recipe(note, weight, &touch),
                Instrument::Piano => piano::recipe(note, weight, &touch),
                Instrument::Shaker => shaker::recipe(weight, &touch),
                Instrument::Click => click::recipe(weight),
            },
        }
    }

    /// A number of its own for every sound and take, the same on every machine.
    pub fn seed(self, take: u32) -> u64 {
        let (family, a, b, c, d) = match self {
            Sound::Drum(s) => (
                0,
                s.drum as u64,
                s.tone as u64,
                s.weight as u64,
                hand(s) as u64,
            ),
            Sound::Band {
                instrument,
                weight,
                note,
            } => (1, instrument as u64, weight as u64, u64::from(note), 0),
        };
        [family, a, b, c, d, u64::from(take)]
            .into_iter()
            .fold(0, |sum, part| sum * 257 + part + 1)
    }
}

fn hand(stroke: Stroke) -> Hand {
    stroke.hand.unwrap_or(Hand::Right)
}

/// Speed of sound in air, m/s, at 20 degrees.
const AIR: f64 = 343.0;

/// Frequency of a MIDI note number: A4 = 69 = 440 Hz, equal temperament.
fn note_hz(note: u8) -> f64 {
    440.0 * 2f64.powf((f64::from(note) - 69.0) / 12.0)
}

/// How much a weight changes the loudness, dB (from memory: a ghost stays audible in a quiet band; an accent is struck
/// with about 1.7 times the speed, as drummers' accents were measured: Dahl 2000, *Acta Acustica* 86).
fn weight_db(weight: Weight) -> f64 {
    match weight {
        Weight::Ghost => -9.0,
        Weight::Plain => 0.0,
        Weight::Accent => 4.6,
    }
}

/// How much longer or shorter the contact is: harder strokes are briefer and so brighter (Fletcher & Rossing, ch. 18
/// and 20 for mallets; the amounts from memory).
fn weight_contact(weight: Weight) -> f64 {
    match weight {
        Weight::Ghost => 1.35,
        Weight::Plain => 1.0,
        Weight::Accent => 0.75,
    }
}

/// Share of a frequency that a force pulse of half a sine, `contact` seconds long, still excites: the pulse's
/// spectrum relative to its value at 0 Hz (Fletcher & Rossing, ch. 20, contact of hammer and bar).
fn pulse_spectrum(hz: f64, contact: f64) -> f64 {
    let x = hz * contact;
    let away = 1.0 - 4.0 * x * x;
    // At x = 1/2 both numerator and denominator vanish; the limit is pi / 4.
    let value = if away.abs() < 1e-6 {
        std::f64::consts::FRAC_PI_4
    } else {
        ((std::f64::consts::PI * x).cos() / away).abs()
    };
    // The zeros belong to an ideal pulse; a hand's pulse has none: never less than the envelope of the lobes.
    value.max(0.5 / (1.0 + 4.0 * x * x))
}
