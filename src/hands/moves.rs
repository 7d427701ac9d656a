//! What each movement of each hand needs and costs, before any sticking is chosen.

use super::crossings::Crossings;
use super::{Handed, Level, Model};
use crate::rhythm::{Drum, Hand, Pattern, Stroke, Tone, Weight};
use std::array::from_fn;

/// The two hands by what they are better at, so that left-handed players are the mirror image by construction.
pub(super) const WEAK: usize = 0;
pub(super) const STRONG: usize = 1;

/// The hand of a role.
pub(super) fn hand(role: usize, handed: Handed) -> Hand {
    match (role == STRONG, handed) {
        (true, Handed::Right) | (false, Handed::Left) => Hand::Right,
        _ => Hand::Left,
    }
}

/// The role of a hand.
pub(super) fn role(of: Hand, handed: Handed) -> usize {
    if hand(STRONG, handed) == of {
        STRONG
    } else {
        WEAK
    }
}

/// The lower half of a rocking hand where two strokes are heel (or bass) and tip in turn on one drum.
pub(super) fn rocks(a: Stroke, b: Stroke) -> Option<Tone> {
    match (a.tone, b.tone) {
        _ if a.drum != b.drum => None,
        (low @ (Tone::Heel | Tone::Bass), Tone::Tip)
        | (Tone::Tip, low @ (Tone::Heel | Tone::Bass)) => Some(low),
        _ => None,
    }
}

/// Are two strokes heel after heel, or tip after tip, on one drum?
pub(super) fn is_light_double(a: Stroke, b: Stroke) -> bool {
    a.tone.is_heel_or_tip() && a.tone == b.tone && a.drum == b.drum
}

/// Does the hand come down for both strokes, on one drum?
pub(super) fn both_lift(a: Stroke, b: Stroke) -> bool {
    a.lifts_hand() && b.lifts_hand() && a.drum == b.drum
}

/// Of a heel or tip and a stroke at the edge that carries: is the second one that? `None` for any other two strokes.
pub(super) fn second_carries(a: Stroke, b: Stroke) -> Option<bool> {
    let carries = |s: Stroke| s.carries() && s.tone.is_at_edge();
    match (a.tone.is_heel_or_tip(), b.tone.is_heel_or_tip()) {
        (true, false) => carries(b).then_some(true),
        (false, true) => carries(a).then_some(false),
        _ => None,
    }
}

/// Pulses from a stroke at `since` to the next time that one at `at` comes round in a cycle; the whole of it from a stroke to
/// itself.
#[inline]
pub(super) fn gap(cycle: usize, since: usize, at: usize) -> usize {
    if at > since {
        at - since
    } else {
        at + cycle - since
    }
}

/// Where a drum stands, counted in drums from the conga towards the stronger hand: the low drum on its side, the
/// quinto on the other (common practice, no source).
pub(super) fn stands(d: Drum) -> i32 {
    match d {
        Drum::Quinto => -1,
        Drum::Conga => 0,
        Drum::Tumbadora => 1,
    }
}

/// Where a tone is played, from the edge: 0 edge, 1 flat hand, 2 centre.
fn zone(t: Tone) -> usize {
    match t {
        Tone::Open | Tone::Slap | Tone::ClosedSlap | Tone::Muffled => 0,
        Tone::Heel | Tone::Tip => 1,
        Tone::Bass => 2,
    }
}

/// A cost where something is so, and none where it is not.
fn cost_if(so: bool, cost: f64) -> f64 {
    if so { cost } else { 0.0 }
}

/// Distance and movement time between all places, worked out once for a model.
#[derive(Clone, Debug)]
pub(super) struct Reach {
    /// `[drums apart][zone][zone]`: centimetres and milliseconds.
    ways: [[[(f64, f64); 3]; 3]; 3],
}

