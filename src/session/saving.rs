//! Reviews that are not on disk yet, and trying again.

use super::stage::{Notice, Stage};
use super::{Effect, Review, Session};
use std::collections::BTreeMap;

/// Reviews that are not on disk yet, by ticket.
#[derive(Clone, Debug, Default)]
pub(super) struct Saving {
    waiting: BTreeMap<u64, Waiting>,
    tickets: u64,
}

#[derive(Clone, Debug)]
struct Waiting {
    review: Box<Review>,
    failed: bool,
}

impl Saving {
    pub fn len(&self) -> usize {
        self.waiting.len()
    }

    pub fn reviews(&self) -> impl Iterator<Item = &Review> {
        self.waiting.values().map(|w| &*w.review)
    }

    /// Hands a new review over to be saved.
    pub fn record(&mut self, review: Review, effects: &mut Vec<Effect>) {
        self.tickets += 1;
        let review = Box::new(review);
        let waiting = Waiting {
            review: review.clone(),
            failed: false,
        };
        self.waiting.insert(self.tickets, waiting);
        effects.push(Effect::Record {
            ticket: self.tickets,
            review,
        });
    }

    /// Gives up the last review where it is not on disk yet. False where there is none such.
    pub fn forget_last(&mut self) -> bool {
        self.waiting.remove(&self.tickets).is_some()
    }

    /// Hands over again what could not be saved.
    pub fn try_again(&mut self, effects: &mut Vec<Effect>) {
        for (ticket, waiting) in self.waiting.iter_mut().filter(|(_, w)| w.failed) {
            waiting.failed = false;
            effects.push(Effect::Record {
                ticket: *ticket,
                review: waiting.review.clone(),
            });
        }
    }

    /// Is any review on its way, neither saved nor refused?
    fn under_way(&self) -> bool {
        self.waiting.values().any(|w| !w.failed)
    }
}

impl Session {
    pub(super) fn saved(&mut self, ticket: u64) {
        if self.saving.waiting.remove(&ticket).is_none() {
            return;
        }
        if self.saving.len() == 0 {
            self.warned = false;
            self.notice
                .take_if(|n| matches!(n, Notice::NotSaved(..) | Notice::LeavesUnsaved(_)));
        }
        self.settled();
    }

    pub(super) fn not_saved(&mut self, ticket: u64, why: String) {
        let Some(waiting) = self.saving.waiting.get_mut(&ticket) else {
            return;
        };
        waiting.failed = true;
        if !self.warned {
            self.notice = Some(Notice::NotSaved(self.saving.len(), why));
        }
        self.settled();
    }

    fn settled(&mut self) {
        self.refresh_summary();
        let told = matches!(self.stage, Stage::Feedback(_));
        if self.going_on && told && !self.saving.under_way() {
            self.going_on = false;
            self.go_on();
        }
    }

    /// Goes on from an answer: at once where its review is on disk or was refused, else as soon as it is.
    pub(super) fn go_on_when_saved(&mut self) {
        if self.saving.under_way() {
            self.going_on = true;
            return;
        }
        self.saving.try_again(&mut self.effects);
        self.go_on();
    }
}
