use super::{Exit, shelf};
use crate::deck::{self, KindFit, Setting, rules};
use crate::question::{self, KINDS, Sense};
use crate::rhythm::Drum;
use anyhow::bail;
use clap::builder::{PathBufValueParser, PossibleValuesParser, TypedValueParser};
use std::io::{self, IsTerminal, Write};
use std::path::PathBuf;

/// Check deck files and say what to mend
///
/// Every mistake is shown with its line, what is wrong and how to mend it. Ends with 0 where all is well, with 1
/// where there are mistakes, with 2 where a file cannot be read.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The deck files; - is standard input
    #[arg(required_unless_present_any = ["explain", "rules"], value_name = "FILE", value_parser = PathBufValueParser::new())]
    files: Vec<PathBuf>,
    /// Write the findings as JSON
    #[arg(long)]
    json: bool,
    /// Explain a rule of the check, by the name in square brackets
    #[arg(long, value_name = "RULE")]
    explain: Option<String>,
    /// List the rules
    #[arg(long)]
    rules: bool,
    /// The drums that you have got (otherwise all three)
    #[arg(long, value_name = "DRUM", value_delimiter = ',', value_parser = drums())]
    drums: Vec<Drum>,
}

fn drums() -> impl TypedValueParser<Value = Drum> {
    PossibleValuesParser::new(Drum::ALL.map(Drum::name)).map(|name| {
        let named = Drum::ALL.into_iter().find(|d| d.name() == name);
        named.unwrap_or(Drum::Conga)
    })
}

/// Checks the files.
///
/// # Errors
/// Where a file cannot be read.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    if let Some(name) = &args.explain {
        return explain(name, out);
    }
    if args.rules {
        for rule in rules::all() {
            writeln!(out, "{:16} {}", rule.name, rule.title)?;
        }
        return Ok(Exit::Clean);
    }
    let mut setting = setting();
    if !args.drums.is_empty() {
        setting.drums = args.drums.clone();
    }
    let mut files = Vec::new();
    for file in &args.files {
        files.push((file.display().to_string(), shelf::read_text(file)?));
    }
    let found = deck::check(&files, &setting);
    let all = || found.iter().flatten();
    if args.json {
        let list: Vec<_> = all().collect();
        writeln!(out, "{}", serde_json::to_string_pretty(&list)?)?;
    } else {
        for (found, (name, text)) in found.iter().zip(&files) {
            match found.is_empty() {
                true => writeln!(out, "{name}: all is well")?,
                false => write!(out, "{}", deck::render(found, text, colour()))?,
            }
        }
    }
    Ok(match all().any(deck::Diagnostic::is_mistake) {
        true => Exit::Mistakes,
        false => Exit::Clean,
    })
}

/// Prints the help page of a rule.
fn explain(name: &str, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let Some(rule) = rules::named(name) else {
        let meant = deck::nearest_rule(name).map(|near| format!(" did you mean `{near}`?"));
        bail!(
            "there is no rule `{name}`;{} `whichside check --rules` lists them",
            meant.unwrap_or_default()
        );
    };
    writeln!(out, "{}: {}\n\n{}", rule.name, rule.title, rule.page)?;
    Ok(Exit::Clean)
}

/// Are findings drawn in colour? Only on a terminal, and not where the player asked for none.
pub(super) fn colour() -> bool {
    io::stdout().is_terminal() && std::env::var_os("NO_COLOR").is_none()
}

/// What decks are checked against: the kinds of question there are.
pub(super) fn setting() -> Setting {
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
