//! How long a question takes, before anything was measured of the player.

use super::grade::KEY_SECONDS;
use super::{Kind, Sense, tempo};
use crate::deck::Card;
use crate::memory::Timing;
use crate::rhythm::Tempo;
use crate::time::Seconds;

/// A question of this kind about a card, at the tempo at which a new item begins.
pub(super) fn timing(card: &Card, kind: &Kind, sense: Sense) -> Timing {
    Timing {
        listening: match sense {
            Sense::Read => Seconds::ZERO,
            Sense::Hear => listening(card, (kind.usual_bars)(card)),
        },
        answer: (kind.usual_seconds)(card),
    }
}

/// The pick-up of two beats, and this many bars.
fn listening(card: &Card, bars: usize) -> Seconds {
    let pulses = 2 * card.grid.pulses_per_beat() + bars * card.grid.pulses_per_bar();
    pulses as f64 * start(card).pulse(card.grid)
}

fn start(card: &Card) -> Tempo {
    tempo::stand(card.tempo, None)
}

/// This many clave cycles that are tapped, and half of one until the player comes in.
pub(super) fn tapped(card: &Card, cycles: usize) -> Seconds {
    (cycles as f64 + 0.5) * start(card).cycle(card.grid)
}

/// A row that is written: a cycle to bring it to mind, and each key.
pub(super) fn written(card: &Card) -> Seconds {
    let keys = card.score.pulses() as f64 * KEY_SECONDS;
    start(card).cycle(card.grid) + keys
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deck::shipped;
    use crate::question::{KINDS, Setup, allows};
    use crate::rhythm::{Grid, Pattern, Score};

    /// Counted by hand. A bar of the tumbao at 120: two bars of four quarter notes are 4 s, and eight keys of half a second.
    /// The clave over its two bars: 4 s and sixteen keys.
    #[test]
    fn writing_takes_a_cycle_and_each_key() {
        let mut card = shipped()[0].cards[0].clone();
        card.grid = Grid::Eighths;
        card.tempo = (Tempo::new(120.0), Tempo::new(120.0));
        for (bars, seconds) in [(1, 8.0), (2, 12.0)] {
            let pulses = vec![None; bars * 8];
            card.score = Score::of(Pattern::new(card.grid, pulses).unwrap());
            assert!(
                (written(&card) - Seconds::new(seconds)).abs() < Seconds::new(1e-9),
                "{}",
                written(&card)
            );
        }
    }

    /// Against the questions themselves, made over all shipped decks.
    #[test]
    fn listening_and_taps_are_reckoned_about_right() {
        let (mut reckoned, mut heard, mut taps) = (Seconds::ZERO, Seconds::ZERO, Vec::new());
        for card in shipped().iter().flat_map(|d| &d.cards) {
            for kind in KINDS.iter().filter(|k| allows(card, k, Sense::Hear)) {
                let setup = Setup {
                    tempo: start(card),
                    player: Default::default(),
                    as_written: false,
                    weighed: false,
                    unseen: false,
                };
                let Some(question) = kind.ask(card, Sense::Hear, 5, &setup) else {
                    continue;
                };
                let timing = timing(card, kind, Sense::Hear);
                reckoned += timing.listening;
                heard += question.listening_seconds();
                if matches!(question.form, super::super::Form::Taps { .. }) {
                    // The limit is once through to come in, mostly a cycle, and those that are tapped: here half a cycle.
                    taps.push(timing.answer / (question.limit() * 4.5 / 5.0));
                }
            }
        }
        let mean = taps.iter().sum::<f64>() / taps.len() as f64;
        assert!(taps.len() > 20 && (mean - 1.0).abs() < 0.2, "{mean}");
        assert!((reckoned / heard - 1.0).abs() < 0.2, "{reckoned} {heard}");
    }
}
