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

use super::Player;
use super::moves::{STRONG, gap, role, stands};
use super::rudiment::{is_even, told_by};
use super::stick::{DEFAULT, Solver};
use super::words::named;
use crate::rhythm::{Hand, Pattern, Stroke, Tempo, capital};
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

/// Every row of so many hands, from all left to all right; of more than [`MOST_OPEN`] the first ones.
pub fn every_row(length: usize) -> impl Iterator<Item = Vec<Hand>> {
    let hand = move |bits: usize, i: usize| Hand::ALL[bits >> (length - 1 - i) & 1];
    let row = move |bits| (0..length).map(|i| hand(bits, i)).collect();
    (0..1usize << length.min(MOST_OPEN)).map(row)
}

impl Solver {
    /// See [`judge`].
    pub fn judge(&self, pattern: &Pattern, tempo: Tempo, player: &Player) -> Result<(), Refusal> {
        if let Some((pulse, stroke)) = pattern.strokes().find(|(_, s)| s.hand.is_none()) {
            return Err(Refusal {
                pulse,
                text: format!(
                    "{} on {} has no hand.",
                    capital(&named(stroke)),
                    pattern.spoken(pulse)
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
        for row in every_row(open.len()) {
            open.iter()
                .zip(&row)
                .for_each(|(i, hand)| hands[*i] = *hand);
            if check.fault(&hands).is_none() {
                right.push(row);
            }
        }
        right
    }
}

/// What is wrong with a row, and the numbers of the strokes that show it.
type Fault = (FaultKind, Vec<usize>);

/// What may be wrong with a row of hands.
#[derive(Clone, Copy, Debug, PartialEq)]
enum FaultKind {
    /// The hand does not get from one stroke to the other in time.
    Late,
    /// The hand strikes the first one beyond the drum where the other hand is before and after.
    Crossed,
    /// Two strokes of a run in one hand.
    Run,
    /// Three moves in a row in one hand.
    Alone,
    /// Heel after heel or tip after tip in one hand.
    Again,
    /// Heel and tip in two hands that do not take turns.
    Split,
    /// One hand rocks on the first two, the other one on the last two.
    Rockers,
    /// A heel or tip and a carrying stroke in one hand.
    Mixed,
}

/// A pattern with everything about it that does not depend on the hands.
struct StickingCheck<'a> {
    pattern: &'a Pattern,
    player: &'a Player,
    tempo: Tempo,
    strokes: Vec<(usize, Stroke)>,
    pulse_ms: f64,
    /// Whether a stroke and the one before it are in a row.
    row: Vec<bool>,
    solver: &'a Solver,
    even: bool,
}

impl<'a> StickingCheck<'a> {
    fn new(
        solver: &'a Solver,
        pattern: &'a Pattern,
        tempo: Tempo,
        player: &'a Player,
    ) -> StickingCheck<'a> {
        let mut check = StickingCheck {
            pattern,
            player,
            tempo,
            pulse_ms: tempo.pulse(pattern.grid()).millis(),
            row: Vec::new(),
            solver,
            even: is_even(pattern),
            strokes: pattern.strokes().collect(),
        };
        let n = check.strokes.len();
        let near = (pattern.grid().pulses_per_beat() / 2).max(1);
        let in_a_row = |i: usize| {
            let gap = check.gap(check.before(i), i);
            n > 1 && gap <= near && (gap as f64 * check.pulse_ms) < IN_A_ROW
        };
        check.row = (0..n).map(in_a_row).collect();
        check
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

    /// Pulses from one stroke to the next time that the other comes round.
    fn gap(&self, from: usize, to: usize) -> usize {
        gap(
            self.pattern.pulses(),
            self.strokes[from].0,
            self.strokes[to].0,
        )
    }

    /// The same in milliseconds.
    fn time(&self, from: usize, to: usize) -> f64 {
        self.gap(from, to) as f64 * self.pulse_ms
    }

    fn needs(&self, hands: &[Hand], from: usize, to: usize) -> f64 {
        let (a, b, m) = (self.stroke(from), self.stroke(to), &self.solver.model);
        let role = role(hands[to], self.player.handed);
        m.pace(self.player.level) * self.solver.reach.need(m, role, a, b)
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
                    return Some((FaultKind::Late, vec![from, to]));
                }
                if crossed.is_none() {
                    let mut at = self.after(from);
                    while at != to {
                        if self.crosses(hands[at], from, at, to) {
                            crossed = Some((FaultKind::Crossed, vec![at, from, to]));
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
        let side = |i: usize| match role(hand, self.player.handed) {
            STRONG => -stands(self.stroke(i).drum),
            _ => stands(self.stroke(i).drum),
        };
        let within = |from, to| self.time(from, to) < self.solver.model.cross_within;
        side(at) > side(from).max(side(to)) && within(from, at) && within(at, to)
    }
}
