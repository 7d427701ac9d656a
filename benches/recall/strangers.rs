//! Learners of more families, on which the memory model was never fitted: how it does with players unlike those that it
//! was made on. All numbers from memory or chosen.

use super::learners::{Family, Parameters};

/// Exponential forgetting, `R = exp(-t/s)`, whose stability `s` grows at each recall by less the surer it was (in the
/// line of Reddy et al. 2016, Unbounded human learning, from memory); days.
const FIRST_STABILITY: f64 = 1.5;
const STABILITY_GROWS: f64 = 1.5;
const STABILITY_KEPT: f64 = 0.6;

/// Bayesian knowledge tracing (Corbett & Anderson 1995) with forgetting (Qiu et al. 2011, from memory): known or not,
/// learned at each answer with one chance, lost each day with another.
const LEARNED: f64 = 0.2;
const LOST_A_DAY: f64 = 0.03;

/// Two stores, the fast one feeding the slow (memory chain model, Murre & Chessa 2011, from memory); days.
const FAST: f64 = 1.0;
const SLOW: f64 = 25.0;

/// Stretched exponential, `R = exp(-sqrt(t/s))`, one of the functions that Rubin & Wenzel 1996 (Psychological Review
/// 103:734-760) find to fit forgetting best; the scale `s`, in days, grows with each recall and little else.
const STRETCHED_SCALE: f64 = 2.0;
const STRETCHED_GROWS: f64 = 4.0;

/// Ebbinghaus' own formula, `R = k / ((log10 t)^c + k)` with `t` in minutes, `k` 1.84 and `c` 1.25 (Ebbinghaus 1885,
/// *Ueber das Gedaechtnis*, sec. 29); that `k` grows with each repetition is ours.
const SAVINGS: (f64, f64) = (1.84, 1.25);
const SAVINGS_GROWS: f64 = 0.9;

/// True chance of recall `days` after the last exposure; `state` is empty before the first.
pub fn recall(family: Family, state: &[f64], days: f64, ease: f64, own: &Parameters) -> f64 {
    match (family, state) {
        (Family::Exponential, &[stability]) => (-days * own.forgetting / stability).exp(),
        (Family::Tracing, &[known]) => {
            known * (-days * LOST_A_DAY * own.forgetting * (-ease).exp()).exp()
        }
        (Family::Chain, &[fast, slow]) => {
            fast * (-days / FAST).exp() + slow * (-days * own.forgetting / SLOW).exp()
        }
        (Family::Stretched, &[scale]) => (-(days * own.forgetting / scale).sqrt()).exp(),
        (Family::Savings, &[k]) => {
            let log = (days * 1440.0 * own.forgetting).max(1.0).log10();
            k / (log.powf(SAVINGS.1) + k)
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
    let logistic = |x: f64| 1.0 / (1.0 + (-x).exp());
    match family {
        Family::Exponential => {
            let stability = match state.first() {
                None => FIRST_STABILITY * (0.7 * ease).exp(),
                Some(s) if recalled => {
                    let surprise = (1.0 - recall).sqrt();
                    s * (1.0 + STABILITY_GROWS * own.learning * surprise * (0.3 * ease).exp())
                }
                Some(s) => (s * STABILITY_KEPT).max(0.5),
            };
            *state = vec![stability];
        }
        Family::Tracing => {
            let learned = logistic(LEARNED * own.learning + ease);
            *state = vec![recall + (1.0 - recall) * learned];
        }
        Family::Chain => {
            let (fast, slow) = match state[..] {
                [fast, slow] => (
                    fast * (-days / FAST).exp(),
                    slow * (-days * own.forgetting / SLOW).exp(),
                ),
                _ => (0.0, 0.0),
            };
            let passed = (0.12 + 0.2 * (1.0 - fast)) * logistic(ease) * own.learning;
            let slow = slow + (1.0 - slow) * passed.min(1.0);
            let fast = (fast + 0.8 * (1.0 - fast)).min(1.0 - slow);
            *state = vec![fast, slow];
        }
        Family::Stretched => {
            let grown = STRETCHED_GROWS * own.learning * (1.0 - recall) * (0.4 * ease).exp();
            *state = vec![match state.first() {
                None => STRETCHED_SCALE * (0.9 * ease).exp(),
                Some(scale) if recalled => scale * (1.0 + grown),
                Some(scale) => scale * (1.0 + 0.2 * grown),
            }];
        }
        Family::Savings => {
            let grown = SAVINGS_GROWS * own.learning * (1.0 - recall) * (0.4 * ease).exp();
            *state = vec![match state.first() {
                None => SAVINGS.0 * (0.7 * ease).exp(),
                Some(k) => k * (1.0 + if recalled { grown } else { 0.5 * grown }),
            }];
        }
        Family::ActR | Family::Power | Family::Multiscale => {}
    }
}
