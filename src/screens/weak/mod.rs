//! The view of weak concepts: some leaves that are turned left and right, a list to choose from on the first two.

mod plots;

use super::draw::SMALLEST;
use super::theme::{Role, Theme};
use crate::report::phrases::{counted, percent};
use crate::report::text::{self, About};
use crate::report::{Concept, Focus, Report};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::{Paragraph, Widget, Wrap};

/// Leaves of the view, in order, with their names.
const LEAVES: [&str; 8] = [
    "Work on",
    "Concepts",
    "Eye, ear",
    "Mixed up",
    "Tempo",
    "Forecasts",
    "Days",
    "Ahead",
];
/// Leaves by number.
const WORK_ON: usize = 0;
const CONCEPTS: usize = 1;
const SENSES: usize = 2;
const CONFUSIONS: usize = 3;
const TEMPO: usize = 4;
const FORECASTS: usize = 5;
const DAYS: usize = 6;
const MARGIN: u16 = 2;

/// What is open and what is chosen in it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct View {
    leaf: usize,
    row: usize,
    /// Something that the player should know, shown until the next key.
    pub notice: Option<String>,
}

/// What a key asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Asked {
    /// Nothing but what the view did by itself.
    Nothing,
    /// A drill on this.
    Drill(Focus),
    /// Stop the program for a while, as the terminal's stop key does.
    Suspend,
    /// Leave the view.
    Leave,
}

impl View {
    /// Takes a key.
    pub fn key(&mut self, report: &Report, key: KeyEvent) -> Asked {
        let rows = rows(report, self.leaf);
        self.notice = None;
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
                if let Some(focus) = self.chosen(report) {
                    return Asked::Drill(focus);
                }
            }
            KeyCode::Esc | KeyCode::Char('q') => return Asked::Leave,
            _ => {}
        }
        Asked::Nothing
    }

    /// Keeps to what there is, after the report was made anew.
    pub fn stay_within(&mut self, report: &Report) {
        self.row = self.row.min(rows(report, self.leaf).saturating_sub(1));
    }

    fn turn(&mut self, by: usize) {
        self.leaf = (self.leaf + by) % LEAVES.len();
        self.row = 0;
    }

    /// What a drill would be on.
    fn chosen(&self, report: &Report) -> Option<Focus> {
        let on = |concept: &String| Focus {
            concepts: vec![concept.clone()],
            ..Focus::default()
        };
        match self.leaf {
            WORK_ON if report.spots.is_empty() => report.concepts.first().map(|c| on(&c.concept)),
            WORK_ON => report.spots.get(self.row).map(|s| s.drill.clone()),
            CONCEPTS => report.concepts.get(self.row).map(|c| on(&c.concept)),
            TEMPO => report.tempos.get(self.row).map(|t| on(&t.concept)),
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
            WORK_ON => self.spots(report, theme, inside, buffer),
            CONCEPTS => self.concepts(report, theme, inside, buffer),
            SENSES | CONFUSIONS => {
                let lines = lines(report, abouts(self.leaf), inside.width);
                // No further down than the last line.
                let most = lines.len().saturating_sub(usize::from(inside.height));
                written(&lines[self.row.min(most)..], theme, inside, buffer);
            }
            TEMPO => plots::tempo(report, self.row, theme, inside, buffer),
            FORECASTS => plots::forecasts(report, theme, inside, buffer),
            DAYS => plots::days(report, theme, inside, buffer),
            _ => plots::ahead(report, theme, inside, buffer),
        }
        self.footer(report, theme, area, buffer);
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
        for (n, name) in LEAVES.iter().enumerate() {
            // The open leaf is marked by signs as well, not by its look alone.
            let (text, role) = match n == self.leaf {
                true => (format!("‹{name}›"), Role::Strong),
                false => (format!(" {name} "), Role::Quiet),
            };
            x = buffer
                .set_stringn(x, area.y + 2, text, 20, theme.style(role))
                .0;
        }
    }

    fn footer(&self, report: &Report, theme: Theme, area: Rect, buffer: &mut Buffer) {
        let y = area.bottom() - 1;
        rule(area, y - 1, theme, buffer);
        let mut x = area.x + MARGIN;
        if let Some(notice) = &self.notice {
            let width = usize::from(area.width - 2 * MARGIN);
            buffer.set_stringn(x, y, notice, width, theme.style(Role::Strong));
            return;
        }
        let mut keys = vec![("←→", "turn")];
        if rows(report, self.leaf) > 1 {
            let does = match self.leaf {
                SENSES | CONFUSIONS => "scroll",
                _ => "choose",
            };
            keys.push(("↑↓", does));
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
            return section(report, &[About::WorkOn], theme, area, buffer);
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
        let Some(next) = text::next_best(report) else {
            return;
        };
        let lines = textwrap::wrap(&next, usize::from(area.width));
        if y + lines.len() as u16 <= area.bottom() {
            for (y, line) in (y..).zip(lines) {
                buffer.set_string(area.x, y, line, theme.style(Role::Plain));
            }
        }
    }

    fn concepts(&self, report: &Report, theme: Theme, area: Rect, buffer: &mut Buffer) {
        if report.concepts.is_empty() {
            return section(report, &[About::Concepts], theme, area, buffer);
        }
        let area = match report.concepts.get(self.row) {
            Some(c) => plots::below(&more(report, c), theme, area, buffer),
            None => area,
        };
        let width = usize::from(area.width);
        let head = format!("  {}", text::head(width - 2));
        buffer.set_stringn(area.x, area.y, head, width, theme.style(Role::Quiet));
        let list = usize::from(area.height) - 1;
        let start = (self.row + 1).saturating_sub(list);
        let shown = report.concepts.iter().enumerate().skip(start).take(list);
        for (y, (n, c)) in (area.y + 1..).zip(shown) {
            let (sign, role) = match n == self.row {
                true => ("›", Role::Strong),
                false => (" ", Role::Plain),
            };
            let line = format!("{sign} {}", text::row(c, width - 2));
            buffer.set_stringn(area.x, y, line, width, theme.style(role));
        }
    }
}

