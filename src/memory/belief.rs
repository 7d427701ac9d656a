//! What is believed about one item: a table of probabilities over half-life and ease, and how an answer moves it.

use super::constants::Constants;
use super::curve::{CELLS, Curve, EASES, HALVES, Recalls, SHORTEST, STEP, exp2, log2};

/// Probabilities, ease by ease (-2 to 2), within each ease by half-life. They sum to 1.
pub(super) type Belief = [f32; CELLS];

/// An answer as the filter sees it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Evidence {
    /// Share right.
    pub correct: f32,
    pub guess: f32,
    /// Where the latency was measured.
    pub latency: Option<Latency>,
    /// How much likelier everything else about the answer (replays, slowing) is with recall than without.
    pub odds: f32,
}

/// A measured latency.
#[derive(Clone, Copy, Debug)]
pub(super) struct Latency {
    /// ln of the seconds relative to the player's pace of the kind.
    pub relative: f32,
    /// What this player's ln seconds are above the constants with recall and without, and the factor on the spread.
    pub with: f32,
    pub without: f32,
    pub spread: f32,
}

/// When the answer came.
#[derive(Clone, Copy, Debug)]
#[expect(
    clippy::large_enum_variant,
    reason = "lives on the stack for one answer; a box would cost an allocation"
)]
pub(super) enum When {
    /// Never asked before; log odds of recall for an item of middling ease.
    First(f32),
    /// Asked before: recall for each half-life of the grid by now (see [`Filter::recalls`]).
    After(Recalls),
}

/// Where a failure takes the cells, and other tables that depend on the constants alone.
#[derive(Clone, Debug)]
pub(super) struct Filter {
    pub constants: Constants,
    pub curve: Curve,
    /// For each cell: where a failure takes it, in cells of its ease.
    pub(super) fall: Vec<f32>,
    /// For each cell: alpha 2^(rho e) 2^(-c x).
    pub(super) growth: Vec<f32>,
}

/// Half-life of a place on the grid, log2 of days.
fn half(k: usize) -> f32 {
    SHORTEST + k as f32 * STEP
}

fn ease(row: usize) -> f32 {
    row as f32 - 2.0
}

impl Filter {
    pub fn new(constants: Constants) -> Self {
        let mut fall = Vec::with_capacity(CELLS);
        let mut growth = Vec::with_capacity(CELLS);
        for row in 0..EASES {
            let fresh = constants.x0 + constants.sigma_e * ease(row);
            for k in 0..HALVES {
                let x = half(k);
                let mut y = fresh + constants.phi * (x - fresh);
                if y > x {
                    y = (x + y) / 2.0;
                }
                fall.push(((y - SHORTEST) / STEP).clamp(0.0, HALVES as f32 - 1.001));
                growth.push(constants.alpha * (constants.rho * ease(row) - constants.c * x).exp2());
            }
        }
        Self {
            constants,
            curve: Curve::new(&constants),
            fall,
            growth,
        }
    }

    /// Belief about an item never asked, whose ease is expected to be `mean` (in steps of ease).
    pub fn fresh(&self, mean: f32) -> Belief {
        let c = &self.constants;
        let mut belief = [0.0; CELLS];
        for (row, cells) in belief.chunks_exact_mut(HALVES).enumerate() {
            let weight = (-(ease(row) - mean).powi(2) / 2.0).exp();
            for (k, cell) in cells.iter_mut().enumerate() {
                let d = (half(k) - c.x0 - c.sigma_e * ease(row)) / c.s0;
                *cell = weight * (-d * d / 2.0).exp();
            }
        }
        normalise(&mut belief);
        belief
    }

    /// Recall when the answer comes, and how fast it rises with the log odds (0 at a first answer).
    pub fn recall(&self, belief: &Belief, when: &When) -> (f32, f32) {
        let r = match when {
            When::First(first) => return (self.recall_first(belief, *first), 0.0),
            When::After(r) => r,
        };
        let (mut sum, mut square) = (0.0, 0.0);
        let squares = r.map(|r| r * r);
        for cells in belief.chunks_exact(HALVES) {
            sum += dot(cells, r);
            square += dot(cells, &squares);
        }
        (sum, sum - square)
    }

    /// Recall for each half-life `days` after the last answer, with `odds` on it.
    pub(super) fn recalls(&self, days: f32, odds: f32, r: &mut Recalls) {
        self.curve.recalls(days, r);
        for r in r {
            *r = *r * odds / (1.0 - *r + *r * odds);
        }
    }

    /// The moment `days` after the last answer, with `odds` on recall (see [`super::residual`]).
    pub fn after(&self, days: f32, odds: f32) -> When {
        let mut r = [0.0; HALVES];
        self.recalls(days, odds, &mut r);
        When::After(r)
    }

