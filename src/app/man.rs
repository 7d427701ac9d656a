//! The command `man`: the manual page.

use super::output::ForceArg;
use super::{Cli, Exit, Folder};
use anyhow::Context;
use clap::CommandFactory;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Write the manual page
///
/// To read it: whichside man > whichside.1 and then man ./whichside.1
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Write one page for the program and one for each command into this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    force: ForceArg,
}

/// Writes the page, or all pages into a folder.
///
/// # Errors
/// Where the folder or the page cannot be written.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    match &args.out {
        None => clap_mangen::Man::new(Cli::command()).render(&mut &mut *out)?,
        Some(dir) => {
            let made = tempfile::tempdir().context("no room for the manual pages")?;
            clap_mangen::generate_to(Cli::command(), made.path())
                .context("the manual pages cannot be written")?;
            fs::create_dir_all(dir).with_context(|| format!("{} cannot be made", dir.display()))?;
            // No log is near: what is named `log.db` in that folder is left alone all the same.
            let folder = Folder::find(Some(dir))?;
            for page in fs::read_dir(made.path())? {
                let page = page?;
                let put = |to: &Path| Ok(fs::copy(page.path(), to).map(drop)?);
                args.force
                    .write(&dir.join(page.file_name()), &folder, None, put)?;
            }
        }
    }
    Ok(Exit::Clean)
}
