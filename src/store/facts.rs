//! Reviews as figures and numbers of words: for what reads the whole log at once.

use super::reading::decoded;
use super::{Mark, Result, Store};
use crate::rhythm::Grid;
use rusqlite::types::{FromSqlError, Type, ValueRef};
use rusqlite::{Connection, Row};
use std::collections::{BTreeMap, HashSet};

/// What memory keeps track of: a card asked in one kind and one sense.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Item {
    /// `deck/card`.
    pub card: String,
    /// Kind of question, by its name.
    pub kind: String,
    /// `read` or `hear`.
    pub sense: String,
}

impl std::fmt::Display for Item {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}:{}", self.card, self.kind, self.sense)
    }
}

/// What could be answered, what was, and what is right: the fields of [`super::ReviewRow`].
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Reply {
    /// The keys that could be pressed, with what they stood for.
    pub choices: BTreeMap<char, String>,
    /// The keys that were pressed.
    pub answer: String,
    /// For each of them, the right ones.
    pub keys: Vec<String>,
}

/// The words that facts refer to by number. A number past the end does not come from the same log.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Words {
    /// Every item that was asked.
    pub items: Vec<Item>,
    /// Every set of ideas that a question exercised.
    pub concepts: Vec<Vec<String>>,
    /// Every answer with what it could have been.
    pub replies: Vec<Reply>,
}

/// A review that counts, without what was on the screen. Fields as in [`super::ReviewRow`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fact {
    /// Place in the log.
    pub id: i64,
    /// Milliseconds since 1970-01-01 00:00 UTC.
    pub at: i64,
    /// Minutes east of UTC.
    pub utc_offset: i32,
    /// Index into [`Words::items`].
    pub item: usize,
    /// Index into [`Words::concepts`].
    pub concepts: usize,
    /// Index into [`Words::replies`].
    pub reply: usize,
    /// Tempo, beats a minute.
    pub bpm: f64,
    /// The grid of what was asked.
    pub grid: Grid,
    /// Share that was right, 0 to 1.
    pub correct: f64,
    /// Chance of guessing it, 0 to 1.
    pub guess: f64,
    /// How long the answer took, seconds.
    pub seconds: f64,
    /// Up to when it was in time, seconds.
    pub limit: f64,
    /// How often it was listened to again.
    pub replays: u32,
    /// Whether it was slowed down.
    pub slowed: bool,
    /// Whether the answer was right and within `limit`.
    pub in_time: bool,
    /// Chance of recall that memory forecast before the answer was seen, where it did; lucky guesses are not in it.
    pub forecast: Option<f64>,
}

impl Store {
    /// Hands every review after id `after` that was not withdrawn to `each`, in the order in which they were
    /// written. Gives the words that they use and says how far it went. All of it is one moment of the log, whatever other programs add.
    ///
    /// # Errors
    /// Of the database; [`super::StoreError::Damaged`] at a row that cannot be read.
    pub fn facts(&self, after: i64, each: impl FnMut(&Words, &Fact)) -> Result<(Words, Mark)> {
        self.read(|db| {
            let moment = db.unchecked_transaction()?;
            let mark = super::mark(&moment)?;
            Ok((facts_in(&moment, after, each)?, mark))
        })
    }
}

/// As [`Store::facts`], of a moment that the caller holds.
pub(super) fn facts_in(
    moment: &Connection,
    after: i64,
    mut each: impl FnMut(&Words, &Fact),
) -> rusqlite::Result<Words> {
    let words = words(moment)?;
    let withdrawn = withdrawn(moment)?;
    let mut query = moment.prepare_cached(
        "SELECT id, at, utc_offset, item, concepts, reply, bpm, grid, correct, guess, seconds, within, replays,
           slowed, in_time, forecast FROM review WHERE id > ?1 ORDER BY id",
    )?;
    let mut rows = query.query([after])?;
    while let Some(r) = rows.next()? {
        let fact = fact(r, &words)?;
        if !withdrawn.contains(&fact.id) {
            each(&words, &fact);
        }
    }
    Ok(words)
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
            Ok(Item {
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
    Ok(Fact {
        id: r.get(0)?,
        at: r.get(1)?,
        utc_offset: r.get(2)?,
        item: index(3, words.items.len())?,
        concepts: index(4, words.concepts.len())?,
        reply: index(5, words.replies.len())?,
        bpm: r.get(6)?,
        grid: grid(r.get_ref(7)?)?,
        correct: r.get(8)?,
        guess: r.get(9)?,
        seconds: r.get(10)?,
        limit: r.get(11)?,
        replays: r.get(12)?,
        slowed: r.get(13)?,
        in_time: r.get(14)?,
        forecast: r.get(15)?,
    })
}

fn grid(value: ValueRef<'_>) -> rusqlite::Result<Grid> {
    let name = value.as_str()?;
    Grid::ALL
        .into_iter()
        .find(|g| g.name() == name)
        .ok_or_else(|| out_of_place(7, format!("no grid is called {name}")))
}

fn out_of_place(column: usize, what: String) -> rusqlite::Error {
    let why = FromSqlError::Other(what.into());
    rusqlite::Error::FromSqlConversionFailure(column, Type::Text, Box::new(why))
}
