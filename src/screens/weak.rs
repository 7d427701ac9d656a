//! The view of weak concepts: the sections of the report, turned left and right; a drill on a chosen line.

use super::canvas::{Canvas, ClickTarget, MARGIN};
use super::help;
use super::theme::{Role, Theme};
use crate::report::text::{LineKind, TextLine, lines};
use crate::report::{Focus, Report, sections};
use crate::rhythm::counted;
use crossterm::event::{KeyCode, KeyEvent};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// The smallest window in which the report is drawn, columns and lines.
pub const SMALLEST: (u16, u16) = (80, 24);

/// The keys of the view and what they do.
pub const HELP: &[(&str, &str)] = &[
    ("←→ Tab", "turn to the previous or next section"),
    ("↑↓", "choose what to drill on, or scroll"),
    ("Enter", "drill on what is chosen"),
    ("Esc", "leave"),
];

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
            code => self.notice = Some(help::not_a_key(code)),
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
        let canvas = &mut Canvas::new(theme, area, buffer);
        if area.width < SMALLEST.0 || area.height < SMALLEST.1 {
            canvas.too_small("the view", SMALLEST, "Please make it larger, or press Esc.");
            return Vec::new();
        }
        let from = format!("from {}", counted(report.reviews, "answer"));
        canvas.header("Weak concepts", &from);
        let left = area.x + MARGIN;
        let mut x = left;
        for (n, section) in sections(report).iter().enumerate() {
            // The open section is marked by signs as well, not by its look alone.
            let (text, role) = match n == self.section {
                true => (format!("‹{}›", section.name), Role::Strong),
                false => (format!(" {} ", section.name), Role::Quiet),
            };
            x = canvas.write(x, area.y + 2, &text, role);
        }
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
            canvas.write(left, y, &format!("{sign} {}", line.text), role);
            if line.drill.is_some() {
                canvas.row(y, n);
            }
        }
        self.footer(&open, canvas);
        std::mem::take(&mut canvas.targets)
    }

    fn footer(&self, open: &Open, canvas: &mut Canvas) {
        let mut at = (canvas.area.x + MARGIN, canvas.area.bottom() - 1);
        canvas.rule(at.1 - 1);
        if let Some(notice) = &self.notice {
            canvas.write(at.0, at.1, notice, Role::Strong);
            return;
        }
        let (some, drills) = (open.stops() > 1, !open.drills.is_empty());
        let keys = [
            (true, "←→", "turn"),
            (some && !drills, "↑↓", "scroll"),
            (some && drills, "↑↓", "choose"),
            (drills, "Enter", "drill on this"),
            (true, "?", "help"),
            (true, "Esc", "leave"),
        ];
        for (_, key, does) in keys.into_iter().filter(|key| key.0) {
            at.0 = canvas.key(at, key, does) + 1;
        }
    }
}
