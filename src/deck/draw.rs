//! Diagnostics drawn for a reader: the bar or the line that is wrong, a mark beneath, what is wrong and how to mend it.

use super::diagnostic::{Diagnostic, Severity};
use super::draw_bar::{Quote, bars};
use super::printable::{CUT, MOST_NAMED, said, shown};
use crate::rhythm::notation::BlockIndex;
use std::ops::Range;
use unicode_width::UnicodeWidthStr;

/// How diagnostics are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DrawOptions {
    /// Columns of the terminal; fewer than 30 count as 30.
    pub width: usize,
    /// Are first lines and marks drawn in bold?
    pub bold: bool,
}

impl Default for DrawOptions {
    /// Plain text, 80 columns wide.
    fn default() -> DrawOptions {
        DrawOptions {
            width: 80,
            bold: false,
        }
    }
}

/// Most diagnostics that are drawn at once: who has more of them mends the first ones and optionss again.
const MOST: usize = 40;
/// Columns left of a bar or line, and of what is said about it.
const INDENT: usize = 4;
/// Most lines of a text of several lines that are quoted.
const MOST_LINES: usize = 6;
/// Most characters of a message that are printed: a deck may hold texts of any length.
const MOST_SAID: usize = 800;

/// Draws the diagnostics of one file. `text` is the file as it was read. No control character of the file reaches the
/// result. Where there are very many, the first ones are drawn and the others counted.
pub fn render(diagnostics: &[Diagnostic], text: &str, options: DrawOptions) -> String {
    let options = DrawOptions {
        width: options.width.max(30),
        ..options
    };
    let drawn = diagnostics
        .iter()
        .take(MOST)
        .map(|d| drawn(d, text, options));
    let mut drawn: Vec<String> = drawn.collect();
    if let Some(more) = diagnostics.len().checked_sub(MOST).filter(|n| *n > 0) {
        drawn.push(format!("And {more} more in this file. Mend these first.\n"));
    }
    drawn.join("\n")
}

fn drawn(d: &Diagnostic, text: &str, options: DrawOptions) -> String {
    let sort = match d.severity {
        Severity::Mistake => "Mistake",
        Severity::Warning => "Warning",
    };
    let mut lines = filled(&head(d), options.width, "", INDENT);
    if options.bold {
        for line in &mut lines {
            *line = bold(line);
        }
    }
    lines.push(String::new());
    let quoted = quoted(d, text, options);
    let any = !quoted.is_empty();
    lines.extend(quoted);
    if any {
        lines.push(String::new());
    }
    let message = format!("{sort}: {} [{}]", said(&d.message, MOST_SAID), d.rule);
    lines.extend(filled(&message, options.width, "  ", INDENT));
    let mend = format!("Mend it: {}", said(&d.mend, MOST_SAID));
    lines.extend(filled(&mend, options.width, "  ", INDENT));
    lines
        .iter()
        .map(|l| format!("{}\n", l.trim_end()))
        .collect()
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
fn quoted(d: &Diagnostic, text: &str, options: DrawOptions) -> Vec<String> {
    let room = options.width - INDENT;
    let mut span = d.span.clone();
    if d.rule == super::rules::SYNTAX.name {
        // Where TOML stumbles, only the place where it does so is told.
        let rest = text.get(span.clone()).unwrap_or("");
        span.end = span.start + rest.find('\n').unwrap_or(rest.len());
    }
    let lines = match &d.grid {
        Some(grid) => {
            let rows = text.get(grid.clone()).unwrap_or("");
            let span = span.start - grid.start..span.end.saturating_sub(grid.start);
            BlockIndex::new(rows)
                .place(&span)
                .map(|place| bars(rows, &place, &span, room))
        }
        None => None,
    };
    let lines = lines.unwrap_or_else(|| file_lines(text, &span, room));
    let Quote { lines, mark } = lines;
    let mut lines: Vec<String> = lines
        .into_iter()
        .map(|l| format!("{:INDENT$}{l}", ""))
        .collect();
    if let Some(mark) = mark {
        let drawn = mark_of(mark.len());
        let drawn = if options.bold { bold(&drawn) } else { drawn };
        lines.push(format!("{:1$}{drawn}", "", INDENT + mark.start));
    }
    lines
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
        let lines = several.lines();
        let mut quoted: Vec<String> = lines
            .clone()
            .take(MOST_LINES)
            .map(|l| cut_line(l, &(0..0), room).0)
            .collect();
        if lines.count() > MOST_LINES {
            quoted.push(CUT.into());
        }
        return Quote {
            lines: quoted,
            mark: None,
        };
    }
    let line = text.get(start..).unwrap_or("").lines().next().unwrap_or("");
    let within = span.start - start..span.end - start;
    let (line, mark) = cut_line(line, &within, room);
    match line.trim().is_empty() {
        true => Quote {
            lines: Vec::new(),
            mark: None,
        },
        false => Quote {
            lines: vec![line],
            mark: Some(mark),
        },
    }
}

/// A line as it may be printed, cut to `room` columns around the bytes `span` of it, and the columns of those.
fn cut_line(line: &str, span: &Range<usize>, room: usize) -> (String, Range<usize>) {
    let mut before = 0;
    let mut inside = 0;
    for (at, c) in line.char_indices() {
        let width = shown(c).width();
        if at < span.start {
            before += width;
        } else if at < span.end {
            inside += width;
        }
    }
    let whole: usize = line.chars().map(|c| shown(c).width()).sum();
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

fn filled(text: &str, width: usize, first: &str, indent: usize) -> Vec<String> {
    let rest = " ".repeat(indent);
    let options = textwrap::Options::new(width)
        .initial_indent(first)
        .subsequent_indent(&rest)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::wrap(text, options)
        .into_iter()
        .map(|l| l.into_owned())
        .collect()
}

fn bold(text: &str) -> String {
    format!("\u{1b}[1m{text}\u{1b}[0m")
}
