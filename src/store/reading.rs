//! Rows of the log, read back whole.

use super::{Logged, Meeting, Result, ReviewRow, Store};
use rusqlite::{Connection, Row};
use serde::de::DeserializeOwned;

/// Every review after an id, whole: the columns of [`logged`].
pub(super) const LOGGED: &str = "SELECT r.id, r.at, r.utc_offset, r.session, i.card, i.kind, i.sense, c.names, r.seed, r.bpm, r.grid,
                   s.score, s.prompt, p.choices, p.answer, p.keys, r.correct, r.guess, r.seconds, r.within, r.replays,
                   r.slowed, r.in_time, r.program, w.why, r.forecast
                 FROM review r LEFT JOIN item i ON i.id = r.item LEFT JOIN concepts c ON c.id = r.concepts
                   LEFT JOIN reply p ON p.id = r.reply LEFT JOIN shown s ON s.review = r.id
                   LEFT JOIN withdrawal w ON w.review = r.id
                 WHERE r.id > ?1 ORDER BY r.id";

impl Store {
    /// Every meeting, oldest first.
    ///
    /// # Errors
    /// Of the database.
    pub fn meetings(&self) -> Result<Vec<Meeting>> {
        self.read(|db| {
            db.prepare_cached(
                "SELECT card, at, utc_offset, session, seconds FROM meeting ORDER BY id",
            )?
            .query_map([], |r| {
                Ok(Meeting {
                    card: r.get(0)?,
                    at: r.get(1)?,
                    utc_offset: r.get(2)?,
                    session: r.get(3)?,
                    seconds: r.get(4)?,
                })
            })?
            .collect()
        })
    }

    /// Hands every review after id `after` to `each`, in the order in which they were written, withdrawn ones
    /// included (they say so).
    ///
    /// # Errors
    /// Of the database; [`StoreError::Damaged`](super::StoreError::Damaged) at a row that cannot be read.
    pub fn reviews(&self, after: i64, each: impl FnMut(Logged)) -> Result<()> {
        self.read(|db| reviews_in(db, after, each))
    }
}

/// As [`Store::reviews`], of a moment that the caller holds.
pub(super) fn reviews_in(
    db: &Connection,
    after: i64,
    mut each: impl FnMut(Logged),
) -> rusqlite::Result<()> {
    let mut query = db.prepare_cached(LOGGED)?;
    let mut rows = query.query([after])?;
    while let Some(r) = rows.next()? {
        each(logged(r)?);
    }
    Ok(())
}

pub(super) fn logged(r: &Row<'_>) -> rusqlite::Result<Logged> {
    Ok(Logged {
        id: r.get(0)?,
        row: ReviewRow {
            at: r.get(1)?,
            utc_offset: r.get(2)?,
            session: r.get(3)?,
            card: r.get(4)?,
            kind: r.get(5)?,
            sense: r.get(6)?,
            concepts: decoded(r, 7)?,
            seed: r.get::<_, i64>(8)? as u64,
            bpm: r.get(9)?,
            grid: named(r, 10)?,
            score: r.get(11)?,
            prompt: r.get(12)?,
            choices: decoded(r, 13)?,
            answer: r.get(14)?,
            keys: decoded(r, 15)?,
            correct: r.get(16)?,
            guess: r.get(17)?,
            seconds: r.get(18)?,
            limit: r.get(19)?,
            replays: r.get(20)?,
            slowed: r.get(21)?,
            in_time: r.get(22)?,
            program: r.get(23)?,
            forecast: r.get(25)?,
        },
        withdrawn: r.get(24)?,
    })
}

/// A column of JSON.
pub(super) fn decoded<T: DeserializeOwned>(r: &Row<'_>, column: usize) -> rusqlite::Result<T> {
    let text: String = r.get(column)?;
    serde_json::from_str(&text).map_err(|e| unreadable(column, e))
}

/// A column that holds the name of one of a few things.
fn named<T: DeserializeOwned>(r: &Row<'_>, column: usize) -> rusqlite::Result<T> {
    let text: String = r.get(column)?;
    serde_json::from_value(serde_json::Value::String(text)).map_err(|e| unreadable(column, e))
}

fn unreadable(column: usize, e: serde_json::Error) -> rusqlite::Error {
    rusqlite::Error::FromSqlConversionFailure(column, rusqlite::types::Type::Text, Box::new(e))
}
