//! How a bar grid is spread over the room there is.

use crate::rhythm::Grid;

/// Columns of the row's name, with the blank after it and one bar line.
pub const NAME_WIDTH: usize = 8;
/// Columns of one bar line with the blank after it.
pub const BAR_LINE_WIDTH: usize = 2;

/// The most columns of one cell: wider ones are hard to take in as a bar (our choice).
pub const WIDEST: usize = 7;

/// How a layout is spread over the room there is: this many bars side by side, the next ones beneath.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fit {
    /// Columns of one cell, 2 to [`WIDEST`].
    pub cell: usize,
    /// Bars side by side in one system.
    pub bars: usize,
    /// Systems that can be seen at once; where it is less than all, the chart scrolls.
    pub systems: usize,
}

impl Fit {
    /// The roomiest way to show `bars` bars of `grid` in `width` columns and `height` lines, where a system takes
    /// `lines` lines and systems are separated by one empty line. `None` where not even one bar has room.
    ///
    /// Seeing all bars comes first, then whole clave cycles side by side, then wide cells.
    pub fn best(grid: Grid, bars: usize, width: usize, height: usize, lines: usize) -> Option<Fit> {
        let systems = (height + 1) / (lines + 1);
        if systems == 0 {
            return None;
        }
        let mut best: Option<((bool, bool, usize, usize), Fit)> = None;
        for cell in 2..=WIDEST {
            let bar = grid.pulses_per_bar() * cell + BAR_LINE_WIDTH;
            let most = width.saturating_sub(NAME_WIDTH) / bar;
            for across in 1..=most.min(bars) {
                let needed = bars.div_ceil(across);
                let whole_cycles = across % 2 == 0 || across == bars;
                let merit = (needed <= systems, whole_cycles, cell, across);
                let fit = Fit {
                    cell,
                    bars: across,
                    systems: needed.min(systems),
                };
                // Where not all bars can be seen at once, many bars matter more than wide cells.
                let merit = match merit.0 {
                    true => merit,
                    false => (false, whole_cycles, across, cell),
                };
                if best.is_none_or(|(other, _)| merit > other) {
                    best = Some((merit, fit));
                }
            }
        }
        best.map(|(_, fit)| fit)
    }

    /// The first system to be shown so that the one with bar `bar` is seen.
    pub fn first_system(self, bars: usize, bar: usize) -> usize {
        let all = bars.div_ceil(self.bars);
        let wanted = bar / self.bars;
        // Pages, so that the chart stands still while the playhead crosses it.
        let page = wanted / self.systems * self.systems;
        page.min(all - self.systems)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cycle_of_eighths_has_wide_cells_on_eighty_columns() {
        let fit = Fit::best(Grid::Eighths, 2, 80, 10, 6).unwrap();
        assert_eq!((fit.cell, fit.bars, fit.systems), (4, 2, 1));
    }

    #[test]
    fn four_bars_are_made_narrow_before_anything_is_out_of_sight() {
        let fit = Fit::best(Grid::Eighths, 4, 80, 10, 6).unwrap();
        assert_eq!((fit.cell, fit.bars, fit.systems), (2, 4, 1));
        let fit = Fit::best(Grid::Eighths, 4, 80, 13, 6).unwrap();
        assert_eq!((fit.cell, fit.bars, fit.systems), (4, 2, 2));
    }

    #[test]
    fn long_phrases_turn_pages() {
        let fit = Fit::best(Grid::Eighths, 16, 80, 13, 6).unwrap();
        assert_eq!((fit.bars, fit.systems), (4, 2));
        assert_eq!(fit.first_system(16, 0), 0);
        assert_eq!(fit.first_system(16, 7), 0);
        assert_eq!(fit.first_system(16, 8), 2);
        assert_eq!(fit.first_system(16, 15), 2);
    }

    #[test]
    fn every_grid_has_room_for_a_cycle_at_eighty_columns() {
        for grid in Grid::ALL {
            let fit = Fit::best(grid, 2, 80, 12, 11).unwrap();
            assert_eq!(fit.bars, 2, "{grid:?}");
        }
        assert_eq!(Fit::best(Grid::Eighths, 2, 20, 5, 6), None);
        assert_eq!(Fit::best(Grid::Eighths, 2, 10, 20, 6), None);
    }
}
