//! The form of an answer, which answers are right, and the answer that a player gives.

use super::alignment::{Comparison, REST};
use super::tapped;
use crate::rhythm::{Hand, spaced};
use crate::taps::{self, Tap, TapTask, read_taps};

/// One thing that can be answered, with its key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// The key to press.
    pub key: char,
    /// What it means.
    pub label: String,
}

impl Choice {
    pub(crate) fn new(key: char, label: impl Into<String>) -> Choice {
        Choice {
            key,
            label: label.into(),
        }
    }
}

/// How a question is answered, and every answer of that form that is right: at least one. The first is the one that is
/// shown.
#[derive(Clone, Debug, PartialEq)]
pub enum Form {
    /// One key.
    Key {
        /// The keys that there are.
        choices: Vec<Choice>,
        /// Those that are right.
        right: Vec<char>,
    },
    /// A row of strokes or hands: one letter for each pulse that is asked for.
    Row {
        /// What each letter may be.
        choices: Vec<Choice>,
        /// The rows that are right, all of the same length.
        right: Vec<String>,
    },
    /// A row written onto an empty grid and changed until it is finished: one letter or rest for each pulse. It is compared
    /// stroke by stroke, see [`Comparison`].
    Written {
        /// The letters, and the rest.
        choices: Vec<Choice>,
        /// The rows that are right, all of the same length.
        right: Vec<String>,
        /// Pulses in a beat: a stroke that is no further off is the same stroke.
        beat: usize,
    },
    /// Taps while the band plays, from the player's own start on.
    Taps {
        /// The keys that are tapped: one, or those of the left and the right hand.
        choices: Vec<Choice>,
        /// What is to be tapped, round and round.
        task: TapTask,
        /// How often it goes round.
        cycles: usize,
    },
}

/// What a player answered.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// One key.
    Key(char),
    /// The letters of a row, in their order; fewer or more than are wanted make it wrong.
    Row(String),
    /// Taps, counted from the first pulse that was heard.
    Taps(Vec<Tap>),
    /// The player says that they do not know: missed, and nothing guessed.
    Unknown,
}

impl Answer {
    /// As it stands in the log: the key, the letters, or the taps as [`super::taps_text`] has them; nothing where the player does not know.
    pub fn text(&self) -> String {
        match self {
            Answer::Key(key) => key.to_string(),
            Answer::Row(row) => row.clone(),
            Answer::Taps(taps) => tapped::taps_text(taps),
            Answer::Unknown => String::new(),
        }
    }

    /// How many of its keys are those of `other`, place by place.
    pub(super) fn hits(&self, other: &Answer) -> usize {
        let (a, b) = (self.text(), other.text());
        a.chars().zip(b.chars()).filter(|(a, b)| a == b).count()
    }
}

impl Form {
    /// One key of some choices, of which one is right.
    pub(super) fn key(choices: Vec<Choice>, right: char) -> Form {
        let right = vec![right];
        Form::Key { choices, right }
    }

    /// What is asked at some pulses: one key where that is one pulse, else a row.
    pub(super) fn at_pulses(choices: Vec<Choice>, right: Vec<String>) -> Form {
        match right.iter().all(|row| row.chars().count() == 1) {
            true => Form::Key {
                choices,
                right: right.iter().flat_map(|row| row.chars()).collect(),
            },
            false => Form::Row { choices, right },
        }
    }

    /// The keys that there are.
    pub fn choices(&self) -> &[Choice] {
        match self {
            Form::Key { choices, .. }
            | Form::Row { choices, .. }
            | Form::Written { choices, .. }
            | Form::Taps { choices, .. } => choices,
        }
    }

    /// How many keys an answer has; of taps, how many are due.
    pub fn length(&self) -> usize {
        match self {
            Form::Key { .. } => 1,
            Form::Row { right, .. } | Form::Written { right, .. } => {
                right.first().map_or(0, |row| row.chars().count())
            }
            Form::Taps { task, cycles, .. } => task.part().strokes().count() * cycles,
        }
    }

    /// Every right answer, the one that is shown first; of taps, only the exact ones.
    pub fn right(&self) -> Vec<Answer> {
        match self {
            Form::Key { right, .. } => right.iter().map(|key| Answer::Key(*key)).collect(),
            Form::Row { right, .. } | Form::Written { right, .. } => {
                right.iter().cloned().map(Answer::Row).collect()
            }
            Form::Taps { task, cycles, .. } => vec![Answer::Taps(tapped::exact(task, *cycles))],
        }
    }

    /// The same as the log would have them.
    #[cfg(any(test, feature = "internals"))]
    pub fn right_texts(&self) -> Vec<String> {
        self.right().iter().map(Answer::text).collect()
    }

