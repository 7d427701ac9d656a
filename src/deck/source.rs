//! A deck's file, cut into the tables of its deck and its cards in spite of mistakes in it.

use super::diagnostic::{Notes, floor_char};
use super::rules;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// A piece of the file that was read by itself.
pub(super) struct Piece<'i> {
    pub(super) table: DeTable<'i>,
    /// Where in the file it begins.
    pub(super) offset: usize,
    /// It had mistakes in its TOML, so that keys that are there may be missing.
    pub(super) broken: bool,
}

/// Reads the whole file; where that fails, the head and each card by itself, so that one mistake spoils one card.
pub(super) fn pieces<'i>(text: &'i str, notes: &mut Notes) -> Vec<Piece<'i>> {
    let (table, errors) = DeTable::parse_recoverable(text);
    if errors.is_empty() {
        let (table, offset) = (table.into_inner(), 0);
        let broken = false;
        return vec![Piece {
            table,
            offset,
            broken,
        }];
    }
    let starts = card_starts(text);
    let ends = starts.iter().skip(1).copied().chain([text.len()]);
    let ranges = starts.iter().copied().zip(ends);
    ranges
        .map(|(from, to)| piece(text, from..to, notes))
        .collect()
}

fn card_starts(text: &str) -> Vec<usize> {
    let mut starts = vec![0];
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let head = line.trim_start();
        if at > 0 && (head.starts_with("[[card") || head.starts_with("[card")) {
            starts.push(at);
        }
        at += line.len();
    }
    starts
}

fn piece<'i>(text: &'i str, range: Range<usize>, notes: &mut Notes) -> Piece<'i> {
    let part = &text[range.clone()];
    let (table, errors) = DeTable::parse_recoverable(part);
    let broken = !errors.is_empty();
    let lines: Vec<usize> = part.match_indices('\n').map(|(at, _)| at).collect();
    let (mut last, mut quotes_said) = (None, false);
    let open = part.matches("\"\"\"").count() % 2 == 1;
    for error in errors {
        let span = error.span().unwrap_or(0..0);
        let line = lines.partition_point(|end| *end < span.start);
        // One mistake often makes errors on its own line and on the lines after it; the first says it.
        let follows = last.is_some_and(|last| line <= last + 1);
        last = Some(line);
        if follows {
            continue;
        }
        let mend = if open { QUOTES } else { mend(part, span.start) };
        if mend == QUOTES && quotes_said {
            continue;
        }
        quotes_said |= mend == QUOTES;
        let span = span.start + range.start..span.end + range.start;
        notes.add(&rules::SYNTAX, span, error.message().to_string(), mend);
    }
    Piece {
        table: table.into_inner(),
        offset: range.start,
        broken,
    }
}

const QUOTES: &str = "a grid begins and ends with three quotes `\"\"\"`, each on a line of its own; one of them is missing";

/// What to try, judging by the line that TOML stumbled over, if no grid is left open.
fn mend(part: &str, at: usize) -> &'static str {
    let at = floor_char(part, at);
    let start = part[..at].rfind('\n').map_or(0, |i| i + 1);
    let line = part[start..].lines().next().unwrap_or("").trim();
    if line.starts_with('[') {
        return "a card begins with `[[card]]` on a line of its own";
    }
    if line.contains('|') && !line.contains('=') {
        return "rows of a grid stand between `grid = \"\"\"` and `\"\"\"`";
    }
    if !line.contains('=') {
        return "write `key = value`, or `#` before a remark";
    }
    if line.matches('"').count() % 2 == 1 {
        return "text has a quote `\"` at both ends";
    }
    if line.matches('[').count() != line.matches(']').count() {
        return "a list has `[` before and `]` after it";
    }
    "write text in quotes, numbers without, lists in square brackets; a key stands once in a card"
}

/// The block of rows in a text value that stands at `span` of `text`: its bytes. Escapes have no place in a grid, so
/// the text between the quotes is taken as it stands.
pub(super) fn between_quotes(text: &str, span: &Range<usize>) -> Range<usize> {
    let Some(raw) = text.get(span.clone()) else {
        return span.clone();
    };
    for quote in ["\"\"\"", "'''", "\"", "'"] {
        if raw.len() >= 2 * quote.len() && raw.starts_with(quote) && raw.ends_with(quote) {
            return span.start + quote.len()..span.end - quote.len();
        }
    }
    span.clone()
}

/// The tables of the cards in a piece, with a note where `card` is something else.
pub(super) fn card_tables<'t, 'i>(
    piece: &'t Piece<'i>,
    notes: &mut Notes,
) -> Vec<(&'t DeTable<'i>, Range<usize>)> {
    let Some(card) = piece.table.get("card") else {
        return Vec::new();
    };
    let place = |span: Range<usize>| span.start + piece.offset..span.end + piece.offset;
    let mend = "begin each card with `[[card]]` on a line of its own";
    match card.get_ref() {
        DeValue::Array(list) => {
            let mut tables = Vec::new();
            for entry in list.iter() {
                match entry.get_ref() {
                    DeValue::Table(table) => tables.push((table, place(entry.span()))),
                    _ => notes.value(place(entry.span()), "this is not a card", mend),
                }
            }
            tables
        }
        DeValue::Table(table) => {
            let message = "one pair of brackets does not make a list of cards";
            notes.value(place(card.span()), message, mend);
            vec![(table, place(card.span()))]
        }
        _ => {
            notes.value(place(card.span()), "this is not a card", mend);
            Vec::new()
        }
    }
}
