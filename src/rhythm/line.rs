//! Instruments of the band and the line that one of them plays.

use super::{Grid, LengthError, Weight};
use serde::{Deserialize, Serialize};
use std::ops::{Range, RangeBounds};

/// An instrument of the band other than the player's drums.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Instrument {
    /// Two sticks; a figure played in their place counts too.
    Clave,
    /// Bongo bell (campana); an accent is the low sound of the mouth, a plain hit the high sound of the neck.
    Bell,
    /// The shell of the timbales, or a wood block: cáscara and palito.
    Shell,
    /// Bass; its notes follow the chords of the take.
    Bass,
    /// Piano; its voicings follow the chords of the take.
    Piano,
    /// Shaker or güiro: a time line that states no side by itself.
    Shaker,
    /// A beat marker; not part of the music.
    Click,
}

impl Instrument {
    /// Every instrument there is.
    pub const ALL: [Instrument; 7] = [
        Instrument::Clave,
        Instrument::Bell,
        Instrument::Shell,
        Instrument::Bass,
        Instrument::Piano,
        Instrument::Shaker,
        Instrument::Click,
    ];

    /// The row name in decks, on screen and on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Instrument::Clave => "clave",
            Instrument::Bell => "bell",
            Instrument::Shell => "shell",
            Instrument::Bass => "bass",
            Instrument::Piano => "piano",
            Instrument::Shaker => "shaker",
            Instrument::Click => "click",
        }
    }

    /// The instrument of a row name; `None` for any other word.
    pub fn from_name(name: &str) -> Option<Instrument> {
        Instrument::ALL.into_iter().find(|i| i.name() == name)
    }
}

/// One sound of a band instrument.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Hit {
    /// How strong it is.
    pub weight: Weight,
    /// Scale degree over the chord of the moment, 1 (root) to 8 (octave); `None` is the instrument's usual sound
    /// (root for the bass, the chord for the piano, no pitch for the rest).
    pub degree: Option<u8>,
}

/// What one band instrument plays: a whole number of bars, read as a cycle.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Line {
    instrument: Instrument,
    grid: Grid,
    cells: Vec<Option<Hit>>,
}

impl Line {
    /// A line of `cells` on `grid`.
    ///
    /// # Errors
    /// [`LengthError`] unless the cells are a whole, positive number of bars.
    pub fn new(
        instrument: Instrument,
        grid: Grid,
        cells: Vec<Option<Hit>>,
    ) -> Result<Line, LengthError> {
        LengthError::check(cells.len(), grid)?;
        Ok(Line {
            instrument,
            grid,
            cells,
        })
    }

    /// Who plays the line.
    pub fn instrument(&self) -> Instrument {
        self.instrument
    }

    /// The grid that its cells lie on.
    pub fn grid(&self) -> Grid {
        self.grid
    }

    /// All cells in time order.
    pub fn cells(&self) -> &[Option<Hit>] {
        &self.cells
    }

    /// Number of pulses.
    pub fn pulses(&self) -> usize {
        self.cells.len()
    }

    /// The cell at a pulse, the line read as a cycle.
    pub fn at(&self, pulse: usize) -> Option<Hit> {
        self.cells[pulse % self.cells.len()]
    }

    /// These pulses of it, the line read as a cycle; they are whole bars, one at least.
    pub fn stretch(&self, pulses: Range<usize>) -> Line {
        Line {
            cells: pulses.map(|p| self.at(p)).collect(),
            ..self.clone()
        }
    }

    /// The line written out over this many bars, at least its own.
    pub fn tiled(&self, bars: usize) -> Line {
        self.stretch(0..(bars * self.grid.pulses_per_bar()).max(self.pulses()))
    }

    /// The line with rests on these pulses.
    pub fn silent_in(&self, pulses: impl RangeBounds<usize>) -> Line {
        let mut line = self.clone();
        let cells = line.cells.iter_mut().enumerate();
        let silent = cells.filter(|(p, _)| pulses.contains(p));
        silent.for_each(|(_, cell)| *cell = None);
        line
    }

    /// The same cycle begun `pulses` later.
    pub fn rotated(&self, pulses: usize) -> Line {
        self.stretch(pulses..pulses + self.pulses())
    }
}
