//! A file that a command writes for the player: written whole beside its place, then moved there.

use super::Folder;
use anyhow::{Context, anyhow, bail};
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

/// Whether a file that is there may be written over.
#[derive(Clone, Copy, Debug, Default, clap::Args)]
pub struct ForceArg {
    /// Write over the file where it is there already
    #[arg(long)]
    force: bool,
}

impl ForceArg {
    /// Has `write` write a new file and puts it at `path` when it is whole. A device or a pipe is written to as it is.
    ///
    /// # Errors
    /// Where a file is there and is not to be written over, where it belongs to the log in `folder` or is the one that
    /// is `read`, and where it cannot be written. What was there is as it was then.
    pub fn write(
        self,
        path: &Path,
        folder: &Folder,
        read: Option<&Path>,
        write: impl FnOnce(&Path) -> anyhow::Result<()>,
    ) -> anyhow::Result<()> {
        let name = path.display();
        let there = fs::metadata(path).ok();
        if there.is_some_and(|m| !m.is_file() && !m.is_dir()) {
            return write(path);
        }
        let already = || {
            anyhow!(
                "{name} is there already and was left as it is; name another file, or write over it with --force"
            )
        };
        let place = real(path);
        if belongs_to_log(&place, &real(folder.path())) {
            bail!("{name} belongs to your log, which is never written over; name another file");
        }
        if read.is_some_and(|read| read.is_file() && real(read) == place) {
            bail!(
                "{name} is the deck that is being read, and it is not written over; name another file"
            );
        }
        if !self.force && fs::symlink_metadata(path).is_ok() {
            return Err(already());
        }
        let beside = place.parent().filter(|p| !p.as_os_str().is_empty());
        let mut new = tempfile::Builder::new();
        #[cfg(unix)]
        new.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
        let cannot = || format!("{name} cannot be written");
        let new = new
            .tempfile_in(beside.unwrap_or(Path::new(".")))
            .with_context(cannot)?;
        write(new.path()).with_context(cannot)?;
        File::open(new.path())
            .and_then(|file| file.sync_all())
            .with_context(cannot)?;
        let put = match self.force {
            true => new.persist(&place),
            false => new.persist_noclobber(&place),
        };
        match put {
            Err(e) if e.error.kind() == io::ErrorKind::AlreadyExists => Err(already()),
            put => put.map(drop).map_err(|e| e.error).with_context(cannot),
        }
    }
}

/// The file that a path leads to.
fn real(path: &Path) -> PathBuf {
    let parent = || {
        let folder = path.parent().filter(|p| !p.as_os_str().is_empty());
        let folder = fs::canonicalize(folder.unwrap_or(Path::new("."))).ok()?;
        Some(folder.join(path.file_name()?))
    };
    let there = fs::canonicalize(path).ok().or_else(parent);
    there.unwrap_or_else(|| path.to_path_buf())
}

/// Whether a file is the log in `folder`, lies beside it for the database, or is a copy that the program keeps.
fn belongs_to_log(path: &Path, folder: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    path.starts_with(folder.join(crate::store::BACKUPS))
        || (path.parent() == Some(folder) && name.starts_with(crate::store::FILE))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_written_over_unasked_and_the_log_and_the_deck_never() {
        let dir = tempfile::tempdir().unwrap();
        let folder = Folder::find(Some(dir.path())).unwrap();
        let at = |name: &str| dir.path().join(name);
        for name in ["log.db", "friday.toml", "old.html"] {
            fs::write(at(name), "as it was").unwrap();
        }
        let deck = at("friday.toml");
        let write = |force, file: &Path| {
            let text = |to: &Path| Ok(fs::write(to, "new")?);
            let written = ForceArg { force }.write(file, &folder, Some(&deck), text);
            written.map_err(|e| e.to_string()).err().unwrap_or_default()
        };
        assert_eq!(write(false, &at("new.html")), "");
        assert!(write(false, &at("old.html")).contains("--force"));
        assert!(write(true, &at("log.db")).contains("belongs to your log"));
        assert!(write(true, &at("log.db-wal")).contains("belongs to your log"));
        assert!(write(true, &at("friday.toml")).contains("is the deck that is being read"));
        #[cfg(unix)]
        {
            std::os::unix::fs::symlink(at("log.db"), at("link")).unwrap();
            assert!(write(true, &at("link")).contains("belongs to your log"));
            assert_eq!(write(false, Path::new("/dev/null")), "");
        }
        assert_eq!(fs::read_to_string(at("old.html")).unwrap(), "as it was");
        assert_eq!(write(true, &at("old.html")), "");
        assert_eq!(fs::read_to_string(at("old.html")).unwrap(), "new");
        for name in ["log.db", "friday.toml"] {
            assert_eq!(fs::read_to_string(at(name)).unwrap(), "as it was");
        }
        // A write that fails leaves nothing behind.
        let fails = |_: &Path| bail!("no room");
        assert!(
            ForceArg { force: true }
                .write(&at("old.html"), &folder, None, fails)
                .is_err()
        );
        let names = fs::read_dir(dir.path()).unwrap().count();
        assert_eq!(
            (names, fs::read_to_string(at("old.html")).unwrap().as_str()),
            (5, "new")
        );
    }
}
