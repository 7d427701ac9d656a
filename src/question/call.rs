//! The kind `call`: call and answer. Two bars are played, and two are the player's.

use super::playing::{self, Turns};
use super::{AnswerMode, Kind};

/// Hear two bars of the conga and play them after it, in time with the band that goes on.
pub(super) static CALL: Kind = Kind {
    name: "call",
    about: "call and answer: two bars are played, and you play them after the conga",
    usual_guess: 1e-6,
    may_turn: true,
    answered: AnswerMode::Tapped,
    concepts: |_, _| vec!["call and answer"],
    usual_seconds: |card| super::timing::tapped(card, 2 * playing::TIMES),
    fits: playing::fits,
    make: |card, sense, draw, setup| playing::made(card, sense, draw, setup, Turns::CallAndAnswer),
    ..Kind::CHOSEN
};
