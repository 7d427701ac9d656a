//! How the pulses lie between the beats: even or swung.

use crate::rhythm::Grid;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// How the pulses lie between the beats.
///
/// A feel moves the second pulse of each pair in the grids that go in pairs (eighths and sixteenths). Triplets and
/// 6/8 have no pairs and are always played straight.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Feel {
    /// All pulses equally long.
    #[default]
    Straight,
    /// The second pulse of a pair comes late: the first lasts `ratio` times as long as the second. 1 is straight,
    /// 2 is a triplet feel, 3 a dotted one. Measured ratios in ensembles lie between 1 and 3.5 and fall towards 1
    /// as the tempo rises (Friberg & Sundström 2002, *Music Perception* 19(3)).
    Swing(f64),
    /// The second pulse of a pair comes early by this share of a pulse, 0 (straight) to 0.5.
    Push(f64),
}

impl Feel {
    /// The feels to choose from: straight, light and full swing, and a push (how far, from memory).
    pub const CHOICES: [Feel; 4] = [
        Feel::Straight,
        Feel::Swing(1.5),
        Feel::Swing(2.0),
        Feel::Push(0.1),
    ];

    /// The next of [`Feel::CHOICES`], round and round.
    pub fn next(self) -> Feel {
        let now = Feel::CHOICES.iter().position(|f| *f == self);
        Feel::CHOICES[now.map_or(0, |n| (n + 1) % Feel::CHOICES.len())]
    }

    /// Does the grid go in pairs, so that the feel can be heard?
    pub fn moves(grid: Grid) -> bool {
        matches!(grid, Grid::Eighths | Grid::Sixteenths)
    }

    /// Where a pulse falls, in pulse lengths from the first. Values out of range are brought into it.
    pub fn place(self, grid: Grid, pulse: usize) -> f64 {
        let straight = pulse as f64;
        if pulse.is_multiple_of(2) || !Feel::moves(grid) {
            return straight;
        }
        match self {
            Feel::Straight => straight,
            Feel::Swing(ratio) => {
                let ratio = bounded(ratio, 1.0, 3.5);
                straight - 1.0 + 2.0 * ratio / (1.0 + ratio)
            }
            Feel::Push(share) => straight - bounded(share, 0.0, 0.5),
        }
    }
}

/// The value, or the end of the range that is nearest to it; of what is no number the lower one.
fn bounded(value: f64, low: f64, high: f64) -> f64 {
    if value.is_nan() {
        low
    } else {
        value.clamp(low, high)
    }
}

/// As it is read: `straight`, `swing 2` (long to short), `push 0.1` (shares of a pulse).
impl fmt::Display for Feel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Feel::Straight => f.write_str("straight"),
            Feel::Swing(ratio) => write!(f, "swing {ratio}"),
            Feel::Push(share) => write!(f, "push {share}"),
        }
    }
}

/// A word that names no feel.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error(
    "a feel is `straight`, `swing` with how long the first of two pulses is against the second (1 to 3.5, as in \
     `swing=2`), or `push` with how early the second comes (0 to 0.5 of a pulse, as in `push=0.1`)"
)]
pub struct FeelError;

impl FromStr for Feel {
    type Err = FeelError;

    fn from_str(text: &str) -> Result<Feel, FeelError> {
        let (word, amount) = match text.trim().split_once(['=', ' ']) {
            None => (text.trim(), None),
            Some((word, amount)) => (word, Some(amount.trim().parse().map_err(|_| FeelError)?)),
        };
        let within = |amount: f64, low: f64, high: f64| {
            let ok = (low..=high).contains(&amount);
            ok.then_some(amount).ok_or(FeelError)
        };
        match (word, amount) {
            ("straight", None) => Ok(Feel::Straight),
            ("swing", amount) => Ok(Feel::Swing(within(amount.unwrap_or(2.0), 1.0, 3.5)?)),
            ("push", amount) => Ok(Feel::Push(within(amount.unwrap_or(0.1), 0.0, 0.5)?)),
            _ => Err(FeelError),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_swing_of_two_to_one_is_the_triplet_feel() {
        // Long and short of 2:1 put the second note on the last third of the beat, by definition.
        let at = Feel::Swing(2.0).place(Grid::Eighths, 1);
        assert!((at / 2.0 - 2.0 / 3.0).abs() < 1e-12);
        assert_eq!(Feel::Swing(1.0).place(Grid::Eighths, 5), 5.0);
        assert_eq!(Feel::Swing(2.0).place(Grid::Eighths, 4), 4.0);
    }

    #[test]
    fn feels_are_read_as_they_are_written() {
        for feel in Feel::CHOICES {
            assert_eq!(feel.to_string().parse(), Ok(feel));
        }
        assert_eq!("swing=1.5".parse(), Ok(Feel::Swing(1.5)));
        for bad in [
            "",
            "swung",
            "swing=9",
            "push=x",
            "push=-1",
            "straight 2",
            "swing=NaN",
        ] {
            assert_eq!(bad.parse::<Feel>(), Err(FeelError), "{bad}");
        }
    }

    #[test]
    fn pulses_keep_their_order_and_the_beats_their_place_in_every_feel() {
        for feel in [
            Feel::Straight,
            Feel::Swing(3.0),
            Feel::Swing(99.0),
            Feel::Swing(f64::NAN),
            Feel::Push(0.3),
            Feel::Push(7.0),
        ] {
            for grid in Grid::ALL {
                for pulse in 0..40 {
                    assert!(feel.place(grid, pulse) < feel.place(grid, pulse + 1));
                    if pulse % grid.pulses_per_beat() == 0 {
                        assert_eq!(feel.place(grid, pulse), pulse as f64);
                    }
                }
            }
        }
    }
}
