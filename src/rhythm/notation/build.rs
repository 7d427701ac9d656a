//! From rows whose letters are known to a score: strokes, their hands and marks, and the lines of the band.

use super::block::{NotationFault, Problem};
use super::row::{NotationCell, NotationRow, RowRole};
use crate::rhythm::{
    Drum, Grid, Hand, Hit, Instrument, Line, Pattern, Score, Stroke, Tone, Weight,
};
use std::collections::BTreeMap;
use std::ops::Range;

/// The rows of all systems one after the other, rests where a row is missing.
pub(super) fn join(
    systems: &[Vec<NotationRow>],
    grid: Grid,
) -> BTreeMap<RowRole, Vec<NotationCell>> {
    let mut rows: BTreeMap<RowRole, Vec<NotationCell>> = BTreeMap::new();
    let mut before = 0;
    for system in systems {
        let pulses = system.first().map_or(0, |r| r.bars.len()) * grid.pulses_per_bar();
        for row in system.iter().filter(|r| r.role != RowRole::Count) {
            let cells = rows.entry(row.role).or_default();
            cells.resize(before.max(cells.len()), rest(&row.span));
            cells.extend(row.cells().cloned());
        }
        before += pulses;
    }
    if systems.len() > 1 {
        for cells in rows.values_mut() {
            cells.resize(before, rest(&(0..0)));
        }
    }
    rows
}

fn rest(span: &Range<usize>) -> NotationCell {
    NotationCell {
        span: span.clone(),
        letter: '.',
        weight: Weight::Plain,
    }
}

/// The score of the rows; what does not go together in one pulse is noted.
pub(super) fn build(
    rows: &BTreeMap<RowRole, Vec<NotationCell>>,
    grid: Grid,
    problems: &mut Vec<Problem>,
) -> Score {
    let mut score = Score::empty(grid);
    let drums = Drum::ALL.map(|drum| (drum, rows.get(&RowRole::Drum(drum))));
    let longest = drums.iter().flat_map(|(_, cells)| cells.map(Vec::len));
    let mut strokes: Vec<Option<Stroke>> = vec![None; longest.max().unwrap_or(0)];
    for (drum, cells) in drums {
        for (pulse, cell) in cells.into_iter().flatten().enumerate() {
            let Some(tone) = Tone::from_letter(cell.letter) else {
                continue;
            };
            if let Some(other) = strokes[pulse] {
                let (other, drum) = (other.drum.name(), drum.name());
                let message = format!("`{other}` and `{drum}` are struck on one pulse");
                let mend =
                    "only one stroke falls on a pulse, counting all drums: make one of them `.`";
                problems.push(Problem::new(
                    NotationFault::Clash,
                    &cell.span,
                    message,
                    mend,
                ));
            }
            strokes[pulse] = Some(Stroke {
                weight: cell.weight,
                ..Stroke::new(drum, tone)
            });
        }
    }
    add_hands(rows.get(&RowRole::Hand), &mut strokes, problems);
    add_marks(rows.get(&RowRole::Mark), &mut strokes, problems);
    score.drums = Pattern::new(grid, strokes).ok();
    for instrument in Instrument::ALL {
        let Some(cells) = rows.get(&RowRole::Band(instrument)) else {
            continue;
        };
        let line = Line::new(instrument, grid, cells.iter().map(hit).collect());
        line.into_iter().for_each(|line| score.set_line(line));
    }
    score
}

const UNDER_A_REST: &str =
    "write `.` here, or the stroke that is missing above; is the row shifted?";

fn add_hands(
    row: Option<&Vec<NotationCell>>,
    strokes: &mut [Option<Stroke>],
    problems: &mut Vec<Problem>,
) {
    for (pulse, cell) in row.into_iter().flatten().enumerate() {
        let stroke = strokes.get_mut(pulse).and_then(Option::as_mut);
        let wrong = match (stroke, cell.letter) {
            (None, '.') | (Some(_), '?') => None,
            (Some(stroke), letter) if letter != '.' => {
                stroke.hand = Hand::from_letter(letter);
                None
            }
            (Some(stroke), _) => Some((
                format!(
                    "the {} on the {} here has no hand",
                    stroke.tone.name(),
                    stroke.drum.name()
                ),
                "write `L` or `R`, or `?` to leave it open; is the row shifted?",
            )),
            (None, letter) => Some((format!("`{letter}` stands under a rest"), UNDER_A_REST)),
        };
        if let Some((message, mend)) = wrong {
            problems.push(Problem::new(NotationFault::Hand, &cell.span, message, mend));
        }
    }
}

fn add_marks(
    row: Option<&Vec<NotationCell>>,
    strokes: &mut [Option<Stroke>],
    problems: &mut Vec<Problem>,
) {
    for (pulse, cell) in row.into_iter().flatten().enumerate() {
        let Some(weight) = Weight::from_mark(cell.letter) else {
            continue;
        };
        if let Some(stroke) = strokes.get_mut(pulse).and_then(Option::as_mut) {
            stroke.weight = weight;
            continue;
        }
        let message = format!("`{}` stands under a rest", cell.letter);
        problems.push(Problem::new(
            NotationFault::Mark,
            &cell.span,
            message,
            UNDER_A_REST,
        ));
    }
}

fn hit(cell: &NotationCell) -> Option<Hit> {
    let (weight, degree) = match cell.letter {
        '.' => return None,
        'X' => (Weight::Accent, None),
        'o' => (Weight::Ghost, None),
        'x' => (cell.weight, None),
        digit => (cell.weight, digit.to_digit(10).map(|d| d as u8)),
    };
    Some(Hit { weight, degree })
}
