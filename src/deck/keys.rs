//! A TOML table read key by key, with a note for each value of the wrong sort and each key that is not known.

use super::diagnostic::{Field, Notes};
use super::limits::{self, MOST_ENTRIES, grouped};
use super::rules;
use crate::rhythm::did_you_mean;
use std::collections::BTreeMap;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A value with its place in the file, in bytes.
#[derive(Clone, Debug)]
pub(super) struct Located<T> {
    pub(super) value: T,
    pub(super) span: Range<usize>,
}

/// One table of a deck.
pub(super) struct TableKeys<'t, 'i> {
    table: &'t DeTable<'i>,
    /// Where in the file the text of the table begins.
    offset: usize,
    /// The place to point at for what is missing.
    pub(super) home: Range<usize>,
}

impl<'t, 'i> TableKeys<'t, 'i> {
    pub(super) fn new(
        table: &'t DeTable<'i>,
        offset: usize,
        home: Range<usize>,
    ) -> TableKeys<'t, 'i> {
        TableKeys {
            table,
            offset,
            home,
        }
    }

    fn place<T>(&self, spanned: &Spanned<T>) -> Range<usize> {
        let span = spanned.span();
        span.start + self.offset..span.end + self.offset
    }

    fn at<'v>(&self, value: &'v Spanned<DeValue<'i>>) -> Located<&'v DeValue<'i>> {
        Located {
            value: value.get_ref(),
            span: self.place(value),
        }
    }

    fn get(&self, key: &str) -> Option<Located<&'t DeValue<'i>>> {
        self.table.get(key).map(|value| self.at(value))
    }

    pub(super) fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// Where the value of a key stands; the table's own place where there is none.
    pub(super) fn place_of(&self, key: &str) -> Range<usize> {
        self.get(key)
            .map_or_else(|| self.home.clone(), |at| at.span)
    }

    /// The places of all keys and values.
    pub(super) fn fields(&self) -> BTreeMap<String, Field> {
        let field = |key: &Spanned<_>, value: &Spanned<_>| Field {
            key: self.place(key),
            value: self.place(value),
        };
        let fields = self.table.iter();
        fields
            .map(|(key, value)| (key.get_ref().to_string(), field(key, value)))
            .collect()
    }

    /// A text that is not empty, without a word on what is wrong with it.
    pub(super) fn peek(&self, key: &str) -> Option<&'t str> {
        let text = self.table.get(key)?.get_ref().as_str()?.trim();
        (!text.is_empty()).then_some(text)
    }

    /// The place of a text, quotes and all, without a word on what is wrong with it.
    pub(super) fn peek_place(&self, key: &str) -> Option<Range<usize>> {
        let at = self.get(key)?;
        at.value.is_str().then_some(at.span)
    }

    /// The place of a text, quotes and all.
    pub(super) fn raw(&self, key: &str, notes: &mut Notes) -> Option<Range<usize>> {
        let at = self.get(key)?;
        match at.value.is_str() {
            true => Some(at.span),
            false => self.wrong(key, at, "text between three quotes", notes),
        }
    }

    /// Notes every key that is not among `known`.
    pub(super) fn note_unknown(&self, known: &[&str], notes: &mut Notes) {
        let keys = self.table.keys();
        for key in keys.filter(|k| !known.contains(&k.get_ref().as_ref())) {
            let name = key.get_ref();
            let mend = did_you_mean(name, known, || {
                format!("keys here are {}", known.join(", "))
            });
            let message = format!("`{name}` means nothing here");
            notes.add(&rules::UNKNOWN_KEY, self.place(key), message, mend);
        }
    }

    pub(super) fn text(&self, key: &str, notes: &mut Notes) -> Option<Located<String>> {
        let at = self.get(key)?;
        match at.value.as_str() {
            Some(text) if !fits(key, text, &at.span, notes) => None,
            Some(text) if !text.trim().is_empty() => Some(Located {
                value: text.trim().to_string(),
                span: at.span,
            }),
            Some(_) => {
                let mend = format!("write something between the quotes, or take `{key}` out");
                notes.value(at.span, format!("`{key}` is empty"), mend);
                None
            }
            None => self.wrong(key, at, "text in quotes", notes),
        }
    }

    /// A text; empty where there is none.
    pub(super) fn text_or_none(&self, key: &str, notes: &mut Notes) -> String {
        self.text(key, notes).map_or_else(String::new, |t| t.value)
    }

    pub(super) fn note_missing(&self, key: &str, mend: &str, notes: &mut Notes) {
        let message = format!("`{key}` is missing");
        notes.add(&rules::MISSING_KEY, self.home.clone(), message, mend);
    }

    /// A list of texts; a single text counts as a list of one.
    pub(super) fn texts(&self, key: &str, notes: &mut Notes) -> Vec<Located<String>> {
        let Some(at) = self.get(key) else {
            return Vec::new();
        };
        let one = |text: &str, span: Range<usize>, notes: &mut Notes| {
            fits(key, text, &span, notes);
            Located {
                value: text.trim().to_string(),
                span,
            }
        };
        if let Some(text) = at.value.as_str() {
            return vec![one(text, at.span, notes)];
        }
        let Some(list) = at.value.as_array() else {
            let due = "a list of texts, such as [\"one\", \"two\"]";
            self.wrong::<()>(key, at, due, notes);
            return Vec::new();
        };
        if list.len() > MOST_ENTRIES {
            let count = list.len();
            let message = format!("`{key}` has {count} entries, at most {MOST_ENTRIES} are read");
            notes.add(&rules::TOO_LONG, at.span, message, "write fewer");
        }
        let mut texts: Vec<Located<String>> = Vec::new();
        for entry in list.iter().take(MOST_ENTRIES) {
            match entry.get_ref().as_str() {
                Some(text) => texts.push(one(text, self.place(entry), notes)),
                None => drop(self.wrong::<()>(key, self.at(entry), "texts in quotes", notes)),
            }
        }
        texts
    }

    /// The texts of such a list, without their places.
    pub(super) fn list(&self, key: &str, notes: &mut Notes) -> Vec<String> {
        let texts = self.texts(key, notes).into_iter();
        texts.map(|t| t.value).collect()
    }

    /// One number, or two.
    pub(super) fn numbers(&self, key: &str, notes: &mut Notes) -> Option<Located<Vec<f64>>> {
        let at = self.get(key)?;
        let span = at.span.clone();
        let value = match at.value.as_array() {
            Some(list) => list.iter().map(|v| number(v.get_ref())).collect(),
            None => number(at.value).map(|n| vec![n]),
        };
        match value {
            Some(value) if matches!(value.len(), 1 | 2) => Some(Located { value, span }),
            _ => self.wrong(key, at, "two numbers, such as [160, 200]", notes),
        }
    }

    /// One number.
    pub(super) fn number(&self, key: &str, notes: &mut Notes) -> Option<Located<f64>> {
        let at = self.get(key)?;
        let span = at.span.clone();
        match number(at.value) {
            Some(value) => Some(Located { value, span }),
            None => self.wrong(key, at, "one number, such as 150", notes),
        }
    }

    /// A table of whole numbers above 0.
    pub(super) fn counts(&self, key: &str, notes: &mut Notes) -> Vec<(String, u32)> {
        let Some(at) = self.get(key) else {
            return Vec::new();
        };
        let what = "a table of whole numbers, such as { salsa = 16 }";
        let Some(table) = at.value.as_table() else {
            self.wrong::<()>(key, at, what, notes);
            return Vec::new();
        };
        let mut counts = Vec::new();
        for (name, value) in table.iter() {
            fits("often", name.get_ref(), &self.place(name), notes);
            match number(value.get_ref()) {
                Some(n) if (1.0..=1000.0).contains(&n) && n.fract() == 0.0 => {
                    counts.push((value.span().start, name.get_ref().to_string(), n as u32));
                }
                _ => drop(self.wrong::<()>(key, self.at(value), what, notes)),
            }
        }
        counts.sort();
        counts.into_iter().map(|(_, name, n)| (name, n)).collect()
    }

    fn wrong<T>(
        &self,
        key: &str,
        at: Located<&DeValue>,
        due: &str,
        notes: &mut Notes,
    ) -> Option<T> {
        let message = format!("`{key}` takes {due}, but this is {}", sort(at.value));
        notes.value(at.span, message, format!("write {due}"));
        None
    }
}

