//! `whichside deck`: writing decks.

mod cover;
mod new;
mod school;
mod show;
mod watch;

use super::Exit;
use crate::deck::{self, Card};
use crate::question::{KINDS, Sense, allows};
use clap::Subcommand;
use std::io::Write;

/// Write, look over and hear decks of your own
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(subcommand)]
    command: DeckCommand,
}

#[derive(Debug, Subcommand)]
enum DeckCommand {
    New(new::Args),
    Show(show::Args),
    Watch(watch::Args),
    Cover(cover::Args),
    School(school::Args),
    /// Write the deck language as a JSON Schema, for editors that use one to complete and check
    Schema,
}

/// Does what the command line says.
///
/// # Errors
/// Whatever keeps the command from running, as a sentence for the player.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    match &args.command {
        DeckCommand::New(args) => new::run(args, out),
        DeckCommand::Show(args) => show::run(args, out),
        DeckCommand::Watch(args) => watch::run(args, out),
        DeckCommand::Cover(args) => cover::run(args, out),
        DeckCommand::School(args) => school::run(args, out),
        DeckCommand::Schema => {
            writeln!(out, "{}", serde_json::to_string_pretty(&deck::schema())?)?;
            Ok(Exit::Clean)
        }
    }
}

/// The ways in which a card can be asked, such as `side:read`.
fn asked(card: &Card) -> Vec<String> {
    let mut ways = Vec::new();
    for kind in KINDS {
        for sense in Sense::ALL.into_iter().filter(|s| allows(card, kind, *s)) {
            ways.push(format!("{}:{}", kind.name, sense.name()));
        }
    }
    ways
}
