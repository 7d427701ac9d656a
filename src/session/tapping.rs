//! An answer that is tapped while the band plays.

use super::Session;
use super::stage::{Asking, Notice, Stage};
use crate::question::{Answer, Form, taps_text};
use crate::rhythm::Hand;
use crate::taps::{COMMON, Tap, read_taps};
use crate::time::Seconds;

impl Asking {
    fn taps(&self) -> Vec<Tap> {
        read_taps(&self.typed).unwrap_or_default()
    }

    /// The pulses of the score nearest to the taps of the last round that was tapped, with the hand of each where it is known.
    pub fn tapped(&self) -> Vec<(usize, Option<Hand>)> {
        let take = &self.question.prompt.take;
        let (pulse, round) = (
            take.playable_tempo().pulse(take.score.grid),
            take.score.pulses(),
        );
        let taps = self.taps();
        let at = |tap: &Tap| (tap.seconds / pulse).round().max(0.0) as usize;
        let last = taps.last().map_or(0, |tap| at(tap) / round);
        let now = taps.iter().filter(|tap| at(tap) / round == last);
        now.map(|tap| (at(tap) % round, tap.hand)).collect()
    }

    /// At `now`, from the first pulse that is heard, as many cycles as are asked for have gone by since the first tap; where the turns are set, the last of them has, whether or
    /// not anything was tapped.
    fn taps_are_over(&self, now: Option<Seconds>) -> bool {
        let Form::Taps { task, cycles, .. } = &self.question.form else {
            return false;
        };
        let length = task.rounds(*cycles) as f64 * task.cycle_seconds();
        let over = match task.turns() {
            Some(_) => Some(length + COMMON),
            None => {
                let since = |first: &Tap| first.seconds + length - task.pulse_seconds() / 2.0;
                self.taps().first().map(since)
            }
        };
        now.zip(over).is_some_and(|(now, over)| now > over)
    }
}

impl Session {
    /// Time from the first pulse that is heard, the count-in behind it; `None` while nothing plays.
    fn seconds_heard(&self) -> Option<Seconds> {
        let playing = self.playing.as_ref()?;
        let take = &playing.take;
        let count_in = take.count_in_pulses() as f64 * take.playable_tempo().pulse(take.score.grid);
        Some(self.now - playing.since - count_in)
    }

    /// One tap; after the last cycle it ends the answer.
    pub(super) fn tap(&mut self, hand: Option<Hand>) {
        let now = self.seconds_heard();
        let Stage::Asking(asking) = &mut self.stage else {
            return;
        };
        if asking.taps_are_over(now) {
            return self.tapped();
        }
        if let Some(seconds) = now {
            asking.typed += &format!(" {}", taps_text(&[Tap { seconds, hand }]));
        }
    }

    /// One stroke that the microphone heard. A lone one before it, by more than a cycle, was a noise of the room.
    pub(super) fn stroke(&mut self) {
        let now = self.seconds_heard();
        let Stage::Asking(asking) = &mut self.stage else {
            return;
        };
        let Form::Taps { task, .. } = &asking.question.form else {
            return;
        };
        if let ([only], Some(seconds)) = (&asking.taps()[..], now)
            && seconds - only.seconds > task.cycle_seconds()
        {
            asking.typed.clear();
        }
        self.tap(None);
    }

    /// Ends the answer where as many cycles as are asked for have gone by.
    pub(super) fn end_of_taps(&mut self) {
        let now = self.seconds_heard();
        if matches!(&self.stage, Stage::Asking(asking) if asking.taps_are_over(now)) {
            self.tapped();
        }
    }

    /// The taps are over. Less than half of the cycles are none.
    pub(super) fn tapped(&mut self) {
        if let Stage::Asking(asking) = &self.stage {
            let taps = asking.taps();
            self.all_taps(taps);
        }
    }

    /// All taps of an answer at once.
    pub(super) fn all_taps(&mut self, taps: Vec<Tap>) {
        let Stage::Asking(asking) = &mut self.stage else {
            return;
        };
        let Form::Taps { .. } = &asking.question.form else {
            return;
        };
        let least = asking.question.form.length() / 2;
        if taps.len() < least {
            asking.typed.clear();
            self.notice = Some(match taps.is_empty() {
                true => Notice::NothingTapped,
                false => Notice::TooFewTaps(least),
            });
            return;
        }
        self.notice = None;
        self.answered(Answer::Taps(taps));
    }
}
