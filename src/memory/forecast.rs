//! Forecasts for a log from anywhere: rows of comma-separated values in, a line of JSON for each out.

use std::collections::HashMap;
use std::io::{Read, Write};

use csv::StringRecord;
use serde::Serialize;

use super::outcome::Outcome;
use super::states::Memory;

/// Columns that must be there, in any order.
pub const COLUMNS: [&str; 8] = [
    "learner", "item", "concepts", "kind", "at", "correct", "guess", "seconds",
];

/// A row that was refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BadRow {
    /// Line in the file, from 1; the header is line 1.
    pub line: u64,
    /// What is wrong and how to mend it.
    pub problem: String,
}

/// Why a forecast could not be made, or not for all rows.
#[derive(Debug, thiserror::Error)]
pub enum ForecastError {
    /// The header lacks a column.
    #[error("line 1: {0}")]
    Header(String),
    /// Rows that could not be used; all others were forecast.
    #[error("{}", list(.0))]
    Rows(Vec<BadRow>),
    /// The file broke off or is no table.
    #[error("the log could not be read: {0}")]
    Read(csv::Error),
    /// What takes the forecasts broke off.
    #[error("the forecasts could not be written: {0}")]
    Write(#[from] std::io::Error),
}

fn list(rows: &[BadRow]) -> String {
    const SHOWN: usize = 20;
    let mut lines: Vec<String> = rows
        .iter()
        .take(SHOWN)
        .map(|r| format!("line {}: {}", r.line, r.problem))
        .collect();
    if rows.len() > SHOWN {
        lines.push(format!("and {} more", rows.len() - SHOWN));
    }
    lines.push(match rows.len() {
        1 => "1 row was left out, the others were forecast".into(),
        n => format!("{n} rows were left out, the others were forecast"),
    });
    lines.join("\n")
}

/// One line of the output.
#[derive(Serialize)]
struct Line<'a> {
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
/// probability of a right answer, predicted before the row was seen) and `recall` (that of recall). Learners are
/// independent of each other. Gives back the number of rows forecast.
///
/// `concepts` are separated by `;` and may be empty; `at` is in seconds UTC and never falls within one learner;
/// `correct` is 0 or 1, or a share between; `guess` 0 to 1; `seconds` above 0, or empty where it was not measured.
///
/// # Errors
/// [`ForecastError::Header`] where a column is missing. A row that cannot be used is left out, the others are
/// forecast, and [`ForecastError::Rows`] names every such line at the end.
pub fn forecast(reader: impl Read, mut writer: impl Write) -> Result<u64, ForecastError> {
    let mut rows = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(reader);
    let columns = columns(rows.headers().map_err(ForecastError::Read)?)?;
    let mut learners: HashMap<String, (Memory, f64)> = HashMap::new();
    let (mut bad, mut count) = (Vec::new(), 0);
    let mut record = StringRecord::new();
    loop {
        let line = rows.position().line();
        match rows.read_record(&mut record) {
            Ok(false) => break,
            Ok(true) => {}
            Err(error) if error.is_io_error() => return Err(ForecastError::Read(error)),
            Err(_) => {
                let problem = "this is not text in UTF-8: save the file as UTF-8".into();
                bad.push(BadRow {
                    line: line.max(2),
                    problem,
                });
                continue;
            }
        }
        let line = record.position().map_or(line, csv::Position::line);
        let row = Row {
            record: &record,
            columns: &columns,
        };
        let outcome = match row.outcome() {
            Ok(outcome) => outcome,
            Err(problem) => {
                bad.push(BadRow { line, problem });
                continue;
            }
        };
        let learner = row.text("learner");
        if !learners.contains_key(learner) {
            learners.insert(learner.into(), (Memory::new(), f64::NEG_INFINITY));
        }
        let Some((memory, last)) = learners.get_mut(learner) else {
            continue;
        };
        if outcome.at < *last {
            let problem = format!(
                "at {} is before the row above of the same learner ({last}): sort the rows by time",
                outcome.at
            );
            bad.push(BadRow { line, problem });
            continue;
        }
        *last = outcome.at;
        let forecast = memory.observe(&outcome);
        let out = Line {
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
    if bad.is_empty() {
        Ok(count)
    } else {
        Err(ForecastError::Rows(bad))
    }
}

/// Where each of [`COLUMNS`] is.
fn columns(header: &StringRecord) -> Result<HashMap<&'static str, usize>, ForecastError> {
    let found: HashMap<_, _> = COLUMNS
        .iter()
        .filter_map(|&c| header.iter().position(|h| h == c).map(|at| (c, at)))
        .collect();
    let missing: Vec<_> = COLUMNS
        .iter()
        .filter(|c| !found.contains_key(*c))
        .copied()
        .collect();
    if missing.is_empty() {
        return Ok(found);
    }
    Err(ForecastError::Header(format!(
        "the header lacks {}: the first line must be {}",
        missing.join(", "),
        COLUMNS.join(",")
    )))
}

struct Row<'a> {
    record: &'a StringRecord,
    columns: &'a HashMap<&'static str, usize>,
}

impl<'a> Row<'a> {
    fn text(&self, column: &str) -> &'a str {
        self.columns
            .get(column)
            .and_then(|&at| self.record.get(at))
            .unwrap_or("")
    }

