//! The command `plan`: today's questions and those of the coming days.

use super::Exit;
use super::cli::DataArgs;
use super::command_context::CommandContext;
use super::deck_library::DeckLibrary;
use super::record::Record;
use crate::memory::Day;
use crate::question::{self, Draw};
use crate::rhythm::counted;
use crate::session::Step;
use crate::time::{Moment, Seconds};
use chrono::{DateTime, Local, Utc};
use serde::Serialize;
use std::io::{self, Write};

/// Show what today's drill would ask, and why
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Look this many days ahead, as if you practised every day and answered as forecast
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=365))]
    days: Option<u16>,
    /// Plan without sound: what can only be asked by ear waits
    #[arg(long)]
    silent: bool,
    /// Write the plan as JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    data: DataArgs,
}

/// One planned question as it is written.
#[derive(Debug, Serialize)]
struct PlanEntry<'a> {
    card: &'a str,
    title: &'a str,
    kind: &'a str,
    sense: &'static str,
    #[serde(skip)]
    spoken: &'static str,
    why: &'a str,
    /// How long it is expected to take.
    seconds: Seconds,
    /// Chance that it is recalled now, 0 to 1; absent for what was never asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    chance: Option<f64>,
}

/// One of the coming days as it is written.
#[derive(Debug, Serialize)]
struct ComingDay {
    /// By the player's clock.
    date: String,
    /// Questions about what was asked before.
    again: usize,
    /// Questions about what was not.
    new: usize,
    /// Cards met for the first time.
    new_cards: usize,
    /// How long all of it is expected to take.
    seconds: Seconds,
    /// Mean chance of recall over the questions, 0 to 1.
    chance: f64,
}

impl From<&Day> for ComingDay {
    fn from(day: &Day) -> ComingDay {
        let at = DateTime::<Utc>::from_timestamp_millis((day.at.seconds() * 1e3) as i64);
        let date = at.map(|at| at.with_timezone(&Local).format("%Y-%m-%d").to_string());
        ComingDay {
            date: date.unwrap_or_default(),
            again: day.again,
            new: day.new,
            new_cards: day.new_cards,
            seconds: day.seconds,
            chance: day.chance,
        }
    }
}

/// The plan as data.
#[derive(Debug, Serialize)]
struct Plan<'a> {
    /// Minutes a day.
    minutes: f64,
    questions: Vec<PlanEntry<'a>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    days: Vec<ComingDay>,
}

/// Writes the plan.
///
/// # Errors
/// Where the log or a deck cannot be read.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let context = CommandContext::open(&args.data, false)?.with(args.silent, true);
    let (record, library) = (&context.record, &context.library);
    let minutes = context.profile()?.minutes;
    let agenda = context.agenda()?;
    let now = args.data.clock().moment();
    // The order of equals is drawn; a plan that is only shown need not differ from one time to the next.
    let seed = Draw::new(0).seed();
    let steps = agenda.steps(record, minutes, &[], now, seed)?.steps;
    let days = usize::from(args.days.unwrap_or(0));
    let days = agenda.outlook(record, minutes, now, days, seed)?;
    let questions = steps.iter().map(|step| entry(step, library, record, now));
    let plan = Plan {
        minutes,
        questions: questions.collect(),
        days: days.iter().map(ComingDay::from).collect(),
    };
    match args.json {
        true => writeln!(out, "{}", serde_json::to_string_pretty(&plan)?)?,
        false => write_text(&plan, out)?,
    }
    Ok(Exit::Clean)
}

fn write_text(plan: &Plan, out: &mut dyn Write) -> io::Result<()> {
    let seconds: Seconds = plan.questions.iter().map(|q| q.seconds).sum();
    writeln!(
        out,
        "{} to begin with, about {:.0} of your {} minutes (change them with `whichside settings`):",
        counted(plan.questions.len(), "question"),
        seconds.minutes().ceil(),
        plan.minutes,
    )?;
    for q in &plan.questions {
        writeln!(out, "  {}: {} {}. {}", q.title, q.kind, q.spoken, q.why)?;
    }
    if plan.days.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nIf you practise every day and answer as forecast:")?;
    for day in &plan.days {
        writeln!(
            out,
            "  {}: again {}, new {} ({} met), {:.0} min, recall {:.0} in 100",
            day.date,
            day.again,
            day.new,
            counted(day.new_cards, "card"),
            day.seconds.minutes().ceil(),
            day.chance * 100.0
        )?;
    }
    Ok(())
}

fn entry<'a>(
    step: &'a Step,
    library: &'a DeckLibrary,
    record: &Record,
    now: Moment,
) -> PlanEntry<'a> {
    let item = &step.item;
    let card = question::card(&library.decks, &item.card);
    PlanEntry {
        card: &item.card,
        title: card.map_or(&item.card, |c| &c.title),
        kind: &item.kind,
        sense: item.sense.name(),
        spoken: item.sense.spoken(),
        why: &step.why,
        seconds: step.seconds,
        chance: record.memory().chance(&item.to_string(), now),
    }
}
