//! Where a part meets the clave, pulse by pulse.

use super::Clave;
use crate::rhythm::Grid;
use serde::{Deserialize, Serialize};
use std::ops::Range;

/// What a part and the clave do on one pulse.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Alignment {
    /// Both strike.
    Locks,
    /// The part strikes between the strokes of the clave, as most strokes of every part do: nothing speaks against it.
    Between,
    /// A stroke of a part that lies on the wrong side: on the right side it would lock, here it does not.
    Crosses,
    /// The clave strikes alone: the part leaves it space.
    Space,
    /// Neither strikes.
    Rest,
}

/// How `onsets` (any length, begun where `clave` begins) meet the clave, one entry a pulse, where the part lies as it
/// should: nothing crosses.
pub fn locks(onsets: &[bool], clave: Clave, grid: Grid) -> Vec<Alignment> {
    meets(onsets, clave, grid, 0..0)
}

/// How `onsets` meet the clave where the part lies on the wrong side within the pulses `wrong`: a stroke there that
/// would lock with the clave turned round crosses it. The two directions of a clave have no stroke in common, in
/// either family and on every grid, so no stroke both locks and crosses.
pub fn meets(onsets: &[bool], clave: Clave, grid: Grid, wrong: Range<usize>) -> Vec<Alignment> {
    let own = clave.onsets(grid);
    let turned = clave.begun_later(1).onsets(grid);
    onsets
        .iter()
        .enumerate()
        .map(|(pulse, struck)| {
            let at = pulse % own.len();
            match (*struck, own[at]) {
                (true, true) => Alignment::Locks,
                (true, false) if turned[at] && wrong.contains(&pulse) => Alignment::Crosses,
                (true, false) => Alignment::Between,
                (false, true) => Alignment::Space,
                (false, false) => Alignment::Rest,
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
                            .all(|m| matches!(m, Alignment::Locks | Alignment::Rest))
                    );
                    let other = clave.begun_later(1).onsets(grid);
                    let (lies_well, turned) = (
                        locks(&other, clave, grid),
                        meets(&other, clave, grid, 0..other.len()),
                    );
                    assert!(!turned.contains(&Alignment::Locks));
                    let count = |met: &[Alignment], how| met.iter().filter(|m| **m == how).count();
                    assert_eq!(count(&turned, Alignment::Crosses), 5);
                    assert_eq!(count(&lies_well, Alignment::Between), 5);
                    assert_eq!(count(&lies_well, Alignment::Crosses), 0);
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
        assert_eq!((met[3], met[6]), (Alignment::Locks, Alignment::Locks));
        assert_eq!((met[11], met[14]), (Alignment::Between, Alignment::Between));
        assert_eq!((met[0], met[10]), (Alignment::Space, Alignment::Space));
        assert_eq!(met[1], Alignment::Rest);
    }

    #[test]
    fn only_what_lies_on_the_wrong_side_crosses() {
        let clave = Clave {
            family: Family::Son,
            direction: Direction::TwoThree,
        };
        // Slaps on 2 and 3 belong on the two side (strokes 2 and 4 of son 2-3); laid on the second bar they lie wrong.
        let slaps: Vec<bool> = "..x.x.....x.x...".bytes().map(|c| c == b'x').collect();
        let met = meets(&slaps, clave, Grid::Eighths, 8..16);
        assert_eq!((met[2], met[4]), (Alignment::Locks, Alignment::Locks));
        assert_eq!((met[10], met[12]), (Alignment::Crosses, Alignment::Crosses));
        let as_it_should = locks(&slaps, clave, Grid::Eighths);
        assert_eq!(as_it_should[10], Alignment::Between);
    }
}
