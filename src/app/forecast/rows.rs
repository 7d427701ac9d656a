//! The rows of a log as outcomes, and what is wrong with them.

use crate::time::{Moment, Seconds};
use std::collections::HashMap;

use csv::StringRecord;

use super::replay::{COLUMNS, ForecastError};
use crate::memory::Outcome;

/// Times beyond this are in another unit: seconds since 1970 of the year 5138.
const LATEST: f64 = 1e11;

/// Finds the line of a place in the text, place after place. The reader of values counts lines of its own, but where a
/// line ends in two characters, or is empty, it is behind.
pub(super) struct Lines<'a> {
    text: &'a [u8],
    at: usize,
    line: u64,
}

impl<'a> Lines<'a> {
    pub fn new(text: &'a [u8]) -> Self {
        Self {
            text,
            at: 0,
            line: 1,
        }
    }

    /// The line of the first character from `place` on that ends no line. Places come in their order.
    pub fn at(&mut self, place: u64) -> u64 {
        while let Some(&byte) = self.text.get(self.at) {
            let ends = matches!(byte, b'\n' | b'\r');
            if self.at as u64 >= place && !ends {
                break;
            }
            self.at += 1;
            let pair = byte == b'\r' && self.text.get(self.at) == Some(&b'\n');
            self.line += u64::from(ends && !pair);
        }
        self.line
    }
}

/// Where each of [`COLUMNS`] is.
pub(super) fn columns(
    header: &StringRecord,
) -> Result<HashMap<&'static str, usize>, ForecastError> {
    let found: HashMap<_, _> = COLUMNS
        .iter()
        .filter_map(|&c| header.iter().position(|h| h == c).map(|at| (c, at)))
        .collect();
    let twice = COLUMNS
        .iter()
        .find(|&c| header.iter().filter(|h| h == c).count() > 1);
    if let Some(column) = twice {
        return Err(ForecastError::Header(format!(
            "the header has {column} twice: keep one and give the other another name"
        )));
    }
    let missing: Vec<_> = COLUMNS
        .iter()
        .filter(|c| !found.contains_key(*c))
        .copied()
        .collect();
    if missing.is_empty() {
        return Ok(found);
    }
    let apart = [";", "\t"]
        .into_iter()
        .find(|s| header.iter().any(|h| h.split(s).count() == COLUMNS.len()));
    let hint = match apart {
        Some("\t") => ", its values separated by commas and not by tabs".into(),
        Some(other) => format!(", its values separated by commas and not by `{other}`"),
        None if missing
            .iter()
            .all(|c| header.iter().any(|h| h.eq_ignore_ascii_case(c))) =>
        {
            ", in small letters".into()
        }
        None => String::new(),
    };
    Err(ForecastError::Header(format!(
        "the header lacks {}: the first line must be {}{hint}",
        missing.join(", "),
        COLUMNS.join(",")
    )))
}

pub(super) struct Row<'a> {
    pub record: &'a StringRecord,
    pub columns: &'a HashMap<&'static str, usize>,
    /// Values in the header.
    pub width: usize,
}

impl<'a> Row<'a> {
    pub fn text(&self, column: &str) -> &'a str {
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

    pub fn outcome(&self) -> Result<Outcome, String> {
        let values = self.record.len();
        if values < self.width {
            let open = self.record.iter().any(|v| v.contains(['\n', '\r']));
            return Err(if open {
                "a quotation mark opens a value here that does not end on this line: close it"
                    .into()
            } else {
                format!(
                    "the row has {values} values, fewer than the header ({}): fill them all in",
                    self.width
                )
            });
        }
        if values > self.width {
            return Err(format!(
                "the row has {values} values, more than the header ({}): put quotation marks around a value that has a comma in it",
                self.width
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
        let at = self.number("at", "seconds since 1970 UTC")?;
        if at.abs() > LATEST {
            return Err(format!(
                "at is {at}, thousands of years from now: write seconds since 1970 UTC, not milliseconds"
            ));
        }
        Ok(Outcome {
            item: self.named("item")?,
            concepts: concepts.map(Into::into).collect(),
            kind: self.named("kind")?,
            at: Moment::new(at),
            correct: self.share("correct", "1 for right, 0 for wrong")?,
            guess: self.share("guess", "the chance of a right guess, 0 to 1")?,
            seconds: Seconds::new(seconds),
            ..Outcome::default()
        })
    }
}
