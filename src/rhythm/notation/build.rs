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
    let drums: Vec<(Drum, &Vec<NotationCell>)> = Drum::ALL
        .into_iter()
        .filter_map(|d| Some((d, rows.get(&RowRole::Drum(d))?)))
        .collect();
    let longest = drums
        .iter()
        .map(|(_, cells)| cells.len())
        .max()
        .unwrap_or(0);
    let mut strokes: Vec<Option<Stroke>> = vec![None; longest];
    for (drum, cells) in &drums {
        for (pulse, cell) in cells.iter().enumerate() {
            let Some(tone) = Tone::from_letter(cell.letter) else {
                continue;
            };
            if let Some(other) = strokes[pulse] {
                problems.push(Problem {
                    fault: NotationFault::Clash,
                    span: cell.span.clone(),
                    message: format!(
                        "`{}` and `{}` are struck on one pulse",
                        other.drum.name(),
                        drum.name()
                    ),
                    mend:
                        "only one stroke falls on a pulse, counting all drums: make one of them `.`"
                            .into(),
                });
            }
            strokes[pulse] = Some(Stroke {
                weight: cell.weight,
                ..Stroke::new(*drum, tone)
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
        let hits = cells.iter().map(hit).collect();
        if let Ok(line) = Line::new(instrument, grid, hits) {
            score.set_line(line);
        }
    }
    score
}

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
            (None, letter) => Some((
                format!("`{letter}` stands under a rest"),
                "write `.` here, or the stroke that is missing above; is the row shifted?",
            )),
        };
        if let Some((message, mend)) = wrong {
            problems.push(Problem {
                fault: NotationFault::Hand,
                span: cell.span.clone(),
                message,
                mend: mend.into(),
            });
        }
    }
}

fn add_marks(
    row: Option<&Vec<NotationCell>>,
    strokes: &mut [Option<Stroke>],
    problems: &mut Vec<Problem>,
) {
    for (pulse, cell) in row.into_iter().flatten().enumerate() {
        let weight = match cell.letter {
            '>' => Weight::Accent,
            '(' => Weight::Ghost,
            _ => continue,
        };
        match strokes.get_mut(pulse).and_then(Option::as_mut) {
            Some(stroke) => stroke.weight = weight,
            None => problems.push(Problem {
                fault: NotationFault::Mark,
                span: cell.span.clone(),
                message: format!("`{}` stands under a rest", cell.letter),
                mend: "write `.` here, or the stroke that is missing above; is the row shifted?"
                    .into(),
            }),
        }
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
