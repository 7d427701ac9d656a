//! The view of weak concepts: some leaves that are turned left and right, a list to choose from on the first two.

mod plots;

use super::draw::SMALLEST;
use super::theme::{Role, Theme};
use crate::report::Report;
use crate::report::phrases::percent;
use crate::report::text::{self, mark_row};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::{Paragraph, Widget, Wrap};

/// Leaves of the view, in order, with their names.
const LEAVES: [&str; 6] = [
    "Work on",
    "Concepts",
    "Mixed up",
    "Tempo",
    "Forecasts",
    "Days",
];
const MARGIN: u16 = 2;

/// What is open and what is chosen in it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct View {
    leaf: usize,
    row: usize,
}

/// What a key asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Asked {
    Nothing,
    /// A drill on this concept.
    Drill(String),
    /// Stop the program for a while, as the terminal's stop key does.
    Suspend,
    Leave,
}

impl View {
    /// Takes a key.
    pub fn key(&mut self, report: &Report, key: KeyEvent) -> Asked {
        let rows = rows(report, self.leaf);
        if key.modifiers.contains(KeyModifiers::CONTROL) {
            return match key.code {
                KeyCode::Char('c') => Asked::Leave,
                KeyCode::Char('z') => Asked::Suspend,
                _ => Asked::Nothing,
            };
        }
        match key.code {
            KeyCode::Left => self.turn(LEAVES.len() - 1),
            KeyCode::Right | KeyCode::Tab => self.turn(1),
            KeyCode::Up => self.row = self.row.saturating_sub(1),
            KeyCode::Down => self.row = (self.row + 1).min(rows.saturating_sub(1)),
            KeyCode::Enter => {
                if let Some(concept) = self.chosen(report) {
                    return Asked::Drill(concept);
                }
            }
            KeyCode::Esc | KeyCode::Char('q') => return Asked::Leave,
            _ => {}
        }
        Asked::Nothing
    }

    fn turn(&mut self, by: usize) {
        self.leaf = (self.leaf + by) % LEAVES.len();
        self.row = 0;
    }

    /// The concept that a drill would be on.
    fn chosen(&self, report: &Report) -> Option<String> {
        match self.leaf {
            0 => report.spots.get(self.row)?.concept().map(str::to_string),
            1 => report.concepts.get(self.row).map(|c| c.concept.clone()),
            3 => report.tempos.get(self.row).map(|t| t.concept.clone()),
            _ => None,
        }
    }

    /// Draws the view over the whole of `area`. In a window that is too small it says so instead.
    pub fn draw(&self, report: &Report, theme: Theme, area: Rect, buffer: &mut Buffer) {
        if area.width < SMALLEST.0 || area.height < SMALLEST.1 {
            let text = format!(
                "This window has {} columns and {} lines; the view needs {} and {}. Please make it larger, or press Esc.",
                area.width, area.height, SMALLEST.0, SMALLEST.1
            );
            Paragraph::new(text)
                .wrap(Wrap { trim: true })
                .render(area, buffer);
            return;
        }
        self.header(report, theme, area, buffer);
        let inside = Rect {
            x: area.x + MARGIN,
            y: area.y + 4,
            width: area.width - 2 * MARGIN,
            height: area.height - 7,
        };
        match self.leaf {
            0 => self.spots(report, theme, inside, buffer),
            1 => self.concepts(report, theme, inside, buffer),
            2 => section(report, &[3, 2], theme, inside, buffer),
            3 => plots::tempo(report, self.row, theme, inside, buffer),
            4 => plots::forecasts(report, theme, inside, buffer),
            _ => plots::days(report, theme, inside, buffer),
        }
        self.footer(report, theme, area, buffer);
    }

    fn header(&self, report: &Report, theme: Theme, area: Rect, buffer: &mut Buffer) {
        let x = area.x + MARGIN;
        let (after, _) = buffer.set_stringn(x, area.y, "whichside", 20, theme.style(Role::Strong));
        buffer.set_string(after + 3, area.y, "Weak concepts", theme.style(Role::Plain));
        let from = format!("from {} answers", report.reviews);
        let right = area.right() - MARGIN - from.len() as u16;
        buffer.set_string(right, area.y, from, theme.style(Role::Quiet));
        rule(area, area.y + 1, theme, buffer);
        let mut x = x;
        for (n, name) in LEAVES.iter().enumerate() {
            // The open leaf is marked by signs as well, not by its look alone.
            let (text, role) = match n == self.leaf {
                true => (format!("‹{name}›"), Role::Strong),
                false => (format!(" {name} "), Role::Quiet),
            };
            x = buffer
                .set_stringn(x, area.y + 2, text, 20, theme.style(role))
                .0
                + 1;
        }
    }

