//! `whichside deck new`: a starter deck.

use crate::app::Exit;
use crate::deck;
use anyhow::{Context, bail};
use std::fs::{self, OpenOptions};
use std::io::{ErrorKind, Write};
use std::path::PathBuf;

/// Write a starter deck with comments, to change into your own
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The file to write, such as my-corner.toml; an existing file is left alone
    #[arg(value_name = "FILE")]
    file: PathBuf,
}

pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let name = args.file.display().to_string();
    let created = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(&args.file);
    let mut file = match created {
        Err(e) if e.kind() == ErrorKind::AlreadyExists => {
            bail!("{name} is there already and was left as it is; choose another name")
        }
        file => file.with_context(|| format!("{name} cannot be written"))?,
    };
    if let Err(error) = file.write_all(deck::starter(&name).as_bytes()) {
        // Half a deck is none.
        let _ = fs::remove_file(&args.file);
        return Err(error).with_context(|| format!("{name} cannot be written"));
    }
    writeln!(
        out,
        "{name} is written: three cards with comments. Change them, then:\n  \
         whichside check {name}          what is wrong and how to mend it\n  \
         whichside deck show {name}      the cards as grids\n  \
         whichside deck watch {name}     check it and hear it at each save\n  \
         whichside drill --deck {name}   drill them"
    )?;
    Ok(Exit::Clean)
}
