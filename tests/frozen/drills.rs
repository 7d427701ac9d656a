//! Frozen: a drill on the screen, with and without sound, key by key, and what it asks of the program.

use crate::pages::Pages;
use crate::{chance, rounded};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use std::collections::BTreeSet;
use whichside::deck::{Deck, shipped};
use whichside::question::tempo::Past;
use whichside::question::{self, Answer, Form};
use whichside::rhythm::Tempo;
use whichside::screens::keys::{Meaning, meaning};
use whichside::screens::screen_settings::ExtraKeys;
use whichside::screens::stages::{self, AudioStatus};
use whichside::session::{Effect, Event, Profile, Session, Stage, Start, Step, Tomorrow};
use whichside::taps::Tap;
use whichside::time::{Moment, Seconds};

/// 2026-11-25 18:00 UTC, in seconds since 1970.
const EVENING: f64 = 1_795_629_600.0;

/// A drill on some items of all decks, by a player who presses what the page offers and other keys.
struct Evening {
    session: Session,
    now: f64,
    state: u64,
    effects: String,
    /// What is asked when a plan is wanted, once.
    steps: Vec<Step>,
}

impl Evening {
    fn new(sound: bool, profile: Option<Profile>, decks: Vec<Deck>, every: usize) -> Evening {
        let items = question::items(&decks);
        let from = usize::from(sound);
        let steps = items.iter().skip(from).step_by(every).enumerate();
        let steps: Vec<Step> = steps
            .map(|(n, item)| Step {
                item: item.key.clone(),
                why: format!("for the {n}th time"),
                seconds: Seconds::new(12.0),
                last: (n % 3 == 1)
                    .then(|| Past::after(None, Tempo::new(120.0), n % 2 == 0, n % 4 == 1)),
            })
            .collect();
        let met: BTreeSet<String> = steps
            .iter()
            .enumerate()
            .filter(|(n, _)| n % 4 > 0)
            .map(|(_, step)| step.item.card.clone())
            .collect();
        let session = Session::new(Start {
            decks: decks.into(),
            met,
            profile,
            minutes: Some(90.0),
            sound,
            seed: 77,
        });
        let mut evening = Evening {
            session,
            now: EVENING,
            state: 20_261_125,
            effects: String::new(),
            steps,
        };
        if profile.is_some() {
            evening.tell(Event::Begin);
        }
        evening
    }

    fn tell(&mut self, event: Event) {
        for effect in self.session.update(event, Moment::new(self.now)) {
            self.effects += &rounded(&format!("{effect:?}\n"));
            match effect {
                Effect::Record { ticket, .. } if chance(&mut self.state, 9) == 0 => {
                    self.tell(Event::NotSaved(ticket, "the disk is full".into()));
                }
                Effect::Record { ticket, .. } => self.tell(Event::Saved(ticket)),
                Effect::Play { .. } => {
                    self.now += 0.3;
                    self.tell(Event::Sounding);
                }
                Effect::Plan { .. } => {
                    let steps = std::mem::take(&mut self.steps);
                    self.tell(Event::Planned(steps));
                }
                Effect::Outlook => self.tell(Event::Tomorrow(Tomorrow {
                    again: 4,
                    new_cards: 2,
                    titles: vec!["Son clave".into(), "A bell".into()],
                })),
                _ => {}
            }
        }
    }

    fn press(&mut self, code: KeyCode) {
        let key = KeyEvent::new(code, KeyModifiers::NONE);
        match meaning(&self.session, key, ExtraKeys::default()) {
            Meaning::Session(event) => self.tell(event),
            other => self.effects += &format!("{other:?}\n"),
        }
    }

