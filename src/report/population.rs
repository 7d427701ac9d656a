//! Strengths of many concepts of one player, each pulled towards the rest as far as the rest are alike.
//!
//! The strengths of the concepts are taken as drawn from one beta distribution whose mean and spread are not known
//! either: both are weighed by how well they explain all concepts together (a hierarchical beta-binomial model: Gelman
//! et al. 2013, *Bayesian Data Analysis*, 3rd ed., ch. 5.3, with guessing taken out as in [`super::evidence`]). A
//! concept with three answers stays near the mean of the others; one with fifty stands on its own.

use super::Strength;
use super::evidence::{AnswerCounts, STEPS, Tables, log_beta, normalised, strength};

/// Means that are weighed.
const MEANS: [f64; 13] = [
    0.05, 0.12, 0.2, 0.28, 0.36, 0.44, 0.52, 0.6, 0.68, 0.76, 0.84, 0.91, 0.96,
];
/// Spreads that are weighed, as the number of answers that the expectation is worth.
const WORTHS: [f64; 6] = [2.0, 4.0, 8.0, 16.0, 32.0, 64.0];

/// What is expected of the share of a concept, and how much each of several expectations is believed.
pub(super) struct Population {
    expected: Vec<Expected>,
    /// Logarithms, up to a constant.
    belief: Vec<f64>,
}

/// A distribution over the shares.
type Expected = [f64; STEPS];

impl Population {
    /// What concepts with these answers tell of a concept of the same player.
    pub fn of(concepts: &[AnswerCounts], tables: &mut Tables) -> Population {
        let expected: Vec<Expected> = MEANS
            .iter()
            .flat_map(|m| WORTHS.iter().map(|w| normalised(&log_beta(*m, *w))))
            .collect();
        let mut belief = vec![0.0; expected.len()];
        for concept in concepts {
            let likelihood = likelihood(concept, tables);
            for (b, e) in belief.iter_mut().zip(&expected) {
                *b += dot(&likelihood, e).max(f64::MIN_POSITIVE).ln();
            }
        }
        Population { expected, belief }
    }

    /// The strength of a concept of the population that has these answers.
    pub fn strength(&self, concept: &AnswerCounts, tables: &mut Tables) -> Strength {
        mixed(&likelihood(concept, tables), &self.expected, &self.belief)
    }
}

/// The strengths of parts of concepts (a concept by ear), each with its answers and what the rest of its concept told.
/// How near a part is to the rest is weighed by how well that explains all parts.
pub(super) fn parts(parts: &[(AnswerCounts, Strength)], tables: &mut Tables) -> Vec<Strength> {
    let expected: Vec<Vec<Expected>> = parts.iter().map(|(_, rest)| near(rest).to_vec()).collect();
    let likelihoods: Vec<[f64; STEPS]> = parts.iter().map(|(e, _)| likelihood(e, tables)).collect();
    let mut belief = vec![0.0; WORTHS.len()];
    for (likelihood, expected) in likelihoods.iter().zip(&expected) {
        for (b, e) in belief.iter_mut().zip(expected) {
            *b += dot(likelihood, e).max(f64::MIN_POSITIVE).ln();
        }
    }
    let each = likelihoods.iter().zip(&expected);
    each.map(|(l, e)| mixed(l, e, &belief)).collect()
}

/// A share that is drawn around another one, of which only `rest` is known: the variances of the two steps add up.
fn near(rest: &Strength) -> [Expected; WORTHS.len()] {
    // As shares of the most that the variance of a share with this mean can be.
    let first = 1.0 / (rest.worth + 1.0);
    WORTHS.map(|worth| {
        let variance = first + (1.0 - first) / (worth + 1.0);
        normalised(&log_beta(rest.mean, 1.0 / variance - 1.0))
    })
}

fn likelihood(concept: &AnswerCounts, tables: &mut Tables) -> [f64; STEPS] {
    let logs = concept.log_likelihood(tables);
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    logs.map(|l| (l - top).exp())
}

/// The strength that answers and expectations make together. `belief` already holds what these answers say of the
/// expectations.
fn mixed(likelihood: &[f64; STEPS], expected: &[Expected], belief: &[f64]) -> Strength {
    let top = belief.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut sum = [0.0; STEPS];
    for (expected, belief) in expected.iter().zip(belief) {
        let scale = (belief - top).exp() / dot(likelihood, expected).max(f64::MIN_POSITIVE);
        for i in 0..STEPS {
            sum[i] += scale * expected[i] * likelihood[i];
        }
    }
    let total: f64 = sum.iter().sum();
    strength(&sum.map(|s| s / total))
}

fn dot(a: &[f64; STEPS], b: &[f64; STEPS]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn concept(guess: f64, right: usize, wrong: usize) -> AnswerCounts {
        let mut e = AnswerCounts::default();
        (0..right).for_each(|_| e.add(guess, 1.0, 1.0));
        (0..wrong).for_each(|_| e.add(guess, 0.0, 1.0));
        e
    }

    fn strengths(concepts: &[AnswerCounts]) -> Vec<Strength> {
        let mut tables = Tables::new();
        let all = Population::of(concepts, &mut tables);
        concepts
            .iter()
            .map(|i| all.strength(i, &mut tables))
            .collect()
    }

    #[test]
    fn half_right_of_two_is_no_knowledge() {
        let found = strengths(&[concept(0.5, 50, 50)]);
        assert!(found[0].mean < 0.12 && found[0].high < 0.25, "{found:?}");
        let found = strengths(&[concept(0.0, 50, 50)]);
        assert!((found[0].mean - 0.5).abs() < 0.03, "{found:?}");
    }

    #[test]
    fn few_answers_lean_on_the_rest_and_many_do_not() {
        let mut concepts = vec![concept(0.0, 18, 2); 8];
        concepts.push(concept(0.0, 0, 3));
        concepts.push(concept(0.0, 0, 60));
        let found = strengths(&concepts);
        assert!(found[8].mean > 0.1 && found[9].mean < 0.05, "{found:?}");
        assert!(found[8].high - found[8].low > 3.0 * (found[9].high - found[9].low));
    }

    #[test]
    fn one_idea_without_guessing_is_a_beta_posterior() {
        // With a flat expectation and no other concept: Beta(1 + right, 1 + wrong) (Gelman et al. 2013, ch. 2.4).
        let flat = [normalised(&log_beta(0.5, 2.0))];
        let answers = likelihood(&concept(0.0, 37, 12), &mut Tables::new());
        let found = mixed(&answers, &flat, &[0.0]);
        assert!((found.mean - 38.0 / 51.0).abs() < 1e-4, "{found:?}");
        let low = crate::report::beta::quantile(38.0, 13.0, 0.05);
        assert!((found.low - low).abs() < 2e-3, "{found:?} {low}");
    }
}
