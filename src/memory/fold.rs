//! The memory of one player: the fold over their answers.

use super::belief::{Belief, ease_moments};
use super::constants::{Constants, DEFAULT};
use super::filter::{Evidence, Filter, Latency, When};
use super::group_prior::{GroupPrior, ItemEvidence};
use super::names::Names;
use super::outcome::{Forecast, Outcome};
use super::pace::{Habit, Pace};
use super::residual::{Residual, Shift};

/// What is kept of an item beside its belief.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct ItemState {
    pub kind: u32,
    pub concepts: Box<[u32]>,
    /// When it was last answered, seconds UTC.
    pub last: f64,
    pub reviews: u32,
    pub share: ItemEvidence,
    /// Share right of the last answer.
    pub correct: f32,
    /// Own pace: mean of ln seconds relative to the pace of the kind.
    pub slower: f32,
}

/// Everything that is remembered about one kind of question.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct KindState {
    pub pace: Pace,
    pub shift: Shift,
    pub group_prior: GroupPrior,
    pub first: First,
    /// Mean chance of a right guess in the answers so far.
    pub guess: f32,
    pub answers: u32,
}

/// How often items are known at first sight: log odds above the constant, learned answer by answer.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct First {
    pub above: f64,
    pub weight: f64,
}

impl First {
    /// One step of logistic regression: `error` is the recall seen less the recall predicted.
    fn observe(&mut self, error: f64, predicted: f64, inertia: f64) {
        self.weight += predicted * (1.0 - predicted);
        self.above = (self.above + error / (inertia + self.weight)).clamp(-5.0, 5.0);
    }
}

/// Inertia of shrunken means: variance of ease within a group over the variance between groups (chosen; the
/// variances come from the simulated learners' priors).
const INERTIA_ALL: f64 = 3.0;
const INERTIA_KIND: f64 = 6.0;
const INERTIA_CONCEPT: f64 = 2.0;
const INERTIA_FIRST: f64 = 1.0;
const INERTIA_FIRST_KIND: f64 = 2.0;

/// All that is remembered about one player: a fold over the outcomes.
#[derive(Clone, Debug, PartialEq)]
pub struct Memory {
    pub(super) filter: Filter,
    pub(super) names: Names,
    pub(super) kind_names: Names,
    pub(super) concept_names: Names,
    pub(super) items: Vec<ItemState>,
    /// Beliefs of the items.
    pub(super) beliefs: Vec<Belief>,
    pub(super) kinds: Vec<KindState>,
    pub(super) concepts: Vec<GroupPrior>,
    pub(super) all: GroupPrior,
    pub(super) first: First,
    pub(super) residual: Residual,
    pub(super) habit: Habit,
    pub(super) outcomes: u64,
    pub(super) latest: f64,
}

impl Default for Memory {
    fn default() -> Self {
        Self::new()
    }
}

impl Memory {
    /// Nothing seen yet, the default constants.
    pub fn new() -> Self {
        Self::with_constants(DEFAULT)
    }

    /// Nothing seen yet, other constants: for experiments.
    pub fn with_constants(constants: Constants) -> Self {
        Self {
            filter: Filter::new(constants),
            names: Names::default(),
            kind_names: Names::default(),
            concept_names: Names::default(),
            items: Vec::new(),
            beliefs: Vec::new(),
            kinds: Vec::new(),
            concepts: Vec::new(),
            all: GroupPrior::default(),
            first: First::default(),
            residual: Residual::new(&constants),
            habit: Habit::default(),
            outcomes: 0,
            latest: f64::NEG_INFINITY,
        }
    }

