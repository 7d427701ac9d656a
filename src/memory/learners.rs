//! Many learners who are asked the same items: what one shows of an item is known when the next is asked.

use super::fold::Memory;
use super::outcome::{Forecast, Outcome};
use super::regression::{RandomEffect, sigmoid};
use std::collections::HashMap;

/// Variance of the log odds of recall among items, over learners. Chosen on the people that the constants are fitted on:
/// with .5, 1 and 2 they are forecast alike (log loss .471, .470, .471; .522 at 0).
const EASE: f64 = 1.0;

/// The memories of many learners. Two models forecast: one in which learners have nothing in common, and one in which
/// each item adds to everyone's log odds of recall (the easiness of an item in the model of Rasch 1960, learned as the
/// answers come). What is given is their mean, weighted with how well each has forecast all answers so far (Bayesian
/// model averaging, Hoeting, Madigan, Raftery & Volinsky 1999, Statistical Science 14:382-401). So items that have
/// nothing but their names in common cost next to nothing.
///
/// A drill knows one player and does without this.
#[derive(Clone, Debug, Default)]
pub struct Learners {
    /// Each with the memory that stands alone and the one that knows of the others.
    learners: HashMap<String, (Memory, Memory)>,
    /// What each item adds, by kind and item.
    ease: HashMap<(String, String), RandomEffect>,
    /// Log odds that learners have their items in common.
    alike: f64,
}

impl Learners {
    /// Takes in one outcome of a learner and gives back what was predicted before the answer was looked at. Outcomes of
    /// one learner come in the order of time.
    pub fn observe(&mut self, learner: &str, outcome: &Outcome) -> Forecast {
        let (alone, among) = self.learners.entry(learner.into()).or_default();
        let item = (outcome.kind.clone(), outcome.item.clone());
        let ease = self.ease.entry(item).or_insert(RandomEffect::new(EASE));
        let (alone, among) = (alone.observe(outcome), among.observe_with(outcome, ease));
        let weight = sigmoid(self.alike);
        let mean = |alone: f64, among: f64| alone + weight * (among - alone);
        self.alike += log_score(outcome, among.expected) - log_score(outcome, alone.expected);
        Forecast {
            expected: mean(alone.expected, among.expected),
            recall: mean(alone.recall, among.recall),
        }
    }
}

/// ln of the probability of the answer where a right one was expected with that probability.
fn log_score(outcome: &Outcome, expected: f64) -> f64 {
    let expected = expected.clamp(1e-6, 1.0 - 1e-6);
    let correct = outcome.correct.clamp(0.0, 1.0);
    correct * expected.ln() + (1.0 - correct) * (1.0 - expected).ln()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::Moment;

    fn answer(item: &str, at: Moment, right: bool) -> Outcome {
        Outcome {
            item: item.into(),
            kind: "side".into(),
            at,
            correct: f64::from(u8::from(right)),
            ..Outcome::default()
        }
    }

    /// What a newcomer is expected to know of each item, after others whose answers `right` tells by learner and item.
    fn newcomer(right: impl Fn(usize, usize) -> bool) -> Vec<f64> {
        let mut learners = Learners::default();
        for learner in 0..40 {
            for item in 0..10 {
                let answer = answer(
                    &format!("i{item}"),
                    Moment::new(item as f64),
                    right(learner, item),
                );
                learners.observe(&format!("l{learner}"), &answer);
            }
        }
        let expected = (0..10).map(|item| {
            // Each of another newcomer: nothing is known of them.
            let answer = answer(&format!("i{item}"), Moment::EPOCH, true);
            let mut learners = learners.clone();
            learners.observe("newcomer", &answer).expected
        });
        expected.collect()
    }

    /// By hand: forty of forty were right, or none, so that the next is expected on that side of three quarters (chosen).
    #[test]
    fn what_was_hard_for_all_is_expected_to_be_hard_for_the_next() {
        let expected = newcomer(|_, item| item < 5);
        assert!(expected[..5].iter().all(|e| *e > 0.75), "{expected:?}");
        assert!(expected[5..].iter().all(|e| *e < 0.25), "{expected:?}");
    }

    #[test]
    fn items_with_nothing_but_names_in_common_tell_nothing_of_each_other() {
        // Each learner knows five in a row, beginning anywhere: each item is known by half of them.
        let expected = newcomer(|learner, item| (item + 3 * learner) % 10 < 5);
        let range = expected.iter().fold((1.0f64, 0.0f64), |(low, high), e| {
            (low.min(*e), high.max(*e))
        });
        assert!(range.1 - range.0 < 0.1, "{expected:?}");
    }

    #[test]
    fn a_first_answer_is_forecast_as_by_one_memory() {
        let (mut learners, mut memory) = (Learners::default(), Memory::new());
        let first = answer("x", Moment::EPOCH, true);
        let (among, alone) = (learners.observe("a", &first), memory.observe(&first));
        assert_eq!(among.expected, alone.expected);
    }
}
