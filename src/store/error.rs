//! What can go wrong with the log, and the mend.

use rusqlite::ErrorCode;
use std::path::{Path, PathBuf};

/// What can go wrong with the log. Every message names the file and the mend.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The data folder cannot be made or read.
    #[error("cannot use the data folder {}: {why}\n  mend: make the folder yourself, or name another with --data DIR", path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
        /// What the system said.
        why: std::io::Error,
    },
    /// The log was written by a later version of the program. It was not touched.
    #[error("{} was written by a newer whichside (log version {found}; this program reads up to {known}). It was left as it is.\n  mend: update whichside, or use another folder with --data DIR", path.display())]
    Newer {
        /// The log.
        path: PathBuf,
        /// The version that it has.
        found: i64,
        /// The newest version that is known here.
        known: i64,
    },
    /// A file of that name is there, and it is something else. It was not touched.
    #[error("{} is not a log of whichside. It was left as it is.\n  mend: move that file away, or use another folder with --data DIR", path.display())]
    Foreign {
        /// The file.
        path: PathBuf,
    },
    /// The file does not hold together.
    #[error("{} is damaged: {detail}. Nothing was deleted.\n  mend: copy the whole folder to a safe place, then put back your last copy of it, or move the file away to begin a new log", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What does not hold together.
        detail: String,
    },
    /// The folder, the file or the disk takes no writes.
    #[error("{} cannot be written to.\n  mend: check who owns the folder and whether the disk is read-only, or name another folder with --data DIR", path.display())]
    ReadOnly {
        /// The file or folder.
        path: PathBuf,
    },
    /// No room left.
    #[error("no room left on the disk of {}. What was answered before is safe.\n  mend: free some space, then try again", path.display())]
    Full {
        /// The file.
        path: PathBuf,
    },
    /// Another program held the log for longer than [`super::PATIENCE`].
    #[error("another program is using {}.\n  mend: close it, then try again", path.display())]
    Busy {
        /// The log.
        path: PathBuf,
    },
    /// A row that must not get into the log.
    #[error("this {what} cannot be kept: {why}")]
    Row {
        /// Review, meeting or withdrawal.
        what: &'static str,
        /// What about it cannot be kept.
        why: String,
    },
    /// A review that is not in the log, or was withdrawn already.
    #[error("{why} review {id}\n  mend: `whichside log export` lists the reviews with their ids")]
    Review {
        /// The number that was given.
        id: i64,
        /// Whether it is missing or withdrawn, in words that go before its number.
        why: &'static str,
    },
    /// Anything else that the database said.
    #[error("{}: {why}", path.display())]
    Database {
        /// The file.
        path: PathBuf,
        /// What the database said.
        why: rusqlite::Error,
    },
}

impl StoreError {
    /// The error of the database as one that says what to do.
    pub(super) fn from_database(path: &Path, source: rusqlite::Error) -> StoreError {
        let path = path.to_path_buf();
        let code = source.sqlite_error_code();
        match code {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => StoreError::Busy { path },
            Some(ErrorCode::DiskFull) => StoreError::Full { path },
            Some(ErrorCode::ReadOnly | ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => {
                StoreError::ReadOnly { path }
            }
            Some(ErrorCode::DatabaseCorrupt) => StoreError::Damaged {
                path,
                detail: source.to_string(),
            },
            Some(ErrorCode::NotADatabase) => StoreError::Foreign { path },
            _ => StoreError::Database { path, why: source },
        }
    }
}
