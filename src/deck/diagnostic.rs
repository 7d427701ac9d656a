//! What is wrong with a deck, where, and how to mend it.

use super::rules::Rule;
use crate::rhythm::notation::{BlockIndex, locate};
use serde::Serialize;
use std::collections::BTreeMap;
use std::ops::Range;

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// The card, or what is wrong in it, cannot be used.
    Mistake,
    /// Usable, but probably not meant.
    Warning,
}

/// One thing that is wrong with a deck.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Diagnostic {
    /// Name of the rule that found it; [`super::rules::named`] has its help page.
    pub rule: &'static str,
    /// Mistake or warning.
    pub severity: Severity,
    /// The deck's file, as it was given.
    pub file: String,
    /// Id of the card that it is in, if it is in one.
    pub card: Option<String>,
    /// Title of that card, if it has one.
    pub title: Option<String>,
    /// The key of the deck or card that it is about, such as `tempo`.
    pub field: Option<String>,
    /// The bar of the card's grid, from 1, if it is about one.
    pub bar: Option<usize>,
    /// The pulse of that bar as a player says it, such as `3&`, where it is about one.
    pub pulse: Option<String>,
    /// Line of its beginning, from 1.
    pub line: usize,
    /// Column of its beginning in characters, from 1.
    pub column: usize,
    /// Bytes of the file that are wrong.
    pub span: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// How to mend it.
    pub mend: String,
    /// The rows of the card's grid, as bytes of the file, where it is about a bar of it.
    #[serde(skip)]
    pub(super) grid: Option<Range<usize>>,
}

impl Diagnostic {
    /// True for what keeps a card from being used.
    pub fn is_mistake(&self) -> bool {
        self.severity == Severity::Mistake
    }
}

/// Where the key and the value of a field stand, as bytes of the file.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Field {
    pub(super) key: Range<usize>,
    pub(super) value: Range<usize>,
}

/// The card, or the head of a deck, that diagnostics are about.
#[derive(Clone, Debug, Default)]
pub(super) struct Subject {
    /// Id of the card.
    pub(super) card: Option<String>,
    /// Title of the card.
    pub(super) title: Option<String>,
    /// The rows of the card's grid, as bytes of the file.
    pub(super) grid: Option<Range<usize>>,
    pub(super) fields: BTreeMap<String, Field>,
}

impl Subject {
    /// The place of a pulse (from 0) of a row of the grid. `text` is the file. `None` where there is none.
    pub(super) fn pulse(&self, text: &str, row: &str, pulse: usize) -> Option<Range<usize>> {
        let grid = self.grid.clone()?;
        let place = locate(text.get(grid.clone())?, row, pulse)?;
        Some(place.start + grid.start..place.end + grid.start)
    }
}

/// Collects the diagnostics of one file.
pub(super) struct Notes<'a> {
    file: &'a str,
    text: &'a str,
    /// Where the lines of the text begin.
    lines: Vec<usize>,
    mistakes: usize,
    /// What is being read.
    pub(super) subject: Subject,
    /// The rows of the last grid that something was found in, and its place.
    rows: Option<(Range<usize>, BlockIndex<'a>)>,
    pub(super) found: Vec<Diagnostic>,
}

impl<'a> Notes<'a> {
    pub(super) fn new(file: &'a str, text: &'a str) -> Notes<'a> {
        Notes {
            file,
            text,
            lines: std::iter::once(0)
                .chain(text.match_indices('\n').map(|(at, _)| at + 1))
                .collect(),
            mistakes: 0,
            subject: Subject::default(),
            rows: None,
            found: Vec::new(),
        }
    }

    pub(super) fn add(
        &mut self,
        rule: &'static Rule,
        span: Range<usize>,
        message: impl Into<String>,
        mend: impl Into<String>,
    ) {
        let start = floor_char(self.text, span.start);
        let span = start..floor_char(self.text, span.end.max(start));
        let line = self.lines.partition_point(|begin| *begin <= start);
        let before = &self.text[self.lines[line - 1]..start];
        self.mistakes += usize::from(rule.severity == Severity::Mistake);
        let subject = &self.subject;
        let in_field = |f: &Field| f.key.start <= start && start < f.value.end;
        let field = subject.fields.iter().find(|(_, f)| in_field(f));
        let grid = subject.grid.clone().filter(|grid| grid.contains(&start));
        let place = grid.as_ref().and_then(|grid| {
            let within = start - grid.start..span.end - grid.start;
            if self.rows.as_ref().is_none_or(|(of, _)| of != grid) {
                let rows = BlockIndex::new(self.text.get(grid.clone())?);
                self.rows = Some((grid.clone(), rows));
            }
            self.rows.as_ref()?.1.place(&within)
        });
        self.found.push(Diagnostic {
            rule: rule.name,
            severity: rule.severity,
            file: self.file.to_string(),
            card: subject.card.clone(),
            title: subject.title.clone(),
            field: field.map(|(name, _)| name.clone()),
            bar: place.as_ref().map(|p| p.bar),
            line,
            column: before.chars().count() + 1,
            grid: grid.filter(|_| place.is_some()),
            pulse: place.and_then(|p| p.pulse),
            span,
            message: message.into(),
            mend: mend.into(),
        });
    }

    /// Notes a value that its key does not take.
    pub(super) fn value(
        &mut self,
        span: Range<usize>,
        message: impl Into<String>,
        mend: impl Into<String>,
    ) {
        self.add(&super::rules::VALUE, span, message, mend);
    }

    /// The place of a pulse (from 0) of a row in the grid that is being read.
    pub(super) fn pulse(&self, row: &str, pulse: usize) -> Option<Range<usize>> {
        self.subject.pulse(self.text, row, pulse)
    }

    /// Mistakes so far.
    pub(super) fn mistakes(&self) -> usize {
        self.mistakes
    }
}

/// The nearest character boundary at or before `at`.
pub(super) fn floor_char(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}
