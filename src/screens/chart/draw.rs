//! The bar grid drawn into a terminal buffer.

use super::fit::{BAR_LINE_WIDTH, Fit, NAME_WIDTH};
use super::{ChartCell, GridLayout};
use crate::screens::canvas::Canvas;
use crate::screens::theme::Role;
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

    /// Draws as many bars as there is room for in this area of the canvas, those with the playhead or the mark first; nothing
    /// if not even one bar has room.
    pub(in crate::screens) fn draw(&self, canvas: &mut Canvas, area: Rect) {
        let Some(fit) = self.fit(area) else {
            return;
        };
        let per = self.grid.pulses_per_bar();
        let focus = self.playhead.or(self.marked.as_ref().map(|m| m.start));
        let first = fit.first_system(self.bars(), focus.unwrap_or(0) / per);
        let mut y = area.y;
        for system in first..first + fit.systems {
            let bars = system * fit.bars..((system + 1) * fit.bars).min(self.bars());
            let mut pen = SystemPainter {
                layout: self,
                canvas,
                fit,
                bars,
                x: area.x,
            };
            pen.system(y);
            y += self.lines() as u16 + 1;
        }
    }
}

/// Draws one system: the bars `bars` side by side.
struct SystemPainter<'a, 'b> {
    layout: &'a GridLayout,
    canvas: &'a mut Canvas<'b>,
    fit: Fit,
    bars: Range<usize>,
    x: u16,
}

impl SystemPainter<'_, '_> {
    fn system(&mut self, top: u16) {
        let rows = top + 1..top + 1 + self.layout.rows.len() as u16;
        self.rail(top);
        for (row, y) in self.layout.rows.iter().zip(rows.clone()) {
            let role = match row.name {
                "clave" => Role::Clave,
                _ => Role::Quiet,
            };
            let name = format!("{:>width$}", row.name, width = NAME_WIDTH - 2);
            self.canvas.write(self.x, y, &name, role);
            for pulse in self.pulses() {
                self.cell(pulse, y, row.cells[pulse]);
            }
            for line in 0..=self.bars.len() {
                let x = self.bar_line(line);
                self.canvas.write(x, y, "│", Role::Quiet);
            }
        }
        self.mark(rows.end);
    }

    /// The upper edge: bar numbers, and the one moving mark of the screen over the pulse that is heard.
    fn rail(&mut self, y: u16) {
        self.edge(y, ["╭", "┬", "╮"]);
        let playhead = self.layout.playhead.filter(|p| self.pulses().contains(p));
        let playhead = playhead.map(|pulse| self.letter(pulse));
        for (nth, bar) in self.bars.clone().enumerate() {
            let name = format!(" bar {} ", bar + 1);
            let from = self.bar_line(nth) + 1;
            // A name that the mark stands on could not be read; it is back when the mark has gone by.
            if playhead.is_none_or(|x| !(from..from + name.len() as u16).contains(&x)) {
                self.canvas.write(from, y, &name, Role::Quiet);
            }
        }
        if let Some(x) = playhead {
            self.canvas.write(x, y, "▼", Role::Playhead);
        }
    }

    /// The lower edge, with a bracket under the bars, or an arrow under the stroke, that the question asks about.
    fn mark(&mut self, y: u16) {
        self.edge(y, ["╰", "┴", "╯"]);
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
            self.canvas.write(left, y, &text, Role::Mark);
            return;
        }
        let left = self.letter(from);
        self.canvas.write(left, y, "▲", Role::Mark);
        let label = " this one ";
        let end = self.bar_line(self.bars.len());
        let x = match left + 1 + (label.len() as u16) < end {
            true => left + 1,
            false => left - label.len() as u16,
        };
        self.canvas.write(x, y, label, Role::Mark);
    }

    /// An edge of the frame from its corners and its meetings with the bar lines.
    fn edge(&mut self, y: u16, [first, inner, last]: [&str; 3]) {
        let bar = "─".repeat(usize::from(self.bar_line(1) - self.bar_line(0) - 1));
        let bars = vec![bar; self.bars.len()].join(inner);
        let text = format!("{first}{bars}{last}");
        let x = self.bar_line(0);
        self.canvas.write(x, y, &text, Role::Quiet);
    }

    fn cell(&mut self, pulse: usize, y: u16, cell: ChartCell) {
        let x = self.letter(pulse);
        let mut text = String::from(cell.letter);
        // Two columns hold the mark before the letter; the closing bracket needs a third.
        if cell.after != ' ' && self.fit.cell > 2 {
            text.push(cell.after);
        }
        if cell.before != ' ' {
            let before = cell.before.to_string();
            self.canvas.write(x - 1, y, &before, cell.role);
        }
        self.canvas.write(x, y, &text, cell.role);
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
}
