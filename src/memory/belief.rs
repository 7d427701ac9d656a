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

/// Packs a belief for keeping, a byte a cell: the square root of its share of the largest cell. The root keeps small
/// chances apart, on which a surprise rests: the least that is kept is a part in some 260,000 of the largest.
pub(super) fn keep(belief: &Belief, kept: &mut [u8]) {
    let mut lanes = [0.0f32; 8];
    for cells in belief.chunks_exact(8) {
        for i in 0..8 {
            lanes[i] = if cells[i] > lanes[i] {
                cells[i]
            } else {
                lanes[i]
            };
        }
    }
    let scale = MOST * MOST / lanes.into_iter().fold(0.0, f32::max);
    for (kept, &cell) in kept.iter_mut().zip(belief) {
        *kept = ((cell * scale).max(0.0).sqrt() + 0.5) as i32 as u8;
    }
}

/// What the largest cell is kept as.
const MOST: f32 = 255.0;

/// What a cell weighs that is kept as `kept`.
#[inline(always)]
pub(super) fn weight(kept: u8) -> f32 {
    let root = f32::from(kept);
    root * root
}

pub(super) fn recover(kept: &[u8]) -> Belief {
    let mut belief = [0.0; CELLS];
    for (cell, &kept) in belief.iter_mut().zip(kept) {
        *cell = weight(kept);
    }
    normalise(&mut belief);
    belief
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_kept_by_their_root_to_a_part_in_255_of_the_largest() {
        let mut belief = [0.0; CELLS];
        (belief[3], belief[9], belief[318]) = (0.64, 0.16, 0.64 * 3.9e-6);
        let mut kept = [7; CELLS];
        keep(&belief, &mut kept);
        assert_eq!((kept[3], kept[9], kept[318], kept[4]), (255, 128, 1, 0));
        let back = recover(&kept);
        assert!((back[9] / back[3] - 0.25).abs() < 0.002);
    }
}
