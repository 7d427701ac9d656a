//! Pauses: asked for, or because nobody was there; and what asks the player once before it happens.

use super::stage::{Notice, Paused, Stage};
use super::{Event, Session};
use crate::time::{Moment, Seconds};

/// Time without a key after which nobody is there. For a question it begins when its time is up (chosen).
const LEFT_ALONE: Seconds = Seconds::new(90.0);

impl Session {
    /// Stops clock and sound. The time from `since` on does not count.
    fn pause(&mut self, since: Moment, left_alone: bool) {
        if matches!(
            self.stage,
            Stage::Paused(_) | Stage::Waiting | Stage::Done(_)
        ) {
            return;
        }
        self.quieten();
        self.going_on = false;
        let stage = std::mem::replace(&mut self.stage, Stage::Waiting);
        self.stage = Stage::Paused(Box::new(Paused {
            stage,
            since,
            left_alone,
        }));
    }

    /// The player asks for a pause, or ends it.
    pub(super) fn pause_or_go_on(&mut self) {
        match self.stage {
            Stage::Paused(_) => self.resume(),
            _ => self.pause(self.now, false),
        }
    }

    /// Goes on after a pause: a question is asked afresh, since there was time to think about it.
    pub(super) fn resume(&mut self) {
        let Stage::Paused(paused) = std::mem::replace(&mut self.stage, Stage::Waiting) else {
            return;
        };
        self.stage = paused.stage;
        self.give_back((self.now - paused.since).max(Seconds::ZERO));
        if matches!(self.stage, Stage::Asking(_)) {
            self.ask_afresh();
        }
    }

    /// Pauses where nothing came from the player for long. True where it did so now: a key that comes then was not
    /// meant for what is on the screen.
    pub(super) fn left_alone(&mut self) -> bool {
        let limit = match &self.stage {
            Stage::Asking(asking) => asking.clock + asking.question.limit(),
            Stage::Introduction(_) | Stage::Feedback(_) => self.touched,
            _ => return false,
        };
        let since = limit.max(self.touched);
        let alone = self.now - since > LEFT_ALONE;
        if alone {
            self.pause(since, true);
        }
        alone
    }

    /// The player wants to leave before the minutes are over: asked once whether that is meant. True where it was asked
    /// now.
    pub(super) fn asks_before_leaving(&mut self) -> bool {
        self.notice.replace(Notice::LeavesEarly) != Some(Notice::LeavesEarly)
    }

    /// What a player's event does to what was said before: a question about leaving is over with any other key.
    pub(super) fn touch(&mut self, event: &Event) {
        self.touched = self.now;
        self.notice
            .take_if(|n| *event != Event::Quit && *n == Notice::LeavesEarly);
    }

    /// Takes some time out of the session's.
    pub(super) fn give_back(&mut self, seconds: Seconds) {
        if let Some(begun) = &mut self.begun {
            *begun += seconds;
        }
        if let Stage::Introduction(meeting) = &mut self.stage {
            meeting.since += seconds;
        }
    }

    pub(super) fn away(&mut self, seconds: Seconds) {
        if !seconds.is_finite() || seconds == Seconds::ZERO {
            return;
        }
        self.give_back(seconds);
        if let Stage::Paused(paused) = &mut self.stage {
            paused.since += seconds;
        }
        self.touched = self.now;
        if matches!(self.stage, Stage::Asking(_)) {
            self.ask_afresh();
            self.notice = Some(Notice::Away);
        }
    }
}
