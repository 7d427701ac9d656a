//! Where a part meets the clave, pulse by pulse.

use super::Clave;
use crate::rhythm::Grid;
use serde::{Deserialize, Serialize};

/// What a part and the clave do on one pulse.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Meeting {
    /// Both strike.
    Locks,
    /// The part strikes where only the clave turned round would strike: it speaks for the other direction.
    Crosses,
    /// The clave strikes alone: the part leaves it space.
    Space,
    /// The part strikes between the strokes of either direction.
    Between,
    /// Neither strikes.
    Rest,
}

impl Meeting {
    /// As a player says it.
    pub const fn name(self) -> &'static str {
        match self {
            Meeting::Locks => "locks with the clave",
            Meeting::Crosses => "crosses the clave",
            Meeting::Space => "leaves the clave space",
            Meeting::Between => "goes between the clave strokes",
            Meeting::Rest => "rest",
        }
    }
}

/// How `onsets` (any length, begun where `clave` begins) meet the clave, one entry a pulse. The two directions of
/// a clave have no stroke in common, in either family and on every grid, so no stroke both locks and crosses.
pub fn locks(onsets: &[bool], clave: Clave, grid: Grid) -> Vec<Meeting> {
    let own = clave.onsets(grid);
    let turned = clave.begun_later(1).onsets(grid);
    onsets
        .iter()
        .enumerate()
        .map(|(pulse, struck)| {
            let at = pulse % own.len();
            match (*struck, own[at], turned[at]) {
                (true, true, _) => Meeting::Locks,
                (true, false, true) => Meeting::Crosses,
                (true, false, false) => Meeting::Between,
                (false, true, _) => Meeting::Space,
                (false, false, _) => Meeting::Rest,
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clave::{Direction, Family};

    #[test]
    fn the_two_directions_never_strike_together() {
        for grid in Grid::ALL {
            for family in Family::ALL {
                for direction in Direction::ALL {
                    let clave = Clave { family, direction };
                    let same = locks(&clave.onsets(grid), clave, grid);
                    assert!(
                        same.iter()
                            .all(|m| matches!(m, Meeting::Locks | Meeting::Rest))
                    );
                    let other = locks(&clave.begun_later(1).onsets(grid), clave, grid);
                    assert!(!other.contains(&Meeting::Locks));
                    assert_eq!(other.iter().filter(|m| **m == Meeting::Crosses).count(), 5);
                }
            }
        }
    }

    #[test]
    fn a_bass_tumbao_locks_with_bombo_and_ponche_on_the_three_side() {
        let clave = Clave {
            family: Family::Son,
            direction: Direction::ThreeTwo,
        };
        let bass: Vec<bool> = "...x..x....x..x.".bytes().map(|c| c == b'x').collect();
        let met = locks(&bass, clave, Grid::Eighths);
        // son clave 3-2 strikes 0 3 6 10 12, son 2-3 strikes 2 4 8 11 14 (Toussaint 2013, ch. 7)
        assert_eq!((met[3], met[6]), (Meeting::Locks, Meeting::Locks));
        assert_eq!((met[11], met[14]), (Meeting::Crosses, Meeting::Crosses));
        assert_eq!((met[0], met[10]), (Meeting::Space, Meeting::Space));
        assert_eq!(met[1], Meeting::Rest);
    }
}