    /// What the player does next.
    fn go_on(&mut self) {
        self.now += 0.4 + chance(&mut self.state, 40) as f64 / 10.0;
        match chance(&mut self.state, 24) {
            0 => return self.press(KeyCode::Char('-')),
            1 => return self.press(KeyCode::Char(' ')),
            2 => return self.press(KeyCode::Backspace),
            3 => return self.press(KeyCode::Char('?')),
            4 => return self.press([KeyCode::Left, KeyCode::Right][self.now as usize % 2]),
            5 => return self.press(KeyCode::Char(['x', 'i', 'u', 'y'][self.now as usize % 4])),
            6 => return self.tell(Event::Tick),
            _ => {}
        }
        let asked = match self.session.stage() {
            Stage::Asking(asking) => Some(asking.question.clone()),
            _ => None,
        };
        if matches!(self.session.stage(), Stage::Welcome(_)) && chance(&mut self.state, 5) > 0 {
            let letters = ['2', 'h', 't', 'l', 'b', 'm', '1', 'n'];
            return self.press(KeyCode::Char(letters[self.now as usize % 8]));
        }
        if matches!(self.session.stage(), Stage::Introduction(_)) && chance(&mut self.state, 3) == 0
        {
            return self.press(KeyCode::Char('i'));
        }
        let Some(question) = asked else {
            return self.press(KeyCode::Enter);
        };
        match (&question.form, question.form.right().remove(0)) {
            (Form::Taps { task, .. }, Answer::Taps(taps)) => {
                let pulse = task.pulse_seconds();
                let taps = taps.iter().filter(|_| chance(&mut self.state, 9) > 0);
                let taps: Vec<Tap> = taps.copied().collect();
                let late = [Seconds::new(0.02), 0.04 * pulse, pulse][self.now as usize % 3];
                let moved = taps.iter().map(|tap| Tap {
                    seconds: tap.seconds + late,
                    ..*tap
                });
                let moved = moved.collect();
                self.tell(Event::Taps(moved));
            }
            (form, right) => {
                let right = right.text();
                let right = right.chars().next().unwrap_or('x');
                let choices = form.choices();
                let any = choices[chance(&mut self.state, choices.len() as u64) as usize].key;
                let key = [right, right, any][chance(&mut self.state, 3) as usize];
                self.press(KeyCode::Char(key));
                if chance(&mut self.state, 12) == 0 {
                    self.press(KeyCode::Enter);
                }
            }
        }
    }
}

fn drill(sound: bool, profile: Option<Profile>, every: usize, presses: usize) -> Pages {
    let mut evening = Evening::new(sound, profile, shipped(), every);
    let mut pages = Pages::default();
    for n in 0..presses {
        let playhead = match evening.session.stage() {
            Stage::Asking(_) | Stage::Feedback(_) => sound.then_some(n % 16),
            _ => None,
        };
        let audio = AudioStatus {
            playhead,
            volume: sound.then_some(70),
            keys: ExtraKeys::default(),
            listens: n % 2 == 1,
        };
        let page = stages::page(&evening.session, audio, Moment::new(evening.now));
        let about = match evening.session.stage() {
            Stage::Welcome(_) => "welcome".into(),
            Stage::Waiting => "waiting".into(),
            Stage::Introduction(_) => "shown".into(),
            Stage::Asking(asking) => format!("asked, {}", asking.question.item.kind),
            Stage::Feedback(told) => format!("told, {}", told.review.question.item.kind),
            Stage::Paused(_) => "paused".into(),
            Stage::Done(_) => "done".into(),
        };
        pages.add(&about, &page, 29);
        if matches!(evening.session.stage(), Stage::Done(_)) {
            break;
        }
        match n % 151 {
            60 => evening.tell(Event::Away(Seconds::new(700.0))),
            90 => evening.tell(Event::Silent("the device was unplugged".into())),
            100 => evening.tell(Event::SoundBack),
            _ => evening.go_on(),
        }
        pages
            .sums
            .add("effects", &std::mem::take(&mut evening.effects));
    }
    evening.tell(Event::Quit);
    evening.tell(Event::Quit);
    let page = stages::page(
        &evening.session,
        AudioStatus::default(),
        Moment::new(evening.now),
    );
    pages.add("the end", &page, 1);
    pages.sums.add("effects", &evening.effects);
    pages
}

#[test]
fn a_drill_with_sound_looks_as_it_did() {
    let profile = Profile {
        two_drums: true,
        ..Profile::default()
    };
    let (sums, read) = drill(true, Some(profile), 41, 700).told();
    insta::assert_snapshot!("drill_with_sound_sums", sums);
    insta::assert_snapshot!("drill_with_sound", read);
}

#[test]
fn a_first_drill_without_sound_looks_as_it_did() {
    let (sums, read) = drill(false, None, 67, 400).told();
    insta::assert_snapshot!("first_drill_sums", sums);
    insta::assert_snapshot!("first_drill", read);
}