    /// Recall at a first answer with log odds `first` for middling ease.
    pub fn recall_first(&self, belief: &Belief, first: f32) -> f32 {
        belief
            .chunks_exact(HALVES)
            .enumerate()
            .map(|(row, cells)| self.first(first, row) * cells.iter().sum::<f32>())
            .sum()
    }

    fn first(&self, first: f32, row: usize) -> f32 {
        sigmoid(first + self.constants.first_ease * ease(row))
    }

    /// Probability of a right answer when the chance of recall is `recall`.
    pub fn expected(&self, recall: f32, guess: f32) -> f32 {
        recall * (1.0 - self.constants.slip) + (1.0 - recall) * guess
    }

    /// Moves the belief by an answer. Gives back how likely it is that the item was recalled, now that the answer is
    /// known.
    pub fn update(&self, belief: &mut Belief, when: &When, evidence: &Evidence) -> f32 {
        let (right, none) = self.likelihood(evidence);
        let late = self.latency_none(evidence.latency);
        let (mut hit, mut miss) = (Moves::new(), Moves::new());
        match when {
            When::First(first) => {
                for (row, cells) in belief.as_chunks::<HALVES>().0.iter().enumerate() {
                    let r = self.first(*first, row);
                    let speed = self.speed(r, evidence.latency.as_ref());
                    // Known at first sight: the more of a surprise, the longer it has lasted already.
                    let step = self.constants.known * (1.0 - r) / STEP;
                    hit.row(row, |k| (cells[k] * r * right * speed, step + k as f32));
                    // A fresh item that was not known starts where fresh items start.
                    miss.row(row, |k| (cells[k] * (1.0 - r) * none * late, k as f32));
                }
            }
            When::After(r) => {
                let (mut with, mut without): (Recalls, Recalls) = (*r, *r);
                for k in 0..HALVES {
                    with[k] = r[k] * right * self.speed(r[k], evidence.latency.as_ref());
                    without[k] = (1.0 - r[k]) * none * late;
                }
                for (row, cells) in belief.as_chunks::<HALVES>().0.iter().enumerate() {
                    let growth = &self.growth[row * HALVES..][..HALVES];
                    let fall = &self.fall[row * HALVES..][..HALVES];
                    let taught = self.constants.taught;
                    let grown =
                        |k: usize, part: f32| log2(1.0 + part * growth[k] * (1.0 - r[k])) / STEP;
                    hit.row(row, |k| (cells[k] * with[k], grown(k, 1.0) + k as f32));
                    miss.row(row, |k| (cells[k] * without[k], fall[k] + grown(k, taught)));
                }
            }
        }
        let recalled = hit.total;
        let total = recalled + miss.total;
        if total.is_nan() || total <= 1e-30 {
            // Nothing that was believed possible fits the answer (a slip of 0 or a guess of 0 or 1): leave it.
            return self.recall(belief, when).0;
        }
        self.drift(&landed(&hit, &miss), belief);
        normalise(belief);
        recalled / total
    }

    /// How likely the answer is with recall and without. A partly right answer counts as that share of a right one
    /// and the rest of a wrong one (the log likelihoods are mixed).
    fn likelihood(&self, e: &Evidence) -> (f32, f32) {
        let slip = self.constants.slip;
        let (right, none) = if e.correct >= 1.0 {
            (1.0 - slip, e.guess)
        } else if e.correct <= 0.0 {
            (slip, 1.0 - e.guess)
        } else {
            let g = e.guess.clamp(0.01, 0.99);
            let mix =
                |yes: f32, no: f32| (e.correct * yes.ln() + (1.0 - e.correct) * no.ln()).exp();
            (mix(1.0 - slip, slip), mix(g, 1.0 - g))
        };
        (right * e.odds, none)
    }

    /// How likely the latency is where recall had the chance `recall`.
    #[inline(always)]
    fn speed(&self, recall: f32, latency: Option<&Latency>) -> f32 {
        let c = &self.constants;
        let Some(l) = latency else { return 1.0 };
        let sigma = c.sigma * l.spread;
        let scale = -0.5 * std::f32::consts::LOG2_E / (sigma * sigma);
        let p = recall.clamp(1e-6, 1.0 - 1e-6);
        let logit = std::f32::consts::LN_2 * (log2(p) - log2(1.0 - p));
        let d = l.relative - l.with - c.mu_recall + c.kappa * logit.clamp(-3.0, 4.0);
        c.floor + exp2(scale * d * d)
    }

    fn latency_none(&self, latency: Option<Latency>) -> f32 {
        let c = &self.constants;
        match latency {
            None => 1.0,
            Some(l) => {
                c.floor
                    + (-0.5 * ((l.relative - l.without - c.mu_none) / (c.sigma * l.spread)).powi(2))
                        .exp()
            }
        }
    }

