//! The reviews that count, as figures for what reads the whole log at once.

use super::reading::{columns, filled, words};
use super::row::with_figures;
use super::steps;
use super::sums::{self, broken};
use super::{Fact, LogPosition, OutcomeRow, Result, Store, Words};
#[cfg(any(test, feature = "internals"))]
use crate::memory::Memory;
use crate::memory::Outcome;
use rusqlite::{Connection, Row, Transaction};
use std::collections::HashSet;
use std::panic::resume_unwind;
use std::sync::mpsc::{self, Receiver};
use std::thread;

impl Store {
    /// Hands every review that counts to `each`, in the order of the time at which they were given: not those that were
    /// withdrawn, nor those from later than [`Store::count_until`]. Gives the words that they use and says how far it
    /// went. All of it is one moment of the log, whatever other programs add.
    ///
    /// # Errors
    /// Of the database; [`super::StoreError::Damaged`] at a row that cannot be read or is not as it was written.
    pub fn facts(&self, mut each: impl FnMut(&Words, &Fact)) -> Result<(Words, LogPosition)> {
        self.sound()?;
        let (facts, words, mark) = self.read(|db| {
            let snapshot = LogSnapshot::of(db, true)?;
            let mut facts = Vec::new();
            let columns = concat!("r.item, r.concepts, r.reply, ", with_figures!(columns!()));
            snapshot.rows(columns, self.until, |r| {
                facts.push((r.get(SEED)?, fact(r, &snapshot.words)?));
                Ok(())
            })?;
            facts.sort_by_key(|(seed, fact): &(i64, Fact)| (fact.at, *seed, fact.id));
            Ok((facts, snapshot.words, snapshot.mark))
        })?;
        facts.iter().for_each(|(_, fact)| each(&words, fact));
        Ok((words, mark))
    }

    /// Carries along from `new` on what memory is told of every review that counts, in the order of [`Store::facts`]. A
    /// second thread does that while this one reads on. The words have no replies. Whether the reviews are as they were
    /// written is not asked here but by [`Store::sound`].
    ///
    /// # Errors
    /// Of the database; [`super::StoreError::Damaged`] at a row that cannot be read.
    pub fn fold<T: Send>(
        &self,
        new: impl Fn() -> T + Sync,
        each: impl Fn(&mut T, &Words, &OutcomeRow, &Outcome) + Sync,
    ) -> Result<(T, LogPosition)> {
        self.read(|db| {
            let snapshot = LogSnapshot::of(db, false)?;
            let words = &snapshot.words;
            let carried = thread::scope(|scope| {
                let (sender, rows) = mpsc::channel();
                let folding = scope.spawn(|| {
                    let mut told = Vec::new();
                    folded(rows, &new, |state, row| {
                        each(state, words, row, row.told(words, &mut told))
                    })
                });
                let mut some = Vec::with_capacity(AT_ONCE);
                let read = snapshot.rows(OUTCOME, self.until, |r| {
                    some.push((r.get(SEED)?, outcome_row(r, words)?));
                    if some.len() == AT_ONCE {
                        let full = std::mem::replace(&mut some, Vec::with_capacity(AT_ONCE));
                        // Where nobody takes it the other thread has failed, and that is told below.
                        let _ = sender.send(full);
                    }
                    Ok(())
                });
                let _ = sender.send(some);
                drop(sender);
                let carried = folding.join().unwrap_or_else(|panic| resume_unwind(panic));
                read.map(|()| carried)
            });
            Ok((carried?, snapshot.mark))
        })
    }

    /// What is remembered after all reviews that count, and how far into the log that goes.
    ///
    /// # Errors
    /// As [`Store::facts`].
    #[cfg(any(test, feature = "internals"))]
    pub fn memory(&self) -> Result<(Memory, LogPosition)> {
        self.sound()?;
        self.fold(Memory::new, |memory, _, _, outcome| {
            memory.observe(outcome);
        })
    }
}

/// This many reviews are handed over at once.
const AT_ONCE: usize = 2_048;

