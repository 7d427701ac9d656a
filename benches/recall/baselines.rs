//! Predictors to compare with. Each is fitted on logs of families that it is not tested on.

use super::beta::Belief;
use super::half_life::{Counts, LEITNER, Weights};
use super::learners::{DAY, KINDS, SLIP};
use super::logs::Log;
use super::score::{Predictions, mean, score};

/// A predictor with its free numbers. The first four are the share right at first answers by kind.
pub struct Baseline {
    pub name: &'static str,
    pub start: Vec<f64>,
    pub steps: Vec<f64>,
    pub run: fn(&[f64], &Log) -> Predictions,
}

pub const GUESS_AWARE: &str = "half-life regression, guess-aware";
pub const BETA: &str = "Beta filter";
pub const SHARE: &str = "running share of the learner";
pub const ONLINE: &str = "online logistic, one a learner";

pub fn all() -> Vec<Baseline> {
    let b = |name, start: &[f64], steps: &[f64], run| Baseline {
        name,
        start: start.to_vec(),
        steps: steps.to_vec(),
        run,
    };
    vec![
        b(
            "half-life regression, as published",
            &[0.8, -0.3, 0.0],
            &[0.3, 0.3, 0.5],
            published,
        ),
        b(
            "half-life regression, guess-aware",
            &[0.8, -0.3, 0.0],
            &[0.3, 0.3, 0.5],
            guess_aware,
        ),
        b(BETA, &[3.0, 1.0], &[1.0, 0.5], beta_filter),
        b("Leitner", &[], &[], leitner),
        b(
            "ACT-R, fitted",
            &[0.2, 0.177, 0.217, -0.704, 0.255],
            &[0.3, 0.05, 0.05, 0.2, 0.1],
            act_r,
        ),
        b(
            "multiscale context, fitted",
            &[-9.0, 0.9, 0.6, 1.5],
            &[1.0, 0.05, 0.2, 0.3],
            multiscale,
        ),
        b(SHARE, &[], &[], share),
        b(
            "logistic, counts and gap",
            &[0.5, 0.6, -0.3, -0.3],
            &[0.3, 0.3, 0.3, 0.2],
            logistic,
        ),
        b(
            "half-life regression, power curve",
            &[0.8, -0.3, 0.0, 0.3],
            &[0.3, 0.3, 0.5, 0.1],
            power,
        ),
        b(ONLINE, &[0.8, 0.6, -0.3, -0.4, 0.5], &[0.4; 5], online),
        b(
            "constant by kind",
            &[0.7, 0.7, 0.6, 0.5],
            &[0.1, 0.1, 0.1, 0.1],
            constant,
        ),
    ]
}

/// Weight in answers of the share of others at first answers (chosen).
const FIRST_WEIGHT: f64 = 8.0;

impl Baseline {
    /// Fits by coordinate search on the mean log loss.
    pub fn fit(&self, logs: &[&Log]) -> Vec<f64> {
        let loss = |v: &[f64]| {
            mean(
                &logs
                    .iter()
                    .map(|log| score(log, &self.predict(v, log)).log_loss)
                    .collect::<Vec<_>>(),
            )
        };
        let mut best: Vec<f64> = first_shares(logs);
        best.extend(&self.start);
        let mut steps = self.steps.clone();
        let mut least = loss(&best);
        for _ in 0..12 {
            for (i, step) in steps.iter_mut().enumerate() {
                let mut moved = false;
                for sign in [1.0, -1.0] {
                    let mut tried = best.clone();
                    tried[4 + i] += sign * *step;
                    let l = loss(&tried);
                    if l.is_finite() && l < least - 1e-6 {
                        (best, least, moved) = (tried, l, true);
                        break;
                    }
                }
                *step *= if moved { 1.4 } else { 0.4 };
            }
        }
        best
    }

    pub fn predict(&self, numbers: &[f64], log: &Log) -> Predictions {
        let mut out = (self.run)(&numbers[4..], log);
        if self.name == SHARE {
            return out;
        }
        let mut seen = vec![false; 1000];
        // A running share of the learner's own first answers, from the share of others.
        let mut own = [(0.0, FIRST_WEIGHT); KINDS.len()];
        for (row, p) in log.rows.iter().zip(&mut out) {
            if !std::mem::replace(&mut seen[row.item], true) {
                let (right, count) = &mut own[row.kind];
                let share = (numbers[row.kind] * FIRST_WEIGHT + *right) / *count;
                *p = (share, None);
                (*right, *count) = (*right + row.outcome.correct, *count + 1.0);
            }
        }
        out
    }
}

fn first_shares(logs: &[&Log]) -> Vec<f64> {
    let mut sums = vec![(1.0, 2.0); KINDS.len()];
    for log in logs {
        let mut seen = vec![false; 1000];
        for row in &log.rows {
            if !std::mem::replace(&mut seen[row.item], true) {
                sums[row.kind].0 += row.outcome.correct;
                sums[row.kind].1 += 1.0;
            }
        }
    }
    sums.iter().map(|(a, b)| a / b).collect()
}

