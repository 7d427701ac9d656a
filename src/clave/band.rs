//! What the band plays around the drums.

use super::{Clave, NamedPart, PARTS};
use crate::rhythm::{Grid, Instrument, Line};

/// One line of the band with what it gives away.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BandLine {
    /// What is played.
    pub line: Line,
    /// Name of the part, for the player.
    pub part: &'static str,
    /// Can the side be heard from this line alone?
    pub states_side: bool,
}

/// The parts that `instrument` may play on `grid`, the usual one first: those written for that very grid go before
/// those stretched to it. Empty where it has none there. The two forms of the clave are not a choice:
/// [`band_line`] takes the one of the clave at hand.
pub fn band_parts(grid: Grid, instrument: Instrument) -> Vec<&'static NamedPart> {
    let mut parts: Vec<_> = PARTS
        .iter()
        .filter(|p| p.instrument == Some(instrument) && p.fits(grid))
        .collect();
    parts.sort_by_key(|p| p.grid != grid);
    parts
}

/// What `instrument` plays over `clave`: variant `variant` of [`band_parts`], counted round. The clave plays the
/// form and direction of `clave`, whatever the variant. `None` where the instrument has no part on that grid.
pub fn band_line(
    grid: Grid,
    clave: Clave,
    instrument: Instrument,
    variant: usize,
) -> Option<BandLine> {
    let parts = band_parts(grid, instrument);
    let part = if instrument == Instrument::Clave {
        let own = clave.line(grid);
        parts
            .iter()
            .find(|p| p.line(grid, clave.direction).as_ref() == Some(&own))?
    } else {
        parts.get(variant % parts.len().max(1))?
    };
    Some(BandLine {
        line: part.line(grid, clave.direction)?,
        part: part.name,
        states_side: part.states_side,
    })
}

/// The usual lines of `instruments` over `clave`; instruments without a part on `grid` are left out.
pub fn band(grid: Grid, clave: Clave, instruments: &[Instrument]) -> Vec<Line> {
    let lines = instruments
        .iter()
        .filter_map(|i| band_line(grid, clave, *i, 0));
    lines.map(|b| b.line).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clave::{Direction, Family};

    fn claves() -> impl Iterator<Item = Clave> {
        Family::ALL
            .into_iter()
            .flat_map(|family| Direction::ALL.map(|direction| Clave { family, direction }))
    }

    #[test]
    fn every_grid_has_a_clave_a_shaker_and_a_click() {
        for grid in Grid::ALL {
            for clave in claves() {
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
            for clave in claves() {
                for variant in 0..3 {
                    let line = band_line(grid, clave, Instrument::Clave, variant).unwrap();
                    assert_eq!(line.line, clave.line(grid));
                    assert!(line.states_side);
                }
            }
        }
    }

    #[test]
    fn a_line_that_hides_the_side_is_the_same_in_both_directions() {
        for grid in Grid::ALL {
            for instrument in Instrument::ALL {
                for variant in 0..band_parts(grid, instrument).len() {
                    let [a, b] = Direction::ALL.map(|direction| {
                        let family = Family::Son;
                        band_line(grid, Clave { family, direction }, instrument, variant).unwrap()
                    });
                    assert_eq!(a.line == b.line, !a.states_side, "{}", a.part);
                }
            }
        }
    }

    #[test]
    fn bell_bass_and_piano_can_give_the_side_or_hide_it() {
        for instrument in [Instrument::Bell, Instrument::Bass, Instrument::Piano] {
            for grid in [Grid::Eighths, Grid::Sixteenths] {
                let parts = band_parts(grid, instrument);
                assert!(
                    parts.iter().any(|p| p.states_side) && parts.iter().any(|p| !p.states_side)
                );
            }
        }
        // no piano part is known for 6/8
        assert!(band_parts(Grid::SixEight, Instrument::Piano).is_empty());
    }

    #[test]
    fn a_click_falls_on_every_beat() {
        for grid in Grid::ALL {
            let clave = Clave {
                family: Family::Son,
                direction: Direction::ThreeTwo,
            };
            let click = band_line(grid, clave, Instrument::Click, 0).unwrap().line;
            for pulse in 0..grid.pulses_per_bar() {
                let on_beat = pulse % grid.pulses_per_beat() == 0;
                assert_eq!(click.at(pulse).is_some(), on_beat, "{grid:?} {pulse}");
            }
        }
    }
}
