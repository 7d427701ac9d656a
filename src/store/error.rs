//! What can go wrong with the log, and how to mend it.

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
    #[error("{} is not a whichside log, or the head of the file is damaged. It was left as it is.\n  mend: if it was \
             your log, `whichside log restore{1}` puts back your last copy; otherwise move that file away, or use \
             another folder with --data DIR", path.display(), data_option(path))]
    Foreign {
        /// The file.
        path: PathBuf,
    },
    /// The file does not hold together.
    #[error("{} is damaged: {detail}. Nothing was written to it.\n  mend: `whichside log restore{1}` puts back the last of the copies in the folder backups (the damaged log is kept beside it), or `whichside log repair{1} --out NEW.db` writes what can be read of it into a new file; `whichside log verify{1}` lists all damage", path.display(), data_option(path))]
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
    /// There is no log, and a command that reads makes none.
    #[error("there is no log in {}.\n  mend: check the name of the folder; the first drill starts a log", folder.display())]
    Missing {
        /// The folder.
        folder: PathBuf,
    },
    /// There is no log, and something that a log leaves behind is.
    #[error("{} is {}, but there are copies of your answers in {}. Nothing was started.\n  mend: `whichside log \
             restore{}` puts back the newest copy; to start a new log, move the folder backups away", path.display(), if *empty { "empty" } else { "not there" }, path.with_file_name(super::BACKUPS).display(), data_option(path))]
    Orphaned {
        /// The log that should be there.
        path: PathBuf,
        /// Whether an empty file of its name is there.
        empty: bool,
    },
    /// The file was taken away or changed from outside while it was open.
    #[error("{} is gone, or is no longer the file that was opened: it was moved, removed or written over.\n  mend: put the folder back, or import the answers that were kept elsewhere", path.display())]
    Gone {
        /// The log.
        path: PathBuf,
    },
    /// Something with the log's name is there that is not a file.
    #[error("{} is {what}, not a file. It was left as it is.\n  mend: move it away, or name another place", path.display())]
    NotAFile {
        /// Where it is.
        path: PathBuf,
        /// A folder, a pipe, a device.
        what: &'static str,
    },
    /// A file that was named is not a usable copy of a log.
    #[error("{} is not a usable copy of a log: {why}. Nothing was changed.\n  mend: name another copy; to save what \
             can be read \
             of a damaged one, put it into an empty folder as log.db and run `whichside log repair --data DIR --out \
             NEW.db`", path.display())]
    Copy {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        why: String,
    },
    /// A file cannot be read or written.
    #[error("{}: {why}\n  mend: check the name, and the folder that it is in", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system said.
        why: std::io::Error,
    },
    /// The disk answers with errors.
    #[error("the disk of {} takes no writes: {why}. What was answered before is safe.\n  mend: check whether it is \
             full or failing", path.display())]
    Disk {
        /// The log.
        path: PathBuf,
        /// What the database said.
        why: String,
    },
    /// A file to be written is there already.
    #[error("{} is there already and was left as it is.\n  mend: name another file", path.display())]
    There {
        /// The file.
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
    #[error("{} cannot be used: {why}. What was answered before is safe.\n  mend: try again; if it happens again, \
             `whichside log verify{1}` says whether the log is whole, and `whichside log backup FILE{1}` copies it", path.display(), data_option(path))]
    Database {
        /// The file.
        path: PathBuf,
        /// What the database said.
        why: rusqlite::Error,
    },
}

impl StoreError {
    /// What of the log at `path` does not hold together, as an error.
    pub(super) fn damaged(path: &Path) -> impl FnOnce(String) -> StoreError {
        let path = path.to_path_buf();
        |detail| StoreError::Damaged { path, detail }
    }

    /// Why a row cannot be kept, as an error.
    pub(super) fn row(what: &'static str) -> impl FnOnce(String) -> StoreError {
        move |why| StoreError::Row { what, why }
    }

    /// What the system said of a data folder, as an error.
    pub(super) fn no_folder(path: &Path) -> impl FnOnce(std::io::Error) -> StoreError {
        let path = path.to_path_buf();
        |why| StoreError::Folder { path, why }
    }

    /// The error of the database as one that says what to do.
    pub(super) fn from_database(path: &Path, source: rusqlite::Error) -> StoreError {
        use rusqlite::Error;
        let code = source.sqlite_error_code();
        let damaged = StoreError::damaged(path);
        let path = path.to_path_buf();
        match (code, &source) {
            (_, Error::FromSqlConversionFailure(_, _, why)) => damaged(why.to_string()),
            (
                _,
                Error::InvalidColumnType(..)
                | Error::IntegralValueOutOfRange(..)
                | Error::QueryReturnedNoRows,
            ) => damaged(source.to_string()),
            (Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked), _) => {
                StoreError::Busy { path }
            }
            (Some(ErrorCode::DiskFull), _) => StoreError::Full { path },
            (
                Some(ErrorCode::ReadOnly | ErrorCode::CannotOpen | ErrorCode::PermissionDenied),
                _,
            ) => StoreError::ReadOnly { path },
            (Some(ErrorCode::SystemIoFailure), _) => StoreError::Disk {
                path,
                why: source.to_string(),
            },
            // The statements are right: what they do not find was in the log once.
            (Some(ErrorCode::DatabaseCorrupt | ErrorCode::Unknown), _) => {
                damaged(source.to_string())
            }
            (Some(ErrorCode::NotADatabase), _) => StoreError::Foreign { path },
            _ => StoreError::Database { path, why: source },
        }
    }

    /// The error of a file.
    pub(super) fn from_file(path: &Path, why: std::io::Error) -> StoreError {
        let path = path.to_path_buf();
        match why.kind() {
            std::io::ErrorKind::StorageFull => StoreError::Full { path },
            std::io::ErrorKind::ReadOnlyFilesystem | std::io::ErrorKind::PermissionDenied => {
                StoreError::ReadOnly { path }
            }
            std::io::ErrorKind::NotFound
            | std::io::ErrorKind::NotADirectory
            | std::io::ErrorKind::IsADirectory
            | std::io::ErrorKind::InvalidFilename => StoreError::File { path, why },
            _ => StoreError::Disk {
                path,
                why: why.to_string(),
            },
        }
    }
}

/// The option that names the folder of the log at `path`, with a space before it.
pub fn data_option(path: &Path) -> String {
    let folder = match path.parent() {
        Some(folder) if folder != Path::new("") => folder,
        _ => Path::new("."),
    };
    let folder = folder.display().to_string();
    match folder.contains(|c: char| !c.is_ascii_alphanumeric() && !"/._-".contains(c)) {
        true => format!(" --data '{folder}'"),
        false => format!(" --data {folder}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_is_put_in_quotes_where_a_shell_would_part_it() {
        for (path, said) in [
            (
                "/home/ana/.local/share/which-side_2/log.db",
                " --data /home/ana/.local/share/which-side_2",
            ),
            ("/home/my ana/log.db", " --data '/home/my ana'"),
            ("/home/a&b/log.db", " --data '/home/a&b'"),
            ("log.db", " --data ."),
        ] {
            assert_eq!(data_option(Path::new(path)), said);
        }
    }
}
