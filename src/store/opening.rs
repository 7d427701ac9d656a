//! From a folder to an open log, or to the reason why there is none.

use super::error::StoreError;
use super::row_check::RowCheck;
use super::steps::{self, DatabaseState};
use super::{BACKUPS, FILE, PATIENCE, Result, Store, image, leftover};
use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags};
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::thread;
use std::time::Duration;

/// A log up to this size is looked through whole when it is opened, a larger one row by row before it is written to: bytes.
const SMALL: u64 = 2 << 20;
/// Between two tries to get at a log that another program is opening.
const STEP: Duration = Duration::from_millis(20);

/// Opens the log in `folder`; with `make` both are made where they are not there.
pub(super) fn open(folder: &Path, make: bool) -> Result<Store> {
    if make {
        make_folder(folder).map_err(StoreError::no_folder(folder))?;
    }
    let path = folder.join(FILE);
    image::refuse_no_file(&path)?;
    let (in_use, alone) = in_use(folder)?;
    let mut notes = Vec::new();
    if alone {
        refuse_by_header(&path)?;
        refuse_orphans(&path)?;
        if !path.exists() && is_database(&folder.join("states.db")) {
            notes.push(format!(
                "{} is from an earlier version and is not used, but there is no log.db beside it: if you had answers \
                 here, look for that file.",
                folder.join("states.db").display()
            ));
        }
        notes.extend(leftover::settle_journal(&path)?);
        notes.extend(leftover::settle(&path)?);
    }
    let file = match make {
        true => private_file(&path, false),
        false => File::open(&path),
    };
    let file = file.map_err(|e| StoreError::from_file(&path, e))?;
    let mut store = connect(&path)?;
    store.notes = notes;
    store.file = Some(file);
    if alone {
        in_use.iter().for_each(share);
        // What a kill has left in the write-ahead file.
        let _ = into_one_file(&store.db);
    }
    store._in_use = in_use;
    let size = store
        .file
        .as_ref()
        .and_then(|f| Some(f.metadata().ok()?.len()));
    if size.is_some_and(|size| size <= SMALL) {
        image::all_sound(&store.db).map_err(StoreError::damaged(&store.path))?;
        store.rows = RowCheck::passed();
    }
    Ok(store)
}

/// See [`Store::open_to_read`].
pub(super) fn open_to_read(folder: &Path) -> Result<Store> {
    let path = folder.join(FILE);
    image::refuse_no_file(&path)?;
    refuse_orphans(&path)?;
    if fs::metadata(&path).map_or(0, |m| m.len()) == 0 {
        return Err(StoreError::Missing {
            folder: folder.to_path_buf(),
        });
    }
    match open(folder, false) {
        Err(
            StoreError::ReadOnly { .. }
            | StoreError::Full { .. }
            | StoreError::Disk { .. }
            | StoreError::Folder { .. },
        ) => {
            let bytes = image::read(&path)?;
            image::sound(&bytes).map_err(StoreError::damaged(&path))?;
            in_memory(&path, &bytes)
        }
        opened => opened,
    }
}

impl Store {
    /// Opens the log in `folder` for [`Store::verify`]: one that is damaged is read into memory as far as it goes.
    ///
    /// # Errors
    /// As [`Store::open_to_read`].
    pub fn open_to_verify(folder: &Path) -> Result<Store> {
        match open_to_read(folder) {
            Err(StoreError::Damaged { path, .. }) => {
                let error = |e| StoreError::from_database(&path, e);
                let mut db = image::opened(&image::read(&path)?).map_err(error)?;
                // What cannot be brought up is found by the check.
                let _ = steps::bring_up(&mut db);
                Ok(bare(db, &path))
            }
            opened => opened,
        }
    }
}

/// A log in memory: a copy of `image`, or an empty one instead of the file at `path`.
pub(super) fn in_memory(path: &Path, image: &[u8]) -> Result<Store> {
    let error = |e| StoreError::from_database(path, e);
    let mut db = image::opened(image).map_err(error)?;
    refuse(&db, path)?;
    steps::bring_up(&mut db).map_err(error)?;
    // Whoever hands an image over has looked at it.
    Ok(Store {
        rows: RowCheck::passed(),
        ..bare(db, path)
    })
}

