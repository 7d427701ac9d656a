use crate::rhythm::Grid;
use serde::{Deserialize, Serialize};

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
    /// The name used on the command line and on screen.
    pub const fn name(self) -> &'static str {
        match self {
            Feel::Straight => "straight",
            Feel::Swing(_) => "swing",
            Feel::Push(_) => "push",
        }
    }

    /// Where a pulse falls, in pulse lengths from the first. Values out of range are brought into it.
    pub fn place(self, grid: Grid, pulse: usize) -> f64 {
        let straight = pulse as f64;
        if pulse.is_multiple_of(2) || !matches!(grid, Grid::Eighths | Grid::Sixteenths) {
            return straight;
        }
        match self {
            Feel::Straight => straight,
            Feel::Swing(ratio) => {
                let ratio = if ratio.is_nan() {
                    1.0
                } else {
                    ratio.clamp(1.0, 4.0)
                };
                straight - 1.0 + 2.0 * ratio / (1.0 + ratio)
            }
            Feel::Push(share) => {
                let share = if share.is_nan() {
                    0.0
                } else {
                    share.clamp(0.0, 0.5)
                };
                straight - share
            }
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