pub fn aware(recall: f64, guess: f64) -> f64 {
    recall * (1.0 - SLIP) + (1.0 - recall) * guess
}

/// Runs over a log with a state for each item.
fn over<S: Clone>(
    log: &Log,
    start: S,
    mut predict: impl FnMut(&S, f64, f64) -> (f64, Option<f64>),
    mut update: impl FnMut(&mut S, f64, f64, f64, f64),
) -> Predictions {
    let mut states: Vec<Option<(S, f64)>> = vec![None; 1000];
    log.rows
        .iter()
        .map(|row| {
            let (at, guess, correct) = (
                row.outcome.at.seconds(),
                row.outcome.guess,
                row.outcome.correct,
            );
            let (mut state, last) = states[row.item]
                .take()
                .unwrap_or((start.clone(), f64::NEG_INFINITY));
            let days = ((at - last) / DAY).max(1e-5);
            let out = if days.is_finite() {
                predict(&state, days, guess)
            } else {
                (0.5, None)
            };
            update(&mut state, days, at, guess, correct);
            states[row.item] = Some((state, at));
            out
        })
        .collect()
}

fn count(c: &mut Counts, _days: f64, _at: f64, _guess: f64, correct: f64) {
    c.right += correct;
    c.wrong += 1.0 - correct;
}

/// Half-life regression with the square roots of the counts, as published.
fn weights(n: &[f64]) -> Weights {
    Weights {
        right: n[0],
        wrong: n[1],
        bias: n[2],
        roots: true,
    }
}

fn published(n: &[f64], log: &Log) -> Predictions {
    let w = weights(n);
    over(
        log,
        Counts::default(),
        |c, days, _| (w.recall(*c, days), None),
        count,
    )
}

fn guess_aware(n: &[f64], log: &Log) -> Predictions {
    let w = weights(n);
    over(
        log,
        Counts::default(),
        |c, days, g| {
            let r = w.recall(*c, days);
            (aware(r, g), Some(r))
        },
        count,
    )
}

fn leitner(_: &[f64], log: &Log) -> Predictions {
    over(
        log,
        Counts::default(),
        |c, days, _| (LEITNER.recall(*c, days), None),
        count,
    )
}

fn constant(n: &[f64], log: &Log) -> Predictions {
    log.rows.iter().map(|row| (n[row.kind], None)).collect()
}

/// The share of all answers so far that were right, one of two to start with.
fn share(_: &[f64], log: &Log) -> Predictions {
    let (mut right, mut count) = (1.0, 2.0);
    log.rows
        .iter()
        .map(|row| {
            let share = right / count;
            (right, count) = (right + row.outcome.correct, count + 1.0);
            (share, None)
        })
        .collect()
}

fn sigmoid(v: f64) -> f64 {
    1.0 / (1.0 + (-v).exp())
}

/// Logistic regression; `n`: all, ln right answers, ln wrong answers, ln gap.
fn logistic(n: &[f64], log: &Log) -> Predictions {
    over(
        log,
        Counts::default(),
        |c, days, g| {
            let odds = n[0] + n[1] * c.right.ln_1p() + n[2] * c.wrong.ln_1p();
            let r = sigmoid(odds + n[3] * (days * 1440.0).ln_1p());
            (aware(r, g), Some(r))
        },
        count,
    )
}

/// Half-life regression with `(1 + d/h (2^(1/psi) - 1))^-psi` in place of `2^(-d/h)`; the last of `n` is psi.
fn power(n: &[f64], log: &Log) -> Predictions {
    let (w, psi) = (weights(n), n[3].clamp(0.05, 2.0));
    over(
        log,
        Counts::default(),
        |c, days, g| {
            let half = w.log_half(*c).exp2().clamp(15.0 / 1440.0, 274.0);
            let r = (1.0 + days / half * ((1.0 / psi).exp2() - 1.0)).powf(-psi);
            (aware(r, g), Some(r))
        },
        count,
    )
}

