//! The tempo up to which answers are right and in time: a psychometric fit.
//!
//! The chance of an answer that is right and in time at tempo `v` is `g + (1 - g) t / (1 + exp((ln v - m) / s))` with
//! guess chance `g`, midpoint `m`, spread `s` and the share `t` that is in time however slow it is: a falling logistic
//! function of log tempo (Wichmann & Hill 2001, *Perception & Psychophysics* 63:1293-1313; `1 - t` is their lapse rate,
//! left free far beyond theirs because what is not known is missed at every tempo, which says nothing about speed).
//! Midpoint, spread and share are weighed on a grid (Kontsevich & Tyler 1999, *Vision Research* 39:2729-2737), so that the
//! uncertainty comes with the fit and few answers do no harm.
//!
//! Know its limits: a free lapse rate does not free the estimates of bias, least of all where what was answered decides
//! what is asked next (Prins 2012, *Journal of Vision* 12(6):25, abstract), and the drill chooses tempos in just that way.
//! With the grid as wide as it is the intervals err on the long side: in the test below those of nine in ten hold 285 of
//! 300 times.

use super::Input;
use super::trials::{NameId, Trials};
use crate::rhythm::Tempo;
use serde::Serialize;
use std::collections::BTreeMap;

/// Chance, of what is in time slowly, at which to practise: hard enough to learn from, easy enough to play well (chosen).
const PRACTISE: f64 = 0.8;
/// Shares that may be in time slowly, guessing aside.
const SLOWLY: [f64; 6] = [0.3, 0.45, 0.6, 0.75, 0.87, 0.97];
const SPREADS: [f64; 5] = [0.03, 0.06, 0.11, 0.2, 0.36];
/// Log tempos on the grid of midpoints are this far apart.
const STEP: f64 = 0.04;
/// How far beyond the asked tempos the midpoint may lie, in log tempo: a factor of 1.6.
const BEYOND: f64 = 0.47;
/// Fewest answers, and smallest ratio of the fastest to the slowest tempo, that are fitted.
const FEWEST: usize = 16;
const RATIO: f64 = 1.15;

