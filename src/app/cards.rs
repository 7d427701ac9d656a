//! The command `cards`: all decks and cards, to look through and to search.

use super::cli::DataArgs;
use super::events::Events;
use super::{Exit, start};
use crate::screens::screen;
use std::io::Write;

/// Look through all decks and cards, search them, hear them
///
/// In a terminal it opens the list, where you can look at a card, hear it and put it into the lesson. Elsewhere, or
/// with --plain, it prints the cards that have all of the words.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Words from a title, an id, a concept or the text of a card
    words: Vec<String>,
    /// Print text instead of opening the list
    #[arg(long)]
    plain: bool,
    /// Print the cards as JSON
    #[arg(long, conflicts_with = "plain")]
    json: bool,
    /// No sound
    #[arg(long)]
    silent: bool,
    #[command(flatten)]
    data: DataArgs,
}

/// Opens the list, or prints it.
///
/// # Errors
/// Where the log or a deck cannot be read, or the terminal cannot be drawn on.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let words = args.words.join(" ");
    if !args.plain && !args.json && screen::is_there(super::variable) {
        let events = Events::listen(args.data.clock())?;
        return start::cards(&words, args.silent, &args.data, &events);
    }
    let list = start::card_list(&args.data, &words)?;
    let listed = list.listed();
    if args.json {
        writeln!(out, "{}", serde_json::to_string_pretty(&listed)?)?;
        return Ok(Exit::Clean);
    }
    if listed.is_empty() {
        writeln!(out, "No card has all of these words.")?;
    }
    let width = listed.iter().map(|e| e.id.chars().count()).max();
    let width = width.unwrap_or(0);
    for entry in listed {
        let (id, title, state) = (&entry.id, &entry.title, entry.state());
        writeln!(out, "{id:width$}  {title}  {state}")?;
    }
    Ok(Exit::Clean)
}
