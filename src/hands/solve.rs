//! The cheapest sticking of a cycle, exactly.
//!
//! Between two strokes all that matters is which hand struck last and which stroke the other hand struck last. A
//! sticking of the cycle is therefore a closed walk over such states, one layer a stroke, and the cheapest one is
//! found by fixing the state at the seam. Seams are tried from the lowest bound on, until the bound is no better
//! than the best closed walk found.
//!
//! A hand that comes from long ago comes in no hurry and crosses nothing, so that it matters which sort of stroke it
//! comes from and no longer which stroke: of those the cheapest of each sort is kept. What is kept for a stroke is then
//! a stretch of [`WINDOW`] strokes, however long the cycle is.
//!
//! The bounds: let `V(k, s)` be the least cost of any walk of `k` cycles that ends in state `s`. A closed walk
//! through `s` of cost `C` can be put behind any such walk, so `V(k + 1, s) <= V(k, s) + C`, and `C` is at least
//! `V(k + 1, s) - V(k, s)` for each `k`. After a few cycles nearly all bounds meet the optimum.

use super::model::Model;
use super::moves::{Moves, STRONG, WEAK};
use std::iter;

/// Strokes back that are told apart; more where the tempo is so high that a hand from so far back is in a hurry.
const WINDOW: usize = 128;

/// What each step of the walk costs. Infinite where it is forbidden.
pub(super) struct StepCosts<'a> {
    moves: &'a Moves,
    allowed: &'a [[bool; 2]],
    /// Number of strokes.
    n: usize,
    /// How many strokes back are told apart, the last one included.
    window: usize,
    /// `[role][(to + 1) * window - 1 - between]`: the hand strikes `to` after this many strokes of the other hand between.
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

/// Whether a role's movement counts as crossed by the other hand, which has all strokes between.
pub(super) fn crosses(
    moves: &Moves,
    m: &Model,
    role: usize,
    (from, to): (usize, usize),
    pulse_ms: f64,
) -> bool {
    let within = m.cross_within * (1.0 - SLACK);
    let least = moves.gap(from, to) as f64 / 2.0;
    least * pulse_ms < within && moves.crossed(role, from, to) * pulse_ms < within
}

