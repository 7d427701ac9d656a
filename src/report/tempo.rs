//! The tempo up to which answers come right and in time: a psychometric fit.
//!
//! The chance of an answer that is right and in time at tempo `v` is `g + (1 - g - l) / (1 + exp((ln v - m) / s))`
//! with guess chance `g`, lapse rate `l`, midpoint `m` and spread `s`: a falling logistic function of log tempo
//! (Wichmann & Hill 2001, *Perception & Psychophysics* 63:1293-1313, for the form and for a lapse rate of a few
//! hundredths). Midpoint and spread are weighed on a grid (Kontsevich & Tyler 1999, *Vision Research*
//! 39:2729-2737), so that the uncertainty comes with the fit and few answers do no harm.

use super::Input;
use super::trials::{Name, Trials};
use serde::Serialize;
use std::collections::BTreeMap;

/// Share of questions that go wrong or late for no reason of tempo.
const LAPSE: f64 = 0.03;
/// Chance, guessing aside, at which to practise: hard enough to learn from, easy enough to play well (chosen).
const PRACTISE: f64 = 0.8;
const SPREADS: [f64; 7] = [0.03, 0.05, 0.08, 0.12, 0.18, 0.27, 0.4];
/// Log tempos on the grid of midpoints are this far apart.
const STEP: f64 = 0.025;
/// How far beyond the asked tempos the midpoint may lie, in log tempo: a factor of 1.6.
const BEYOND: f64 = 0.47;
/// Fewest answers, and smallest ratio of the fastest to the slowest tempo, that are fitted.
const FEWEST: usize = 16;
const RATIO: f64 = 1.15;

/// Where an idea falls apart in tempo.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TempoLimit {
    /// Name of the idea.
    pub concept: String,
    /// Answers that were fitted.
    pub answers: usize,
    /// Slowest and fastest tempo that was asked, beats a minute.
    pub asked: (f64, f64),
    /// Tempo at which half of what was in time slowly no longer is; beats a minute.
    pub limit: f64,
    /// Nine in ten that the limit lies between these.
    pub low: f64,
    /// Upper end of that interval.
    pub high: f64,
    /// No sign of a limit in what was asked: it may lie beyond.
    pub open_ended: bool,
    /// Tempo to try next, beats a minute.
    pub next: f64,
    /// Share right and in time at some tempos, slow to fast: tempo, share, answers.
    pub measured: Vec<(f64, f64, usize)>,
    /// The fitted chance at some tempos, slow to fast.
    pub curve: Vec<(f64, f64)>,
}

/// Answers at about one tempo.
#[derive(Clone, Copy, Debug, Default)]
struct Bin {
    answers: f64,
    hits: f64,
    guess: f64,
    tempo: f64,
}

