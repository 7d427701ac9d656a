//! What is learned of a player, answer by answer: Bayesian logistic regression.
//!
//! The log odds of recall are a sum: what each figure of the moment adds for this player (a normal belief over all of
//! them together), and what the item, its kind and its ideas add (a belief for each). An answer moves all of them by one
//! step of an extended Kalman filter on the likelihood `guess + (1 - guess - slip) recall` (Spiegelhalter & Lauritzen
//! 1990, Networks 20:579-605, for the step; Fisher's identity for its gradient).

use super::constants::Constants;
use super::history::{FEATURES, Features, GAPS};

pub(super) fn sigmoid(v: f64) -> f64 {
    1.0 / (1.0 + (-v).exp())
}

/// What each figure adds to the log odds of recall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weights {
    /// Mean of each.
    pub mean: Features,
    /// Their covariance.
    pub covariance: [Features; FEATURES],
}

/// Belief over what an item, a kind or an idea adds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct RandomEffect {
    pub mean: f64,
    pub variance: f64,
}

/// How far an answer moves what is believed.
#[derive(Clone, Copy, Debug)]
pub(super) struct KalmanStep {
    /// Times its covariance with the log odds, a mean moves by so much ..
    pub mean: f64,
    /// .. and a variance falls by so much times the square of that covariance.
    pub variance: f64,
}

impl RandomEffect {
    pub fn new(variance: f64) -> Self {
        Self {
            mean: 0.0,
            variance,
        }
    }

    /// Moved by an answer to a question in whose log odds it has the part `share`.
    pub fn learn(&mut self, share: f64, step: &KalmanStep) {
        let with = self.variance * share;
        self.mean += with * step.mean;
        self.variance -= with * with * step.variance;
    }
}

impl Weights {
    /// Before the first answer.
    pub(super) fn new(constants: &Constants) -> Self {
        let mut covariance = [[0.0; FEATURES]; FEATURES];
        for (i, row) in covariance.iter_mut().enumerate() {
            row[i] = constants.spreads[i].powi(2);
        }
        Self {
            mean: constants.means,
            covariance,
        }
    }

    /// Covariance of the weights with the log odds of a moment.
    pub(super) fn with(&self, x: &Features) -> Features {
        self.covariance.map(|row| dot(&row, x))
    }

    /// Moved by an answer; `with` as from [`Self::with`].
    pub(super) fn learn(&mut self, with: &Features, step: &KalmanStep) {
        for (i, row) in self.covariance.iter_mut().enumerate() {
            self.mean[i] += with[i] * step.mean;
            for (p, w) in row.iter_mut().zip(with) {
                *p -= with[i] * step.variance * w;
            }
        }
    }
}

pub(super) fn dot(a: &Features, b: &Features) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Log odds of recall without what item, kind and ideas add. Longer unseen is never better, whatever was learned.
pub(super) fn log_odds(weights: &Features, x: &Features) -> f64 {
    let better = |i: usize| (weights[i] * x[i]).max(0.0);
    dot(weights, x) - GAPS.map(better).sum::<f64>()
}

/// A miss is weighed as if recall had been no surer than this: otherwise each of a row of misses would pass for a slip
/// where much had gone right before (chosen).
const SUREST_OF_A_MISS: f64 = 0.95;

/// An answer as the regression sees it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Evidence {
    /// Share right.
    pub correct: f64,
    /// Chance of a right answer without recall; at most that with it.
    pub guess: f64,
    pub slip: f64,
    /// How much likelier all else about the answer (replays, slowing) is with recall than without.
    pub odds: f64,
}

impl Evidence {
    /// How likely the item was recalled, now that the answer is known, where that had the chance `recall`. A partly right
    /// answer is that share of a right one and the rest of a wrong one.
    pub fn recalled(&self, recall: f64) -> f64 {
        let posterior = |recall: f64, with: f64, without: f64| {
            let (with, without) = (recall * with * self.odds, (1.0 - recall) * without);
            with / (with + without)
        };
        self.correct * posterior(recall, 1.0 - self.slip, self.guess)
            + (1.0 - self.correct)
                * posterior(recall.min(SUREST_OF_A_MISS), self.slip, 1.0 - self.guess)
    }

    /// The step for an answer `recalled` with that probability, where the log odds had a variance.
    pub fn step(&self, recall: f64, recalled: f64, variance: f64) -> KalmanStep {
        let slope = (1.0 - self.guess - self.slip) * recall * (1.0 - recall);
        let right = self.guess + (1.0 - self.guess - self.slip) * recall;
        let information = slope * slope / (right * (1.0 - right)).max(0.01);
        let rate = 1.0 / (1.0 + variance * information);
        KalmanStep {
            mean: (recalled - recall) * rate,
            variance: information * rate,
        }
    }
}
