//! Diagnostics drawn for a reader: the bar or the line that is wrong, a mark beneath, what is wrong and how to mend it.

use super::diagnostic::{Diagnostic, Severity};
use crate::rhythm::notation::{BlockPlace, place_in_block};
use std::ops::Range;
use unicode_width::UnicodeWidthStr;

/// How diagnostics are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    /// Columns of the terminal; fewer than 30 count as 30.
    pub width: usize,
    /// Are first lines and marks drawn in bold?
    pub bold: bool,
}

impl Default for Look {
    /// Plain text, 80 columns wide.
    fn default() -> Look {
        Look {
            width: 80,
            bold: false,
        }
    }
}

/// Most diagnostics that are drawn at once: who has more of them mends the first ones and looks again.
const MOST: usize = 40;
/// Columns left of a bar or line, and of what is said about it.
const INDENT: usize = 4;
/// Most lines of a text of several lines that are quoted.
const MOST_LINES: usize = 6;
/// Most characters of a message that are printed: a deck may hold texts of any length.
const MOST_SAID: usize = 800;
/// Most characters of a title, an id or a key.
const MOST_NAMED: usize = 60;
/// Most characters of a row's name, which may be no name of a row.
const MOST_ROW_NAME: usize = 8;
/// Stands for what is cut off.
const CUT: &str = "…";

/// Draws the diagnostics of one file. `text` is the file as it was read. No control character of the file reaches the
/// result. Where there are very many, the first ones are drawn and the others counted.
pub fn render(diagnostics: &[Diagnostic], text: &str, look: Look) -> String {
    let look = Look {
        width: look.width.max(30),
        ..look
    };
    let drawn = diagnostics.iter().take(MOST).map(|d| drawn(d, text, look));
    let mut drawn: Vec<String> = drawn.collect();
    if let Some(more) = diagnostics.len().checked_sub(MOST).filter(|n| *n > 0) {
        drawn.push(format!("And {more} more in this file. Mend these first.\n"));
    }
    drawn.join("\n")
}

fn drawn(d: &Diagnostic, text: &str, look: Look) -> String {
    let sort = match d.severity {
        Severity::Mistake => "Mistake",
        Severity::Warning => "Warning",
    };
    let mut lines = filled(&head(d), look.width, "", INDENT);
    if look.bold {
        for line in &mut lines {
            *line = bold(line);
        }
    }
    lines.push(String::new());
    let quoted = quoted(d, text, look);
    let any = !quoted.is_empty();
    lines.extend(quoted);
    if any {
        lines.push(String::new());
    }
    let message = format!("{sort}: {} [{}]", said(&d.message, MOST_SAID), d.rule);
    lines.extend(filled(&message, look.width, "  ", INDENT));
    let mend = format!("Mend it: {}", said(&d.mend, MOST_SAID));
    lines.extend(filled(&mend, look.width, "  ", INDENT));
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
fn quoted(d: &Diagnostic, text: &str, look: Look) -> Vec<String> {
    let room = look.width - INDENT;
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
            place_in_block(rows, &span).map(|place| bars(rows, &place, &span, room))
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
        let drawn = if look.bold { bold(&drawn) } else { drawn };
        lines.push(format!("{:1$}{drawn}", "", INDENT + mark.start));
    }
    lines
}

/// Lines of a file or a grid and the columns under the last of them that are marked.
struct Quote {
    lines: Vec<String>,
    mark: Option<Range<usize>>,
}

/// A caret under one column, a bracket under more.
fn mark_of(columns: usize) -> String {
    match columns {
        0 | 1 => "^".into(),
        n => format!("╰{}╯", "─".repeat(n - 2)),
    }
}

/// One column of a bar as it is drawn: a cell of the row with what is counted over it, or a bar line.
struct Column {
    count: String,
    cell: String,
    marked: bool,
    is_line: bool,
}

impl Column {
    fn bar_line() -> Column {
        Column {
            count: "│".into(),
            cell: "│".into(),
            marked: false,
            is_line: true,
        }
    }

    fn width(&self) -> usize {
        self.count.width().max(self.cell.width())
    }
}

