//! What the player taps along with a card, reported after each round.

use super::Playback;
use crate::rhythm::{Hand, Score};
use crate::taps::{COMMON, Tap, TapTask, grade};

/// Pulses from the first one of what is heard, with a share of a pulse, and the hand where it is known.
type TappedPlace = (f64, Option<Hand>);

/// What was tapped along since something else was heard last.
#[derive(Clone, Debug, Default)]
pub(super) struct TappedAlong {
    /// Those of the rounds that were not reported yet.
    pub(super) taps: Vec<TappedPlace>,
    /// The round that is reported next; `None` if nothing was heard yet.
    round: Option<usize>,
    /// How the last round that was tapped went.
    pub said: Option<String>,
}

impl Playback {
    /// Takes a tap, this many pulses after the first one of what is heard.
    pub fn tap(&mut self, place: f64, hand: Option<Hand>) {
        self.along.taps.push((place, hand));
    }

    /// Reports the rounds that are over when this many pulses were heard: a round is over once no more tap can be late
    /// for it.
    pub fn heard(&mut self, place: f64) {
        let round = self.score().pulses();
        let pulse = self.tempo.pulse(self.part.grid);
        // One that is heard from its middle on is not told.
        let first = (place - 1.0).max(0.0) / round as f64;
        let now = *self.along.round.get_or_insert(first.ceil() as usize);
        if place - COMMON / pulse < ((now + 1) * round) as f64 {
            return;
        }
        self.along.round = Some(now + 1);
        // A tap belongs to the round of the pulse nearest to it.
        let of = |tap: &TappedPlace| (tap.0.round().max(0.0) as usize) / round;
        let taps = std::mem::take(&mut self.along.taps);
        self.along.taps = taps.iter().filter(|t| of(t) > now).copied().collect();
        let own = taps.iter().filter(|t| of(t) == now);
        let seconds = |tap: &TappedPlace| (tap.0 - (now * round) as f64) * pulse;
        let own: Vec<Tap> = own.map(|t| Tap::at(seconds(t))).collect();
        if let (Some(task), false) = (self.to_tap(), own.is_empty()) {
            let told = grade(&task, &own).told(&task, None).join("; ");
            self.along.said = Some(format!("Round {}: {told}.", now + 1));
        }
    }

    /// Something else is heard from now on, from its first pulse.
    pub fn forget_taps(&mut self) {
        self.along = TappedAlong {
            said: self.along.said.take(),
            ..TappedAlong::default()
        };
    }

    /// The pulses of the score that were tapped in the round of the last tap.
    pub(super) fn tapped(&self, score: &Score) -> Vec<(usize, Option<Hand>)> {
        let round = score.pulses();
        let at = |tap: &TappedPlace| tap.0.round().max(0.0) as usize;
        let last = self.along.taps.last().map_or(0, at) / round;
        let now = self.along.taps.iter().filter(|t| at(t) / round == last);
        now.map(|tap| (at(tap) % round, tap.1)).collect()
    }

    /// What is to be tapped along, once round: the drums, or where there are none what the card itself plays.
    pub(super) fn to_tap(&self) -> Option<TapTask> {
        let score = self.score();
        let task = match (&score.drums, self.part.lines.first()) {
            // One bar under a clave of two goes round twice.
            (Some(drums), _) => TapTask::new(drums.tiled(score.bars()), self.tempo),
            (None, Some(line)) => {
                let onsets: Vec<bool> = (0..score.pulses())
                    .map(|p| {
                        score
                            .line(line.instrument())
                            .is_some_and(|l| l.at(p).is_some())
                    })
                    .collect();
                TapTask::of_onsets(score.grid, &onsets, self.tempo)?
            }
            _ => return None,
        };
        Some(task.times(1))
    }
}
