//! Rows of the log, read back: whole, or as figures for what reads the whole log at once.

use super::row::with_figures;
use super::steps::{self, KeptTable};
use super::sums::{self, broken};
use super::{
    Fact, IntroductionRow, ItemKey, LogPosition, Logged, Reply, Result, ReviewRow, Store, Words,
};
#[cfg(any(test, feature = "internals"))]
use crate::memory::Memory;
use crate::rhythm::Grid;
use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, ToSql, ToSqlOutput, ValueRef};
use rusqlite::{Connection, OptionalExtension, Row};
use serde::de::DeserializeOwned;
use std::collections::HashSet;
use std::panic::resume_unwind;
use std::sync::mpsc::{self, Receiver};
use std::thread;

/// The columns of the figures, each with `r.` before it.
macro_rules! columns {
    ($first:ident $head:literal, $($field:ident $column:literal),*) => {
        concat!("r.", $head, $(", r.", $column),*)
    };
}

/// A row of figures from column `$from` on, with the other fields of the struct.
macro_rules! filled {
    ($row:expr, $from:expr, $struct:ident { $($own:ident: $value:expr),* $(,)? }, $($field:ident $column:literal),*) => {{
        let mut next = $from..;
        $struct {
            $($own: $value,)*
            $($field: $row.get(next.next().unwrap_or(0))?,)*
        }
    }};
}

/// Every review after an id, whole.
pub(super) fn every_review() -> String {
    format!(
        "SELECT r.id, r.session, i.card, i.kind, i.sense, c.names, r.seed, s.score, s.prompt, p.choices, p.answer,
           p.keys, r.program, w.why, {}
         FROM review r LEFT JOIN item i ON i.id = r.item LEFT JOIN concepts c ON c.id = r.concepts
           LEFT JOIN reply p ON p.id = r.reply LEFT JOIN shown s ON s.review = r.id
           LEFT JOIN withdrawal w ON w.review = r.id
         WHERE r.id > ?1 ORDER BY r.id",
        with_figures!(columns!())
    )
}

pub(super) fn logged(r: &Row<'_>) -> rusqlite::Result<Logged> {
    Ok(Logged {
        id: r.get(0)?,
        row: with_figures!(filled!(
            r,
            14,
            ReviewRow {
                session: r.get(1)?,
                card: r.get(2)?,
                kind: r.get(3)?,
                sense: r.get(4)?,
                concepts: decoded(r, 5)?,
                seed: r.get::<_, i64>(6)? as u64,
                score: r.get(7)?,
                prompt: r.get(8)?,
                choices: decoded(r, 9)?,
                answer: r.get(10)?,
                keys: decoded(r, 11)?,
                program: r.get(12)?,
            },
        )),
        withdrawn: r.get(13)?,
        meetings: Vec::new(),
    })
}

impl Store {
    /// Every meeting that counts, in the order of writing.
    ///
    /// # Errors
    /// Of the database.
    pub fn meetings(&self) -> Result<Vec<IntroductionRow>> {
        let mut meetings = self.read(meetings)?;
        meetings.retain(|m| m.at <= self.until);
        Ok(meetings)
    }

    /// Hands every review after id `after` to `each`, in the order in which they were written, withdrawn ones
    /// included (they say so).
    ///
    /// # Errors
    /// Of the database; [`StoreError::Damaged`](super::StoreError::Damaged) at a row that cannot be read.
    pub fn reviews(&self, after: i64, mut each: impl FnMut(Logged)) -> Result<()> {
        self.read(|db| {
            let mut query = db.prepare_cached(&every_review())?;
            let mut rows = query.query([after])?;
            while let Some(r) = rows.next()? {
                each(logged(r)?);
            }
            Ok(())
        })
    }

    /// Looks whether every row is as it was written, as far as sums can tell.
    ///
    /// # Errors
    /// [`StoreError::Damaged`](super::StoreError::Damaged) names the first that is not.
    pub fn check(&self) -> Result<()> {
        self.read(|db| {
            let moment = db.unchecked_transaction()?;
            sums::check_ends(&moment)?;
            steps::KEPT
                .iter()
                .try_for_each(|table| sums::scan(&moment, table, |_| Ok(())))
        })
    }
}

impl Store {
    /// Hands every review that counts to `each`, in the order of the time at which they were given: not those that were
    /// withdrawn, nor those from later than [`Store::count_until`]. Gives the words that they use and says how far it
    /// went. All of it is one moment of the log, whatever other programs add.
    ///
    /// # Errors
    /// Of the database; [`super::StoreError::Damaged`] at a row that cannot be read or is not as it was written.
    pub fn facts(&self, mut each: impl FnMut(&Words, &Fact)) -> Result<(Words, LogPosition)> {
        let (facts, words, mark) = self.fold(Vec::new, |facts, _, fact| facts.push(*fact))?;
        facts.iter().for_each(|fact| each(&words, fact));
        Ok((words, mark))
    }