impl Reach {
    pub(super) fn new(m: &Model) -> Reach {
        let depth = [0.0, m.flat, m.centre];
        let way = |apart: usize, from: usize, to: usize| {
            let cm = (apart as f64 * m.spacing).hypot(depth[from] - depth[to]);
            let width = match apart {
                0 => m.width_same,
                _ => m.width_other,
            };
            // Fitts 1954: MT = a + b log2(2D/W); nothing to do where the hand is there.
            let bits = (2.0 * cm / width).log2().max(0.0);
            (cm, m.travel_base + m.travel_bit * bits)
        };
        let ways = from_fn(|apart| from_fn(|from| from_fn(|to| way(apart, from, to))));
        Reach { ways }
    }

    fn way(&self, a: Stroke, b: Stroke) -> (f64, f64) {
        let apart = stands(a.drum).abs_diff(stands(b.drum)) as usize;
        self.ways[apart][zone(a.tone)][zone(b.tone)]
    }

    /// Milliseconds that a role's hand of a practised player needs from one stroke to the next.
    pub(super) fn need(&self, m: &Model, role: usize, a: Stroke, b: Stroke) -> f64 {
        let hold = match a.tone {
            Tone::ClosedSlap | Tone::Muffled => m.hold,
            _ => 0.0,
        };
        let repeat = if role == STRONG {
            m.repeat_strong
        } else {
            m.repeat_weak
        };
        match rocks(a, b) {
            Some(Tone::Bass) => m.rock_bass,
            Some(_) => m.rock,
            None => repeat.max(self.way(a, b).1) + hold,
        }
    }
}

/// One pattern's strokes with everything about its movements that does not depend on the tempo.
///
/// What a movement needs and costs depends on the sorts of its two strokes, drum and tone, and there are few of them: the
/// tables are by sort, so that a long pattern takes no more room than its strokes.
#[derive(Clone, Debug)]
pub(super) struct Moves {
    pub strokes: Vec<(usize, Stroke)>,
    /// The sort of each stroke, a number.
    pub sort: Vec<usize>,
    /// How many sorts there are.
    pub sorts: usize,
    /// `[role][to * sorts + from]`: milliseconds that the movement needs.
    need: [Vec<f64>; 2],
    /// `[to * sorts + from]`: cost of the movement.
    moved: Vec<f64>,
    /// `[role][to * sorts + from]`: what the movement costs in that hand on top.
    extra: [Vec<f64>; 2],
    /// `[role][i]`: cost of the stroke in that hand.
    own: [Vec<f64>; 2],
    cycle: usize,
    crossings: Crossings,
    /// `[role][i]`: cost of that hand striking both `i - 1` and `i`.
    pub double: [Vec<f64>; 2],
    /// Which hands each stroke may have, `[stroke][role]`.
    pub allowed: Vec<[bool; 2]>,
}

