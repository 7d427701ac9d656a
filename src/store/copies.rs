//! Copies of the log, and putting one back.

use super::error::StoreError;
use super::{FILE, Result, Store, image, leftover, opening};
use rusqlite::Connection;
use rusqlite::backup::Backup;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// The folder of the copies, in the data folder.
pub const BACKUPS: &str = "backups";

/// Copies that are kept of those that the program makes by itself.
const LAST: usize = 5;

/// The copies in a folder, in the order of their names.
pub(super) fn listed(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut copies: Vec<_> = entries
        .map(|entry| entry.path())
        .filter(|path| {
            let name = path.file_name().and_then(|n| n.to_str());
            name.is_some_and(|n| n.starts_with("log-") && n.ends_with(".db"))
        })
        .collect();
    copies.sort();
    copies
}

impl Store {
    /// Copies the log as it is at this moment into a new file, which is one file that holds all.
    ///
    /// # Errors
    /// [`StoreError::There`] for a file that is there already, [`StoreError::Damaged`] where the log is not sound;
    /// otherwise of the disk. No half-written file is left.
    pub fn backup(&self, to: &Path) -> Result<()> {
        copy(&self.db, &self.path, to)
    }

    /// Makes the copy of a day, such as `2026-11-25`, in place of the one that was made earlier that day; keeps the last
    /// few days.
    ///
    /// # Errors
    /// As [`Store::backup`], and [`StoreError::Gone`].
    pub fn back_up(&self, day: &str) -> Result<()> {
        self.still_there()?;
        let folder = self.path.with_file_name(BACKUPS);
        opening::make_folder(&folder).map_err(|e| StoreError::from_file(&folder, e))?;
        let to = folder.join(format!("log-{day}.db"));
        let part = image::beside(&to, "-part");
        // Of a copy that was killed.
        let _ = fs::remove_file(&part);
        replace(&self.db, &self.path, &part, &to)?;
        let copies = listed(&folder);
        for old in &copies[..copies.len().saturating_sub(LAST)] {
            // What cannot be removed now is tried again with the next copy.
            let _ = fs::remove_file(old);
        }
        Ok(())
    }
}

fn copy(from: &Connection, path: &Path, to: &Path) -> Result<()> {
    if to.exists() {
        return Err(StoreError::There { path: to.into() });
    }
    let part = leftover::free_name(to, "-part");
    replace(from, path, &part, to)
}

/// Copies into the new file `part` and puts that at `to`.
fn replace(from: &Connection, path: &Path, part: &Path, to: &Path) -> Result<()> {
    let made = fill(from, path, part).and_then(|()| {
        let moved = File::open(part).and_then(|file| {
            file.sync_all()?;
            fs::rename(part, to)
        });
        moved.map_err(|e| StoreError::from_file(to, e))
    });
    if made.is_err() {
        let _ = fs::remove_file(part);
    }
    made
}

fn fill(from: &Connection, path: &Path, part: &Path) -> Result<()> {
    let error = |e| StoreError::from_database(part, e);
    opening::private_file(part, true).map_err(|e| StoreError::from_file(part, e))?;
    let mut db = Connection::open(opening::plainly(part)).map_err(error)?;
    Backup::new(from, &mut db)
        .and_then(|backup| backup.run_to_completion(i32::MAX, Duration::from_millis(5), None))
        .map_err(error)?;
    // A copy is one file, wherever it is read.
    db.pragma_update(None, "journal_mode", "DELETE")
        .map_err(error)?;
    image::all_sound(&db).map_err(|detail| StoreError::Damaged {
        path: path.to_path_buf(),
        detail,
    })
}

/// Puts a copy in the place of the log in `folder`: `from`, or the newest of [`BACKUPS`]. The log that was there is kept
/// under another name. Gives the copy, and that name.
///
/// # Errors
/// [`StoreError::Missing`] without a copy, [`StoreError::Damaged`] for one that is not sound, [`StoreError::Busy`] while
/// another program uses the log. Nothing was changed then.
pub fn restore(folder: &Path, from: Option<&Path>) -> Result<(PathBuf, Option<PathBuf>)> {
    opening::make_folder(folder).map_err(|e| StoreError::from_file(folder, e))?;
    let _alone = opening::alone(folder)?;
    let copies = folder.join(BACKUPS);
    let newest = || listed(&copies).pop();
    let Some(from) = from.map(Path::to_path_buf).or_else(newest) else {
        return Err(StoreError::Missing { folder: copies });
    };
    let bytes = image::read(&from)?;
    if bytes.is_empty() {
        return Err(StoreError::Missing { folder: from });
    }
    image::sound(&bytes).map_err(|detail| StoreError::Damaged {
        path: from.clone(),
        detail,
    })?;
    let path = folder.join(FILE);
    let new = leftover::free_name(&path, "-restored");
    leftover::new_file(&new, &bytes)?;
    let kept = path.exists().then(|| leftover::free_name(&path, "-before"));
    let moved = || {
        if let Some(kept) = &kept {
            let ahead = image::beside(&path, "-wal");
            if ahead.exists() {
                fs::rename(&ahead, image::beside(kept, "-wal"))?;
            }
            fs::rename(&path, kept)?;
        }
        fs::rename(&new, &path)
    };
    moved().map_err(|e| StoreError::from_file(&path, e))?;
    Ok((from, kept))
}
