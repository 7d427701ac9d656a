//! The player's log with the memory that is folded from it.

use super::lesson::Lesson;
use super::{Clock, Folder};
use crate::memory::{Memory, UnseenAnswer};
use crate::question::tempo::Past;
use crate::question::{ItemKey, Learner, Stands};
use crate::screens::screen_settings::ScreenSettings;
use crate::session::{Profile, Review};
use crate::store::{IntroductionRow, LogPosition, Store, StoreError};
use chrono::{DateTime, Offset, Utc};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::time::Duration;

/// Key of the setting that holds the player's profile.
const PROFILE: &str = "profile";
/// Key of the setting that holds the volume, 0 to 1.
const VOLUME: &str = "volume";

/// Key of the setting that holds how late taps come.
const TAP_OFFSET: &str = "tap offset";

/// Key of the setting that holds the player's schools.
const SCHOOLS: &str = "schools";
/// Key of the setting that holds the lesson.
const LESSON: &str = "lesson";
/// Key of the setting that holds how many unseen answers there were when the player last asked to be sounded out.
const SOUNDED: &str = "sounding out";
/// Key of the setting that holds what the player has set of the screen.
const SCREEN: &str = "screen";
/// Key of the setting that holds what the player's own cards are about.
const IDEAS: &str = "ideas";

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
    /// Seconds after the sound as the system reckons it; to be taken off every tap.
    pub seconds: f64,
    /// Seconds between early and late taps when it was measured.
    pub spread: f64,
    /// The sound device that it was measured on.
    pub device: String,
}

impl TapOffset {
    /// How much later than the system reckons sound from `device` reaches the ear. Nothing for another device, and
    /// nothing where taps come early, since people tap ahead of a beat and nothing is heard before it is played; at
    /// most a second, to which a measurement does not come.
    pub fn late_on(&self, device: &str) -> Duration {
        let seconds = if self.device == device {
            self.seconds
        } else {
            0.0
        };
        Duration::try_from_secs_f64(seconds.clamp(0.0, 1.0)).unwrap_or_default()
    }
}

/// The player's log with the memory that is folded from it.
pub struct Record {
    store: Store,
    memory: Memory,
    /// How far into the log the memory goes.
    mark: LogPosition,
    /// This run of the program, in the log.
    run: String,
    clock: Clock,
    /// The review that was added last, until it is taken back.
    added: Option<i64>,
}

impl Record {
    /// Opens the log in the player's folder and folds the memory from it.
    ///
    /// # Errors
    /// Of the store, as sentences for the player.
    pub fn open(folder: &Folder, clock: Clock) -> Result<Record, StoreError> {
        let store = Store::open(folder.path())?;
        let (memory, mark) = store.memory()?;
        let now = clock.now().format("%Y%m%dT%H%M%SZ");
        Ok(Record {
            store,
            memory,
            mark,
            run: format!("{now}-{}", std::process::id()),
            clock,
            added: None,
        })
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
        (self.memory, self.mark) = self.store.memory()?;
        Ok(())
    }

    /// The player's profile; `None` before the first run is through.
    ///
    /// # Errors
    /// Of the store.
    pub fn profile(&self) -> Result<Option<Profile>, StoreError> {
        self.store.setting(PROFILE)
    }

    /// Keeps the player's profile.
    ///
    /// # Errors
    /// Of the store.
    pub fn keep_profile(&mut self, profile: &Profile) -> Result<(), StoreError> {
        self.store.set(PROFILE, profile)
    }

    /// The volume that the player set last, 0 to 1.
    ///
    /// # Errors
    /// Of the store.
    pub fn volume(&self) -> Result<Option<f32>, StoreError> {
        self.store.setting(VOLUME)
    }

    /// Keeps the volume.
    ///
    /// # Errors
    /// Of the store.
    pub fn keep_volume(&mut self, volume: f32) -> Result<(), StoreError> {
        self.store.set(VOLUME, &volume)
    }

    /// How late taps come on this computer; `None` before it was measured.
    ///
    /// # Errors
    /// Of the store.
    pub fn tap_offset(&self) -> Result<Option<TapOffset>, StoreError> {
        self.store.setting(TAP_OFFSET)
    }

    /// Keeps how late taps come.
    ///
    /// # Errors
    /// Of the store.
    pub fn keep_tap_offset(&mut self, offset: &TapOffset) -> Result<(), StoreError> {
        self.store.set(TAP_OFFSET, offset)
    }

    /// The player's schools: the way by subject.
    ///
    /// # Errors
    /// Of the store.
    pub fn schools(&self) -> Result<BTreeMap<String, String>, StoreError> {
        Ok(self.store.setting(SCHOOLS)?.unwrap_or_default())
    }

    /// Keeps the player's schools.
    ///
    /// # Errors
    /// Of the store.
    pub fn keep_schools(&mut self, schools: &BTreeMap<String, String>) -> Result<(), StoreError> {
        self.store.set(SCHOOLS, schools)
    }

    /// What the player put into the lesson and took out of it.
    ///
    /// # Errors
    /// Of the store.
    pub fn lesson(&self) -> Result<Lesson, StoreError> {
        Ok(self.store.setting(LESSON)?.unwrap_or_default())
    }

    /// Keeps the lesson.
    ///
    /// # Errors
    /// Of the store.
    pub fn keep_lesson(&mut self, lesson: &Lesson) -> Result<(), StoreError> {
        self.store.set(LESSON, lesson)
    }

    /// What the player has set of the screen.
    ///
    /// # Errors
    /// Of the store.
    pub fn screen(&self) -> Result<ScreenSettings, StoreError> {
        Ok(self.store.setting(SCREEN)?.unwrap_or_default())
    }

