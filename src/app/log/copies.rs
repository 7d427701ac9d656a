//! Copies of the log, and what comes from elsewhere.

use crate::app::cli::DataArgs;
use crate::app::{Exit, input};
use crate::rhythm::counted;
use crate::store::{self, Logged, Store, StoreError};
use anyhow::{Context, anyhow, bail};
use std::fs::File;
use std::io::{self, BufRead, BufReader, Read, Write};
use std::path::Path;

pub fn backup(store: &Store, file: &Path, out: &mut dyn Write) -> anyhow::Result<Exit> {
    store.backup(file)?;
    writeln!(out, "{} holds the whole log", file.display())?;
    Ok(Exit::Clean)
}

pub fn restore(data: &DataArgs, file: Option<&Path>, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let folder = data.folder()?;
    let (from, before) = store::restore(folder.path(), file)?;
    let health = Store::open(folder.path())?.verify()?;
    let answers = counted(health.reviews as usize, "answer");
    writeln!(out, "{answers} put back from {}", from.display())?;
    if let Some(before) = before {
        writeln!(out, "the log that was there is now {}", before.display())?;
    }
    Ok(Exit::Clean)
}

pub fn import(data: &DataArgs, file: &Path, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let now = data.clock().now().timestamp_millis();
    let folder = data.folder()?;
    let name = file.display();
    // All of it is read before anything is made.
    let rows = match is_log(file).with_context(|| format!("{name} cannot be read"))? {
        true => None,
        false => Some(lines(file)?),
    };
    let mut store = super::told(Store::open(folder.path())?);
    store.sound()?;
    let merged = match rows {
        None => store.merge_file(file, now),
        Some(rows) => store.merge(&rows, &[], now),
    };
    let merged = merged.map_err(|e| match e {
        StoreError::Row { .. } => {
            anyhow!("{name}: {e}; nothing was taken in\n  mend: take out that line")
        }
        e => e.into(),
    })?;
    writeln!(
        out,
        "{} taken in, {} there already, {} withdrawn as in the other log, {} met",
        counted(merged.added, "answer"),
        merged.there,
        merged.withdrawn,
        counted(merged.meetings, "card"),
    )?;
    Ok(Exit::Clean)
}

fn is_log(file: &Path) -> io::Result<bool> {
    if file == Path::new(input::STDIN) {
        return Ok(false);
    }
    let mut head = Vec::new();
    File::open(file)?.take(16).read_to_end(&mut head)?;
    Ok(head == b"SQLite format 3\0")
}

/// Answers in lines of JSON.
fn lines(file: &Path) -> anyhow::Result<Vec<Logged>> {
    let name = file.display();
    let mut input = BufReader::new(input::open(file)?);
    let mut rows = Vec::new();
    for n in 1.. {
        let mut line = Vec::new();
        (&mut input)
            .take(LONGEST)
            .read_until(b'\n', &mut line)
            .with_context(|| format!("{name} cannot be read"))?;
        if line.is_empty() {
            break;
        }
        if line.trim_ascii().is_empty() {
            continue;
        }
        if line.len() as u64 == LONGEST {
            bail!(
                "{name}, line {n} is longer than {LONGEST} bytes; nothing was taken in\n  mend: take out that line"
            );
        }
        // Some editors begin a file with a mark of their own.
        let text = line.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&line);
        let row = serde_json::from_slice(text).map_err(|e| {
            let why = e.to_string().replace(" at line 1 column ", ", column ");
            anyhow!("{name}, line {n} is not an answer ({why}); nothing was taken in\n  mend: take out that line, or \
                     export the other log again")
        })?;
        rows.push(row);
    }
    Ok(rows)
}

/// Longest line of an import, bytes.
const LONGEST: u64 = 1 << 20;

pub fn repair(data: &DataArgs, to: &Path, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let folder = data.folder()?;
    let repaired = store::repair(folder.path(), to)?;
    writeln!(
        out,
        "{} and {} met are in {}",
        counted(repaired.answers, "answer"),
        counted(repaired.meetings, "card"),
        to.display()
    )?;
    for lost in &repaired.lost {
        writeln!(out, "could not be read: {lost}")?;
    }
    writeln!(
        out,
        "The damaged log was left as it is. To use the new one: whichside log restore {} --data {}",
        to.display(),
        folder.path().display()
    )?;
    Ok(Exit::with(!repaired.lost.is_empty()))
}
