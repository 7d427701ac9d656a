//! How well an answer is told by what shows on the surface of a question, all cues together: a logistic regression on
//! one half of the questions, tried on the other half.

use std::collections::BTreeMap;

/// One question: does the answer hold, numbers that show, and words that show.
pub struct Shown {
    pub holds: bool,
    pub numbers: Vec<f64>,
    pub words: Vec<String>,
}

/// Share right on `test` of a logistic regression fitted on `train`: numbers as they are and squared, scaled to the
/// same spread, each word on its own; a little ridge keeps rare words from being learned by heart.
pub fn share_right(train: &[Shown], test: &[Shown]) -> f64 {
    let coder = Coder::new(train);
    let rows: Vec<Vec<f64>> = train.iter().map(|s| coder.code(s)).collect();
    let weights = fitted(&rows, train);
    let hits = test.iter().filter(|s| {
        let z = dot(&weights, &coder.code(s));
        (z > 0.0) == s.holds
    });
    hits.count() as f64 / test.len() as f64
}

const STEPS: usize = 400;
const RATE: f64 = 0.5;
const RIDGE: f64 = 1e-3;

fn fitted(rows: &[Vec<f64>], train: &[Shown]) -> Vec<f64> {
    let mut weights = vec![0.0; rows.first().map_or(0, Vec::len)];
    for _ in 0..STEPS {
        let mut slope: Vec<f64> = weights.iter().map(|w| RIDGE * w).collect();
        for (row, shown) in rows.iter().zip(train) {
            let p = 1.0 / (1.0 + (-dot(&weights, row)).exp());
            let off = (p - f64::from(u8::from(shown.holds))) / rows.len() as f64;
            for (s, x) in slope.iter_mut().zip(row) {
                *s += off * x;
            }
        }
        for (w, s) in weights.iter_mut().zip(&slope) {
            *w -= RATE * s;
        }
    }
    weights
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

struct Coder {
    /// Mean and spread of each number and its square.
    scales: Vec<(f64, f64)>,
    /// Column of each word, by its place.
    words: BTreeMap<(usize, String), usize>,
}

impl Coder {
    fn new(train: &[Shown]) -> Coder {
        let n = train.len() as f64;
        let raw: Vec<Vec<f64>> = train.iter().map(|s| with_squares(&s.numbers)).collect();
        let columns = raw.first().map_or(0, Vec::len);
        let scales = (0..columns).map(|c| {
            let mean = raw.iter().map(|r| r[c]).sum::<f64>() / n;
            let spread = (raw.iter().map(|r| (r[c] - mean).powi(2)).sum::<f64>() / n).sqrt();
            (mean, spread.max(1e-9))
        });
        let scales: Vec<(f64, f64)> = scales.collect();
        let mut words = BTreeMap::new();
        for shown in train {
            for (place, word) in shown.words.iter().enumerate() {
                let next = words.len();
                words.entry((place, word.clone())).or_insert(next);
            }
        }
        Coder { scales, words }
    }

    fn code(&self, shown: &Shown) -> Vec<f64> {
        let numbers = with_squares(&shown.numbers);
        let scaled = numbers
            .iter()
            .zip(&self.scales)
            .map(|(x, (m, s))| (x - m) / s);
        let mut row: Vec<f64> = [1.0].into_iter().chain(scaled).collect();
        let first = row.len();
        row.resize(first + self.words.len(), 0.0);
        for key in shown.words.iter().cloned().enumerate() {
            if let Some(at) = self.words.get(&key) {
                row[first + at] = 1.0;
            }
        }
        row
    }
}

fn with_squares(numbers: &[f64]) -> Vec<f64> {
    numbers.iter().flat_map(|x| [*x, x * x]).collect()
}
