//! The Beta filter: recall at a reference time is Beta-distributed and decays exponentially (a general-purpose
//! library publishes it with test vectors, which the port reproduces: see `tests/beta_filter.rs`).

use statrs::function::beta::ln_beta;
use statrs::function::gamma::ln_gamma;

/// Recall after `time` has the distribution Beta(alpha, beta).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Belief {
    pub alpha: f64,
    pub beta: f64,
    pub time: f64,
}

impl Belief {
    /// Mean recall after `elapsed`, in the unit of the belief's time.
    pub fn mean(&self, elapsed: f64) -> f64 {
        let dt = elapsed / self.time;
        (ln_beta(self.alpha + dt, self.beta) - ln_beta(self.alpha, self.beta)).exp()
    }

    /// A noisy right or wrong answer: `if_recalled` and `if_forgotten` are the chances of a right answer.
    pub fn noisy(&self, right: bool, if_recalled: f64, if_forgotten: f64, elapsed: f64) -> Self {
        let dt = elapsed / self.time;
        let (c, d) = if right {
            (if_recalled - if_forgotten, if_forgotten)
        } else {
            (if_forgotten - if_recalled, 1.0 - if_forgotten)
        };
        let whole = ln_beta(self.alpha, self.beta);
        let b = |a: f64| (ln_beta(a, self.beta) - whole).exp();
        let denominator = c * b(self.alpha + dt) + d;
        let moment = |n: f64, et: f64| {
            (c * b(self.alpha + dt + n * dt * et) + d * b(self.alpha + n * dt * et)) / denominator
        };
        self.rebalance(elapsed, moment)
    }

    /// `right` of `total` answers right, without noise. The published vectors hold such answers; the report does not.
    #[allow(dead_code)]
    pub fn binomial(&self, right: u32, total: u32, elapsed: f64) -> Self {
        let dt = elapsed / self.time;
        let wrong = total - right;
        let whole = ln_beta(self.alpha, self.beta);
        let sum = |n: f64, et: f64| -> f64 {
            (0..=wrong)
                .map(|i| {
                    let choose = ln_gamma(f64::from(wrong) + 1.0)
                        - ln_gamma(f64::from(i) + 1.0)
                        - ln_gamma(f64::from(wrong - i) + 1.0);
                    let a = self.alpha + dt * f64::from(right + i) + n * dt * et;
                    let term = (choose + ln_beta(self.beta, a) - whole).exp();
                    if i % 2 == 0 { term } else { -term }
                })
                .sum()
        };
        let denominator = sum(0.0, 0.0);
        self.rebalance(elapsed, |n, et| sum(n, et) / denominator)
    }

    /// The belief at the time where its mean is 1/2, by matching two moments.
    fn rebalance(&self, elapsed: f64, moment: impl Fn(f64, f64) -> f64) -> Self {
        // moment(1, et) falls from 1 to 0 with et.
        let (mut low, mut high) = (1e-9, 1.0);
        while moment(1.0, high) > 0.5 && high < 1e12 {
            low = high;
            high *= 4.0;
        }
        while moment(1.0, low) < 0.5 && low > 1e-12 {
            low /= 16.0;
        }
        for _ in 0..60 {
            let middle = (low * high).sqrt();
            if moment(1.0, middle) > 0.5 {
                low = middle
            } else {
                high = middle
            }
            if high / low < 1.0 + 1e-12 {
                break;
            }
        }
        let et = (low * high).sqrt();
        let mean = moment(1.0, et);
        let variance = moment(2.0, et) - mean * mean;
        let n = mean * (1.0 - mean) / variance.max(1e-12) - 1.0;
        Self {
            alpha: mean * n,
            beta: (1.0 - mean) * n,
            time: et * elapsed,
        }
    }
}
