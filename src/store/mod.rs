//! The log on disk: one SQLite file, rows that are never changed.
//!
//! The file is `log.db` in the data folder, in WAL mode with `synchronous=FULL`: when [`Store::append`] returns, the
//! review is on the disk, and neither a kill nor a power cut loses it. What was written goes from the write-ahead file
//! into `log.db` at once, so that a copy of that file alone is whole. Reviews are only ever added (triggers hold to that
//! for any program that opens the file); a mistaken one is withdrawn by a further row. Each row has a check sum, see
//! `sums.rs`. Two programs may use one folder at once: each write is one transaction, a writer waits for the other up to
//! [`PATIENCE`].

mod copies;
mod error;
mod facts;
mod image;
mod item;
mod latest;
mod leftover;
mod merge;
mod opening;
mod reading;
mod repair;
mod row;
mod row_check;
mod steps;
mod sums;
#[cfg(test)]
mod tests;
mod unseen;
mod verify;

pub use copies::{BACKUPS, restore};
pub use error::{StoreError, data_option};
pub use item::{ItemKey, Sense};
pub use latest::{Latest, TempoRow};
pub use leftover::new_file;
pub use merge::{Merged, SessionSpan};
pub use repair::{Repaired, repair};
pub use row::{Fact, IntroductionRow, Logged, OutcomeRow, Reply, ReviewRow, Words};
pub use unseen::{FirstAnswer, FirstAnswers};
pub use verify::Health;

use row::with_figures;
use row_check::RowCheck;
use rusqlite::{Connection, OptionalExtension, ToSql, Transaction, TransactionBehavior, params};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How long a write waits for another program that is writing to the same log.
pub const PATIENCE: Duration = Duration::from_millis(400);

/// Name of the log in the data folder.
pub const FILE: &str = "log.db";

type Result<T> = std::result::Result<T, StoreError>;

/// How far a log has come. Ids have no holes, so the mark also says how many reviews there are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct LogPosition {
    /// Id of the last review; 0 for none.
    pub review: i64,
    /// Id of the last withdrawal; 0 for none.
    pub withdrawal: i64,
}

/// An open log.
pub struct Store {
    // Closed in this order: a file that is closed takes the database's locks with it.
    db: Connection,
    /// The file as it was opened; `None` where the log is in memory alone.
    file: Option<fs::File>,
    /// Says to others that the log is in use.
    _in_use: Option<fs::File>,
    path: PathBuf,
    /// Rows later than this do not count (milliseconds since 1970 UTC).
    until: i64,
    rows: RowCheck,
    notes: Vec<String>,
}

impl Store {
    /// Opens the log in `folder`, making both where they are not there yet and bringing an older log up to this
    /// program's version.
    ///
    /// # Errors
    /// Any [`StoreError`]; a log of a newer program, a damaged one and a file that is not a log are left as they were.
    pub fn open(folder: &Path) -> Result<Store> {
        opening::open(folder, true)
    }

    /// Opens the log in `folder` for a command that reads: nothing is made, and a log that cannot be written to is read
    /// into memory.
    ///
    /// # Errors
    /// As [`Store::open`], and [`StoreError::Missing`] where there is no log.
    pub fn open_to_read(folder: &Path) -> Result<Store> {
        opening::open_to_read(folder)
    }

    /// A log in memory alone, in place of one that is not there yet in `folder`.
    ///
    /// # Errors
    /// Of the database.
    pub fn empty(folder: &Path) -> Result<Store> {
        opening::in_memory(&folder.join(FILE), &[])
    }

    /// The file of the log.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What was found and done at the opening that the player should know, one sentence each.
    pub fn notes(&self) -> &[String] {
        &self.notes
    }

    /// From now on rows later than this (milliseconds since 1970 UTC) count for nothing that is read but
    /// [`Store::reviews`]: a clock was ahead when they were written.
    pub fn count_until(&mut self, at: i64) {
        self.until = at;
    }

    /// Adds a review and gives it its id. On the disk when it returns; after an error nothing of it is in the log,
    /// and it may be tried again.
    ///
    /// # Errors
    /// [`StoreError::Row`] for a value out of its range, otherwise what the disk or the other program did.
    pub fn append(&mut self, row: &ReviewRow) -> Result<i64> {
        row.check().map_err(StoreError::row("review"))?;
        self.write(|t| insert(t, row))
    }

