use super::Exit;
use super::cli::DataArgs;
use crate::store::Store;
use clap::Subcommand;
use std::io::Write;

/// Look into the log of everything that you have answered
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Write every answer as one line of JSON
    ///
    /// Each line is one answer, oldest first. at is milliseconds since 1970 UTC, utc_offset minutes east of it; card,
    /// kind, sense and seed make the question again; score is what was asked, as a deck writes it; answer are the keys
    /// that were given and keys, for each of them, the right ones; correct is the share that was right and guess the
    /// chance of having guessed it, both from 0 to 1; seconds is how long the answer took, limit what counts as in
    /// time; replays says how often you listened again. withdrawn says why an answer no longer counts.
    Export(DataArgs),
    /// Check that the log holds together
    Verify(DataArgs),
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
        What::Export(data) => export(&open(data)?, out),
        What::Verify(data) => verify(&open(data)?, out),
        What::Withdraw { id, why, data } => {
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

fn export(store: &Store, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let mut written = Ok(());
    store.reviews(0, |review| {
        if written.is_ok() {
            written = serde_json::to_writer(&mut *out, &review)
                .map_err(std::io::Error::from)
                .and_then(|()| out.write_all(b"\n"));
        }
    })?;
    written?;
    Ok(Exit::Clean)
}

fn verify(store: &Store, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let health = store.verify()?;
    writeln!(
        out,
        "{}: {} answers, {} withdrawn, {} cards met",
        store.path().display(),
        health.reviews,
        health.withdrawn,
        health.meetings
    )?;
    for fault in &health.faults {
        writeln!(out, "fault: {fault}")?;
    }
    Ok(match health.faults.is_empty() {
        true => {
            writeln!(out, "all is well")?;
            Exit::Clean
        }
        false => Exit::Mistakes,
    })
}
