//! An answer that was a slip of the finger, taken back at once.

use super::answer::AFTER_MISS;
use super::stage::{Notice, Stage};
use super::{Effect, Session, Step, Summary};
use crate::question::tempo::{HeldTempos, Past};
use crate::taps::TapLead;

/// What an answer changed, as it was before.
#[derive(Clone, Debug)]
pub(super) struct Slip {
    pub step: Step,
    pub summary: Summary,
    /// The answer to the same item before it in this session.
    pub past: Option<Past>,
    /// What was known of the player's lead.
    pub lead: TapLead,
    /// What was known of the tempos that the player holds.
    pub held: HeldTempos,
    /// It was the first question after its card was met.
    pub fresh: bool,
}

impl Session {
    /// Takes back the answer on the screen: it does not count, and the same item is asked afresh later. By then the player
    /// has seen the answer, so a right one does not count either: there is nothing to gain.
    pub(super) fn take_back(&mut self) {
        if !matches!(self.stage, Stage::Feedback(_)) {
            return;
        }
        let Some(slip) = self.slip.take() else {
            return;
        };
        if !self.saving.forget_last() {
            self.effects.push(Effect::Withdraw);
        }
        let item = slip.step.item.clone();
        self.summary = slip.summary;
        self.lead = slip.lead;
        self.held = slip.held;
        match slip.past {
            Some(past) => self.answers.insert(item.clone(), past),
            None => self.answers.remove(&item),
        };
        if slip.fresh {
            self.fresh.insert(item.clone());
        }
        self.queue.forget(&item);
        self.taken_back.insert(item);
        let step = Step {
            why: "Taken back earlier today.".into(),
            ..slip.step
        };
        self.queue.bring_back(step, AFTER_MISS);
        self.going_on = false;
        self.go_on();
        if !matches!(self.stage, Stage::Done(_)) {
            self.notice = Some(Notice::TakenBack);
        }
    }
}
