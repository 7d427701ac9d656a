use crate::app::{Exit, check, shelf};
use crate::deck::{self, SHIPPED};
use std::io::Write;
use std::path::PathBuf;

/// Print the cards of a deck as grids, with side, sticking and the ways they can be asked
#[derive(Debug, clap::Args)]
pub struct Args {
    /// A deck file, or the id of a deck that comes with the program
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Only this card
    #[arg(long, value_name = "ID")]
    card: Option<String>,
}

pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let name = args.file.display().to_string();
    let shipped = SHIPPED
        .iter()
        .find(|(file, text)| deck::read(file, text).0.id == name);
    let (name, text) = match shipped {
        Some((file, text)) if !args.file.exists() => (file.to_string(), text.to_string()),
        _ => (name, shelf::read_text(&args.file)?),
    };
    let (deck, found) = deck::read(&name, &text);
    let wanted = |id: &str| match &args.card {
        Some(card) => id == card || id.rsplit('/').next() == Some(card),
        None => true,
    };
    let cards: Vec<_> = deck.cards.iter().filter(|c| wanted(&c.id)).collect();
    if let Some(card) = args.card.as_ref().filter(|_| cards.is_empty()) {
        anyhow::bail!("there is no card `{card}` in {name} that can be used");
    }
    writeln!(out, "{}: {}", deck.id, deck.title)?;
    if !deck.about.is_empty() {
        writeln!(out, "{}", deck.about)?;
    }
    for card in cards {
        write!(out, "\n{}", deck::show(card, &super::asked(card)))?;
    }
    if found.is_empty() {
        return Ok(Exit::Clean);
    }
    write!(out, "\n{}", deck::render(&found, &text, check::colour()))?;
    Ok(match found.iter().any(deck::Diagnostic::is_mistake) {
        true => Exit::Mistakes,
        false => Exit::Clean,
    })
}
