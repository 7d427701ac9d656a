use super::Exit;
use super::agenda::{Agenda, Scope};
use super::cli::DataArgs;
use super::record::Record;
use super::shelf::Shelf;
use crate::question::{self, Draw};
use crate::session::Step;
use serde::Serialize;
use std::io::Write;

/// Show what today's drill would ask, and why
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Write the plan as JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    data: DataArgs,
}

/// One planned question as it is written.
#[derive(Debug, Serialize)]
struct Entry<'a> {
    card: &'a str,
    title: &'a str,
    kind: &'a str,
    sense: &'static str,
    why: &'a str,
    /// Seconds that it is expected to take.
    seconds: f64,
    /// Chance that it is recalled now, 0 to 1; absent for what was never asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    chance: Option<f64>,
}

/// Writes the plan.
///
/// # Errors
/// Where the log or a deck cannot be read.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let (folder, clock) = (args.data.folder()?, args.data.clock());
    let shelf = Shelf::load(&folder, None)?;
    let record = Record::open(&folder, clock)?;
    let profile = record.profile()?.unwrap_or_default();
    let agenda = Agenda::new(&shelf, &Scope::default(), profile);
    let now = clock.seconds();
    // The order of equals is drawn; a plan that is only shown need not differ from one time to the next.
    let seed = Draw::new(0).seed();
    let steps = agenda.steps(&record, profile.minutes, &[], now, seed)?;
    let entries: Vec<_> = steps
        .iter()
        .map(|step| entry(step, &shelf, &record, now))
        .collect();
    if args.json {
        writeln!(out, "{}", serde_json::to_string_pretty(&entries)?)?;
        return Ok(Exit::Clean);
    }
    let seconds: f64 = steps.iter().map(|s| s.seconds).sum();
    writeln!(
        out,
        "{} questions, about {:.0} of your {:.0} minutes:",
        steps.len(),
        (seconds / 60.0).ceil(),
        profile.minutes
    )?;
    for e in &entries {
        writeln!(out, "  {}: {}, {}. {}", e.title, e.kind, e.sense, e.why)?;
    }
    Ok(Exit::Clean)
}

fn entry<'a>(step: &'a Step, shelf: &'a Shelf, record: &Record, now: f64) -> Entry<'a> {
    let item = &step.item;
    let card = question::card(&shelf.decks, &item.card);
    Entry {
        card: &item.card,
        title: card.map_or(&item.card, |c| &c.title),
        kind: &item.kind,
        sense: item.sense.name(),
        why: &step.why,
        seconds: step.seconds,
        chance: record.memory().chance(&item.to_string(), now),
    }
}
