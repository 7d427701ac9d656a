//! Pauses: asked for, or because nobody was there; and what asks the player once before it happens.

use super::stage::{Notice, Paused, Stage};
use super::{Effect, Event, Session};

/// Seconds without a key after which nobody is there. For a question they begin when its time is up (chosen).
const LEFT_ALONE: f64 = 90.0;

impl Session {
    /// Stops clock and sound. The time from `since` on does not count.
    fn pause(&mut self, since: f64, left_alone: bool, effects: &mut Vec<Effect>) {
        if matches!(
            self.stage,
            Stage::Paused(_) | Stage::Waiting | Stage::Done(_)
        ) {
            return;
        }
        self.quieten(effects);
        self.going_on = false;
        let stage = std::mem::replace(&mut self.stage, Stage::Waiting);
        self.stage = Stage::Paused(Box::new(Paused {
            stage,
            since,
            left_alone,
        }));
    }

    /// The player asks for a pause, or ends it.
    pub(super) fn pause_or_go_on(&mut self, now: f64, effects: &mut Vec<Effect>) {
        match self.stage {
            Stage::Paused(_) => self.resume(now, effects),
            _ => self.pause(now, false, effects),
        }
    }

    /// Goes on after a pause: a question is asked afresh, since there was time to think about it.
    pub(super) fn resume(&mut self, now: f64, effects: &mut Vec<Effect>) {
        let Stage::Paused(paused) = std::mem::replace(&mut self.stage, Stage::Waiting) else {
            return;
        };
        self.stage = paused.stage;
        self.give_back((now - paused.since).max(0.0));
        if matches!(self.stage, Stage::Asking(_)) {
            self.ask_afresh(now, effects);
        }
    }

    /// Pauses where nothing came from the player for long. True where it did so now: a key that comes then was not
    /// meant for what is on the screen.
    pub(super) fn left_alone(&mut self, now: f64, effects: &mut Vec<Effect>) -> bool {
        let limit = match &self.stage {
            Stage::Asking(asking) => asking.clock + asking.question.limit(),
            Stage::Introduction(_) | Stage::Feedback(_) => self.touched,
            _ => return false,
        };
        let since = limit.max(self.touched);
        let alone = now - since > LEFT_ALONE;
        if alone {
            self.pause(since, true, effects);
        }
        alone
    }

    /// The player wants to leave before the minutes are over: asked once whether that is meant. True where it was asked
    /// now.
    pub(super) fn asks_before_leaving(&mut self) -> bool {
        let asked = self.notice == Some(Notice::LeavesEarly);
        if !asked {
            self.notice = Some(Notice::LeavesEarly);
        }
        !asked
    }

    /// What a player's event does to what was said before: a question about leaving is over with any other key.
    pub(super) fn touch(&mut self, event: &Event, now: f64) {
        self.touched = now;
        if *event != Event::Quit && self.notice == Some(Notice::LeavesEarly) {
            self.notice = None;
        }
    }

    /// Takes seconds out of the session's time.
    pub(super) fn give_back(&mut self, seconds: f64) {
        if let Some(begun) = &mut self.begun {
            *begun += seconds;
        }
        if let Stage::Introduction(meeting) = &mut self.stage {
            meeting.since += seconds;
        }
    }

    pub(super) fn away(&mut self, seconds: f64, now: f64, effects: &mut Vec<Effect>) {
        if !seconds.is_finite() || seconds == 0.0 {
            return;
        }
        self.give_back(seconds);
        if let Stage::Paused(paused) = &mut self.stage {
            paused.since += seconds;
        }
        self.touched = now;
        if matches!(self.stage, Stage::Asking(_)) {
            self.ask_afresh(now, effects);
            self.notice = Some(Notice::Away);
        }
    }
}
