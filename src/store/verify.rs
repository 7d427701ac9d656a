//! Whether the log holds together.

use super::reading::{every_review, logged};
use super::{Result, Store, steps, sums};
use rusqlite::Connection;
use serde::Serialize;

/// What a check of the whole log found.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Health {
    /// Reviews in the log, withdrawn ones included.
    pub reviews: i64,
    /// Reviews that were withdrawn.
    pub withdrawn: i64,
    /// Cards met.
    pub meetings: i64,
    /// What is wrong, one sentence each; empty for a sound log.
    pub faults: Vec<String>,
}

impl Store {
    /// Reads all of the log and says what does not hold: the file's own structure, references between rows, ids
    /// with holes, rows that cannot be read, hold values out of range or are not as they were written, missing guards
    /// against changes.
    ///
    /// # Errors
    /// Only where the log cannot be read at all; damage that leaves it readable is a fault in [`Health`].
    pub fn verify(&self) -> Result<Health> {
        let mut health = Health::default();
        let steps: [fn(&Connection, &mut Health) -> rusqlite::Result<()>; 6] =
            [structure, references, guards, ids, rows, as_written];
        self.read(|db| {
            let moment = db.unchecked_transaction()?;
            for step in steps {
                if let Err(e) = step(&moment, &mut health) {
                    health
                        .faults
                        .push(format!("cannot be read any further: {e}"));
                }
            }
            Ok(())
        })?;
        Ok(health)
    }
}

fn structure(db: &Connection, health: &mut Health) -> rusqlite::Result<()> {
    let mut check = db.prepare("PRAGMA integrity_check(20)")?;
    let lines = check.query_map([], |r| r.get::<_, String>(0))?;
    for line in lines {
        let line = line?;
        if line != "ok" {
            health.faults.push(line);
        }
    }
    Ok(())
}

fn references(db: &Connection, health: &mut Health) -> rusqlite::Result<()> {
    let mut check =
        db.prepare("SELECT \"table\", rowid, parent FROM pragma_foreign_key_check LIMIT 20")?;
    let lines = check.query_map([], |r| {
        let (table, row, parent): (String, Option<i64>, String) = (r.get(0)?, r.get(1)?, r.get(2)?);
        let row = row.map_or_else(String::new, |r| format!(" {r}"));
        Ok(format!(
            "{table}{row} refers to a row of {parent} that is not there"
        ))
    })?;
    for line in lines {
        health.faults.push(line?);
    }
    Ok(())
}

fn guards(db: &Connection, health: &mut Health) -> rusqlite::Result<()> {
    for table in steps::KEPT.map(|t| t.name) {
        let found: u32 = db.query_row(
            "SELECT count(*) FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = ?1 AND name IN
               (?1 || '_unchanged', ?1 || '_kept', ?1 || '_once')",
            [table],
            |r| r.get(0),
        )?;
        if found != 3 {
            health.faults.push(format!(
                "the guards that keep the rows of {table} as written are gone"
            ));
        }
    }
    Ok(())
}

/// Rows get the next number when they are written, in the transaction that writes them, and are never removed: a
/// number left out means that a row was lost.
fn ids(db: &Connection, health: &mut Health) -> rusqlite::Result<()> {
    let mut counts = Vec::new();
    for table in [
        "review",
        "withdrawal",
        "meeting",
        "item",
        "concepts",
        "reply",
    ] {
        let (count, last): (i64, i64) = db.query_row(
            &format!("SELECT count(*), coalesce(max(id), 0) FROM {table}"),
            [],
            |r| Ok((r.get(0)?, r.get(1)?)),
        )?;
        if count != last {
            let fault = format!("{table}: {count} rows, but the last is number {last}");
            health.faults.push(fault);
        }
        counts.push(count);
    }
    [health.reviews, health.withdrawn, health.meetings] = [counts[0], counts[1], counts[2]];
    Ok(())
}

fn rows(db: &Connection, health: &mut Health) -> rusqlite::Result<()> {
    let mut query = db.prepare_cached(&every_review())?;
    let mut rows = query.query([0])?;
    while let Some(r) = rows.next()? {
        let id: i64 = r.get(0)?;
        let fault = match logged(r).map(|l| l.row.check()) {
            Ok(Ok(())) => continue,
            Ok(Err(why)) => why,
            Err(e) => e.to_string(),
        };
        health.faults.push(format!("review {id}: {fault}"));
        if health.faults.len() >= 100 {
            health.faults.push("... and more".into());
            break;
        }
    }
    Ok(())
}

/// Rows whose sum does not fit.
fn as_written(db: &Connection, health: &mut Health) -> rusqlite::Result<()> {
    for table in &steps::KEPT {
        health.faults.extend(sums::faults(db, table, 20)?);
    }
    health.faults.extend(sums::faults_at_the_end(db)?);
    Ok(())
}
