//! What a memory says when it is asked: chances, paces, eases.

use super::belief::{Belief, mean_half};
use super::fold::Memory;
use super::pace::Pace;
use super::residual::{Moment, Shift};
use super::value_function::{Horizon, Mdp};

const DAY: f64 = 86_400.0;
/// Repeats closer than this (seconds) count as this far apart.
const CLOSEST: f64 = 1.0;

impl Memory {
    /// Chance of recalling an item at `now` (seconds UTC); `None` where it was never asked.
    pub fn chance(&self, item: &str, now: f64) -> Option<f64> {
        self.names
            .find(item)
            .map(|i| self.chance_of(i, &self.beliefs[i], now).0)
    }

    /// Chance of recall and of a right answer at `now`.
    pub(super) fn chance_of(&self, item: usize, belief: &Belief, now: f64) -> (f64, f64) {
        let moment = self.moment(item, belief, now);
        let kind = &self.kinds[self.items[item].kind as usize];
        let odds = self.residual.odds(&kind.shift, &moment.features());
        let when = self.filter.after(moment.days, odds);
        let recall = self.filter.recall(belief, &when).0;
        (
            f64::from(recall),
            f64::from(self.filter.expected(recall, kind.guess)),
        )
    }

    /// The same for a first question.
    pub(super) fn chance_new(&self, belief: &Belief, kind: &str) -> (f64, f64) {
        let kind = self.kind_names.find(kind);
        let recall = self.filter.recall_first(belief, self.first_odds(kind));
        let guess = kind.map_or(0.0, |k| self.kinds[k].guess);
        (
            f64::from(recall),
            f64::from(self.filter.expected(recall, guess)),
        )
    }

    pub(super) fn belief_new<S: AsRef<str>>(&self, concepts: &[S], kind: &str) -> Belief {
        let kind = self.kind_names.find(kind);
        let concepts: Vec<u32> = concepts
            .iter()
            .filter_map(|c| self.concept_names.find(c.as_ref()))
            .map(|c| c as u32)
            .collect();
        self.filter.fresh(self.expected_ease(&concepts, kind))
    }

    pub(super) fn steps(&self, aim: Horizon) -> Mdp {
        let shift = Shift {
            weight: 0.0,
            variance: 0.0,
        };
        Mdp::new(&self.filter, aim, |days| {
            let moment = Moment {
                days,
                reviews: 4,
                last: 0.7,
                half: 0.0,
            };
            self.residual.odds(&shift, &moment.features())
        })
    }

    pub(super) fn moment(&self, item: usize, belief: &Belief, now: f64) -> Moment {
        let item = &self.items[item];
        Moment {
            days: days_between(item.last, now),
            reviews: item.reviews,
            last: item.correct,
            half: mean_half(belief),
        }
    }

    /// Chance of recalling an item at its first question, from what items of its kind and concepts showed.
    pub fn expected_new<S: AsRef<str>>(&self, concepts: &[S], kind: &str) -> f64 {
        self.chance_new(&self.belief_new(concepts, kind), kind).0
    }

    /// When an item was last answered, seconds UTC; `None` where it was never asked.
    pub fn last_seen(&self, item: &str) -> Option<f64> {
        self.names.find(item).map(|i| self.items[i].last)
    }

    /// How often an item was answered.
    pub fn reviews(&self, item: &str) -> u32 {
        self.names.find(item).map_or(0, |i| self.items[i].reviews)
    }

    /// Seconds that an answer is likely to take, from the player's pace of the kind and the item's own history.
    pub fn seconds_estimate(&self, kind: &str, item: &str) -> f64 {
        let seconds = self
            .names
            .find(item)
            .map_or_else(|| self.pace_of(kind), |i| self.pace_of_item(i));
        seconds.clamp(0.5, 600.0)
    }

    /// Seconds that an answer of a kind is likely to take.
    pub(super) fn pace_of(&self, kind: &str) -> f64 {
        self.kind_names
            .find(kind)
            .map_or_else(Pace::default, |k| self.kinds[k].pace)
            .seconds()
    }

    /// The same of an item, with its own history.
    pub(super) fn pace_of_item(&self, item: usize) -> f64 {
        let state = &self.items[item];
        self.kinds[state.kind as usize].pace.seconds() * f64::from(state.slower).exp()
    }

    /// How many outcomes were taken in.
    pub fn outcomes(&self) -> u64 {
        self.outcomes
    }
}

fn days_between(last: f64, now: f64) -> f32 {
    ((now - last).max(CLOSEST) / DAY) as f32
}
