//! Refusals in words.

use super::idiom::MOVES_IN_A_ROW;
use super::{Fault, Refusal, StickingCheck};
use crate::hands::words::{named, said, said_all, sentence};
use crate::rhythm::Hand;

impl StickingCheck<'_> {
    /// A fault in words.
    pub(super) fn refusal(&self, hands: &[Hand], fault: Fault) -> Refusal {
        let at = |i: usize| self.strokes[i].0;
        let on = |i: usize| format!("{} on {}", named(self.stroke(i)), said(self.pattern, at(i)));
        let both = |a: usize, b: usize| said_all(self.pattern, &[at(a), at(b)]);
        let ms = |from: usize, to: usize| format!("{:.0} ms apart", self.time(from, to));
        let (text, strokes) = match fault {
            Fault::Late { from, to } => (
                format!(
                    "The {} from {} to {} needs about {:.0} ms and has {:.0} at {:.0}.",
                    hands[to].name(),
                    on(from),
                    on(to),
                    self.needs(hands, from, to),
                    self.time(from, to),
                    self.tempo
                ),
                vec![from, to],
            ),
            Fault::Crossed(c) => (
                format!(
                    "{}.",
                    sentence(&c.words(self.pattern, &self.strokes, hands[c.at]))
                ),
                vec![c.at, c.from, c.to],
            ),
            Fault::Run { from, to } => (
                format!(
                    "The {} has {} and {}, {}: three or more strong strokes in a row change hands.",
                    hands[to].name(),
                    on(from),
                    on(to),
                    ms(from, to)
                ),
                vec![from, to],
            ),
            Fault::Alone { to } => {
                let back = std::iter::successors(Some(to), |i| Some(self.before(*i)));
                let mut strokes: Vec<usize> = back.take(MOVES_IN_A_ROW + 2).collect();
                strokes.reverse();
                let pulses: Vec<usize> = strokes.iter().map(|i| at(*i)).collect();
                let text = format!(
                    "The {} plays {} in a row while the {} rests: four in a row are shared between the hands.",
                    hands[to].name(),
                    said_all(self.pattern, &pulses),
                    hands[to].other().name()
                );
                (text, strokes)
            }
            Fault::Again { from, to } => {
                let tone = self.stroke(to).tone.name();
                (
                    format!(
                        "The {} plays {tone} after {tone} on {}, {}: at this tempo a hand rocks between heel and tip, or the hands take turns.",
                        hands[to].name(),
                        both(from, to),
                        ms(from, to)
                    ),
                    vec![from, to],
                )
            }
            Fault::Split { from, to } => (
                format!(
                    "{} and {} on {} belong to one hand, which rocks.",
                    sentence(self.stroke(from).tone.name()),
                    self.stroke(to).tone.name(),
                    both(from, to)
                ),
                vec![from, to],
            ),
            Fault::Rockers { one, other } => {
                let (a, b) = (self.before(one), self.before(other));
                (
                    format!(
                        "The {} rocks heel and tip on {}, the {} on {}: one hand keeps rocking, the other is kept for the strong strokes.",
                        hands[one].name(),
                        both(a, one),
                        hands[other].name(),
                        both(b, other)
                    ),
                    vec![a, one, b, other],
                )
            }
            Fault::Mixed { from, to } => (
                format!(
                    "The {} has both {} and {}: one hand keeps the time, the other one takes the strong stroke.",
                    hands[to].name(),
                    on(from),
                    on(to)
                ),
                vec![from, to],
            ),
        };
        let stuck = match fault {
            Fault::Crossed(c) => c.at,
            _ => strokes.last().copied().unwrap_or(0),
        };
        Refusal {
            pulse: at(stuck),
            text,
            pulses: strokes.into_iter().map(at).collect(),
            rocking: matches!(fault, Fault::Split { .. } | Fault::Rockers { .. }),
        }
    }
}
