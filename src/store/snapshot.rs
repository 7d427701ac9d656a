//! Saved folds of the log: files beside it that may be deleted at any time.
//!
//! A file holds a header of 56 bytes (all numbers little-endian) and then the bytes of the fold:
//! `WSFOLD01`, the log's own id (16 bytes), the fold's version (u32), CRC-32 of the bytes (u32), last review (i64),
//! last withdrawal (i64), number of bytes (u64).

use super::Store;
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::PathBuf;

/// How far into the log a fold has come. Ids have no holes, so the mark also says how many reviews were folded.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Mark {
    /// Id of the last review folded; 0 for none.
    pub review: i64,
    /// Id of the last withdrawal taken into account; 0 for none.
    pub withdrawal: i64,
}

/// A saved fold of the log.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Snapshot {
    /// How far into the log it goes.
    pub mark: Mark,
    /// What the fold made of itself; its meaning and version are the fold's business.
    pub bytes: Vec<u8>,
}

struct Head {
    mark: Mark,
    /// Bytes of the fold.
    length: u64,
    /// Their CRC-32.
    sum: u32,
}

const MAGIC: &[u8; 8] = b"WSFOLD01";
const HEADER: usize = 56;

impl Store {
    pub(super) fn snapshot_path(&self, name: &str) -> PathBuf {
        self.folder.join(format!("{name}.fold"))
    }

    /// The saved fold `name`, if there is one of `version` that the log still bears out: of this very log, whole,
    /// not ahead of it, and with no review withdrawn since. Anything else is `None`, and the log is folded anew.
    pub fn snapshot(&self, name: &str, version: u32) -> Option<Snapshot> {
        let (head, mut file) = self.snapshot_head(name, version)?;
        let mut bytes = Vec::with_capacity(usize::try_from(head.length).ok()?);
        file.read_to_end(&mut bytes).ok()?;
        (crc32fast::hash(&bytes) == head.sum).then_some(Snapshot {
            mark: head.mark,
            bytes,
        })
    }

    fn snapshot_head(&self, name: &str, version: u32) -> Option<(Head, File)> {
        let mut file = File::open(self.snapshot_path(name)).ok()?;
        let mut head = [0; HEADER];
        file.read_exact(&mut head).ok()?;
        let u32_at =
            |i: usize| u32::from_le_bytes([head[i], head[i + 1], head[i + 2], head[i + 3]]);
        let u64_at = |i: usize| u64::from(u32_at(i)) | u64::from(u32_at(i + 4)) << 32;
        let mark = Mark {
            review: u64_at(32) as i64,
            withdrawal: u64_at(40) as i64,
        };
        let length = u64_at(48);
        let ours = head.starts_with(MAGIC) && head[8..24] == self.id && u32_at(24) == version;
        let whole = file.metadata().ok()?.len() == length.checked_add(HEADER as u64)?;
        let now = self.mark().ok()?;
        let borne_out =
            mark.withdrawal == now.withdrawal && (0..=now.review).contains(&mark.review);
        let sum = u32_at(28);
        (ours && whole && borne_out).then_some((Head { mark, length, sum }, file))
    }

    /// Saves a fold under `name` (letters and hyphens), in place of the one before it. A crash on the way leaves
    /// the old one.
    ///
    /// # Errors
    /// Of the file system. The log does not need the snapshot: a caller may go on without.
    pub fn save_snapshot(
        &self,
        name: &str,
        version: u32,
        mark: Mark,
        bytes: &[u8],
    ) -> io::Result<()> {
        let path = self.snapshot_path(name);
        let draft = path.with_extension(format!("{}.draft", std::process::id()));
        let mut head = Vec::with_capacity(HEADER);
        head.extend_from_slice(MAGIC);
        head.extend_from_slice(&self.id);
        head.extend_from_slice(&version.to_le_bytes());
        head.extend_from_slice(&crc32fast::hash(bytes).to_le_bytes());
        head.extend_from_slice(&mark.review.to_le_bytes());
        head.extend_from_slice(&mark.withdrawal.to_le_bytes());
        head.extend_from_slice(&(bytes.len() as u64).to_le_bytes());
        let written = (|| {
            let mut file = File::create(&draft)?;
            file.write_all(&head)?;
            file.write_all(bytes)?;
            file.sync_all()?;
            fs::rename(&draft, &path)
        })();
        if written.is_err() {
            let _ = fs::remove_file(&draft);
        }
        written
    }

    /// Throws the saved fold `name` away, if there is one.
    ///
    /// # Errors
    /// Of the file system, unless there was none.
    pub fn drop_snapshot(&self, name: &str) -> io::Result<()> {
        match fs::remove_file(self.snapshot_path(name)) {
            Err(e) if e.kind() != io::ErrorKind::NotFound => Err(e),
            _ => Ok(()),
        }
    }
}
