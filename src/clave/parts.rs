//! The parts that players know by name.

use super::{Direction, PARTS};
use crate::rhythm::Grid::{Eighths, SixEight, Triplets};
use crate::rhythm::{Grid, Hit, Instrument, Line, Weight};

/// A part or figure of the tradition that is known by name.
///
/// Where schools differ, the form here is one that is played, and no other is called wrong: a deck's own word goes
/// before this table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NamedPart {
    /// What players call it.
    pub name: &'static str,
    /// Other names that players use for it.
    pub also: &'static [&'static str],
    /// Who plays it in the band; `None` for a conga part or a figure known by itself.
    pub instrument: Option<Instrument>,
    /// Never [`Grid::Sixteenths`]: parts on eighths stretch to it.
    pub grid: Grid,
    /// One or two bars, the three side first: `x` a stroke, `X` an accented one (on the bell the low sound of the
    /// mouth), `.` none.
    pub three_two: &'static str,
    /// Scale degrees of the strokes in the order of `three_two`, for bass and piano; empty for the rest.
    pub degrees: &'static [u8],
    /// Does it state the side? A part of two bars does, one of one bar cannot.
    pub states_side: bool,
    /// Where the form comes from.
    pub source: &'static str,
}

/// A part without pitches that has one name.
pub(super) const fn of(
    name: &'static str,
    instrument: Option<Instrument>,
    grid: Grid,
    three_two: &'static str,
    source: &'static str,
) -> NamedPart {
    NamedPart {
        name,
        also: &[],
        instrument,
        grid,
        three_two,
        degrees: &[],
        states_side: three_two.len() > grid.pulses_per_bar(),
        source,
    }
}

impl NamedPart {
    /// The same part with the other names that players use for it.
    pub(super) const fn also(self, also: &'static [&'static str]) -> NamedPart {
        NamedPart { also, ..self }
    }

    /// The same part on these scale degrees.
    pub(super) const fn on(self, degrees: &'static [u8]) -> NamedPart {
        NamedPart { degrees, ..self }
    }

    /// All its names: `cáscara (guagua, palitos)`.
    pub fn called(&self) -> String {
        match self.also {
            [] => self.name.to_string(),
            also => format!("{} ({})", self.name, also.join(", ")),
        }
    }

    /// Length in bars, 1 or 2.
    pub const fn bars(&self) -> usize {
        self.three_two.len() / self.grid.pulses_per_bar()
    }

    /// Its strokes as onsets in a direction. A part of one bar is the same in both.
    pub fn onsets(&self, direction: Direction) -> Vec<bool> {
        self.cells(direction).iter().map(Option::is_some).collect()
    }

    /// Its strokes in a direction, with accents and degrees.
    pub fn cells(&self, direction: Direction) -> Vec<Option<Hit>> {
        let mut degrees = self.degrees.iter().copied();
        let mut hit = |weight| {
            let degree = degrees.next();
            Some(Hit { weight, degree })
        };
        let cells = self.three_two.bytes().map(|c| match c {
            b'.' => None,
            b'X' => hit(Weight::Accent),
            _ => hit(Weight::Plain),
        });
        let mut cells: Vec<_> = cells.collect();
        if direction == Direction::TwoThree && self.bars() == 2 {
            cells.rotate_left(self.grid.pulses_per_bar());
        }
        cells
    }

    /// How many pulses of `grid` one pulse of the part takes: eighths stretch to sixteenths and 6/8 to triplets.
    /// `None` where the part has no form on that grid.
    const fn stretch(&self, grid: Grid) -> Option<usize> {
        match (self.grid, grid) {
            (Eighths, Eighths) | (SixEight, SixEight) | (Triplets, Triplets) => Some(1),
            (Eighths, Grid::Sixteenths) | (SixEight, Triplets) => Some(2),
            _ => None,
        }
    }

    /// Has it a form on `grid`?
    pub const fn fits(&self, grid: Grid) -> bool {
        self.stretch(grid).is_some()
    }

    /// Its strokes in a direction on `grid`; `None` where it has no form there.
    pub fn cells_on(&self, grid: Grid, direction: Direction) -> Option<Vec<Option<Hit>>> {
        let stretch = self.stretch(grid)?;
        let own = self.cells(direction);
        let mut cells = vec![None; own.len() * stretch];
        for (i, cell) in own.into_iter().enumerate() {
            cells[i * stretch] = cell;
        }
        Some(cells)
    }

    /// The part as a line of the band on `grid`; `None` where no instrument of the band plays it or it has no form
    /// on that grid.
    pub fn line(&self, grid: Grid, direction: Direction) -> Option<Line> {
        Line::new(self.instrument?, grid, self.cells_on(grid, direction)?).ok()
    }
}

/// The part of that name, or that players also call so.
pub fn part(name: &str) -> Option<&'static NamedPart> {
    let mut parts = PARTS.iter();
    parts.find(|p| p.name == name || p.also.contains(&name))
}

/// A timeline that players know by name and that is not built on the clave: it states no side, wherever it is begun.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Timeline {
    /// What players call it.
    pub name: &'static str,
    /// Its pulses: eighths or 6/8.
    pub grid: Grid,
    /// Two bars, begun anywhere: `x` a stroke, `.` none.
    pub onsets: &'static str,
    /// Where the form comes from.
    pub source: &'static str,
}

impl Timeline {
    /// Its strokes as bits, the first pulse lowest.
    pub(super) fn ring(&self) -> u16 {
        let struck = self.onsets.bytes().enumerate().filter(|(_, c)| *c == b'x');
        struck.map(|(i, _)| 1 << i).sum()
    }
}