    /// As [`Store::facts`], for what is carried along from `new` on: a second thread does that while this one reads on.
    ///
    /// # Errors
    /// As [`Store::facts`].
    pub fn fold<T: Send>(
        &self,
        new: impl Fn() -> T + Sync,
        each: impl Fn(&mut T, &Words, &Fact) + Sync,
    ) -> Result<(T, Words, LogPosition)> {
        self.read(|db| {
            let moment = db.unchecked_transaction()?;
            let mark = super::mark(&moment)?;
            sums::check_ends(&moment)?;
            let words = words(&moment)?;
            let mut withdrawn = HashSet::new();
            sums::scan(&moment, &steps::WITHDRAWAL, |r| {
                withdrawn.insert(r.get::<_, i64>(1)?);
                Ok(())
            })?;
            let seed = steps::REVIEW.columns.split(", ").position(|c| c == "seed");
            let seed = seed.unwrap_or_default();
            let carried = thread::scope(|scope| {
                let (sender, facts) = mpsc::channel();
                let folding =
                    scope.spawn(|| folded(facts, &new, |state, fact| each(state, &words, fact)));
                let mut some = Vec::with_capacity(AT_ONCE);
                let read = sums::scan(&moment, &steps::REVIEW, |r| {
                    let fact = fact(r, &words)?;
                    if !withdrawn.contains(&fact.id) && fact.at <= self.until {
                        some.push((r.get::<_, i64>(seed)?, fact));
                    }
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
            Ok((carried?, words, mark))
        })
    }

    /// When the review was given that was written last, of those not withdrawn (milliseconds since 1970 UTC).
    ///
    /// # Errors
    /// Of the database.
    pub fn last_written(&self) -> Result<Option<i64>> {
        self.read(|db| {
            db.prepare_cached(
                "SELECT at FROM review r WHERE NOT EXISTS (SELECT 1 FROM withdrawal w WHERE w.review = r.id)
                 ORDER BY id DESC LIMIT 1",
            )?
            .query_row([], |r| r.get(0))
            .optional()
        })
    }

    /// What is remembered after all reviews that count, and how far into the log that goes.
    ///
    /// # Errors
    /// As [`Store::facts`].
    #[cfg(any(test, feature = "internals"))]
    pub fn memory(&self) -> Result<(Memory, LogPosition)> {
        let (memory, _, mark) = self.fold(Memory::new, |memory, words, fact| {
            memory.observe(&fact.outcome(words));
        })?;
        Ok((memory, mark))
    }
}

/// So many reviews are handed over at once.
const AT_ONCE: usize = 2_048;

/// Carries a state over reviews, each with its seed, in the order of time.
fn folded<T>(
    facts: Receiver<Vec<(i64, Fact)>>,
    new: impl Fn() -> T,
    each: impl Fn(&mut T, &Fact),
) -> T {
    // Where two logs became one, later rows may be older. The seed settles what came at once, whichever log took in the
    // other.
    let key = |(seed, fact): &(i64, Fact)| (fact.at, *seed, fact.id);
    let (mut state, mut all, mut in_order) = (new(), Vec::new(), true);
    for row in facts.into_iter().flatten() {
        in_order = in_order && all.last().is_none_or(|last| key(last) <= key(&row));
        if in_order {
            each(&mut state, &row.1);
        }
        all.push(row);
    }
    if !in_order {
        all.sort_by_key(key);
        state = new();
        all.iter().for_each(|(_, fact)| each(&mut state, fact));
    }
    state
}

pub(super) fn meetings(db: &Connection) -> rusqlite::Result<Vec<IntroductionRow>> {
    listed(db, &steps::MEETING, meeting)
}

pub(super) fn meeting(r: &Row<'_>) -> rusqlite::Result<IntroductionRow> {
    Ok(IntroductionRow {
        card: r.get(1)?,
        at: r.get(2)?,
        utc_offset: r.get(3)?,
        session: r.get(4)?,
        seconds: r.get(5)?,
    })
}

fn words(db: &Connection) -> rusqlite::Result<Words> {
    Ok(Words {
        items: listed(db, &steps::ITEM, |r| {
            Ok(ItemKey {
                card: r.get(1)?,
                kind: r.get(2)?,
                sense: r.get(3)?,
            })
        })?,
        concepts: listed(db, &steps::CONCEPTS, |r| decoded(r, 1))?,
        replies: listed(db, &steps::REPLY, |r| {
            Ok(Reply {
                choices: decoded(r, 1)?,
                answer: r.get(2)?,
                keys: decoded(r, 3)?,
            })
        })?,
    })
}

/// The rows of a table, the one with number `n` at index `n - 1`; numbers have no holes.
fn listed<T>(
    db: &Connection,
    table: &KeptTable,
    read: impl Fn(&Row<'_>) -> rusqlite::Result<T>,
) -> rusqlite::Result<Vec<T>> {
    let mut list = Vec::new();
    sums::scan(db, table, |r| {
        list.push(read(r)?);
        Ok(())
    })?;
    Ok(list)
}

fn fact(r: &Row<'_>, words: &Words) -> rusqlite::Result<Fact> {
    let index = |column: usize, count: usize| {
        let id = r.get::<_, u32>(column)? as usize;
        if id == 0 || id > count {
            return Err(broken(format!(
                "a review refers to word {id}, which is not there"
            )));
        }
        Ok(id - 1)
    };
    Ok(with_figures!(filled!(
        r,
        4,
        Fact {
            id: r.get(0)?,
            item: index(1, words.items.len())?,
            concepts: index(2, words.concepts.len())?,
            reply: index(3, words.replies.len())?,
        },
    )))
}

impl FromSql for Grid {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        let name = value.as_str()?;
        let known = Grid::ALL.into_iter().find(|g| g.name() == name);
        known.ok_or_else(|| FromSqlError::Other(format!("no grid is called {name}").into()))
    }
}

impl ToSql for Grid {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(self.name().into())
    }
}

/// A column of JSON.
fn decoded<T: DeserializeOwned>(r: &Row<'_>, column: usize) -> rusqlite::Result<T> {
    let text: String = r.get(column)?;
    serde_json::from_str(&text).map_err(|e| broken(e.to_string()))
}
