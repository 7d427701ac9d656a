//! A write-ahead file that was left beside a log, looked at before the database opens the two and makes them one.

use super::Result;
use super::error::StoreError;
use super::image::{WriteAhead, beside, bytes, opened, sound};
use super::steps::{self, DatabaseState};
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Looks at what lies beside the log at `path` while nobody has it open. What does not belong to it, or is damaged, is
/// kept under another name. Gives what the player should know.
///
/// # Errors
/// [`StoreError::Damaged`] where the log itself does not hold together; nothing was touched then. Otherwise of the disk.
pub(super) fn settle(path: &Path) -> Result<Vec<String>> {
    let beside_it = beside(path, "-wal");
    let ahead = bytes(&beside_it)?;
    if ahead.is_empty() {
        return Ok(Vec::new());
    }
    let main = bytes(path)?;
    let aside = free_name(&beside_it, "-set-aside");
    let name = |path: &Path| path.display().to_string();
    let set_aside = |why: &str| {
        fs::rename(&beside_it, &aside).map_err(|e| StoreError::from_file(&beside_it, e))?;
        Ok(vec![format!(
            "{} {why}. It was not used; it is kept as {}. To get its answers back, put it, under its old name, beside \
             the log.db that it was written with (copies: {}).",
            name(&beside_it),
            name(&aside),
            name(&path.with_file_name(super::BACKUPS)),
        )])
    };
    if main.is_empty() {
        return set_aside("holds answers of a log.db that is gone");
    }
    let Some(parsed) = WriteAhead::parse(&ahead) else {
        sound(&main).map_err(StoreError::damaged(path))?;
        return set_aside("is damaged at its head");
    };
    if parsed.is_empty() {
        return Ok(Vec::new());
    }
    if !ours(&main) || !ours(&parsed.applied(&main)) {
        // Of a newer version, or something else: the opening refuses it.
        return Ok(Vec::new());
    }
    if !parsed.belongs_to(&main) {
        return set_aside(
            "does not belong to the log.db beside it, which is older, newer or a different one",
        );
    }
    let Some(frame) = parsed.damaged_from() else {
        let merged = sound(&parsed.applied(&main));
        return match (merged, sound(&main)) {
            (Ok(()), _) => Ok(Vec::new()),
            (Err(_), Ok(())) => set_aside("does not fit the log.db beside it"),
            (Err(detail), Err(_)) => Err(StoreError::damaged(path)(detail)),
        };
    };
    let all = parsed.applied_unchecked(&main);
    if sound(&all).is_ok() {
        let new = free_name(path, "-merged");
        new_file(&new, &all)?;
        fs::rename(&beside_it, &aside).map_err(|e| StoreError::from_file(&beside_it, e))?;
        fs::rename(&new, path).map_err(|e| StoreError::from_file(path, e))?;
        return Ok(vec![format!(
            "{} was damaged at frame {frame}; all answers in it could still be read. It is kept as {}.",
            name(&beside_it),
            name(&aside)
        )]);
    }
    sound(&parsed.applied(&main)).map_err(StoreError::damaged(path))?;
    new_file(&aside, &ahead)?;
    Ok(vec![format!(
        "{} was damaged: what was answered last, from its frame {frame} on, could not be read and is missing from the \
         log. The file is kept as {}.",
        name(&beside_it),
        name(&aside)
    )])
}

/// Sets a rollback journal aside that lies beside the log at `path`: the database would play it back into the log, and
/// the log never has one with answers in it, since those go into the write-ahead file.
///
/// # Errors
/// Of the disk.
pub(super) fn settle_journal(path: &Path) -> Result<Vec<String>> {
    let journal = beside(path, "-journal");
    let size = |path: &Path| fs::metadata(path).map_or(0, |m| m.len());
    if size(&journal) == 0 || size(path) == 0 {
        return Ok(Vec::new());
    }
    let aside = free_name(&journal, "-set-aside");
    fs::rename(&journal, &aside).map_err(|e| StoreError::from_file(&journal, e))?;
    Ok(vec![format!(
        "{} does not belong to the log beside it. It was not used; it is kept as {}.",
        journal.display(),
        aside.display()
    )])
}

/// Whether it is a log of this program that this version knows, or cannot be told.
fn ours(image: &[u8]) -> bool {
    let look = opened(image).and_then(|db| steps::look(&db));
    look.map_or(true, |look| matches!(look, DatabaseState::Ours))
}

/// The first name that is free: `path` with a suffix and a number.
pub(super) fn free_name(path: &Path, suffix: &str) -> PathBuf {
    let names = (1..).map(|n| beside(path, &format!("{suffix}-{n}")));
    let mut free = names.filter(|name| !name.exists());
    free.next().unwrap_or_default()
}

/// Writes a new file that only the player can read, and waits until it is on the disk.
///
/// # Errors
/// Where the file is there already, or cannot be written; nothing is left of it then.
pub fn new_file(path: &Path, bytes: &[u8]) -> Result<()> {
    let written = super::opening::private_file(path, true).and_then(|mut file| {
        let written = file.write_all(bytes).and_then(|()| file.sync_all());
        written.inspect_err(|_| drop(fs::remove_file(path)))
    });
    written.map_err(|e| StoreError::from_file(path, e))
}