    /// Adds reviews as one: all of them, or after an error none. Gives the id of the last.
    ///
    /// # Errors
    /// As [`Store::append`].
    #[cfg(any(test, feature = "internals"))]
    pub fn append_all(&mut self, rows: impl IntoIterator<Item = ReviewRow>) -> Result<Option<i64>> {
        let mut wrong = None;
        let last = self.write(|t| {
            let mut last = None;
            for row in rows {
                if let Err(why) = row.check() {
                    wrong = Some(StoreError::row("review")(why));
                    return Err(rusqlite::Error::QueryReturnedNoRows);
                }
                last = Some(insert(t, &row)?);
            }
            Ok(last)
        });
        wrong.map_or(last, Err)
    }

    /// Takes a review out of what counts, by a further row that says why. The review stays in the log.
    ///
    /// # Errors
    /// [`StoreError::Review`] when there is no such review or it was withdrawn already.
    pub fn withdraw(&mut self, review: i64, at: i64, why: &str) -> Result<()> {
        let bad = self.write(|t| {
            let there: Option<bool> = t
                .query_row(
                    "SELECT EXISTS (SELECT 1 FROM withdrawal WHERE review = ?1) FROM review WHERE id = ?1",
                    [review],
                    |r| r.get(0),
                )
                .optional()?;
            if there == Some(false) {
                withdraw(t, review, at, why)?;
            }
            Ok(match there {
                None => Some("there is no"),
                Some(true) => Some("already withdrawn:"),
                Some(false) => None,
            })
        })?;
        bad.map_or(Ok(()), |why| Err(StoreError::Review { id: review, why }))
    }

    /// Notes that a card was shown in full.
    ///
    /// # Errors
    /// As [`Store::append`].
    pub fn meet(&mut self, m: &IntroductionRow) -> Result<()> {
        m.check().map_err(StoreError::row("meeting"))?;
        self.write(|t| meet(t, m))
    }

    /// How far the log has come.
    ///
    /// # Errors
    /// Of the database.
    #[cfg(any(test, feature = "internals"))]
    pub fn mark(&self) -> Result<LogPosition> {
        self.read(mark)
    }

    /// A setting that was kept under `key`; `None` where there is none or it is of another shape by now.
    ///
    /// # Errors
    /// Of the database.
    pub fn setting<T: DeserializeOwned>(&self, key: &str) -> Result<Option<T>> {
        let text: Option<String> = self.read(|db| {
            db.query_row("SELECT json FROM setting WHERE key = ?1", [key], |r| {
                r.get(0)
            })
            .optional()
        })?;
        Ok(text.and_then(|t| serde_json::from_str(&t).ok()))
    }

    /// Keeps a setting under `key`, replacing the one before it.
    ///
    /// # Errors
    /// [`StoreError::Row`] for a value that JSON cannot hold, otherwise as [`Store::append`].
    pub fn set<T: Serialize>(&mut self, key: &str, value: &T) -> Result<()> {
        let text = serde_json::to_string(value).map_err(|e| format!("{key}: {e}"));
        let text = text.map_err(StoreError::row("setting"))?;
        self.write(|t| {
            t.execute(
                "INSERT INTO setting (key, json, sum) VALUES (?1, ?2, ?3)
                 ON CONFLICT (key) DO UPDATE SET json = excluded.json, sum = excluded.sum",
                params![key, text, sums::setting(key, &text)],
            )?;
            Ok(())
        })
    }

    fn read<T>(&self, f: impl FnOnce(&Connection) -> rusqlite::Result<T>) -> Result<T> {
        f(&self.db).map_err(|e| self.error(e))
    }

