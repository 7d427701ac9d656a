//! Forecasts for a log from anywhere: rows of comma-separated values in, a line of JSON for each out.

use crate::time::Moment;
use std::collections::HashMap;
use std::io::{Read, Write};

use csv::StringRecord;
use serde::Serialize;

use super::rows::{Lines, Row, columns};
use crate::app::input;
use crate::memory::{Learners, Memory};
use crate::rhythm::counted;

/// Most bytes of a log.
const MOST_BYTES: u64 = 1 << 30;

/// Columns that must be there, in any order.
pub const COLUMNS: [&str; 8] = [
    "learner", "item", "concepts", "kind", "at", "correct", "guess", "seconds",
];

/// Why a forecast could not be made, or not for all rows.
#[derive(Debug, thiserror::Error)]
pub enum ForecastError {
    /// The header lacks a column.
    #[error("line 1: {0}")]
    Header(String),
    /// Rows that could not be used, by their line in the file (the header is line 1), with what is wrong and how to mend it;
    /// all others were forecast.
    #[error("{}", list(.0))]
    Rows(Vec<(u64, String)>),
    /// The file broke off or is not a table.
    #[error("the log could not be read")]
    Read(#[source] anyhow::Error),
    /// What takes the forecasts broke off.
    #[error("the forecasts could not be written")]
    Write(#[from] std::io::Error),
}

fn list(rows: &[(u64, String)]) -> String {
    const SHOWN: usize = 20;
    let shown = rows.iter().take(SHOWN);
    let mut lines: Vec<String> = shown
        .map(|(n, problem)| format!("line {n}: {problem}"))
        .collect();
    if rows.len() > SHOWN {
        lines.push(format!("and {} more", rows.len() - SHOWN));
    }
    let were = if rows.len() == 1 { "was" } else { "were" };
    let left = counted(rows.len(), "row");
    lines.push(format!("{left} {were} left out, the others were forecast"));
    lines.join("\n")
}

/// One line of the output.
#[derive(Serialize)]
struct ForecastLine<'a> {
    /// Line of the input.
    line: u64,
    learner: &'a str,
    item: &'a str,
    /// Probability of a right answer before the row was seen.
    expected: f64,
    /// Probability of recall before the row was seen.
    recall: f64,
}

/// Runs the model over a log of `learner,item,concepts,kind,at,correct,guess,seconds` (header required, any order of
/// columns, others are ignored) and writes for each row one line of JSON: `line`, `learner`, `item`, `expected` (the
/// probability of a right answer, predicted before the row was seen) and `recall` (that of recall). Which items
/// are hard for everyone is learned from all rows above; where learners stand `alone`, from none but their own. Gives back
/// the number of rows forecast.
///
/// `concepts` are separated by `;` and may be empty; `at` is in seconds UTC and never falls within one learner;
/// `correct` is 0 or 1, or a share between; `guess` 0 to 1; `seconds` above 0, or empty where it was not measured.
///
/// # Errors
/// [`ForecastError::Header`] where a column is missing. A row that cannot be used is left out, the others are
/// forecast, and [`ForecastError::Rows`] names every such line at the end.
pub fn forecast(
    reader: impl Read,
    mut writer: impl Write,
    alone: bool,
) -> Result<u64, ForecastError> {
    let text = input::read_bytes(reader, MOST_BYTES).map_err(ForecastError::Read)?;
    if text.is_empty() {
        return Err(ForecastError::Header(format!(
            "the file is empty: the first line must be {}",
            COLUMNS.join(",")
        )));
    }
    let mut lines = Lines::new(&text);
    let mut rows = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(&text[..]);
    let header = rows
        .headers()
        .map_err(|_| ForecastError::Header(NOT_TEXT.into()))?;
    let width = header.len();
    let columns = columns(header)?;
    let mut learners = Learners::default();
    // Of each learner the memory, where they stand alone, and the time of the last row.
    let mut memories: HashMap<String, Memory> = HashMap::new();
    let mut last: HashMap<String, Moment> = HashMap::new();
    let (mut bad, mut count) = (Vec::new(), 0);
    let mut record = StringRecord::new();
    loop {
        let start = rows.position().byte();
        let read = rows.read_record(&mut record);
        if matches!(read, Ok(false)) {
            break;
        }
        let line = lines.at(start);
        let mut refuse = |problem| bad.push((line, problem));
        if read.is_err() {
            refuse(NOT_TEXT.into());
            continue;
        }
        let row = Row {
            record: &record,
            columns: &columns,
            width,
        };
        let outcome = match row.outcome() {
            Ok(outcome) => outcome,
            Err(problem) => {
                refuse(problem);
                continue;
            }
        };
        let learner = row.text("learner");
        let last = last.entry(learner.into()).or_insert(Moment::NEVER);
        if outcome.at < *last {
            refuse(format!(
                "at {} is earlier than the row above by the same learner ({last}): sort the rows by time",
                outcome.at
            ));
            continue;
        }
        *last = outcome.at;
        let forecast = match alone {
            true => memories
                .entry(learner.into())
                .or_default()
                .observe(&outcome),
            false => learners.observe(learner, &outcome),
        };
        let out = ForecastLine {
            line,
            learner,
            item: &outcome.item,
            expected: forecast.expected,
            recall: forecast.recall,
        };
        serde_json::to_writer(&mut writer, &out).map_err(std::io::Error::from)?;
        writer.write_all(b"\n")?;
        count += 1;
    }
    writer.flush()?;
    match bad.is_empty() {
        true => Ok(count),
        false => Err(ForecastError::Rows(bad)),
    }
}

const NOT_TEXT: &str = "this is not text in UTF-8: save the file as UTF-8";
