//! The report from the log, the decks and the player's settings.

use crate::app::agenda::{Agenda, Scope};
use crate::app::cli::DataArgs;
use crate::app::deck_library::DeckLibrary;
use crate::app::record::Record;
use crate::app::tempos;
use crate::report::{self, DAYS_AHEAD, Diary, Input, Practice, RECENT, Report};
use crate::screens::screen_settings::ScreenSettings;
use crate::store::Store;
use crate::time::Moment;
use chrono::Local;
use std::collections::{HashSet, VecDeque};

/// Seed of the forecast of the coming weeks.
const AHEAD_SEED: u64 = 0x6168_6561;

/// The report of the player whose data these are, at this moment, and what they have set of the screen.
pub fn report(data: &DataArgs) -> anyhow::Result<(Report, ScreenSettings)> {
    let folder = data.folder()?;
    let mut library = DeckLibrary::load(&folder, None)?;
    let record = Record::for_command(&folder, data.clock(), false)?;
    library.choose_schools(&record.schools()?);
    let mut diary = Diary::default();
    let mut recent = VecDeque::with_capacity(RECENT);
    let soundings = record.soundings()?;
    let mut sounded = 0;
    let (words, _) = record.store().facts(|words, fact| {
        diary.observe(fact);
        if soundings.holds(words, fact) {
            sounded += 1;
            return;
        }
        if recent.len() == RECENT {
            recent.pop_front();
        }
        recent.push_back(*fact);
    })?;
    let profile = record.profile()?.unwrap_or_default();
    let lesson = record.lesson()?.cards(&library);
    let agenda = Agenda::new(&library, &Scope::default(), profile, &lesson);
    let now = data.clock().now();
    let moment = Moment::from_millis(now.timestamp_millis());
    let met = first_met(record.store())?;
    let held = tempos::variations(&tempos::held(&record, &library)?, &library);
    // The forecast is drawn; the same log gives the same report.
    let ahead = agenda.outlook(&record, profile.minutes, moment, DAYS_AHEAD, AHEAD_SEED)?;
    let input = Input {
        words: &words,
        recent: recent.make_contiguous(),
        memory: record.memory(),
        items: agenda.candidates(),
        now: moment,
        practice: Practice {
            minutes: profile.minutes,
            met: &met,
            held: &held,
            ahead: &ahead,
            sounded,
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
