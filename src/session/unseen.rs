//! Cards that are asked without having been shown first.

use super::Session;
use super::stage::Stage;
use crate::question::{self, Verdict};

impl Session {
    /// The player knows the card that is just being shown for the first time: it is asked at once. Missed, it comes back
    /// today and is shown then.
    pub(super) fn ask_me(&mut self) {
        if !matches!(self.stage, Stage::Introduction(_)) {
            return;
        }
        self.quieten();
        let Some(step) = self.current.take() else {
            return;
        };
        let decks = self.decks.clone();
        let card = question::card(&decks, &step.item.card);
        if !card.is_some_and(|card| self.ask(step, card)) {
            self.go_on();
        }
    }

    /// Takes in an answer about a card. Right and in time, it counts as met; otherwise it is shown before it is asked
    /// again. True where the plan had it asked unseen.
    pub(super) fn was_unseen(&mut self, card: &str, verdict: &Verdict) -> bool {
        if verdict.right && verdict.in_time {
            self.met.insert(card.to_string());
        }
        !self.met.contains(card) && self.unseen.remove(card)
    }
}