    /// Takes in one outcome and gives back what was predicted before the answer was looked at.
    pub fn observe(&mut self, outcome: &Outcome) -> Forecast {
        let at = outcome.at.max(self.latest);
        let guess = finite(outcome.guess).clamp(0.0, 1.0) as f32;
        let kind = self.kind(&outcome.kind);
        let (item, mut belief) = self.item(outcome, kind);
        let new = self.items[item].reviews == 0;
        let moment = (!new).then(|| self.moment(item, &belief, at));
        let features = moment.map(|moment| moment.features());
        let when = match (&moment, &features) {
            (Some(moment), Some(features)) => {
                let odds = self.residual.odds(&self.kinds[kind].shift, features);
                self.filter.after(moment.days, odds)
            }
            _ => When::First(self.first_odds(Some(kind))),
        };
        let (recall, slope) = self.filter.recall(&belief, &when);
        let forecast = Forecast {
            expected: f64::from(self.filter.expected(recall, guess)),
            recall: f64::from(recall),
        };

        let evidence = Evidence {
            correct: finite(outcome.correct).clamp(0.0, 1.0) as f32,
            // Where a guess is as sure as knowing, neither answer says anything; it is never surer.
            guess: guess.min(1.0 - self.filter.constants.slip),
            latency: self.latency(kind, outcome),
            odds: self.odds(outcome),
        };
        let prior_moments = new.then(|| ease_moments(&belief));
        let recalled = self.filter.update(&mut belief, &when, &evidence);
        if new {
            let (error, predicted) = (f64::from(recalled) - f64::from(recall), f64::from(recall));
            self.first.observe(error, predicted, INERTIA_FIRST);
            self.kinds[kind]
                .first
                .observe(error, predicted, INERTIA_FIRST_KIND);
        }
        if let Some(features) = &features {
            let slope =
                f64::from(slope) * f64::from(1.0 - self.filter.constants.slip - evidence.guess);
            let error = f64::from(evidence.correct) - forecast.expected;
            self.residual.observe(
                &mut self.kinds[kind].shift,
                features,
                error,
                forecast.expected,
                slope,
            );
        }
        self.update_groups(item, &belief, prior_moments);
        if let Some(latency) = evidence.latency {
            self.learn_habit(&latency, recall, recalled);
        }
        let state = &mut self.kinds[kind];
        state.answers += 1;
        state.guess += (guess - state.guess) / state.answers.min(100) as f32;
        self.pace(item, kind, outcome.seconds);
        self.beliefs[item] = belief;
        let state = &mut self.items[item];
        state.last = at;
        state.correct = evidence.correct;
        state.reviews += 1;
        self.latest = at;
        self.outcomes += 1;
        forecast
    }

    fn latency(&self, kind: usize, outcome: &Outcome) -> Option<Latency> {
        self.kinds[kind]
            .pace
            .relative(outcome.seconds)
            .map(|relative| Latency {
                relative,
                with: self.habit.with.1,
                without: self.habit.without.1,
                spread: self.habit.spread(),
            })
    }

    fn learn_habit(&mut self, latency: &Latency, recall: f32, recalled: f32) {
        let c = &self.filter.constants;
        let recall = recall.clamp(0.01, 0.99);
        let logit = (recall / (1.0 - recall)).ln().clamp(-3.0, 4.0);
        let with = latency.relative - latency.with - c.mu_recall + c.kappa * logit;
        let without = latency.relative - latency.without - c.mu_none;
        self.habit.observe(with, without, recalled, c.sigma);
    }

    fn kind(&mut self, name: &str) -> usize {
        let kind = self.kind_names.intern(name);
        if kind == self.kinds.len() {
            let shift = Shift::new(&self.filter.constants);
            self.kinds.push(KindState {
                pace: Pace::default(),
                shift,
                group_prior: GroupPrior::default(),
                first: First::default(),
                guess: 0.0,
                answers: 0,
            });
        }
        kind
    }

