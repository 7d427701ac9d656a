//! A section of the report: findings, tables and notes, the same as text, as a page and on the full screen.

use super::Focus;

/// One section of the report.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// Its name in one or two words.
    pub name: &'static str,
    /// What it says.
    pub heading: &'static str,
    /// Its contents from top to bottom. A section with nothing to say yet says what it will show and when.
    pub blocks: Vec<Block>,
}

/// A piece of a section.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// A sentence or two.
    Text(String),
    /// One finding.
    Finding {
        /// What was found.
        title: String,
        /// What it rests on.
        grounds: String,
        /// The drill on it, where there is one.
        drill: Option<Focus>,
    },
    /// A table.
    Table(ReportTable),
    /// What the columns of a table mean.
    Note(String),
}

/// A table whose first column names its rows.
#[derive(Clone, Debug, PartialEq)]
pub struct ReportTable {
    /// Heads of the columns.
    pub heads: Vec<String>,
    /// As many cells a row as there are heads.
    pub rows: Vec<TableRow>,
}

/// A row of a table.
#[derive(Clone, Debug, PartialEq)]
pub struct TableRow {
    /// Its cells.
    pub cells: Vec<TableCell>,
    /// The drill on what it is about, where there is one.
    pub drill: Option<Focus>,
}

/// A cell of a table.
#[derive(Clone, Debug, PartialEq)]
pub enum TableCell {
    /// Words or a number.
    Text(String),
    /// A small plot: a row of bars, each 0 to 1 high.
    Bars {
        /// The heights.
        bars: Vec<f64>,
        /// The same in words.
        words: String,
    },
}

pub(super) fn table<const N: usize>(
    heads: [&str; N],
    rows: impl Iterator<Item = TableRow>,
) -> Block {
    Block::Table(ReportTable {
        heads: heads.map(String::from).to_vec(),
        rows: rows.collect(),
    })
}

pub(super) fn row<const N: usize>(cells: [String; N], drill: Option<Focus>) -> TableRow {
    TableRow {
        cells: cells.map(TableCell::Text).to_vec(),
        drill,
    }
}

pub(super) fn on_concept(concept: &str) -> Option<Focus> {
    Some(Focus {
        concepts: vec![concept.to_string()],
        ..Focus::default()
    })
}

pub(super) fn on_kind(kind: &str) -> Option<Focus> {
    Some(Focus {
        kind: Some(kind.to_string()),
        ..Focus::default()
    })
}