    /// Runs `f` in a transaction that takes the write lock at once, so that waiting happens only at its start. Then all
    /// goes into the file itself, as far as no other program reads at that moment. A damaged log is not written to.
    fn write<T>(&mut self, f: impl FnOnce(&Transaction<'_>) -> rusqlite::Result<T>) -> Result<T> {
        self.still_there()?;
        self.sound()?;
        let done = (|| {
            let t = self
                .db
                .transaction_with_behavior(TransactionBehavior::Immediate)?;
            let value = f(&t)?;
            sums::seal(&t)?;
            t.commit()?;
            Ok(value)
        })();
        let value = done.map_err(|e| self.error(e))?;
        // It is on the disk; what does not go into the one file now does so with the next write or start.
        let _ = opening::into_one_file(&self.db);
        self.still_there()?;
        Ok(value)
    }

    /// Looks whether the file that was opened is the one that is in the folder.
    ///
    /// # Errors
    /// [`StoreError::Gone`] where it is not.
    pub fn still_there(&self) -> Result<()> {
        match &self.file {
            Some(file) if !opening::is_the_log(file, &self.path) => Err(StoreError::Gone {
                path: self.path.clone(),
            }),
            _ => Ok(()),
        }
    }

    fn error(&self, source: rusqlite::Error) -> StoreError {
        StoreError::from_database(&self.path, source)
    }
}

fn mark(db: &Connection) -> rusqlite::Result<LogPosition> {
    db.prepare_cached(
        "SELECT coalesce((SELECT max(id) FROM review), 0), coalesce((SELECT max(id) FROM withdrawal), 0)",
    )?
    .query_row([], |r| {
        Ok(LogPosition {
            review: r.get(0)?,
            withdrawal: r.get(1)?,
        })
    })
}

/// The figures of a review, each with its column.
macro_rules! values {
    ($row:ident, $($field:ident $column:literal),*) => {
        &[$(($column, &$row.$field)),*]
    };
}

/// Adds a review that was checked.
fn insert(t: &Transaction<'_>, row: &ReviewRow) -> rusqlite::Result<i64> {
    let item = intern(
        t,
        &steps::ITEM,
        &[
            ("card", &row.card),
            ("kind", &row.kind),
            ("sense", &row.sense),
        ],
    )?;
    let concepts = intern(t, &steps::CONCEPTS, &[("names", &json(&row.concepts))])?;
    let reply = intern(
        t,
        &steps::REPLY,
        &[
            ("choices", &json(&row.choices)),
            ("answer", &row.answer),
            ("keys", &json(&row.keys)),
        ],
    )?;
    let seed = row.seed as i64;
    let figures: &[(&str, &dyn ToSql)] = with_figures!(values!(row,));
    let rest: &[(&str, &dyn ToSql)] = &[
        ("session", &row.session),
        ("item", &item),
        ("concepts", &concepts),
        ("reply", &reply),
        ("seed", &seed),
        ("program", &row.program),
    ];
    let id = sums::insert(t, &steps::REVIEW, None, &[figures, rest].concat())?;
    let shown: &[(&str, &dyn ToSql)] = &[("score", &row.score), ("prompt", &row.prompt)];
    sums::insert(t, &steps::SHOWN, Some(id), shown)?;
    Ok(id)
}

/// Withdraws a review that is there.
fn withdraw(db: &Connection, review: i64, at: i64, why: &str) -> rusqlite::Result<()> {
    let values: &[(&str, &dyn ToSql)] = &[("review", &review), ("at", &at), ("why", &why)];
    sums::insert(db, &steps::WITHDRAWAL, None, values).map(drop)
}

/// Adds a meeting that was checked.
fn meet(db: &Connection, m: &IntroductionRow) -> rusqlite::Result<()> {
    let values: &[(&str, &dyn ToSql)] = &[
        ("card", &m.card),
        ("at", &m.at),
        ("utc_offset", &m.utc_offset),
        ("session", &m.session),
        ("seconds", &m.seconds),
    ];
    sums::insert(db, &steps::MEETING, None, values).map(drop)
}

/// The number of a row that is written once and then shared.
fn intern(
    db: &Connection,
    table: &steps::KeptTable,
    values: &[(&str, &dyn ToSql)],
) -> rusqlite::Result<i64> {
    let same: Vec<_> = values.iter().map(|v| format!("{} = ?", v.0)).collect();
    let find = format!("SELECT id FROM {} WHERE {}", table.name, same.join(" AND "));
    let sought: Vec<&dyn ToSql> = values.iter().map(|v| v.1).collect();
    let found = db
        .prepare_cached(&find)?
        .query_row(&sought[..], |r| r.get(0))
        .optional()?;
    match found {
        Some(id) => Ok(id),
        None => sums::insert(db, table, None, values),
    }
}

fn json<T: Serialize>(value: &T) -> String {
    serde_json::to_string(value).expect("lists and maps of text are JSON")
}
