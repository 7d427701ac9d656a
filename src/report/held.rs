//! The tempo at which a card is held.

use crate::rhythm::Tempo;
use serde::Serialize;

/// The tempos of a card.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HeldTempo {
    /// The card, `deck/name`.
    pub card: String,
    /// Its name.
    pub title: String,
    /// Where the middle one of the questions about it stands, not above `tops`.
    pub held: Tempo,
    /// The fastest at which an answer was right and in time.
    pub tops: Tempo,
}

impl HeldTempo {
    /// In words, `held at 168; tops at 190`.
    pub fn in_words(&self) -> String {
        format!("held at {:.0}; tops at {:.0}", self.held, self.tops)
    }
}
