//! From a folder to an open log, or to the reason why not.

use super::steps::{self, Look};
use super::{PATIENCE, Result, Store, StoreError};
use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags};
use std::fs;
use std::io::Read;
use std::path::Path;
use std::time::Duration;

/// Opens the database at `path` for reading and writing.
pub(super) fn connect(path: &Path) -> Result<Store> {
    connected(path).map_err(|e| match e {
        OpenError::Known(e) => e,
        OpenError::Database(e) => StoreError::from_database(path, e),
    })
}

fn connected(path: &Path) -> std::result::Result<Store, OpenError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
        | OpenFlags::SQLITE_OPEN_CREATE
        | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut db = Connection::open_with_flags(path, flags)?;
    db.busy_timeout(PATIENCE)?;
    // Until the version is known, closing must not fold the write-ahead file of a newer program into its log.
    db.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
    match steps::look(&db)? {
        Look::Newer(found) => return Err(OpenError::Known(newer(path, found))),
        Look::Foreign => {
            let path = path.to_path_buf();
            return Err(OpenError::Known(StoreError::Foreign { path }));
        }
        Look::Ours => {}
    }
    db.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, false)?;
    write_ahead(&db)?;
    db.pragma_update(None, "synchronous", "FULL")?;
    db.pragma_update(None, "foreign_keys", true)?;
    db.set_prepared_statement_cache_capacity(32);
    steps::bring_up(&mut db)?;
    Ok(Store {
        db,
        path: path.to_path_buf(),
    })
}

/// An error while opening: ours already, or still the database's.
enum OpenError {
    Known(StoreError),
    Database(rusqlite::Error),
}

impl From<rusqlite::Error> for OpenError {
    fn from(e: rusqlite::Error) -> OpenError {
        OpenError::Database(e)
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
pub(super) fn refuse_by_header(path: &Path) -> Result<()> {
    let unusable = |why| StoreError::Folder {
        path: path.to_path_buf(),
        why,
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
