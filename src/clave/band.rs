//! What the band plays around the drums.

use super::{Clave, NamedPart, PARTS};
use crate::rhythm::{Grid, Instrument, Line};

/// What `instrument` may play over `clave` on `grid`, part by part, the usual one first: those written for that very grid go
/// before those stretched to it. Empty where it has none there. The two forms of the clave are not a choice: it plays
/// the form of `clave`.
pub fn band_lines(
    grid: Grid,
    clave: Clave,
    instrument: Instrument,
) -> Vec<(&'static NamedPart, Line)> {
    let played = |p: &NamedPart| match instrument {
        Instrument::Clave => Some(p) == clave.part(grid),
        _ => p.instrument == Some(instrument),
    };
    let parts = PARTS.iter().filter(|p| played(p));
    let lines = parts.filter_map(|p| Some((p, p.line(grid, clave.direction)?)));
    let mut lines: Vec<_> = lines.collect();
    lines.sort_by_key(|(p, _)| p.grid != grid);
    lines
}

/// The usual lines of `instruments` over `clave`; instruments without a part on `grid` are left out.
pub fn band(grid: Grid, clave: Clave, instruments: &[Instrument]) -> Vec<Line> {
    let usual = |i: &Instrument| band_lines(grid, clave, *i).into_iter().next();
    instruments
        .iter()
        .filter_map(usual)
        .map(|(_, line)| line)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clave::{Direction, Family};

    #[test]
    fn every_grid_has_a_clave_a_shaker_and_a_click() {
        for grid in Grid::ALL {
            for clave in Clave::all() {
                let lines = band(grid, clave, &Instrument::ALL);
                let has = |i| lines.iter().any(|l| l.instrument() == i);
                assert!(
                    has(Instrument::Clave) && has(Instrument::Shaker) && has(Instrument::Click)
                );
                assert!(has(Instrument::Bell) && has(Instrument::Bass), "{grid:?}");
                assert!(lines.iter().all(|l| l.grid() == grid));
            }
        }
    }

    #[test]
    fn the_clave_of_the_band_is_the_clave_at_hand() {
        for grid in Grid::ALL {
            for clave in Clave::all() {
                let lines = band_lines(grid, clave, Instrument::Clave);
                let [(part, line)] = &lines[..] else {
                    panic!("one clave");
                };
                assert_eq!(*line, clave.line(grid));
                assert!(part.states_side);
            }
        }
    }

    #[test]
    fn a_line_that_hides_the_side_is_the_same_in_both_directions() {
        for grid in Grid::ALL {
            for instrument in Instrument::ALL {
                let [a, b] = Direction::ALL.map(|direction| {
                    let family = Family::Son;
                    band_lines(grid, Clave { family, direction }, instrument)
                });
                assert_eq!(a.len(), b.len());
                for ((part, a), (_, b)) in a.iter().zip(&b) {
                    assert_eq!(a == b, !part.states_side, "{}", part.name);
                }
            }
        }
    }

    #[test]
    fn bell_bass_and_piano_can_give_the_side_or_hide_it() {
        for instrument in [Instrument::Bell, Instrument::Bass, Instrument::Piano] {
            for grid in [Grid::Eighths, Grid::Sixteenths] {
                let parts = band_lines(grid, Clave::all().next().unwrap(), instrument);
                let states = |side: bool| parts.iter().any(|(p, _)| p.states_side == side);
                assert!(states(true) && states(false));
            }
        }
        // no piano part is known for 6/8
        let six = band(
            Grid::SixEight,
            Clave::all().next().unwrap(),
            &[Instrument::Piano],
        );
        assert!(six.is_empty());
    }

    #[test]
    fn a_click_falls_on_every_beat() {
        for grid in Grid::ALL {
            let clave = Clave {
                family: Family::Son,
                direction: Direction::ThreeTwo,
            };
            let click = &band(grid, clave, &[Instrument::Click])[0];
            for pulse in 0..grid.pulses_per_bar() {
                let on_beat = pulse % grid.pulses_per_beat() == 0;
                assert_eq!(click.at(pulse).is_some(), on_beat, "{grid:?} {pulse}");
            }
        }
    }
}
