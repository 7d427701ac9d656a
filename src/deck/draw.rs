//! Diagnostics drawn for a reader: the bar or the line that is wrong, a mark beneath, what is wrong and how to mend it.

use super::diagnostic::{Diagnostic, Severity};
use super::draw_bar::{Quote, bars};
use super::printable::{CUT, MOST_NAMED, said, shown};
use crate::rhythm::notation::BlockIndex;
use std::ops::Range;
use unicode_width::UnicodeWidthStr;

/// Most diagnostics that are drawn at once: anyone who has more mends the first ones and checks again.
const MOST: usize = 40;
/// Columns left of a bar or line, and of what is said about it.
const INDENT: usize = 4;
/// Most lines of a text of several lines that are quoted.
const MOST_LINES: usize = 6;
/// Most characters of a message that are printed: a deck may hold texts of any length.
const MOST_SAID: usize = 800;

/// Draws the diagnostics of one file, at most `width` columns wide; fewer than 30 count as 30. `text` is the file as it was
/// read. No control character of the file reaches the result. If there are very many, the first ones are drawn and the
/// others counted.
pub fn render(diagnostics: &[Diagnostic], text: &str, width: usize) -> String {
    let first = diagnostics.iter().take(MOST);
    let mut drawn: Vec<String> = first.map(|d| drawn(d, text, width.max(30))).collect();
    if let Some(more) = diagnostics.len().checked_sub(MOST).filter(|n| *n > 0) {
        drawn.push(format!("And {more} more in this file. Mend these first.\n"));
    }
    drawn.join("\n")
}

fn drawn(d: &Diagnostic, text: &str, width: usize) -> String {
    let sort = match d.severity {
        Severity::Mistake => "Mistake",
        Severity::Warning => "Warning",
    };
    let message = format!("{sort}: {} [{}]", said(&d.message, MOST_SAID), d.rule);
    let mend = format!("Mend it: {}", said(&d.mend, MOST_SAID));
    let mut lines = filled(&head(d), width, "");
    lines.push(String::new());
    lines.extend(quoted(d, text, width - INDENT));
    if lines.last().is_some_and(|line| !line.is_empty()) {
        lines.push(String::new());
    }
    lines.extend(filled(&message, width, "  "));
    lines.extend(filled(&mend, width, "  "));
    let lines = lines.iter().map(|l| format!("{}\n", l.trim_end()));
    lines.collect()
}

/// File, line, card, bar and pulse, or the field: as far as they are known.
fn head(d: &Diagnostic) -> String {
    let mut place = format!("{}, line {}", said(&d.file, usize::MAX), d.line);
    if d.rule == super::rules::SYNTAX.name {
        place += &format!(", column {}", d.column);
    }
    let id = d.card.as_ref().map(|id| said(id, MOST_NAMED));
    let title = d.title.as_ref().map(|t| said(t, MOST_NAMED));
    let card = match (title, id) {
        (Some(title), Some(id)) => Some(format!("card \"{title}\" ({id})")),
        (Some(title), None) => Some(format!("card \"{title}\"")),
        (None, Some(id)) => Some(format!("card {id}")),
        (None, None) => None,
    };
    let bar = d.bar.map(|bar| format!("bar {bar}"));
    let pulse = d.pulse.as_ref().map(|pulse| format!("on {pulse}"));
    let field = d.field.as_ref().filter(|_| d.bar.is_none());
    let field = field.map(|f| format!("`{}`", said(f, MOST_NAMED)));
    let parts: Vec<String> = [card, bar, pulse, field].into_iter().flatten().collect();
    match parts.is_empty() {
        true => place,
        false => format!("{place}: {}", parts.join(", ")),
    }
}