fn bare(db: Connection, path: &Path) -> Store {
    Store {
        db,
        file: None,
        _in_use: None,
        path: path.to_path_buf(),
        until: i64::MAX,
        rows: RowCheck::default(),
        notes: Vec::new(),
    }
}

/// Opens the database at `path` for reading and writing.
pub(super) fn connect(path: &Path) -> Result<Store> {
    let error = |e| StoreError::from_database(path, e);
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
        | OpenFlags::SQLITE_OPEN_CREATE
        | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut db = Connection::open_with_flags(plainly(path), flags).map_err(error)?;
    db.busy_timeout(PATIENCE).map_err(error)?;
    // Until the version is known, closing must not fold the write-ahead file of a newer program into its log.
    let keep = DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE;
    db.set_db_config(keep, true).map_err(error)?;
    let version = refuse(&db, path)?;
    if 0 < version && version < steps::VERSION {
        // Sums of damaged rows would say that all is well.
        image::all_sound(&db).map_err(StoreError::damaged(path))?;
    }
    let ready = |db: &mut Connection| {
        db.set_db_config(keep, false)?;
        write_ahead(db)?;
        db.pragma_update(None, "synchronous", "FULL")?;
        db.pragma_update(None, "foreign_keys", true)?;
        db.set_prepared_statement_cache_capacity(64);
        steps::bring_up(db)
    };
    ready(&mut db).map_err(error)?;
    Ok(bare(db, path))
}

/// A path as the database takes for a path, also where its name begins as an address does (`file:`).
pub(super) fn plainly(path: &Path) -> PathBuf {
    Path::new(".").join(path)
}

/// The version of a log that this program can bring up.
fn refuse(db: &Connection, path: &Path) -> Result<i64> {
    let error = |e| StoreError::from_database(path, e);
    match steps::look(db).map_err(error)? {
        DatabaseState::Newer(found) => Err(newer(path, found)),
        DatabaseState::Foreign => Err(StoreError::Foreign { path: path.into() }),
        DatabaseState::Ours => steps::version(db).map_err(error),
    }
}

/// Brings what lies in the write-ahead file into the log itself and empties that file, as far as nobody else reads at
/// that moment.
pub(super) fn into_one_file(db: &Connection) -> rusqlite::Result<()> {
    db.busy_timeout(Duration::ZERO)?;
    let done = db.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()));
    db.busy_timeout(PATIENCE)?;
    done
}

/// Whether the file that was opened still is the log at `path`.
#[cfg(unix)]
pub(super) fn is_the_log(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::{FileExt, MetadataExt};
    let place = |m: fs::Metadata| (m.dev(), m.ino());
    let same = match (file.metadata(), fs::metadata(path)) {
        (Ok(opened), Ok(there)) => place(opened) == place(there),
        _ => false,
    };
    let mut head = [0; 16];
    same && file.read_exact_at(&mut head, 0).is_ok() && head == *MAGIC
}

#[cfg(not(unix))]
pub(super) fn is_the_log(_: &File, path: &Path) -> bool {
    path.exists()
}

/// Opens a file that only the player can read; a `new` one must not be there yet.
pub(super) fn private_file(path: &Path, new: bool) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.read(true).write(true).create(true).create_new(new);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let file = options.open(path)?;
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // An earlier version let others read it. Where it belongs to somebody else it stays as it is.
        if file.metadata()?.permissions().mode() & 0o077 != 0 {
            let _ = file.set_permissions(fs::Permissions::from_mode(0o600));
        }
    }
    Ok(file)
}

/// Makes a folder that only the player can read, where it is not there.
pub(super) fn make_folder(folder: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}

