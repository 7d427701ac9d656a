//! Learners of three more families that nothing was fitted on, nor looked at while the model was made: how it does with
//! players unlike those that it was made on. All numbers from memory or chosen.

use super::learners::{Family, Parameters};

/// Storage and retrieval strength (theory of disuse, Bjork & Bjork 1992): storage only grows, most when retrieval has
/// fallen, and slows the loss of retrieval; days.
const LASTS: f64 = 1.2;
const STORED: f64 = 0.9;

/// Search of associative memory with a context that fluctuates (Mensink & Raaijmakers 1988): what was stored is found
/// through the share of its context that is there again, in a few tries; days.
const CONTEXT_STAYS: f64 = 0.12;
const CONTEXT_CHANGES: f64 = 1.5;
const TRIES: i32 = 3;

/// Ebbinghaus's own formula for savings, `k / ((log10 t)^c + k)` with t in minutes and his c (1885); k grows with each
/// exposure, and the learner learns to learn.
const SAVED: f64 = 0.6;
const POWER: f64 = 1.25;

/// True chance of recall `days` after the last exposure; `state` is empty before the first.
pub fn recall(family: Family, state: &[f64], days: f64, ease: f64, own: &Parameters) -> f64 {
    match (family, state) {
        (Family::Disuse, &[stored]) => {
            let lasts = LASTS * (0.6 * ease).exp() * stored.powf(1.6);
            0.97 * (-days * own.forgetting / lasts).exp()
        }
        (Family::Search, &[strength]) => {
            let away = (-days * own.forgetting / CONTEXT_CHANGES).exp();
            let there = CONTEXT_STAYS + (1.0 - CONTEXT_STAYS) * away;
            let found = strength * there / (strength * there + 1.0);
            1.0 - (1.0 - found).powi(TRIES)
        }
        (Family::Savings, &[k]) => {
            let minutes = (days * 1440.0).max(1.0);
            k / ((minutes.log10() * own.forgetting).powf(POWER) + k)
        }
        _ => 0.0,
    }
}

/// The item is seen with its answer, `days` after the last time.
pub fn expose(
    family: Family,
    state: &mut Vec<f64>,
    days: f64,
    recalled: bool,
    ease: f64,
    own: &Parameters,
) {
    let recall = recall(family, state, days, ease, own);
    let before = state.first().copied();
    let told = if recalled { 1.0 } else { 0.6 };
    *state = match family {
        Family::Disuse => {
            let stored = before.unwrap_or(0.6);
            vec![stored + STORED * own.learning * told * (1.0 - recall) * (0.3 * ease).exp()]
        }
        Family::Search => {
            // What is found again is strengthened in the trace that it has; most is added by what was not.
            let added = 0.5 * own.learning * (0.6 * ease).exp() * (1.3 - recall);
            vec![before.unwrap_or(0.2) + added]
        }
        Family::Savings => {
            let k = before.unwrap_or(SAVED * (0.6 * ease).exp());
            vec![k * (1.0 + 0.9 * own.learning * told * (1.0 - recall))]
        }
        _ => return,
    };
}
