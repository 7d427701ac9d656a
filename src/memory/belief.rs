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
pub(super) enum When {
    /// Never asked before; log odds of recall for an item of middling ease.
    First(f32),
    /// Days since the last answer, and a factor on the odds of recall (see [`super::residual`]).
    After(f32, f32),
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

    /// Recall `days` after the last answer, with `odds` on it, and how fast it rises with the log odds.
    pub fn recall(&self, belief: &Belief, days: f32, odds: f32) -> (f32, f32) {
        let mut r = [0.0; HALVES];
        self.recalls(days, odds, &mut r);
        let (mut sum, mut square) = (0.0, 0.0);
        let squares = r.map(|r| r * r);
        for cells in belief.chunks_exact(HALVES) {
            sum += dot(cells, &r);
            square += dot(cells, &squares);
        }
        (sum, sum - square)
    }

    pub(super) fn recalls(&self, days: f32, odds: f32, r: &mut Recalls) {
        self.curve.recalls(days, r);
        for r in r {
            *r = *r * odds / (1.0 - *r + *r * odds);
        }
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
    pub fn update(&self, belief: &mut Belief, when: When, evidence: &Evidence) -> f32 {
        let c = &self.constants;
        let (right, none) = self.likelihood(evidence);
        let mut out = [0.0f32; CELLS];
        let (mut recalled, mut total) = (0.0, 0.0);
        let mut r: Recalls = [0.0; HALVES];
        let mut speed: Recalls = [1.0; HALVES];
        if let When::After(days, odds) = when {
            self.recalls(days, odds, &mut r);
            self.latency_recall(&r, evidence.latency, &mut speed);
        }
        let late = self.latency_none(evidence.latency);
        for row in 0..EASES {
            let cells = &belief[row * HALVES..][..HALVES];
            let growth = &self.growth[row * HALVES..][..HALVES];
            let fall = &self.fall[row * HALVES..][..HALVES];
            if let When::First(first) = when {
                r = [self.first(first, row); HALVES];
                self.latency_recall(&r, evidence.latency, &mut speed);
            }
            let mut mass = [0.0f32; HALVES];
            let mut lost = [0.0f32; HALVES];
            let mut to = [0.0f32; HALVES];
            let mut down = [0.0f32; HALVES];
            for k in 0..HALVES {
                mass[k] = cells[k] * r[k] * right * speed[k];
                lost[k] = cells[k] * (1.0 - r[k]) * none * late;
                to[k] = match when {
                    // Known at first sight: the more of a surprise, the longer it has lasted already.
                    When::First(_) => c.known * (1.0 - r[k]) / STEP,
                    When::After(..) => log2(1.0 + growth[k] * (1.0 - r[k])) / STEP,
                };
                to[k] = (to[k] + k as f32).min(HALVES as f32 - 1.001);
                down[k] = match when {
                    // A fresh item that was not known starts where fresh items start.
                    When::First(_) => k as f32,
                    When::After(..) => {
                        fall[k] + log2(1.0 + c.taught * growth[k] * (1.0 - r[k])) / STEP
                    }
                };
                down[k] = down[k].min(HALVES as f32 - 1.001);
            }
            let out = &mut out[row * HALVES..][..HALVES];
            for k in 0..HALVES {
                recalled += mass[k];
                total += lost[k];
                let low = to[k] as usize;
                let part = to[k] - low as f32;
                out[low] += mass[k] * (1.0 - part);
                out[low + 1] += mass[k] * part;
                let low = down[k] as usize;
                let part = down[k] - low as f32;
                out[low] += lost[k] * (1.0 - part);
                out[low + 1] += lost[k] * part;
            }
        }
        total += recalled;
        if total.is_nan() || total <= 1e-30 {
            // Nothing that was believed possible fits the answer (a slip of 0 or a guess of 0 or 1): leave it.
            return self.recall_now(belief, when);
        }
        self.drift(&out, belief);
        normalise(belief);
        recalled / total
    }

    fn recall_now(&self, belief: &Belief, when: When) -> f32 {
        match when {
            When::First(first) => self.recall_first(belief, first),
            When::After(days, odds) => self.recall(belief, days, odds).0,
        }
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

    fn latency_recall(&self, r: &Recalls, latency: Option<Latency>, out: &mut Recalls) {
        let c = &self.constants;
        let Some(l) = latency else {
            *out = [1.0; HALVES];
            return;
        };
        let sigma = c.sigma * l.spread;
        let scale = -0.5 * std::f32::consts::LOG2_E / (sigma * sigma);
        for k in 0..HALVES {
            let p = r[k].clamp(1e-6, 1.0 - 1e-6);
            let logit = std::f32::consts::LN_2 * (log2(p) - log2(1.0 - p));
            let d = l.relative - l.with - c.mu_recall + c.kappa * logit.clamp(-3.0, 4.0);
            out[k] = c.floor + exp2(scale * d * d);
        }
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
    fn drift(&self, from: &Belief, to: &mut Belief) {
        let side = (self.constants.q / STEP).powi(2) / 2.0;
        let centre = 1.0 - 2.0 * side;
        for (from, to) in from.chunks_exact(HALVES).zip(to.chunks_exact_mut(HALVES)) {
            for k in 1..HALVES - 1 {
                to[k] = centre * from[k] + side * (from[k - 1] + from[k + 1]);
            }
            to[0] = (1.0 - side) * from[0] + side * from[1];
            to[HALVES - 1] = (1.0 - side) * from[HALVES - 1] + side * from[HALVES - 2];
        }
    }
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
    let mut most = 0.0f32;
    for &cell in belief {
        most = most.max(cell);
    }
    let scale = 65535.0 / most;
    for (kept, &cell) in kept.iter_mut().zip(belief) {
        *kept = (cell * scale + 0.5) as u16;
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
