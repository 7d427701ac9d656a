//! What is in the log: export, verify, calibration.

use crate::app::Exit;
use crate::report::{Forecasts, forecasts, text};
use crate::rhythm::counted;
use crate::store::Store;
use serde::Serialize;
use std::io::Write;

pub fn calibration(store: &Store, json: bool, out: &mut dyn Write) -> anyhow::Result<Exit> {
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

pub fn export(store: &Store, out: &mut dyn Write) -> anyhow::Result<Exit> {
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

pub fn verify(store: &Store, json: bool, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let health = store.verify()?;
    let exit = Exit::with(!health.faults.is_empty());
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
