//! How sure the chance of recall is: the mean over some items, with its variance.

use super::residual::{FEATURES, Features};
use super::states::Memory;
use std::collections::BTreeMap;

/// How far the errors of items of one idea go together, 0 to 1: what is too high for one of them is likely to be too
/// high for the others.
const TOGETHER: f64 = 0.05;
/// Standard deviation, in log odds, of what the law of forgetting gets wrong for a player however many answers there
/// are, and of what is wrong at first and wears off after some [`WORN`] answers.
const MISFIT: f64 = 0.2;
const AT_FIRST: f64 = 0.4;
const WORN: f64 = 100.0;
// All four were tuned on simulated learners who forget by three laws, none of them that of the filter. Over those laws
// together the intervals hold somewhat too often after few answers; with laws unlike them they hold too rarely after
// many. `cargo bench --bench report` prints how often.

/// What is believed of one item at one moment.
#[derive(Clone, Copy, Debug)]
pub struct Sight {
    /// Chance of recall, 0 to 1.
    pub chance: f64,
    /// Variance of what the item's own belief says of it.
    variance: f64,
    /// How fast the chance rises with the log odds, and what shifts those for all items.
    slope: f64,
    features: Features,
    kind: usize,
}

impl Memory {
    /// What is believed of an item at `now` (seconds UTC); `None` where it was never asked.
    pub fn sight(&self, item: &str, now: f64) -> Option<Sight> {
        let at = self.names.find(item)?;
        let belief = self.belief(at);
        let moment = self.moment(at, &belief, now);
        let features = moment.features();
        let kind = self.items[at].kind as usize;
        let odds = self.residual.odds(&self.kinds[kind].shift, &features);
        let (chance, slope) = (self.filter).recall(&belief, &self.filter.after(moment.days, odds));
        let (chance, slope) = (f64::from(chance), f64::from(slope));
        Some(Sight {
            chance,
            // The slope is E[r (1 - r)], so that E[r^2] is the mean less the slope.
            variance: (chance - slope - chance * chance).max(0.0),
            slope,
            features,
            kind,
        })
    }

    /// Mean chance of recall of some items, and its variance: what the beliefs of the items leave open, what is open
    /// about the corrections that they share, and what the law of forgetting may get wrong. `None` without items.
    pub fn mean_chance<'a>(&self, sights: impl Iterator<Item = &'a Sight>) -> Option<(f64, f64)> {
        let (mut n, mut mean, mut own, mut roots) = (0.0, 0.0, 0.0, 0.0);
        let mut shared = [0.0; FEATURES];
        let mut kinds: BTreeMap<usize, f64> = BTreeMap::new();
        for s in sights {
            n += 1.0;
            mean += s.chance;
            own += s.variance;
            roots += s.variance.sqrt();
            for (sum, f) in shared.iter_mut().zip(s.features) {
                *sum += s.slope * f;
            }
            *kinds.entry(s.kind).or_default() += s.slope;
        }
        if n == 0.0 {
            return None;
        }
        let mut variance = own + TOGETHER * (roots * roots - own);
        let first = AT_FIRST * AT_FIRST / (1.0 + self.outcomes as f64 / WORN);
        let slopes: f64 = kinds.values().sum();
        for (i, row) in self.residual.covariance.iter().enumerate() {
            for (j, c) in row.iter().enumerate() {
                variance += shared[i] * c * shared[j];
            }
        }
        for (&kind, &slope) in &kinds {
            variance += slope * slope * self.kinds[kind].shift.variance;
        }
        variance += (MISFIT * MISFIT + first) * slopes * slopes;
        Some((mean / n, variance / (n * n)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::memory::Outcome;

    fn told(answers: usize) -> (f64, f64) {
        let mut memory = Memory::new();
        for n in 0..answers {
            memory.observe(&Outcome {
                item: format!("deck/{}:side:read", n % 4),
                concepts: vec!["two side".into()],
                kind: "side".into(),
                at: 1e9 + n as f64 * 40_000.0,
                correct: f64::from(u8::from(n % 3 > 0)),
                guess: 1.0 / 3.0,
                seconds: 0.0,
                limit: 0.0,
                replays: 0,
                slowed: false,
            });
        }
        let now = 1e9 + answers as f64 * 40_000.0;
        let sights: Vec<Sight> = (0..4)
            .filter_map(|n| memory.sight(&format!("deck/{n}:side:read"), now))
            .collect();
        let mean = memory.mean_chance(sights.iter()).unwrap();
        let alone: f64 = sights.iter().map(|s| s.chance).sum::<f64>() / sights.len() as f64;
        assert!((mean.0 - alone).abs() < 1e-9);
        mean
    }

    #[test]
    fn more_answers_leave_less_open() {
        let (few, many) = (told(4), told(200));
        assert!(few.1 > 1.5 * many.1, "{few:?} {many:?}");
        assert!(many.1 > 0.0 && few.1 < few.0 * (1.0 - few.0), "{few:?}");
    }

    #[test]
    fn nothing_asked_has_no_mean() {
        let memory = Memory::new();
        assert!(memory.sight("deck/1:side:read", 1e9).is_none());
        assert!(memory.mean_chance([].iter()).is_none());
    }
}
