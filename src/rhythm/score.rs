//! Drums and band together on one grid.

use super::{Grid, Instrument, Line, Pattern};
use serde::{Deserialize, Serialize};

/// Parts that sound together on one grid. The score is as long as its longest part; shorter parts go round again.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Score {
    /// The grid of every part.
    pub grid: Grid,
    /// The player's drums, if they play.
    pub drums: Option<Pattern>,
    /// The band, at most one line an instrument.
    pub lines: Vec<Line>,
}

impl Score {
    /// A score with nothing in it yet.
    pub fn empty(grid: Grid) -> Score {
        Score {
            grid,
            drums: None,
            lines: Vec::new(),
        }
    }

    /// The drums alone.
    pub fn of(drums: Pattern) -> Score {
        let mut score = Score::empty(drums.grid());
        score.drums = Some(drums);
        score
    }

    /// Is there nothing in it to be drawn or played?
    pub fn is_empty(&self) -> bool {
        self.drums.is_none() && self.lines.is_empty()
    }

    /// Length in pulses: that of the longest part, one bar where nothing plays.
    pub fn pulses(&self) -> usize {
        let lines = self.lines.iter().map(Line::pulses);
        lines
            .chain(self.drums.iter().map(Pattern::pulses))
            .max()
            .unwrap_or(self.grid.pulses_per_bar())
    }

    /// Length in bars.
    pub fn bars(&self) -> usize {
        self.pulses() / self.grid.pulses_per_bar()
    }

    /// The line of an instrument.
    pub fn line(&self, instrument: Instrument) -> Option<&Line> {
        self.lines.iter().find(|l| l.instrument() == instrument)
    }

    /// Puts a line in, in place of one of the same instrument.
    pub fn set_line(&mut self, line: Line) {
        self.remove(line.instrument());
        self.lines.push(line);
        self.lines.sort_by_key(Line::instrument);
    }

    /// Takes the line of an instrument out.
    pub fn remove(&mut self, instrument: Instrument) {
        self.lines.retain(|l| l.instrument() != instrument);
    }

    fn each(&self, drums: impl Fn(&Pattern) -> Pattern, line: impl Fn(&Line) -> Line) -> Score {
        Score {
            grid: self.grid,
            drums: self.drums.as_ref().map(drums),
            lines: self.lines.iter().map(line).collect(),
        }
    }

    /// One bar of it, counted from 0.
    pub fn only_bar(&self, bar: usize) -> Score {
        let length = self.grid.pulses_per_bar();
        let pulses = || bar * length..(bar + 1) * length;
        self.each(|d| d.stretch(pulses()), |l| l.stretch(pulses()))
    }

    /// Every part written out over this many bars.
    pub fn tiled(&self, bars: usize) -> Score {
        self.each(|d| d.tiled(bars), |l| l.tiled(bars))
    }

    /// Every part begun `pulses` later.
    pub fn rotated(&self, pulses: usize) -> Score {
        self.each(|d| d.rotated(pulses), |l| l.rotated(pulses))
    }
}
