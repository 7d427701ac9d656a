//! Rows of the log, read back whole.

use super::row::with_figures;
use super::steps::{self, KeptTable};
use super::sums::{self, broken};
use super::{IntroductionRow, ItemKey, Logged, Reply, Result, ReviewRow, Store, Words};
use crate::rhythm::{Grid, Tempo};
use crate::time::Seconds;
use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, ToSql, ToSqlOutput, ValueRef};
use rusqlite::{Connection, OptionalExtension, Params, Row};
use serde::de::DeserializeOwned;

/// The columns of the figures, each with `r.` before it.
macro_rules! columns {
    ($first:ident $head:literal, $($field:ident $column:literal),*) => {
        concat!("r.", $head, $(", r.", $column),*)
    };
}
pub(super) use columns;

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
pub(super) use filled;

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

pub(super) fn words(db: &Connection, replies: bool) -> rusqlite::Result<Words> {
    let reply = |r: &Row<'_>| {
        Ok(Reply {
            choices: decoded(r, 1)?,
            answer: r.get(2)?,
            keys: decoded(r, 3)?,
        })
    };
    Ok(Words {
        items: listed(db, &steps::ITEM, |r| item_key(r, 1))?,
        concepts: listed(db, &steps::CONCEPTS, |r| decoded(r, 1))?,
        replies: match replies {
            true => listed(db, &steps::REPLY, reply)?,
            false => Vec::new(),
        },
    })
}

/// An item that stands in three columns.
pub(super) fn item_key(r: &Row<'_>, from: usize) -> rusqlite::Result<ItemKey> {
    Ok(ItemKey {
        card: r.get(from)?,
        kind: r.get(from + 1)?,
        sense: r.get(from + 2)?,
    })
}

/// What a query finds.
pub(super) fn list<T>(
    db: &Connection,
    sql: &str,
    values: impl Params,
    row: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
) -> rusqlite::Result<Vec<T>> {
    db.prepare_cached(sql)?.query_map(values, row)?.collect()
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

impl FromSql for Grid {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        let name = value.as_str()?;
        let known = Grid::ALL.into_iter().find(|g| g.name() == name);
        known.ok_or_else(|| FromSqlError::Other(format!("no grid is called {name}").into()))
    }
}

impl FromSql for Tempo {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        let tempo = Tempo::try_from(value.as_f64()?);
        tempo.map_err(|why| FromSqlError::Other(why.into()))
    }
}

impl FromSql for Seconds {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        f64::column_result(value).map(Seconds::new)
    }
}

impl ToSql for Seconds {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(self.seconds().into())
    }
}

impl ToSql for Tempo {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(self.bpm().into())
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
