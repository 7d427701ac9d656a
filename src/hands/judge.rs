//! Is a written sticking one that a player would use at this tempo?
//!
//! Right is what can be played and is idiom. It can be played where every hand gets there in time and no arms cross;
//! the model's times are estimates, so a movement counts as too late only where it lacks more than [`GRACE`]. It is
//! idiom (common practice, no source, unless said) where
//! - a run of three or more strokes that carry, on one drum, changes hands at each stroke; two equal ones in one hand
//!   may begin or close it, as in the tumbao (Wikipedia, *Tumbao* and *Conga*), not three;
//! - no hand plays four strokes in a row without rocking while the other one rests;
//! - heel and tip rock in one hand, the same throughout, or the hands take turns in all bars, or on `idiom::TURNS` strokes in
//!   a row on the way to another drum;
//! - one hand does not play tip after tip, or heel after heel, in a hurry;
//! - one hand does not play a heel or tip and a carrying stroke in a row: on two drums never, on one drum unless the
//!   other hand has the carrying stroke next to it, other than the second of two equal ones, or is on its way to
//!   another drum;
//! - or where the hands are those of a roll or rudiment on even strokes ([`super::rudiment`](mod@super::rudiment)): its sticking is its
//!   definition.
//!
//! Strokes are *in a row* where they are at most half a beat and less than [`IN_A_ROW`] apart. Nothing in the rules of
//! idiom knows left from right: on one drum the mirror image of what is right is right.

mod idiom;
mod words;

use super::moves::{role, stands};
use super::rudiment::{is_even, told_by};
use super::stick::{DEFAULT, Solver};
use super::words::{Crossing, named, said, sentence};
use super::{Handed, Player};
use crate::rhythm::{Hand, Pattern, Stroke, Tempo};
use std::cell::LazyCell;

/// How much more time than there is a movement may need by the model before it is refused, as a share: our choice,
/// since the times are estimates and nobody should be marked wrong for a few milliseconds.
pub const GRACE: f64 = 0.1;
/// Strokes this far apart are no longer in a row: there either hand does, milliseconds, our choice.
pub const IN_A_ROW: f64 = 600.0;
/// Most open strokes for which [`all_right`] writes out all rows.
pub const MOST_OPEN: usize = 12;
/// Most strokes for which [`either`] tries each other hand.
const MOST_EITHER: usize = 1_000;
/// Why a sticking is not right. It names strokes and says what can be checked on the row of hands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// The stroke at which it fails, a pulse from 0 in the pattern.
    pub pulse: usize,
    /// The reason, a sentence.
    pub text: String,
    /// All pulses that the reason speaks of, in the order of the sentence.
    pub pulses: Vec<usize>,
    /// It says of pairs of these pulses that one hand rocks on them.
    pub rocking: bool,
}

/// Whether the written hands of `pattern`, read as a cycle, are right for `player` at `tempo`: playable
/// and idiom.
///
/// # Errors
/// [`Refusal`] with the first rule that is broken, playing before idiom; also where a stroke has no hand.
pub fn judge(pattern: &Pattern, tempo: Tempo, player: &Player) -> Result<(), Refusal> {
    DEFAULT.judge(pattern, tempo, player)
}

/// Pulses at which the other hand would be right as well, all other hands as they are written. None where a stroke has
/// no hand, or there are more strokes than [`MOST_EITHER`].
pub fn either(pattern: &Pattern, tempo: Tempo, player: &Player) -> Vec<usize> {
    let mut hands: Vec<Hand> = pattern.hands().into_iter().flatten().collect();
    let check = StickingCheck::new(&DEFAULT, pattern, tempo, player);
    if hands.len() < check.strokes.len() || hands.len() > MOST_EITHER {
        return Vec::new();
    }
    let mut right = Vec::new();
    for (i, (pulse, _)) in check.strokes.iter().enumerate() {
        hands[i] = hands[i].other();
        if check.fault(&hands).is_none() {
            right.push(*pulse);
        }
        hands[i] = hands[i].other();
    }
    right
}

