//! The bar grid as lines of text.

use super::answered::DIFFERS;
use super::grid_layout::{COUNT, CROSSES, LOCKS};
use super::{ChartCell, GridLayout};
use crate::rhythm::{Hand, Tone, spaced};
use crate::screens::theme::Role;
use std::fmt::Write;

impl GridLayout {
    /// The rows as lines of text: a name, then letters separated by blanks, bars separated by `|`. It can be read aloud
    /// too: a rest is a dot, an empty cell of the rows beneath is a dot too, and nothing is drawn.
    pub fn to_text(&self) -> String {
        let per = self.grid.pulses_per_bar();
        let mut text = String::new();
        for row in &self.rows {
            let bars = row.cells.chunks(per).map(|bar| {
                let cells = bar.iter().map(|cell| {
                    let letter = match cell.letter {
                        ' ' | '·' => '.',
                        letter => letter,
                    };
                    let marked: String = [cell.before, letter, cell.after].iter().collect();
                    marked.trim().to_string()
                });
                spaced(cells)
            });
            let bars = bars.collect::<Vec<_>>().join(" | ");
            let _ = writeln!(text, "{:<5} | {bars} |", row.name);
        }
        text + &self.marked_in_words()
    }

    /// The rows in words, one line a bar: on which counts what is struck, and rests left out.
    pub fn to_words(&self) -> String {
        let per = self.grid.pulses_per_bar();
        let mut text = String::new();
        for row in self.rows.iter().filter(|row| row.name != COUNT) {
            for (bar, cells) in row.cells.chunks(per).enumerate() {
                let struck = cells.iter().enumerate().filter(|(_, c)| c.is_filled());
                let struck = struck.map(|(pulse, cell)| {
                    let said = format!("{} {}", self.grid.spoken(pulse), cell.in_words());
                    said.trim_end().to_string()
                });
                let struck: Vec<_> = struck.collect();
                let struck = match struck.is_empty() {
                    true => "nothing".to_string(),
                    false => struck.join(", "),
                };
                let _ = writeln!(text, "{}, bar {}: {struck}.", row.name, bar + 1);
            }
        }
        text + &self.marked_in_words()
    }

    fn marked_in_words(&self) -> String {
        let Some(marked) = &self.marked else {
            return String::new();
        };
        let per = self.grid.pulses_per_bar();
        let (bar, last) = (marked.start / per + 1, marked.end.div_ceil(per));
        match marked.len() {
            1 => format!("Marked: {} of bar {bar}.\n", self.grid.spoken(marked.start)),
            _ if last > bar => format!("Marked: bars {bar} to {last}.\n"),
            _ => format!("Marked: bar {bar}.\n"),
        }
    }
}

impl ChartCell {
    fn is_filled(&self) -> bool {
        !matches!(self.letter, ' ' | '·')
    }

    /// What is in the cell, as a word; nothing for a plain hit, whose count says it all.
    fn in_words(&self) -> String {
        let word = match (self.role, self.letter) {
            (_, '?') => "asked for".to_string(),
            (_, LOCKS) => "locks".to_string(),
            (_, CROSSES) => "crosses".to_string(),
            (_, DIFFERS) => "differs".to_string(),
            (Role::Stroke | Role::Mark, letter) => {
                let hand = Hand::from_letter(letter).map(Hand::name);
                let name = Tone::from_letter(letter).map(Tone::name).or(hand);
                name.unwrap_or_default().to_string()
            }
            (Role::Plain, letter) => {
                Hand::from_letter(letter).map_or(String::new(), |hand| hand.name().to_string())
            }
            (Role::Strong, digit) => format!("reason {digit}"),
            (_, 'x') => String::new(),
            (_, degree) => format!("degree {degree}"),
        };
        match self.before {
            '>' => format!("accented {word}"),
            '(' => format!("ghosted {word}"),
            _ => word,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clave::{Clave, Direction, Family};
    use crate::question::Mark;
    use crate::rhythm::{Grid, Score, notation};
    use crate::screens::chart::Chart;

    #[test]
    fn the_grid_in_words() {
        let score = Score {
            drums: notation::read_line("H . >S (T) . tO . O", Grid::Eighths).ok(),
            ..Score::empty(Grid::Eighths)
        };
        let chart = Chart {
            mark: Mark::Pulse(7),
            hidden: &[7],
            clave: Some(Clave {
                family: Family::Son,
                direction: Direction::TwoThree,
            }),
            ..Chart::new(&score)
        };
        assert_eq!(
            GridLayout::of(&chart).to_words(),
            "conga, bar 1: 1 heel, 2 accented slap, 2& ghosted tip, 4& asked for.\n\
             tumba, bar 1: 3& open tone.\n\
             clave, bar 1: 2, 3.\n\
             Marked: 4& of bar 1.\n"
        );
    }
}
