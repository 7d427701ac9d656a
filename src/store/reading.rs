//! Rows of the log, read back: whole, or as figures for what reads the whole log at once.

use super::row::with_figures;
use super::{
    Fact, IntroductionRow, LogPosition, Logged, ItemKey, Reply, Result, ReviewRow, Store, Words,
};
use crate::memory::Memory;
use crate::rhythm::Grid;
use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, ToSql, ToSqlOutput, Type, ValueRef};
use rusqlite::{Connection, Row};
use serde::de::DeserializeOwned;
use std::collections::HashSet;

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
    })
}

impl Store {
    /// Every meeting, oldest first.
    ///
    /// # Errors
    /// Of the database.
    pub fn meetings(&self) -> Result<Vec<IntroductionRow>> {
        self.read(|db| {
            db.prepare_cached(
                "SELECT card, at, utc_offset, session, seconds FROM meeting ORDER BY id",
            )?
            .query_map([], |r| {
                Ok(IntroductionRow {
                    card: r.get(0)?,
                    at: r.get(1)?,
                    utc_offset: r.get(2)?,
                    session: r.get(3)?,
                    seconds: r.get(4)?,
                })
            })?
            .collect()
        })
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
}

impl Store {
    /// Hands every review that was not withdrawn to `each`, in the order in which they were written. Gives the words
    /// that they use and says how far it went. All of it is one moment of the log, whatever other programs add.
    ///
    /// # Errors
    /// Of the database; [`super::StoreError::Damaged`] at a row that cannot be read.
    pub fn facts(&self, mut each: impl FnMut(&Words, &Fact)) -> Result<(Words, LogPosition)> {
        self.read(|db| {
            let moment = db.unchecked_transaction()?;
            let mark = super::mark(&moment)?;
            let words = words(&moment)?;
            let withdrawn = withdrawn(&moment)?;
            let sql = concat!(
                "SELECT r.id, r.item, r.concepts, r.reply, ",
                with_figures!(columns!()),
                " FROM review r ORDER BY r.id"
            );
            let mut query = moment.prepare_cached(sql)?;
            let mut rows = query.query([])?;
            while let Some(r) = rows.next()? {
                let fact = fact(r, &words)?;
                if !withdrawn.contains(&fact.id) {
                    each(&words, &fact);
                }
            }
            Ok((words, mark))
        })
    }

    /// What is remembered after all reviews that count, and how far into the log that goes.
    ///
    /// # Errors
    /// As [`Store::facts`].
    pub fn memory(&self) -> Result<(Memory, LogPosition)> {
        let mut memory = Memory::new();
        let (_, mark) = self.facts(|words, fact| {
            memory.observe(&fact.outcome(words));
        })?;
        Ok((memory, mark))
    }
}

fn withdrawn(db: &Connection) -> rusqlite::Result<HashSet<i64>> {
    db.prepare_cached("SELECT review FROM withdrawal")?
        .query_map([], |r| r.get(0))?
        .collect()
}

fn words(db: &Connection) -> rusqlite::Result<Words> {
    let items = listed(
        db,
        "SELECT id, card, kind, sense FROM item ORDER BY id",
        |r| {
            Ok(ItemKey {
                card: r.get(1)?,
                kind: r.get(2)?,
                sense: r.get(3)?,
            })
        },
    )?;
    let concepts = listed(db, "SELECT id, names FROM concepts ORDER BY id", |r| {
        decoded(r, 1)
    })?;
    let replies = listed(
        db,
        "SELECT id, choices, answer, keys FROM reply ORDER BY id",
        |r| {
            Ok(Reply {
                choices: decoded(r, 1)?,
                answer: r.get(2)?,
                keys: decoded(r, 3)?,
            })
        },
    )?;
    Ok(Words {
        items,
        concepts,
        replies,
    })
}

/// The rows of a table of words, the one with id `n` at index `n - 1`; ids of such tables have no holes.
fn listed<T>(
    db: &Connection,
    query: &str,
    read: impl Fn(&Row<'_>) -> rusqlite::Result<T>,
) -> rusqlite::Result<Vec<T>> {
    let mut query = db.prepare_cached(query)?;
    let mut rows = query.query([])?;
    let mut list = Vec::new();
    while let Some(r) = rows.next()? {
        let id = r.get::<_, u32>(0)? as usize;
        if id != list.len() + 1 {
            return Err(out_of_place(0, format!("{id} follows {}", list.len())));
        }
        list.push(read(r)?);
    }
    Ok(list)
}

fn fact(r: &Row<'_>, words: &Words) -> rusqlite::Result<Fact> {
    let index = |column: usize, count: usize| {
        let id = r.get::<_, u32>(column)? as usize;
        if id == 0 || id > count {
            return Err(out_of_place(column, format!("there is no word {id}")));
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
    serde_json::from_str(&text).map_err(|e| out_of_place(column, e.to_string()))
}

fn out_of_place(column: usize, what: String) -> rusqlite::Error {
    let why = FromSqlError::Other(what.into());
    rusqlite::Error::FromSqlConversionFailure(column, Type::Text, Box::new(why))
}
