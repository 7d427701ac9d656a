//! What the drums play: strokes on the pulses of a grid.

use super::{Grid, Hand, Stroke};
use serde::{Deserialize, Serialize};
use std::ops::{Range, RangeBounds};

/// A row of cells that is not a whole, positive number of bars.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{cells} pulses do not make whole bars of {} pulses", grid.pulses_per_bar())]
pub struct LengthError {
    /// How many cells there were.
    pub cells: usize,
    /// The grid that they should fill.
    pub grid: Grid,
}

impl LengthError {
    /// Checks that `cells` is a whole, positive number of bars of `grid`.
    pub(super) fn check(cells: usize, grid: Grid) -> Result<(), LengthError> {
        if cells == 0 || !cells.is_multiple_of(grid.pulses_per_bar()) {
            return Err(LengthError { cells, grid });
        }
        Ok(())
    }
}

/// What one pair of hands plays on one or more drums: at most one stroke a pulse, a whole number of bars, read as
/// a cycle.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Pattern {
    grid: Grid,
    cells: Vec<Option<Stroke>>,
}

impl Pattern {
    /// A pattern of `cells` on `grid`.
    ///
    /// # Errors
    /// [`LengthError`] unless the cells are a whole, positive number of bars.
    pub fn new(grid: Grid, cells: Vec<Option<Stroke>>) -> Result<Pattern, LengthError> {
        LengthError::check(cells.len(), grid)?;
        Ok(Pattern { grid, cells })
    }

    /// The grid that its cells lie on.
    pub fn grid(&self) -> Grid {
        self.grid
    }

    /// All cells in time order.
    pub fn cells(&self) -> &[Option<Stroke>] {
        &self.cells
    }

    /// Number of pulses.
    pub fn pulses(&self) -> usize {
        self.cells.len()
    }

    /// Number of bars.
    pub fn bars(&self) -> usize {
        self.cells.len() / self.grid.pulses_per_bar()
    }

    /// The cell at a pulse, the pattern read as a cycle.
    pub fn at(&self, pulse: usize) -> Option<Stroke> {
        self.cells[pulse % self.cells.len()]
    }

    /// The cells of bar `bar` (from 0), the pattern read as a cycle.
    pub fn bar(&self, bar: usize) -> &[Option<Stroke>] {
        let per = self.grid.pulses_per_bar();
        let start = (bar % self.bars()) * per;
        &self.cells[start..start + per]
    }

    /// Strokes with their pulses, in time order.
    pub fn strokes(&self) -> impl Iterator<Item = (usize, Stroke)> + '_ {
        let cells = self.cells.iter().enumerate();
        cells.filter_map(|(i, c)| c.map(|s| (i, s)))
    }

    fn with(&self, cells: Vec<Option<Stroke>>) -> Pattern {
        let grid = self.grid;
        Pattern { grid, cells }
    }

    /// These pulses of it, the pattern read as a cycle; they are whole bars, one at least.
    pub fn stretch(&self, pulses: Range<usize>) -> Pattern {
        self.with(pulses.map(|p| self.at(p)).collect())
    }

    /// These bars of it, counted from 0, one at least.
    pub fn only_bars(&self, bars: Range<usize>) -> Pattern {
        let per = self.grid.pulses_per_bar();
        self.stretch(bars.start * per..bars.end * per)
    }

    /// It, and then another one on the same grid.
    pub fn then(&self, other: &Pattern) -> Pattern {
        self.with([self.cells(), other.cells()].concat())
    }

    /// The same cycle begun `pulses` later.
    pub fn rotated(&self, pulses: usize) -> Pattern {
        self.stretch(pulses..pulses + self.pulses())
    }

    /// The cycle repeated until it is `bars` bars long (cut where it does not divide).
    pub fn tiled(&self, bars: usize) -> Pattern {
        self.stretch(0..bars.max(1) * self.grid.pulses_per_bar())
    }

    /// The same with what `of` makes of each stroke, told its pulse: another one, or none.
    pub fn map(&self, mut of: impl FnMut(usize, Stroke) -> Option<Stroke>) -> Pattern {
        let cells = self.cells.iter().enumerate();
        self.with(cells.map(|(p, cell)| of(p, (*cell)?)).collect())
    }

    /// The same with rests on these pulses.
    pub fn silent_in(&self, pulses: impl RangeBounds<usize>) -> Pattern {
        self.map(|p, s| (!pulses.contains(&p)).then_some(s))
    }

    /// The same with rests at these pulses.
    pub fn without(&self, pulses: &[usize]) -> Pattern {
        self.map(|p, s| (!pulses.contains(&p)).then_some(s))
    }

    /// The same with the bars of `part` replacing its own from bar `start` (from 0) on. `None` where they reach beyond
    /// its end or lie on another grid.
    pub fn with_bars(&self, start: usize, part: &Pattern) -> Option<Pattern> {
        let from = start * self.grid.pulses_per_bar();
        let mut cells = self.cells.clone();
        let there = cells.get_mut(from..from + part.pulses())?;
        there.copy_from_slice(&part.cells);
        (part.grid == self.grid).then(|| self.with(cells))
    }

    /// The same strokes with the hands of `hands`, one entry a stroke in time order; missing entries are left open.
    pub fn with_hands(&self, hands: &[Option<Hand>]) -> Pattern {
        let mut next = hands.iter().copied();
        self.with_each_hand(|_, _| next.next().flatten())
    }

    /// The same strokes, each with the hand that `hand` gives it by its pulse.
    pub fn with_each_hand(&self, mut hand: impl FnMut(usize, Stroke) -> Option<Hand>) -> Pattern {
        self.map(|p, s| {
            let hand = hand(p, s);
            Some(Stroke { hand, ..s })
        })
    }

    /// The hands as written, one entry a stroke in time order.
    pub fn hands(&self) -> Vec<Option<Hand>> {
        self.strokes().map(|(_, s)| s.hand).collect()
    }

    /// True where every stroke has a hand and there is at least one stroke.
    pub fn has_full_sticking(&self) -> bool {
        self.strokes().next().is_some() && self.strokes().all(|(_, s)| s.hand.is_some())
    }

    /// A pulse as a player says it, with its bar where there are several: `2& of bar 1`.
    pub fn spoken(&self, pulse: usize) -> String {
        self.grid.spoken_in(self.bars(), pulse)
    }

    /// The drums struck, from high to low.
    pub fn drums(&self) -> Vec<super::Drum> {
        super::Drum::ALL
            .into_iter()
            .filter(|d| self.strokes().any(|(_, s)| s.drum == *d))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use crate::rhythm::Grid;
    use crate::rhythm::notation::read_line;

    #[test]
    fn bars_are_laid_in_place_or_not_at_all() {
        let read = |text: &str| read_line(text, Grid::Eighths).unwrap();
        let plain = read("HTSTHTOO | HTSTHTOO | HTSTHTOO");
        let two = read("B...B... | .S.S.S.S");
        let laid = read("HTSTHTOO | B...B... | .S.S.S.S");
        assert_eq!(plain.with_bars(1, &two), Some(laid));
        assert_eq!(plain.with_bars(2, &two), None);
        let six = read_line("H.T.S.", Grid::SixEight).unwrap();
        assert_eq!(plain.with_bars(0, &six), None);
    }
}
