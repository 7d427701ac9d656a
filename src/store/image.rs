//! A log as bytes: what its file and its write-ahead file hold together, read without opening either as a database.
//!
//! Layouts: SQLite, *Database File Format*, sections 1.3 and 4.

use super::Result;
use super::error::StoreError;
use super::steps::{self, DatabaseState};
use super::sums;
use rusqlite::{Connection, MAIN_DB, OptionalExtension};
use std::fs;
use std::io::ErrorKind;
use std::ops::Range;
use std::path::{Path, PathBuf};

/// The write-ahead file of a log.
pub(super) fn beside(path: &Path, suffix: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(suffix);
    name.into()
}

/// The bytes of a file; none where it is not there.
pub(super) fn bytes(path: &Path) -> Result<Vec<u8>> {
    refuse_no_file(path)?;
    match fs::read(path) {
        Err(e) if e.kind() == ErrorKind::NotFound => Ok(Vec::new()),
        read => read.map_err(|e| StoreError::from_file(path, e)),
    }
}

/// Refuses what is not a file: a device may have no end, and opening a pipe waits.
pub(super) fn refuse_no_file(path: &Path) -> Result<()> {
    match fs::metadata(path) {
        Ok(there) if !there.is_file() => Err(StoreError::NotAFile {
            path: path.into(),
            what: match there.is_dir() {
                true => "a folder",
                false => "a pipe or a device",
            },
        }),
        _ => Ok(()),
    }
}

/// A log with what its write-ahead file adds, as far as that can be read and belongs to it.
pub(super) fn read(path: &Path) -> Result<Vec<u8>> {
    let main = bytes(path)?;
    let ahead = bytes(&beside(path, "-wal"))?;
    Ok(match WriteAhead::parse(&ahead) {
        Some(ahead) if !main.is_empty() && ahead.belongs_to(&main) => ahead.applied(&main),
        _ => main,
    })
}

/// One transaction of a write-ahead file.
#[derive(Clone, Debug, Default)]
struct Transaction {
    /// Number of each page, from 1 on, and where it lies in the file.
    pages: Vec<(usize, Range<usize>)>,
    /// Pages of the log after it.
    size: usize,
}

/// A write-ahead file.
pub(super) struct WriteAhead<'a> {
    bytes: &'a [u8],
    /// Bytes of a page.
    page: usize,
    whole: Vec<Transaction>,
    /// All transactions where sums are left out of account, and the number of the first frame whose sum does not fit.
    damaged: Option<(usize, Vec<Transaction>)>,
}

const HEAD: usize = 32;
const FRAME_HEAD: usize = 24;

fn number(bytes: &[u8], at: usize) -> u32 {
    let mut four = [0; 4];
    four.copy_from_slice(&bytes[at..at + 4]);
    u32::from_be_bytes(four)
}

/// The check sum of a write-ahead file (section 4.2), gone on with.
fn gone_on(sum: (u32, u32), bytes: &[u8], big: bool) -> (u32, u32) {
    bytes.chunks_exact(8).fold(sum, |(a, b), pair| {
        let word = |at| match big {
            true => number(pair, at),
            false => number(pair, at).swap_bytes(),
        };
        let a = a.wrapping_add(word(0)).wrapping_add(b);
        (a, b.wrapping_add(word(4)).wrapping_add(a))
    })
}

impl<'a> WriteAhead<'a> {
    /// `None` where the head of the file does not hold.
    pub fn parse(bytes: &'a [u8]) -> Option<WriteAhead<'a>> {
        let magic = number(bytes.get(..HEAD)?, 0);
        let page = match number(bytes, 8) {
            1 => 65_536,
            size => size as usize,
        };
        let big = magic & 1 == 1;
        let mut sum = gone_on((0, 0), &bytes[..24], big);
        if magic & !1 != 0x377f_0682
            || !(512..=65_536).contains(&page)
            || sum != (number(bytes, 24), number(bytes, 28))
        {
            return None;
        }
        let salt = [number(bytes, 16), number(bytes, 20)];
        let mut whole = Vec::new();
        let mut open = Transaction::default();
        let mut loose = Transaction::default();
        let mut damaged: Option<(usize, Vec<Transaction>)> = None;
        for (n, at) in (HEAD..bytes.len()).step_by(FRAME_HEAD + page).enumerate() {
            let Some(frame) = bytes.get(at..at + FRAME_HEAD + page) else {
                break;
            };
            let same = [8, 12].map(|place| number(frame, place)) == salt;
            let alike = number(frame, 8) == salt[0] || number(frame, 12) == salt[1];
            if !alike {
                // What an earlier round of the file has left.
                break;
            }
            let place = (
                number(frame, 0) as usize,
                at + FRAME_HEAD..at + FRAME_HEAD + page,
            );
            let size = number(frame, 4) as usize;
            sum = gone_on(sum, &frame[..8], big);
            sum = gone_on(sum, &frame[FRAME_HEAD..], big);
            let fits = same && sum == (number(frame, 16), number(frame, 20));
            if !fits && damaged.is_none() {
                loose = open.clone();
                damaged = Some((n + 1, whole.clone()));
            }
            let (transaction, list) = match &mut damaged {
                None => (&mut open, &mut whole),
                Some((_, all)) => (&mut loose, all),
            };
            transaction.pages.push(place);
            if size > 0 {
                transaction.size = size;
                list.push(std::mem::take(transaction));
            }
        }
        Some(WriteAhead {
            bytes,
            page,
            whole,
            damaged,
        })
    }

    /// Number of the first frame whose sum does not fit.
    pub fn damaged_from(&self) -> Option<usize> {
        self.damaged.as_ref().map(|d| d.0)
    }

    /// Whether there is nothing in it to be taken over.
    pub fn is_empty(&self) -> bool {
        self.whole.is_empty() && self.damaged.is_none()
    }

    /// The log with the transactions that are whole.
    pub fn applied(&self, main: &[u8]) -> Vec<u8> {
        self.with(main, &self.whole)
    }

    /// The log with all transactions, sums left out of account.
    pub fn applied_unchecked(&self, main: &[u8]) -> Vec<u8> {
        let all = self.damaged.as_ref().map_or(&self.whole, |d| &d.1);
        self.with(main, all)
    }

    fn with(&self, main: &[u8], transactions: &[Transaction]) -> Vec<u8> {
        // A number or size that a flipped bit made huge is no page of this log.
        let most = main.len() / self.page + self.bytes.len() / self.page + 1;
        let mut image = main.to_vec();
        for transaction in transactions {
            for (number, place) in &transaction.pages {
                if (1..=most).contains(number) {
                    let at = (number - 1) * self.page;
                    if image.len() < at + self.page {
                        image.resize(at + self.page, 0);
                    }
                    image[at..at + self.page].copy_from_slice(&self.bytes[place.clone()]);
                }
            }
            image.resize(transaction.size.min(most) * self.page, 0);
        }
        image
    }

    /// Whether it was written beside `main`, as far as marks tell: the first write in it follows the last in `main`, or
    /// what is in `main` is one of its writes.
    pub fn belongs_to(&self, main: &[u8]) -> bool {
        let all = self.damaged.as_ref().map_or(&self.whole, |d| &d.1);
        let marks = [
            main.to_vec(),
            self.with(main, all.get(..1).unwrap_or(all)),
            self.with(main, all),
        ];
        let marks = marks.map(|image| WriteMark::of(&image));
        let [Some(main), Some(first), Some(last)] = marks else {
            // A log from before there were marks; whether it holds together tells.
            return true;
        };
        let follows = main.writes + 1 == first.writes && main.mark == first.before;
        let within = (first.writes..=last.writes).contains(&main.writes)
            && (main.writes != last.writes || main.mark == last.mark);
        main.log == first.log && main.log == last.log && (follows || within)
    }
}

/// Which write of which log was the last.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct WriteMark {
    pub log: String,
    pub writes: i64,
    mark: i64,
    before: i64,
}

