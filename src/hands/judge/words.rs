//! Refusals in words.

use super::{Fault, FaultKind, Refusal, StickingCheck};
use crate::hands::words::{Crossing, named, said_all};
use crate::rhythm::{Hand, capital};

impl StickingCheck<'_> {
    /// A fault in words.
    pub(super) fn refusal(&self, hands: &[Hand], (kind, strokes): Fault) -> Refusal {
        let at = |i: usize| self.strokes[i].0;
        let on = |i: usize| {
            format!(
                "{} on {}",
                named(self.stroke(i)),
                self.pattern.spoken(at(i))
            )
        };
        let tone = |i: usize| self.stroke(i).tone.name();
        let pulses: Vec<usize> = strokes.iter().map(|i| at(*i)).collect();
        let all = || said_all(self.pattern, &pulses);
        let (from, to) = (strokes[0], strokes[strokes.len() - 1]);
        let (hand, other) = (hands[to].name(), hands[to].other().name());
        let ms = || format!("{:.0} ms apart", self.time(from, to));
        let text = match kind {
            FaultKind::Late => format!(
                "The {hand} from {} to {} needs about {:.0} ms and has {:.0} at {:.0}.",
                on(from),
                on(to),
                self.needs(hands, from, to),
                self.time(from, to),
                self.tempo
            ),
            FaultKind::Crossed => {
                let (at, from) = (strokes[0], strokes[1]);
                let crossing = Crossing { at, from, to };
                let words = crossing.words(self.pattern, &self.strokes, hands[at]);
                format!("{}.", capital(&words))
            }
            FaultKind::Run => format!(
                "The {hand} has {} and {}, {}: three or more strong strokes in a row change hands.",
                on(from),
                on(to),
                ms()
            ),
            FaultKind::Alone => format!(
                "The {hand} plays {} in a row while the {other} rests: four in a row are shared between the hands.",
                all()
            ),
            FaultKind::Again => format!(
                "The {hand} plays {0} after {0} on {1}, {2}: at this tempo a hand rocks between heel and tip, or the hands take turns.",
                tone(to),
                all(),
                ms()
            ),
            FaultKind::Split => format!(
                "{} and {} on {} belong to one hand, which rocks.",
                capital(tone(from)),
                tone(to),
                all()
            ),
            FaultKind::Rockers => format!(
                "The {other} rocks heel and tip on {}, the {hand} on {}: one hand keeps rocking, the other is kept for the strong strokes.",
                said_all(self.pattern, &pulses[..2]),
                said_all(self.pattern, &pulses[2..])
            ),
            FaultKind::Mixed => format!(
                "The {hand} has both {} and {}: one hand keeps the time, the other one takes the strong stroke.",
                on(from),
                on(to)
            ),
        };
        Refusal {
            pulse: at(if kind == FaultKind::Crossed { from } else { to }),
            text,
            pulses,
            rocking: matches!(kind, FaultKind::Split | FaultKind::Rockers),
        }
    }
}