/// Notes a text that is too long for its key, or that a terminal would obey instead of printing it.
fn fits(key: &str, text: &str, span: &Range<usize>, notes: &mut Notes) -> bool {
    let most = limits::most(key);
    if text.chars().nth(most).is_some() {
        let message = format!("`{key}` has {} characters", grouped(text.chars().count()));
        let mend = format!("write at most {}", grouped(most));
        notes.add(&rules::TOO_LONG, span.clone(), message, mend);
        return false;
    }
    let prose = limits::is_prose(key);
    let obeyed = |c: &char| c.is_control() && !(prose && matches!(c, '\n' | '\t'));
    let text = text.trim().replace("\r\n", "\n");
    let Some(found) = text.chars().find(obeyed) else {
        return true;
    };
    let (what, mend) = match found {
        '\n' => ("a line break", "write it on one line"),
        _ => (
            "a control character",
            "take it out; text is letters, digits, punctuation and spaces",
        ),
    };
    let message = format!("`{key}` holds {what} (U+{:04X})", u32::from(found));
    notes.add(&rules::CONTROL, span.clone(), message, mend);
    false
}

fn number(value: &DeValue) -> Option<f64> {
    if let Some(n) = value.as_integer() {
        let n = i64::from_str_radix(n.as_str(), n.radix());
        return n.ok().map(|n| n as f64);
    }
    let n: f64 = value.as_float()?.as_str().parse().ok()?;
    n.is_finite().then_some(n)
}

fn sort(value: &DeValue) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
