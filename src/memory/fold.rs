//! The memory of one player: the fold over their answers.

use super::constants::{Constants, DEFAULT};
use super::history::{Features, History, gaps};
use super::names::Names;
use super::outcome::{Forecast, Outcome};
use super::pace::Pace;
use super::regression::{Evidence, KalmanStep, RandomEffect, Weights, dot, log_odds, sigmoid};
use crate::time::{Moment, Seconds};

/// What is kept of an item.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct ItemState {
    pub kind: usize,
    /// Its ideas.
    ideas: Box<[usize]>,
    pub history: History,
    /// What it adds to the log odds of recall.
    effect: RandomEffect,
    /// Own pace: mean of ln seconds relative to the pace of the kind.
    pub slower: f32,
}

/// Everything that is remembered about one kind of question.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct KindState {
    pub pace: Pace,
    effect: RandomEffect,
    /// Mean chance of a right guess in the answers so far.
    pub guess: f64,
    answers: u32,
}

/// The same of one idea.
#[derive(Clone, Copy, Debug, PartialEq)]
struct IdeaState {
    effect: RandomEffect,
    answers: u32,
    /// When the last came.
    last: Moment,
}

/// All that is remembered about one player: a fold over the outcomes.
#[derive(Clone, Debug, PartialEq)]
pub struct Memory {
    constants: Constants,
    pub(super) names: Names,
    pub(super) kind_names: Names,
    idea_names: Names,
    pub(super) items: Vec<ItemState>,
    pub(super) kinds: Vec<KindState>,
    ideas: Vec<IdeaState>,
    weights: Weights,
    latest: Moment,
}

impl Default for Memory {
    fn default() -> Self {
        Self::new()
    }
}

/// Log odds beyond this teach no more than log odds of this.
const SUREST: f64 = 8.0;

impl Memory {
    /// Nothing seen yet, the default constants.
    pub fn new() -> Self {
        Self::with_constants(DEFAULT)
    }

    /// Nothing seen yet, other constants: for experiments.
    pub fn with_constants(constants: Constants) -> Self {
        Self {
            constants,
            names: Names::default(),
            kind_names: Names::default(),
            idea_names: Names::default(),
            items: Vec::new(),
            kinds: Vec::new(),
            ideas: Vec::new(),
            weights: Weights::new(&constants),
            latest: Moment::NEVER,
        }
    }

    /// What was learned about the player: for experiments.
    #[cfg(any(test, feature = "internals"))]
    pub fn weights(&self) -> &Weights {
        &self.weights
    }

    /// Takes in one outcome and gives back what was predicted before the answer was looked at.
    pub fn observe(&mut self, outcome: &Outcome) -> Forecast {
        self.observe_with(outcome, &mut RandomEffect::new(0.0))
    }

    /// The same where the item adds `shared` to the log odds of every learner.
    pub(super) fn observe_with(
        &mut self,
        outcome: &Outcome,
        shared: &mut RandomEffect,
    ) -> Forecast {
        let at = outcome.at.max(self.latest);
        let item = self.item(outcome);
        let kind = self.items[item].kind;
        let x = self.figures(item, at);
        let (effects, variance) = self.effects(item);
        let (effects, variance) = (effects + shared.mean, variance + shared.variance);
        let odds = log_odds(&self.weights.mean, &x) + effects;
        let guess = finite(outcome.guess).clamp(0.0, 1.0);
        let recall = sigmoid(odds);
        let forecast = Forecast {
            expected: self.expected(recall, guess),
            recall,
        };

        let slip = self.constants.slip;
        let evidence = Evidence {
            correct: finite(outcome.correct).clamp(0.0, 1.0),
            // Where a guess is as sure as knowing, neither answer says anything; it is never surer.
            guess: guess.min(1.0 - slip),
            slip,
            odds: self.odds(outcome),
        };
        let with = self.weights.with(&x);
        let answer = WeighedAnswer {
            at,
            recall: sigmoid(odds.clamp(-SUREST, SUREST)),
            variance: dot(&with, &x) + variance,
            with,
            effects: variance,
            evidence,
        };
        let step = self.learn(item, &answer);
        shared.learn(1.0, &step);

        let state = &mut self.kinds[kind];
        state.answers += 1;
        state.guess += (guess - state.guess) / f64::from(state.answers.min(100));
        self.pace(item, outcome.seconds);
        self.latest = at;
        forecast
    }

