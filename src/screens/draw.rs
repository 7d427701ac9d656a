//! A page drawn into a terminal buffer.

use super::canvas::{Canvas, GAP, MARGIN, shortened};
pub use super::canvas::{Click, ClickTarget, clicked};
use super::chart::GridLayout;
use super::page::{ListRow, Page, Paragraph};
use super::theme::{Role, Theme};
use crate::question::Choice;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use unicode_width::UnicodeWidthStr;

/// The smallest window in which pages are drawn, columns and lines: room for one bar. Two bars side by side and a text
/// without scrolling need 80 and 24.
pub const SMALLEST: (u16, u16) = (50, 18);
/// The most columns and lines that a page takes of a large window; it is in the middle, so that the eye does not have
/// far to go from the bar grid to the answers (chosen).
const LARGEST: (u16, u16) = (150, 32);
/// Columns from which every key has its own place at the foot; in narrower windows the keys follow each other.
const KEY_PLACES: u16 = 80;

/// Columns that running text is given at most, so that lines stay easy to read.
const MEASURE: usize = 92;
/// Lines at the foot of every page: a rule, and one or two of keys.
fn foot_lines(width: u16) -> u16 {
    if width >= KEY_PLACES { 2 } else { 3 }
}
/// Lines of a notice above that: one is always kept free for it, a long one has more.
const NOTICE: (u16, u16) = (1, 3);
/// Lines of answers above that, where they fit side by side; otherwise each has its own line, unless they are so short that
/// two and more go into one.
const ANSWERS: u16 = 2;

/// Does a window of this many columns and lines have room for a page?
pub fn is_large_enough((width, height): (u16, u16)) -> bool {
    width >= SMALLEST.0 && height >= SMALLEST.1
}

/// Draws a page over the whole of `area`; returns what of it can be clicked. In a window smaller than [`SMALLEST`] it says
/// so instead.
pub fn page(page: &Page, theme: Theme, area: Rect, buffer: &mut Buffer) -> Vec<ClickTarget> {
    let canvas = &mut Canvas::new(theme, area, buffer);
    if !is_large_enough((area.width, area.height)) {
        let mend = "Please make it larger, or press Esc to stop. The clock stands still, and nothing is lost.";
        canvas.too_small("the bar grid", SMALLEST, mend);
        return Vec::new();
    }
    canvas.area = middle_of(area);
    let area = canvas.area;
    canvas.header(&page.place, &page.left);
    let notice = notice(page, area.width);
    let foot = area.bottom() - foot_lines(area.width) - notice.len() as u16;
    let end = foot - answer_lines(page, area.width);
    content(page, canvas, area.top() + 2, end);
    footer(page, &notice, canvas, foot);
    std::mem::take(&mut canvas.targets)
}

/// As much of the middle of a window as a page takes.
fn middle_of(area: Rect) -> Rect {
    let (width, height) = (area.width.min(LARGEST.0), area.height.min(LARGEST.1));
    Rect {
        x: area.x + (area.width - width) / 2,
        y: area.y + (area.height - height) / 2,
        width,
        height,
    }
}

impl Canvas<'_> {
    /// Writes paragraphs from line `y` and up to line `end`; returns the line after them.
    fn paragraphs(&mut self, paragraphs: &[Paragraph], mut y: u16, end: u16) -> u16 {
        for paragraph in paragraphs {
            for (nth, line) in broken(paragraph, self.area.width).iter().enumerate() {
                if y >= end {
                    let more = format!("{:>width$}", "... more in a taller window", width = 30);
                    let x = self.area.right() - more.len() as u16 - MARGIN;
                    self.write(x, end - 1, &more, Role::Quiet);
                    return y;
                }
                let mut x = self.area.x + MARGIN;
                let start = paragraph.start();
                if nth == 0 {
                    self.write(x, y, &start, Role::Strong);
                }
                x += start.width() as u16;
                self.write(x, y, line, paragraph.role);
                y += 1;
            }
        }
        y
    }
}

fn broken(paragraph: &Paragraph, width: u16) -> Vec<String> {
    let room = usize::from(width.saturating_sub(2 * MARGIN)).min(MEASURE);
    let room = room.saturating_sub(paragraph.start().width()).max(1);
    let lines = textwrap::wrap(&paragraph.text, room);
    lines.into_iter().map(|line| line.into_owned()).collect()
}

fn lines_of(paragraphs: &[Paragraph], width: u16) -> u16 {
    let lines = paragraphs.iter().map(|p| broken(p, width).len());
    lines.sum::<usize>() as u16
}

/// The text above, the bar grid, the text below, from line `top` up to line `end`, with empty lines between them
/// where there is room for them. Where there is none for the grid, remarks above it give way.
fn content(page: &Page, canvas: &mut Canvas, top: u16, end: u16) {
    let (width, area) = (canvas.area.width, canvas.area);
    let body = lines_of(&page.body, width);
    let laid = |head: &[Paragraph]| {
        let room = end.saturating_sub(top + lines_of(head, width) + body);
        let sheet = page.chart.as_ref().map(GridLayout::of);
        let sheet = sheet.map(|sheet| fitting(sheet, area, room, room + body));
        (room, sheet.unwrap_or_default())
    };
    let mut head = page.head.clone();
    let (mut room, (mut sheet, mut chart)) = laid(&head);
    if page.chart.is_some() && sheet.is_none() {
        head.retain(|paragraph| paragraph.role != Role::Quiet);
        (room, (sheet, chart)) = laid(&head);
    }
    let air = room.saturating_sub(chart);
    let mut y = canvas.paragraphs(&head, top + air.min(3) / 3, end);
    y += air.min(2) / 2;
    if let Some(sheet) = sheet {
        let area = Rect {
            y,
            height: chart,
            ..canvas.area
        };
        sheet.draw(canvas, area);
    }
    y += chart + air.min(1);
    if let Some(list) = &page.list {
        let height = end.saturating_sub(y + body);
        rows(&list.rows, list.chosen, canvas, y, height);
        y += height;
    }
    canvas.paragraphs(&page.body, y, end);
}