impl Moves {
    /// The movements of a pattern. Hands written in it are kept; `None` where there is no stroke at all.
    pub(super) fn new(
        pattern: &Pattern,
        level: Level,
        handed: Handed,
        m: &Model,
        reach: &Reach,
    ) -> Option<Moves> {
        let strokes: Vec<(usize, Stroke)> = pattern.strokes().collect();
        let n = strokes.len();
        if n == 0 {
            return None;
        }
        let per_beat = pattern.grid().pulses_per_beat();
        let per_bar = pattern.grid().pulses_per_bar();
        let mut kinds: Vec<Stroke> = Vec::new();
        let sort = |(_, b): &(usize, Stroke)| {
            let known = kinds
                .iter()
                .position(|a| a.drum == b.drum && a.tone == b.tone);
            known.unwrap_or_else(|| {
                kinds.push(*b);
                kinds.len() - 1
            })
        };
        let sort: Vec<usize> = strokes.iter().map(sort).collect();
        let pairs = || {
            kinds
                .iter()
                .flat_map(|b| kinds.iter().map(move |a| (*a, *b)))
        };
        let pace = m.pace(level);
        let need = [WEAK, STRONG].map(|r| {
            pairs()
                .map(|(a, b)| pace * reach.need(m, r, a, b))
                .collect()
        });
        let moved = pairs().map(|(a, b)| {
            let (cm, _) = reach.way(a, b);
            m.effort * cm + cost_if(zone(a.tone) != zone(b.tone), m.place)
        });
        let to_low = |a: Stroke, b: Stroke| b.drum == Drum::Tumbadora && a.drum != b.drum;
        let low = pairs().map(|(a, b)| cost_if(to_low(a, b), m.low_weak));
        let mut own = [vec![0.0; n], vec![0.0; n]];
        let mut allowed = vec![[true; 2]; n];
        for (i, (at, b)) in strokes.iter().enumerate() {
            if b.asks_for_stronger_hand() {
                own[WEAK][i] += m.accent_weak;
                own[WEAK][i] += cost_if(at.is_multiple_of(per_beat), m.lead);
                own[WEAK][i] += cost_if(at.is_multiple_of(per_bar), m.lead_bar);
            }
            own[WEAK][i] += cost_if(b.weight == Weight::Accent, m.stress_weak);
            own[STRONG][i] += cost_if(b.tone.is_heel_or_tip(), m.light_strong);
            if let Some(h) = b.hand {
                allowed[i][1 - role(h, handed)] = false;
            }
        }
        let mut moves = Moves {
            sorts: kinds.len(),
            need,
            moved: moved.collect(),
            extra: [low.collect(), vec![0.0; kinds.len() * kinds.len()]],
            own,
            cycle: pattern.pulses(),
            crossings: Crossings::new(pattern),
            double: [vec![0.0; n], vec![0.0; n]],
            allowed,
            strokes,
            sort,
        };
        moves.price_doubles((per_beat / 2).max(1), m);
        Some(moves)
    }

    /// Milliseconds that a role's hand needs from one stroke to another.
    #[inline]
    pub(super) fn need(&self, role: usize, from: usize, to: usize) -> f64 {
        self.need[role][self.sort[to] * self.sorts + self.sort[from]]
    }

    /// The most that any movement of a role's hand needs, milliseconds.
    pub(super) fn longest_need(&self) -> f64 {
        self.need.iter().flatten().copied().fold(0.0, f64::max)
    }

    /// Cost of the movement from a stroke of a sort to another stroke, and of that stroke, in a role's hand, tempo apart.
    pub(super) fn habit(&self, role: usize, from_sort: usize, to: usize) -> f64 {
        let k = self.sort[to] * self.sorts + from_sort;
        self.moved[k] + self.own[role][to] + self.extra[role][k]
    }

    /// What a role's hand needs for a movement to a stroke and what it costs, [`Moves::need`] and [`Moves::habit`], each
    /// by the sort that it comes from.
    pub(super) fn to(&self, role: usize, to: usize) -> (&[f64], Vec<f64>) {
        let row = self.sort[to] * self.sorts..(self.sort[to] + 1) * self.sorts;
        (
            &self.need[role][row],
            (0..self.sorts)
                .map(|sort| self.habit(role, sort, to))
                .collect(),
        )
    }

    /// Pulses from one stroke to the next time that the other comes round, see [`gap`].
    #[inline]
    pub(super) fn gap(&self, from: usize, to: usize) -> usize {
        gap(self.cycle, self.strokes[from].0, self.strokes[to].0)
    }

    /// Where the other hand has all strokes between `from` and `to`: the pulses that decide whether it crosses the
    /// role's, see [`Crossings`]; infinite where it does not reach beyond. Never less than half of the gap.
    #[inline]
    pub(super) fn crossed(&self, role: usize, from: usize, to: usize) -> f64 {
        let ((since, a), (_, b)) = (self.strokes[from], self.strokes[to]);
        self.crossings
            .between(role, a.drum, b.drum, since, self.gap(from, to))
    }