    /// Moves all beliefs by an answer, and tells how far.
    fn learn(&mut self, item: usize, answer: &WeighedAnswer) -> KalmanStep {
        let recalled = answer.evidence.recalled(answer.recall);
        let history = self.items[item].history.with(answer.at, recalled);
        let lift = self.lift(item, answer, &history);
        let step = answer.step(recalled);
        self.weights.learn(&answer.with, &step);
        let state = &mut self.items[item];
        state.history = history;
        state.effect.learn(1.0, &step);
        state.effect.mean += lift;
        let share = share(state.ideas.len());
        self.kinds[state.kind].effect.learn(share, &step);
        for &idea in &state.ideas {
            self.ideas[idea].effect.learn(share, &step);
            self.ideas[idea].answers += 1;
            self.ideas[idea].last = answer.at;
        }
        step
    }

    /// What is added to an item's log odds so that tomorrow's recall rises evenly with how likely it was recalled now,
    /// and never falls by an answer that speaks for recall: the regression, which weighs one answer against all others,
    /// does not promise either. `after` is its history with this answer.
    fn lift(&self, item: usize, answer: &WeighedAnswer, after: &History) -> f64 {
        let before = self.items[item].history;
        let day = gaps(Seconds::DAY);
        let tomorrow = |history: &History| {
            let step = answer.step(history.shown);
            let mut weights = self.weights.mean;
            for (w, with) in weights.iter_mut().zip(&answer.with) {
                *w += with * step.mean;
            }
            log_odds(&weights, &history.features_after(&day)) + answer.effects * step.mean
        };
        let recalled = after.shown;
        let (none, all) = (
            tomorrow(&before.with(answer.at, 0.0)),
            tomorrow(&before.with(answer.at, 1.0)),
        );
        let mut wanted = none + recalled * (all - none).max(0.0);
        if before.reviews > 0 && recalled >= answer.recall {
            let unasked = log_odds(
                &self.weights.mean,
                &before.features(answer.at + Seconds::DAY),
            );
            wanted = wanted.max(unasked);
        }
        wanted - tomorrow(after)
    }

    /// The figures of a question about an item at a moment.
    fn figures(&self, item: usize, at: Moment) -> Features {
        let item = &self.items[item];
        if item.history.reviews > 0 {
            item.history.features(at)
        } else {
            self.first(item.ideas.iter().copied(), item.ideas.len(), at)
        }
    }

    /// The figures of a first question at a moment; of `all` its ideas `known` were met.
    fn first(&self, known: impl Iterator<Item = usize>, all: usize, at: Moment) -> Features {
        let practised = known.map(|idea| {
            let idea = &self.ideas[idea];
            let days = (at - idea.last).max(Seconds::ZERO) / Seconds::DAY;
            f64::from(idea.answers).ln_1p() / (1.0 + days)
        });
        History::first(practised.sum::<f64>() / all.max(1) as f64)
    }

    /// What an item, its kind and its ideas add to the log odds: mean and variance.
    fn effects(&self, item: usize) -> (f64, f64) {
        let item = &self.items[item];
        let ideas = item.ideas.iter().copied();
        let (mean, variance) = self.kin(Some(item.kind), ideas, item.ideas.len());
        (mean + item.effect.mean, variance + item.effect.variance)
    }

    /// The same of a kind and ideas alone.
    fn kin(
        &self,
        kind: Option<usize>,
        known: impl Iterator<Item = usize>,
        all: usize,
    ) -> (f64, f64) {
        let share = share(all);
        let effects = kind.map(|kind| self.kinds[kind].effect);
        let effects = effects
            .into_iter()
            .chain(known.map(|i| self.ideas[i].effect));
        effects.fold((0.0, 0.0), |(mean, variance), effect| {
            (
                mean + share * effect.mean,
                variance + share * share * effect.variance,
            )
        })
    }

    /// Log odds of recall of an item at a moment, with `history` instead of its own.
    pub(super) fn odds_with(&self, item: usize, history: &History, now: Moment) -> f64 {
        log_odds(&self.weights.mean, &history.features(now)) + self.effects(item).0
    }

