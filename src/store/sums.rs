//! Check sums: one a row, chained over the rows of a table, and one over the ends of all tables.
//!
//! The sum of a row is the CRC-32 (ITU-T V.42) of the names and values of its columns, begun with the sum of the row
//! before it. A column without a value does not count, so that a later version may add one.

use super::reading::list;
use super::steps::{KEPT, KeptTable};
use rusqlite::types::{FromSqlError, ToSql, ToSqlOutput, Type, ValueRef};
use rusqlite::{Connection, OptionalExtension, Row, params};

/// The values of one row as they go into its sum.
#[derive(Default)]
pub(super) struct RowSum(Vec<u8>);

impl RowSum {
    pub fn add(&mut self, column: &str, value: ValueRef<'_>) {
        let (tag, bytes): (u8, &[u8]) = match value {
            ValueRef::Null => return,
            ValueRef::Integer(n) => (1, &n.to_be_bytes()),
            // SQLite keeps no zero below zero.
            ValueRef::Real(x) => (2, &(x + 0.0).to_be_bytes()),
            ValueRef::Text(text) => (3, text),
            ValueRef::Blob(bytes) => (4, bytes),
        };
        self.0.extend_from_slice(column.as_bytes());
        self.0.push(tag);
        self.0
            .extend_from_slice(&(bytes.len() as u32).to_be_bytes());
        self.0.extend_from_slice(bytes);
    }

    /// The sum of the row after one with the sum `before`.
    pub fn after(&self, before: u32) -> u32 {
        let mut sum = crc32fast::Hasher::new_with_initial(before);
        sum.update(&self.0);
        sum.finalize()
    }

    /// Begins anew with the columns of a row, as they come.
    fn take(&mut self, columns: &[&str], r: &Row<'_>) -> rusqlite::Result<()> {
        self.0.clear();
        for (n, column) in columns.iter().enumerate() {
            self.add(column, r.get_ref(n)?);
        }
        Ok(())
    }
}

/// Follows the rows of a table, the first one first.
pub(super) struct Chain {
    name: &'static str,
    columns: Vec<&'static str>,
    row: RowSum,
    /// Number of the last row.
    last: i64,
    /// The sum that the last row has, and the one that it should have.
    stored: u32,
    due: u32,
}

impl Chain {
    pub fn of(table: &KeptTable) -> Chain {
        Chain {
            name: table.name,
            columns: table.columns.split(", ").collect(),
            row: RowSum::default(),
            last: 0,
            stored: 0,
            due: 0,
        }
    }

    /// Takes the next row, its columns in the order of the table's list and then its sum. Gives what is wrong with it.
    pub fn next(&mut self, r: &Row<'_>) -> rusqlite::Result<Option<String>> {
        self.row.take(&self.columns, r)?;
        let number: i64 = r.get(0)?;
        // Where only the sum of the row before is damaged, this row is not.
        let due = self.row.after(self.stored);
        let fits = |sum| sum == due || (self.stored != self.due && sum == self.row.after(self.due));
        let stored = r.get::<_, Option<u32>>(self.columns.len())?;
        let fit = stored.is_some_and(fits);
        let follows = number == self.last + 1;
        let wrong = match fit {
            true if follows => None,
            _ if !follows => Some(format!(
                "{} {number} follows {}: rows between them are missing",
                self.name, self.last
            )),
            _ => Some(format!(
                "{} {number} is not as it was written, or does not belong here (its check sum does not fit)",
                self.name
            )),
        };
        self.last = number;
        self.due = due;
        self.stored = stored.unwrap_or(due);
        Ok(wrong)
    }
}

