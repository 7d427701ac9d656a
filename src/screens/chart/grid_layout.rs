//! The rows and cells of a bar grid, before they are drawn.

use super::{Chart, numbers};
use crate::clave::Alignment;
use crate::question::{Mark, REST};
use crate::rhythm::{Drum, Grid, Hand, Hit, Instrument, Stroke, Weight};
use crate::screens::theme::Role;
use std::ops::Range;

/// Name of the row of counts.
pub const COUNT: &str = "count";
/// Name of the row that shows where strokes meet the clave, and its two letters.
const MEETS: &str = "meets";
pub const LOCKS: char = '=';
pub const CROSSES: char = '/';

/// One cell of a row. Before and after the letter there is room for a mark: `>O`, `(T)`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ChartCell {
    /// The mark before the letter, or a space.
    pub before: char,
    /// The letter of the stroke, or a sign.
    pub letter: char,
    /// The mark after the letter, or a space.
    pub after: char,
    /// What it is; it decides the colour.
    pub role: Role,
}

impl ChartCell {
    pub(super) const fn bare(letter: char, role: Role) -> ChartCell {
        ChartCell {
            before: ' ',
            letter,
            after: ' ',
            role,
        }
    }

    pub(super) const EMPTY: ChartCell = ChartCell::bare(' ', Role::Quiet);
    pub(super) const REST: ChartCell = ChartCell::bare('·', Role::Quiet);

    fn weighted(letter: char, weight: Weight, role: Role) -> ChartCell {
        let (before, after) = match weight {
            Weight::Ghost => ('(', ')'),
            Weight::Plain => (' ', ' '),
            Weight::Accent => ('>', ' '),
        };
        ChartCell {
            before,
            letter,
            after,
            role,
        }
    }
}

/// A named row with one cell a pulse.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChartRow {
    /// What stands to the left of it.
    pub name: &'static str,
    /// One a pulse.
    pub cells: Vec<ChartCell>,
}

impl ChartRow {
    fn is_band(&self) -> bool {
        self.cells.iter().any(|cell| cell.role == Role::Band)
    }
}

/// A chart as rows of cells.
#[derive(Clone, Debug)]
pub struct GridLayout {
    /// The grid of the score.
    pub grid: Grid,
    /// Pulses of the whole score.
    pub pulses: usize,
    /// Count, drums, band, hands, clave, in that order from above.
    pub rows: Vec<ChartRow>,
    /// The pulses that the question marks, where it marks a part of the score.
    pub marked: Option<Range<usize>>,
    /// The pulse that sounds now.
    pub playhead: Option<usize>,
}

impl GridLayout {
    /// Lays a chart out in rows.
    pub fn of(chart: &Chart) -> GridLayout {
        let score = chart.score;
        let (grid, pulses) = (score.grid, score.pulses());
        let mut layout = GridLayout {
            grid,
            pulses,
            rows: Vec::new(),
            marked: marked(chart.mark, grid, pulses),
            playhead: chart.playhead.map(|p| p % pulses),
        };
        layout.add(COUNT, |p| {
            let on_the_beat = p % grid.pulses_per_beat() == 0;
            let role = if on_the_beat {
                Role::Plain
            } else {
                Role::Quiet
            };
            ChartCell::bare(grid.count(p), role)
        });
        if chart.writes {
            let drum = score
                .drums
                .as_ref()
                .and_then(|d| d.drums().first().copied());
            layout.add(drum.map_or("", Drum::name), |p| {
                typed_cell(chart, chart.hidden, p).unwrap_or(ChartCell::EMPTY)
            });
            return layout;
        }
        if !chart.tapped.is_empty() {
            layout.add("you", |p| {
                match chart.tapped.iter().rev().find(|(at, _)| *at == p) {
                    Some((_, hand)) => {
                        ChartCell::bare(hand.map_or('x', Hand::letter), Role::Strong)
                    }
                    None => ChartCell::REST,
                }
            });
        }
        if chart.curtain {
            return layout;
        }
        if let Some(drums) = &score.drums {
            for drum in drums.drums() {
                layout.add(drum.name(), |p| {
                    let stroke = drums.at(p);
                    let own = stroke.filter(|stroke| stroke.drum == drum);
                    // Where a rest may be the answer, it is hidden as a stroke is.
                    let asked = own.is_some() || stroke.is_none();
                    let typed = typed_cell(chart, chart.hidden, p).filter(|_| asked);
                    typed.unwrap_or_else(|| own.map_or(ChartCell::REST, stroke_cell))
                });
            }
        }
        layout.answered(chart, false);
        for line in &score.lines {
            if line.instrument() != Instrument::Clave {
                layout.add(line.instrument().name(), |p| {
                    line.at(p)
                        .map_or(ChartCell::REST, |hit| hit_cell(hit, Role::Band))
                });
            }
        }
        if let Some(hands) = &chart.hands {
            layout.add("hand", |p| match hands.get(p).copied().flatten() {
                Some(hand) => ChartCell::bare(hand.letter(), Role::Plain),
                None => typed_cell(chart, chart.asked_hands, p).unwrap_or(ChartCell::EMPTY),
            });
            layout.answered(chart, true);
        }
        let meeting = |m: &Alignment| matches!(m, Alignment::Locks | Alignment::Crosses);
        if chart.meets.iter().any(meeting) {
            layout.add(MEETS, |p| match chart.meets.get(p) {
                Some(Alignment::Locks) => ChartCell::bare(LOCKS, Role::Lock),
                Some(Alignment::Crosses) => ChartCell::bare(CROSSES, Role::Cross),
                _ => ChartCell::EMPTY,
            });
        }
        let clave = chart.clave.map(|clave| clave.line(grid));
        if let Some(clave) = clave.as_ref().or(score.line(Instrument::Clave)) {
            layout.add(Instrument::Clave.name(), |p| {
                clave
                    .at(p)
                    .map_or(ChartCell::REST, |hit| hit_cell(hit, Role::Clave))
            });
        }
        if chart.reasons.iter().any(|r| !r.pulses.is_empty()) {
            layout.add("why", |p| {
                let numbered = chart.reasons.iter().zip(numbers(chart.reasons));
                let mut here = numbered.filter(|(reason, _)| reason.pulses.contains(&p));
                let number = here.next().and_then(|(_, number)| number);
                match number.and_then(|n| char::from_digit(n, 10)) {
                    Some(digit) => ChartCell::bare(digit, Role::Strong),
                    None => ChartCell::EMPTY,
                }
            });
        }
        layout
    }

