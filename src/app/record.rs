//! The player's log, with the memory that is folded from it.

use super::clock::AnswerTimes;
use super::{Clock, Folder, Shown};
use crate::deck::Deck;
use crate::hands::Player;
use crate::memory::Memory;
use crate::question::tempo::{HeldTempos, Past};
use crate::question::{ItemKey, KINDS};
use crate::session::{Review, lead_of};
use crate::store::{
    FirstAnswers, IntroductionRow, LogPosition, Logged, ReviewRow, Store, StoreError,
};
use crate::taps::TapLead;
use crate::time::{Moment, Seconds};
use chrono::{DateTime, Offset, Utc};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::io::{self, Write};
use std::time::Duration;

mod settings;
mod soundings;

pub use settings::has_begun;

/// How often to try to open a log that another program holds; each try takes as long as [`crate::store::PATIENCE`].
const TRIES: usize = 25;

/// Writes sentences to standard error. If that is closed, there is nobody left to tell.
pub fn say(notes: &[String]) {
    for note in notes {
        let _ = writeln!(Shown::new(io::stderr()), "whichside: {note}");
    }
}

/// What a card of the player's own was about when it was last seen.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Idea {
    /// See [`crate::deck::idea`].
    pub text: String,
    /// Meetings before this do not count (milliseconds since 1970 UTC): the card started over then.
    pub since: i64,
}

/// How late taps come on this computer, measured by tapping along.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TapOffset {
    /// How long after the sound as the system reckons it; to be taken off every tap.
    pub seconds: Seconds,
    /// Between early and late taps when it was measured.
    pub spread: Seconds,
    /// The sound device that it was measured on.
    pub device: String,
}

/// No more is taken off.
const MOST_LATE: Seconds = Seconds::new(1.0);

impl TapOffset {
    /// How much later than the system reckons sound from `device` reaches the ear. Nothing for another device, and
    /// nothing where taps come early, since people tap ahead of a beat and nothing is heard before it is played; at
    /// most a second, to which a measurement does not come.
    pub fn late_on(&self, device: &str) -> Duration {
        let seconds = if self.device == device {
            self.seconds
        } else {
            Seconds::ZERO
        };
        let seconds = seconds.clamp(Seconds::ZERO, MOST_LATE);
        Duration::try_from_secs_f64(seconds.seconds()).unwrap_or_default()
    }
}

/// The player's log, with the memory that is folded from it.
pub struct Record {
    store: Store,
    memory: Memory,
    /// How far into the log the memory goes.
    mark: LogPosition,
    answered: AnswerTimes,
    first: FirstAnswers,
    /// This run of the program, in the log.
    run: String,
    clock: Clock,
    /// The review that was added last, until it is taken back.
    added: Option<i64>,
}

impl Record {
    /// Opens the log in the player's folder and folds the memory from it. Waits for another program that holds it, and
    /// says so. Whether all rows are as they were written is found out meanwhile, before anything is written; see
    /// [`Store::sound_so_far`].
    ///
    /// # Errors
    /// Those of the store, as sentences for the player.
    pub fn open(folder: &Folder, clock: Clock) -> Result<Record, StoreError> {
        let record = Record::of(Record::opened(folder)?, clock)?;
        // Not sooner, so that the first question waits for one reader alone.
        record.store.begin_check();
        Ok(record)
    }

    fn opened(folder: &Folder) -> Result<Store, StoreError> {
        let mut tries = 0;
        loop {
            tries += 1;
            match Store::open(folder.path()) {
                Err(StoreError::Busy { path }) if tries < TRIES => {
                    if tries == 1 {
                        say(&[format!("{} is in use; waiting for it", path.display())]);
                    }
                }
                opened => return opened,
            }
        }
    }

    /// Opens the log for a command that `changes` it or only reads: where there is none to be read, it says so and makes
    /// none.
    ///
    /// # Errors
    /// As [`Record::open`].
    pub fn for_command(folder: &Folder, clock: Clock, changes: bool) -> Result<Record, StoreError> {
        let store = match changes {
            true => Record::opened(folder)?,
            false => match Store::open_to_read(folder.path()) {
                Err(StoreError::Missing { folder }) => {
                    say(&[format!("there is no log in {} yet", folder.display())]);
                    Store::empty(&folder)?
                }
                opened => opened?,
            },
        };
        say(store.notes());
        store.begin_check();
        let record = Record::of(store, clock)?;
        record.store.sound()?;
        Ok(record)
    }

