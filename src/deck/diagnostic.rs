//! What is wrong with a deck, where, and how to mend it.

use super::rules::Rule;
use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use serde::Serialize;
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
    /// Id of the card that it is in, where it is in one.
    pub card: Option<String>,
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
}

impl Diagnostic {
    /// True for what keeps a card from being used.
    pub fn is_mistake(&self) -> bool {
        self.severity == Severity::Mistake
    }
}

/// Collects diagnostics of one file.
pub(super) struct Notes<'a> {
    file: &'a str,
    text: &'a str,
    /// The card that is being read.
    pub(super) card: Option<String>,
    pub(super) found: Vec<Diagnostic>,
}

impl<'a> Notes<'a> {
    pub(super) fn new(file: &'a str, text: &'a str) -> Notes<'a> {
        Notes {
            file,
            text,
            card: None,
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
        let end = floor_char(self.text, span.end.max(start));
        let before = &self.text[..start];
        let line_start = before.rfind('\n').map_or(0, |i| i + 1);
        self.found.push(Diagnostic {
            rule: rule.name,
            severity: rule.severity,
            file: self.file.to_string(),
            card: self.card.clone(),
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
            span: start..end,
            message: message.into(),
            mend: mend.into(),
        });
    }

    /// Mistakes so far.
    pub(super) fn mistakes(&self) -> usize {
        self.found.iter().filter(|d| d.is_mistake()).count()
    }
}

/// The nearest character boundary at or before `at`.
fn floor_char(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// Most diagnostics that are drawn at once: who has more of them mends the first ones and looks again.
const MOST: usize = 40;

/// Draws diagnostics of one file for a reader: the line with a caret, what is wrong, how to mend it. `text` is the
/// file as it was read. `colour` uses terminal colours beside the words. Where there are very many, the first ones
/// are drawn and the others counted.
pub fn render(diagnostics: &[Diagnostic], text: &str, colour: bool) -> String {
    let renderer = match colour {
        true => Renderer::styled(),
        false => Renderer::plain(),
    };
    // A control character in the middle of a line would confuse a terminal; the columns stay as they are.
    let shown: String = text.replace(|c: char| c.is_control() && c != '\n' && c != '\t', " ");
    let shown = if shown.len() == text.len() {
        shown.as_str()
    } else {
        text
    };
    let mut drawn = Vec::new();
    for d in diagnostics.iter().take(MOST) {
        let level = match d.severity {
            Severity::Mistake => Level::ERROR.with_name("mistake"),
            Severity::Warning => Level::WARNING,
        };
        let snippet = Snippet::source(shown).path(d.file.as_str()).annotation(
            AnnotationKind::Primary
                .span(d.span.clone())
                .label(d.message.as_str()),
        );
        let group = level
            .primary_title(title(d))
            .element(snippet)
            .element(Level::HELP.with_name("mend").message(d.mend.as_str()));
        drawn.push(renderer.render(&[group]) + "\n");
    }
    if let Some(more) = diagnostics.len().checked_sub(MOST).filter(|n| *n > 0) {
        drawn.push(format!("And {more} more in this file. Mend these first.\n"));
    }
    drawn.join("\n")
}

fn title(d: &Diagnostic) -> String {
    let rule = super::rules::named(d.rule).map_or(d.rule, |r| r.title);
    match &d.card {
        Some(card) => format!("{rule}, in card `{card}` [{}]", d.rule),
        None => format!("{rule} [{}]", d.rule),
    }
}
