//! What memory is told about an answer, and what it forecast before it.

use crate::time::{Moment, Seconds};

/// One answered question, as memory sees it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outcome {
    /// What was asked: the key of the item, unique for one player.
    pub item: String,
    /// Ideas that the item shares with others.
    pub concepts: Vec<String>,
    /// Kind of question; answers of one kind share a pace and are about equally hard.
    pub kind: String,
    /// When it was answered. Never earlier than the outcome before it; an earlier one is
    /// taken as if it came at the same moment.
    pub at: Moment,
    /// Share of the answer that was right, 0 to 1.
    pub correct: f64,
    /// Chance that a player who knows nothing is right, 0 to 1.
    pub guess: f64,
    /// How long the answer took. Zero or less (or not finite) means that it was not measured.
    pub seconds: Seconds,
    /// Up to when an answer is in time. Zero or less means that there was no limit.
    pub limit: Seconds,
    /// How often the player listened again before answering.
    pub replays: u32,
    /// Was it slowed down before the answer?
    pub slowed: bool,
}

/// What was predicted before an answer was seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Forecast {
    /// Probability of a right answer, lucky guesses included, 0 to 1.
    pub expected: f64,
    /// Probability that the player recalls it, 0 to 1.
    pub recall: f64,
}