impl WriteMark {
    /// `None` for a log from before there were marks, and where it cannot be read.
    fn of(image: &[u8]) -> Option<WriteMark> {
        WriteMark::read(&opened(image).ok()?).ok()?
    }

    pub fn read(db: &Connection) -> rusqlite::Result<Option<WriteMark>> {
        db.query_row(
            "SELECT value, writes, mark, before FROM head, meta WHERE key = 'log'",
            [],
            |r| {
                Ok(WriteMark {
                    log: r.get(0)?,
                    writes: r.get(1)?,
                    mark: r.get(2)?,
                    before: r.get(3)?,
                })
            },
        )
        .optional()
    }
}

/// A database in memory.
pub(super) fn opened(image: &[u8]) -> rusqlite::Result<Connection> {
    let mut db = Connection::open_in_memory()?;
    if !image.is_empty() {
        let mut image = image.to_vec();
        // In memory there is no write-ahead file.
        if let Some(journal) = image.get_mut(18..20) {
            journal.fill(1);
        }
        let size = image.len();
        db.deserialize_read_exact(MAIN_DB, std::io::Cursor::new(image), size, false)?;
    }
    Ok(db)
}

/// Looks whether a log in memory is sound.
///
/// # Errors
/// What is wrong, in words.
pub(super) fn sound(image: &[u8]) -> std::result::Result<(), String> {
    let db = opened(image).map_err(|e| e.to_string())?;
    match steps::look(&db).map_err(|e| e.to_string())? {
        DatabaseState::Ours => all_sound(&db),
        _ => Err("it is not a log of this program".into()),
    }
}

/// Looks whether an open log is sound: the file's own structure and all sums.
///
/// # Errors
/// The first thing that is wrong, in words.
pub(super) fn all_sound(db: &Connection) -> std::result::Result<(), String> {
    let check = || -> rusqlite::Result<Option<String>> {
        // One moment of it, whatever other programs write.
        let db = db.unchecked_transaction()?;
        let said: String = db.query_row("PRAGMA integrity_check(1)", [], |r| r.get(0))?;
        if said != "ok" {
            return Ok(Some(said));
        }
        if steps::version(&db)? < steps::WITH_SUMS {
            return Ok(None);
        }
        for table in &steps::KEPT {
            if let Some(fault) = sums::faults(&db, table, 1)?.pop() {
                return Ok(Some(fault));
            }
        }
        sums::faults_at_the_end(&db).map(|mut faults| faults.pop())
    };
    let fault = check().unwrap_or_else(|error| Some(error.to_string()));
    fault.map_or(Ok(()), Err)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Counted by hand: a log of one page and a write-ahead file of one page make three pages at most.
    #[test]
    fn a_page_number_past_all_pages_that_there_can_be_is_left_out() {
        let (main, bytes) = (vec![1; 512], vec![2; 512]);
        let ahead = |number, size| WriteAhead {
            bytes: &bytes,
            page: 512,
            whole: vec![Transaction {
                pages: vec![(number, 0..512)],
                size,
            }],
            damaged: None,
        };
        let pages = |image: Vec<u8>| image.chunks(512).map(|p| p[0]).collect::<Vec<u8>>();
        assert_eq!(pages(ahead(1, 1).applied(&main)), [2]);
        assert_eq!(pages(ahead(3, 3).applied(&main)), [1, 0, 2]);
        assert_eq!(pages(ahead(4, 1).applied(&main)), [1]);
        assert_eq!(pages(ahead(1, 9).applied(&main)), [2, 0, 0]);
    }
}