/// Reads a table from its first row on and gives each row to `each`.
///
/// # Errors
/// At the first row that is not as it was written, besides those of the database.
pub(super) fn scan(
    db: &Connection,
    table: &KeptTable,
    mut each: impl FnMut(&Row<'_>) -> rusqlite::Result<()>,
) -> rusqlite::Result<()> {
    let mut query = db.prepare_cached(&every_row(table))?;
    let mut rows = query.query([])?;
    let mut chain = Chain::of(table);
    while let Some(r) = rows.next()? {
        if let Some(wrong) = chain.next(r)? {
            return Err(broken(wrong));
        }
        each(r)?;
    }
    Ok(())
}

fn every_row(table: &KeptTable) -> String {
    let KeptTable { name, key, columns } = table;
    format!("SELECT {columns}, sum FROM {name} ORDER BY {key}")
}

/// What is wrong with the rows of a table, at most `most` of them.
pub(super) fn faults(
    db: &Connection,
    table: &KeptTable,
    most: usize,
) -> rusqlite::Result<Vec<String>> {
    let mut query = db.prepare_cached(&every_row(table))?;
    let mut rows = query.query([])?;
    let mut chain = Chain::of(table);
    let mut faults = Vec::new();
    while let Some(r) = rows.next()? {
        faults.extend(chain.next(r)?);
        if faults.len() >= most {
            break;
        }
    }
    Ok(faults)
}

/// What is wrong with the settings and the ends of the tables.
pub(super) fn faults_at_the_end(db: &Connection) -> rusqlite::Result<Vec<String>> {
    let mut faults = Vec::new();
    let mut query = db.prepare_cached("SELECT key, json, sum FROM setting")?;
    let mut rows = query.query([])?;
    while let Some(r) = rows.next()? {
        let (key, json): (String, String) = (r.get(0)?, r.get(1)?);
        if r.get::<_, Option<u32>>(2)? != Some(setting(&key, &json)) {
            faults.push(format!("the setting `{key}` is not as it was written"));
        }
    }
    let head: Option<u32> = db
        .prepare_cached("SELECT sum FROM head")?
        .query_row([], |r| r.get(0))
        .optional()?;
    if faults.is_empty() && head != Some(ends(db)?) {
        faults.push(
            "the end is not the one that was written last: rows were cut off, or something else wrote into the log"
                .into(),
        );
    }
    Ok(faults)
}

pub(super) fn setting(key: &str, json: &str) -> u32 {
    let mut row = RowSum::default();
    row.add("key", ValueRef::Text(key.as_bytes()));
    row.add("json", ValueRef::Text(json.as_bytes()));
    row.after(0)
}

/// Adds a row to a kept table and gives it its number, unless the first value is one, and its sum.
pub(super) fn insert(
    db: &Connection,
    table: &KeptTable,
    number: Option<i64>,
    values: &[(&str, &dyn ToSql)],
) -> rusqlite::Result<i64> {
    let KeptTable { name, key, .. } = table;
    let (last, before) = end(db, table)?;
    let number = number.unwrap_or(last + 1);
    let mut row = RowSum::default();
    let mut columns = vec![*key];
    columns.extend(values.iter().map(|v| v.0));
    let mut all: Vec<&dyn ToSql> = vec![&number];
    all.extend(values.iter().map(|v| v.1));
    for column in table.columns.split(", ") {
        let place = columns.iter().position(|c| *c == column);
        match place.map(|n| all[n].to_sql()).transpose()? {
            Some(ToSqlOutput::Borrowed(value)) => row.add(column, value),
            Some(ToSqlOutput::Owned(value)) => row.add(column, ValueRef::from(&value)),
            _ => {}
        }
    }
    let sum = row.after(before);
    all.push(&sum);
    let marks = vec!["?"; all.len()].join(", ");
    let columns = columns.join(", ");
    let sql = format!("INSERT INTO {name} ({columns}, sum) VALUES ({marks})");
    db.prepare_cached(&sql)?.execute(&all[..])?;
    Ok(number)
}

/// Number and sum of the last row of a table.
fn end(db: &Connection, table: &KeptTable) -> rusqlite::Result<(i64, u32)> {
    let KeptTable { name, key, .. } = table;
    let sql = format!("SELECT {key}, coalesce(sum, 0) FROM {name} ORDER BY {key} DESC LIMIT 1");
    let end = db
        .prepare_cached(&sql)?
        .query_row([], |r| Ok((r.get(0)?, r.get(1)?)))
        .optional()?;
    Ok(end.unwrap_or_default())
}

/// Notes in the head where all tables end; the last thing that a write does.
pub(super) fn seal(db: &Connection) -> rusqlite::Result<()> {
    db.prepare_cached("UPDATE head SET writes = writes + 1, before = mark, mark = random()")?
        .execute([])?;
    let sum = ends(db)?;
    db.prepare_cached("UPDATE head SET sum = ?1")?
        .execute([sum])?;
    Ok(())
}

/// The sum over the ends of all tables, the settings, the tables as they were made and the head itself.
fn ends(db: &Connection) -> rusqlite::Result<u32> {
    let mut row = RowSum::default();
    for table in &KEPT {
        let (number, sum) = end(db, table)?;
        row.add(table.name, ValueRef::Integer(number));
        row.add(table.name, ValueRef::Integer(sum.into()));
    }
    for query in [
        "SELECT 'setting', key, sum FROM setting ORDER BY key",
        "SELECT 'meta', key, value FROM meta ORDER BY key",
        "SELECT 'made', name, sql FROM sqlite_schema WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite_%' ORDER BY name",
        "SELECT 'head', writes, mark FROM head",
        "SELECT 'before', before, id FROM head",
    ] {
        let mut query = db.prepare_cached(query)?;
        let mut rows = query.query([])?;
        while let Some(r) = rows.next()? {
            let name: String = r.get(0)?;
            row.add(&name, r.get_ref(1)?);
            row.add(&name, r.get_ref(2)?);
        }
    }
    Ok(row.after(0))
}

/// Gives the rows of a log from before there were sums theirs.
pub(super) fn fill(db: &Connection) -> rusqlite::Result<()> {
    for table in &KEPT {
        let KeptTable { name, key, .. } = table;
        let mut sums: Vec<(i64, u32)> = Vec::new();
        {
            let columns: Vec<_> = table.columns.split(", ").collect();
            let mut query = db.prepare(&every_row(table))?;
            let mut rows = query.query([])?;
            let (mut row, mut before) = (RowSum::default(), 0);
            while let Some(r) = rows.next()? {
                row.take(&columns, r)?;
                before = row.after(before);
                sums.push((r.get(0)?, before));
            }
        }
        db.execute_batch(&format!("DROP TRIGGER IF EXISTS {name}_unchanged"))?;
        let mut update = db.prepare(&format!("UPDATE {name} SET sum = ?2 WHERE {key} = ?1"))?;
        for (number, sum) in sums {
            update.execute(params![number, sum])?;
        }
    }
    let pair = |r: &Row<'_>| Ok((r.get(0)?, r.get(1)?));
    let settings: Vec<(String, String)> = list(db, "SELECT key, json FROM setting", [], pair)?;
    for (key, json) in settings {
        db.execute(
            "UPDATE setting SET sum = ?2 WHERE key = ?1",
            params![key, setting(&key, &json)],
        )?;
    }
    Ok(())
}

/// An error of the log itself, in words.
pub(super) fn broken(what: String) -> rusqlite::Error {
    let why = FromSqlError::Other(what.into());
    rusqlite::Error::FromSqlConversionFailure(0, Type::Text, Box::new(why))
}

/// Checks what a start uses besides the rows that it reads: the settings and the ends.
pub(super) fn check_ends(db: &Connection) -> rusqlite::Result<()> {
    let fault = faults_at_the_end(db)?.pop();
    fault.map_or(Ok(()), |fault| Err(broken(fault)))
}
