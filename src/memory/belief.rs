//! What is believed about one item: a table of probabilities over half-life and ease.

use super::curve::{CELLS, HALVES, Recalls, SHORTEST, STEP};

/// Probabilities, ease by ease (-2 to 2), within each ease by half-life. They sum to 1.
pub(super) type Belief = [f32; CELLS];

/// Half-life of a place on the grid, log2 of days.
pub(super) fn half(k: usize) -> f32 {
    SHORTEST + k as f32 * STEP
}

pub(super) fn ease(row: usize) -> f32 {
    row as f32 - 2.0
}

/// Sum of products in eight lanes, always in the same order.
pub(super) fn dot(a: &[f32], b: &Recalls) -> f32 {
    let mut lanes = [0.0f32; 8];
    for (a, b) in a.chunks_exact(8).zip(b.chunks_exact(8)) {
        for i in 0..8 {
            lanes[i] += a[i] * b[i];
        }
    }
    lanes.iter().sum()
}

pub(super) fn sum(a: &[f32]) -> f32 {
    let mut lanes = [0.0f32; 8];
    for a in a.chunks_exact(8) {
        for i in 0..8 {
            lanes[i] += a[i];
        }
    }
    lanes.iter().sum()
}

pub(super) fn normalise(belief: &mut Belief) {
    let scale = 1.0 / sum(belief);
    for cell in belief.iter_mut() {
        *cell *= scale;
    }
}

/// Half-life expected of an item, log2 of days.
pub(super) fn mean_half(belief: &Belief) -> f32 {
    let halves: Recalls = std::array::from_fn(half);
    belief
        .chunks_exact(HALVES)
        .map(|cells| dot(cells, &halves))
        .sum()
}

/// Mean and variance of the ease.
pub(super) fn ease_moments(belief: &Belief) -> (f32, f32) {
    let (mut mean, mut square) = (0.0, 0.0);
    for (row, cells) in belief.chunks_exact(HALVES).enumerate() {
        let p = sum(cells);
        mean += p * ease(row);
        square += p * ease(row) * ease(row);
    }
    (mean, square - mean * mean)
}