    /// The clock that its answers are stamped with.
    pub fn clock(&self) -> Clock {
        self.clock
    }

    fn of(mut store: Store, clock: Clock) -> Result<Record, StoreError> {
        store.count_until(clock.tomorrow());
        let now = clock.now().format("%Y%m%dT%H%M%SZ");
        let mut record = Record {
            store,
            memory: Memory::new(),
            mark: LogPosition::default(),
            answered: AnswerTimes::default(),
            first: FirstAnswers::default(),
            run: format!("{now}-{}", std::process::id()),
            clock,
            added: None,
        };
        record.fold()?;
        Ok(record)
    }

    /// The log itself.
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// What is remembered after all answers of the log.
    pub fn memory(&self) -> &Memory {
        &self.memory
    }

    fn fold(&mut self) -> Result<(), StoreError> {
        let (folded, mark) = self.store.fold(
            <(Memory, AnswerTimes, FirstAnswers)>::default,
            |(memory, answered, first), words, row, outcome| {
                memory.observe(outcome);
                first.observe(words, row);
                if let Some(before) = answered.newest.replace(row.at) {
                    answered.longest = answered.longest.max(row.at - before);
                }
            },
        )?;
        let written = self.store.last_written()?;
        (self.memory, self.answered, self.first) = folded;
        (self.answered.written, self.mark) = (written, mark);
        Ok(())
    }

    /// When answers were given.
    pub fn answered(&self) -> AnswerTimes {
        self.answered
    }

    /// How many answers to a card count.
    ///
    /// # Errors
    /// Those of the store.
    pub fn answers(&self, card: &str) -> Result<usize, StoreError> {
        Ok(self.answers_to(card)?.len())
    }

    fn answers_to(&self, card: &str) -> Result<Vec<i64>, StoreError> {
        let mut ids = Vec::new();
        self.store.reviews(0, |logged| {
            if logged.row.card == card && logged.withdrawn.is_none() {
                ids.push(logged.id);
            }
        })?;
        Ok(ids)
    }

    /// Takes all answers to a card out of what counts; they stay in the log. Gives the moment, in milliseconds since
    /// 1970 UTC.
    ///
    /// # Errors
    /// Those of the store.
    pub fn start_over(&mut self, card: &str) -> Result<i64, StoreError> {
        let now = self.clock.now().timestamp_millis();
        for id in self.answers_to(card)? {
            self.store
                .withdraw(id, now, "the card became another idea")?;
        }
        self.fold()?;
        Ok(now)
    }

    /// Puts a review on disk and into the memory.
    ///
    /// # Errors
    /// Those of the store; the review is in neither then.
    pub fn add(&mut self, review: &Review) -> Result<(), StoreError> {
        let row = self.row(review);
        let id = self.store.append(&row)?;
        self.added = Some(id);
        // The memory is folded in the order of time.
        if id == self.mark.review + 1 && self.answered.newest.is_none_or(|newest| newest <= row.at)
        {
            self.memory.observe(&row.outcome());
            self.first.add(&row);
            self.mark.review = id;
            self.answered.newest = Some(row.at);
        } else {
            // Another program wrote in between; its reviews belong into the memory in the order of the log. Where
            // they cannot be read now, the next start takes them in: the review itself is on disk.
            let _ = self.fold();
        }
        Ok(())
    }

    /// The row of a review, with what memory forecasts for it.
    pub fn row(&self, review: &Review) -> ReviewRow {
        let program = env!("CARGO_PKG_VERSION");
        let mut row = review.row(&self.run, self.offset(review.at), program);
        let memory = &self.memory;
        let at = row.outcome().at;
        let chance = memory.chance(&row.item(), at);
        let new = || memory.expected_new(&row.concepts, &row.kind, at);
        row.forecast = Some(chance.unwrap_or_else(new).clamp(0.0, 1.0));
        row
    }

    /// This run of the program, in the log.
    pub fn run(&self) -> &str {
        &self.run
    }

    /// Copies the log into the folder of copies, as the copy of the player's present day.
    ///
    /// # Errors
    /// Those of the store.
    pub fn back_up(&self) -> Result<(), StoreError> {
        self.store.back_up(&self.clock.day())
    }

