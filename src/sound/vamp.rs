//! Chords under bass and piano.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// Major or minor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mode {
    /// Home chord with the major third.
    Major,
    /// Home chord with the minor third.
    Minor,
}

/// Two chords that take turns bar by bar under bass and piano: the home chord, then the dominant seventh on the
/// fifth degree.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Vamp {
    /// Key note, semitones above C, 0 to 11 (other values are read modulo 12).
    pub key: u8,
    /// Major or minor.
    pub mode: Mode,
    /// Stay on the home chord.
    pub one_chord: bool,
}

impl Default for Vamp {
    /// C minor, two chords.
    fn default() -> Vamp {
        Vamp {
            key: 0,
            mode: Mode::Minor,
            one_chord: false,
        }
    }
}

/// Names of the twelve keys, from C.
const KEYS: [&str; 12] = [
    "C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B",
];

/// As it is read: `C`, `Bb`; minor with `m`: `Am`.
impl fmt::Display for Vamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mode = match self.mode {
            Mode::Major => "",
            Mode::Minor => "m",
        };
        write!(f, "{}{mode}", KEYS[usize::from(self.key % 12)])
    }
}

/// A word that names no key.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error(
    "a key is a letter from A to G, with `b` or `#` where needed, and `m` for minor: C, Bb, F#m"
)]
pub struct KeyError;

impl FromStr for Vamp {
    type Err = KeyError;

    fn from_str(text: &str) -> Result<Vamp, KeyError> {
        let text = text.trim();
        let (note, mode) = match text.strip_suffix('m') {
            Some(note) => (note, Mode::Minor),
            None => (text, Mode::Major),
        };
        let mut letters = note.chars();
        let letter = letters.next().ok_or(KeyError)?.to_ascii_uppercase();
        // Each letter so many semitones above C.
        let natural = "C D EF G A B".find(letter).ok_or(KeyError)? as u8;
        let key = match letters.as_str() {
            "" => natural,
            "b" => (natural + 11) % 12,
            "#" => (natural + 1) % 12,
            _ => return Err(KeyError),
        };
        Ok(Vamp {
            key,
            mode,
            one_chord: false,
        })
    }
}

/// A chord with the scale that is played over it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Chord {
    /// Semitones above C, 0 to 11.
    root: u8,
    scale: [u8; 8],
}

impl Vamp {
    /// A fourth higher: twelve steps go through all keys.
    pub fn up_a_fourth(self) -> Vamp {
        Vamp {
            key: (self.key % 12 + 5) % 12,
            ..self
        }
    }

    /// The chord of a bar, counted from 0.
    pub(super) fn chord(self, bar: usize) -> Chord {
        if self.one_chord || bar.is_multiple_of(2) {
            let scale = match self.mode {
                Mode::Major => [0, 2, 4, 5, 7, 9, 11, 12],
                Mode::Minor => [0, 2, 3, 5, 7, 8, 10, 12],
            };
            Chord {
                root: self.key % 12,
                scale,
            }
        } else {
            let sixth = match self.mode {
                Mode::Major => 9,
                Mode::Minor => 8,
            };
            Chord {
                root: (self.key % 12 + 7) % 12,
                scale: [0, 2, 4, 5, 7, sixth, 10, 12],
            }
        }
    }
}

impl Chord {
    /// The note of a scale degree, 1 (root) to 8 (octave), as a MIDI note number at or above `lowest`. Degrees out
    /// of range are read as the nearest one.
    pub(super) fn note(self, degree: u8, lowest: u8) -> u8 {
        let root = lowest + (12 + self.root - lowest % 12) % 12;
        root + self.scale[usize::from(degree.clamp(1, 8) - 1)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_dominant_seventh_of_c_is_g_b_d_f() {
        for mode in [Mode::Major, Mode::Minor] {
            let vamp = Vamp {
                key: 0,
                mode,
                one_chord: false,
            };
            let chord = vamp.chord(1);
            let notes: Vec<u8> = [1, 3, 5, 7]
                .iter()
                .map(|d| chord.note(*d, 60) % 12)
                .collect();
            assert_eq!(notes, [7, 11, 2, 5]);
        }
    }

    #[test]
    fn keys_are_read_as_they_are_written() {
        let mut vamp = Vamp::default();
        for _ in 0..12 {
            vamp = vamp.up_a_fourth();
            assert_eq!(vamp.to_string().parse(), Ok(vamp));
        }
        assert_eq!(vamp, Vamp::default());
        assert_eq!("F#m".parse::<Vamp>().unwrap().key, 6);
        assert_eq!("Cb".parse::<Vamp>().unwrap().key, 11);
        for bad in ["", "m", "H", "Cx", "C major", "é"] {
            assert_eq!(bad.parse::<Vamp>(), Err(KeyError), "{bad}");
        }
    }

    #[test]
    fn roots_lie_in_the_octave_above_the_lowest_note_in_every_key() {
        for key in 0..12 {
            let chord = Vamp {
                key,
                ..Vamp::default()
            }
            .chord(0);
            let root = chord.note(1, 28);
            assert!((28..40).contains(&root));
            assert_eq!(root % 12, key);
            assert_eq!(chord.note(8, 28), root + 12);
        }
    }
}
