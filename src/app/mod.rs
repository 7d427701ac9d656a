//! The program around the rest: command line, clock, seed, files and the loop.
//!
//! A command is one file with its `Args` and its `run`, and one entry in [`cli::Command`].

mod agenda;
mod cards;
mod check;
/// The command line as clap reads it.
pub mod cli;
mod clock;
mod command_context;
mod completions;
mod deck;
mod deck_library;
mod drill;
mod events;
mod exit;
mod folder;
mod forecast;
mod full_screen;
mod hands;
mod ideas;
mod input;
mod lesson;
mod listening;
mod log;
mod man;
mod named;
mod output;
mod plan;
mod play;
mod played;
mod quiet;
mod record;
mod settings;
mod shown;
mod side;
mod sound;
mod sound_check;
mod sounding;
mod start;
mod tempos;
mod weak;

pub use cli::Cli;
pub use clock::Clock;
#[cfg(feature = "internals")]
pub use events::{Events, OuterEvent};
pub use exit::Exit;
pub use folder::Folder;
pub use shown::Shown;

use crate::screens::encoding::{self, Encoded};
use std::io::{self, IsTerminal, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process::ExitCode;

/// Runs the program with the arguments of the process.
pub fn run() -> ExitCode {
    let cli = Cli::parsed();
    guarded(|| {
        let out = io::stdout().lock();
        // What goes into a file or a pipe stays as it is.
        let ascii = out.is_terminal() && writes_ascii();
        let mut out = Shown::new(Encoded::new(out, ascii));
        let exit = cli.run(&mut out)?;
        out.flush()?;
        Ok(exit)
    })
}

/// A variable of the environment.
fn variable(name: &str) -> Option<String> {
    std::env::var(name).ok()
}

/// Is ASCII all that a terminal takes here?
fn writes_ascii() -> bool {
    encoding::is_other(variable)
}

/// Does the work of a command and tells the player what became of it. A fault of the program itself ends it in a
/// sentence, too.
pub fn guarded(work: impl FnOnce() -> anyhow::Result<Exit>) -> ExitCode {
    let done = catch_unwind(AssertUnwindSafe(work));
    let done = done.unwrap_or_else(|_| {
        Err(anyhow::anyhow!(
            "a fault inside the program stopped it. Every answer that you gave is kept: start it again to go on. \
             The report of the fault is above, or in screen.log in your data folder"
        ))
    });
    match done {
        Ok(exit) => exit.into(),
        // `whichside log export | head`: the reader has had enough, which is not an error.
        Err(error) if is_broken_pipe(&error) => Exit::Clean.into(),
        Err(error) => {
            // Where standard error is closed as well there is nobody left to tell.
            let _ = writeln!(Shown::new(io::stderr()), "whichside: {error:#}");
            Exit::Failed.into()
        }
    }
}

fn is_broken_pipe(error: &anyhow::Error) -> bool {
    error.chain().any(|cause| {
        let of_file = cause.downcast_ref::<io::Error>().map(io::Error::kind);
        let of_json = cause.downcast_ref::<serde_json::Error>();
        of_file.or(of_json.and_then(serde_json::Error::io_error_kind))
            == Some(io::ErrorKind::BrokenPipe)
    })
}