    pub(super) fn add(&mut self, name: &'static str, cell: impl Fn(usize) -> ChartCell) {
        let cells = (0..self.pulses).map(cell).collect();
        self.rows.push(ChartRow { name, cells });
    }

    /// The same layout without the rows of the band.
    pub fn without_band(&self) -> GridLayout {
        let mut layout = self.clone();
        layout.rows.retain(|row| !row.is_band());
        layout
    }

    /// What the marks between strokes and clave mean; `None` where there are none.
    pub fn legend(&self) -> Option<String> {
        let row = self.rows.iter().find(|row| row.name == MEETS)?;
        let meanings = [
            (LOCKS, "locks with the clave"),
            (CROSSES, "crosses it: on the other side it would lock"),
        ];
        let there = meanings
            .into_iter()
            .filter(|(sign, _)| row.cells.iter().any(|cell| cell.letter == *sign))
            .map(|(sign, meaning)| format!("{sign} {meaning}"));
        let said: Vec<String> = there.collect();
        (!said.is_empty()).then(|| said.join("   "))
    }

    /// Number of bars.
    pub fn bars(&self) -> usize {
        self.pulses / self.grid.pulses_per_bar()
    }
}

fn marked(mark: Mark, grid: Grid, pulses: usize) -> Option<Range<usize>> {
    let per = grid.pulses_per_bar();
    let range = match mark {
        Mark::Whole => return None,
        Mark::Bar(bar) => bar * per..(bar + 1) * per,
        Mark::Bars(first, last) => first * per..(last + 1) * per,
        Mark::Pulse(pulse) => pulse..pulse + 1,
    };
    (range.end <= pulses).then_some(range)
}

/// What is shown at a pulse that is asked for: what was typed for it so far.
fn typed_cell(chart: &Chart, asked: &[usize], pulse: usize) -> Option<ChartCell> {
    let nth = asked.iter().position(|p| *p == pulse)?;
    Some(match chart.typed.chars().nth(nth) {
        Some(REST) => ChartCell::REST,
        Some(key) => ChartCell::bare(key.to_ascii_uppercase(), Role::Mark),
        None => ChartCell::bare('?', Role::Mark),
    })
}

fn stroke_cell(stroke: Stroke) -> ChartCell {
    ChartCell::weighted(stroke.tone.letter(), stroke.weight, Role::Stroke)
}

fn hit_cell(hit: Hit, role: Role) -> ChartCell {
    match hit.degree.and_then(|d| char::from_digit(d.into(), 10)) {
        Some(degree) => ChartCell::weighted(degree, hit.weight, role),
        None => ChartCell::weighted('x', hit.weight, role),
    }
}