/// Every right way to fill in the hands that are open in `pattern`, the written ones kept: rows with one hand for each
/// open stroke, in time order, from all left to all right. A pattern without open strokes has the empty row where it is
/// right and no row where it is not. No row is told where more than [`MOST_OPEN`] strokes are open.
pub fn all_right(pattern: &Pattern, tempo: Tempo, player: &Player) -> Vec<Vec<Hand>> {
    DEFAULT.all_right(pattern, tempo, player)
}

impl Solver {
    /// See [`judge`].
    pub fn judge(&self, pattern: &Pattern, tempo: Tempo, player: &Player) -> Result<(), Refusal> {
        if let Some((pulse, stroke)) = pattern.strokes().find(|(_, s)| s.hand.is_none()) {
            return Err(Refusal {
                pulse,
                text: format!(
                    "{} on {} has no hand.",
                    sentence(&named(stroke)),
                    said(pattern, pulse)
                ),
                pulses: vec![pulse],
                rocking: false,
            });
        }
        let hands: Vec<Hand> = pattern.hands().into_iter().flatten().collect();
        let check = StickingCheck::new(self, pattern, tempo, player);
        check
            .fault(&hands)
            .map_or(Ok(()), |fault| Err(check.refusal(&hands, fault)))
    }

    /// See [`all_right`].
    pub fn all_right(&self, pattern: &Pattern, tempo: Tempo, player: &Player) -> Vec<Vec<Hand>> {
        let written = pattern.hands();
        let open: Vec<usize> = (0..written.len())
            .filter(|i| written[*i].is_none())
            .collect();
        if open.len() > MOST_OPEN {
            return Vec::new();
        }
        let check = StickingCheck::new(self, pattern, tempo, player);
        let mut hands: Vec<Hand> = written.iter().map(|h| h.unwrap_or(Hand::Left)).collect();
        let mut right = Vec::new();
        for bits in 0..1usize << open.len() {
            for (k, i) in open.iter().enumerate() {
                hands[*i] = Hand::ALL[bits >> (open.len() - 1 - k) & 1];
            }
            if check.fault(&hands).is_none() {
                right.push(open.iter().map(|i| hands[*i]).collect());
            }
        }
        right
    }
}

/// What is wrong with a row, by the numbers of its strokes.
#[derive(Clone, Copy, Debug)]
enum Fault {
    /// The hand does not get from one stroke to the other in time.
    Late { from: usize, to: usize },
    /// The hand strikes `at` beyond the drum where the other hand is before and after.
    Crossed(Crossing),
    /// Two strokes of a run in one hand.
    Run { from: usize, to: usize },
    /// Three moves in a row in one hand, the last one to `to`.
    Alone { to: usize },
    /// Heel after heel or tip after tip in one hand.
    Again { from: usize, to: usize },
    /// Heel and tip in two hands that do not take turns.
    Split { from: usize, to: usize },
    /// One hand rocks here and the other one there.
    Rockers { one: usize, other: usize },
    /// A heel or tip and a carrying stroke in one hand.
    Mixed { from: usize, to: usize },
}

/// A pattern with everything about it that does not depend on the hands.
struct StickingCheck<'a> {
    pattern: &'a Pattern,
    handed: Handed,
    tempo: Tempo,
    strokes: Vec<(usize, Stroke)>,
    pulse_ms: f64,
    /// Whether a stroke and the one before it are in a row.
    row: Vec<bool>,
    solver: &'a Solver,
    pace: f64,
    even: bool,
    cross_within: f64,
    ease: f64,
}