/// What the table does not say about a concept.
fn more(report: &Report, c: &Concept) -> String {
    let half = |sense: &str| {
        let of = |h: &&Concept| h.concept == c.concept && h.sense.as_deref() == Some(sense);
        let half = report.by_sense.iter().find(of);
        half.map_or_else(|| "not asked".to_string(), |h| percent(h.share()))
    };
    let speed = match c.speed() {
        speed if speed.is_empty() => speed,
        speed => format!("; {speed}"),
    };
    format!(
        "{}: {} by eye, {} by ear. {}, {}, the last {}; {} right and in time{speed}. Both ranges hold \
         nine times in ten; pace 1 is the limit for in time.",
        c.concept,
        half("read"),
        half("hear"),
        counted(c.cards, "card"),
        counted(c.answers, "answer"),
        c.last_asked(),
        percent(c.in_time)
    )
}

/// Rows that can be chosen on a leaf.
fn rows(report: &Report, leaf: usize) -> usize {
    match leaf {
        WORK_ON => report.spots.len(),
        CONCEPTS => report.concepts.len(),
        // Lines that can be scrolled by, in the narrowest window.
        SENSES | CONFUSIONS => {
            let all = lines(report, abouts(leaf), SMALLEST.0 - 2 * MARGIN).len();
            all.saturating_sub(usize::from(SMALLEST.1 - 7)) + 1
        }
        TEMPO => report.tempos.len(),
        _ => 0,
    }
}

/// What is written on a leaf of text.
fn abouts(leaf: usize) -> &'static [About] {
    match leaf {
        SENSES => &[About::General, About::Parts, About::Senses],
        _ => &[About::Confusions, About::Hours],
    }
}

fn rule(area: Rect, y: u16, theme: Theme, buffer: &mut Buffer) {
    let rule = "─".repeat(area.width.into());
    buffer.set_string(area.x, y, rule, theme.style(Role::Quiet));
}

/// Sections of the text report.
fn section(report: &Report, which: &[About], theme: Theme, area: Rect, buffer: &mut Buffer) {
    written(&lines(report, which, area.width), theme, area, buffer);
}

/// The same as lines, wrapped, and whether a line is a heading.
fn lines(report: &Report, which: &[About], width: u16) -> Vec<(String, bool)> {
    let mut lines = Vec::new();
    for about in which {
        let section = text::section(report, *about, usize::from(width) - 2);
        if !lines.is_empty() {
            lines.push((String::new(), false));
        }
        lines.push((section.heading.to_string(), true));
        let wide = textwrap::Options::new(usize::from(width)).subsequent_indent("    ");
        for line in &section.lines {
            let line = format!("  {line}");
            // Wrapping would close up the columns of a table.
            match line.chars().count() > usize::from(width) {
                true => lines.extend(
                    textwrap::wrap(&line, &wide)
                        .into_iter()
                        .map(|part| (part.into_owned(), false)),
                ),
                false => lines.push((line, false)),
            }
        }
    }
    lines
}

fn written(lines: &[(String, bool)], theme: Theme, area: Rect, buffer: &mut Buffer) {
    for (y, (line, heading)) in (area.y..area.bottom()).zip(lines) {
        let role = match heading {
            true => Role::Strong,
            false => Role::Plain,
        };
        buffer.set_stringn(area.x, y, line, area.width.into(), theme.style(role));
    }
}
