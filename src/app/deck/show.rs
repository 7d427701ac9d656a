//! `whichside deck show`: the cards of a deck as text or data.

use crate::app::{Exit, check, deck_library, input};
use crate::deck::{self, CardFacts, SHIPPED};
use std::io::Write;
use std::path::PathBuf;

/// Print the cards of a deck as grids, with side, sticking and the ways they can be asked
#[derive(Debug, clap::Args)]
pub struct Args {
    /// A deck file, - for standard input, or the id of a deck that comes with the program
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Only this card
    #[arg(long, value_name = "ID")]
    card: Option<String>,
    /// Write the cards, and what is wrong with the deck, as JSON
    #[arg(long)]
    json: bool,
}

pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let name = args.file.display().to_string();
    let id = |(file, text): &(&str, &str)| deck::read(file, text).0.id;
    let shipped = SHIPPED.iter().find(|of| id(of) == name);
    let (name, text) = match shipped {
        Some((file, text)) if !args.file.exists() => (file.to_string(), text.to_string()),
        _ if !args.file.exists() && name != input::STDIN => {
            let ids = SHIPPED.iter().map(id).collect::<Vec<_>>().join(", ");
            anyhow::bail!(
                "there is neither a file nor a deck called `{name}`; the decks are: {ids}"
            )
        }
        _ => (name, deck_library::read_text(&args.file)?),
    };
    let (deck, found) = deck::read(&name, &text);
    let wanted = |id: &str| match &args.card {
        Some(card) => id == card || id.rsplit('/').next() == Some(card),
        None => true,
    };
    let cards: Vec<_> = deck.cards.iter().filter(|c| wanted(&c.id)).collect();
    if let Some(card) = args.card.as_ref().filter(|_| cards.is_empty()) {
        anyhow::bail!("{name} has no usable card `{card}`");
    }
    let exit = Exit::with(found.iter().any(deck::Diagnostic::is_mistake));
    if args.json {
        let cards = cards
            .into_iter()
            .map(|c| CardFacts::new(c, super::asked(c)));
        let all = ShownDeck {
            id: &deck.id,
            title: &deck.title,
            about: &deck.about,
            cards: cards.collect(),
            found: &found,
        };
        writeln!(out, "{}", serde_json::to_string_pretty(&all)?)?;
        return Ok(exit);
    }
    writeln!(out, "{}: {}", deck.id, deck.title)?;
    if !deck.about.is_empty() {
        writeln!(out, "{}", deck.about)?;
    }
    for card in cards {
        write!(out, "\n{}", deck::show(card, &super::asked(card)))?;
    }
    if !found.is_empty() {
        write!(out, "\n{}", check::drawn(&found, &text))?;
    }
    Ok(exit)
}

/// A deck as data.
#[derive(serde::Serialize)]
struct ShownDeck<'a> {
    id: &'a str,
    title: &'a str,
    about: &'a str,
    cards: Vec<CardFacts>,
    /// What is wrong with it, as `whichside check --json` says it.
    found: &'a [deck::Diagnostic],
}
