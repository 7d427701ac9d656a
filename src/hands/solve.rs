//! The cheapest sticking of a cycle, exactly.
//!
//! Between two strokes all that matters is which hand struck last and which stroke the other hand struck last. A
//! sticking of the cycle is therefore a closed walk over such states, one layer a stroke, and the cheapest one is
//! found by fixing the state at the seam. Seams are tried from the lowest bound on, until the bound is no better
//! than the best closed walk found.
//!
//! The bounds: let `V(k, s)` be the least cost of any walk of `k` cycles that ends in state `s`. A closed walk
//! through `s` of cost `C` can be put behind any such walk, so `V(k + 1, s) <= V(k, s) + C`, and `C` is at least
//! `V(k + 1, s) - V(k, s)` for each `k`. After a few cycles nearly all bounds meet the optimum.

use super::model::Model;
use super::moves::{Moves, STRONG, WEAK};

/// What each step of the walk costs. Infinite where it is forbidden.
#[derive(Clone)]
pub(super) struct StepCosts {
    /// Number of strokes.
    n: usize,
    /// `[role][to * n + from]`: the hand strikes `to` after `from`, the other hand having struck in between.
    step: [Vec<f64>; 2],
    /// `[role][i]`: the hand strikes `i` right after the stroke before it.
    stay: [Vec<f64>; 2],
}

/// What is to be kept small.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Aim {
    /// Habit, and strain times a factor from 0 to 1; no load above 1 and no crossed hands.
    Works(f64),
    /// Habit, strain, shortage and crossed hands: nothing is forbidden, all has its price.
    Whatever,
}

/// Slack for a load of exactly 1, so that a sticking still works at its own ceiling.
const SLACK: f64 = 1e-9;

/// Cycles walked for the bounds.
const BOUNDING: usize = 3;

/// Costs closer than this count as equal.
const ROUNDING: f64 = 1e-9;

/// Whether a role's movement counts as crossed by the other hand, which has all strokes between (`k` as in [`Moves`]).
pub(super) fn crosses(moves: &Moves, m: &Model, role: usize, k: usize, pulse_ms: f64) -> bool {
    moves.crossed[role][k] * pulse_ms < m.cross_within * (1.0 - SLACK)
}

impl StepCosts {
    /// The weights of a pattern's movements where one pulse lasts `pulse_ms` and each stroke may have the hands of
    /// `allowed`, `[stroke][role]`.
    pub(super) fn new(
        moves: &Moves,
        m: &Model,
        pulse_ms: f64,
        aim: Aim,
        allowed: &[[bool; 2]],
    ) -> StepCosts {
        let n = moves.len();
        let weigh = |role: usize| -> Vec<f64> {
            let of = |k: usize| {
                if !allowed[k / n][role] {
                    return f64::INFINITY;
                }
                let (need, time) = (moves.need[role][k], moves.gap[k] * pulse_ms);
                let cross = match (crosses(moves, m, role, k, pulse_ms), aim) {
                    (false, _) => 0.0,
                    (true, Aim::Whatever) => m.cross,
                    (true, _) => f64::INFINITY,
                };
                moves.habit[role][k] + price(m, need, time, aim) + cross
            };
            (0..n * n).map(of).collect()
        };
        let step = [weigh(WEAK), weigh(STRONG)];
        let stay = |role: usize| {
            let of = |i: usize| step[role][i * n + (i + n - 1) % n] + moves.double[role][i];
            (0..n).map(of).collect()
        };
        StepCosts {
            n,
            stay: [stay(WEAK), stay(STRONG)],
            step,
        }
    }

    /// Strokes of a short stretch in which no sticking works, wherever the hands come from; the stroke before it is
    /// counted in. `None` where no stretch is stuck by itself.
    pub(super) fn jam(&self) -> Option<Vec<usize>> {
        if self.n < 2 {
            return None;
        }
        let mut walk = Walk::new(self);
        let n = self.n;
        // How many strokes from `start` on until nothing works any more.
        let mut stuck_after = |start: usize, most: usize| {
            walk.free(start);
            (1..=most).find(|len| {
                walk.on((start + len - 1) % n);
                walk.cur.iter().flatten().all(|c| c.is_infinite())
            })
        };
        let end = stuck_after(0, 2 * n)? - 1;
        let shortest = |len: &usize| stuck_after((end + 2 * n - (len - 1)) % n, *len).is_some();
        let len = (1..=n).find(shortest)?;
        Some((0..=len).map(|back| (end + 2 * n - back) % n).collect())
    }
}

