//! The view of weak concepts: the sections of the report, turned left and right; a drill on a chosen line.

use super::draw::{Click, ClickTarget};
use super::theme::{Role, Theme};
use crate::report::text::{LineKind, TextLine, lines};
use crate::report::{Focus, Report, counted, sections};
use crossterm::event::{KeyCode, KeyEvent};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::{Paragraph, Widget, Wrap};

/// The smallest window in which the report is drawn, columns and lines.
pub const SMALLEST: (u16, u16) = (80, 24);

/// The keys of the view and what they do.
pub const HELP: &[(&str, &str)] = &[
    ("←→ Tab", "turn to the section before or after"),
    ("↑↓", "choose what to drill on, or scroll"),
    ("Enter", "drill on what is chosen"),
    ("Esc", "leave"),
];

const MARGIN: u16 = 2;
/// Lines above and below the section.
const ABOVE: u16 = 4;
const BELOW: u16 = 3;

/// Which section is open, and what is chosen in it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WeakView {
    section: usize,
    /// Which of the lines that have a drill is chosen; where there is none, by how many lines the section is scrolled.
    row: usize,
    /// Something that the player should know, shown until the next key.
    pub notice: Option<String>,
}

/// What a key asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ViewAction {
    /// Nothing but what the view did by itself.
    Nothing,
    /// A drill on this.
    Drill(Focus),
    /// The keys and what they do.
    Help,
    /// Leave the view.
    Leave,
}

/// The open section as lines, with what can be chosen in it.
struct Open {
    lines: Vec<TextLine>,
    /// Numbers of the lines that have a drill.
    drills: Vec<usize>,
    /// Lines that fit into the window.
    height: usize,
}

impl Open {
    /// How many places Up and Down go through.
    fn stops(&self) -> usize {
        match self.drills.len() {
            0 => self.lines.len().saturating_sub(self.height) + 1,
            drills => drills,
        }
    }

    /// The first line that is shown when `row` is chosen.
    fn top(&self, row: usize) -> usize {
        let last = self.lines.len().saturating_sub(self.height);
        let Some(line) = self.drills.get(row) else {
            return row.min(last);
        };
        // All that belongs to the line: up to the next one that can be chosen, or to the end.
        let end = self
            .drills
            .get(row + 1)
            .copied()
            .unwrap_or(self.lines.len());
        end.saturating_sub(self.height).min(*line)
    }
}

impl WeakView {
    /// Takes a key, in a window of this size (columns, lines).
    pub fn key(&mut self, report: &Report, key: KeyEvent, size: (u16, u16)) -> ViewAction {
        self.notice = None;
        let stops = self.open(report, size).stops();
        match key.code {
            KeyCode::Left | KeyCode::BackTab => self.turn(report, sections(report).len() - 1),
            KeyCode::Right | KeyCode::Tab => self.turn(report, 1),
            KeyCode::Up => self.row = self.row.min(stops - 1).saturating_sub(1),
            KeyCode::Down => self.row = (self.row + 1).min(stops - 1),
            KeyCode::Enter => {
                if let Some(focus) = self.chosen(&self.open(report, size)) {
                    return ViewAction::Drill(focus);
                }
            }
            KeyCode::Char('?') => return ViewAction::Help,
            KeyCode::Esc => return ViewAction::Leave,
            code => self.notice = Some(format!("{code} is no key of this page; ? shows them.")),
        }
        ViewAction::Nothing
    }

    /// A click on a line that has a drill: the first chooses it, the second starts it.
    pub fn click(&mut self, report: &Report, line: usize, size: (u16, u16)) -> ViewAction {
        let open = self.open(report, size);
        match open.drills.iter().position(|n| *n == line) {
            Some(row) if row == self.row => self.key(report, KeyCode::Enter.into(), size),
            Some(row) => {
                self.row = row;
                ViewAction::Nothing
            }
            None => ViewAction::Nothing,
        }
    }

    fn turn(&mut self, report: &Report, by: usize) {
        self.section = (self.section + by) % sections(report).len();
        self.row = 0;
    }

    /// The open section in a window of this size.
    fn open(&self, report: &Report, size: (u16, u16)) -> Open {
        let width = usize::from(size.0.max(SMALLEST.0) - 2 * MARGIN - 2);
        let lines = lines(&sections(report)[self.section], width, usize::MAX);
        let drills = (0..lines.len()).filter(|n| lines[*n].drill.is_some());
        Open {
            drills: drills.collect(),
            height: usize::from(size.1.max(SMALLEST.1) - ABOVE - BELOW),
            lines,
        }
    }

    /// What a drill would be on.
    fn chosen(&self, open: &Open) -> Option<Focus> {
        let last = open.drills.len().checked_sub(1)?;
        open.lines[open.drills[self.row.min(last)]].drill.clone()
    }