    /// Keeps what the player has set of the screen.
    ///
    /// # Errors
    /// Of the store.
    pub fn keep_screen(&mut self, screen: &ScreenSettings) -> Result<(), StoreError> {
        self.store.set(SCREEN, screen)
    }

    /// From the next plan on the player is asked before they are taught, until it is known how far they have come.
    ///
    /// # Errors
    /// Of the store.
    pub fn sound_out(&mut self) -> Result<(), StoreError> {
        let answers = self.store.unseen()?.len();
        self.store.set(SOUNDED, &answers)
    }

    /// What is known of a player who stands there when an evening is composed, with these cards as the lesson; and how many
    /// of the answers about cards never shown were given today.
    ///
    /// # Errors
    /// Of the store.
    pub fn standing(
        &self,
        stands: Stands,
        lesson: &BTreeSet<String>,
    ) -> Result<(Learner, usize), StoreError> {
        let (introduced, today) = self.met()?;
        let asked: Option<usize> = self.store.setting(SOUNDED)?;
        let midnight = self.clock.midnight().timestamp_millis();
        let rows = self.store.unseen()?;
        let tonight = rows.iter().filter(|row| row.at >= midnight).count();
        let unseen = rows.into_iter().map(|row| {
            let item = ItemKey {
                card: row.card,
                kind: row.kind,
                sense: row.sense,
            };
            let reply = UnseenAnswer::new(row.correct, row.guess, row.seconds, row.limit);
            (item, reply)
        });
        let standing = Learner {
            stands,
            introduced,
            today,
            unseen: unseen.collect(),
            lesson: lesson.clone(),
            sounded: asked.or((stands != Stands::New).then_some(0)),
        };
        Ok((standing, tonight))
    }

    /// What the player's own cards were about when last seen, by id.
    ///
    /// # Errors
    /// Of the store.
    pub fn ideas(&self) -> Result<BTreeMap<String, Idea>, StoreError> {
        Ok(self.store.setting(IDEAS)?.unwrap_or_default())
    }

    /// Keeps what the player's own cards are about.
    ///
    /// # Errors
    /// Of the store.
    pub fn keep_ideas(&mut self, ideas: &BTreeMap<String, Idea>) -> Result<(), StoreError> {
        self.store.set(IDEAS, ideas)
    }

    /// How many answers to a card count.
    ///
    /// # Errors
    /// Of the store.
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
    /// Of the store.
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
    /// Of the store; the review is in neither then.
    pub fn add(&mut self, review: &Review) -> Result<(), StoreError> {
        let program = env!("CARGO_PKG_VERSION");
        let mut row = review.row(&self.run, self.offset(review.at), program);
        let item = row.item();
        let memory = &self.memory;
        let chance = memory.chance(&item, row.outcome().at);
        let new = || memory.expected_new(&row.concepts, &row.kind);
        row.forecast = Some(chance.unwrap_or_else(new).clamp(0.0, 1.0));
        let id = self.store.append(&row)?;
        self.added = Some(id);
        if id == self.mark.review + 1 {
            self.memory.observe(&row.outcome());
            self.mark.review = id;
        } else {
            // Another program wrote in between; its reviews belong into the memory in the order of the log. Where
            // they cannot be read now, the next start takes them in: the review itself is on disk.
            let _ = self.fold();
        }
        Ok(())
    }

    /// Takes the review that was added last out of what counts; it stays in the log.
    ///
    /// # Errors
    /// Of the store.
    pub fn take_back(&mut self) -> Result<(), StoreError> {
        let Some(id) = self.added.take() else {
            return Ok(());
        };
        let now = self.clock.now().timestamp_millis();
        self.store
            .withdraw(id, now, "a slip, taken back at once")?;
        self.fold()
    }

    /// Notes that a card was met at `at` (seconds since 1970 UTC) and looked at for so many seconds.
    ///
    /// # Errors
    /// Of the store.
    pub fn meet(&mut self, card: &str, at: f64, seconds: f64) -> Result<(), StoreError> {
        self.store.meet(&IntroductionRow {
            card: card.to_string(),
            at: milliseconds(at),
            utc_offset: self.offset(at),
            session: self.run.clone(),
            seconds,
        })
    }

    /// Cards met so far, and those of them that were first met on the player's present day.
    ///
    /// # Errors
    /// Of the store.
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
    /// Of the store.
    pub fn last_answer(&self, item: &ItemKey) -> Result<Option<Past>, StoreError> {
        let latest = self
            .store
            .latest(&item.card, &item.kind, item.sense)?;
        Ok(latest.map(|latest| Past {
            bpm: latest.bpm,
            right: latest.correct >= 1.0,
            in_time: latest.in_time && !latest.slowed,
        }))
    }

    /// Minutes east of UTC on the player's clock at a time in seconds since 1970 UTC.
    fn offset(&self, at: f64) -> i32 {
        let at = DateTime::<Utc>::from_timestamp_millis(milliseconds(at));
        let local = at.map(|at| at.with_timezone(&chrono::Local));
        local.map_or(0, |at| at.offset().fix().local_minus_utc() / 60)
    }
}

fn milliseconds(seconds: f64) -> i64 {
    (seconds * 1e3).round() as i64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_late_taps_on_the_same_device_make_anything_wait() {
        let taps = |seconds| TapOffset {
            seconds,
            spread: 0.02,
            device: "radio".into(),
        };
        let late = |seconds, device| taps(seconds).late_on(device).as_millis();
        assert_eq!((late(0.2, "radio"), late(0.2, "wire")), (200, 0));
        assert_eq!((late(-0.03, "radio"), late(9.0, "radio")), (0, 1000));
        assert_eq!(late(f64::NAN, "radio"), 0);
    }
}
