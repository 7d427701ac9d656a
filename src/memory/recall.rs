//! What memory says when it is asked: chances and paces.

use super::candidate::Candidate;
use super::fold::Memory;
use super::pace::Pace;
use super::regression::sigmoid;
use crate::time::{Moment, Seconds};

/// An answer is likely to take as long as this at the least, and at the most.
const SHORTEST: Seconds = Seconds::new(0.5);
const LONGEST: Seconds = Seconds::from_minutes(10.0);

impl Memory {
    /// Chance of recalling an item at `now`; `None` where it was never asked.
    pub fn chance(&self, item: &str, now: Moment) -> Option<f64> {
        self.names.find(item).map(|i| self.chance_of(i, now).0)
    }

    /// Chance of recall and of a right answer at `now`.
    pub(super) fn chance_of(&self, item: usize, now: Moment) -> (f64, f64) {
        let state = &self.items[item];
        let recall = sigmoid(self.odds_with(item, &state.history, now));
        (recall, self.expected(recall, self.kinds[state.kind].guess))
    }

    /// The same for a first question.
    pub(super) fn chance_new<S: AsRef<str>>(
        &self,
        concepts: &[S],
        kind: &str,
        now: Moment,
    ) -> (f64, f64) {
        let recall = sigmoid(self.odds_new(concepts, kind, now));
        let guess = self.kind_names.find(kind).map(|k| self.kinds[k].guess);
        (recall, self.expected(recall, guess.unwrap_or_default()))
    }

    /// Chance of recalling an item at its first question, asked at `now`, from what items of its kind and concepts showed.
    pub fn expected_new<S: AsRef<str>>(&self, concepts: &[S], kind: &str, now: Moment) -> f64 {
        self.chance_new(concepts, kind, now).0
    }

    /// When an item was last answered; `None` where it was never asked.
    pub fn last_seen(&self, item: &str) -> Option<Moment> {
        self.names.find(item).map(|i| self.items[i].history.last)
    }

    /// When an item was first answered; `None` where it never was.
    pub fn first_seen(&self, item: &str) -> Option<Moment> {
        self.names.find(item).map(|i| self.items[i].history.begun)
    }

    /// How likely it was recalled when last asked, now that the answer is known; `None` where it was never asked.
    pub fn last_recalled(&self, item: &str) -> Option<f64> {
        let item = self.names.find(item)?;
        Some(self.items[item].history.shown)
    }

    /// How often an item was answered.
    pub fn reviews(&self, item: &str) -> u32 {
        self.names
            .find(item)
            .map_or(0, |i| self.items[i].history.reviews)
    }

    /// How long a question is likely to take from its start to its answer, by the pace of the player in its kind and item.
    pub fn seconds_estimate(&self, candidate: &Candidate) -> Seconds {
        self.seconds_of(candidate, self.names.find(&candidate.item))
    }

    /// The same where the number of its item is known, or that it has none.
    pub(super) fn seconds_of(&self, candidate: &Candidate, item: Option<usize>) -> Seconds {
        let kind = || self.kind_names.find(&candidate.kind);
        let answer = match (item, item.is_none().then(kind).flatten()) {
            (Some(item), _) => self.pace_of_item(item),
            (None, Some(kind)) => self.kinds[kind].pace.length(),
            (None, None) => Pace::starting(candidate.timing.answer).length(),
        };
        candidate.timing.listening + answer.clamp(SHORTEST, LONGEST)
    }

    /// The same of an item, with its own history.
    fn pace_of_item(&self, item: usize) -> Seconds {
        let state = &self.items[item];
        self.kinds[state.kind].pace.length() * f64::from(state.slower).exp()
    }
}
