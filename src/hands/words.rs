//! Pulses, strokes, movements and crossed arms as a player says them.

use super::Handed;
use super::moves::hand;
use super::problem::StickingProblem;
use crate::rhythm::{Drum, Hand, Pattern, Stroke, Tempo, listed};

/// A pulse as a player says it, with its bar where there are several.
pub(super) fn said(pattern: &Pattern, pulse: usize) -> String {
    let count = pattern.grid().spoken(pulse);
    if pattern.bars() == 1 {
        return count;
    }
    let bar = pulse / pattern.grid().pulses_per_bar() + 1;
    format!("{count} of bar {bar}")
}

/// Several pulses as a player says them: `1 1& 3 of bar 1 and 2& of bar 2`.
pub fn said_all(pattern: &Pattern, pulses: &[usize]) -> String {
    let per = pattern.grid().pulses_per_bar();
    let mut bars: Vec<(usize, Vec<String>)> = Vec::new();
    for p in pulses {
        let count = pattern.grid().spoken(*p);
        match bars.last_mut() {
            Some((bar, counts)) if *bar == p / per => counts.push(count),
            _ => bars.push((p / per, vec![count])),
        }
    }
    let parts: Vec<String> = bars
        .into_iter()
        .map(|(bar, counts)| {
            if pattern.bars() == 1 {
                listed(&counts)
            } else {
                format!("{} of bar {}", listed(&counts), bar + 1)
            }
        })
        .collect();
    listed(&parts)
}

/// A stroke in words: `the slap`, `the open tone on the low drum`.
pub(super) fn named(s: Stroke) -> String {
    match s.drum {
        Drum::Conga => format!("the {}", s.tone.name()),
        other => format!("the {} on the {}", s.tone.name(), drum(other)),
    }
}

/// A phrase with a capital at its beginning.
pub(super) fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map(|c| c.to_uppercase().collect::<String>() + chars.as_str())
        .unwrap_or_default()
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
        said(case.pattern, since),
        named(b),
        said(case.pattern, at),
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
        let on = |i: usize| format!("{} on {}", named(strokes[i].1), said(pattern, strokes[i].0));
        let there = match self.from == self.to {
            true => on(self.from),
            false => format!("{} before and {} after it", on(self.from), on(self.to)),
        };
        format!(
            "the {} strikes the {} on {} while the {} is at {there}, so the arms cross",
            hand.name(),
            drum(strokes[self.at].1.drum),
            said(pattern, strokes[self.at].0),
            hand.other().name(),
        )
    }

    /// The pulses of its strokes, that which reaches beyond first.
    pub(super) fn pulses(self, strokes: &[(usize, Stroke)]) -> Vec<usize> {
        [self.at, self.from, self.to].map(|i| strokes[i].0).to_vec()
    }
}

/// A drum in words.
fn drum(d: Drum) -> &'static str {
    match d {
        Drum::Tumbadora => "low drum",
        other => other.name(),
    }
}