/// The bar that is wrong, or the line.
fn quoted(d: &Diagnostic, text: &str, room: usize) -> Vec<String> {
    let mut span = d.span.clone();
    if d.rule == super::rules::SYNTAX.name {
        // Where TOML stumbles, only the place where it does so is told.
        let rest = text.get(span.clone()).unwrap_or("");
        span.end = span.start + rest.find('\n').unwrap_or(rest.len());
    }
    let of_grid = d.grid.as_ref().and_then(|grid| {
        let rows = text.get(grid.clone()).unwrap_or("");
        let span = span.start - grid.start..span.end.saturating_sub(grid.start);
        let place = BlockIndex::new(rows).place(&span)?;
        Some(bars(rows, &place, &span, room))
    });
    let Quote { mut lines, mark } = of_grid.unwrap_or_else(|| file_lines(text, &span, room));
    lines.extend(mark.map(|m| format!("{:1$}{2}", "", m.start, mark_of(m.len()))));
    let lines = lines.iter().map(|l| format!("{:INDENT$}{l}", ""));
    lines.collect()
}

/// A caret under one column, a bracket under more.
fn mark_of(columns: usize) -> String {
    match columns {
        0 | 1 => "^".into(),
        n => format!("╰{}╯", "─".repeat(n - 2)),
    }
}

/// The line of the file where `span` begins, and the lines after it where it goes on over several.
fn file_lines(text: &str, span: &Range<usize>, room: usize) -> Quote {
    let before = text.get(..span.start).unwrap_or("");
    let start = before.rfind('\n').map_or(0, |i| i + 1);
    let several = text.get(start..span.end).unwrap_or("").trim_end();
    if several.contains('\n') {
        let lines = several.lines().take(MOST_LINES);
        let mut lines: Vec<String> = lines.map(|l| cut_line(l, &(0..0), room).0).collect();
        if several.lines().count() > MOST_LINES {
            lines.push(CUT.into());
        }
        return Quote { lines, mark: None };
    }
    let line = text.get(start..).unwrap_or("").lines().next().unwrap_or("");
    let within = span.start - start..span.end - start;
    let (line, mark) = cut_line(line, &within, room);
    let there = !line.trim().is_empty();
    Quote {
        lines: there.then_some(line).into_iter().collect(),
        mark: there.then_some(mark),
    }
}

/// A line as it may be printed, cut to `room` columns around the bytes `span` of it, and the columns of those.
fn cut_line(line: &str, span: &Range<usize>, room: usize) -> (String, Range<usize>) {
    let width = |bytes: Range<usize>| -> usize {
        let chars = line.char_indices().filter(|(at, _)| bytes.contains(at));
        chars.map(|(_, c)| shown(c).width()).sum()
    };
    let (before, inside) = (width(0..span.start), width(span.clone()));
    let whole = width(0..line.len());
    // Past the end of the line stands what is missing there.
    let mark = before..before + inside.max(1);
    if whole.max(mark.end) <= room {
        return (line.chars().map(shown).collect(), mark);
    }
    let from = match mark.start + room / 4 < room {
        true => 0,
        false => mark.start - room / 2,
    };
    let to = from + room - 2 * CUT.width();
    let mut text = String::from(if from > 0 { CUT } else { "" });
    let lead = text.width();
    let mut x = 0;
    let mut left = None;
    for c in line.chars() {
        let shown = shown(c);
        let end = x + shown.width();
        if x >= from && end <= to {
            left.get_or_insert(x);
            text += &shown;
        }
        x = end;
    }
    if x > to {
        text += CUT;
    }
    let left = left.unwrap_or(from);
    let start = lead + mark.start.saturating_sub(left);
    let end = lead + mark.end.min(to).saturating_sub(left);
    (text, start..end.max(start + 1))
}

/// A text in lines, the first after `first` and the others set in.
fn filled(text: &str, width: usize, first: &str) -> Vec<String> {
    let rest = " ".repeat(INDENT);
    let options = textwrap::Options::new(width)
        .initial_indent(first)
        .subsequent_indent(&rest)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    let lines = textwrap::wrap(text, options).into_iter();
    lines.map(|l| l.into_owned()).collect()
}
