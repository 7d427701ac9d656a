//! `whichside deck cover`: what decks cover.

use crate::app::{Exit, deck_library};
use crate::deck;
use std::io::Write;
use std::path::PathBuf;

/// Say what decks cover: concepts, kinds and senses, tempos, and whether the sides are in balance
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Deck files; without any, the decks that come with the program
    #[arg(value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Write the report as JSON
    #[arg(long)]
    json: bool,
}

pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let mut decks = Vec::new();
    for file in &args.files {
        decks.push(deck_library::read_file(file)?.0);
    }
    let mut beside = deck::shipped();
    if args.files.is_empty() {
        std::mem::swap(&mut decks, &mut beside);
    }
    beside.retain(|shipped| decks.iter().all(|own| own.id != shipped.id));
    let found = deck::coverage(&decks, &beside, super::asked);
    match args.json {
        true => writeln!(out, "{}", serde_json::to_string_pretty(&found)?)?,
        false => write!(out, "{found}")?,
    }
    Ok(Exit::Clean)
}
