//! The log on disk: one SQLite file, rows that are never changed.
//!
//! The file is `log.db` in the data folder, in WAL mode with `synchronous=FULL`: when [`Store::append`] returns, the
//! review is on the disk, and neither a kill nor a power cut loses it. Reviews are only ever added (triggers hold
//! to that for any program that opens the file); a mistaken one is withdrawn by a further row. Two programs may
//! use one folder at once: each write is one transaction, a writer waits for the other up to [`PATIENCE`].

mod error;
mod row;
mod snapshot;
mod steps;
#[cfg(test)]
mod tests;

pub use error::StoreError;
pub use row::{Logged, Meeting, ReviewRow};
pub use snapshot::{Mark, Snapshot};

use steps::Look;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags, OptionalExtension, Row, Transaction, params};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How long a program waits for another that is writing to the same log.
pub const PATIENCE: Duration = Duration::from_secs(10);

const FILE: &str = "log.db";

type Result<T> = std::result::Result<T, StoreError>;

/// An open log.
pub struct Store {
    db: Connection,
    folder: PathBuf,
    path: PathBuf,
    /// Drawn at random when the log was made; ties saved folds to it.
    id: [u8; 16],
}

impl Store {
    /// Opens the log in `folder`, making both where they are not there yet and bringing an older log up to this
    /// program's version.
    ///
    /// # Errors
    /// Any [`StoreError`]; a log of a newer program and a file that is no log are left byte for byte as they were.
    pub fn open(folder: &Path) -> Result<Store> {
        let unusable = |source| StoreError::Folder {
            path: folder.to_path_buf(),
            source,
        };
        fs::create_dir_all(folder).map_err(unusable)?;
        let path = folder.join(FILE);
        refuse_by_header(&path)?;
        Store::connect(folder, &path).map_err(|e| match e {
            Trouble::Known(e) => e,
            Trouble::Database(e) => StoreError::from_database(&path, e),
        })
    }

