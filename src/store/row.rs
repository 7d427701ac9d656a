use super::StoreError;
use crate::rhythm::Grid;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// One asked question with its answer: a row of the log, never changed once written. The fields are those of
/// `whichside log export`, in this order.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ReviewRow {
    /// When the answer was given: milliseconds since 1970-01-01 00:00 UTC.
    pub at: i64,
    /// The player's clock at that moment: minutes east of UTC.
    pub utc_offset: i32,
    /// The session in which it was asked; reviews of one session share it.
    pub session: String,
    /// `deck/card`.
    pub card: String,
    /// Kind of question: `side`, `strokes`, `hand`, ...
    pub kind: String,
    /// `read` or `hear`.
    pub sense: String,
    /// The ideas that the question exercised.
    pub concepts: Vec<String>,
    /// With the card, the kind and the sense, the seed makes the question again.
    pub seed: u64,
    /// Tempo at which it was asked, beats a minute (see [`Grid`] for the beat).
    pub bpm: f64,
    /// The grid of what was asked.
    pub grid: Grid,
    /// The score that was asked, in block notation, so that the question outlives its deck.
    pub score: String,
    /// The question in words.
    pub prompt: String,
    /// What could be answered: key to label.
    pub choices: BTreeMap<char, String>,
    /// The keys that were given, in order.
    pub answer: String,
    /// For each key of the answer, the keys that are right.
    pub keys: Vec<String>,
    /// Share of the answer that was right, 0 to 1.
    pub correct: f64,
    /// Chance that a player who knows nothing is right, 0 to 1.
    pub guess: f64,
    /// Seconds from the question to the answer.
    pub seconds: f64,
    /// Seconds within which an answer counts as in time: one clave cycle at the tempo.
    pub limit: f64,
    /// How often the player listened again before answering.
    pub replays: u32,
    /// Whether it was played slower before the answer.
    pub slowed: bool,
    /// Right, and within `limit`.
    pub in_time: bool,
    /// Version of the program that asked.
    pub program: String,
    /// Chance of recall, 0 to 1, that memory forecast before the answer was seen. Absent in reviews of before it was
    /// kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub forecast: Option<f64>,
}

impl ReviewRow {
    /// The item that memory keeps track of: `deck/card:kind:sense`.
    pub fn item(&self) -> String {
        format!("{}:{}:{}", self.card, self.kind, self.sense)
    }

    /// Checks what the columns of the log cannot hold.
    ///
    /// # Errors
    /// [`StoreError::Row`] names the first field that is out of its range.
    pub(super) fn check(&self) -> Result<(), StoreError> {
        let wrong = |why: String| {
            Err(StoreError::Row {
                what: "review",
                why,
            })
        };
        let unit = 0.0..=1.0;
        let named = [
            ("card", &self.card),
            ("kind", &self.kind),
            ("sense", &self.sense),
            ("session", &self.session),
        ];
        if let Some((name, _)) = named.iter().find(|(_, v)| v.is_empty()) {
            return wrong(format!("its {name} is empty"));
        }
        if !unit.contains(&self.correct) || !unit.contains(&self.guess) {
            return wrong(format!(
                "correct {} and guess {} must be between 0 and 1",
                self.correct, self.guess
            ));
        }
        if !(self.seconds >= 0.0 && self.seconds.is_finite()) {
            return wrong(format!("{} is no time in seconds", self.seconds));
        }
        if !(self.limit > 0.0 && self.limit.is_finite() && self.bpm > 0.0 && self.bpm.is_finite()) {
            return wrong(format!(
                "limit {} s and tempo {} must be positive",
                self.limit, self.bpm
            ));
        }
        if let Some(forecast) = self.forecast.filter(|f| !unit.contains(f)) {
            return wrong(format!("forecast {forecast} must be between 0 and 1"));
        }
        if self.utc_offset.abs() > 18 * 60 {
            return wrong(format!("{} min is no offset from UTC", self.utc_offset));
        }
        Ok(())
    }
}

/// A review as it stands in the log.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Logged {
    /// Place in the log: 1 for the first review, no number left out.
    pub id: i64,
    /// What was written.
    #[serde(flatten)]
    pub row: ReviewRow,
    /// Why the review no longer counts; absent for one that counts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub withdrawn: Option<String>,
}

/// A card shown and played in full for the first time, with its answer, before anything was asked about it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Meeting {
    /// `deck/card`.
    pub card: String,
    /// Milliseconds since 1970-01-01 00:00 UTC.
    pub at: i64,
    /// Minutes east of UTC.
    pub utc_offset: i32,
    /// The session that it belongs to.
    pub session: String,
    /// How long it was looked at, in seconds.
    pub seconds: f64,
}
