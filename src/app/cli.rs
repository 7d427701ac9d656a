//! The command line: one entry a command.

use super::Exit;
use crate::screens::screen;
use chrono::{DateTime, Utc};
use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{Parser, Subcommand};
use std::io::Write;
use std::path::PathBuf;

/// A daily ear, eye and hand drill for players of clave-based hand drums.
#[derive(Debug, Parser)]
#[command(
    name = "whichside",
    version,
    about,
    args_conflicts_with_subcommands = true,
    after_help = "Exit codes: 0 all well, 1 mistakes were found in what was given, 2 could not run, 3 some of your answers could not be saved."
)]
pub struct Cli {
    #[command(subcommand)]
    command: Option<Command>,
    #[command(flatten)]
    drill: super::drill::Args,
}

/// Everything that the program can be told to do.
#[derive(Debug, Subcommand)]
#[allow(missing_docs)] // what each is for stands with its arguments, and a line here would take its place in the help
pub enum Command {
    Drill(super::drill::Args),
    Plan(super::plan::Args),
    Lesson(super::lesson::Args),
    Cards(super::cards::Args),
    Settings(super::settings::Args),
    Play(super::play::Args),
    Sound(super::sound::Args),
    Check(super::check::Args),
    Deck(super::deck::Args),
    Hands(super::hands::Args),
    Side(super::side::Args),
    Played(super::played::Args),
    Weak(super::weak::WeakArgs),
    Log(super::log::Args),
    Forecast(super::forecast::Args),
    Completions(super::completions::Args),
    Man(super::man::Args),
}

impl Cli {
    /// The arguments of the process. Where they are wrong the program ends here, with what is wrong about them.
    pub fn parsed() -> Cli {
        Cli::try_parse().unwrap_or_else(|mut wrong| {
            if let (ErrorKind::ArgumentConflict, Some(ContextValue::String(command))) =
                (wrong.kind(), wrong.get(ContextKind::InvalidSubcommand))
            {
                let tip = format!("options stand behind the command: whichside {command} ...");
                wrong.insert(
                    ContextKind::Suggested,
                    ContextValue::StyledStrs(vec![tip.into()]),
                );
            }
            wrong.exit()
        })
    }

    /// Does what the command line says.
    ///
    /// # Errors
    /// Whatever keeps the command from running, as a sentence for the player.
    pub fn run(self, out: &mut dyn Write) -> anyhow::Result<Exit> {
        let there = || screen::is_there(|name| std::env::var(name).ok());
        if self.command.is_none()
            && self.drill.is_usual()
            && there()
            && super::record::has_begun(&self.drill.data.folder()?)?
        {
            return super::start::run(&self.drill, out);
        }
        let command = self.command.unwrap_or(Command::Drill(self.drill));
        match command {
            Command::Drill(args) => super::drill::run(&args, out),
            Command::Plan(args) => super::plan::run(&args, out),
            Command::Cards(args) => super::cards::run(&args, out),
            Command::Lesson(args) => super::lesson::run(&args, out),
            Command::Settings(args) => super::settings::run(&args, out),
            Command::Play(args) => super::play::run(&args, out),
            Command::Sound(args) => super::sound::run(&args, out),
            Command::Check(args) => super::check::run(&args, out),
            Command::Deck(args) => super::deck::run(&args, out),
            Command::Hands(args) => super::hands::run(&args, out),
            Command::Side(args) => super::side::run(&args, out),
            Command::Played(args) => super::played::run(&args, out),
            Command::Weak(args) => super::weak::run(&args, out),
            Command::Log(args) => super::log::run(&args, out),
            Command::Forecast(args) => super::forecast::run(&args, out),
            Command::Completions(args) => super::completions::run(&args, out),
            Command::Man(args) => super::man::run(&args, out),
        }
    }
}

/// Options of every command that reads or writes what a player has answered.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct DataArgs {
    /// Folder of your answers, settings and own decks
    #[arg(long, value_name = "DIR")]
    pub data: Option<PathBuf>,
    /// Set the clock: time runs on from there (a date and time with its zone, 2026-11-25T18:30:00Z)
    #[arg(long, value_name = "TIME", value_parser = super::clock::parse)]
    pub now: Option<DateTime<Utc>>,
    /// The player was asked about the clock and said that it is right.
    #[arg(skip)]
    pub clock_is_right: bool,
}

impl DataArgs {
    /// The player's folder.
    ///
    /// # Errors
    /// Where none is named and the platform has no place for it.
    pub fn folder(&self) -> anyhow::Result<super::Folder> {
        super::Folder::find(self.data.as_deref())
    }

    /// The clock, shifted where the player asked for it.
    pub fn clock(&self) -> super::Clock {
        super::Clock::new(self.now)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_command_line_holds_together() {
        Cli::command().debug_assert();
    }

    #[test]
    fn every_command_says_what_it_does() {
        for command in Cli::command().get_subcommands() {
            assert!(command.get_about().is_some(), "{}", command.get_name());
        }
    }
}
