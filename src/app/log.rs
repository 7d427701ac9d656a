//! The command `log`: export, verify, withdraw, calibration.

use super::Exit;
use super::cli::DataArgs;
use crate::report::{Forecasts, counted, forecasts, text};
use crate::store::Store;
use clap::Subcommand;
use serde::Serialize;
use std::io::Write;

/// Look into the log of everything that you have answered
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
    /// kind, sense and seed make the question again; score is what was asked, as a deck writes it; answer are the keys
    /// that were given and keys, for each of them, the right ones; correct is the share that was right and guess the
    /// chance of having guessed it, both from 0 to 1; seconds is how long the answer took, limit what counts as in
    /// time; replays says how often you listened again. withdrawn says why an answer no longer counts.
    Export(DataArgs),
    /// Check that the log holds together
    Verify {
        /// Write it as JSON
        #[arg(long)]
        json: bool,
        #[command(flatten)]
        data: DataArgs,
    },
    /// Compare what memory predicted with what you answered
    ///
    /// Before each answer memory forecast its chance, and the log keeps that. Where memory is right, of the answers that
    /// it gave a chance of 70 % some 70 % are right. Answers of before forecasts were kept are left out.
    Calibration {
        /// Write it as JSON
        #[arg(long)]
        json: bool,
        #[command(flatten)]
        data: DataArgs,
    },
    /// Take an answer out of what counts
    ///
    /// For an answer that was not yours: a slip of somebody else on the keys, a question that was wrong. It stays in
    /// the log with the reason, and memory is made anew without it.
    Withdraw {
        /// Its id, as log export gives it
        id: i64,
        /// Why it does not count
        #[arg(long, value_name = "REASON")]
        why: String,
        #[command(flatten)]
        data: DataArgs,
    },
}

/// Exports or verifies the log.
///
/// # Errors
/// Where the log cannot be read.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    match &args.what {
        LogCommand::Export(data) => export(&open(data)?, out),
        LogCommand::Verify { json, data } => verify(&open(data)?, *json, out),
        LogCommand::Calibration { json, data } => calibration(&open(data)?, *json, out),
        LogCommand::Withdraw { id, why, data } => {
            let now = data.clock().now().timestamp_millis();
            open(data)?.withdraw(*id, now, why)?;
            writeln!(out, "answer {id} no longer counts")?;
            Ok(Exit::Clean)
        }
    }
}

fn open(data: &DataArgs) -> anyhow::Result<Store> {
    Ok(Store::open(data.folder()?.path())?)
}

fn calibration(store: &Store, json: bool, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let mut sums = Forecasts::default();
    store.facts(|_, fact| sums.observe(fact))?;
    let fit = sums.fit();
    if json {
        writeln!(out, "{}", serde_json::to_string_pretty(&fit)?)?;
        return Ok(Exit::Clean);
    }
    for line in text::lines(&forecasts(fit.as_ref()), 79, usize::MAX) {
        writeln!(out, "{}", line.text)?;
    }
    Ok(Exit::Clean)
}

fn export(store: &Store, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let mut written = Ok(());
    store.export(|review| {
        if written.is_ok() {
            written = serde_json::to_writer(&mut *out, &review)
                .map_err(std::io::Error::from)
                .and_then(|()| out.write_all(b"\n"));
        }
    })?;
    written?;
    Ok(Exit::Clean)
}

/// What `log verify --json` writes.
#[derive(Serialize)]
struct Verified<'a> {
    file: String,
    answers: i64,
    withdrawn: i64,
    cards_met: i64,
    /// What is wrong, one sentence each.
    faults: &'a [String],
}

fn verify(store: &Store, json: bool, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let health = store.verify()?;
    let exit = match health.faults.is_empty() {
        true => Exit::Clean,
        false => Exit::Mistakes,
    };
    let file = store.path().display().to_string();
    if json {
        let verified = Verified {
            file,
            answers: health.reviews,
            withdrawn: health.withdrawn,
            cards_met: health.meetings,
            faults: &health.faults,
        };
        writeln!(out, "{}", serde_json::to_string_pretty(&verified)?)?;
        return Ok(exit);
    }
    let answers = counted(health.reviews as usize, "answer");
    let cards = counted(health.meetings as usize, "card");
    let withdrawn = health.withdrawn;
    writeln!(out, "{file}: {answers}, {withdrawn} withdrawn, {cards} met")?;
    for fault in &health.faults {
        writeln!(out, "fault: {fault}")?;
    }
    if exit == Exit::Clean {
        writeln!(out, "all is well")?;
    }
    Ok(exit)
}