/// The limits of all concepts with enough answers at different tempos; the surest first.
pub(super) fn limits(input: &Input<'_>, trials: &Trials) -> Vec<TempoLimit> {
    let mut by_concept: BTreeMap<Name, Vec<usize>> = BTreeMap::new();
    let mut last = None;
    for t in &trials.list {
        // A row of keys is one answer, in time or not.
        if last == Some(t.review) {
            continue;
        }
        last = Some(t.review);
        for concept in &trials.concepts[t.concepts] {
            by_concept.entry(*concept).or_default().push(t.review);
        }
    }
    let mut limits: Vec<TempoLimit> = by_concept
        .into_iter()
        .filter_map(|(concept, reviews)| {
            let answers: Vec<Answer> = reviews
                .iter()
                .map(|r| &input.recent[*r])
                .map(|f| (f.bpm, f.in_time, f.guess))
                .collect();
            fit(trials.name(concept), &answers)
        })
        .collect();
    limits.sort_by(|a, b| {
        let width = |l: &TempoLimit| (l.high / l.low).ln();
        (a.open_ended, width(a))
            .partial_cmp(&(b.open_ended, width(b)))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    limits
}

/// Tempo, right and in time, guess chance.
type Answer = (f64, bool, f64);

/// The fit of one idea; `None` where there are too few answers or too few tempos.
fn fit(concept: &str, answers: &[Answer]) -> Option<TempoLimit> {
    let slowest = answers.iter().map(|a| a.0).fold(f64::INFINITY, f64::min);
    let fastest = answers.iter().map(|a| a.0).fold(0.0, f64::max);
    if answers.len() < FEWEST || slowest <= 0.0 || fastest / slowest < RATIO {
        return None;
    }
    let bins = binned(answers, slowest.ln());
    let (low, high) = (slowest.ln() - BEYOND, fastest.ln() + BEYOND);
    let count = ((high - low) / STEP).ceil() as usize + 1;
    let middle = |i: usize| low + i as f64 * STEP;
    let mut logs = Vec::with_capacity(count * SPREADS.len());
    for i in 0..count {
        for spread in SPREADS {
            let sum: f64 = bins
                .iter()
                .map(|b| {
                    let p =
                        chance(b.tempo.ln(), middle(i), spread, b.guess).clamp(1e-9, 1.0 - 1e-9);
                    b.hits * p.ln() + (b.answers - b.hits) * (1.0 - p).ln()
                })
                .sum();
            logs.push(sum);
        }
    }
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|l| (l - top).exp()).collect();
    let total: f64 = weights.iter().sum();
    let at = |share: f64| {
        let mut sum = 0.0;
        for i in 0..count {
            let row: f64 = weights[i * SPREADS.len()..][..SPREADS.len()].iter().sum();
            if sum + row >= share * total {
                return (middle(i) + STEP * ((share * total - sum) / row - 0.5)).exp();
            }
            sum += row;
        }
        high.exp()
    };
    // The mean curve without guessing: what practice is for.
    let mean = |tempo: f64, guess: f64| {
        let mut sum = 0.0;
        for i in 0..count {
            for (j, spread) in SPREADS.iter().enumerate() {
                sum +=
                    weights[i * SPREADS.len() + j] * chance(tempo.ln(), middle(i), *spread, guess);
            }
        }
        sum / total
    };
    let guess = answers.iter().map(|a| a.2).sum::<f64>() / answers.len() as f64;
    let along = |k: usize, of: usize| {
        (slowest.ln() + (fastest / slowest).ln() * k as f64 / of as f64).exp()
    };
    let next = (0..=40)
        .map(|k| slowest * (fastest * 1.05 / slowest).powf(f64::from(40 - k) / 40.0))
        .find(|v| mean(*v, 0.0) >= PRACTISE * (1.0 - LAPSE))
        .unwrap_or(slowest * 0.95);
    Some(TempoLimit {
        concept: concept.to_string(),
        answers: answers.len(),
        asked: (slowest, fastest),
        limit: at(0.5),
        low: at(0.05),
        high: at(0.95),
        open_ended: at(0.5) > fastest,
        next: next.round(),
        measured: bins
            .iter()
            .map(|b| (b.tempo, b.hits / b.answers, b.answers as usize))
            .collect(),
        curve: (0..=12)
            .map(|k| (along(k, 12), mean(along(k, 12), guess)))
            .collect(),
    })
}

fn chance(tempo: f64, middle: f64, spread: f64, guess: f64) -> f64 {
    guess + (1.0 - guess - LAPSE * (1.0 - guess)) / (1.0 + ((tempo - middle) / spread).exp())
}

/// Answers put together by tempo, a twelfth of an octave wide.
fn binned(answers: &[Answer], from: f64) -> Vec<Bin> {
    let mut bins: BTreeMap<i64, Bin> = BTreeMap::new();
    for (tempo, hit, guess) in answers {
        let at = ((tempo.ln() - from) * 12.0 / std::f64::consts::LN_2).floor() as i64;
        let bin = bins.entry(at).or_default();
        bin.answers += 1.0;
        bin.hits += f64::from(u8::from(*hit));
        bin.guess += guess;
        bin.tempo += tempo;
    }
    let mut bins: Vec<Bin> = bins.into_values().collect();
    for bin in &mut bins {
        bin.guess /= bin.answers;
        bin.tempo /= bin.answers;
    }
    bins
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    fn answers(limit: f64, count: usize, seed: u64) -> Vec<Answer> {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        (0..count)
            .map(|_| {
                let tempo: f64 = rng.random_range(100.0..260.0);
                let p = chance(tempo.ln(), limit.ln(), 0.08, 0.33);
                (tempo, rng.random::<f64>() < p, 0.33)
            })
            .collect()
    }

    #[test]
    fn the_limit_of_simulated_players_lies_in_the_interval_nine_times_in_ten() {
        let mut held = 0;
        for seed in 0..200 {
            let limit = 150.0 + (seed % 70) as f64;
            let found = fit("x", &answers(limit, 60, seed)).unwrap();
            held += usize::from((found.low..=found.high).contains(&limit));
        }
        assert!((172..=190).contains(&held), "{held} of 200");
    }

    #[test]
    fn what_never_fails_has_no_limit_and_is_tried_faster() {
        let good: Vec<Answer> = (0..40)
            .map(|i| (100.0 + f64::from(i), true, 0.33))
            .collect();
        let found = fit("x", &good).unwrap();
        assert!(found.open_ended && found.next > 135.0, "{found:?}");
        let bad: Vec<Answer> = (0..40)
            .map(|i| (100.0 + f64::from(i), false, 0.33))
            .collect();
        let found = fit("x", &bad).unwrap();
        assert!(!found.open_ended && found.next < 100.0, "{found:?}");
    }

    #[test]
    fn too_little_is_not_fitted() {
        assert!(fit("x", &answers(180.0, 5, 1)).is_none());
        let one: Vec<Answer> = (0..60).map(|_| (120.0, true, 0.5)).collect();
        assert!(fit("x", &one).is_none());
    }
}