/// Says that the log in `folder` is in use, and whether nobody else uses it. `None` where the system has no such locks.
fn in_use(folder: &Path) -> Result<(Option<File>, bool)> {
    let lock = File::open(folder).map_err(StoreError::no_folder(folder))?;
    match lock.try_lock() {
        Ok(()) => Ok((Some(lock), true)),
        Err(TryLockError::WouldBlock) => {
            share(&lock);
            Ok((Some(lock), false))
        }
        Err(TryLockError::Error(_)) => Ok((None, true)),
    }
}

/// The log in `folder` for this program alone.
///
/// # Errors
/// [`StoreError::Busy`] where another program uses it.
pub(super) fn alone(folder: &Path) -> Result<Option<File>> {
    match in_use(folder)? {
        (lock, true) => Ok(lock),
        (_, false) => Err(StoreError::Busy {
            path: folder.join(FILE),
        }),
    }
}

fn share(lock: &File) {
    let _ = patiently(
        10 * PATIENCE,
        || lock.try_lock_shared(),
        |error| matches!(error, TryLockError::WouldBlock),
    );
}

/// Tries as long as the error is that something is busy, but no longer than that.
fn patiently<T, E>(
    mut left: Duration,
    attempt: impl Fn() -> std::result::Result<T, E>,
    is_busy: impl Fn(&E) -> bool,
) -> std::result::Result<T, E> {
    loop {
        match attempt() {
            Err(error) if is_busy(&error) && !left.is_zero() => {
                thread::sleep(STEP);
                left = left.saturating_sub(STEP);
            }
            done => return done,
        }
    }
}

/// Refuses to begin a log where copies of one are left.
fn refuse_orphans(path: &Path) -> Result<()> {
    let size = fs::metadata(path).ok().map(|m| m.len());
    let copies = path.with_file_name(BACKUPS);
    match size {
        None | Some(0) if !super::copies::listed(&copies).is_empty() => Err(StoreError::Orphaned {
            path: path.to_path_buf(),
            empty: size.is_some(),
        }),
        _ => Ok(()),
    }
}

pub(super) fn newer(path: &Path, found: i64) -> StoreError {
    StoreError::Newer {
        path: path.to_path_buf(),
        found,
        known: steps::VERSION,
    }
}

const MAGIC: &[u8; 16] = b"SQLite format 3\0";

fn is_database(path: &Path) -> bool {
    let mut head = [0; 16];
    let read = File::open(path).and_then(|mut file| file.read_exact(&mut head));
    read.is_ok() && head == *MAGIC
}

/// Looks at the first 100 bytes of the file alone, so that a log of a newer program and a file that is something
/// else are refused before the database code has touched them. Offsets: SQLite *Database File Format*, 1.3.
fn refuse_by_header(path: &Path) -> Result<()> {
    let mut head = Vec::new();
    match File::open(path) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(()),
        opened => {
            let read = opened.and_then(|file| file.take(100).read_to_end(&mut head));
            read.map_err(StoreError::no_folder(path))?
        }
    };
    if head.is_empty() {
        return Ok(());
    }
    let number =
        |at: usize| i32::from_be_bytes([head[at], head[at + 1], head[at + 2], head[at + 3]]);
    if head.len() < 100 || !head.starts_with(MAGIC) {
        return Err(StoreError::Foreign { path: path.into() });
    }
    let (version, application) = (i64::from(number(60)), number(68));
    // A log whose first transaction is still in the write-ahead file has neither number in its header yet.
    if application != steps::APPLICATION_ID && (application != 0 || version != 0) {
        return Err(StoreError::Foreign { path: path.into() });
    }
    if version > steps::VERSION {
        return Err(newer(path, version));
    }
    Ok(())
}

/// Turns the write-ahead log on. The switch answers "busy" at once, without waiting, when another program makes it
/// at the same moment.
fn write_ahead(db: &Connection) -> rusqlite::Result<()> {
    let switch = || db.pragma_update(None, "journal_mode", "WAL");
    patiently(PATIENCE, switch, |error| {
        error.sqlite_error_code() == Some(rusqlite::ErrorCode::DatabaseBusy)
    })
}