    fn footer(&self, report: &Report, theme: Theme, area: Rect, buffer: &mut Buffer) {
        let y = area.bottom() - 1;
        rule(area, y - 1, theme, buffer);
        let mut x = area.x + MARGIN;
        let mut keys = vec![("←→", "turn")];
        if rows(report, self.leaf) > 1 {
            keys.push(("↑↓", "choose"));
        }
        if self.chosen(report).is_some() {
            keys.push(("Enter", "drill on this"));
        }
        keys.push(("Esc", "leave"));
        for (key, does) in keys {
            x = buffer
                .set_stringn(x, y, format!("[{key}]"), 10, theme.style(Role::Key))
                .0
                + 1;
            x = buffer
                .set_stringn(x, y, does, 20, theme.style(Role::Plain))
                .0
                + 3;
        }
    }

    fn spots(&self, report: &Report, theme: Theme, area: Rect, buffer: &mut Buffer) {
        if report.spots.is_empty() {
            return section(report, &[0], theme, area, buffer);
        }
        let mut y = area.y;
        for (n, spot) in report.spots.iter().enumerate() {
            let grounds = spot.grounds();
            let lines = textwrap::wrap(&grounds, usize::from(area.width) - 4);
            if y + lines.len() as u16 + 1 > area.bottom() {
                break;
            }
            let (sign, role) = match n == self.row {
                true => ("›", Role::Strong),
                false => (" ", Role::Plain),
            };
            let title = format!("{sign} {}. {}", n + 1, spot.title());
            buffer.set_stringn(area.x, y, title, area.width.into(), theme.style(role));
            for line in lines {
                y += 1;
                buffer.set_string(area.x + 4, y, line, theme.style(Role::Plain));
            }
            y += 2;
        }
    }

    fn concepts(&self, report: &Report, theme: Theme, area: Rect, buffer: &mut Buffer) {
        if report.concepts.is_empty() {
            return section(report, &[1], theme, area, buffer);
        }
        let head = format!(
            "{:<24} {:<20}  known   now  4 weeks  answers",
            "", "= sure  - maybe"
        );
        buffer.set_stringn(
            area.x,
            area.y,
            head,
            area.width.into(),
            theme.style(Role::Quiet),
        );
        let list = usize::from(area.height).saturating_sub(4);
        let start = (self.row + 1).saturating_sub(list);
        let shown = report.concepts.iter().enumerate().skip(start).take(list);
        for (y, (n, c)) in (area.y + 1..).zip(shown) {
            let (sign, role) = match n == self.row {
                true => ("›", Role::Strong),
                false => (" ", Role::Plain),
            };
            let now = c.today.map_or_else(|| "-".into(), percent);
            let name: String = c.concept.chars().take(22).collect();
            let line = format!(
                "{sign} {name:<22} {}  {:>5} {now:>5}  {:<7}  {:>7}",
                mark_row(c.known.low, c.known.high),
                percent(c.known.mean),
                c.going(),
                c.answers
            );
            buffer.set_stringn(area.x, y, line, area.width.into(), theme.style(role));
        }
        if let Some(c) = report.concepts.get(self.row) {
            let half = |sense: &str| {
                let of = |h: &&crate::report::Concept| {
                    h.concept == c.concept && h.sense.as_deref() == Some(sense)
                };
                let half = report.by_sense.iter().find(of);
                half.map_or_else(|| "not asked".to_string(), |h| percent(h.known.mean))
            };
            let text = format!(
                "{}: by eye {}, by ear {}; {} cards, last asked {}; {} right and in time.",
                c.concept,
                half("read"),
                half("hear"),
                c.cards,
                c.last_asked(),
                percent(c.in_time)
            );
            let below = Rect {
                y: area.bottom() - 2,
                height: 2,
                ..area
            };
            Paragraph::new(text)
                .wrap(Wrap { trim: true })
                .render(below, buffer);
        }
    }
}

/// Rows that can be chosen on a leaf.
fn rows(report: &Report, leaf: usize) -> usize {
    match leaf {
        0 => report.spots.len(),
        1 => report.concepts.len(),
        3 => report.tempos.len(),
        _ => 0,
    }
}

fn rule(area: Rect, y: u16, theme: Theme, buffer: &mut Buffer) {
    let rule = "─".repeat(area.width.into());
    buffer.set_string(area.x, y, rule, theme.style(Role::Quiet));
}

/// Sections of the text report, wrapped.
fn section(report: &Report, which: &[usize], theme: Theme, area: Rect, buffer: &mut Buffer) {
    let sections = text::sections(report);
    let mut y = area.y;
    for section in which.iter().filter_map(|n| sections.get(*n)) {
        if y >= area.bottom() {
            return;
        }
        buffer.set_string(area.x, y, section.heading, theme.style(Role::Strong));
        y += 1;
        for line in &section.lines {
            for part in textwrap::wrap(line, usize::from(area.width) - 2) {
                if y >= area.bottom() {
                    return;
                }
                buffer.set_string(area.x + 2, y, part, theme.style(Role::Plain));
                y += 1;
            }
        }
        y += 1;
    }
}
