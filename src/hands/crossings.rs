//! Which strokes of one hand lie across the way of the other.

use super::moves::{STRONG, WEAK, stands};
use crate::rhythm::{Drum, Pattern};

/// Where strokes lie on each side of a drum, to find crossed hands at once.
///
/// A hand that goes from one stroke to another while the other hand strikes beyond both of them has the other arm
/// across it. It takes time to be in the way: what counts is the stroke of the other hand that lies nearest to the
/// middle, since there is least time to leave before it and to come back after it.
#[derive(Clone, Debug)]
pub(super) struct Crossings {
    cycle: usize,
    /// All strokes are on one drum: no hand crosses.
    one_drum: bool,
    /// `[role][drum]`: pulses back and on from each pulse to the nearest stroke that lies beyond that drum, seen from
    /// the role's hand.
    nearest: [[Vec<(usize, usize)>; 3]; 2],
}

impl Crossings {
    pub(super) fn new(pattern: &Pattern) -> Crossings {
        let cycle = pattern.pulses();
        let mut drums = pattern.strokes().map(|(_, s)| s.drum);
        let first = drums.next();
        let one_drum = drums.all(|d| Some(d) == first);
        let beyond = |role: usize, drum: Drum, pulse: usize| {
            pattern.at(pulse).is_some_and(|s| match role == STRONG {
                true => stands(s.drum) > stands(drum),
                false => stands(s.drum) < stands(drum),
            })
        };
        let table = |role: usize, drum: Drum| {
            let mut near = vec![(cycle, cycle); cycle];
            let (mut back, mut on) = (cycle, cycle);
            // Twice round, so that the strokes before the seam are known.
            for p in (0..2 * cycle).map(|p| p % cycle) {
                back = if beyond(role, drum, p) { 0 } else { back + 1 };
                near[p].0 = back;
            }
            for p in (0..2 * cycle).rev().map(|p| p % cycle) {
                on = if beyond(role, drum, p) { 0 } else { on + 1 };
                near[p].1 = on;
            }
            near
        };
        let tables = |role: usize| match one_drum {
            true => [const { Vec::new() }; 3],
            false => Drum::ALL.map(|d| table(role, d)),
        };
        Crossings {
            cycle,
            one_drum,
            nearest: [WEAK, STRONG].map(tables),
        }
    }

    /// The greater of the pulses before and after the stroke that is most in the way of `role`'s hand, which goes
    /// from drum `a` at pulse `since` to drum `b` in `gap` pulses. Infinite where no stroke is.
    pub(super) fn between(&self, role: usize, a: Drum, b: Drum, since: usize, gap: usize) -> f64 {
        if self.one_drum {
            return f64::INFINITY;
        }
        let further = match (role == STRONG, stands(a) > stands(b)) {
            (true, true) | (false, false) => a,
            _ => b,
        };
        let half = gap / 2;
        let (back, on) = self.nearest[role][further as usize][(since + half) % self.cycle];
        let before = half.checked_sub(back).filter(|p| *p > 0);
        let after = Some(half + on).filter(|p| *p > 0 && *p < gap);
        let worst = |p: usize| p.max(gap - p) as f64;
        before
            .into_iter()
            .chain(after)
            .map(worst)
            .fold(f64::INFINITY, f64::min)
    }
}
