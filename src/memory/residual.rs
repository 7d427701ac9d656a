//! What the curve gets wrong for this player: log odds added to recall, learned answer by answer.
//!
//! No forgetting curve fits everybody. Bayesian logistic regression, one extended Kalman step an answer, corrects the
//! log odds of recall by a few features of the moment: overall, the time since the last answer, the number of
//! answers, whether the last one was right, whether it was minutes ago, and how long the item is thought to last.

use super::constants::Constants;

/// Features.
pub(super) const FEATURES: usize = 6;

pub(super) type Features = [f64; FEATURES];

/// The moment of a question about an item that was asked before.
#[derive(Clone, Copy, Debug)]
pub(super) struct Moment {
    /// Days since the last answer.
    pub days: f32,
    /// Answers before.
    pub reviews: u32,
    /// Share right of the last answer.
    pub last: f32,
    /// Half-life that is expected of the item, log2 of days.
    pub half: f32,
}

/// A moment in figures.
impl Moment {
    pub fn features(&self) -> Features {
        let days = f64::from(self.days).clamp(1e-5, 3650.0);
        [
            1.0,
            days.max(0.02).log2() / 4.0,
            f64::from(self.reviews).log2().min(6.0) - 1.5,
            f64::from(self.last) - 0.7,
            1.0 / (1.0 + (days * 24.0).powi(2)),
            f64::from(self.half) / 4.0,
        ]
    }
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Residual {
    pub weights: [f64; FEATURES],
    pub covariance: [[f64; FEATURES]; FEATURES],
}

/// The same for one kind of question: a shift of its own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Shift {
    pub weight: f64,
    pub variance: f64,
}

impl Shift {
    pub fn new(constants: &Constants) -> Self {
        Self {
            weight: 0.0,
            variance: f64::from(constants.shift_kind).powi(2),
        }
    }
}

impl Residual {
    pub fn new(constants: &Constants) -> Self {
        let mut covariance = [[0.0; FEATURES]; FEATURES];
        for (i, row) in covariance.iter_mut().enumerate() {
            row[i] = f64::from(constants.shifts[i]).powi(2);
        }
        Self {
            weights: constants.shift_means.map(f64::from),
            covariance,
        }
    }

    /// Factor on the odds of recall.
    pub fn odds(&self, shift: &Shift, features: &Features) -> f32 {
        let sum: f64 = self.weights.iter().zip(features).map(|(w, f)| w * f).sum();
        (sum + shift.weight).clamp(-3.0, 3.0).exp() as f32
    }

    /// Learns from an answer: `error` is the share right less what was expected, `expected` that, `slope` how fast
    /// the expected share rises with the log odds of recall.
    pub fn observe(
        &mut self,
        shift: &mut Shift,
        features: &Features,
        error: f64,
        expected: f64,
        slope: f64,
    ) {
        let h = features.map(|f| f * slope);
        let mut ph = [0.0; FEATURES];
        for (out, row) in ph.iter_mut().zip(&self.covariance) {
            *out = row.iter().zip(h).map(|(p, h)| p * h).sum();
        }
        let own = shift.variance * slope;
        let noise = (expected * (1.0 - expected)).max(0.01);
        let total: f64 = h.iter().zip(ph).map(|(h, p)| h * p).sum::<f64>() + own * slope + noise;
        for i in 0..FEATURES {
            self.weights[i] += ph[i] / total * error;
            for j in 0..FEATURES {
                self.covariance[i][j] -= ph[i] * ph[j] / total;
            }
        }
        shift.weight += own / total * error;
        shift.variance -= own * own / total;
        // Longer unseen is never better: the curve's own slope in log odds is at least psi a doubling (in nats).
        self.weights[1] = self.weights[1].min(0.25);
        // Nor is an item that lasts longer ever worse, by the same slope.
        self.weights[5] = self.weights[5].max(-0.25);
        // Nor does it count against an item that it was answered once more, that its last answer was right, or minutes
        // ago.
        for i in [2, 3, 4] {
            self.weights[i] = self.weights[i].max(0.0);
        }
    }
}
