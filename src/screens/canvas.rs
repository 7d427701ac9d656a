//! Where and how a page is written: text, keys and what can be clicked.

use super::theme::{Role, Theme};
use crossterm::event::KeyCode;
use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// Columns left free at the left edge of everything but the bar grid.
pub(super) const MARGIN: u16 = 2;
/// Columns between two keys.
pub(super) const GAP: u16 = 2;

/// A place on the screen that can be clicked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClickTarget {
    /// Columns and lines that it takes.
    pub area: Rect,
    /// What a click does.
    pub does: Click,
}

/// What a click does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Click {
    /// The same as this key.
    Key(KeyCode),
    /// Chooses this row of the list.
    Row(usize),
}

/// What a click on this column and line does, if there is anything to click.
pub fn clicked(targets: &[ClickTarget], (column, line): (u16, u16)) -> Option<Click> {
    let at = Position::new(column, line);
    let hit = targets.iter().find(|target| target.area.contains(at));
    hit.map(|target| target.does)
}

/// Where and how to write.
pub(super) struct Canvas<'a> {
    pub theme: Theme,
    pub area: Rect,
    pub buffer: &'a mut Buffer,
    pub targets: Vec<ClickTarget>,
}

impl<'a> Canvas<'a> {
    pub fn new(theme: Theme, area: Rect, buffer: &'a mut Buffer) -> Canvas<'a> {
        Canvas {
            theme,
            area,
            buffer,
            targets: Vec::new(),
        }
    }

    /// Writes `text` from column `x` of line `y`, cut at the right edge; returns the column after it.
    pub fn write(&mut self, x: u16, y: u16, text: &str, role: Role) -> u16 {
        if x >= self.area.right() || y >= self.area.bottom() {
            return x;
        }
        let room = usize::from(self.area.right() - x);
        let style = self.theme.style(role);
        self.buffer.set_stringn(x, y, text, room, style).0
    }

    pub fn rule(&mut self, y: u16) {
        let rule = "─".repeat(self.area.width.into());
        self.write(self.area.x, y, &rule, Role::Quiet);
    }

    /// Writes the head of a page: where the player is, and what is left to do.
    pub fn header(&mut self, place: &str, left: &str) {
        let (x, y) = (self.area.x + MARGIN, self.area.y);
        let after = self.write(x, y, "whichside", Role::Strong);
        let at = self.area.right() - (left.width() as u16 + MARGIN).min(self.area.width);
        let place = shortened(place, at.saturating_sub(after + 5));
        self.write(after + 3, y, &place, Role::Plain);
        self.write(at, y, left, Role::Quiet);
        self.rule(y + 1);
    }

    /// Lets a click on line `y` choose row `n`.
    pub fn row(&mut self, y: u16, n: usize) {
        self.targets.push(ClickTarget {
            area: Rect::new(self.area.x, y, self.area.width, 1),
            does: Click::Row(n),
        });
    }

    /// Writes a key with its meaning; returns the column for the next one.
    pub fn key(&mut self, (x, y): (u16, u16), name: &str, does: &str) -> u16 {
        let after = self.write(x, y, &format!("[{name}]"), Role::Key);
        let end = self.write(after + 1, y, does, Role::Plain);
        let mut letters = name.chars();
        let code = match (name, letters.next(), letters.next()) {
            ("Enter", ..) => Some(KeyCode::Enter),
            ("Bksp", ..) => Some(KeyCode::Backspace),
            ("Space", ..) => Some(KeyCode::Char(' ')),
            ("Esc", ..) => Some(KeyCode::Esc),
            ("←→", ..) => Some(KeyCode::Right),
            (_, Some(letter), None) => Some(KeyCode::Char(letter)),
            _ => None,
        };
        self.targets.extend(code.map(|code| ClickTarget {
            area: Rect::new(x, y, end.saturating_sub(x), 1),
            does: Click::Key(code),
        }));
        end + GAP
    }

    /// Says that `what` needs a larger window than this.
    pub fn too_small(&mut self, what: &str, least: (u16, u16), mend: &str) {
        let Rect { width, height, .. } = self.area;
        let text = format!(
            "This window has {width} columns and {height} lines; {what} needs {} and {}. {mend}",
            least.0, least.1
        );
        let lines = textwrap::wrap(&text, usize::from(width).max(1));
        for (line, y) in lines.iter().zip(self.area.top()..self.area.bottom()) {
            self.write(self.area.x, y, line, Role::Plain);
        }
    }
}

/// The text, or as much of its beginning as `room` columns hold with an ellipsis after it.
pub(super) fn shortened(text: &str, room: u16) -> String {
    let room = usize::from(room);
    if text.width() <= room {
        return text.to_string();
    }
    let mut short = String::new();
    for c in text.chars() {
        if short.width() + c.width().unwrap_or(0) + 1 > room {
            break;
        }
        short.push(c);
    }
    short + "…"
}
