//! The bar grid drawn into a terminal buffer.

use super::fit::{BAR_LINE_WIDTH, Fit, NAME_WIDTH};
use super::{ChartCell, GridLayout};
use crate::screens::theme::{Role, Theme};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use std::ops::Range;

impl GridLayout {
    /// Lines that one system takes: the rows between the two edges of the frame.
    fn lines(&self) -> usize {
        self.rows.len() + 2
    }

    fn fit(&self, area: Rect) -> Option<Fit> {
        let (width, height) = (usize::from(area.width), usize::from(area.height));
        Fit::best(self.grid, self.bars(), width, height, self.lines())
    }

    /// Lines that [`GridLayout::draw`] takes in this area; 0 where not even one bar has room.
    pub fn height(&self, area: Rect) -> u16 {
        let lines = |fit: Fit| fit.systems * (self.lines() + 1) - 1;
        self.fit(area).map_or(0, |fit| lines(fit) as u16)
    }

    /// Draws as many bars as there is room for, those with the playhead or the mark first; nothing if not even one bar
    /// has room.
    pub fn draw(&self, theme: Theme, area: Rect, buffer: &mut Buffer) {
        let Some(fit) = self.fit(area) else {
            return;
        };
        let per = self.grid.pulses_per_bar();
        let focus = self.playhead.or(self.marked.as_ref().map(|m| m.start));
        let first = fit.first_system(self.bars(), focus.unwrap_or(0) / per);
        let mut y = area.y;
        for system in first..first + fit.systems {
            let bars = system * fit.bars..((system + 1) * fit.bars).min(self.bars());
            let pen = Pen {
                layout: self,
                theme,
                fit,
                bars,
                x: area.x,
            };
            pen.system(y, buffer);
            y += self.lines() as u16 + 1;
        }
    }
}

/// Draws one system: the bars `bars` side by side.
struct Pen<'a> {
    layout: &'a GridLayout,
    theme: Theme,
    fit: Fit,
    bars: Range<usize>,
    x: u16,
}

impl Pen<'_> {
    fn system(&self, top: u16, buffer: &mut Buffer) {
        let rows = top + 1..top + 1 + self.layout.rows.len() as u16;
        self.rail(top, buffer);
        for (row, y) in self.layout.rows.iter().zip(rows.clone()) {
            let role = match row.name {
                "clave" => Role::Clave,
                _ => Role::Quiet,
            };
            let name = format!("{:>width$}", row.name, width = NAME_WIDTH - 2);
            self.write(buffer, self.x, y, &name, role);
            for pulse in self.pulses() {
                self.cell(buffer, pulse, y, row.cells[pulse]);
            }
            for line in 0..=self.bars.len() {
                self.write(buffer, self.bar_line(line), y, "│", Role::Quiet);
            }
        }
        self.mark(rows.end, buffer);
    }

    /// The upper edge: bar numbers, and the one moving mark of the screen over the pulse that is heard.
    fn rail(&self, y: u16, buffer: &mut Buffer) {
        self.edge(buffer, y, ["╭", "┬", "╮"]);
        let playhead = self.layout.playhead.filter(|p| self.pulses().contains(p));
        let playhead = playhead.map(|pulse| self.letter(pulse));
        for (nth, bar) in self.bars.clone().enumerate() {
            let name = format!(" bar {} ", bar + 1);
            let from = self.bar_line(nth) + 1;
            // A name that the mark stands on could not be read; it is back when the mark has gone by.
            if playhead.is_none_or(|x| !(from..from + name.len() as u16).contains(&x)) {
                self.write(buffer, from, y, &name, Role::Quiet);
            }
        }
        if let Some(x) = playhead {
            self.write(buffer, x, y, "▼", Role::Playhead);
        }
    }

    /// The lower edge, with a bracket under the bars, or an arrow under the stroke, that the question asks about.
    fn mark(&self, y: u16, buffer: &mut Buffer) {
        self.edge(buffer, y, ["╰", "┴", "╯"]);
        let Some(marked) = &self.layout.marked else {
            return;
        };
        let (from, to) = (
            marked.start.max(self.pulses().start),
            marked.end.min(self.pulses().end),
        );
        if from >= to {
            return;
        }
        if marked.len() > 1 {
            let per = self.layout.grid.pulses_per_bar();
            let line = |pulse: usize| self.bar_line(pulse / per - self.bars.start);
            let (left, right) = (line(from) + 1, line(to));
            let label = match (from == marked.start, to == marked.end) {
                (true, true) if to - from == per => " this bar ",
                (true, true) => " these bars ",
                (true, false) => " from here ",
                (false, true) => " to here ",
                (false, false) => "",
            };
            let text = format!("{label:━^width$}", width = (right - left).into());
            self.write(buffer, left, y, &text, Role::Mark);
            return;
        }
        let left = self.letter(from);
        self.write(buffer, left, y, "▲", Role::Mark);
        let label = " this one ";
        let end = self.bar_line(self.bars.len());
        let x = match left + 1 + (label.len() as u16) < end {
            true => left + 1,
            false => left - label.len() as u16,
        };
        self.write(buffer, x, y, label, Role::Mark);
    }

    /// An edge of the frame from its corners and its meetings with the bar lines.
    fn edge(&self, buffer: &mut Buffer, y: u16, [first, inner, last]: [&str; 3]) {
        let bar = "─".repeat(usize::from(self.bar_line(1) - self.bar_line(0) - 1));
        let bars = vec![bar; self.bars.len()].join(inner);
        let text = format!("{first}{bars}{last}");
        self.write(buffer, self.bar_line(0), y, &text, Role::Quiet);
    }

    fn cell(&self, buffer: &mut Buffer, pulse: usize, y: u16, cell: ChartCell) {
        let x = self.letter(pulse);
        let mut text = String::from(cell.letter);
        // Two columns hold the mark before the letter; the closing bracket needs a third.
        if cell.after != ' ' && self.fit.cell > 2 {
            text.push(cell.after);
        }
        if cell.before != ' ' {
            self.write(
                buffer,
                x - 1,
                y,
                cell.before.to_string().as_str(),
                cell.role,
            );
        }
        self.write(buffer, x, y, &text, cell.role);
    }

    fn pulses(&self) -> Range<usize> {
        let per = self.layout.grid.pulses_per_bar();
        self.bars.start * per..self.bars.end * per
    }

    /// The column of the bar line before bar `nth` of this system.
    fn bar_line(&self, nth: usize) -> u16 {
        let bar = self.layout.grid.pulses_per_bar() * self.fit.cell + BAR_LINE_WIDTH;
        self.x + (NAME_WIDTH - 1 + nth * bar) as u16
    }

    /// The column of a pulse's letter.
    fn letter(&self, pulse: usize) -> u16 {
        let per = self.layout.grid.pulses_per_bar();
        let within = pulse % per * self.fit.cell;
        self.bar_line(pulse / per - self.bars.start) + (2 + within) as u16
    }

    fn write(&self, buffer: &mut Buffer, x: u16, y: u16, text: &str, role: Role) {
        let area = buffer.area;
        if x < area.right() && y < area.bottom() {
            let room = usize::from(area.right() - x);
            buffer.set_stringn(x, y, text, room, self.theme.style(role));
        }
    }
}
