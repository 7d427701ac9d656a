//! The rules of idiom, each with the fault that it finds.

use super::{Fault, FaultKind, StickingCheck};
use crate::hands::moves::{both_lift, is_light_double, rocks, second_carries};
use crate::rhythm::{Hand, Tone};

/// This many strokes in a row are taking turns: as in the fast two-drum tumbao, where the left hand takes the slap and the
/// right goes to the low drum (common practice, no source).
const TURNS: usize = 4;
/// Moves in a row that one hand may make, rocking apart, while the other rests: the published two-drum tumbao has two
/// (Wikipedia, *Tumbao*).
const MOVES_IN_A_ROW: usize = 2;

impl StickingCheck<'_> {
    /// Whether the hand comes down for a stroke and for the one before it, in a row on one drum.
    fn linked(&self, i: usize) -> bool {
        self.row[i] && both_lift(self.stroke(self.before(i)), self.stroke(i))
    }

    pub(super) fn run(&self, hands: &[Hand], to: usize) -> Option<Fault> {
        let (from, next) = (self.before(to), self.after(to));
        if hands[from] != hands[to] || !self.linked(to) {
            return None;
        }
        let (goes_on, went_on) = (self.linked(next), self.linked(from));
        let equal = |a: usize, b: usize| self.stroke(a).tone == self.stroke(b).tone;
        let first = self.before(from);
        let closes =
            !goes_on && equal(from, to) && hands[first] != hands[from] && !equal(first, from);
        // One such double is enough: not a second one right after it.
        let last = self.after(next);
        let again = self.linked(last) && hands[last] == hands[next];
        let opens =
            !went_on && equal(from, to) && hands[next] != hands[to] && !equal(to, next) && !again;
        let breaks = (goes_on || went_on) && !closes && !opens;
        breaks.then(|| (FaultKind::Run, vec![from, to]))
    }

    pub(super) fn alone(&self, hands: &[Hand]) -> Option<Fault> {
        let n = hands.len();
        let mut moves = 0;
        // Twice round, so that a row over the seam is seen whole.
        for i in (0..n).chain(0..n) {
            let from = self.before(i);
            let rests = hands[from] != hands[i] || !self.row[i];
            if rests || rocks(self.stroke(from), self.stroke(i)).is_some() {
                moves = 0;
                continue;
            }
            moves += 1;
            if moves > MOVES_IN_A_ROW {
                let back = (0..MOVES_IN_A_ROW + 2).rev();
                return Some((
                    FaultKind::Alone,
                    back.map(|d| (i + 2 * n - d) % n).collect(),
                ));
            }
        }
        None
    }

    pub(super) fn again(&self, hands: &[Hand], to: usize) -> Option<Fault> {
        let from = self.before(to);
        let same = self.row[to]
            && hands[from] == hands[to]
            && is_light_double(self.stroke(from), self.stroke(to));
        (same && self.needs(hands, from, to) > self.solver.model.ease * self.time(from, to))
            .then(|| (FaultKind::Again, vec![from, to]))
    }

    /// `alone` tells whether the hands do not take turns around this stroke while a hand rocks elsewhere.
    pub(super) fn split(
        &self,
        hands: &[Hand],
        to: usize,
        alone: impl Fn() -> bool,
    ) -> Option<Fault> {
        let from = self.before(to);
        let rocking = rocks(self.stroke(from), self.stroke(to)) == Some(Tone::Heel);
        if !self.row[to] || !rocking || hands[from] == hands[to] {
            return None;
        }
        let (first, next) = (self.before(from), self.after(to));
        let doubled = self.row[from] && hands[first] == hands[from]
            || self.row[next] && hands[to] == hands[next];
        // Where nothing but heel and tip in turn is struck, that is what one hand does.
        let n = self.strokes.len();
        let nothing_else = |i: usize| rocks(self.stroke(self.before(i)), self.stroke(i)).is_some();
        let rock = || (0..n).all(nothing_else);
        (doubled || alone() || rock()).then(|| (FaultKind::Split, vec![from, to]))
    }

    /// For each stroke, whether the hands take turns around it, on [`TURNS`] strokes in a row that lead to another drum.
    pub(super) fn turns(&self, hands: &[Hand]) -> Vec<bool> {
        let n = hands.len();
        let turn = |i: usize| self.row[i] && hands[self.before(i)] != hands[i];
        let start = (0..n).find(|i| !turn(*i));
        let order: Vec<usize> = (0..n).map(|d| (start.unwrap_or(0) + d) % n).collect();
        let mut turns = vec![false; n];
        for run in order.chunk_by(|_, i| turn(*i)) {
            // Turns all the way round go on for ever.
            let long = start.is_none() || run.len() >= TURNS;
            let drum = self.stroke(run[0]).drum;
            if long && run.iter().any(|i| self.stroke(*i).drum != drum) {
                run.iter().for_each(|i| turns[*i] = true);
            }
        }
        turns
    }

    /// Whether one hand rocks from the stroke before to this one.
    pub(super) fn rocked(&self, hands: &[Hand], i: usize) -> bool {
        let from = self.before(i);
        self.row[i]
            && hands[from] == hands[i]
            && rocks(self.stroke(from), self.stroke(i)) == Some(Tone::Heel)
    }

    pub(super) fn rockers(&self, hands: &[Hand]) -> Option<Fault> {
        let rocked =
            |hand: Hand| (0..hands.len()).find(|i| hands[*i] == hand && self.rocked(hands, *i));
        let (left, right) = (rocked(Hand::Left)?, rocked(Hand::Right)?);
        let both = [left.min(right), left.max(right)];
        let strokes = both.into_iter().flat_map(|i| [self.before(i), i]);
        Some((FaultKind::Rockers, strokes.collect()))
    }

    pub(super) fn mixed(&self, hands: &[Hand], to: usize) -> Option<Fault> {
        let from = self.before(to);
        let (a, b) = (self.stroke(from), self.stroke(to));
        if !self.row[to] || hands[from] != hands[to] {
            return None;
        }
        // On the way to another drum and back nothing excuses it: there the other hand keeps the time.
        if a.drum != b.drum {
            let mixed = a.tone.is_heel_or_tip() != b.tone.is_heel_or_tip();
            return mixed.then(|| (FaultKind::Mixed, vec![from, to]));
        }
        let carrying = if second_carries(a, b)? { to } else { from };
        // The other hand has its own stroke next to it: a carrying one, or one on another drum. But the hand that rocks does
        // not take the first of two equal strokes, which are one gesture.
        let busy = |i: usize, linked: bool| {
            let s = self.stroke(i);
            let first_of_two = carrying == to && s.tone == b.tone && s.drum == b.drum;
            let own = !s.tone.is_heel_or_tip() && !first_of_two || s.drum != b.drum;
            linked && hands[i] != hands[carrying] && own
        };
        let (first, next) = (self.before(carrying), self.after(carrying));
        let excused = busy(first, self.row[carrying]) || busy(next, self.row[next]);
        (!excused).then(|| (FaultKind::Mixed, vec![from, to]))
    }
}
