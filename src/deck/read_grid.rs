//! The grid of a card: its rows, the clave row, the thinner form.

use super::Card;
use super::diagnostic::Notes;
use super::rules::{self, Rule};
use crate::clave::Clave;
use crate::rhythm::notation::{NotationFault, locate, read_block, trimmed};
use crate::rhythm::{Instrument, Line, Score, counted};
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
    let drums = score.drums.iter().flat_map(|d| d.strokes()).count();
    let band = score.lines.iter().flat_map(|l| l.cells()).flatten();
    if drums + band.count() == 0 {
        let (span, mend) = (trimmed(rows, block.start), "write a stroke or a hit");
        notes.add(&rules::EMPTY_GRID, span, "there are only rests here", mend);
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

/// Rows that go round fit a whole number of times.
fn note_lengths(score: &Score, text: &str, block: &Range<usize>, notes: &mut Notes) {
    let longest = score.pulses();
    let (drums, lines) = (score.drums.iter(), score.lines.iter());
    let drums = drums.map(|d| (d.drums().first().map_or("conga", |d| d.name()), d.pulses()));
    let rows = drums.chain(lines.map(|l| (l.instrument().name(), l.pulses())));
    for (name, pulses) in rows.filter(|(_, n)| !longest.is_multiple_of(*n)) {
        let per = score.grid.pulses_per_bar();
        let message = format!(
            "`{name}` has {}, and {} cannot be filled by repeating it",
            counted(pulses / per, "bar"),
            counted(longest / per, "bar")
        );
        let ends = notes.pulse(name, 0).zip(notes.pulse(name, pulses - 1));
        let span = ends.map_or(
            trimmed(&text[block.clone()], block.start),
            |(first, last)| first.start..last.end,
        );
        notes.add(&rules::ROW_LENGTH, span, message, "write it out to the end");
    }
}

/// A written clave row is the clave that the card names.
pub(super) fn clave_agrees(read: &ReadGrid, card: &Card, notes: &mut Notes) {
    let Some(line) = &read.clave else { return };
    // The first pulse at which the row is not this clave.
    let differs = |clave: Clave| {
        let due = clave.line(card.grid);
        (0..line.pulses()).find(|p| line.at(*p).is_some() != due.at(*p).is_some())
    };
    let written = Clave::all().filter(|c| differs(*c).is_none());
    let written: Vec<String> = written.map(|c| c.to_string()).collect();
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
        Some(clave) => {
            let Some(wrong) = differs(clave) else { return };
            let here = match line.at(wrong) {
                Some(_) => "a rest",
                None => "a stroke",
            };
            let message = format!("the card names {clave}, which has {here} here; {reads}");
            let mend = "mend the row, or the clave that the card names";
            notes.add(&rules::CLAVE_ROW, place(wrong), message, mend);
        }
    }
}
