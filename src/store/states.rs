//! Memory's states: the fold of the log that the program starts with.

use super::{Fact, Health, Mark, Result, ReviewRow, Store, StoreError, Words};
use crate::memory::{self, Memory, Outcome};

/// Name of the saved fold.
const NAME: &str = "states";

/// A saved fold that is no more than this many reviews behind is left as it is: taking those in again at the next
/// start costs a few milliseconds, writing the fold of a long log costs more.
const BEHIND: i64 = 200;

/// Shortest response that memory is told, in seconds: a simple reaction to sound or light takes about this long
/// (from memory). An answer to a heard question may come before its clock starts and counts as 0 s in the log.
const REACTION: f64 = 0.2;

/// Up to so many reviews are taken in row by row.
const FEW: i64 = 2_000;

impl Fact {
    /// What memory learns from the review: that of [`ReviewRow::outcome`].
    ///
    /// # Panics
    /// With the words of another log.
    pub fn outcome(&self, words: &Words) -> Outcome {
        let item = &words.items[self.item];
        Outcome {
            item: item.to_string(),
            concepts: words.concepts[self.concepts].clone(),
            kind: item.kind.clone(),
            at: self.at as f64 / 1000.0,
            correct: self.correct,
            guess: self.guess,
            seconds: self.seconds.max(REACTION),
            limit: self.limit,
            replays: self.replays,
            slowed: self.slowed,
        }
    }
}

impl ReviewRow {
    /// What memory learns from the review. Told this right after the answer, memory is to the bit what a replay of
    /// the log gives.
    pub fn outcome(&self) -> Outcome {
        Outcome {
            item: self.item(),
            concepts: self.concepts.clone(),
            kind: self.kind.clone(),
            at: self.at as f64 / 1000.0,
            correct: self.correct,
            guess: self.guess,
            seconds: self.seconds.max(REACTION),
            limit: self.limit,
            replays: self.replays,
            slowed: self.slowed,
        }
    }
}

impl Store {
    /// The states that all reviews so far give: from the saved fold and what came after it, or from the whole log
    /// where there is none that holds.
    ///
    /// # Errors
    /// As [`Store::facts`].
    pub fn states(&self) -> Result<(Memory, Mark)> {
        let saved = self
            .snapshot(NAME, memory::VERSION)
            .and_then(|s| Some((Memory::from_bytes(&s.bytes).ok()?, s.mark)));
        let (mut states, from) = saved.unwrap_or_default();
        let mark = self.mark()?;
        let mark = if mark.review - from.review <= FEW {
            self.observe_rows(from, &mut states)?
        } else {
            let (_, mark) = self.facts(from.review, |words, fact| {
                states.observe(&fact.outcome(words));
            })?;
            mark
        };
        // A review withdrawn between the two readings is in the saved fold, and must not be.
        if from.review > 0 && mark.withdrawal != from.withdrawal {
            return self.states();
        }
        Ok((states, mark))
    }

    /// Takes in the reviews after `from`, row by row: quicker than [`Store::facts`], which reads all words first,
    /// while they are few.
    fn observe_rows(&self, from: Mark, states: &mut Memory) -> Result<Mark> {
        let mut last = from.review;
        self.reviews(from.review, |logged| {
            last = logged.id;
            if logged.withdrawn.is_none() {
                states.observe(&logged.row.outcome());
            }
        })?;
        Ok(Mark {
            review: last,
            ..self.mark()?
        })
    }

    /// Saves states that took in every review so far. States that did not (another program has answered or
    /// withdrawn meanwhile) are not saved, nor are those of which nearly all is saved already; the next start then
    /// takes in the rest. Says whether they were saved.
    ///
    /// # Errors
    /// Of the database or the disk; the program can go on without.
    pub fn save_states(&self, states: &Memory) -> Result<bool> {
        let mark = self.mark()?;
        let counted = mark.review - mark.withdrawal;
        let behind = match self.snapshot_mark(NAME, memory::VERSION) {
            Some(saved) => mark.review - saved.review,
            None => i64::MAX,
        };
        if i64::try_from(states.outcomes()) != Ok(counted) || behind <= BEHIND {
            return Ok(false);
        }
        self.save_snapshot(NAME, memory::VERSION, mark, &states.to_bytes())
            .map_err(|why| StoreError::Folder {
                path: self.snapshot_path(NAME),
                why,
            })?;
        Ok(true)
    }

    /// Folds the log anew as far as the saved fold goes and compares the two, bit by bit.
    pub(super) fn compare_states(&self, health: &mut Health) -> Result<()> {
        let Some(saved) = self.snapshot(NAME, memory::VERSION) else {
            return Ok(());
        };
        let mut states = Memory::new();
        self.facts(0, |words, fact| {
            if fact.id <= saved.mark.review {
                states.observe(&fact.outcome(words));
            }
        })?;
        if states.to_bytes() != saved.bytes {
            let path = self.snapshot_path(NAME);
            let path = path.display();
            health.faults.push(format!(
                "{path} is not what the log gives; delete it, and it is made anew"
            ));
        }
        Ok(())
    }
}
