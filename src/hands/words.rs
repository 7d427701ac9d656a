//! Pulses, strokes, movements and crossed arms as a player says them.

use super::Handed;
use super::moves::hand;
use super::problem::StickingProblem;
use crate::rhythm::{Hand, Pattern, Stroke, Tempo, Weight, listed};

/// Several pulses as a player says them: `1 1& 3 of bar 1 and 2& of bar 2`.
pub fn said_all(pattern: &Pattern, pulses: &[usize]) -> String {
    let bar = |p: &usize| p / pattern.grid().pulses_per_bar();
    let by_bar = pulses.chunk_by(|a, b| bar(a) == bar(b));
    listed(by_bar.map(|pulses| {
        let counts = pattern.grid().spoken_all(pulses);
        match pattern.bars() {
            1 => counts,
            _ => format!("{counts} of bar {}", bar(&pulses[0]) + 1),
        }
    }))
}

/// A stroke in words, however strong: `the slap`, `the open tone on the low drum`.
pub(super) fn named(stroke: Stroke) -> String {
    let weight = Weight::Plain;
    Stroke { weight, ..stroke }.spoken()
}

/// A role's hand by name.
pub(super) fn name(role: usize, handed: Handed) -> &'static str {
    hand(role, handed).name()
}

/// One movement in words with its numbers: `the right from the slap on 2 to the open tone on the low drum on 2&
/// needs about 176 ms and has 250`.
pub(super) fn movement(
    case: &StickingProblem,
    roles: &[usize],
    from: usize,
    to: usize,
    tempo: Tempo,
) -> String {
    let (at, b) = case.moves.strokes[to];
    let (since, a) = case.moves.strokes[from];
    format!(
        "the {} from {} on {} to {} on {} needs about {:.0} ms and has {:.0}",
        name(roles[to], case.handed),
        named(a),
        case.pattern.spoken(since),
        named(b),
        case.pattern.spoken(at),
        case.moves.need(roles[to], from, to),
        case.moves.gap(from, to) as f64 * case.pulse_ms(tempo),
    )
}

/// One hand strikes beyond the other, which is on the wrong side just before and just after; the numbers of the strokes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Crossing {
    /// The stroke that reaches beyond.
    pub at: usize,
    /// The other hand's stroke before it.
    pub from: usize,
    /// The other hand's stroke after it.
    pub to: usize,
}

impl Crossing {
    /// In words: `the left strikes the low drum on 2& while the right is at the tip on 1& before and the open tone on 4
    /// after it, so the arms cross`.
    pub(super) fn words(
        self,
        pattern: &Pattern,
        strokes: &[(usize, Stroke)],
        hand: Hand,
    ) -> String {
        let on = |i: usize| {
            format!(
                "{} on {}",
                named(strokes[i].1),
                pattern.spoken(strokes[i].0)
            )
        };
        let there = match self.from == self.to {
            true => on(self.from),
            false => format!("{} before and {} after it", on(self.from), on(self.to)),
        };
        format!(
            "the {} strikes the {} on {} while the {} is at {there}, so the arms cross",
            hand.name(),
            strokes[self.at].1.drum.spoken(),
            pattern.spoken(strokes[self.at].0),
            hand.other().name(),
        )
    }

    /// The pulses of its strokes, that which reaches beyond first.
    pub(super) fn pulses(self, strokes: &[(usize, Stroke)]) -> Vec<usize> {
        [self.at, self.from, self.to].map(|i| strokes[i].0).to_vec()
    }
}
