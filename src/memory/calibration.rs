//! Are the predictions true? Predicted against measured over the player's own log.

use std::collections::HashMap;

use serde::Serialize;

use super::outcome::Outcome;
use super::states::Memory;

/// Predictions of a whole log against what happened.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Calibration {
    /// Answers.
    pub count: u64,
    /// Ten bins of equal width over the predicted chance of a right answer; empty ones are left out.
    pub bins: Vec<Bin>,
    /// Mean log loss of the predictions, nats an answer; lower is better.
    pub log_loss: f64,
    /// The same for a predictor that says the share right so far of the kind, whatever the item and the day.
    pub log_loss_constant: f64,
    /// Mean gain over that predictor, nats an answer, with a 95 % interval (normal approximation of the mean of the
    /// paired differences); above 0 the memory knows more than the average.
    pub gain: f64,
    /// Lower end of that interval.
    pub gain_low: f64,
    /// Upper end of that interval.
    pub gain_high: f64,
    /// Mean distance between predicted and measured over the bins, weighted by their counts.
    pub error: f64,
}

/// One bin of predictions.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Bin {
    /// Predictions from here (included) to there (excluded, except 1).
    pub from: f64,
    /// Upper end of the bin.
    pub to: f64,
    /// Answers in it.
    pub count: u64,
    /// Mean prediction.
    pub expected: f64,
    /// Share right.
    pub right: f64,
    /// 95 % interval of the share (Wilson 1927, J Am Stat Assoc 22:209-212).
    pub low: f64,
    /// Upper end of that interval.
    pub high: f64,
}

const BINS: usize = 10;
/// Standard normal quantile of a 95 % interval.
const Z: f64 = 1.959_963_984_540_054;

/// Replays a log and compares each prediction, made before its answer was seen, with the answer. Partly right
/// answers count with their share. `None` where there is no answer at all.
pub fn calibration<'a>(outcomes: impl IntoIterator<Item = &'a Outcome>) -> Option<Calibration> {
    let mut memory = Memory::new();
    let mut shares: HashMap<&str, (f64, f64)> = HashMap::new();
    let mut sums = [(0.0, 0.0, 0u64); BINS];
    let (mut count, mut loss, mut constant, mut squares) = (0u64, 0.0, 0.0, 0.0);
    for outcome in outcomes {
        let expected = memory.observe(outcome).expected;
        let right = if outcome.correct.is_finite() {
            outcome.correct.clamp(0.0, 1.0)
        } else {
            0.0
        };
        let share = shares.entry(&outcome.kind).or_insert((1.0, 2.0));
        let (ours, theirs) = (
            log_loss(expected, right),
            log_loss(share.0 / share.1, right),
        );
        *share = (share.0 + right, share.1 + 1.0);
        let bin = &mut sums[((expected * BINS as f64) as usize).min(BINS - 1)];
        *bin = (bin.0 + expected, bin.1 + right, bin.2 + 1);
        count += 1;
        loss += ours;
        constant += theirs;
        squares += (theirs - ours).powi(2);
    }
    if count == 0 {
        return None;
    }
    let n = count as f64;
    let bins: Vec<Bin> = sums
        .iter()
        .enumerate()
        .filter(|(_, s)| s.2 > 0)
        .map(|(i, &(expected, right, count))| {
            let m = count as f64;
            let (low, high) = wilson(right / m, m);
            let edge = |i: usize| i as f64 / BINS as f64;
            Bin {
                from: edge(i),
                to: edge(i + 1),
                count,
                expected: expected / m,
                right: right / m,
                low,
                high,
            }
        })
        .collect();
    let gain = (constant - loss) / n;
    let half = Z * ((squares / n - gain * gain).max(0.0) / n).sqrt();
    let error = bins
        .iter()
        .map(|b| (b.expected - b.right).abs() * b.count as f64 / n)
        .sum();
    Some(Calibration {
        count,
        bins,
        log_loss: loss / n,
        log_loss_constant: constant / n,
        gain,
        gain_low: gain - half,
        gain_high: gain + half,
        error,
    })
}

fn log_loss(expected: f64, right: f64) -> f64 {
    let p = expected.clamp(1e-3, 1.0 - 1e-3);
    -(right * p.ln() + (1.0 - right) * (1.0 - p).ln())
}

fn wilson(share: f64, n: f64) -> (f64, f64) {
    let z2 = Z * Z;
    let centre = (share + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = Z / (1.0 + z2 / n) * (share * (1.0 - share) / n + z2 / (4.0 * n * n)).sqrt();
    ((centre - half).max(0.0), (centre + half).min(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn outcome(i: u32, correct: f64) -> Outcome {
        Outcome {
            item: format!("{}", i % 17),
            concepts: vec!["c".into()],
            kind: "side".into(),
            at: f64::from(i) * 4000.0,
            correct,
            guess: 0.5,
            seconds: 2.0,
            limit: 0.0,
            replays: 0,
            slowed: false,
        }
    }

    /// Brown, Cai & DasGupta 2001 (Stat Sci 16:101-133) give the formula; 8 of 10 is .4901625 to .9433178 in the
    /// implementation of statsmodels (`proportion_confint(8, 10, method="wilson")`), from memory.
    #[test]
    fn wilson_interval_of_eight_in_ten() {
        let (low, high) = wilson(0.8, 10.0);
        assert!(
            (low - 0.490_162_5).abs() < 1e-5 && (high - 0.943_317_8).abs() < 1e-5,
            "{low} {high}"
        );
    }

    #[test]
    fn counts_add_up_and_nothing_gives_nothing() {
        assert_eq!(calibration(&[]), None);
        let log: Vec<Outcome> = (0..300)
            .map(|i| outcome(i, f64::from(u8::from(!u32::is_multiple_of(i, 3)))))
            .collect();
        let c = calibration(&log).unwrap();
        assert_eq!(c.count, 300);
        assert_eq!(c.bins.iter().map(|b| b.count).sum::<u64>(), 300);
        let right: f64 = c.bins.iter().map(|b| b.right * b.count as f64).sum();
        assert!((right - 200.0).abs() < 1e-9);
        for b in &c.bins {
            assert!(
                b.from <= b.expected && b.expected <= b.to && b.low <= b.right && b.right <= b.high
            );
        }
        assert!(c.gain_low <= c.gain && c.gain <= c.gain_high);
        assert!((c.log_loss_constant - c.log_loss - c.gain).abs() < 1e-12);
    }

    /// A constant guess of 1/2 costs ln 2 at every answer.
    #[test]
    fn log_loss_of_a_coin_is_ln_2() {
        assert!((log_loss(0.5, 1.0) - std::f64::consts::LN_2).abs() < 1e-12);
        assert!((log_loss(0.5, 0.25) - std::f64::consts::LN_2).abs() < 1e-12);
    }
}
