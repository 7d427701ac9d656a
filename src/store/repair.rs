//! What can be read of a damaged log, written into a new one.

use super::error::StoreError;
use super::reading::{every_review, logged};
use super::steps::{self, DatabaseState, KEPT, KeptTable};
use super::sums::RowSum;
use super::{Result, copies, image, insert, leftover, meet, opening, reading, withdraw};
use rusqlite::types::Value;
use rusqlite::{Connection, OptionalExtension, Row, params_from_iter};
use std::path::Path;

/// What a repair has brought over.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Repaired {
    /// Answers in the new log.
    pub answers: usize,
    /// Cards met in the new log.
    pub meetings: usize,
    /// What could not be read, one sentence each.
    pub lost: Vec<String>,
}

/// Reads the log in `folder` as far as it goes and writes that into the new file `to`. The log itself is left as it is.
///
/// # Errors
/// [`StoreError::There`] where `to` is there already, [`StoreError::Damaged`] where not even the list of tables can be
/// read.
pub fn repair(folder: &Path, to: &Path) -> Result<Repaired> {
    let path = folder.join(super::FILE);
    if to.exists() {
        return Err(StoreError::There { path: to.into() });
    }
    let bytes = image::read(&path)?;
    if bytes.is_empty() {
        return Err(StoreError::Missing {
            folder: folder.to_path_buf(),
        });
    }
    let error = |e| StoreError::from_database(&path, e);
    let damaged = image::opened(&bytes).map_err(error)?;
    damaged
        .query_row("SELECT count(*) FROM sqlite_schema", [], |r| {
            r.get::<_, i64>(0)
        })
        .map_err(|e| format!("its list of tables cannot be read ({e}), so nothing in it can be"))
        .map_err(StoreError::damaged(&path))?;
    // A log in memory takes the rows as they are; from there they are read as from any other.
    let mut repaired = Repaired::default();
    if let Ok(DatabaseState::Newer(found)) = steps::look(&damaged) {
        repaired.lost.push(format!(
            "what a newer whichside may have added to the log (its version is {found}; this program knows up to {})",
            steps::VERSION
        ));
    }
    let between = opening::in_memory(&path, &[])?.db;
    between
        .execute_batch("PRAGMA foreign_keys = OFF")
        .map_err(error)?;
    let most = (bytes.len() / 16) as i64;
    for table in &KEPT {
        carry(&damaged, &between, table, most, &mut repaired.lost).map_err(error)?;
    }
    between
        .execute_batch(
            "INSERT INTO shown (review, score, prompt)
               SELECT id, '', '(lost)' FROM review WHERE id NOT IN (SELECT review FROM shown);
             INSERT INTO reply (id, choices, answer, keys)
               SELECT DISTINCT reply, '{}', '(lost) ' || reply, '[]' FROM review
               WHERE reply NOT IN (SELECT id FROM reply);",
        )
        .map_err(error)?;
    // Nothing of the new file is there before all of it is.
    let mut store = opening::in_memory(to, &[])?;
    let mut reading = |db: &Connection| -> rusqlite::Result<Vec<_>> {
        let mut query = db.prepare(&every_review())?;
        let mut rows = query.query([0])?;
        let mut read = Vec::new();
        while let Some(r) = rows.next()? {
            match logged(r) {
                Ok(row) if row.row.check().is_ok() => read.push(row),
                _ => repaired.lost.push(format!(
                    "review {}: part of it is missing",
                    r.get::<_, i64>(0)?
                )),
            }
        }
        Ok(read)
    };
    let rows = reading(&between).map_err(error)?;
    let met = "SELECT id, card, at, utc_offset, session, seconds FROM meeting ORDER BY id";
    let met = reading::list(&between, met, [], reading::meeting).map_err(error)?;
    store.write(|t| {
        for logged in &rows {
            let id = insert(t, &logged.row)?;
            if let Some(why) = &logged.withdrawn {
                withdraw(t, id, logged.row.at, why)?;
            }
        }
        for meeting in &met {
            meet(t, meeting)?;
        }
        Ok(())
    })?;
    for (key, json) in settings(&damaged) {
        if let Ok(value) = serde_json::from_str::<serde_json::Value>(&json) {
            store.set(&key, &value)?;
        }
    }
    repaired.answers = rows.len();
    repaired.meetings = met.len();
    copies::write_out(&store.db, to, &leftover::free_name(to, "-part"), to)?;
    Ok(repaired)
}

