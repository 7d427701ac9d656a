//! How well found onsets go with real ones.

use whichside::sound::{HeardOnset, OnsetDetector};

/// Seconds of the window of a pair.
const WINDOW: f64 = 0.030;

/// The most pairs within the window: in order, since a crossing of two pairs can be undone.
pub fn pairs(found: &[f64], real: &[f64]) -> Vec<(f64, f64)> {
    let (mut i, mut j, mut pairs) = (0, 0, Vec::new());
    while i < found.len() && j < real.len() {
        let off = found[i] - real[j];
        if off.abs() <= WINDOW {
            pairs.push((found[i], real[j]));
            i += 1;
            j += 1;
        } else if off < 0.0 {
            i += 1;
        } else {
            j += 1;
        }
    }
    pairs
}

#[derive(Default)]
pub struct Tally {
    pub hits: usize,
    pub found: usize,
    pub real: usize,
    pub errors: Vec<f64>,
    pub worst: f64,
}

impl Tally {
    pub fn f(&self) -> f64 {
        2.0 * self.hits as f64 / (self.found + self.real).max(1) as f64
    }
    pub fn median(&self) -> f64 {
        let mut errors: Vec<f64> = self.errors.iter().map(|e| e.abs()).collect();
        errors.sort_by(f64::total_cmp);
        errors
            .get(errors.len() / 2)
            .map_or(f64::NAN, |e| 1000.0 * e)
    }
}

pub fn detect(detector: &mut OnsetDetector, heard: &[f32], played: &[[f32; 2]]) -> Vec<HeardOnset> {
    let mut found = Vec::new();
    for (i, block) in heard.chunks(480).enumerate() {
        detector.feed(block, played.get(480 * i..).unwrap_or(&[]), &mut found);
    }
    found
}
