//! Bars of a row drawn under their count, cell under cell.

use super::printable::{CUT, MOST_NAMED, padded, said};
use crate::rhythm::notation::{BlockPlace, touches};
use std::ops::Range;
use unicode_width::UnicodeWidthStr;

/// Most characters of a row's name, which may not be a name that exists.
const MOST_ROW_NAME: usize = 8;

/// Lines of a file or a grid and the columns under the last of them that are marked.
pub(super) struct Quote {
    pub(super) lines: Vec<String>,
    pub(super) mark: Option<Range<usize>>,
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

/// The bars of `place`, with the part of them that lies in `span` marked. `rows` is the block of rows, `room` the
/// columns there are.
pub(super) fn bars(rows: &str, place: &BlockPlace, span: &Range<usize>, room: usize) -> Quote {
    let text = |range: &Range<usize>| said(rows.get(range.clone()).unwrap_or(""), MOST_NAMED);
    let mut columns = vec![Column::bar_line()];
    for (i, cells) in place.cells.iter().enumerate() {
        let count = place.count.get(i).map_or(&[][..], Vec::as_slice);
        for pulse in 0..cells.len().max(count.len()) {
            columns.push(Column {
                count: count.get(pulse).map_or_else(String::new, text),
                cell: cells.get(pulse).map_or_else(String::new, text),
                marked: cells.get(pulse).is_some_and(|cell| touches(span, cell)),
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
    // No more columns than that can be seen on either side.
    let mut from = first.saturating_sub(room);
    let mut to = columns.len().min(first + room);
    while width(from, to, 1) > room && to > from + 1 {
        let (left, right) = (first.saturating_sub(from), (to - 1).saturating_sub(last));
        if left > right { from += 1 } else { to -= 1 }
    }
    (from, to, 1)
}
