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
    after_help = "Exit codes: 0 all well, 1 mistakes were found in the input, 2 could not run, 3 some of your answers \
                  could not be saved."
)]
pub struct Cli {
    #[command(subcommand)]
    command: Option<Command>,
    #[command(flatten)]
    drill: super::drill::Args,
}

macro_rules! commands {
    ($($command:ident: $room:ident, $args:ident;)+) => {
        /// Everything that the program can be told to do.
        #[derive(Debug, Subcommand)]
        #[allow(missing_docs)] // what each is for stands with its arguments, and a line here would take its place in the help
        pub enum Command {
            $($command(super::$room::$args)),+
        }

        impl Command {
            fn run(self, out: &mut dyn Write) -> anyhow::Result<Exit> {
                match self {
                    $(Command::$command(args) => super::$room::run(&args, out)),+
                }
            }
        }
    };
}

commands! {
    Drill: drill, Args;
    Plan: plan, Args;
    Lesson: lesson, Args;
    Cards: cards, Args;
    Settings: settings, Args;
    Play: play, Args;
    Sound: sound, Args;
    Check: check, Args;
    Deck: deck, Args;
    Hands: hands, Args;
    Side: side, Args;
    Played: played, Args;
    Weak: weak, WeakArgs;
    Log: log, Args;
    Forecast: forecast, Args;
    Completions: completions, Args;
    Man: man, Args;
}

impl Cli {
    /// The arguments of the process. Where they are wrong the program ends here, with what is wrong about them.
    pub fn parsed() -> Cli {
        Cli::try_parse().unwrap_or_else(|mut wrong| {
            if let (ErrorKind::ArgumentConflict, Some(ContextValue::String(command))) =
                (wrong.kind(), wrong.get(ContextKind::InvalidSubcommand))
            {
                let tip = format!("options go after the command: whichside {command} ...");
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
        let there = || screen::is_there(super::variable);
        if self.command.is_none()
            && self.drill.is_usual()
            && there()
            && super::record::has_begun(&self.drill.data.folder()?)?
        {
            return super::start::run(&self.drill, out);
        }
        self.command.unwrap_or(Command::Drill(self.drill)).run(out)
    }
}

/// Options of every command that reads or writes what a player has answered.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct DataArgs {
    /// Folder with your answers, your settings and your own decks
    #[arg(long, value_name = "DIR")]
    pub data: Option<PathBuf>,
    /// Set the clock; time runs on from there (a date and time with a time zone, 2026-11-25T18:30:00Z)
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
