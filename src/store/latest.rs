//! The last answers: to one item, of some kinds, or of all.

use super::reading::{every_review, item_key, list, logged};
use super::{ItemKey, Logged, Result, ReviewRow, Sense, Store};
use crate::rhythm::{Grid, Tempo};
use rusqlite::{OptionalExtension, Row, params, params_from_iter};

/// What the last answer to an item was like. Fields as in [`super::ReviewRow`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Latest {
    /// At which tempo.
    pub tempo: Tempo,
    /// Share that was right, 0 to 1.
    pub correct: f64,
    /// Whether it was right within its time.
    pub in_time: bool,
    /// Whether it was slowed down.
    pub slowed: bool,
    /// Whether every answer to the item so far was right within its time and not slowed down.
    pub rising: bool,
}

/// An answer as far as it tells of tempo. Fields as in [`super::ReviewRow`].
#[derive(Clone, Debug, PartialEq)]
pub struct TempoRow {
    /// What was asked.
    pub item: ItemKey,
    /// The grid of what was asked.
    pub grid: Grid,
    /// At which tempo.
    pub tempo: Tempo,
    /// Share that was right, 0 to 1.
    pub correct: f64,
    /// Whether it was right within its time.
    pub in_time: bool,
    /// Whether it was slowed down.
    pub slowed: bool,
}

/// This many answers are some months of practice: what kinds were asked before tells nothing of today.
const RECENT: usize = 5_000;

impl Store {
    /// The last answer to an item that was not withdrawn; `None` where there is none.
    ///
    /// # Errors
    /// Of the database.
    pub fn latest(&self, card: &str, kind: &str, sense: Sense) -> Result<Option<Latest>> {
        self.read(|db| {
            let mut query = db.prepare_cached(
                "SELECT bpm, correct, in_time, slowed, in_time AND NOT slowed AND NOT EXISTS (
                   SELECT 1 FROM review b WHERE b.item = r.item AND (NOT b.in_time OR b.slowed)
                     AND NOT EXISTS (SELECT 1 FROM withdrawal w WHERE w.review = b.id) AND b.at <= ?4)
                 FROM review r
                 WHERE item = (SELECT id FROM item WHERE card = ?1 AND kind = ?2 AND sense = ?3)
                   AND NOT EXISTS (SELECT 1 FROM withdrawal w WHERE w.review = r.id)
                   AND at <= ?4
                 ORDER BY at DESC, id DESC LIMIT 1",
            )?;
            let latest = query.query_row(params![card, kind, sense, self.until], |r| {
                Ok(Latest {
                    tempo: r.get(0)?,
                    correct: r.get(1)?,
                    in_time: r.get(2)?,
                    slowed: r.get(3)?,
                    rising: r.get(4)?,
                })
            });
            latest.optional()
        })
    }

    /// Of the [`RECENT`] answers that were written last the last `most` of these kinds that count, the oldest first.
    ///
    /// # Errors
    /// Of the database; [`StoreError::Damaged`](super::StoreError::Damaged) at a row that cannot be read.
    pub fn latest_of(&self, kinds: &[&str], most: usize) -> Result<Vec<ReviewRow>> {
        self.read(|db| {
            let marks = vec!["?"; kinds.len()].join(", ");
            // Without an index it goes back from the end and stops early.
            let mut query = db.prepare(&format!(
                "SELECT id FROM review r NOT INDEXED WHERE id > (SELECT max(id) FROM review) - {RECENT}
                   AND item IN (SELECT id FROM item WHERE kind IN ({marks}))
                   AND NOT EXISTS (SELECT 1 FROM withdrawal w WHERE w.review = r.id)
                   AND at <= {} ORDER BY id DESC LIMIT {most}",
                self.until
            ))?;
            let ids = query.query_map(params_from_iter(kinds), |r| r.get(0))?;
            let ids: Vec<i64> = ids.collect::<rusqlite::Result<_>>()?;
            let mut next = db.prepare_cached(&(every_review() + " LIMIT 1"))?;
            let row = |id: i64| next.query_row([id - 1], logged);
            let rows = ids.into_iter().map(row);
            let mut rows: Vec<Logged> = rows.collect::<rusqlite::Result<_>>()?;
            rows.sort_by_key(|logged| (logged.row.at, logged.id));
            Ok(rows.into_iter().map(|logged| logged.row).collect())
        })
    }

    /// The `most` answers that were written last and count, the oldest first.
    ///
    /// # Errors
    /// Of the database.
    pub fn latest_tempos(&self, most: usize) -> Result<Vec<TempoRow>> {
        let sql = "SELECT i.card, i.kind, i.sense, r.grid, r.bpm, r.correct, r.in_time, r.slowed
            FROM (SELECT id, at, item, grid, bpm, correct, in_time, slowed FROM review n WHERE at <= ?1
              AND NOT EXISTS (SELECT 1 FROM withdrawal w WHERE w.review = n.id) ORDER BY id DESC LIMIT ?2) r
            JOIN item i ON i.id = r.item ORDER BY r.at, r.id";
        let row = |r: &Row<'_>| {
            Ok(TempoRow {
                item: item_key(r, 0)?,
                grid: r.get(3)?,
                tempo: r.get(4)?,
                correct: r.get(5)?,
                in_time: r.get(6)?,
                slowed: r.get(7)?,
            })
        };
        self.read(|db| list(db, sql, params![self.until, most as i64], row))
    }
}
