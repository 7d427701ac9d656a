//! The report from the log, the decks and the player's settings.

use crate::app::cli::DataArgs;
use crate::app::command_context::CommandContext;
use crate::app::tempos;
use crate::report::{self, DAYS_AHEAD, Diary, Input, Practice, RECENT, Report};
use crate::screens::screen_settings::ScreenSettings;
use crate::store::Store;
use crate::time::Moment;
use chrono::Local;
use std::collections::HashSet;

/// Seed of the forecast of the coming weeks.
const AHEAD_SEED: u64 = 0x6168_6561;

/// The report of the player whose data these are, at this moment, and what they have set of the screen.
pub fn report(data: &DataArgs) -> anyhow::Result<(Report, ScreenSettings)> {
    let context = CommandContext::open(data, false)?;
    let (record, library) = (&context.record, &context.library);
    let mut diary = Diary::default();
    let recent = record.recent(RECENT, |fact| diary.observe(fact))?;
    let minutes = context.profile()?.minutes;
    let agenda = context.agenda()?;
    let now = data.clock().now();
    let moment = Moment::from_millis(now.timestamp_millis());
    let met = first_met(record.store())?;
    let held = tempos::variations(&tempos::held(record, library)?, library);
    // The forecast is drawn; the same log gives the same report.
    let ahead = agenda.outlook(record, minutes, moment, DAYS_AHEAD, AHEAD_SEED)?;
    let input = Input {
        words: &recent.words,
        recent: &recent.facts,
        memory: record.memory(),
        items: agenda.candidates(),
        now: moment,
        practice: Practice {
            minutes,
            met: &met,
            held: &held,
            ahead: &ahead,
            sounded: recent.sounded,
            utc_offset: now.with_timezone(&Local).offset().local_minus_utc() / 60,
        },
    };
    Ok((report::report(&input, &diary), record.screen()?))
}

/// When each card was first met, milliseconds since 1970 by the player's clock.
fn first_met(store: &Store) -> anyhow::Result<Vec<i64>> {
    let mut seen = HashSet::new();
    let meetings = store.meetings()?.into_iter();
    let first = meetings.filter(|m| seen.insert(m.card.clone()));
    Ok(first
        .map(|m| m.at + i64::from(m.utc_offset) * 60_000)
        .collect())
}