    /// Is this one of the right answers?
    pub fn is_right(&self, answer: &Answer) -> bool {
        match (self, answer) {
            (Form::Key { right, .. }, Answer::Key(key)) => right.contains(key),
            (Form::Row { right, .. } | Form::Written { right, .. }, Answer::Row(row)) => {
                right.contains(row)
            }
            (Form::Taps { task, .. }, Answer::Taps(taps)) => taps::grade(task, taps).right,
            _ => false,
        }
    }

    /// The answer that typed keys make; `None` if there are too few or too many.
    pub fn answer(&self, typed: &str) -> Option<Answer> {
        let mut keys = typed.chars();
        match self {
            Form::Taps { .. } => read_taps(typed).ok().map(Answer::Taps),
            _ if typed.chars().count() != self.length() => None,
            Form::Key { .. } => keys.next().map(Answer::Key),
            Form::Row { .. } | Form::Written { .. } => Some(Answer::Row(typed.to_string())),
        }
    }

    /// Chance that random keys are all right, each drawn evenly from the choices: above 0 and below 1. Of taps that of the
    /// strokes, see [`taps::TapVerdict::guess`], and with two keys that of each hand.
    pub fn guess(&self) -> f64 {
        let right = match self {
            Form::Taps { task, choices, .. } => return tapped::guess(task, choices.len()),
            Form::Key { right, .. } => right.len(),
            Form::Row { right, .. } | Form::Written { right, .. } => right.len(),
        };
        right as f64 / (self.choices().len().max(1) as f64).powi(self.length() as i32)
    }

    /// A written row beside the nearest right one, which comes first; `None` for any other answer.
    pub fn compared(&self, answer: &Answer) -> Option<(String, Comparison)> {
        match (self, answer) {
            (Form::Written { right, beat, .. }, Answer::Row(row)) => {
                let beside = |right: &String| (right.clone(), Comparison::new(right, row, *beat));
                let beside = right.iter().map(beside);
                beside.reduce(|best, other| match other.1.share() > best.1.share() {
                    true => other,
                    false => best,
                })
            }
            _ => None,
        }
    }

    /// What the answer holds before a key was pressed: rests on an empty grid, otherwise nothing.
    pub fn blank(&self) -> String {
        let written = matches!(self, Form::Written { .. });
        String::from(REST).repeat(if written { self.length() } else { 0 })
    }

    /// Are taps asked for in turns that are set, so that what is heard has an end?
    pub fn has_turns(&self) -> bool {
        matches!(self, Form::Taps { task, .. } if task.turns().is_some())
    }

    /// The hand of a key, where taps are asked for with one of each hand.
    pub fn hand(&self, key: char) -> Option<Hand> {
        match self {
            Form::Taps { choices, .. } => match &choices[..] {
                [left, _] if left.key == key => Some(Hand::Left),
                [_, right] if right.key == key => Some(Hand::Right),
                _ => None,
            },
            Form::Key { .. } | Form::Row { .. } | Form::Written { .. } => None,
        }
    }

    /// The label of a key.
    pub fn label(&self, key: char) -> Option<&str> {
        let choice = self.choices().iter().find(|c| c.key == key)?;
        Some(&choice.label)
    }

    /// An answer as it is shown: the label of the one key, or the letters of a row as players write them, `H T S T`. A
    /// key that is not a choice stands as itself.
    pub fn words(&self, answer: &Answer) -> String {
        match answer {
            Answer::Key(key) => self
                .label(*key)
                .map_or_else(|| key.to_string(), str::to_string),
            Answer::Row(row) => spaced(row.chars().map(|key| key.to_uppercase())),
            Answer::Taps(taps) => match self {
                Form::Taps { task, .. } => tapped::named(task, taps),
                _ => tapped::taps_text(taps),
            },
            Answer::Unknown => "nothing".to_string(),
        }
    }

    /// For each key of a right answer the keys that are right there while the others stay as they are: the log keeps
    /// them.
    pub fn right_at(&self, told: &Answer) -> Vec<String> {
        match (self, told) {
            (
                Form::Row { choices, right } | Form::Written { choices, right, .. },
                Answer::Row(row),
            ) => {
                let at = |i: usize| {
                    let with = |key: char| -> String {
                        let changed = row.chars().enumerate();
                        changed.map(|(j, k)| if i == j { key } else { k }).collect()
                    };
                    let keys = choices.iter().map(|c| c.key);
                    keys.filter(|k| right.contains(&with(*k))).collect()
                };
                (0..row.chars().count()).map(at).collect()
            }
            (Form::Key { choices, right }, _) => {
                let keys = choices.iter().map(|c| c.key);
                vec![keys.filter(|k| right.contains(k)).collect()]
            }
            _ => Vec::new(),
        }
    }
}
