//! Scores of predictions and intervals over learners.

use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};

/// Predictions of one log, row by row: (expected, recall where the predictor has one).
pub type Predictions = Vec<(f64, Option<f64>)>;

#[derive(Clone, Copy, Debug, Default)]
pub struct Score {
    /// Mean log loss of right and wrong, nats.
    pub log_loss: f64,
    /// Root mean square distance from the true chance of recall (of a right answer, where recall is not predicted).
    pub rmse: f64,
    /// Mean distance between predicted and true share right over ten bins, weighted by their counts.
    pub calibration: f64,
}

pub fn score(log: &super::logs::Log, predictions: &Predictions) -> Score {
    let n = log.rows.len() as f64;
    let mut s = Score::default();
    let mut bins = [(0.0, 0.0); 10];
    for (row, &(expected, recall)) in log.rows.iter().zip(predictions) {
        let p = expected.clamp(1e-3, 1.0 - 1e-3);
        let y = row.outcome.correct;
        s.log_loss -= (y * p.ln() + (1.0 - y) * (1.0 - p).ln()) / n;
        let recall = recall.unwrap_or_else(|| {
            let g = row.outcome.guess;
            ((expected - g) / (1.0 - super::learners::SLIP - g)).clamp(0.0, 1.0)
        });
        s.rmse += (recall - row.recall).powi(2) / n;
        let bin = &mut bins[((p * 10.0) as usize).min(9)];
        bin.0 += p / n;
        bin.1 += y / n;
    }
    s.rmse = s.rmse.sqrt();
    s.calibration = bins.iter().map(|(p, y)| (p - y).abs()).sum();
    s
}

pub fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Mean of paired differences with its 95 % bootstrap interval (percentiles of 4000 resamples over learners).
pub fn paired(a: &[f64], b: &[f64]) -> (f64, f64, f64) {
    let differences: Vec<f64> = a.iter().zip(b).map(|(a, b)| a - b).collect();
    bootstrap(differences.len(), |pick| {
        mean(&pick.iter().map(|&i| differences[i]).collect::<Vec<_>>())
    })
}

/// Relative difference of means, `sum a / sum b - 1`, with its 95 % bootstrap interval.
pub fn ratio(a: &[f64], b: &[f64]) -> (f64, f64, f64) {
    bootstrap(a.len(), |pick| {
        pick.iter().map(|&i| a[i]).sum::<f64>() / pick.iter().map(|&i| b[i]).sum::<f64>().max(1e-9)
            - 1.0
    })
}

fn bootstrap(n: usize, statistic: impl Fn(&[usize]) -> f64) -> (f64, f64, f64) {
    let mut rng = ChaCha8Rng::seed_from_u64(95);
    let all: Vec<usize> = (0..n).collect();
    let mut values: Vec<f64> = (0..4000)
        .map(|_| statistic(&(0..n).map(|_| rng.random_range(0..n)).collect::<Vec<_>>()))
        .collect();
    values.sort_by(f64::total_cmp);
    (statistic(&all), values[100], values[3899])
}