/// As many rows of a list as `height` lines hold, with the chosen one among them, marked by a sign.
fn rows(rows: &[ListRow], chosen: usize, canvas: &mut Canvas, top: u16, height: u16) {
    let lines = usize::from(height);
    let first = chosen.saturating_sub(lines / 2);
    let first = first.min(rows.len().saturating_sub(lines));
    let left = canvas.area.x + MARGIN;
    for ((n, row), y) in rows.iter().enumerate().skip(first).zip(top..top + height) {
        let (sign, role) = match (row.heading, n == chosen) {
            (true, _) => ("", Role::Quiet),
            (false, true) => ("› ", Role::Strong),
            (false, false) => ("  ", Role::Plain),
        };
        let beside = MARGIN + row.detail.width() as u16;
        let room = canvas.area.width.saturating_sub(beside + MARGIN + 2);
        canvas.write(
            left,
            y,
            &shortened(&format!("{sign}{}", row.text), room),
            role,
        );
        let right = canvas.area.right().saturating_sub(beside);
        let role = if n == chosen {
            Role::Strong
        } else {
            Role::Quiet
        };
        canvas.write(right, y, &row.detail, role);
        if !row.heading {
            canvas.row(y, n);
        }
    }
}

/// The bar grid for `room` lines with the lines that it takes: without the band where it must be, and where even
/// that is too much for it, over the text below (`more` lines).
fn fitting(sheet: GridLayout, area: Rect, room: u16, more: u16) -> (Option<GridLayout>, u16) {
    let bare = sheet.without_band();
    let ways = [(&sheet, room), (&bare, room), (&bare, more)];
    for (sheet, height) in ways {
        let taken = sheet.height(Rect { height, ..area });
        if taken > 0 {
            return (Some(sheet.clone()), taken);
        }
    }
    (None, 0)
}

/// Lines for the notice, at least as many as are kept free for it.
fn notice(page: &Page, width: u16) -> Vec<String> {
    let text = page.notice.as_deref().unwrap_or_default();
    let room = usize::from(width.saturating_sub(2 * MARGIN + 2)).max(1);
    let (least, most) = (usize::from(NOTICE.0), usize::from(NOTICE.1));
    let mut lines: Vec<String> = textwrap::wrap(text, room)
        .into_iter()
        .map(String::from)
        .collect();
    if lines.len() > most {
        lines.truncate(most);
        let last = format!("{} …", lines[most - 1]);
        lines[most - 1] = shortened(&last, room as u16);
    }
    lines.resize(lines.len().max(least), String::new());
    lines
}

/// Notice, answers and keys.
fn footer(page: &Page, notice: &[String], canvas: &mut Canvas, top: u16) {
    let left = canvas.area.x + MARGIN;
    if page.notice.is_some() {
        canvas.write(left, top, "! ", Role::Strong);
    }
    for (line, y) in notice.iter().zip(top..) {
        canvas.write(left + 2, y, line, Role::Plain);
    }
    let lines = answer_lines(page, canvas.area.width);
    let listed = lines > ANSWERS && usize::from(lines) == page.choices.len();
    let mut at = (left, top - lines);
    for choice in &page.choices {
        if listed || !fits(at.0, choice, canvas.area.right()) {
            at = if at.0 == left { at } else { (left, at.1 + 1) };
        }
        at.0 = canvas.key(at, &choice.key.to_string(), &choice.label);
    }
    if let Some(typed) = &page.typed {
        canvas.write(at.0, at.1, typed, Role::Strong);
    }
    let keys = top + notice.len() as u16;
    canvas.rule(keys);
    let unknown_key = page.keys.unknown.map_or(String::new(), String::from);
    let unknown = page.keys.unknown.map(|_| "don't know");
    let slots = [
        ("Enter", page.keys.enter, 0),
        ("Bksp", page.keys.erase, 0),
        (unknown_key.as_str(), unknown, 0),
        ("Space", page.keys.space, 16),
        ("-", page.keys.minus, 33),
        ("↑↓", page.keys.arrows.as_deref(), 45),
        ("?", page.keys.pause, 57),
        ("Esc", page.keys.escape, 67),
    ];
    let mut at = (left, keys + 1);
    for (name, does, column) in slots {
        let Some(does) = does else { continue };
        if canvas.area.width >= KEY_PLACES {
            at.0 = left + column;
        } else if at.0 + (name.width() + does.width() + 3) as u16 > canvas.area.right() {
            at = (left, at.1 + 1);
        }
        at.0 = canvas.key(at, name, does);
    }
}

/// Does an answer have room in its line from column `x` on?
fn fits(x: u16, choice: &Choice, width: u16) -> bool {
    x + (choice.label.width() + 4) as u16 <= width
}

/// Lines that the answers take.
fn answer_lines(page: &Page, width: u16) -> u16 {
    let (mut x, mut lines) = (MARGIN, 1);
    for choice in &page.choices {
        if !fits(x, choice, width) {
            (x, lines) = (MARGIN, lines + 1);
        }
        x += (choice.label.width() + 4) as u16 + GAP;
    }
    match page.choices.len() as u16 {
        0 => 0,
        _ if lines <= ANSWERS => ANSWERS,
        each if 2 * lines > each => each,
        _ => lines,
    }
}
