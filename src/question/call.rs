//! The kind `call`: call and answer. Two bars are played, and two are the player's.

use super::playing::{self, Turns};
use super::{Draw, Kind, QuestionParts, Sense, Setup};
use crate::deck::Card;

/// Hear two bars of the conga and play them after it, in time with the band that goes on.
pub struct CallKind;

impl Kind for CallKind {
    fn name(&self) -> &'static str {
        "call"
    }

    fn about(&self) -> &'static str {
        "call and answer: two bars are played, and you play them after the conga"
    }

    fn usual_guess(&self) -> f64 {
        1e-6
    }

    fn fits(&self, card: &Card, sense: Sense) -> bool {
        playing::fits(card, sense)
    }

    fn concepts(&self, _card: &Card, _sense: Sense) -> Vec<String> {
        vec!["call and answer".to_string()]
    }

    fn usual_seconds(&self, card: &Card) -> f64 {
        super::timing::tapped(card, 2 * playing::TIMES)
    }

    fn may_turn(&self) -> bool {
        true
    }

    fn is_tapped(&self) -> bool {
        true
    }

    fn make(
        &self,
        card: &Card,
        sense: Sense,
        draw: &mut Draw,
        setup: &Setup,
    ) -> Option<QuestionParts> {
        playing::made(card, sense, draw, setup, Turns::CallAndAnswer)
    }
}
