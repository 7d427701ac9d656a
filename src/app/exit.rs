//! Exit codes of the program.

use std::process::ExitCode;

/// How the program ends. Every command keeps to these.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// Done, nothing to complain about.
    Clean = 0,
    /// It ran, and found mistakes in what it was given (a deck, a log).
    Mistakes = 1,
    /// It could not run: a wrong command line, a file that cannot be read.
    Failed = 2,
    /// It ran, and some of what the player answered is not on disk.
    Unsaved = 3,
}

impl Exit {
    /// How a command ends that found mistakes, or none.
    pub fn with(mistakes: bool) -> Exit {
        match mistakes {
            true => Exit::Mistakes,
            false => Exit::Clean,
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> ExitCode {
        ExitCode::from(exit as u8)
    }
}
