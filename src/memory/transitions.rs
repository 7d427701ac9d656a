//! Probabilities on the move along the grid of half-lives.

use super::belief::{Belief, sum};
use super::curve::{CELLS, EASES, HALVES, STEP};

/// The mass of every cell on its way to a place between two neighbours.
pub(super) struct Transitions {
    /// The lower of the two.
    place: [u32; CELLS],
    /// What comes to it, and to the upper.
    near: [f32; CELLS],
    far: [f32; CELLS],
    pub total: f32,
}

/// Cells of each ease after the move. The last place is never reached; with it every place has a neighbour.
pub(super) type Landed = [[f32; HALVES + 1]; EASES];

impl Transitions {
    pub fn new() -> Self {
        Self {
            place: [0; CELLS],
            near: [0.0; CELLS],
            far: [0.0; CELLS],
            total: 0.0,
        }
    }

    /// Sets the moves of one ease: `of` gives for a half-life its mass and where that goes; what would leave the grid
    /// stays at its end.
    #[inline(always)]
    pub fn row(&mut self, row: usize, of: impl Fn(usize) -> (f32, f32)) {
        /// Added to a small number, it leaves the nearest whole number in the last bits: a floor without a call.
        const WHOLE: f32 = 12_582_912.0;
        let place = &mut self.place[row * HALVES..][..HALVES];
        let near = &mut self.near[row * HALVES..][..HALVES];
        let far = &mut self.far[row * HALVES..][..HALVES];
        let mut masses = [0.0; HALVES];
        for k in 0..HALVES {
            let (mass, to) = of(k);
            // Just below 0 comes about where recall is 1 but for rounding.
            let to = to.clamp(0.0, HALVES as f32 - 1.001);
            let low = to - 0.5 + WHOLE;
            let part = to - (low - WHOLE);
            masses[k] = mass;
            place[k] = low.to_bits();
            near[k] = mass * (1.0 - part);
            far[k] = mass * part;
        }
        self.total += sum(&masses);
    }
}

/// Both moves added up. Eases take turns, so that no addition has to wait for the one before it.
pub(super) fn landed(hit: &Transitions, miss: &Transitions) -> Landed {
    let mut out = [[0.0; HALVES + 1]; EASES];
    for k in 0..HALVES {
        for (row, out) in out.iter_mut().enumerate() {
            let i = row * HALVES + k;
            for moves in [hit, miss] {
                let low = moves.place[i] as usize % HALVES;
                out[low] += moves.near[i];
                out[low + 1] += moves.far[i];
            }
        }
    }
    out
}

/// Half-lives drift a little from answer to answer: a three-tap kernel of variance `q`².
pub(super) fn drift(from: &Landed, q: f32, to: &mut Belief) {
    let side = (q / STEP).powi(2) / 2.0;
    let centre = 1.0 - 2.0 * side;
    for (from, to) in from.iter().zip(to.as_chunks_mut::<HALVES>().0) {
        for k in 1..HALVES - 1 {
            to[k] = centre * from[k] + side * (from[k - 1] + from[k + 1]);
        }
        to[0] = (1.0 - side) * from[0] + side * from[1];
        to[HALVES - 1] = (1.0 - side) * from[HALVES - 1] + side * from[HALVES - 2];
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Linear interpolation between two places keeps the mass and its mean place.
    #[test]
    fn what_moves_keeps_its_mass_and_arrives_where_it_should() {
        let places = [
            -1e-5, 0.0, 1e-7, 0.49, 0.5, 0.51, 1.0, 1.5, 2.0, 2.5, 3.0, 31.3, 62.5, 62.99, 63.0,
            90.0,
        ];
        for to in places {
            for k in [0, 1, 31, 63] {
                let (mut hit, mut miss) = (Transitions::new(), Transitions::new());
                hit.row(3, |at| (if at == k { 0.75 } else { 0.0 }, to));
                miss.row(3, |at| (if at == k { 0.25 } else { 0.0 }, to));
                let out = landed(&hit, &miss);
                let mean: f32 = out[3].iter().enumerate().map(|(k, m)| k as f32 * m).sum();
                assert_eq!(hit.total + miss.total, 1.0);
                assert!((out[3].iter().sum::<f32>() - 1.0).abs() < 1e-6, "{to}");
                assert!((mean - to.clamp(0.0, 62.999)).abs() < 1e-4, "{to}: {mean}");
                assert!(out[3].iter().filter(|m| **m > 0.0).count() <= 2);
                let others = out.iter().enumerate().filter(|(row, _)| *row != 3);
                assert!(others.flat_map(|(_, out)| out).all(|m| *m == 0.0));
            }
        }
    }
}
