//! The row of an answer under the right one, with the differences marked.

use super::Chart;
use super::grid_layout::{ChartCell, GridLayout};
use crate::question::REST;
use crate::screens::theme::Role;

/// Names of the rows of an answer that is not right: the right row where the grid does not show it, the player's, and the
/// sign under each pulse where they differ.
const RIGHT: &str = "right";
const YOU: &str = "you";
const DIFFER: &str = "differ";
pub const DIFFERS: char = '^';

/// A row of keys that was answered, to be laid under the right one.
#[derive(Clone, Debug)]
pub struct Answered<'a> {
    /// The row that was given, a letter a pulse.
    pub given: &'a str,
    /// The right row that comes nearest to it.
    pub nearest: &'a str,
    /// Is that row in the grid already? Otherwise it is drawn above the answer.
    pub shown: bool,
    /// The pulses that were asked for, in their order.
    pub pulses: Vec<usize>,
    /// Were hands asked for, or strokes?
    pub hands: bool,
}

impl Answered<'_> {
    /// What was answered and what is right at a pulse that was asked for, as players write it.
    fn at(&self, pulse: usize) -> Option<(char, char)> {
        let nth = self.pulses.iter().position(|p| *p == pulse)?;
        let key = |row: &str| row.chars().nth(nth).map(|k| k.to_ascii_uppercase());
        Some((key(self.given)?, key(self.nearest)?))
    }
}

impl GridLayout {
    /// The rows of the answer, if it is one of hands or of strokes.
    pub(super) fn answered(&mut self, chart: &Chart, hands: bool) {
        let Some(answered) = chart.answered.as_ref().filter(|a| a.hands == hands) else {
            return;
        };
        let role = if hands { Role::Plain } else { Role::Stroke };
        if !answered.shown {
            self.add(RIGHT, |p| match answered.at(p) {
                Some((_, right)) => ChartCell::bare(right, role),
                None => ChartCell::EMPTY,
            });
        }
        self.add(YOU, |p| match answered.at(p) {
            Some((REST, REST)) => ChartCell::REST,
            Some((given, right)) if given == right => ChartCell::bare(given, role),
            Some((REST, _)) => ChartCell::bare(ChartCell::REST.letter, Role::Mark),
            Some((given, _)) => ChartCell::bare(given, Role::Mark),
            None => ChartCell::EMPTY,
        });
        self.add(DIFFER, |p| match answered.at(p) {
            Some((given, right)) if given != right => ChartCell::bare(DIFFERS, Role::Mark),
            _ => ChartCell::EMPTY,
        });
    }
}
