//! The log on disk: one SQLite file, rows that are never changed.
//!
//! The file is `log.db` in the data folder, in WAL mode with `synchronous=FULL`: when [`Store::append`] returns, the
//! review is on the disk, and neither a kill nor a power cut loses it. Reviews are only ever added (triggers hold
//! to that for any program that opens the file); a mistaken one is withdrawn by a further row. Two programs may
//! use one folder at once: each write is one transaction, a writer waits for the other up to [`PATIENCE`].

mod error;
mod item;
mod latest;
mod opening;
mod reading;
mod row;
mod steps;
#[cfg(test)]
mod tests;
mod unseen;
mod verify;

pub use error::StoreError;
pub use latest::Latest;
pub use item::{ItemKey, Sense};
pub use row::{Fact, IntroductionRow, Logged, Reply, ReviewRow, Words};
pub use unseen::Unseen;
pub use verify::Health;

use row::with_figures;
use rusqlite::{Connection, OptionalExtension, ToSql, Transaction, params};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How long a program waits for another that is writing to the same log.
pub const PATIENCE: Duration = Duration::from_secs(10);

const FILE: &str = "log.db";

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
    db: Connection,
    path: PathBuf,
}

impl Store {
    /// Opens the log in `folder`, making both where they are not there yet and bringing an older log up to this
    /// program's version.
    ///
    /// # Errors
    /// Any [`StoreError`]; a log of a newer program and a file that is not a log are left byte for byte as they were.
    pub fn open(folder: &Path) -> Result<Store> {
        let unusable = |why| StoreError::Folder {
            path: folder.to_path_buf(),
            why,
        };
        fs::create_dir_all(folder).map_err(unusable)?;
        let path = folder.join(FILE);
        opening::refuse_by_header(&path)?;
        opening::connect(&path)
    }

    /// The file of the log.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Adds a review and gives it its id. On the disk when it returns; after an error nothing of it is in the log,
    /// and it may be tried again.
    ///
    /// # Errors
    /// [`StoreError::Row`] for a value out of its range, otherwise what the disk or the other program did.
    pub fn append(&mut self, row: &ReviewRow) -> Result<i64> {
        row.check()?;
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
                if let Err(e) = row.check() {
                    wrong = Some(e);
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
                t.execute(
                    "INSERT INTO withdrawal (review, at, why) VALUES (?1, ?2, ?3)",
                    params![review, at, why],
                )?;
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
        if m.card.is_empty() || !(m.seconds >= 0.0 && m.seconds.is_finite()) {
            return Err(StoreError::Row {
                what: "meeting",
                why: format!("card `{}`, {} seconds", m.card, m.seconds),
            });
        }
        self.write(|t| {
            t.prepare_cached(
                "INSERT INTO meeting (card, at, utc_offset, session, seconds) VALUES (?1, ?2, ?3, ?4, ?5)",
            )?
            .execute(params![m.card, m.at, m.utc_offset, m.session, m.seconds])?;
            Ok(())
        })
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

    /// Keeps a setting under `key`, in place of the one before it.
    ///
    /// # Errors
    /// [`StoreError::Row`] for a value that JSON cannot hold, otherwise as [`Store::append`].
    pub fn set<T: Serialize>(&mut self, key: &str, value: &T) -> Result<()> {
        let text = serde_json::to_string(value).map_err(|e| StoreError::Row {
            what: "setting",
            why: format!("{key}: {e}"),
        })?;
        self.write(|t| {
            t.execute(
                "INSERT INTO setting VALUES (?1, ?2) ON CONFLICT (key) DO UPDATE SET json = excluded.json",
                [key, &text],
            )?;
            Ok(())
        })
    }

    fn read<T>(&self, f: impl FnOnce(&Connection) -> rusqlite::Result<T>) -> Result<T> {
        f(&self.db).map_err(|e| self.error(e))
    }

    /// Runs `f` in a transaction that takes the write lock at once, so that waiting happens only at its start.
    fn write<T>(&mut self, f: impl FnOnce(&Transaction<'_>) -> rusqlite::Result<T>) -> Result<T> {
        let done = (|| {
            let t = self
                .db
                .transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
            let value = f(&t)?;
            t.commit()?;
            Ok(value)
        })();
        done.map_err(|e| self.error(e))
    }

    fn error(&self, source: rusqlite::Error) -> StoreError {
        match source {
            rusqlite::Error::FromSqlConversionFailure(..)
            | rusqlite::Error::InvalidColumnType(..)
            | rusqlite::Error::IntegralValueOutOfRange(..) => StoreError::Damaged {
                path: self.path.clone(),
                detail: source.to_string(),
            },
            source => StoreError::from_database(&self.path, source),
        }
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
        "SELECT id FROM item WHERE card = ?1 AND kind = ?2 AND sense = ?3",
        "INSERT INTO item (card, kind, sense) VALUES (?1, ?2, ?3)",
        params![row.card, row.kind, row.sense],
    )?;
    let concepts = intern(
        t,
        "SELECT id FROM concepts WHERE names = ?1",
        "INSERT INTO concepts (names) VALUES (?1)",
        params![json(&row.concepts)],
    )?;
    let reply = intern(
        t,
        "SELECT id FROM reply WHERE choices = ?1 AND answer = ?2 AND keys = ?3",
        "INSERT INTO reply (choices, answer, keys) VALUES (?1, ?2, ?3)",
        params![json(&row.choices), row.answer, json(&row.keys)],
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
    let (columns, values): (Vec<&str>, Vec<&dyn ToSql>) =
        figures.iter().chain(rest).copied().unzip();
    let marks = vec!["?"; columns.len()].join(", ");
    let sql = format!(
        "INSERT INTO review ({}) VALUES ({marks})",
        columns.join(", ")
    );
    t.prepare_cached(&sql)?.execute(&values[..])?;
    let id = t.last_insert_rowid();
    t.prepare_cached("INSERT INTO shown (review, score, prompt) VALUES (?1, ?2, ?3)")?
        .execute(params![id, row.score, row.prompt])?;
    Ok(id)
}

/// The id of a row that is written once and then shared.
fn intern(
    t: &Transaction<'_>,
    find: &str,
    add: &str,
    values: &[&dyn rusqlite::ToSql],
) -> rusqlite::Result<i64> {
    let found = t
        .prepare_cached(find)?
        .query_row(values, |r| r.get(0))
        .optional()?;
    if let Some(id) = found {
        return Ok(id);
    }
    t.prepare_cached(add)?.execute(values)?;
    Ok(t.last_insert_rowid())
}

fn json<T: Serialize>(value: &T) -> String {
    serde_json::to_string(value).expect("lists and maps of text are JSON")
}
