//! Does what a session asks for: plans, saving, sound.

use super::farewell::Farewell;
use crate::app::Clock;
use crate::app::agenda::{Agenda, DrillScope, Scope};
use crate::app::deck_library::DeckLibrary;
use crate::app::listening::{MicrophoneNews, is_keyboard};
use crate::app::record::Record;
use crate::app::sounding::{News, Sounding};
use crate::question::{Draw, Form};
use crate::screens::screen_settings::ExtraKeys;
use crate::screens::stages::AudioStatus;
use crate::session::{Effect, Event, Profile, Session, Stage};
use crate::store::StoreError;
use crate::time::{Moment, Seconds};
use std::collections::{BTreeSet, VecDeque};
use std::fmt::Display;

/// What a session has done for it: the log, the plan, the sound.
pub struct SessionHost {
    pub record: Record,
    pub library: DeckLibrary,
    scope: Scope,
    pub clock: Clock,
    /// Seeds of the plans.
    draw: Draw,
    /// Made when the profile is known, since it says which drums there are, and made anew when sound comes or goes or the
    /// lesson changes.
    agenda: Option<(Profile, bool, Agenda)>,
    /// A trouble with the log that is not about one review.
    pub trouble: Option<String>,
    /// Cards met that are not in the log yet, with when and for how long.
    unmet: VecDeque<(String, Moment, Seconds)>,
    /// What is to be said at the end.
    pub parting: Option<String>,
    /// Why a review could not be saved, of the last one that could not.
    refused: Option<String>,
    /// `None` where the player wants none, or there is no device.
    pub sound: Option<Sounding>,
    /// The letters that are not answers.
    pub keys: ExtraKeys,
    /// The microphone is open.
    listens: bool,
    /// When a key was pressed last.
    pub keyed: Moment,
}

impl SessionHost {
    pub fn new(
        record: Record,
        library: DeckLibrary,
        scope: Scope,
        clock: Clock,
        seed: u64,
        keys: ExtraKeys,
    ) -> SessionHost {
        SessionHost {
            record,
            library,
            scope,
            clock,
            draw: Draw::new(seed),
            agenda: None,
            trouble: None,
            unmet: VecDeque::new(),
            parting: None,
            refused: None,
            sound: None,
            keys,
            listens: false,
            keyed: Moment::NEVER,
        }
    }

    /// This moment.
    pub fn now(&self) -> Moment {
        self.clock.moment()
    }

    /// Starts the session, unless the player is asked something first.
    pub fn start(&mut self, session: &mut Session) {
        if !matches!(session.stage(), Stage::Welcome(_)) {
            self.tell(session, Event::Begin);
        }
    }

    /// Tells the session what the sound has to say.
    pub fn listen(&mut self, session: &mut Session) {
        while let Some(news) = self.sound.as_mut().and_then(Sounding::poll) {
            match news {
                News::Heard(ago) => {
                    let at = self.now() - ago;
                    self.tell_at(session, Event::Sounding, at);
                }
                News::Lost(why) => self.tell(session, Event::Silent(why)),
                News::Back => self.tell(session, Event::SoundBack),
            }
        }
    }

    /// Begins to listen to the microphone; `listener` is called on another thread with what it has to say.
    pub fn open_microphone(
        &mut self,
        listener: impl FnMut(MicrophoneNews) + Send + 'static,
    ) -> anyhow::Result<()> {
        let known = self.record.microphone()?;
        if let Some(sound) = &mut self.sound {
            sound.listen(known, listener);
        }
        Ok(())
    }

    /// Takes what the microphone has to say; what the player is to be told of it.
    pub fn microphone(&mut self, session: &mut Session, news: MicrophoneNews) -> Option<String> {
        match news {
            MicrophoneNews::Opened { .. } => self.listens = true,
            MicrophoneNews::Lost(_) => self.listens = false,
            MicrophoneNews::Gaps => {}
            MicrophoneNews::Stroke { at } => {
                let at = self.now() - Seconds::of(at.elapsed());
                let asked = matches!(
                    session.stage(),
                    Stage::Asking(asking) if matches!(asking.question.form, Form::Taps { .. })
                );
                if asked && !is_keyboard(at - self.keyed) {
                    let late = self
                        .sound
                        .as_ref()
                        .map_or(Seconds::ZERO, Sounding::stroke_late);
                    self.tell_at(session, Event::Stroke, at - late);
                }
            }
        }
        news.told()
    }

    /// What a page shows that the session does not know.
    pub fn audio(&self, session: &Session) -> AudioStatus {
        let sound = self.sound.as_ref().filter(|_| session.sound());
        AudioStatus {
            playhead: sound.and_then(Sounding::newest_pulse),
            volume: sound.map(Sounding::percent),
            keys: self.keys,
            listens: self.listens,
        }
    }

    /// Makes it louder or softer, and remembers it.
    pub fn turn(&mut self, steps: i8) {
        if let Some(sound) = &mut self.sound {
            sound.turn(steps);
            let volume = sound.volume();
            self.note(|record| record.keep_volume(volume));
        }
    }

    /// Gives the session an event that happens now, and does what it wants done, until it wants nothing more.
    pub fn tell(&mut self, session: &mut Session, event: Event) {
        self.tell_at(session, event, self.clock.moment());
    }