/// Bars of a row under their count, cell under cell.
fn bars(rows: &str, place: &BlockPlace, span: &Range<usize>, room: usize) -> Quote {
    let text = |range: &Range<usize>| said(rows.get(range.clone()).unwrap_or(""), MOST_NAMED);
    let touches =
        |cell: &Range<usize>| cell.start < span.end.max(span.start + 1) && span.start < cell.end;
    let mut columns = vec![Column::bar_line()];
    for (i, cells) in place.cells.iter().enumerate() {
        let count = place.count.get(i).map_or(&[][..], Vec::as_slice);
        for pulse in 0..cells.len().max(count.len()) {
            columns.push(Column {
                count: count.get(pulse).map_or_else(String::new, text),
                cell: cells.get(pulse).map_or_else(String::new, text),
                marked: cells.get(pulse).is_some_and(touches),
                is_line: false,
            });
        }
        columns.push(Column::bar_line());
    }
    let name = said(rows.get(place.name.clone()).unwrap_or(""), MOST_ROW_NAME);
    let label = match place.count.is_empty() {
        true => name.width(),
        false => name.width().max("count".len()),
    };
    let (from, to, gap) = window(&columns, room.saturating_sub(label));
    let (mut count, mut row) = (padded("count", label), padded(&name, label));
    let mut marked: Option<Range<usize>> = None;
    let mut x = label;
    for (i, column) in columns[from..to].iter().enumerate() {
        let blanks = " ".repeat(lead(&columns, from, from + i, gap));
        let lead = match i == 0 && from > 0 {
            true => format!(" {CUT}{blanks}"),
            false => blanks,
        };
        let width = column.width();
        for (line, text) in [(&mut count, &column.count), (&mut row, &column.cell)] {
            *line += &lead;
            *line += &padded(text, width);
        }
        x += lead.width();
        if column.marked {
            let start = marked.as_ref().map_or(x, |m| m.start);
            marked = Some(start..x + column.cell.width().max(1));
        }
        x += width;
    }
    if to < columns.len() {
        count += &format!(" {CUT}");
        row += &format!(" {CUT}");
    }
    if span.start < place.name.end && place.name.start < span.end && !name.is_empty() {
        marked = Some(0..marked.map_or(name.width(), |m| m.end));
    }
    let lines = match place.count.is_empty() {
        true => vec![row],
        false => vec![count, row],
    };
    let mark = marked.filter(|m| m.start < m.end);
    Quote { lines, mark }
}

/// Blanks before a column: one at a bar line and at the edge, otherwise those between cells.
fn lead(columns: &[Column], from: usize, column: usize, gap: usize) -> usize {
    let at_line = column == from || columns[column].is_line || columns[column - 1].is_line;
    if at_line { 1 } else { gap }
}

/// Which columns fit into `room`, and how many blanks stand between two cells: those of the drill, or as narrow as in
/// a file. What is marked stays in sight.
fn window(columns: &[Column], room: usize) -> (usize, usize, usize) {
    let width = |from: usize, to: usize, gap: usize| -> usize {
        let cuts = 2 * (usize::from(from > 0) + usize::from(to < columns.len()));
        let widths = (from..to).map(|i| columns[i].width() + lead(columns, from, i, gap));
        widths.sum::<usize>() + cuts
    };
    for gap in [3, 1] {
        if width(0, columns.len(), gap) <= room {
            return (0, columns.len(), gap);
        }
    }
    let first = columns.iter().position(|c| c.marked).unwrap_or(0);
    let last = columns.iter().rposition(|c| c.marked).unwrap_or(0);
    let (mut from, mut to) = (0, columns.len());
    while width(from, to, 1) > room && to > from + 1 {
        let (left, right) = (first.saturating_sub(from), (to - 1).saturating_sub(last));
        match left > right {
            true => from += 1,
            false => to -= 1,
        }
    }
    (from, to, 1)
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

/// A character as it may be printed: what would move the cursor, start an escape sequence or turn the direction of
/// writing is replaced.
fn shown(c: char) -> String {
    match c {
        '\t' => "    ".into(),
        '\u{feff}' => String::new(),
        '\u{061c}'
        | '\u{200e}'
        | '\u{200f}'
        | '\u{2028}'..='\u{202e}'
        | '\u{2066}'..='\u{2069}' => "\u{fffd}".into(),
        c if c.is_control() => "\u{fffd}".into(),
        c => c.into(),
    }
}

/// A text as it may be printed on one line, cut to so many characters.
fn said(text: &str, most: usize) -> String {
    let line = |c: char| {
        if matches!(c, '\n' | '\r' | '\t') {
            ' '
        } else {
            c
        }
    };
    let cut = if text.chars().nth(most).is_some() {
        CUT
    } else {
        ""
    };
    let shown = text.chars().take(most).map(|c| shown(line(c)));
    shown.collect::<String>() + cut
}

fn padded(text: &str, width: usize) -> String {
    format!("{text}{:1$}", "", width.saturating_sub(text.width()))
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