    /// The reviews as rows that `whichside log import` reads; where the log is gone from its place, after all of it that
    /// can still be read.
    pub fn rows_to_keep(&self, unsaved: &[&Review]) -> Vec<Logged> {
        let mut rows = Vec::new();
        if self.store.still_there().is_err() {
            // Of a file that was written over nothing can be read.
            let _ = self.store.export(|row| rows.push(row));
        }
        rows.extend(unsaved.iter().map(|review| Logged {
            id: 0,
            row: self.row(review),
            withdrawn: None,
            meetings: Vec::new(),
        }));
        rows
    }

    /// Takes the review that was added last out of what counts; it stays in the log.
    ///
    /// # Errors
    /// Those of the store.
    pub fn take_back(&mut self) -> Result<(), StoreError> {
        let Some(id) = self.added.take() else {
            return Ok(());
        };
        let now = self.clock.now().timestamp_millis();
        self.store.withdraw(id, now, "a slip, taken back at once")?;
        self.fold()
    }

    /// Notes that a card was met at `at` and looked at for this long.
    ///
    /// # Errors
    /// Those of the store.
    pub fn meet(&mut self, card: &str, at: Moment, seconds: Seconds) -> Result<(), StoreError> {
        self.store.meet(&IntroductionRow {
            card: card.to_string(),
            at: at.millis(),
            utc_offset: self.offset(at),
            session: self.run.clone(),
            seconds,
        })
    }

    /// Cards met so far, and those of them that were first met on the player's present day.
    ///
    /// # Errors
    /// Those of the store.
    pub fn met(&self) -> Result<(BTreeSet<String>, BTreeSet<String>), StoreError> {
        let midnight = self.clock.midnight().timestamp_millis();
        let mut met = BTreeSet::new();
        let mut today = BTreeSet::new();
        let ideas = self.ideas()?;
        let since = |card: &str| ideas.get(card).map_or(i64::MIN, |idea| idea.since);
        let meetings = self.store.meetings()?.into_iter();
        for meeting in meetings.filter(|m| m.at >= since(&m.card)) {
            if met.insert(meeting.card.clone()) && meeting.at >= midnight {
                today.insert(meeting.card);
            }
        }
        Ok((met, today))
    }

    /// The latest answer to an item.
    ///
    /// # Errors
    /// Those of the store.
    pub fn last_answer(&self, item: &ItemKey) -> Result<Option<Past>, StoreError> {
        let latest = self.store.latest(&item.card, &item.kind, item.sense)?;
        Ok(latest.map(|latest| Past {
            tempo: latest.tempo,
            right: latest.correct >= 1.0,
            in_time: latest.in_time && !latest.slowed,
            rising: latest.rising,
        }))
    }

    /// At which tempos the player holds questions of each kind, from the latest answers.
    ///
    /// # Errors
    /// Those of the store.
    pub fn held(&self) -> Result<HeldTempos, StoreError> {
        let rows = self.store.latest_tempos(HeldTempos::ENOUGH)?;
        let mut held = HeldTempos::default();
        for row in rows {
            let (cycle, right) = (row.tempo.cycle(row.grid), row.correct >= 1.0);
            held.observe(&row.item, cycle, right, row.in_time && !row.slowed);
        }
        Ok(held)
    }

    /// By how much the player taps ahead or behind, from the latest answers that were tapped.
    ///
    /// # Errors
    /// Those of the store.
    pub fn lead(&self, decks: &[Deck], player: Player) -> Result<TapLead, StoreError> {
        let tapped = KINDS.iter().filter(|kind| kind.is_tapped());
        let kinds: Vec<&str> = tapped.map(|kind| kind.name).collect();
        let rows = self.store.latest_of(&kinds, TapLead::ENOUGH)?;
        Ok(lead_of(&rows, decks, player))
    }

    /// Minutes east of UTC on the player's clock at a moment.
    fn offset(&self, at: Moment) -> i32 {
        let at = DateTime::<Utc>::from_timestamp_millis(at.millis());
        let local = at.map(|at| at.with_timezone(&chrono::Local));
        local.map_or(0, |at| at.offset().fix().local_minus_utc() / 60)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_late_taps_on_the_same_device_make_anything_wait() {
        let taps = |seconds| TapOffset {
            seconds: Seconds::new(seconds),
            spread: Seconds::new(0.02),
            device: "radio".into(),
        };
        let late = |seconds, device| taps(seconds).late_on(device).as_millis();
        assert_eq!((late(0.2, "radio"), late(0.2, "wire")), (200, 0));
        assert_eq!((late(-0.03, "radio"), late(9.0, "radio")), (0, 1000));
        assert_eq!(late(f64::NAN, "radio"), 0);
    }
}
