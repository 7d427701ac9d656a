//! The tempo at which a card is held.

use serde::Serialize;

/// The tempos of a card, beats a minute.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HeldTempo {
    /// The card, `deck/name`.
    pub card: String,
    /// Its name.
    pub title: String,
    /// Where the questions about it stand: the middle one of them.
    pub held: f64,
    /// The fastest at which an answer was right and in time; `None` where none was.
    pub tops: Option<f64>,
}

impl HeldTempo {
    /// In words, `held at 168; tops at 190`.
    pub fn in_words(&self) -> String {
        let tops = self.tops.map(|tops| format!("; tops at {tops:.0}"));
        format!("held at {:.0}{}", self.held, tops.unwrap_or_default())
    }
}