    /// Fills in what it costs one hand to strike two strokes at most `near` pulses apart: two strong ones, any two of
    /// a run of equal tones or of strokes that carry, heel after heel, tip after tip, a heel or tip with a stroke
    /// that carries. Heel and tip in turn are free, or nearly so: there one hand keeps the time.
    fn price_doubles(&mut self, near: usize, m: &Model) {
        let n = self.len();
        let before = |i: usize| (i + n - 1) % n;
        let pair = |i: usize| (self.strokes[before(i)].1, self.strokes[i].1);
        let close = |i: usize| n > 1 && self.gap(before(i), i) <= near;
        let equal = |i: usize| {
            let (a, b) = pair(i);
            close(i) && !b.tone.is_heel_or_tip() && a.drum == b.drum && a.tone == b.tone
        };
        let carry = |i: usize| {
            let (a, b) = pair(i);
            close(i) && both_lift(a, b)
        };
        // A hand's keeping time and carrying at once: the share of the price.
        let mixed = |i: usize| {
            let (a, b) = pair(i);
            let beside = match second_carries(a, b) {
                _ if !close(i) || a.drum != b.drum => return 0.0,
                Some(true) if close((i + 1) % n) => self.strokes[(i + 1) % n].1,
                Some(false) if close(before(i)) => pair(before(i)).0,
                Some(_) => return 1.0,
                None => return 0.0,
            };
            match (beside.drum == a.drum, beside.tone.is_heel_or_tip()) {
                (false, _) => 0.0,
                (true, false) => 0.5,
                (true, true) => 1.0,
            }
        };
        let cost = |i: usize, usual: f64, rocking: f64| {
            let (a, b) = pair(i);
            let next = (i + 1) % n;
            if close(i) && rocks(a, b) == Some(Tone::Heel) {
                return rocking;
            }
            if mixed(i) > 0.0 && !(a.asks_for_stronger_hand() && b.asks_for_stronger_hand()) {
                return mixed(i) * m.double_mixed;
            }
            let equal_run = equal(i) && (equal(before(i)) || equal(next));
            let inside = carry(i) && (carry(next) || (carry(before(i)) && !equal(i)));
            if close(i) && is_light_double(a, b) {
                m.double_light
            } else if equal_run || inside {
                m.double_run
            } else if !close(i) || !a.asks_for_stronger_hand() || !b.asks_for_stronger_hand() {
                0.0
            } else if a.drum == b.drum {
                usual
            } else {
                usual + m.double_across
            }
        };
        let weak = (0..n).map(|i| cost(i, m.double_weak, 0.0)).collect();
        let strong = (0..n)
            .map(|i| cost(i, m.double_strong, m.rock_strong))
            .collect();
        self.double = [weak, strong];
    }

    pub(super) fn len(&self) -> usize {
        self.strokes.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stroke(drum: Drum, tone: Tone) -> Stroke {
        Stroke::new(drum, tone)
    }

    #[test]
    fn movement_times_follow_fitts() {
        let reach = Reach::new(&Model::DEFAULT);
        let (cm, ms) = reach.way(
            stroke(Drum::Conga, Tone::Slap),
            stroke(Drum::Tumbadora, Tone::Open),
        );
        // 12.8 + 94.7 log2(2 x 33 / 21) = 12.8 + 94.7 x 1.65208
        assert!(
            (cm - 33.0).abs() < 1e-9 && (ms - 169.25).abs() < 0.01,
            "{cm} {ms}"
        );
        let (cm, ms) = reach.way(
            stroke(Drum::Conga, Tone::Tip),
            stroke(Drum::Conga, Tone::Open),
        );
        // 12.8 + 94.7 log2(2 x 9 / 8) = 12.8 + 94.7 x 1.16993
        assert!(
            (cm - 9.0).abs() < 1e-9 && (ms - 123.59).abs() < 0.01,
            "{cm} {ms}"
        );
    }
}
