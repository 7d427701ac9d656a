//! Checks all rows of an open log on a thread of its own; only a writer waits for it.

use super::opening::plainly;
use super::{Result, Store, StoreError, steps, sums};
use rusqlite::{Connection, OpenFlags};
use std::path::Path;
use std::sync::{Arc, OnceLock};
use std::thread;

/// What a look through all rows found; nothing before it is through.
#[derive(Clone, Default)]
pub(super) struct RowCheck(Arc<OnceLock<RowState>>);

enum RowState {
    Sound,
    /// What does not hold together.
    Damage(String),
    /// The rows could not be looked at.
    Unknown,
}

impl RowCheck {
    /// Of a log whose rows were looked at already.
    pub fn passed() -> RowCheck {
        RowCheck(Arc::new(RowState::Sound.into()))
    }
}

impl Store {
    /// Begins to look whether every row is as it was written, beside what else is read.
    pub fn begin_check(&self) {
        let (check, path) = (self.rows.clone(), self.path.clone());
        if check.0.get().is_none() {
            // Where there is no thread to be had, who waits looks.
            let _ = thread::Builder::new().spawn(move || {
                check.0.get_or_init(|| looked_at(&path));
            });
        }
    }

    /// Is it still looked?
    pub fn is_checking(&self) -> bool {
        self.rows.0.get().is_none()
    }

    /// Waits until it is known whether every row is as it was written, as far as sums can tell.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] names the first that is not.
    pub fn sound(&self) -> Result<()> {
        let look = || found(self.read(every_row));
        match self.rows.0.get_or_init(look) {
            RowState::Sound => Ok(()),
            RowState::Damage(detail) => Err(self.damaged(detail)),
            RowState::Unknown => self.read(every_row),
        }
    }

    /// The damage that has been found by now.
    ///
    /// # Errors
    /// [`StoreError::Damaged`].
    pub fn sound_so_far(&self) -> Result<()> {
        match self.rows.0.get() {
            Some(RowState::Damage(detail)) => Err(self.damaged(detail)),
            _ => Ok(()),
        }
    }

    fn damaged(&self, detail: &str) -> StoreError {
        StoreError::damaged(&self.path)(detail.into())
    }
}

/// A thread needs a connection of its own.
fn looked_at(path: &Path) -> RowState {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let db = Connection::open_with_flags(plainly(path), flags);
    found(
        db.and_then(|db| every_row(&db))
            .map_err(|e| StoreError::from_database(path, e)),
    )
}

fn found(looked: Result<()>) -> RowState {
    match looked {
        Ok(()) => RowState::Sound,
        Err(StoreError::Damaged { detail, .. }) => RowState::Damage(detail),
        Err(_) => RowState::Unknown,
    }
}

/// One moment of the log, whatever other programs add.
fn every_row(db: &Connection) -> rusqlite::Result<()> {
    let moment = db.unchecked_transaction()?;
    sums::check_ends(&moment)?;
    steps::KEPT
        .iter()
        .try_for_each(|table| sums::scan(&moment, table, |_| Ok(())))
}