impl<'a> StepCosts<'a> {
    /// The weights of a pattern's movements where one pulse lasts `pulse_ms` and each stroke may have the hands of
    /// `allowed`, `[stroke][role]`.
    pub(super) fn new(
        moves: &'a Moves,
        m: &Model,
        pulse_ms: f64,
        aim: Aim,
        allowed: &'a [[bool; 2]],
    ) -> StepCosts<'a> {
        let n = moves.len();
        // From here on nothing hurries and nothing crosses.
        let long_ago = (moves.longest_need() / m.ease).max(2.0 * m.cross_within);
        let windows = iter::successors(Some(WINDOW), |w| Some(2 * w));
        let window = windows
            .into_iter()
            .find(|w| *w >= n || *w as f64 * pulse_ms > long_ago);
        let window = window.unwrap_or(n).min(n);
        let weigh = |role: usize| -> Vec<f64> {
            let mut costs = Vec::with_capacity(n * window);
            for (to, allowed) in allowed.iter().enumerate() {
                if !allowed[role] {
                    costs.extend(iter::repeat_n(f64::INFINITY, window));
                    continue;
                }
                let (needs, habits) = moves.to(role, to);
                let within = m.cross_within * (1.0 - SLACK);
                let start = (to + n - window) % n;
                let turns = [
                    start..n.min(start + window),
                    0..(start + window).saturating_sub(n),
                ];
                costs.extend(turns.into_iter().flatten().map(|from| {
                    let (sort, gap) = (moves.sort[from], moves.gap(from, to) as f64 * pulse_ms);
                    let hurry = price(m, needs[sort], gap, aim);
                    let cross = match (
                        gap < 2.0 * within && crosses(moves, m, role, (from, to), pulse_ms),
                        aim,
                    ) {
                        (false, _) => 0.0,
                        (true, Aim::Whatever) => m.cross,
                        (true, _) => f64::INFINITY,
                    };
                    habits[sort] + hurry + cross
                }));
            }
            costs
        };
        let step = [weigh(WEAK), weigh(STRONG)];
        let stay = |role: usize| {
            let of = |i: usize| step[role][(i + 1) * window - 1] + moves.double[role][i];
            (0..n).map(of).collect()
        };
        StepCosts {
            moves,
            allowed,
            n,
            window,
            stay: [stay(WEAK), stay(STRONG)],
            step,
        }
    }

    /// What it costs that the hand strikes `to` after a stroke of a sort that is further back than the window.
    fn afar(&self, role: usize, sort: usize, to: usize) -> f64 {
        match self.allowed[to][role] {
            true => self.moves.habit(role, sort, to),
            false => f64::INFINITY,
        }
    }

    /// Strokes of a short stretch in which no sticking works, wherever the hands come from; the stroke before it is
    /// counted in. `None` where no stretch is stuck by itself.
    pub(super) fn stuck_on(&self) -> Option<Vec<usize>> {
        if self.n < 2 {
            return None;
        }
        let mut walk = Walk::new(self);
        let n = self.n;
        // How many strokes from `start` on until nothing works any more.
        let mut stuck_after = |start: usize, most: usize| {
            walk.free(start);
            (1..=most).find(|_| {
                walk.on();
                walk.now.is_stuck()
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
    let mut seams: Vec<(f64, usize, usize)> = Vec::new();
    for role in [STRONG, WEAK] {
        seams.extend(
            walk.now
                .places()
                .filter(|place| *place != w.window - 1)
                .map(|place| (0.0, role, place)),
        );
    }
    for _ in 0..BOUNDING {
        let before = walk.now.clone();
        walk.round();
        seams.retain_mut(|(bound, role, place)| {
            let (then, now) = (before.cost(*role, *place), walk.now.cost(*role, *place));
            *bound = bound.max(now - then);
            now.is_finite()
        });
        if seams.is_empty() {
            return best;
        }
    }
    seams.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (bound, role, place) in seams {
        if best.as_ref().is_some_and(|(c, _)| bound >= *c - ROUNDING) {
            break;
        }
        walk.start(role, place);
        walk.round();
        let cost = walk.now.cost(role, place);
        if cost.is_finite()
            && best.as_ref().is_none_or(|(c, _)| cost < *c)
            && let Some(other) = walk.other_last(role, place)
        {
            best = Some((cost, walk.trace(role, other)));
        }
    }
    best
}

/// The least costs so far. A *place* says where the hand that did not strike last was last: within the window or, after
/// those, further back, by sort.
#[derive(Clone)]
struct Costs {
    /// `[role][k]`: `role` struck last, and the other hand was last at the stroke of which the count, from cycle to
    /// cycle, leaves `k` when divided by the window.
    near: [Vec<f64>; 2],
    /// `[role][sort]`: the other hand was last at a stroke of the sort, further back, the count of which stands beside.
    far: [Vec<(f64, isize)>; 2],
}

impl Costs {
    fn places(&self) -> std::ops::Range<usize> {
        0..self.near[0].len() + self.far[0].len()
    }

    fn cost(&self, role: usize, place: usize) -> f64 {
        let near = &self.near[role];
        near.get(place)
            .copied()
            .unwrap_or_else(|| self.far[role][place - near.len()].0)
    }

    fn fill(&mut self, cost: f64) {
        self.near.iter_mut().for_each(|near| near.fill(cost));
        self.far.iter_mut().for_each(|far| far.fill((cost, -1)));
    }

    fn is_stuck(&self) -> bool {
        let far = self.far.iter().flatten().map(|(cost, _)| cost);
        self.near
            .iter()
            .flatten()
            .chain(far)
            .all(|cost| cost.is_infinite())
    }
}

struct Walk<'a> {
    w: &'a StepCosts<'a>,
    /// The stroke that comes next, counted on from cycle to cycle.
    at: usize,
    now: Costs,
    /// `[role][i]`: where the role had been before it took over at stroke `i`, below 0 in the cycle before.
    back: [Vec<isize>; 2],
}

impl Walk<'_> {
    fn new<'a>(w: &'a StepCosts<'a>) -> Walk<'a> {
        // Where the window holds the whole cycle, nothing is further back.
        let sorts = if w.window < w.n { w.moves.sorts } else { 0 };
        Walk {
            w,
            at: 0,
            now: Costs {
                near: [vec![0.0; w.window], vec![0.0; w.window]],
                far: [vec![(0.0, -1); sorts], vec![(0.0, -1); sorts]],
            },
            back: [vec![0; w.n], vec![0; w.n]],
        }
    }

    /// Stands before stroke `next` with the hands anywhere, at no cost.
    fn free(&mut self, next: usize) {
        self.at = next;
        self.now.fill(0.0);
        let last = (next + self.w.window - 1) % self.w.window;
        for near in &mut self.now.near {
            near[last] = f64::INFINITY;
        }
    }

    /// Stands before the first stroke, `role` having struck last and the other hand at a place.
    fn start(&mut self, role: usize, place: usize) {
        self.at = 0;
        self.now.fill(f64::INFINITY);
        match place.checked_sub(self.w.window) {
            None => self.now.near[role][place] = 0.0,
            Some(sort) => self.now.far[role][sort].0 = 0.0,
        }
    }

    /// Walks from the states at the last stroke, one whole cycle on.
    fn round(&mut self) {
        for _ in 0..self.w.n {
            self.on();
        }
        // Counts from the beginning again.
        self.at = 0;
        for role in [WEAK, STRONG] {
            self.now.near[role].rotate_left(self.w.n % self.w.window);
            self.now.far[role]
                .iter_mut()
                .for_each(|(_, count)| *count -= self.w.n as isize);
        }
    }

    /// Walks from the states at the stroke before the next one to those at the next one.
    fn on(&mut self) {
        let (n, window) = (self.w.n, self.w.window);
        let (i, k, count) = (self.at % n, self.at % window, self.at as isize);
        // The other hand takes over: it comes from where it was last.
        let mut over = [f64::INFINITY; 2];
        for role in [WEAK, STRONG] {
            let (old, new) = self.w.step[role][i * window..(i + 1) * window].split_at(window - k);
            let near = &self.now.near[1 - role];
            let (mut least, mut from) = (f64::INFINITY, 0);
            // Those of this turn of the window, then those of the turn before.
            for (first, near, steps) in [
                (count - k as isize, &near[..k], new),
                (count - window as isize, &near[k..], old),
            ] {
                for (e, (c, s)) in near.iter().zip(steps).enumerate() {
                    if c + s < least {
                        least = c + s;
                        from = first + e as isize;
                    }
                }
            }
            for (sort, (c, since)) in self.now.far[1 - role].iter().enumerate() {
                let c = c + self.w.afar(role, sort, i);
                if c < least {
                    (least, from) = (c, *since);
                }
            }
            over[role] = least;
            self.back[role][i] = from;
        }
        // The same hand goes on.
        for role in [WEAK, STRONG] {
            let stay = self.w.stay[role][i];
            let near = &mut self.now.near[role];
            near.iter_mut().for_each(|c| *c += stay);
            self.now.far[role].iter_mut().for_each(|(c, _)| *c += stay);
            if window < n {
                let far = &mut self.now.far[role][self.w.moves.sort[(i + n - window) % n]];
                if near[k] < far.0 {
                    *far = (near[k], count - window as isize);
                }
            }
            near[k] = f64::INFINITY;
            near[(k + window - 1) % window] = over[role];
        }
        self.at += 1;
    }

    /// The stroke where the other hand was last, after a round that ended with `role` at a place; `None` where it did
    /// not strike in that round.
    fn other_last(&self, role: usize, place: usize) -> Option<usize> {
        let last = match place.checked_sub(self.w.window) {
            None => place as isize - self.w.window as isize,
            Some(sort) => self.now.far[role][sort].1,
        };
        usize::try_from(last + self.w.n as isize).ok()
    }

    /// The roles of the walk that ends with `role` having struck last and the other hand at `e`.
    fn trace(&self, role: usize, e: usize) -> Vec<usize> {
        let mut roles = vec![role; self.w.n];
        let (mut role, mut e) = (role, e);
        loop {
            // `role` took over at e + 1; before that the other hand played, since it had last been at `back`.
            let from = self.back[role][e + 1];
            role = 1 - role;
            roles[..=e].fill(role);
            let Ok(from) = usize::try_from(from) else {
                return roles;
            };
            e = from;
        }
    }
}