    /// The item of an outcome and its belief; a new item gets its prior from its kin.
    fn item(&mut self, outcome: &Outcome, kind: usize) -> (usize, Belief) {
        let item = self.names.intern(&outcome.item);
        if item < self.items.len() {
            return (item, self.beliefs[item]);
        }
        let mut concepts: Vec<u32> = outcome
            .concepts
            .iter()
            .map(|name| {
                let concept = self.concept_names.intern(name);
                if concept == self.concepts.len() {
                    self.concepts.push(GroupPrior::default());
                }
                concept as u32
            })
            .collect();
        concepts.sort_unstable();
        concepts.dedup();
        let mean = self.expected_ease(&concepts, Some(kind));
        self.items.push(ItemState {
            kind: kind as u32,
            concepts: concepts.into(),
            last: f64::NEG_INFINITY,
            reviews: 0,
            share: ItemEvidence {
                prior: mean,
                ..ItemEvidence::default()
            },
            correct: 0.0,
            slower: 0.0,
        });
        let belief = self.filter.fresh(mean);
        self.beliefs.push(belief);
        (item, belief)
    }

    pub(super) fn expected_ease(&self, concepts: &[u32], kind: Option<usize>) -> f32 {
        let all = self.all.above(0.0, INERTIA_ALL);
        let kind = kind.map_or(0.0, |k| self.kinds[k].group_prior.above(all, INERTIA_KIND));
        let sum: f64 = concepts
            .iter()
            .map(|&c| self.concepts[c as usize].above(all, INERTIA_CONCEPT))
            .sum();
        // Concepts of one item overlap in what they show: their sum is damped.
        let concept = if concepts.is_empty() {
            0.0
        } else {
            sum / (concepts.len() as f64).sqrt()
        };
        (all + kind + concept).clamp(-2.0, 2.0) as f32
    }

    pub(super) fn first_odds(&self, kind: Option<usize>) -> f32 {
        let kind = kind.map_or(0.0, |k| self.kinds[k].first.above);
        self.filter.constants.first + (self.first.above + kind) as f32
    }

    /// How much likelier replays and slowing are with recall than without.
    fn odds(&self, outcome: &Outcome) -> f32 {
        let c = &self.filter.constants;
        let ratio = |(with, without): (f32, f32), times: u32| {
            // Geometric: listen once more with that chance, as often as one likes; beyond three it says no more.
            (with / without).powi(times.min(3) as i32) * (1.0 - with) / (1.0 - without)
        };
        // An answer that needed no second hearing says nothing: for most kinds it cannot be asked for.
        let replays = if outcome.replays == 0 {
            1.0
        } else {
            ratio(c.replay, outcome.replays)
        };
        let slowed = if outcome.slowed {
            c.slowed.0 / c.slowed.1
        } else {
            1.0
        };
        replays * slowed
    }

    fn update_groups(&mut self, item: usize, belief: &Belief, prior_moments: Option<(f32, f32)>) {
        let (mean, variance) = ease_moments(belief);
        let old = self.items[item].share;
        let prior_mean = prior_moments.map_or(old.prior, |(mean, _)| mean);
        let new = ItemEvidence::new(prior_mean, PRIOR_VARIANCE, mean, variance);
        self.all.exchange(&old, &new);
        self.kinds[self.items[item].kind as usize]
            .group_prior
            .exchange(&old, &new);
        for &concept in &self.items[item].concepts {
            self.concepts[concept as usize].exchange(&old, &new);
        }
        self.items[item].share = new;
    }

    fn pace(&mut self, item: usize, kind: usize, seconds: f64) {
        if let Some(relative) = self.kinds[kind].pace.relative(seconds) {
            let state = &mut self.items[item];
            state.slower += (relative - state.slower) / (state.reviews as f32 + 3.0).min(8.0);
        }
        self.kinds[kind].pace.observe(seconds);
    }
}

/// Variance of the ease of a new item on the grid -2..2 around 0: that of N(0, 1) cut off and rounded.
const PRIOR_VARIANCE: f32 = 0.9185;

fn finite(v: f64) -> f64 {
    if v.is_finite() { v } else { 0.0 }
}