    fn named(&self, column: &str) -> Result<String, String> {
        match self.text(column) {
            "" => Err(format!("{column} is empty: give it a name")),
            name => Ok(name.into()),
        }
    }

    fn number(&self, column: &str, hint: &str) -> Result<f64, String> {
        let text = self.text(column);
        text.parse::<f64>()
            .ok()
            .filter(|v| v.is_finite())
            .ok_or_else(|| format!("{column} is `{text}`: write {hint}"))
    }

    fn share(&self, column: &str, hint: &str) -> Result<f64, String> {
        let v = self.number(column, hint)?;
        if (0.0..=1.0).contains(&v) {
            Ok(v)
        } else {
            Err(format!("{column} is {v}: write {hint}"))
        }
    }

    fn outcome(&self) -> Result<Outcome, String> {
        if self.record.len() <= self.columns.values().copied().max().unwrap_or(0) {
            return Err(format!(
                "the row has {} values, fewer than the header: fill in all of {}",
                self.record.len(),
                COLUMNS.join(",")
            ));
        }
        self.named("learner")?;
        let seconds = match self.text("seconds") {
            "" => 0.0,
            _ => self.number("seconds", "the seconds that the answer took, or nothing")?,
        };
        if seconds < 0.0 {
            return Err(format!(
                "seconds is {seconds}: write the seconds that the answer took, or nothing"
            ));
        }
        let concepts = self
            .text("concepts")
            .split(';')
            .map(str::trim)
            .filter(|c| !c.is_empty());
        Ok(Outcome {
            item: self.named("item")?,
            concepts: concepts.map(Into::into).collect(),
            kind: self.named("kind")?,
            at: self.number("at", "seconds since 1970 UTC")?,
            correct: self.share("correct", "1 for right, 0 for wrong")?,
            guess: self.share("guess", "the chance of a right guess, 0 to 1")?,
            seconds,
            limit: 0.0,
            replays: 0,
            slowed: false,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(text: &str) -> (Vec<serde_json::Value>, Result<u64, ForecastError>) {
        let mut out = Vec::new();
        let result = forecast(text.as_bytes(), &mut out);
        let text = String::from_utf8(out).unwrap();
        (
            text.lines()
                .map(|l| serde_json::from_str(l).unwrap())
                .collect(),
            result,
        )
    }

    const HEADER: &str = "learner,item,concepts,kind,at,correct,guess,seconds\n";

    #[test]
    fn a_line_comes_for_each_row_with_probabilities() {
        let text = format!(
            "{HEADER}a,x,one;two,side,0,1,0.5,2\na,x,one;two,side,86400,0,0.5,\nb,x,,side,5,1,0.5,2\n"
        );
        let (lines, result) = run(&text);
        assert_eq!(result.unwrap(), 3);
        assert_eq!(lines.len(), 3);
        for line in &lines {
            let (expected, recall) = (
                line["expected"].as_f64().unwrap(),
                line["recall"].as_f64().unwrap(),
            );
            assert!((0.0..=1.0).contains(&expected) && (0.0..=1.0).contains(&recall));
            assert!(expected >= 0.5 * (1.0 - recall) - 1e-9);
        }
        // Learners are independent: the first row of each has the same forecast.
        assert_eq!(lines[0]["expected"], lines[2]["expected"]);
    }

    #[test]
    fn no_row_is_known_ahead() {
        let rows = [
            "a,x,c,side,0,1,0.5,2\n",
            "a,y,c,side,9,1,0.5,2\n",
            "a,x,c,side,90000,1,0.2,3\n",
        ];
        let (all, _) = run(&format!("{HEADER}{}", rows.concat()));
        for n in 1..=rows.len() {
            let flipped = rows[n - 1].replace(",1,0.", ",0,0.");
            let (part, _) = run(&format!("{HEADER}{}{flipped}", rows[..n - 1].concat()));
            assert_eq!(part[..], all[..n]);
        }
    }

    #[test]
    fn columns_may_come_in_any_order() {
        let (a, _) = run(&format!("{HEADER}a,x,c,side,0,1,0.5,2\n"));
        let (b, _) = run(
            "at,learner,note,item,kind,concepts,guess,correct,seconds\n0,a,hm,x,side,c,0.5,1,2\n",
        );
        assert_eq!(a, b);
    }

    #[test]
    fn bad_rows_are_named_with_line_and_mend_and_the_others_kept() {
        let cases = [
            (
                "a,x,c,side,soon,1,0.5,2",
                "at is `soon`: write seconds since 1970 UTC",
            ),
            (
                "a,x,c,side,50,yes,0.5,2",
                "correct is `yes`: write 1 for right, 0 for wrong",
            ),
            (
                "a,x,c,side,50,2,0.5,2",
                "correct is 2: write 1 for right, 0 for wrong",
            ),
            (
                "a,x,c,side,50,1,-1,2",
                "guess is -1: write the chance of a right guess, 0 to 1",
            ),
            ("a,,c,side,50,1,0.5,2", "item is empty: give it a name"),
            (
                "a,x,c,side,50,1,0.5,-2",
                "seconds is -2: write the seconds that the answer took, or nothing",
            ),
            ("a,x,c,side", "the row has 4 values, fewer than the header"),
            ("a,x,c,side,NaN,1,0.5,2", "at is `NaN`"),
            (
                "a,x,c,side,3,1,0.5,2",
                "at 3 is before the row above of the same learner (9): sort the rows by time",
            ),
        ];
        for (row, problem) in cases {
            let (lines, result) = run(&format!(
                "{HEADER}a,x,c,side,9,1,0.5,2\n{row}\na,x,c,side,99,1,0.5,2\n"
            ));
            assert_eq!(lines.len(), 2, "{row}");
            let Err(ForecastError::Rows(bad)) = result else {
                panic!("{row}")
            };
            assert_eq!(bad[0].line, 3);
            assert!(bad[0].problem.starts_with(problem), "{}", bad[0].problem);
        }
    }

    #[test]
    fn a_missing_column_or_header_is_said() {
        for text in [
            "",
            "a,x,c,side,9,1,0.5,2\n",
            "learner,item,kind,at,correct,guess,seconds\n",
        ] {
            let (lines, result) = run(text);
            assert!(lines.is_empty());
            assert!(matches!(result, Err(ForecastError::Header(m)) if m.contains("concepts")));
        }
    }

    #[test]
    fn bytes_that_are_no_text_are_refused_without_a_panic() {
        let mut out = Vec::new();
        let mut text = HEADER.as_bytes().to_vec();
        text.extend(b"a,x,\xff\xfe,side,9,1,0.5,2\na,x,c,side,9,1,0.5,2\n");
        let Err(ForecastError::Rows(bad)) = forecast(&text[..], &mut out) else {
            panic!()
        };
        assert_eq!((bad.len(), bad[0].line), (1, 2));
        assert_eq!(out.iter().filter(|b| **b == b'\n').count(), 1);
    }
}
