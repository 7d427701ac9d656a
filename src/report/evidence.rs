//! What answers say about the share that is known, with guessing taken out.
//!
//! A player who knows a share `k` of what is asked and guesses the rest with chance `g` is right with chance
//! `k + g (1 - k)` and wrong with chance `(1 - g)(1 - k)`: the three-parameter model of test theory without its
//! curve (Birnbaum 1968, in Lord & Novick, *Statistical Theories of Mental Test Scores*, ch. 17). Half of a two-way
//! question right is not knowledge.

use super::Strength;

/// Shares at which likelihoods are computed: the middles of this many equal steps from 0 to 1.
pub(super) const STEPS: usize = 100;

/// The `i`th share.
pub(super) fn share(i: usize) -> f64 {
    (i as f64 + 0.5) / STEPS as f64
}

/// Answers counted by their guess chance.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct AnswerCounts {
    groups: Vec<Group>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Group {
    guess: f64,
    right: f64,
    wrong: f64,
}

impl AnswerCounts {
    /// Counts an answer of which the share `right` was right, with a weight.
    pub fn add(&mut self, guess: f64, right: f64, weight: f64) {
        // Chances closer than this make no difference, and few groups are quick to go through.
        let group = self.group((guess * 256.0).round() / 256.0);
        group.right += right * weight;
        group.wrong += (1.0 - right) * weight;
    }

    /// Counts all answers of `other` too.
    pub fn join(&mut self, other: &AnswerCounts) {
        for g in &other.groups {
            let group = self.group(g.guess);
            group.right += g.right;
            group.wrong += g.wrong;
        }
    }

    fn group(&mut self, guess: f64) -> &mut Group {
        let at = self.groups.iter().position(|g| g.guess == guess);
        let at = at.unwrap_or_else(|| {
            self.groups.push(Group {
                guess,
                right: 0.0,
                wrong: 0.0,
            });
            self.groups.len() - 1
        });
        &mut self.groups[at]
    }

    /// These answers without those of `part`.
    pub fn without(&self, part: &AnswerCounts) -> AnswerCounts {
        let mut rest = self.clone();
        for p in &part.groups {
            if let Some(g) = rest.groups.iter_mut().find(|g| g.guess == p.guess) {
                g.right = (g.right - p.right).max(0.0);
                g.wrong = (g.wrong - p.wrong).max(0.0);
            }
        }
        rest
    }

    /// How many answers.
    pub fn count(&self) -> f64 {
        self.groups.iter().map(|g| g.right + g.wrong).sum()
    }

    /// How many of them were wrong.
    pub fn wrong(&self) -> f64 {
        self.groups.iter().map(|g| g.wrong).sum()
    }

    /// Mean over the answers of the chance to be wrong without knowing.
    pub fn no_luck(&self) -> f64 {
        let sum: f64 = self
            .groups
            .iter()
            .map(|g| (1.0 - g.guess) * (g.right + g.wrong))
            .sum();
        sum / self.count().max(f64::MIN_POSITIVE)
    }

    /// Logarithm of the likelihood at each share.
    pub fn log_likelihood(&self, tables: &mut Tables) -> [f64; STEPS] {
        let mut sum = [0.0; STEPS];
        for group in &self.groups {
            let right = tables.right(group.guess);
            for i in 0..STEPS {
                sum[i] += group.right * right[i] + group.wrong * tables.wrong[i];
            }
        }
        sum
    }
}

/// Logarithms of the chance to be right at each share, by guess chance.
#[derive(Clone, Debug)]
pub(super) struct Tables {
    rows: Vec<(f64, [f64; STEPS])>,
    /// Of not knowing.
    wrong: [f64; STEPS],
}

impl Tables {
    pub fn new() -> Tables {
        Tables {
            rows: Vec::new(),
            wrong: std::array::from_fn(|i| (1.0 - share(i)).ln()),
        }
    }

    fn right(&mut self, guess: f64) -> [f64; STEPS] {
        if let Some((_, row)) = self.rows.iter().find(|(g, _)| *g == guess) {
            return *row;
        }
        let row = std::array::from_fn(|i| (share(i) + guess * (1.0 - share(i))).ln());
        self.rows.push((guess, row));
        row
    }
}

/// Weights that are the exponentials of `logs`, scaled to a sum of one.
pub(super) fn normalised(logs: &[f64; STEPS]) -> [f64; STEPS] {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut weights = logs.map(|l| (l - top).exp());
    let sum: f64 = weights.iter().sum();
    weights.iter_mut().for_each(|w| *w /= sum);
    weights
}

/// The strength that these weights of the shares describe.
pub(super) fn strength(weights: &[f64; STEPS]) -> Strength {
    let mean: f64 = (0..STEPS).map(|i| weights[i] * share(i)).sum();
    let square: f64 = (0..STEPS).map(|i| weights[i] * share(i) * share(i)).sum();
    Strength::of_moments(mean, square - mean * mean)
}

/// Logarithm of the beta density at each share, up to a constant.
pub(super) fn log_beta(mean: f64, worth: f64) -> [f64; STEPS] {
    let (a, b) = (mean * worth - 1.0, (1.0 - mean) * worth - 1.0);
    std::array::from_fn(|i| a * share(i).ln() + b * (1.0 - share(i)).ln())
}
