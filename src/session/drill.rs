//! The session as a state machine: events in, effects out.

use super::hearing::Listen;
use super::queue::Queue;
use super::saving::Saving;
use super::slip::Slip;
use super::stage::{Notice, NowPlaying, Stage, Summary};
use super::{Effect, Event, Profile, Review, Step};
use crate::deck::Deck;
use crate::question::tempo::{HeldTempos, Past};
use crate::question::{Draw, ItemKey, Mark};
use crate::rhythm::Score;
use crate::taps::TapLead;
use crate::time::{Moment, Seconds};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What a session starts from.
#[derive(Clone, Debug)]
pub struct Start {
    /// The decks that may be asked.
    pub decks: Arc<[Deck]>,
    /// Cards that were met before.
    pub met: BTreeSet<String>,
    /// `None` on the first run.
    pub profile: Option<Profile>,
    /// Minutes for this session instead of the profile's.
    pub minutes: Option<f64>,
    /// Is there sound?
    pub sound: bool,
    /// The same seed, plan and answers give the same questions.
    pub seed: u64,
}

/// One sitting.
#[derive(Debug)]
pub struct Session {
    pub(super) decks: Arc<[Deck]>,
    pub(super) met: BTreeSet<String>,
    /// Cards that are asked without having been shown.
    pub(super) unseen: BTreeSet<String>,
    pub(super) profile: Profile,
    pub(super) minutes: Option<f64>,
    pub(super) sound: bool,
    pub(super) draw: Draw,
    pub(super) stage: Stage,
    pub(super) queue: Queue,
    /// The step on the screen.
    pub(super) current: Option<Step>,
    /// A plan was asked for and has not come.
    pub(super) planning: bool,
    /// Something was asked since the last plan came.
    pub(super) plan_used: bool,
    /// Moment of the first question, moved on by every time away.
    pub(super) begun: Option<Moment>,
    /// The last answer given in this session, per item, for the tempo.
    pub(super) answers: BTreeMap<ItemKey, Past>,
    /// Items whose card was met in this session and that were not asked yet.
    pub(super) fresh: BTreeSet<ItemKey>,
    /// The last picture of an item in this session, so that the next one differs.
    pub(super) shown: BTreeMap<ItemKey, (Score, Mark)>,
    pub(super) saving: Saving,
    /// The player wants to go on as soon as the last review is on disk.
    pub(super) going_on: bool,
    /// The player was told that leaving loses answers.
    pub(super) warned: bool,
    pub(super) summary: Summary,
    pub(super) notice: Option<Notice>,
    /// When the player last did something.
    pub(super) touched: Moment,
    /// What the last answer changed, so that it can be taken back.
    pub(super) slip: Option<Slip>,
    /// By how much the player taps ahead or behind, as far as answers have told.
    pub(super) lead: TapLead,
    /// At which tempos the player holds questions of each kind.
    pub(super) held: HeldTempos,
    /// Items of which an answer was taken back.
    pub(super) taken_back: BTreeSet<ItemKey>,
    /// What plays: to the page on the screen, or of the question before while the next one is made.
    pub(super) playing: Option<NowPlaying>,
    finished: bool,
    /// The moment of the present event.
    pub(super) now: Moment,
    /// What it is to be answered with.
    pub(super) effects: Vec<Effect>,
}

impl Session {
    /// A session before its first event.
    pub fn new(start: Start) -> Session {
        let profile = start.profile.unwrap_or_default().sane();
        Session {
            decks: start.decks,
            met: start.met,
            unseen: BTreeSet::new(),
            profile,
            minutes: start.minutes,
            sound: start.sound,
            draw: Draw::new(start.seed),
            stage: match start.profile {
                None => Stage::Welcome(profile),
                Some(_) => Stage::Waiting,
            },
            queue: Queue::default(),
            current: None,
            planning: false,
            plan_used: false,
            begun: None,
            answers: BTreeMap::new(),
            fresh: BTreeSet::new(),
            shown: BTreeMap::new(),
            saving: Saving::default(),
            going_on: false,
            warned: false,
            summary: Summary::default(),
            notice: None,
            touched: Moment::NEVER,
            slip: None,
            lead: TapLead::default(),
            held: HeldTempos::default(),
            taken_back: BTreeSet::new(),
            playing: None,
            finished: false,
            now: Moment::NEVER,
            effects: Vec::new(),
        }
    }

    /// The same for a player of whom this lead is known, see [`super::lead_of`].
    pub fn with_lead(self, lead: TapLead) -> Session {
        Session { lead, ..self }
    }

    /// The same for a player of whom it is known at which tempos they hold questions of each kind.
    pub fn with_held(self, held: HeldTempos) -> Session {
        Session { held, ..self }
    }

    /// What the player sees now.
    pub fn stage(&self) -> &Stage {
        &self.stage
    }

    /// The latest thing that the player should know; it stays until the player goes on.
    pub fn notice(&self) -> Option<&Notice> {
        self.notice.as_ref()
    }

    /// What the player has said of themselves.
    pub fn profile(&self) -> Profile {
        self.profile
    }

    /// Does the sound work?
    pub fn sound(&self) -> bool {
        self.sound
    }

    /// The session asked to be ended; nothing that comes now changes anything.
    pub fn finished(&self) -> bool {
        self.finished
    }

    /// The reviews that are not on disk, oldest first.
    pub fn unsaved(&self) -> impl Iterator<Item = &Review> {
        self.saving.reviews()
    }

