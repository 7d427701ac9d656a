//! First answers about cards that had not been shown in full.

use super::{Result, Sense, Store};

/// The first answer to an item whose card had not been shown in full. Fields as in [`super::ReviewRow`].
#[derive(Clone, Debug, PartialEq)]
pub struct Unseen {
    /// The card.
    pub card: String,
    /// Kind of question.
    pub kind: String,
    /// By eye or by ear.
    pub sense: Sense,
    /// Milliseconds since 1970 UTC.
    pub at: i64,
    /// Share that was right, 0 to 1.
    pub correct: f64,
    /// Seconds that it took, and within which it was in time.
    pub seconds: f64,
    /// See `seconds`.
    pub limit: f64,
    /// Chance of guessing it, 0 to 1.
    pub guess: f64,
}

impl Store {
    /// The first answers to items whose cards had not been shown in full, the first one first; those that were withdrawn
    /// do not count.
    ///
    /// # Errors
    /// Of the database.
    pub fn unseen(&self) -> Result<Vec<Unseen>> {
        self.read(|db| {
            let mut query = db.prepare_cached(
                "SELECT i.card, i.kind, i.sense, r.at, r.correct, r.guess, r.seconds, r.within
                 FROM (SELECT id, min(at) FROM review r
                       WHERE NOT EXISTS (SELECT 1 FROM withdrawal w WHERE w.review = r.id) AND at <= ?1
                       GROUP BY item) f
                 JOIN review r ON r.id = f.id
                 JOIN item i ON i.id = r.item
                 WHERE NOT EXISTS (SELECT 1 FROM meeting m WHERE m.card = i.card AND m.at <= r.at)
                 ORDER BY r.at, r.id",
            )?;
            let rows = query.query_map([self.until], |r| {
                Ok(Unseen {
                    card: r.get(0)?,
                    kind: r.get(1)?,
                    sense: r.get(2)?,
                    at: r.get(3)?,
                    correct: r.get(4)?,
                    guess: r.get(5)?,
                    seconds: r.get(6)?,
                    limit: r.get(7)?,
                })
            })?;
            rows.collect()
        })
    }
}