    fn connect(folder: &Path, path: &Path) -> std::result::Result<Store, Trouble> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
            | OpenFlags::SQLITE_OPEN_CREATE
            | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut db = Connection::open_with_flags(path, flags)?;
        db.busy_timeout(PATIENCE)?;
        // Until the version is known, closing must not fold the write-ahead file of a newer program into its log.
        db.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
        match steps::look(&db)? {
            Look::Newer(found) => return Err(Trouble::Known(newer(path, found))),
            Look::Foreign => {
                let path = path.to_path_buf();
                return Err(Trouble::Known(StoreError::Foreign { path }));
            }
            Look::Ours => {}
        }
        db.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, false)?;
        write_ahead(&db)?;
        db.pragma_update(None, "synchronous", "FULL")?;
        db.pragma_update(None, "foreign_keys", true)?;
        db.set_prepared_statement_cache_capacity(32);
        steps::bring_up(&mut db)?;
        let id = db.query_row("SELECT unhex(value) FROM meta WHERE key = 'log'", [], |r| {
            r.get(0)
        })?;
        Ok(Store {
            db,
            folder: folder.to_path_buf(),
            path: path.to_path_buf(),
            id,
        })
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
        self.write(|t| {
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
            t.prepare_cached(
                "INSERT INTO review (at, utc_offset, session, item, concepts, reply, seed, bpm, grid, correct, guess,
                   seconds, within, replays, slowed, in_time, program)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17)",
            )?
            .execute(params![
                row.at,
                row.utc_offset,
                row.session,
                item,
                concepts,
                reply,
                row.seed as i64,
                row.bpm,
                row.grid.name(),
                row.correct,
                row.guess,
                row.seconds,
                row.limit,
                row.replays,
                row.slowed,
                row.in_time,
                row.program
            ])?;
            let id = t.last_insert_rowid();
            t.prepare_cached("INSERT INTO shown (review, score, prompt) VALUES (?1, ?2, ?3)")?
                .execute(params![id, row.score, row.prompt])?;
            Ok(id)
        })
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
    pub fn meet(&mut self, m: &Meeting) -> Result<()> {
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

    /// How far the log has come.
    ///
    /// # Errors
    /// Of the database.
    pub fn mark(&self) -> Result<Mark> {
        self.read(|db| {
            db.prepare_cached(
                "SELECT coalesce((SELECT max(id) FROM review), 0), coalesce((SELECT max(id) FROM withdrawal), 0)",
            )?
            .query_row([], |r| {
                Ok(Mark {
                    review: r.get(0)?,
                    withdrawal: r.get(1)?,
                })
            })
        })
    }

    /// Hands every review after id `after` to `each`, in the order in which they were written, withdrawn ones
    /// included (they say so).
    ///
    /// # Errors
    /// Of the database; [`StoreError::Damaged`] at a row that cannot be read.
    pub fn reviews(&self, after: i64, mut each: impl FnMut(Logged)) -> Result<()> {
        self.read(|db| {
            let mut query = db.prepare_cached(
                "SELECT r.id, r.at, r.utc_offset, r.session, i.card, i.kind, i.sense, c.names, r.seed, r.bpm, r.grid,
                   s.score, s.prompt, p.choices, p.answer, p.keys, r.correct, r.guess, r.seconds, r.within, r.replays,
                   r.slowed, r.in_time, r.program, w.why
                 FROM review r LEFT JOIN item i ON i.id = r.item LEFT JOIN concepts c ON c.id = r.concepts
                   LEFT JOIN reply p ON p.id = r.reply LEFT JOIN shown s ON s.review = r.id
                   LEFT JOIN withdrawal w ON w.review = r.id
                 WHERE r.id > ?1 ORDER BY r.id",
            )?;
            let mut rows = query.query([after])?;
            while let Some(r) = rows.next()? {
                each(logged(r)?);
            }
            Ok(())
        })
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

/// An error while opening: ours already, or still the database's.
enum Trouble {
    Known(StoreError),
    Database(rusqlite::Error),
}

impl From<rusqlite::Error> for Trouble {
    fn from(e: rusqlite::Error) -> Trouble {
        Trouble::Database(e)
    }
}

fn newer(path: &Path, found: i64) -> StoreError {
    StoreError::Newer {
        path: path.to_path_buf(),
        found,
        known: steps::VERSION,
    }
}

/// Looks at the first 100 bytes of the file alone, so that a log of a newer program and a file that is something
/// else are refused before the database code has touched them. Offsets: SQLite *Database File Format*, 1.3.
fn refuse_by_header(path: &Path) -> Result<()> {
    let unusable = |source| StoreError::Folder {
        path: path.to_path_buf(),
        source,
    };
    let mut head = Vec::new();
    match fs::File::open(path) {
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(()),
        Err(e) => return Err(unusable(e)),
        Ok(file) => file.take(100).read_to_end(&mut head).map_err(unusable)?,
    };
    if head.is_empty() {
        return Ok(());
    }
    let number =
        |at: usize| i32::from_be_bytes([head[at], head[at + 1], head[at + 2], head[at + 3]]);
    if head.len() < 100 || !head.starts_with(b"SQLite format 3\0") {
        return Err(StoreError::Foreign {
            path: path.to_path_buf(),
        });
    }
    let (version, application) = (i64::from(number(60)), number(68));
    // A log whose first transaction is still in the write-ahead file has neither number in its header yet.
    if application != steps::APPLICATION_ID && (application != 0 || version != 0) {
        return Err(StoreError::Foreign {
            path: path.to_path_buf(),
        });
    }
    if version > steps::VERSION {
        return Err(newer(path, version));
    }
    Ok(())
}

/// Turns the write-ahead log on. The switch answers "busy" at once, without waiting, when another program makes it
/// at the same moment.
fn write_ahead(db: &Connection) -> rusqlite::Result<()> {
    const STEP: Duration = Duration::from_millis(20);
    let mut left = PATIENCE;
    loop {
        match db.pragma_update(None, "journal_mode", "WAL") {
            Err(e)
                if e.sqlite_error_code() == Some(rusqlite::ErrorCode::DatabaseBusy)
                    && !left.is_zero() =>
            {
                std::thread::sleep(STEP);
                left = left.saturating_sub(STEP);
            }
            done => return done,
        }
    }
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

fn logged(r: &Row<'_>) -> rusqlite::Result<Logged> {
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
        },
        withdrawn: r.get(24)?,
    })
}

/// A column of JSON.
fn decoded<T: DeserializeOwned>(r: &Row<'_>, column: usize) -> rusqlite::Result<T> {
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