/// What hurry costs for a movement that needs `need` of the `time` there is.
fn price(m: &Model, need: f64, time: f64, aim: Aim) -> f64 {
    let load = need / time;
    let over = (load - m.ease).max(0.0) / (1.0 - m.ease);
    let strain = m.strain * over * over;
    match aim {
        Aim::Works(_) if load > 1.0 + SLACK => f64::INFINITY,
        Aim::Works(share) => share * strain,
        Aim::Whatever => strain + m.shortage * (need - time).max(0.0),
    }
}

/// The cheapest closed walk: its cost and the role of each stroke. `None` where every sticking is forbidden.
pub(super) fn solve(w: &StepCosts) -> Option<(f64, Vec<usize>)> {
    let n = w.n;
    let mut best: Option<(f64, Vec<usize>)> = None;
    for role in [STRONG, WEAK] {
        let cost = w.stay[role].iter().sum();
        if f64::is_finite(cost) && best.as_ref().is_none_or(|(c, _)| cost < *c) {
            best = Some((cost, vec![role; n]));
        }
    }
    if n < 2 {
        return best;
    }
    let mut walk = Walk::new(w);
    walk.free(0);
    let mut seams: Vec<(f64, usize, usize)> = Vec::with_capacity(2 * n);
    for role in [STRONG, WEAK] {
        seams.extend((0..n - 1).map(|e| (0.0, role, e)));
    }
    for _ in 0..BOUNDING {
        let before = walk.cur.clone();
        walk.round();
        seams.retain_mut(|(bound, role, e)| {
            let (then, now) = (before[*role][*e], walk.cur[*role][*e]);
            *bound = bound.max(now - then);
            now.is_finite()
        });
        if seams.is_empty() {
            return best;
        }
    }
    seams.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (bound, role, e) in seams {
        if best.as_ref().is_some_and(|(c, _)| bound >= *c - ROUNDING) {
            break;
        }
        walk.cur[WEAK].fill(f64::INFINITY);
        walk.cur[STRONG].fill(f64::INFINITY);
        walk.cur[role][e] = 0.0;
        walk.round();
        let cost = walk.cur[role][e];
        if cost.is_finite() && best.as_ref().is_none_or(|(c, _)| cost < *c) {
            best = Some((cost, walk.trace(role, e)));
        }
    }
    best
}

struct Walk<'a> {
    w: &'a StepCosts,
    n: usize,
    /// `[role][e]`: least cost so far where `role` struck last and the other hand was last at `e`; `e` at or after
    /// the present stroke is in the cycle before.
    cur: [Vec<f64>; 2],
    /// `[role][i]`: where the role had been before it took over at stroke `i`.
    back: [Vec<usize>; 2],
}

impl Walk<'_> {
    fn new(w: &StepCosts) -> Walk<'_> {
        let n = w.n;
        Walk {
            w,
            n,
            cur: [vec![0.0; n], vec![0.0; n]],
            back: [vec![0; n], vec![0; n]],
        }
    }

    /// Stands before stroke `next` with the hands anywhere, at no cost.
    fn free(&mut self, next: usize) {
        let last = (next + self.n - 1) % self.n;
        for cur in &mut self.cur {
            cur.fill(0.0);
            cur[last] = f64::INFINITY;
        }
    }

    /// Walks from the states at the last stroke, one whole cycle on.
    fn round(&mut self) {
        for i in 0..self.n {
            self.on(i);
        }
    }

    /// Walks from the states at the stroke before `i` to those at `i`.
    fn on(&mut self, i: usize) {
        let n = self.n;
        let before = (i + n - 1) % n;
        let row = i * n..(i + 1) * n;
        // The other hand takes over: it comes from where it was last.
        let mut over = [f64::INFINITY; 2];
        for role in [WEAK, STRONG] {
            let step = &self.w.step[role][row.clone()];
            let mut least = f64::INFINITY;
            let mut from = 0;
            for (e, (c, s)) in self.cur[1 - role].iter().zip(step).enumerate() {
                if c + s < least {
                    least = c + s;
                    from = e;
                }
            }
            over[role] = least;
            self.back[role][i] = from;
        }
        // The same hand goes on.
        for role in [WEAK, STRONG] {
            let stay = self.w.stay[role][i];
            for c in &mut self.cur[role] {
                *c += stay;
            }
            self.cur[role][i] = f64::INFINITY;
            self.cur[role][before] = over[role];
        }
    }

    /// The roles of the walk that ends with `role` having struck last and the other hand at `e`.
    fn trace(&self, role: usize, e: usize) -> Vec<usize> {
        let mut roles = vec![role; self.n];
        let (mut role, mut e) = (role, e);
        loop {
            // `role` took over at e + 1; before that the other hand played, since it had last been at `back`.
            let from = self.back[role][e + 1];
            role = 1 - role;
            roles[..=e].fill(role);
            if from >= e {
                return roles;
            }
            e = from;
        }
    }
}
