use super::{Exit, shelf};
use crate::deck::{self, KindFit, Setting};
use crate::question::{self, KINDS, Sense};
use clap::builder::PathBufValueParser;
use std::io::{self, IsTerminal, Write};
use std::path::PathBuf;

/// Check deck files and say what to mend
///
/// Every mistake is shown with its line, what is wrong and how to mend it. Ends with 0 where all is well, with 1
/// where there are mistakes, with 2 where a file cannot be read.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The deck files
    #[arg(required = true, value_name = "FILE", value_parser = PathBufValueParser::new())]
    files: Vec<PathBuf>,
    /// Write the findings as JSON
    #[arg(long)]
    json: bool,
}

/// Checks the files.
///
/// # Errors
/// Where a file cannot be read.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let mut files = Vec::new();
    for file in &args.files {
        files.push((file.display().to_string(), shelf::read_text(file)?));
    }
    let found = deck::check(&files, &setting());
    let all = || found.iter().flatten();
    if args.json {
        let list: Vec<_> = all().collect();
        writeln!(out, "{}", serde_json::to_string_pretty(&list)?)?;
    } else {
        let colour = io::stdout().is_terminal() && std::env::var_os("NO_COLOR").is_none();
        for (found, (name, text)) in found.iter().zip(&files) {
            match found.is_empty() {
                true => writeln!(out, "{name}: all is well")?,
                false => write!(out, "{}", deck::render(found, text, colour))?,
            }
        }
    }
    Ok(match all().any(deck::Diagnostic::is_mistake) {
        true => Exit::Mistakes,
        false => Exit::Clean,
    })
}

/// What decks are checked against: the kinds of question there are.
fn setting() -> Setting {
    let kinds = KINDS.iter().map(|kind| KindFit {
        name: kind.name(),
        asks,
    });
    Setting {
        kinds: kinds.collect(),
        ..Setting::default()
    }
}

fn asks(kind: &str, card: &deck::Card) -> bool {
    let kind = question::kind(kind);
    kind.is_some_and(|kind| Sense::ALL.iter().any(|s| kind.fits(card, *s)))
}
