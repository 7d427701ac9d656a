//! `whichside check`: what is wrong in decks, and what a rule is about.

use super::named::one_of;
use super::{Exit, deck_library};
use crate::deck::{self, Diagnostic, KindFit, Setting, rules};
use crate::question::{self, KINDS, Sense};
use crate::rhythm::Drum;
use anyhow::bail;
use clap::builder::PathBufValueParser;
use std::io::{self, IsTerminal, Write};
use std::path::PathBuf;

/// Check deck files and say what to mend
///
/// Every mistake is shown in its bar or its line, with what is wrong and how to mend it. Ends with 0 if all is well, 1
/// if there are mistakes, 2 if a file cannot be read.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The deck files; - is standard input
    #[arg(required_unless_present = "about", value_name = "FILE", value_parser = PathBufValueParser::new())]
    files: Vec<PathBuf>,
    /// Write the findings as JSON
    #[arg(long)]
    json: bool,
    /// Explain a rule, by the name in brackets; without a name, list the rules
    #[arg(long, value_name = "RULE")]
    about: Option<Option<String>>,
    /// The drums that you have; all three if left out
    #[arg(long, value_name = "DRUM", value_delimiter = ',', value_parser = one_of(&Drum::ALL, |d| d.name().into()))]
    drums: Vec<Drum>,
}

/// Checks the files.
///
/// # Errors
/// Where a file cannot be read.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    if let Some(rule) = &args.about {
        return about(rule.as_deref(), out);
    }
    let mut setting = setting();
    if !args.drums.is_empty() {
        setting.drums = args.drums.clone();
    }
    let mut files = Vec::new();
    for file in &args.files {
        files.push((file.display().to_string(), deck_library::read_text(file)?));
    }
    let found = deck::check(&files, &setting);
    let all = || found.iter().flatten();
    if args.json {
        let list: Vec<_> = all().collect();
        writeln!(out, "{}", serde_json::to_string_pretty(&list)?)?;
    } else {
        let mut parted = false;
        for (found, (name, text)) in found.iter().zip(&files) {
            if parted {
                writeln!(out)?;
            }
            parted = !found.is_empty();
            match found.is_empty() {
                true => writeln!(out, "{name}: all is well")?,
                false => write!(out, "{}", deck::render(found, text, width()))?,
            }
        }
        if all().next().is_some() {
            writeln!(out, "\n{ABOUT}")?;
        }
    }
    Ok(Exit::with(all().any(Diagnostic::is_mistake)))
}

/// Prints what a rule is about; without a name, a line for each rule.
fn about(name: Option<&str>, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let Some(name) = name else {
        for rule in rules::all() {
            writeln!(out, "{:16} {}", rule.name, rule.title)?;
        }
        return Ok(Exit::Clean);
    };
    let Some(rule) = rules::named(name) else {
        let meant = deck::nearest_rule(name).map(|near| format!(" did you mean `{near}`?"));
        bail!(
            "there is no rule `{name}`;{} `whichside check --about` lists them",
            meant.unwrap_or_default()
        );
    };
    let page = set(rule.page, width());
    writeln!(out, "{}: {}\n\n{page}", rule.name, rule.title)?;
    Ok(Exit::Clean)
}

/// A page set to this many columns; paragraphs that are indented, which are deck text, stay as they are.
fn set(page: &str, width: usize) -> String {
    let options = textwrap::Options::new(width);
    let options = options.word_splitter(textwrap::WordSplitter::NoHyphenation);
    let paragraphs = page.split("\n\n").map(|p| match p.starts_with(' ') {
        true => p.to_string(),
        false => textwrap::fill(&p.replace('\n', " "), &options),
    });
    paragraphs.collect::<Vec<_>>().join("\n\n")
}

/// Told once, after what was found.
const ABOUT: &str =
    "`whichside check --about RULE` says more about a rule, by the name in brackets.";

/// Widest that sentences are set on a terminal, in columns.
const WIDEST: usize = 100;

/// What was found in one file, drawn, with the way to learn more.
pub(super) fn drawn(found: &[Diagnostic], text: &str) -> String {
    format!("{}\n{ABOUT}\n", deck::render(found, text, width()))
}

/// As wide as the terminal; 80 columns where it goes to a file.
fn width() -> usize {
    let terminal = io::stdout().is_terminal();
    let size = crossterm::terminal::size().ok().filter(|_| terminal);
    size.map_or(80, |(columns, _)| usize::from(columns).min(WIDEST))
}

/// What decks are checked against: the kinds of question there are.
pub(super) fn setting() -> Setting {
    let kinds = KINDS.iter().map(|kind| KindFit {
        name: kind.name,
        asks,
    });
    Setting {
        kinds: kinds.collect(),
        ..Setting::default()
    }
}

fn asks(kind: &str, card: &deck::Card) -> bool {
    let kind = question::kind(kind);
    kind.is_some_and(|kind| Sense::ALL.iter().any(|s| (kind.fits)(card, *s)))
}