    /// As [`SessionHost::tell`], for an event that happened at `at`.
    pub fn tell_at(&mut self, session: &mut Session, event: Event, at: Moment) {
        let mut effects = session.update(event, at);
        while !effects.is_empty() {
            let mut further = Vec::new();
            for effect in effects {
                let events = self.perform(session, effect);
                for event in events {
                    further.extend(session.update(event, self.clock.moment()));
                }
            }
            effects = further;
        }
    }

    /// Plans with the agenda, at this moment and with a seed; `None` where the log refuses, which is told.
    fn planned<T>(
        &mut self,
        session: &Session,
        profile: Profile,
        plan: impl FnOnce(&Agenda, &SessionHost, Moment, u64) -> Result<T, StoreError>,
    ) -> Option<T> {
        let (now, seed) = (self.clock.moment(), self.draw.seed());
        let (lesson, sound) = (self.lesson(), session.sound());
        let kept = self.agenda.take().filter(|(of, with, agenda)| {
            (*of, *with) == (profile, sound) && *agenda.lesson() == lesson
        });
        let make = || Agenda::new(&self.library, &self.scope, profile, &lesson, sound);
        let agenda = kept.map_or_else(make, |(.., agenda)| agenda);
        let planned = plan(&agenda, self, now, seed);
        self.agenda = Some((profile, sound, agenda));
        let told = planned.map_err(|error| self.trouble = Some(error.to_string()));
        told.ok()
    }

    /// The cards of the lesson.
    fn lesson(&mut self) -> BTreeSet<String> {
        match self.record.lesson() {
            Ok(lesson) => lesson.cards(&self.library),
            Err(error) => {
                self.trouble = Some(error.to_string());
                BTreeSet::new()
            }
        }
    }

    /// Does one thing; the answers to it.
    fn perform(&mut self, session: &Session, effect: Effect) -> Vec<Event> {
        match effect {
            Effect::Plan {
                profile,
                minutes,
                asked,
            } => {
                let agreed = self.planned(session, profile, |agenda, host, now, seed| {
                    agenda.steps(&host.record, minutes, &asked, now, seed)
                });
                let DrillScope { steps, unseen, .. } = agreed.unwrap_or_default();
                return vec![Event::Unseen(unseen), Event::Planned(steps)];
            }
            Effect::Outlook => {
                let profile = session.profile();
                let tomorrow = self.planned(session, profile, |agenda, host, now, seed| {
                    let (record, library) = (&host.record, &host.library);
                    agenda.tomorrow(record, library, profile.minutes, now, seed)
                });
                return tomorrow.map(Event::Tomorrow).into_iter().collect();
            }
            Effect::Record { ticket, review } => {
                return vec![match self.record.add(&review) {
                    Ok(()) => {
                        self.trouble = None;
                        self.meet();
                        Event::Saved(ticket)
                    }
                    Err(error) => {
                        let why = error.to_string();
                        self.refused = Some(why.clone());
                        Event::NotSaved(ticket, why)
                    }
                }];
            }
            Effect::Keep(profile) => {
                self.note(|record| record.keep_profile(&profile));
            }
            Effect::Met { card, at, seconds } => {
                self.unmet.push_back((card, at, seconds));
                self.meet();
            }
            Effect::Play {
                take,
                looped,
                joins,
            } => match (&mut self.sound, joins) {
                (Some(sound), Some(entry)) => sound.take_over(&take, entry),
                (Some(sound), None) => sound.play(&take, looped),
                (None, _) => {}
            },
            Effect::Hush => {
                if let Some(sound) = &mut self.sound {
                    sound.hush();
                }
            }
            Effect::Withdraw => {
                self.note(Record::take_back);
            }
            Effect::Finish => {}
        }
        Vec::new()
    }

    /// Whether the clock went on or back by more than a day while the program waited. The drill ends before it
    /// writes anything by such a clock; the next one asks about it.
    pub fn clock_jumped(&mut self, seconds: Seconds) -> bool {
        let jumped = seconds.abs() > Seconds::DAY;
        if jumped {
            self.parting = Some(format!(
                "the clock jumped by {:.0} days, so the drill has ended; what you answered before is kept",
                seconds.abs().days()
            ));
        }
        jumped
    }

    /// What is to be said of a session that has ended; the copy of the day is made.
    pub fn farewell(&mut self, session: &Session) -> Farewell {
        self.meet();
        let mut notes: Vec<_> = self.parting.take().into_iter().collect();
        let unsaved: Vec<_> = session.unsaved().collect();
        let gone = self.record.store().still_there().err();
        let why = gone.map(|gone| gone.to_string());
        let why = why.or(self.refused.clone().filter(|_| !unsaved.is_empty()));
        if why.is_none()
            && let Err(error) = self.record.back_up()
        {
            notes.push(format!("today's copy could not be made: {error}"));
        }
        Farewell {
            rows: why
                .iter()
                .flat_map(|_| self.record.rows_to_keep(&unsaved))
                .collect(),
            unsaved: unsaved.len(),
            run: self.record.run().to_string(),
            why,
            notes,
        }
    }

    /// Writes the meetings of cards that are not in the log yet.
    fn meet(&mut self) {
        while let Some((card, at, seconds)) = self.unmet.front().cloned() {
            if !self.note(|record| record.meet(&card, at, seconds)) {
                return;
            }
            self.unmet.pop_front();
        }
    }

    /// Writes something to the log that the drill can go on without. False where it could not be written.
    fn note<E: Display>(&mut self, write: impl FnOnce(&mut Record) -> Result<(), E>) -> bool {
        self.trouble = write(&mut self.record).err().map(|error| error.to_string());
        self.trouble.is_none()
    }
}
