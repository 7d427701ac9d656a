//! How an answer moves what is believed about an item.

use super::belief::{Belief, dot, ease, half, normalise};
use super::constants::Constants;
use super::curve::{CELLS, Curve, EASES, HALVES, Recalls, SHORTEST, STEP, exp2, log2};
use super::transitions::{Transitions, drift, landed};

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
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Filter {
    pub constants: Constants,
    pub curve: Curve,
    /// For each cell: where a failure takes it, in cells of its ease.
    pub(super) fall: Vec<f32>,
    /// For each cell: alpha 2^(rho e) 2^(-c x).
    pub(super) growth: Vec<f32>,
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
        let (mut hit, mut miss) = (Transitions::new(), Transitions::new());
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
        drift(&landed(&hit, &miss), self.constants.q, belief);
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
            let g = e.guess.max(0.01);
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
}

pub(super) fn sigmoid(v: f32) -> f32 {
    1.0 / (1.0 + (-v).exp())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::memory::belief::{mean_half, sum};
    use crate::memory::constants::DEFAULT;

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
                let when = filter.after(seconds / 86_400.0, odds);
                filter.update(&mut after, &when, &evidence);
                let up = mean_half(&after) - mean_half(&before);
                assert!((-0.01..1.5).contains(&up), "odds {odds}, {seconds} s: {up}");
                assert!((sum(&after) - 1.0).abs() < 1e-5);
            }
        }
    }
}