    /// Takes one event at `now`.
    pub fn update(&mut self, event: Event, now: Moment) -> Vec<Effect> {
        if self.finished {
            return Vec::new();
        }
        self.now = now;
        self.take(event);
        std::mem::take(&mut self.effects)
    }

    fn take(&mut self, event: Event) {
        if (event.is_players() || event == Event::Tick) && self.left_alone() {
            self.touched = self.now;
            return;
        }
        if event.is_players() {
            self.touch(&event);
        }
        match event {
            Event::Choose(profile) => self.choose(profile),
            Event::Begin => self.begin(),
            Event::Planned(steps) => self.planned(steps),
            Event::Unseen(cards) => self.unseen = cards,
            Event::AskMe => self.ask_me(),
            Event::Tomorrow(tomorrow) => self.tomorrow(tomorrow),
            Event::Key(key) => self.key(key),
            Event::Unknown => self.unknown(),
            Event::TakeBack => self.take_back(),
            Event::Pause => self.pause_or_go_on(),
            Event::Tick => self.end_of_taps(),
            Event::Stroke => self.stroke(),
            Event::Taps(taps) => self.all_taps(taps),
            Event::Erase => self.erase(),
            Event::Move(places) => self.move_by(places),
            Event::HearAgain => self.hear(Listen::Again),
            Event::HearOwn => self.hear(Listen::Own),
            Event::Slower => self.hear(Listen::Slower),
            Event::Next => self.next(),
            Event::Sounding => self.sounding(),
            Event::Saved(ticket) => self.saved(ticket),
            Event::NotSaved(ticket, why) => self.not_saved(ticket, why),
            Event::Silent(why) => self.silent(why),
            Event::SoundBack => self.sound_back(),
            Event::Away(seconds) => self.away(seconds),
            Event::Quit => self.quit(),
        }
    }

    /// What is left of the session's minutes at `now`.
    pub fn seconds_left(&self, now: Moment) -> Seconds {
        let whole = Seconds::from_minutes(self.minutes.unwrap_or(self.profile.minutes));
        let now = match &self.stage {
            Stage::Paused(paused) => paused.since.min(now),
            _ => now,
        };
        (whole - self.gone(now)).max(Seconds::ZERO)
    }

    /// How long it has gone on at `now`.
    fn gone(&self, now: Moment) -> Seconds {
        let gone = self.begun.map(|begun| now - begun);
        gone.unwrap_or(Seconds::ZERO).max(Seconds::ZERO)
    }

    fn choose(&mut self, profile: Profile) {
        if let Stage::Welcome(shown) = &mut self.stage {
            *shown = profile.sane();
        }
    }

    fn begin(&mut self) {
        match self.stage {
            Stage::Welcome(profile) => {
                self.profile = profile;
                self.effects.push(Effect::Keep(profile));
            }
            Stage::Waiting if !self.planning => {}
            _ => return,
        }
        let minutes = self.minutes.unwrap_or(self.profile.minutes);
        self.ask_for_plan(minutes);
    }

    pub(super) fn ask_for_plan(&mut self, minutes: f64) {
        self.stage = Stage::Waiting;
        self.planning = true;
        self.plan_used = false;
        self.effects.push(Effect::Plan {
            profile: self.profile,
            minutes,
            asked: self.queue.asked(),
        });
    }

    fn planned(&mut self, steps: Vec<Step>) {
        if !std::mem::take(&mut self.planning) {
            return;
        }
        self.begun.get_or_insert(self.now);
        self.queue.extend(steps);
        self.go_on();
    }

    fn tomorrow(&mut self, tomorrow: super::Tomorrow) {
        self.summary.tomorrow = Some(tomorrow);
        self.refresh_summary();
    }

    /// Brings the summary on the screen up to date.
    pub(super) fn refresh_summary(&mut self) {
        self.summary.unsaved = self.saving.len();
        if let Stage::Done(shown) = &mut self.stage {
            shown.clone_from(&self.summary);
        }
    }

    /// Ends the questions and shows what they came to.
    pub(super) fn wind_up(&mut self) {
        self.quieten();
        self.current = None;
        self.planning = false;
        self.going_on = false;
        self.summary.minutes = self.gone(self.now).minutes();
        self.stage = Stage::Done(Summary::default());
        self.refresh_summary();
        self.effects.push(Effect::Outlook);
        self.saving.try_again(&mut self.effects);
    }

    fn quit(&mut self) {
        if matches!(self.stage, Stage::Done(_)) {
            return self.leave();
        }
        if self.begun.is_none() {
            return self.finish();
        }
        let early = self.seconds_left(self.now) > Seconds::ZERO;
        if early && self.asks_before_leaving() {
            return;
        }
        self.notice = None;
        self.summary.stopped = early;
        if let Stage::Paused(paused) = &self.stage {
            self.give_back((self.now - paused.since).max(Seconds::ZERO));
        }
        self.wind_up();
    }

    /// Leaves the last screen; at the first try not while answers are unsaved.
    pub(super) fn leave(&mut self) {
        if self.saving.len() > 0 && !self.warned {
            self.warned = true;
            self.notice = Some(Notice::LeavesUnsaved(self.saving.len()));
            self.saving.try_again(&mut self.effects);
            return;
        }
        self.finish();
    }

    fn finish(&mut self) {
        self.quieten();
        self.finished = true;
        self.effects.push(Effect::Finish);
    }
}
