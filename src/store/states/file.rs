//! The file of saved states: a database of its own, one row an item, changed in place. It may be deleted at any time.
//!
//! What it gives is believed only where it fits: a head of this log and this version with its own check sum, rows each
//! with a check sum, of a looked-up row the last review of its item, of all rows together the sum of their sums. A
//! rollback journal, not a write-ahead file, since a file that was deleted must leave nothing behind that counts.

use super::super::{Mark, PATIENCE};
use crate::memory::{self, Memory};
use rusqlite::{Connection, ErrorCode, OpenFlags, OptionalExtension, TransactionBehavior, params};
use std::path::Path;
use std::{fs, io};

/// Items are rows of `item`, by their numbers in the log; `review` is the last review in `bytes`.
const TABLES: &str = "
    DROP TABLE IF EXISTS head;
    DROP TABLE IF EXISTS item;
    CREATE TABLE head (one INTEGER PRIMARY KEY CHECK (one = 1), log BLOB NOT NULL, review INTEGER NOT NULL,
      withdrawal INTEGER NOT NULL, items INTEGER NOT NULL, seal INTEGER NOT NULL, bytes BLOB NOT NULL,
      sum INTEGER NOT NULL) STRICT;
    CREATE TABLE item (id INTEGER PRIMARY KEY, review INTEGER NOT NULL, sum INTEGER NOT NULL,
      bytes BLOB NOT NULL) STRICT;";

/// Where an item is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Key {
    /// Its number in the log.
    pub item: i64,
    /// The last review of it that counts.
    pub review: i64,
}

impl Key {
    /// CRC-32 over the key and the bytes.
    fn sum(self, bytes: &[u8]) -> i64 {
        let mut sum = crc32fast::Hasher::new();
        sum.update(&self.item.to_le_bytes());
        sum.update(&self.review.to_le_bytes());
        sum.update(bytes);
        i64::from(sum.finalize())
    }
}

pub(super) struct Head {
    log: [u8; 16],
    pub mark: Mark,
    /// Rows that there are.
    pub items: i64,
    /// Sum of their check sums.
    seal: i64,
    bytes: Vec<u8>,
}

impl Head {
    pub fn new(log: [u8; 16], mark: Mark, bytes: Vec<u8>) -> Head {
        Head {
            log,
            mark,
            items: 0,
            seal: 0,
            bytes,
        }
    }

    fn sum(&self) -> i64 {
        let mut sum = crc32fast::Hasher::new();
        sum.update(&self.log);
        for v in [
            self.mark.review,
            self.mark.withdrawal,
            self.items,
            self.seal,
        ] {
            sum.update(&v.to_le_bytes());
        }
        sum.update(&self.bytes);
        i64::from(sum.finalize())
    }
}

/// An open file of saved states. What is read of one `File` is of one moment.
pub(super) struct File {
    db: Connection,
}

impl File {
    /// Opens the file for reading; `None` where there is none of this version.
    pub fn open(path: &Path) -> Option<File> {
        let db = connect(path, OpenFlags::empty()).ok()?;
        // Held until the file is closed.
        db.execute_batch("BEGIN").ok()?;
        (version(&db) == Ok(memory::VERSION)).then_some(File { db })
    }

    /// Opens the file for writing, making it where it is not there yet.
    pub fn create(path: &Path) -> rusqlite::Result<File> {
        let db = connect(path, OpenFlags::SQLITE_OPEN_CREATE)?;
        Ok(File { db })
    }

    /// The head, where it is whole and of this log.
    pub fn head(&self, log: &[u8; 16]) -> Option<Head> {
        head(&self.db).ok()??.filter_log(log)
    }

    /// The memory with these items; `None` where one of them is not what the log says it must be.
    pub fn these(&self, head: &Head, keys: &[Key]) -> Option<Memory> {
        let mut memory = Memory::from_head(&head.bytes, keys.len()).ok()?;
        let mut query = self
            .db
            .prepare("SELECT review, sum, bytes FROM item WHERE id = ?1")
            .ok()?;
        for &key in keys {
            let mut rows = query.query([key.item]).ok()?;
            let row = rows.next().ok()??;
            let bytes = row.get_ref(2).ok()?.as_blob().ok()?;
            let (review, sum): (i64, i64) = (row.get(0).ok()?, row.get(1).ok()?);
            if review != key.review || sum != key.sum(bytes) {
                return None;
            }
            memory.take_in(bytes).ok()?;
        }
        Some(memory)
    }