impl<'a> StickingCheck<'a> {
    fn new(
        solver: &'a Solver,
        pattern: &'a Pattern,
        tempo: Tempo,
        player: &Player,
    ) -> StickingCheck<'a> {
        let strokes: Vec<(usize, Stroke)> = pattern.strokes().collect();
        let n = strokes.len();
        let (m, cycle) = (&solver.model, pattern.pulses());
        let near = (pattern.grid().pulses_per_beat() / 2).max(1);
        let pulse_ms = tempo.pulse(pattern.grid()).millis();
        let pulses: Vec<usize> = (0..n)
            .map(|i| (strokes[(i + 1) % n].0 + cycle - strokes[i].0 - 1) % cycle + 1)
            .collect();
        let row = (0..n)
            .map(|i| {
                let gap = pulses[(i + n - 1) % n];
                n > 1 && gap <= near && (gap as f64 * pulse_ms) < IN_A_ROW
            })
            .collect();
        StickingCheck {
            pattern,
            handed: player.handed,
            tempo,
            pulse_ms,
            row,
            solver,
            pace: m.pace(player.level),
            even: is_even(pattern),
            strokes,
            cross_within: m.cross_within,
            ease: m.ease,
        }
    }

    fn stroke(&self, i: usize) -> Stroke {
        self.strokes[i].1
    }

    fn before(&self, i: usize) -> usize {
        (i + self.strokes.len() - 1) % self.strokes.len()
    }

    fn after(&self, i: usize) -> usize {
        (i + 1) % self.strokes.len()
    }

    /// Milliseconds that pass from one stroke to the next time that the other comes round.
    fn time(&self, from: usize, to: usize) -> f64 {
        let cycle = self.pattern.pulses();
        let pulses = (self.strokes[to].0 + cycle - self.strokes[from].0 - 1) % cycle + 1;
        pulses as f64 * self.pulse_ms
    }

    fn needs(&self, hands: &[Hand], from: usize, to: usize) -> f64 {
        let (a, b) = (self.stroke(from), self.stroke(to));
        let role = role(hands[to], self.handed);
        self.pace * self.solver.reach.need(&self.solver.model, role, a, b)
    }

    /// The first fault of a row of hands, one a stroke.
    fn fault(&self, hands: &[Hand]) -> Option<Fault> {
        let n = hands.len();
        if let Some(fault) = self.unplayable(hands) {
            return Some(fault);
        }
        if n < 2 || (self.even && told_by(hands).is_some()) {
            return None;
        }
        let turns = LazyCell::new(|| self.turns(hands));
        let rocking = LazyCell::new(|| (0..n).any(|i| self.rocked(hands, i)));
        let split = |i| self.split(hands, i, || !turns[i] && *rocking);
        (0..n)
            .find_map(|i| self.run(hands, i))
            .or_else(|| self.alone(hands))
            .or_else(|| (0..n).find_map(|i| self.again(hands, i)))
            .or_else(|| (0..n).find_map(split))
            .or_else(|| self.rockers(hands))
            .or_else(|| (0..n).find_map(|i| self.mixed(hands, i)))
    }

    /// Too late, or crossed.
    fn unplayable(&self, hands: &[Hand]) -> Option<Fault> {
        let n = hands.len();
        let mut crossed = None;
        for hand in Hand::ALL {
            let Some(mut from) = hands.iter().rposition(|h| *h == hand) else {
                continue;
            };
            for to in (0..n).filter(|i| hands[*i] == hand) {
                if self.needs(hands, from, to) > self.time(from, to) * (1.0 + GRACE) {
                    return Some(Fault::Late { from, to });
                }
                if crossed.is_none() {
                    let mut at = self.after(from);
                    while at != to {
                        if self.crosses(hands[at], from, at, to) {
                            crossed = Some(Fault::Crossed(Crossing { at, from, to }));
                        }
                        at = self.after(at);
                    }
                }
                from = to;
            }
        }
        crossed
    }

    /// Whether `hand`, striking `at`, reaches beyond the other hand, which is at `from` just before and at `to` just
    /// after. A hand that goes on to the drum where the other one is going crosses nothing.
    fn crosses(&self, hand: Hand, from: usize, at: usize, to: usize) -> bool {
        // Drums are counted towards the stronger hand.
        let side = |i: usize| match hand == super::moves::hand(super::moves::STRONG, self.handed) {
            true => -stands(self.stroke(i).drum),
            false => stands(self.stroke(i).drum),
        };
        side(at) > side(from).max(side(to))
            && self.time(from, at) < self.cross_within
            && self.time(at, to) < self.cross_within
    }
}