/// The figures of the same logistic regression and the last answer, with weights that each answer moves by one step of
/// an extended Kalman filter (Bayesian logistic regression); `n` are the means to start from, all spreads are .5.
fn online(n: &[f64], log: &Log) -> Predictions {
    const N: usize = 5;
    let mut mean: [f64; N] = std::array::from_fn(|i| n[i]);
    let mut cov = [[0.0; N]; N];
    (0..N).for_each(|i| cov[i][i] = 0.25);
    let mut states: Vec<Option<(Counts, f64, f64)>> = vec![None; 1000];
    let mut out = Predictions::new();
    for row in &log.rows {
        let (at, g, correct) = (
            row.outcome.at.seconds(),
            row.outcome.guess,
            row.outcome.correct,
        );
        let state = states[row.item].unwrap_or((Counts::default(), at, 0.0));
        let (mut counts, last, shown) = state;
        let gap = ((at - last) / 60.0).ln_1p();
        let x = [1.0, counts.right.ln_1p(), counts.wrong.ln_1p(), gap, shown];
        let r = sigmoid((0..N).map(|i| mean[i] * x[i]).sum::<f64>().clamp(-8.0, 8.0));
        let p = aware(r, g);
        out.push((p, Some(r)));
        if states[row.item].is_some() {
            let slope = (1.0 - SLIP - g).max(0.0) * r * (1.0 - r);
            let with = cov.map(|row| (0..N).map(|i| row[i] * x[i]).sum::<f64>());
            let variance: f64 = (0..N).map(|i| with[i] * x[i]).sum();
            let noise = (p * (1.0 - p)).max(0.01);
            let total = slope * slope * variance + noise;
            for i in 0..N {
                mean[i] += with[i] * slope * (correct - p) / total;
                for j in 0..N {
                    cov[i][j] -= with[i] * with[j] * slope * slope / total;
                }
            }
        }
        count(&mut counts, 0.0, at, g, correct);
        states[row.item] = Some((counts, at, correct));
    }
    out
}

fn beta_filter(n: &[f64], log: &Log) -> Predictions {
    let a = n[0].clamp(1.05, 20.0);
    let start = Belief {
        alpha: a,
        beta: a,
        time: n[1].exp2().clamp(0.02, 60.0),
    };
    over(
        log,
        start,
        |b, days, g| {
            let r = b.mean(days);
            (aware(r, g), Some(r))
        },
        |b, days, _, g, correct| {
            if days.is_finite() {
                let next = b.noisy(correct > 0.5, 1.0 - SLIP, g, days.max(1e-3));
                if next.alpha.is_finite()
                    && next.alpha > 0.0
                    && next.beta > 0.0
                    && next.time.is_finite()
                    && next.time > 1e-5
                {
                    *b = next;
                }
            }
        },
    )
}

/// `n`: base, a, c, threshold, noise (Pavlik & Anderson); nights run at .025.
fn act_r(n: &[f64], log: &Log) -> Predictions {
    let (base, a, c, tau, s) = (n[0], n[1], n[2], n[3], n[4].max(0.05));
    let clock = |at: f64| {
        let day = (at / DAY).floor();
        let within = at - day * DAY;
        day * 0.025 * DAY
            + if within < 3600.0 {
                within
            } else {
                3600.0 + (within - 3600.0) * 0.025
            }
    };
    let mut states: Vec<Vec<(f64, f64)>> = vec![Vec::new(); 1000];
    log.rows
        .iter()
        .map(|row| {
            let uses = &mut states[row.item];
            let now = clock(row.outcome.at.seconds());
            let sum: f64 = uses
                .iter()
                .map(|&(t, d): &(f64, f64)| (now - t).max(1.0).powf(-d))
                .sum();
            let r = 1.0 / (1.0 + ((tau - base - sum.max(1e-9).ln()) / s).exp());
            uses.push((now, (c * sum + a).clamp(0.01, 2.0)));
            (aware(r, row.outcome.guess), Some(r))
        })
        .collect()
}

/// `n`: log2 of the fastest time constant in days, share ratio, gain, gain of a right answer relative to a wrong one.
fn multiscale(n: &[f64], log: &Log) -> Predictions {
    const POOLS: usize = 20;
    let (fastest, share) = (n[0].exp2(), n[1].clamp(0.5, 1.2));
    let weights: Vec<f64> = (0..POOLS).map(|i| share.powi(i as i32)).collect();
    let strength = |pools: &[f64; POOLS], days: f64| {
        let (mut s, mut w) = (0.0, 0.0);
        let mut now = [0.0; POOLS];
        let mut sums = [0.0; POOLS];
        for i in 0..POOLS {
            now[i] = pools[i] * (-days / (fastest * 2f64.powi(i as i32))).exp();
            s += weights[i] * now[i];
            w += weights[i];
            sums[i] = s / w;
        }
        (now, sums)
    };
    over(
        log,
        [0.0; POOLS],
        |pools, days, g| {
            let r = strength(pools, days).1[POOLS - 1].clamp(0.0, 0.985);
            (aware(r, g), Some(r))
        },
        |pools, days, _, _, correct| {
            let (now, sums) = strength(pools, if days.is_finite() { days } else { 1e6 });
            let gain = n[2].max(0.01) * if correct > 0.5 { n[3].max(0.1) } else { 1.0 };
            for i in 0..POOLS {
                pools[i] = now[i] + gain * (1.0 - sums[i]).max(0.0);
            }
        },
    )
}
