//! Fits what is believed of a player before the first answer (`constants::DEFAULT`), by expectation and maximisation: the
//! regression is run over every learner's log, and the mean and spread over learners of what it ends with are the next
//! beliefs to start from. That climbs the likelihood of the logs, each answer forecast before it was seen.

use super::learners::Family;
use super::logs::Log;
use super::parallel;
use super::people;
use super::prediction::{FIT_SEED, logs};
use whichside::memory::Memory;
use whichside::memory::constants::{Constants, DEFAULT};
use whichside::memory::history::{FEATURES, NAMES};

/// Families that constants are fitted on; those of [`Family::STRANGERS`] are for the report alone.
const FAMILIES: [Family; 5] = [
    Family::ActR,
    Family::Power,
    Family::Multiscale,
    Family::Stretched,
    Family::Savings,
];

/// The place of what a right answer after a rest adds, which is pinned.
const PINNED: usize = 9;
/// The spread of the first figure is chosen, at least this.
const WIDE: f64 = 1.0;

/// Logs with the weight that each has.
pub struct Fitting {
    logs: Vec<(f64, Log)>,
}

impl Fitting {
    /// `each` learners of every family, and the people to fit on with 40 times the weight of a family.
    pub fn new(each: u64) -> Self {
        let mut all = Vec::new();
        let mut add = |logs: Vec<Log>, weight: f64| {
            let weight = weight / logs.len().max(1) as f64;
            all.extend(logs.into_iter().map(|log| (weight, log)));
        };
        for family in FAMILIES {
            add(logs(&[family], FIT_SEED, each), 1.0);
        }
        add(people::logs(people::Half::Fitted).unwrap_or_default(), 40.0);
        Self { logs: all }
    }

    /// Fits what is not 0 in `start`.
    pub fn fit(&self, start: Constants, rounds: usize) -> Constants {
        let mut constants = start;
        for _ in 0..rounds {
            let ends = parallel(self.logs.len(), |i| {
                let mut memory = Memory::with_constants(constants);
                for row in &self.logs[i].1.rows {
                    memory.observe(&row.outcome);
                }
                *memory.weights()
            });
            let total: f64 = self.logs.iter().map(|(weight, _)| weight).sum();
            for i in 0..FEATURES {
                if start.spreads[i] == 0.0 {
                    continue;
                }
                let over = |f: &dyn Fn(usize) -> f64| {
                    let sum: f64 = (0..ends.len()).map(|n| self.logs[n].0 * f(n)).sum();
                    sum / total
                };
                let mean = over(&|n| ends[n].mean[i]);
                let variance =
                    over(&|n| ends[n].covariance[i][i] + (ends[n].mean[i] - mean).powi(2));
                constants.means[i] = if i == PINNED { start.means[i] } else { mean };
                constants.spreads[i] = variance.sqrt();
            }
        }
        if constants.spreads[0] > 0.0 {
            constants.spreads[0] = constants.spreads[0].max(WIDE);
        }
        constants
    }
}

/// Fits all and prints the constants.
pub fn report() {
    let mut start = DEFAULT;
    for i in (0..FEATURES).filter(|i| *i != PINNED) {
        (start.means[i], start.spreads[i]) = (0.0, 0.55);
    }
    start.spreads[PINNED] = 0.55;
    let fitted = Fitting::new(24).fit(start, 60);
    println!("{:32} {:>8} {:>8}", "", "mean", "spread");
    for (i, name) in NAMES.iter().enumerate() {
        println!(
            "{name:32} {:8.3} {:8.3}",
            fitted.means[i], fitted.spreads[i]
        );
    }
}
