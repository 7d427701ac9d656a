//! The command `man`: the manual page.

use super::{Cli, Exit};
use anyhow::Context;
use clap::CommandFactory;
use std::io::Write;
use std::path::PathBuf;

/// Write the manual page
///
/// To read it: whichside man > whichside.1 and then man ./whichside.1
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Write one page for the program and one for each command into this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Writes the page, or all pages into a folder.
///
/// # Errors
/// Where the folder or the page cannot be written.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    match &args.out {
        None => clap_mangen::Man::new(Cli::command()).render(&mut &mut *out)?,
        Some(dir) => {
            std::fs::create_dir_all(dir)
                .and_then(|()| clap_mangen::generate_to(Cli::command(), dir))
                .with_context(|| {
                    format!("manual pages cannot be written into {}", dir.display())
                })?;
        }
    }
    Ok(Exit::Clean)
}
