//! The command `forecast`: a log in a file replayed, for research.

mod replay;
mod rows;
#[cfg(test)]
mod tests;

use super::{Exit, Shown, input};
use anyhow::Context;
use replay::ForecastError;
use std::io::{self, BufReader, BufWriter, Write};
use std::path::Path;

/// Run the memory model over a log from anywhere
///
/// The file is comma-separated, with the header learner,item,concepts,kind,at,correct,guess,seconds: concepts are
/// separated by `;`, at is in seconds since 1970 UTC, correct is 0 or 1, guess the chance of a right guess, seconds
/// how long the answer took (or nothing). The rows of one learner are in order of time. The model learns from all rows
/// above which items are hard for everyone; with --alone, each learner is forecast from their own rows only.
///
/// It writes one line of JSON for each row: expected is the probability of a right answer before the row was seen,
/// recall the probability of recall. Rows that cannot be used are listed by their line, and the others are forecast.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: whichside forecast answers.csv > forecasts.jsonl")]
pub struct Args {
    /// The log, or `-` for standard input
    #[arg(value_name = "FILE.csv")]
    file: String,

    /// Forecast each learner from their own rows only
    #[arg(long)]
    alone: bool,
}

/// Writes the forecasts.
///
/// # Errors
/// Where the file cannot be read or has no such header.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let file = &args.file;
    let reader = input::open(Path::new(file));
    let reader = reader.with_context(|| format!("{file} cannot be opened"))?;
    match replay::forecast(BufReader::new(reader), BufWriter::new(out), args.alone) {
        Ok(_) => Ok(Exit::Clean),
        Err(ForecastError::Rows(bad)) => {
            writeln!(Shown::new(io::stderr()), "{}", ForecastError::Rows(bad))?;
            Ok(Exit::Mistakes)
        }
        Err(error) => Err(error).with_context(|| file.clone()),
    }
}