/// Carries a state over reviews, each with its seed, in the order of time.
fn folded<T>(
    rows: Receiver<Vec<(i64, OutcomeRow)>>,
    new: impl Fn() -> T,
    mut each: impl FnMut(&mut T, &OutcomeRow),
) -> T {
    // Where two logs became one, later rows may be older. The seed settles what came at once, whichever log took in the
    // other.
    let key = |(seed, row): &(i64, OutcomeRow)| (row.at, *seed, row.id);
    let (mut state, mut all, mut in_order) = (new(), Vec::new(), true);
    for row in rows.into_iter().flatten() {
        in_order = in_order && all.last().is_none_or(|last| key(last) <= key(&row));
        if in_order {
            each(&mut state, &row.1);
        }
        all.push(row);
    }
    if !in_order {
        all.sort_by_key(key);
        state = new();
        all.iter().for_each(|(_, row)| each(&mut state, row));
    }
    state
}

/// The log at one moment, whatever other programs add.
struct LogSnapshot<'a> {
    db: Transaction<'a>,
    mark: LogPosition,
    words: Words,
    withdrawn: HashSet<i64>,
}

impl LogSnapshot<'_> {
    fn of(db: &Connection, replies: bool) -> rusqlite::Result<LogSnapshot<'_>> {
        let db = db.unchecked_transaction()?;
        sums::check_ends(&db)?;
        let mut withdrawn = HashSet::new();
        sums::scan(&db, &steps::WITHDRAWAL, |r| {
            withdrawn.insert(r.get::<_, i64>(1)?);
            Ok(())
        })?;
        Ok(LogSnapshot {
            mark: super::mark(&db)?,
            words: words(&db, replies)?,
            withdrawn,
            db,
        })
    }

    /// The reviews that count up to `until`, with these columns of them.
    fn rows(
        &self,
        columns: &str,
        until: i64,
        mut each: impl FnMut(&Row<'_>) -> rusqlite::Result<()>,
    ) -> rusqlite::Result<()> {
        let sql = format!("SELECT r.id, r.at, r.seed, {columns} FROM review r ORDER BY r.id");
        let mut query = self.db.prepare_cached(&sql)?;
        let mut rows = query.query([])?;
        while let Some(r) = rows.next()? {
            if r.get::<_, i64>(1)? <= until && !self.withdrawn.contains(&r.get(0)?) {
                each(r)?;
            }
        }
        Ok(())
    }
}

/// Where [`LogSnapshot::rows`] has the seed, and from where on the columns asked for.
const SEED: usize = 2;
const FROM: usize = 3;

fn fact(r: &Row<'_>, words: &Words) -> rusqlite::Result<Fact> {
    Ok(with_figures!(filled!(
        r,
        FROM + 3,
        Fact {
            id: r.get(0)?,
            item: word(r, FROM, words.items.len())?,
            concepts: word(r, FROM + 1, words.concepts.len())?,
            reply: word(r, FROM + 2, words.replies.len())?,
        },
    )))
}

/// The columns that the fold needs; each takes its time.
const OUTCOME: &str =
    "r.item, r.concepts, r.correct, r.guess, r.seconds, r.within, r.replays, r.slowed";

fn outcome_row(r: &Row<'_>, words: &Words) -> rusqlite::Result<OutcomeRow> {
    Ok(OutcomeRow {
        id: r.get(0)?,
        at: r.get(1)?,
        item: word(r, FROM, words.items.len())?,
        concepts: word(r, FROM + 1, words.concepts.len())?,
        correct: r.get(FROM + 2)?,
        guess: r.get(FROM + 3)?,
        seconds: r.get(FROM + 4)?,
        limit: r.get(FROM + 5)?,
        replays: r.get(FROM + 6)?,
        slowed: r.get(FROM + 7)?,
    })
}

/// The index of the word to which a column refers, of so many.
fn word(r: &Row<'_>, column: usize, count: usize) -> rusqlite::Result<usize> {
    match r.get::<_, u32>(column)? as usize {
        id if id > 0 && id <= count => Ok(id - 1),
        id => Err(broken(format!(
            "a review refers to word {id}, which is not there"
        ))),
    }
}