fn settings(db: &Connection) -> Vec<(String, String)> {
    let read = || -> rusqlite::Result<Vec<_>> {
        let mut query = db.prepare("SELECT key, json FROM setting")?;
        let rows = query.query_map([], |r| Ok((r.get(0)?, r.get(1)?)))?;
        Ok(rows.flatten().collect())
    };
    read().unwrap_or_default()
}

/// Carries the rows of a table over, each by its number, so that a page that cannot be read costs its own rows alone.
fn carry(
    from: &Connection,
    to: &Connection,
    table: &KeptTable,
    most: i64,
    lost: &mut Vec<String>,
) -> rusqlite::Result<()> {
    let KeptTable { name, key, columns } = table;
    let names: Vec<_> = columns.split(", ").collect();
    let has = |column: &str| {
        let sql = format!("SELECT {column} FROM {name} LIMIT 0");
        from.prepare(&sql).is_ok()
    };
    // A log of an earlier version lacks the later columns.
    let present: Vec<_> = names.iter().filter(|c| has(c)).copied().collect();
    if present.is_empty() {
        lost.push(format!("{name}: the table cannot be read"));
        return Ok(());
    }
    let with_sums = has("sum");
    let sum = if with_sums { ", sum" } else { "" };
    let list = present.join(", ");
    let last = from.query_row(&format!("SELECT max({key}) FROM {name}"), [], |r| {
        r.get::<_, Option<i64>>(0)
    });
    // Where the end cannot be read, no row has a number beyond the bytes of the file.
    let last = last.map_or(most, |last| last.unwrap_or(0).min(most));
    let mut by_number =
        from.prepare(&format!("SELECT {list}{sum} FROM {name} WHERE {key} = ?1"))?;
    let marks = vec!["?"; present.len()].join(", ");
    let add = format!("INSERT INTO {name} ({list}) VALUES ({marks})");
    let mut add = to.prepare(&add)?;
    let mut before: Option<[u32; 2]> = Some([0, 0]);
    let mut missing = Vec::new();
    for number in 1..=last {
        let row = by_number
            .query_row([number], |r| {
                let values = values(r, present.len())?;
                let sum: Option<u32> = match with_sums {
                    true => r.get(present.len())?,
                    false => None,
                };
                Ok((values, sum))
            })
            .optional()
            .ok()
            .flatten();
        let Some((values, sum)) = row else {
            before = None;
            missing.push(number);
            continue;
        };
        let mut row = RowSum::default();
        for (column, value) in present.iter().zip(&values) {
            row.add(column, value.into());
        }
        let due = |before| row.after(before);
        // Without the row before it there is nothing to hold it against.
        let fits =
            !with_sums || before.is_none_or(|before| before.iter().any(|b| sum == Some(due(*b))));
        before = sum.map(|sum| [sum, before.map_or(sum, |b| due(b[0]))]);
        if !fits || add.execute(params_from_iter(&values)).is_err() {
            missing.push(number);
        }
    }
    drop(by_number);
    // Words stand in an index as well.
    if !missing.is_empty() && ["item", "concepts", "reply"].contains(name) {
        for order in ["ASC", "DESC"] {
            let by = names[1..].iter().map(|c| format!("{c} {order}"));
            let by: Vec<_> = by.collect();
            let sql = format!(
                "SELECT {list} FROM {name} INDEXED BY sqlite_autoindex_{name}_1 ORDER BY {}",
                by.join(", ")
            );
            let Ok(mut query) = from.prepare(&sql) else {
                continue;
            };
            let Ok(mut rows) = query.query([]) else {
                continue;
            };
            while let Ok(Some(r)) = rows.next() {
                if let Ok(values) = values(r, present.len())
                    && let Some(Value::Integer(number)) = values.first()
                    && let Some(place) = missing.iter().position(|m| m == number)
                    && add.execute(params_from_iter(&values)).is_ok()
                {
                    missing.remove(place);
                }
            }
        }
    }
    for run in runs(&missing) {
        lost.push(match run {
            (a, b) if a == b => format!("{name} {a}"),
            (a, b) => format!("{name} {a} to {b}"),
        });
    }
    Ok(())
}

/// The first columns of a row.
fn values(r: &Row<'_>, count: usize) -> rusqlite::Result<Vec<Value>> {
    (0..count).map(|n| r.get(n)).collect()
}

/// Numbers that follow each other, as first and last.
fn runs(numbers: &[i64]) -> Vec<(i64, i64)> {
    let mut runs: Vec<(i64, i64)> = Vec::new();
    for number in numbers {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == *number => *last = *number,
            _ => runs.push((*number, *number)),
        }
    }
    runs
}