    /// Half-lives drift a little from answer to answer: a three-tap kernel of variance q².
    fn drift(&self, from: &Landed, to: &mut Belief) {
        let side = (self.constants.q / STEP).powi(2) / 2.0;
        let centre = 1.0 - 2.0 * side;
        for (from, to) in from.iter().zip(to.as_chunks_mut::<HALVES>().0) {
            for k in 1..HALVES - 1 {
                to[k] = centre * from[k] + side * (from[k - 1] + from[k + 1]);
            }
            to[0] = (1.0 - side) * from[0] + side * from[1];
            to[HALVES - 1] = (1.0 - side) * from[HALVES - 1] + side * from[HALVES - 2];
        }
    }
}

/// The mass of every cell on its way to a place between two neighbours.
struct Moves {
    /// The lower of the two.
    place: [u32; CELLS],
    /// What comes to it, and to the upper.
    near: [f32; CELLS],
    far: [f32; CELLS],
    total: f32,
}

/// Cells of each ease after the move. The last place is never reached; with it every place has a neighbour.
type Landed = [[f32; HALVES + 1]; EASES];

impl Moves {
    fn new() -> Self {
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
    fn row(&mut self, row: usize, of: impl Fn(usize) -> (f32, f32)) {
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
fn landed(hit: &Moves, miss: &Moves) -> Landed {
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

pub(super) fn sigmoid(v: f32) -> f32 {
    1.0 / (1.0 + (-v).exp())
}

/// Sum of products in eight lanes, always in the same order.
fn dot(a: &[f32], b: &Recalls) -> f32 {
    let mut lanes = [0.0f32; 8];
    for (a, b) in a.chunks_exact(8).zip(b.chunks_exact(8)) {
        for i in 0..8 {
            lanes[i] += a[i] * b[i];
        }
    }
    lanes.iter().sum()
}

fn sum(a: &[f32]) -> f32 {
    let mut lanes = [0.0f32; 8];
    for a in a.chunks_exact(8) {
        for i in 0..8 {
            lanes[i] += a[i];
        }
    }
    lanes.iter().sum()
}

fn normalise(belief: &mut Belief) {
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

pub(super) fn keep(belief: &Belief, kept: &mut [u16]) {
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
    let scale = 65535.0 / lanes.into_iter().fold(0.0, f32::max);
    for (kept, &cell) in kept.iter_mut().zip(belief) {
        // The drift may leave a cell below 0 at the end of the grid: that is nothing.
        *kept = (cell * scale + 0.5).max(0.0) as i32 as u16;
    }
}

pub(super) fn recover(kept: &[u16]) -> Belief {
    let mut belief = [0.0; CELLS];
    for (cell, &kept) in belief.iter_mut().zip(kept) {
        *cell = f32::from(kept);
    }
    normalise(&mut belief);
    belief
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::memory::constants::DEFAULT;

    /// Linear interpolation between two places keeps the mass and its mean place.
    #[test]
    fn what_moves_keeps_its_mass_and_arrives_where_it_should() {
        let places = [
            -1e-5, 0.0, 1e-7, 0.49, 0.5, 0.51, 1.0, 1.5, 2.0, 2.5, 3.0, 31.3, 62.5, 62.99, 63.0,
            90.0,
        ];
        for to in places {
            for k in [0, 1, 31, 63] {
                let (mut hit, mut miss) = (Moves::new(), Moves::new());
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

    #[test]
    fn cells_are_kept_to_a_part_in_65535_of_the_largest_and_none_below_0() {
        let mut belief = [0.0; CELLS];
        (belief[3], belief[9], belief[318]) = (0.6, 0.15, -0.1);
        let mut kept = [7; CELLS];
        keep(&belief, &mut kept);
        assert_eq!((kept[3], kept[9], kept[318], kept[4]), (65535, 16384, 0, 0));
    }

    /// An answer that comes at once, when recall is all but certain for every half-life, says nothing about them:
    /// beliefs stay where they are, but for the drift. Here recall and 1 - recall suffer most from rounding.
    #[test]
    fn an_answer_at_once_moves_next_to_nothing() {
        let filter = Filter::new(DEFAULT);
        let evidence = Evidence {
            correct: 1.0,
            guess: 0.5,
            latency: None,
            odds: 1.0,
        };
        for odds in [0.1, 0.9, 1.0, 3.0, 20.0] {
            for seconds in [1.0f32, 5.0, 30.0] {
                let before = filter.fresh(0.0);
                let mut after = before;
                filter.update(
                    &mut after,
                    &filter.after(seconds / 86_400.0, odds),
                    &evidence,
                );
                let up = mean_half(&after) - mean_half(&before);
                assert!((-0.01..1.5).contains(&up), "odds {odds}, {seconds} s: {up}");
                assert!((sum(&after) - 1.0).abs() < 1e-5);
            }
        }
    }
}
