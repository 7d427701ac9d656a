//! What a plan chooses from and what the player wants of it.

use crate::time::Seconds;
use std::sync::Arc;

/// An item that may be asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// The item's key, as in [`super::Outcome::item`].
    pub item: String,
    /// The card that it belongs to.
    pub card: String,
    /// Kind of question, by its name.
    pub kind: String,
    /// The ideas that it exercises.
    pub concepts: Vec<String>,
    /// Is the answer made by the player's own hands, and not chosen? Such a question waits for the others of its card,
    /// see [`super::plan_composed`].
    pub produced: bool,
    /// How long it takes.
    pub timing: Timing,
    /// Place of the card in the order of learning.
    pub order: usize,
    /// What has to be met before the card is met.
    pub needs: Vec<Need>,
}

/// How long a question takes apart from what was measured of the player.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Timing {
    /// From its start to where the time of the answer begins: what is heard first.
    pub listening: Seconds,
    /// Its answer, before one of its kind was seen; above 0.
    pub answer: Seconds,
}

impl Default for Timing {
    /// Nothing is heard, and the answer takes four seconds (chosen).
    fn default() -> Timing {
        Timing {
            listening: Seconds::ZERO,
            answer: Seconds::new(4.0),
        }
    }
}

/// Cards of which some are met before another card.
#[derive(Clone, Debug, PartialEq)]
pub struct Need {
    /// Shared: many candidates need the same.
    pub of: Arc<[String]>,
    /// How many of them.
    pub enough: usize,
}

impl Need {
    /// One card that comes first.
    pub fn card(card: impl Into<String>) -> Need {
        Need {
            of: Arc::new([card.into()]),
            enough: 1,
        }
    }

    /// Are enough of them met?
    pub(super) fn is_met(&self, met: impl Fn(&str) -> bool) -> bool {
        self.of.iter().filter(|card| met(card)).count() >= self.enough.min(self.of.len())
    }
}

/// What the player wants.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Minutes of this session, above 0.
    pub minutes: f64,
    /// Cards met for the first time a day, as a rule: see [`super::plan_composed`] for when there are more or fewer.
    /// `usize::MAX` for any number.
    pub new_cards_a_day: usize,
    /// How long the answer is looked at after each question.
    pub reveal_seconds: Seconds,
    /// How long it takes to meet a new card.
    pub meet_seconds: Seconds,
}

impl Settings {
    /// How long this session is.
    pub fn length(&self) -> Seconds {
        Seconds::from_minutes(self.minutes)
    }
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            minutes: 5.0,
            new_cards_a_day: 3,
            reveal_seconds: Seconds::new(4.0),
            meet_seconds: Seconds::new(12.0),
        }
    }
}

/// Why an item is in the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PlanReason {
    /// It is being forgotten.
    Fading,
    /// Never asked before.
    New,
    /// Still known; it comes to keep it that way.
    Rotation,
}

/// One item of a plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Planned {
    /// Index into the candidates.
    pub candidate: usize,
    /// Why it comes today.
    pub why: PlanReason,
    /// How long it is likely to take, the answer and a first meeting included.
    pub seconds: Seconds,
    /// Chance of recall when it is asked.
    pub recall: f64,
    /// Chance of a right answer, lucky guesses included.
    pub expected: f64,
}
