//! The command `completions`: a script with which a shell completes the program's arguments.

use super::{Cli, Exit};
use clap::CommandFactory;
use clap_complete::Shell;
use std::io::Write;

/// Write the file that lets a shell finish your typing
///
/// For bash: whichside completions bash > ~/.local/share/bash-completion/completions/whichside
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Which shell you use
    shell: Shell,
}

/// Writes the completion script.
///
/// # Errors
/// Where it cannot be written.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "whichside", &mut script);
    out.write_all(&script)?;
    Ok(Exit::Clean)
}