    /// The memory with all its items; `None` where they are not all there or one is damaged.
    pub fn all(&self, head: &Head) -> Option<Memory> {
        let room = usize::try_from(head.items).ok()?;
        let mut memory = Memory::from_head(&head.bytes, room).ok()?;
        let mut query = self
            .db
            .prepare("SELECT id, review, sum, bytes FROM item ORDER BY id")
            .ok()?;
        let mut rows = query.query([]).ok()?;
        let mut seal = 0;
        while let Some(row) = rows.next().ok()? {
            let bytes = row.get_ref(3).ok()?.as_blob().ok()?;
            let key = Key {
                item: row.get(0).ok()?,
                review: row.get(1).ok()?,
            };
            let sum: i64 = row.get(2).ok()?;
            if sum != key.sum(bytes) {
                return None;
            }
            seal += sum;
            memory.take_in(bytes).ok()?;
        }
        (seal == head.seal && memory.items().len() as i64 == head.items).then_some(memory)
    }

    /// Writes items and a new head: in place of everything there is, or, with `from`, into what has come so far. Says
    /// no where the file is not (or no longer) at that mark. All of it or nothing.
    pub fn write(
        &mut self,
        from: Option<Mark>,
        mut new: Head,
        rows: &[(Key, Vec<u8>)],
    ) -> rusqlite::Result<bool> {
        let write = self
            .db
            .transaction_with_behavior(TransactionBehavior::Immediate)?;
        match from {
            None => {
                write.execute_batch(TABLES)?;
                write.pragma_update(None, "user_version", memory::VERSION)?;
            }
            Some(from) => {
                let old = match version(&write)? == memory::VERSION {
                    true => head(&write)?.and_then(|head| head.filter_log(&new.log)),
                    false => None,
                };
                match old {
                    Some(old) if old.mark == from => (new.items, new.seal) = (old.items, old.seal),
                    _ => return Ok(false),
                }
            }
        }
        {
            let mut find = write.prepare("SELECT sum FROM item WHERE id = ?1")?;
            let mut put = write.prepare("REPLACE INTO item VALUES (?1, ?2, ?3, ?4)")?;
            for (key, bytes) in rows {
                let old: Option<i64> = match from {
                    Some(_) => find.query_row([key.item], |r| r.get(0)).optional()?,
                    None => None,
                };
                let sum = key.sum(bytes);
                new.seal += sum - old.unwrap_or(0);
                new.items += i64::from(old.is_none());
                put.execute(params![key.item, key.review, sum, bytes])?;
            }
        }
        write.execute(
            "REPLACE INTO head VALUES (1, ?1, ?2, ?3, ?4, ?5, ?6, ?7)",
            params![
                new.log,
                new.mark.review,
                new.mark.withdrawal,
                new.items,
                new.seal,
                new.bytes,
                new.sum()
            ],
        )?;
        write.commit()?;
        Ok(true)
    }
}

impl Head {
    fn filter_log(self, log: &[u8; 16]) -> Option<Head> {
        (self.log == *log).then_some(self)
    }
}

fn connect(path: &Path, flags: OpenFlags) -> rusqlite::Result<Connection> {
    let flags = flags | OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let db = Connection::open_with_flags(path, flags)?;
    db.busy_timeout(PATIENCE)?;
    Ok(db)
}

fn version(db: &Connection) -> rusqlite::Result<u32> {
    db.pragma_query_value(None, "user_version", |r| r.get(0))
}

/// The head as it is in the file; `None` where its check sum does not fit.
fn head(db: &Connection) -> rusqlite::Result<Option<Head>> {
    let read = db
        .query_row(
            "SELECT log, review, withdrawal, items, seal, bytes, sum FROM head",
            [],
            |r| {
                let mark = Mark {
                    review: r.get(1)?,
                    withdrawal: r.get(2)?,
                };
                let head = Head {
                    log: r.get(0)?,
                    mark,
                    items: r.get(3)?,
                    seal: r.get(4)?,
                    bytes: r.get(5)?,
                };
                Ok((head, r.get::<_, i64>(6)?))
            },
        )
        .optional()?;
    Ok(read.and_then(|(head, sum)| (sum == head.sum()).then_some(head)))
}

/// Whether a file that gave this error can only be made anew.
pub(super) fn is_ruined(error: &rusqlite::Error) -> bool {
    matches!(
        error.sqlite_error_code(),
        Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase)
    )
}

/// Removes the file, its journal first: that must not be taken for the journal of the next one.
pub(super) fn remove(path: &Path) -> io::Result<()> {
    let mut journal = path.as_os_str().to_owned();
    journal.push("-journal");
    for path in [Path::new(&journal), path] {
        match fs::remove_file(path) {
            Err(e) if e.kind() != io::ErrorKind::NotFound => return Err(e),
            _ => {}
        }
    }
    Ok(())
}