/// Where a concept breaks down in tempo.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TempoLimit {
    /// Name of the concept.
    pub concept: String,
    /// Answers that were fitted.
    pub answers: usize,
    /// Slowest and fastest tempo that was asked.
    pub asked: (Tempo, Tempo),
    /// Tempo at which half of what was in time slowly no longer is.
    pub limit: Tempo,
    /// Nine in ten that the limit lies between these.
    pub low: Tempo,
    /// Upper end of that interval.
    pub high: Tempo,
    /// No limit was found in what was asked: with one in four or more it lies beyond the fastest tempo, or it may lie
    /// on either side of all that was asked.
    pub open_ended: bool,
    /// Tempo to try next.
    pub next: Tempo,
    /// Share right and in time at some tempos, slow to fast: tempo, share, answers.
    pub measured: Vec<(Tempo, f64, usize)>,
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
    let mut by_concept: BTreeMap<NameId, Vec<usize>> = BTreeMap::new();
    let mut last = None;
    for t in &trials.list {
        // A row of keys is one answer, in time or not. An echo is slow because it was missed, not the other way round.
        if last == Some(t.review) || t.echo {
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
            let answers: Vec<AtTempo> = reviews
                .iter()
                .map(|r| &input.recent[*r])
                .map(|f| (f.tempo.bpm(), f.in_time, f.guess))
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

/// Beats a minute, right and in time, guess chance.
type AtTempo = (f64, bool, f64);

/// The fit of one concept; `None` where there are too few answers or too few tempos.
fn fit(concept: &str, answers: &[AtTempo]) -> Option<TempoLimit> {
    let slowest = answers.iter().map(|a| a.0).fold(f64::INFINITY, f64::min);
    let fastest = answers.iter().map(|a| a.0).fold(0.0, f64::max);
    if answers.len() < FEWEST || slowest <= 0.0 || fastest / slowest < RATIO {
        return None;
    }
    let bins = binned(answers, slowest.ln());
    let (low, high) = (slowest.ln() - BEYOND, fastest.ln() + BEYOND);
    let count = ((high - low) / STEP).ceil() as usize + 1;
    let middle = |i: usize| low + i as f64 * STEP;
    let mut logs = Vec::with_capacity(count * SHAPES);
    for i in 0..count {
        for spread in SPREADS {
            let mut sums = [0.0; SLOWLY.len()];
            for b in &bins {
                let falls = falls(b.tempo.ln(), middle(i), spread);
                for (sum, slowly) in sums.iter_mut().zip(SLOWLY) {
                    let p = (b.guess + (1.0 - b.guess) * slowly * falls).clamp(1e-9, 1.0 - 1e-9);
                    *sum += b.hits * p.ln() + (b.answers - b.hits) * (1.0 - p).ln();
                }
            }
            logs.extend(sums);
        }
    }
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|l| (l - top).exp()).collect();
    let total: f64 = weights.iter().sum();
    let at = |share: f64| {
        let mut sum = 0.0;
        for (i, row) in weights.chunks_exact(SHAPES).enumerate() {
            let row: f64 = row.iter().sum();
            if sum + row >= share * total {
                return (middle(i) + STEP * ((share * total - sum) / row - 0.5)).exp();
            }
            sum += row;
        }
        high.exp()
    };
    // Mean over the grid of what is left at a tempo of what is in time slowly.
    let left = |tempo: f64| {
        let mut sum = 0.0;
        for (n, each) in weights.chunks_exact(SLOWLY.len()).enumerate() {
            let (i, spread) = (n / SPREADS.len(), SPREADS[n % SPREADS.len()]);
            sum += each.iter().sum::<f64>() * falls(tempo.ln(), middle(i), spread);
        }
        sum / total
    };
    let next = (0..=40)
        .map(|k| slowest * (fastest * 1.05 / slowest).powf(f64::from(40 - k) / 40.0))
        .find(|v| left(*v) >= PRACTISE)
        .unwrap_or(slowest * 0.95);
    Some(TempoLimit {
        concept: concept.to_string(),
        answers: answers.len(),
        asked: (Tempo::new(slowest), Tempo::new(fastest)),
        limit: Tempo::new(at(0.5)),
        low: Tempo::new(at(0.05)),
        high: Tempo::new(at(0.95)),
        open_ended: at(0.75) > fastest || (at(0.05) < slowest && at(0.95) > fastest),
        next: Tempo::new(next).round(),
        measured: bins
            .iter()
            .map(|b| (Tempo::new(b.tempo), b.hits / b.answers, b.answers as usize))
            .collect(),
    })
}

/// Midpoints apart, so many curves are weighed.
const SHAPES: usize = SPREADS.len() * SLOWLY.len();

/// What is left at log tempo `tempo` of what is in time slowly.
fn falls(tempo: f64, middle: f64, spread: f64) -> f64 {
    1.0 / (1.0 + ((tempo - middle) / spread).exp())
}

/// Answers put together by tempo, a twelfth of an octave wide.
fn binned(answers: &[AtTempo], from: f64) -> Vec<Bin> {
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
    use rand::rngs::ChaCha8Rng;
    use rand::{RngExt, SeedableRng};

    /// Answers of a player who is in time slowly with a share of the questions.
    fn answers(limit: f64, slowly: f64, count: usize, seed: u64) -> Vec<AtTempo> {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        (0..count)
            .map(|_| {
                let tempo: f64 = rng.random_range(100.0..260.0);
                let p = 0.33 + 0.67 * slowly * falls(tempo.ln(), limit.ln(), 0.08);
                (tempo, rng.random::<f64>() < p, 0.33)
            })
            .collect()
    }

    #[test]
    fn the_limit_of_simulated_players_lies_in_the_interval_nine_times_in_ten() {
        let mut held = 0;
        for seed in 0..300 {
            let limit = 150.0 + (seed % 70) as f64;
            let slowly = [0.97, 0.8, 0.6][seed as usize % 3];
            let found = fit("x", &answers(limit, slowly, 90, seed)).unwrap();
            held += usize::from((found.low..=found.high).contains(&Tempo::new(limit)));
        }
        // Three standard errors of 300 draws with nine in ten.
        assert!((254..=286).contains(&held), "{held} of 300");
    }

    #[test]
    fn what_is_missed_at_every_tempo_is_no_limit_of_tempo() {
        let mut early = 0;
        for seed in 0..40 {
            let mut rng = ChaCha8Rng::seed_from_u64(seed);
            let even: Vec<AtTempo> = (0..150)
                .map(|_| {
                    (
                        rng.random_range(80.0..200.0),
                        rng.random::<f64>() < 0.6,
                        0.0,
                    )
                })
                .collect();
            let found = fit("x", &even).unwrap();
            early += usize::from(!found.open_ended);
        }
        assert!(
            early <= 4,
            "{early} of 40 are told a limit that there is not"
        );
    }

    #[test]
    fn what_never_fails_has_no_limit_and_is_tried_faster() {
        let good: Vec<AtTempo> = (0..40)
            .map(|i| (100.0 + f64::from(i), true, 0.33))
            .collect();
        let found = fit("x", &good).unwrap();
        assert!(
            found.open_ended && found.next > Tempo::new(135.0),
            "{found:?}"
        );
        let bad: Vec<AtTempo> = (0..40)
            .map(|i| (100.0 + f64::from(i), false, 0.33))
            .collect();
        let found = fit("x", &bad).unwrap();
        assert!(
            !found.open_ended && found.next < Tempo::new(100.0),
            "{found:?}"
        );
    }

    #[test]
    fn too_little_is_not_fitted() {
        assert!(fit("x", &answers(180.0, 0.97, 5, 1)).is_none());
        let one: Vec<AtTempo> = (0..60).map(|_| (120.0, true, 0.5)).collect();
        assert!(fit("x", &one).is_none());
    }
}
