//! The command `log`: what is in the log, copies of it, and repairs.

mod copies;
mod look;
mod retime;

use super::Exit;
use super::cli::DataArgs;
use crate::store::Store;
use chrono::{DateTime, Utc};
use clap::Subcommand;
use std::io::Write;
use std::path::PathBuf;

/// Look at the log of everything you have answered
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(subcommand)]
    what: LogCommand,
}

#[derive(Debug, Subcommand)]
enum LogCommand {
    /// Write every answer as one line of JSON
    ///
    /// Each line is one answer, oldest first. at is milliseconds since 1970 UTC, utc_offset minutes east of it; card,
    /// kind, sense and seed make the question again; score is what was asked, as a deck writes it; answer is the keys
    /// that were given, and keys has the right ones for each of them; correct is the share that was right and guess the
    /// chance of having guessed it, both from 0 to 1; seconds is how long the answer took, limit what counts as in
    /// time; replays says how often you listened again. withdrawn says why an answer no longer counts, and meetings are
    /// the cards that were shown in full since the answer before. log import reads these lines.
    Export(DataArgs),
    /// Check that the log holds together and that every row is as it was written
    Verify {
        /// Write it as JSON
        #[arg(long)]
        json: bool,
        #[command(flatten)]
        data: DataArgs,
    },
    /// Compare what memory predicted with what you answered
    ///
    /// Before each answer, memory forecasts the chance that it will be right, and the log keeps that. If memory is
    /// right, about 70 % of the answers to which it gave a chance of 70 % are right. Answers from before forecasts were
    /// kept are left out.
    Calibration {
        /// Write it as JSON
        #[arg(long)]
        json: bool,
        #[command(flatten)]
        data: DataArgs,
    },
    /// Stop an answer from counting
    ///
    /// For an answer that was not yours: somebody else was at the keys, or the question was wrong. It stays in the log
    /// with the reason, and memory is worked out again without it.
    Withdraw {
        /// Its id, as log export gives it
        id: i64,
        /// Why it does not count
        #[arg(long, value_name = "REASON")]
        why: String,
        #[command(flatten)]
        data: DataArgs,
    },
    /// Copy the log into a new file
    ///
    /// The copy is one file that holds everything, even while a drill is running. Each drill makes one when it ends, in
    /// the folder backups beside the log: one for each day of practice, and the last five are kept.
    Backup {
        /// The new file
        #[arg(value_name = "FILE")]
        file: PathBuf,
        #[command(flatten)]
        data: DataArgs,
    },
    /// Put a copy back in place of the log
    ///
    /// The log that was there is kept beside it under another name. A copy that is damaged is refused.
    Restore {
        /// The copy (otherwise the newest in the folder backups)
        #[arg(value_name = "FILE")]
        file: Option<PathBuf>,
        #[command(flatten)]
        data: DataArgs,
    },
    /// Take in answers from another log
    ///
    /// FILE is the log.db of another computer, or the lines of JSON that log export writes. Nothing is taken twice: two
    /// answers are the same if their time, session, item and seed are the same.
    Import {
        /// A log, or lines of JSON (`-` for standard input)
        #[arg(value_name = "FILE")]
        file: PathBuf,
        #[command(flatten)]
        data: DataArgs,
    },
    /// Save what can be read of a damaged log into a new file
    ///
    /// The damaged log is left as it is, and what could not be read is listed. log restore puts the new file in its place.
    Repair {
        /// The new file
        #[arg(long, value_name = "FILE")]
        out: PathBuf,
        #[command(flatten)]
        data: DataArgs,
    },
    /// Mend an evening that was answered on a wrong clock
    ///
    /// Without SESSION the evenings are listed. The answers of the session are withdrawn and written again at the right
    /// time, as far apart as they were.
    Retime {
        /// The evening, by its name in the list
        #[arg(requires = "start")]
        session: Option<String>,
        /// When its first answer was really given (a date and time with a time zone, 2026-11-25T18:30:00Z)
        #[arg(long, value_name = "TIME", value_parser = super::clock::parse, requires = "session")]
        start: Option<DateTime<Utc>>,
        #[command(flatten)]
        data: DataArgs,
    },
}

/// Does what is asked of the log.
///
/// # Errors
/// Where the log cannot be read, or what is asked cannot be done.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    match &args.what {
        LogCommand::Export(data) => look::export(&read(data)?, out),
        LogCommand::Verify { json, data } => {
            let store = Store::open_to_verify(data.folder()?.path())?;
            look::verify(&told(store), *json, out)
        }
        LogCommand::Calibration { json, data } => {
            let mut store = read(data)?;
            store.count_until(data.clock().tomorrow());
            look::calibration(&store, *json, out)
        }
        LogCommand::Withdraw { id, why, data } => {
            let now = data.clock().now().timestamp_millis();
            let mut store = write(data)?;
            store.withdraw(*id, now, why)?;
            writeln!(out, "answer {id} no longer counts")?;
            Ok(Exit::Clean)
        }
        LogCommand::Backup { file, data } => copies::backup(&read(data)?, file, out),
        LogCommand::Restore { file, data } => copies::restore(data, file.as_deref(), out),
        LogCommand::Import { file, data } => copies::import(data, file, out),
        LogCommand::Repair { out: to, data } => copies::repair(data, to, out),
        LogCommand::Retime {
            session,
            start,
            data,
        } => match session.as_ref().zip(*start) {
            Some((session, start)) => retime::mend(data, session, start, out),
            None => retime::list(&read(data)?, out),
        },
    }
}

fn read(data: &DataArgs) -> anyhow::Result<Store> {
    Ok(told(Store::open_to_read(data.folder()?.path())?))
}

/// The log, to be written to; one that is damaged is not.
fn write(data: &DataArgs) -> anyhow::Result<Store> {
    let folder = data.folder()?;
    // Where there is none, a change of it makes none either.
    Store::open_to_read(folder.path())?;
    let store = told(Store::open(folder.path())?);
    store.sound()?;
    Ok(store)
}

/// Says what was found when the log was opened.
fn told(store: Store) -> Store {
    super::record::say(store.notes());
    store
}
