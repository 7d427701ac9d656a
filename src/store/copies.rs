//! Copies of the log, and putting one back.

use super::error::StoreError;
use super::steps::{self, DatabaseState};
use super::{FILE, Result, Store, image, leftover, opening};
use rusqlite::backup::Backup;
use rusqlite::{Connection, MAIN_DB};
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// The folder of the copies, in the data folder.
pub const BACKUPS: &str = "backups";

/// Copies that are kept of those that the program makes by itself.
const LAST: usize = 5;

/// Between two tries to copy a log that another program holds.
const STEP: Duration = Duration::from_millis(5);

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
        if to.exists() {
            return Err(StoreError::There { path: to.into() });
        }
        write_out(&self.db, &self.path, &leftover::free_name(to, "-part"), to)
    }

    /// Makes the copy of a day, such as `2026-11-25`, replacing the one that was made earlier that day; keeps the last
    /// few days.
    ///
    /// # Errors
    /// As [`Store::backup`], and [`StoreError::Gone`].
    pub fn back_up(&self, day: &str) -> Result<()> {
        self.still_there()?;
        self.sound()?;
        let folder = self.path.with_file_name(BACKUPS);
        opening::make_folder(&folder).map_err(|e| StoreError::from_file(&folder, e))?;
        let to = folder.join(format!("log-{day}.db"));
        let part = image::beside(&to, "-part");
        // Of a copy that was killed.
        let _ = fs::remove_file(&part);
        write_out(&self.db, &self.path, &part, &to)?;
        let copies = listed(&folder);
        for old in &copies[..copies.len().saturating_sub(LAST)] {
            // What cannot be removed now is tried again with the next copy.
            let _ = fs::remove_file(old);
        }
        Ok(())
    }
}

/// Writes a log as it is at this moment into the new file `part` and puts that at `to`.
pub(super) fn write_out(from: &Connection, path: &Path, part: &Path, to: &Path) -> Result<()> {
    let copied = || {
        let mut copy = Connection::open_in_memory()?;
        Backup::new(from, &mut copy)?.run_to_completion(i32::MAX, STEP, None)?;
        Ok(copy.serialize(MAIN_DB)?.to_vec())
    };
    let mut image = copied().map_err(|e| StoreError::from_database(path, e))?;
    // One file that holds all, wherever it is read: see image::opened.
    if let Some(journal) = image.get_mut(18..20) {
        journal.fill(1);
    }
    image::sound(&image).map_err(StoreError::damaged(path))?;
    let unnamed = |e| match e {
        // The name that was asked for says more.
        StoreError::File { why, .. } => StoreError::from_file(to, why),
        StoreError::Full { .. } => StoreError::Full { path: to.into() },
        other => other,
    };
    leftover::new_file(part, &image).map_err(unnamed)?;
    fs::rename(part, to).map_err(|e| {
        let _ = fs::remove_file(part);
        StoreError::from_file(to, e)
    })
}

/// Puts a copy in the place of the log in `folder`: `from`, or the newest of [`BACKUPS`]. The log that was there is kept
/// under another name. Gives the copy, and that name.
///
/// # Errors
/// [`StoreError::Missing`] without a copy, [`StoreError::Copy`] for one that is not sound, [`StoreError::Newer`],
/// [`StoreError::Busy`] while another program uses the log. Nothing was changed then.
pub fn restore(folder: &Path, from: Option<&Path>) -> Result<(PathBuf, Option<PathBuf>)> {
    let copies = folder.join(BACKUPS);
    let newest = || listed(&copies).pop();
    let Some(from) = from.map(Path::to_path_buf).or_else(newest) else {
        return Err(StoreError::Missing { folder: copies });
    };
    let bytes = sound_copy(&from)?;
    opening::make_folder(folder).map_err(|e| StoreError::from_file(folder, e))?;
    let _alone = opening::alone(folder)?;
    let path = folder.join(FILE);
    let new = leftover::free_name(&path, "-restored");
    leftover::new_file(&new, &bytes)?;
    let kept = path.exists().then(|| leftover::free_name(&path, "-before"));
    let ahead = image::beside(&path, "-wal");
    let moved = || {
        // There is a log at every moment. Where the disk knows no second name for a file, it is moved away.
        let keep =
            |from: &Path, to: &Path| fs::hard_link(from, to).or_else(|_| fs::rename(from, to));
        if let Some(kept) = &kept {
            keep(&path, kept)?;
            if ahead.exists() {
                keep(&ahead, &image::beside(kept, "-wal"))?;
            }
        }
        fs::rename(&new, &path)?;
        // One that no log was beside is looked at by the next opening.
        match kept.as_ref().map(|_| fs::remove_file(&ahead)) {
            Some(Err(e)) if e.kind() != ErrorKind::NotFound => Err(e),
            _ => Ok(()),
        }
    };
    moved().map_err(|e| StoreError::from_file(&path, e))?;
    Ok((from, kept))
}

/// The bytes of a log that can be taken over.
///
/// # Errors
/// [`StoreError::Copy`] and [`StoreError::Newer`], with the file untouched.
pub(super) fn sound_copy(from: &Path) -> Result<Vec<u8>> {
    let bytes = image::read(from)?;
    let why = |why: &str| StoreError::Copy {
        path: from.to_path_buf(),
        why: why.into(),
    };
    if bytes.is_empty() {
        return Err(why("it is empty, or not there"));
    }
    match image::opened(&bytes).and_then(|db| steps::look(&db)) {
        Ok(DatabaseState::Ours) => {}
        Ok(DatabaseState::Newer(found)) => return Err(opening::newer(from, found)),
        Ok(DatabaseState::Foreign) | Err(_) => {
            return Err(why("it is not a whichside log, or its head is damaged"));
        }
    }
    image::sound(&bytes).map_err(|detail| why(&format!("it is damaged: {detail}")))?;
    Ok(bytes)
}