    /// Draws the view over the whole of `area`; returns what of it can be clicked. In a window that is too small it says so
    /// instead.
    pub fn draw(
        &self,
        report: &Report,
        theme: Theme,
        area: Rect,
        buffer: &mut Buffer,
    ) -> Vec<ClickTarget> {
        let mut targets = Vec::new();
        if area.width < SMALLEST.0 || area.height < SMALLEST.1 {
            let text = format!(
                "This window has {} columns and {} lines; the view needs {} and {}. Please make it larger, or press Esc.",
                area.width, area.height, SMALLEST.0, SMALLEST.1
            );
            Paragraph::new(text)
                .wrap(Wrap { trim: true })
                .render(area, buffer);
            return targets;
        }
        self.header(report, theme, area, buffer);
        let open = self.open(report, (area.width, area.height));
        let row = self.row.min(open.stops() - 1);
        let shown = open.lines.iter().enumerate().skip(open.top(row));
        for (y, (n, line)) in (area.y + ABOVE..area.bottom() - BELOW).zip(shown) {
            let chosen = open.drills.get(row) == Some(&n);
            let role = match line.kind {
                LineKind::Heading => Role::Strong,
                LineKind::Heads => Role::Quiet,
                LineKind::Body if chosen => Role::Strong,
                LineKind::Body => Role::Plain,
            };
            let sign = if chosen { "›" } else { " " };
            let text = format!("{sign} {}", line.text);
            let width = usize::from(area.width - 2 * MARGIN);
            buffer.set_stringn(area.x + MARGIN, y, text, width, theme.style(role));
            if line.drill.is_some() {
                targets.push(ClickTarget {
                    area: Rect::new(area.x, y, area.width, 1),
                    does: Click::Row(n),
                });
            }
        }
        self.footer(&open, theme, area, buffer, &mut targets);
        targets
    }

    fn header(&self, report: &Report, theme: Theme, area: Rect, buffer: &mut Buffer) {
        let x = area.x + MARGIN;
        let (after, _) = buffer.set_stringn(x, area.y, "whichside", 20, theme.style(Role::Strong));
        buffer.set_string(after + 3, area.y, "Weak concepts", theme.style(Role::Plain));
        let from = format!("from {}", counted(report.reviews, "answer"));
        let right = area.right() - MARGIN - from.len() as u16;
        buffer.set_string(right, area.y, from, theme.style(Role::Quiet));
        rule(area, area.y + 1, theme, buffer);
        let mut x = x;
        for (n, section) in sections(report).iter().enumerate() {
            // The open section is marked by signs as well, not by its look alone.
            let (text, role) = match n == self.section {
                true => (format!("‹{}›", section.name), Role::Strong),
                false => (format!(" {} ", section.name), Role::Quiet),
            };
            let style = theme.style(role);
            x = buffer.set_stringn(x, area.y + 2, text, 20, style).0;
        }
    }

    fn footer(
        &self,
        open: &Open,
        theme: Theme,
        area: Rect,
        buffer: &mut Buffer,
        targets: &mut Vec<ClickTarget>,
    ) {
        let y = area.bottom() - 1;
        rule(area, y - 1, theme, buffer);
        let mut x = area.x + MARGIN;
        if let Some(notice) = &self.notice {
            let width = usize::from(area.width - 2 * MARGIN);
            buffer.set_stringn(x, y, notice, width, theme.style(Role::Strong));
            return;
        }
        let mut keys = vec![("←→", "turn")];
        if open.stops() > 1 {
            keys.push(match open.drills.is_empty() {
                true => ("↑↓", "scroll"),
                false => ("↑↓", "choose"),
            });
        }
        if !open.drills.is_empty() {
            keys.push(("Enter", "drill on this"));
        }
        keys.extend([("?", "help"), ("Esc", "leave")]);
        for (key, does) in keys {
            let (after, _) =
                buffer.set_stringn(x, y, format!("[{key}]"), 10, theme.style(Role::Key));
            let (after, _) = buffer.set_stringn(after + 1, y, does, 20, theme.style(Role::Plain));
            let code = match key {
                "←→" => Some(KeyCode::Right),
                "Enter" => Some(KeyCode::Enter),
                "Esc" => Some(KeyCode::Esc),
                "?" => Some(KeyCode::Char('?')),
                _ => None,
            };
            targets.extend(code.map(|code| ClickTarget {
                area: Rect::new(x, y, after - x, 1),
                does: Click::Key(code),
            }));
            x = after + 3;
        }
    }
}

fn rule(area: Rect, y: u16, theme: Theme, buffer: &mut Buffer) {
    let rule = "─".repeat(area.width.into());
    buffer.set_string(area.x, y, rule, theme.style(Role::Quiet));
}