    /// The same at a first question at `now`, from what items of its kind and ideas showed.
    pub(super) fn odds_new<S: AsRef<str>>(&self, concepts: &[S], kind: &str, now: Moment) -> f64 {
        let known: Vec<usize> = concepts
            .iter()
            .filter_map(|c| self.idea_names.find(c.as_ref()))
            .collect();
        let x = self.first(known.iter().copied(), concepts.len(), now);
        let kind = self.kind_names.find(kind);
        let kin = self.kin(kind, known.into_iter(), concepts.len());
        log_odds(&self.weights.mean, &x) + kin.0
    }

    /// Chance of a right answer where recall has the chance `recall`.
    pub(super) fn expected(&self, recall: f64, guess: f64) -> f64 {
        recall * (1.0 - self.constants.slip) + (1.0 - recall) * guess
    }

    /// The number of a kind. An item stays of the kind of its first question. Before its first answer one is likely to take as long as it may to be in time.
    fn kind(&mut self, name: &str, limit: Seconds) -> usize {
        let kind = self.kind_names.intern(name);
        if kind == self.kinds.len() {
            self.kinds.push(KindState {
                pace: Pace::starting(limit),
                effect: RandomEffect::new(self.constants.group),
                guess: 0.0,
                answers: 0,
            });
        }
        kind
    }

    fn item(&mut self, outcome: &Outcome) -> usize {
        let item = self.names.intern(&outcome.item);
        if item < self.items.len() {
            return item;
        }
        let kind = self.kind(&outcome.kind, outcome.limit);
        let mut ideas: Vec<usize> = Vec::with_capacity(outcome.concepts.len());
        for name in &outcome.concepts {
            let idea = self.idea_names.intern(name);
            if idea == self.ideas.len() {
                self.ideas.push(IdeaState {
                    effect: RandomEffect::new(self.constants.group),
                    answers: 0,
                    last: Moment::EPOCH,
                });
            }
            ideas.push(idea);
        }
        ideas.sort_unstable();
        ideas.dedup();
        self.items.push(ItemState {
            kind,
            ideas: ideas.into(),
            history: History::default(),
            effect: RandomEffect::new(self.constants.item),
            slower: 0.0,
        });
        item
    }

    /// How much more likely replays and slowing down are with recall than without.
    fn odds(&self, outcome: &Outcome) -> f64 {
        let c = &self.constants;
        // Geometric: listen once more with that chance, as often as one likes; beyond three it says no more. An answer that
        // needed no second hearing says nothing: for most kinds it cannot be asked for.
        let replays = match outcome.replays.min(3) as i32 {
            0 => 1.0,
            n => (c.replay.0 / c.replay.1).powi(n) * (1.0 - c.replay.0) / (1.0 - c.replay.1),
        };
        let slowed = if outcome.slowed {
            c.slowed.0 / c.slowed.1
        } else {
            1.0
        };
        replays * slowed
    }

    fn pace(&mut self, item: usize, seconds: Seconds) {
        let item = &mut self.items[item];
        let kind = &mut self.kinds[item.kind];
        if let Some(relative) = kind.pace.relative(seconds) {
            let answers = item.history.reviews as f32 + 2.0;
            item.slower += (relative - item.slower) / answers.min(8.0);
        }
        kind.pace.observe(seconds);
    }
}

/// An answer on its way into the beliefs.
struct WeighedAnswer {
    at: Moment,
    /// Chance of recall before it.
    recall: f64,
    /// Covariance of the weights with the log odds.
    with: Features,
    /// Variance of the log odds, and the part of it of what item, kind and ideas add.
    variance: f64,
    effects: f64,
    evidence: Evidence,
}

impl WeighedAnswer {
    /// The step if it was recalled with that probability.
    fn step(&self, recalled: f64) -> KalmanStep {
        self.evidence.step(self.recall, recalled, self.variance)
    }
}

/// The part that a kind and each of so many ideas have in the log odds: ideas of one item overlap, so that the sum
/// is damped.
fn share(ideas: usize) -> f64 {
    1.0 / (ideas as f64 + 1.0).sqrt()
}

fn finite(v: f64) -> f64 {
    if v.is_finite() { v } else { 0.0 }
}
