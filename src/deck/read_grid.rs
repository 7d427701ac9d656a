//! The grid of a card: its rows, the clave row, the thinner form.

use super::diagnostic::Notes;
use super::rules::{self, Rule};
use super::{Card, counted};
use crate::clave::{Clave, Direction, Family};
use crate::rhythm::notation::{NotationFault, locate, read_block};
use crate::rhythm::{Instrument, Line, Score};
use std::ops::Range;

/// A grid as read.
pub(super) struct ReadGrid {
    /// Without the clave, unless the clave is all there is.
    pub(super) score: Score,
    /// The clave row as written.
    clave: Option<Line>,
    /// The block of rows in the file.
    block: Range<usize>,
    /// The text of the block.
    text: String,
}

fn rule_of(fault: NotationFault) -> &'static Rule {
    match fault {
        NotationFault::Row => &rules::GRID_ROW,
        NotationFault::Count => &rules::GRID_COUNT,
        NotationFault::Bar => &rules::BAR_LENGTH,
        NotationFault::Length => &rules::ROW_LENGTH,
        NotationFault::Letter => &rules::STROKE_LETTER,
        NotationFault::Clash => &rules::TWO_STROKES,
        NotationFault::Hand => &rules::HAND_ROW,
        NotationFault::Mark => &rules::MARK_ROW,
        NotationFault::Empty => &rules::EMPTY_GRID,
        NotationFault::Long => &rules::TOO_LONG,
    }
}

pub(super) fn read_grid(text: &str, block: Range<usize>, notes: &mut Notes) -> Option<ReadGrid> {
    let rows = text.get(block.clone())?;
    let (score, problems) = read_block(rows);
    for p in problems {
        let span = p.span.start + block.start..p.span.end + block.start;
        notes.add(rule_of(p.fault), span, p.message, p.mend);
    }
    let mut score = score?;
    let sounds = score
        .drums
        .as_ref()
        .is_some_and(|d| d.strokes().next().is_some())
        || score
            .lines
            .iter()
            .any(|l| l.cells().iter().any(Option::is_some));
    if !sounds {
        notes.add(
            &rules::EMPTY_GRID,
            trimmed(text, &block),
            "there are only rests here",
            "write a stroke or a hit",
        );
        return None;
    }
    note_lengths(&score, text, &block, notes);
    let clave = score.line(Instrument::Clave).cloned();
    if score.drums.is_some() || score.lines.len() > 1 {
        score.remove(Instrument::Clave);
    }
    Some(ReadGrid {
        score,
        clave,
        text: rows.to_string(),
        block,
    })
}

fn trimmed(text: &str, block: &Range<usize>) -> Range<usize> {
    let rows = &text[block.clone()];
    let start = block.start + rows.len() - rows.trim_start().len();
    start..start + rows.trim().len()
}

/// Rows that go round fit a whole number of times.
fn note_lengths(score: &Score, text: &str, block: &Range<usize>, notes: &mut Notes) {
    let longest = score.pulses();
    let drums = score
        .drums
        .iter()
        .map(|d| (d.drums().first().map_or("conga", |d| d.name()), d.pulses()));
    let lines = score
        .lines
        .iter()
        .map(|l| (l.instrument().name(), l.pulses()));
    for (name, pulses) in drums
        .chain(lines)
        .filter(|(_, n)| !longest.is_multiple_of(*n))
    {
        let per = score.grid.pulses_per_bar();
        let message = format!(
            "`{name}` has {}, and {} cannot be filled by repeating it",
            counted(pulses / per, "bar"),
            counted(longest / per, "bar")
        );
        let ends = notes.pulse(name, 0).zip(notes.pulse(name, pulses - 1));
        let span = ends.map_or(trimmed(text, block), |(first, last)| first.start..last.end);
        notes.add(&rules::ROW_LENGTH, span, message, "write it out to the end");
    }
}

/// A written clave row is the clave that the card names.
pub(super) fn clave_agrees(read: &ReadGrid, card: &Card, notes: &mut Notes) {
    let Some(line) = &read.clave else { return };
    let onsets: Vec<bool> = line.cells().iter().map(Option::is_some).collect();
    let fits = |clave: Clave| {
        let due = clave.onsets(card.grid);
        onsets
            .iter()
            .enumerate()
            .all(|(p, on)| *on == due[p % due.len()])
    };
    let written = Family::ALL
        .into_iter()
        .flat_map(|family| Direction::ALL.map(|direction| Clave { family, direction }));
    let written: Vec<String> = written
        .filter(|c| fits(*c))
        .map(|c| c.to_string())
        .collect();
    let place = |pulse| {
        let span = locate(&read.text, "clave", pulse).unwrap_or(0..0);
        span.start + read.block.start..span.end + read.block.start
    };
    let reads = match written.is_empty() {
        true => "it is neither a son nor a rumba clave".to_string(),
        false => format!("it reads {}", written.join(" or ")),
    };
    match card.clave {
        None => {
            let mend = match written.first() {
                Some(first) => format!("write `clave = \"{first}\"` in the card"),
                None => "write a clave such as `. . x . x . . . | x . . x . . x .`".into(),
            };
            let message = format!("there is a clave row, but the card names no clave; {reads}");
            notes.add(&rules::CLAVE_ROW, place(0), message, mend);
        }
        Some(clave) if !fits(clave) => {
            let due = clave.onsets(card.grid);
            let wrong = (0..onsets.len())
                .find(|p| onsets[*p] != due[*p % due.len()])
                .unwrap_or(0);
            let message = format!(
                "the card names {clave}, which has {} here; {reads}",
                if due[wrong % due.len()] {
                    "a stroke"
                } else {
                    "a rest"
                }
            );
            let mend = "mend the row, or the clave that the card names";
            notes.add(&rules::CLAVE_ROW, place(wrong), message, mend);
        }
        Some(_) => {}
    }
}
