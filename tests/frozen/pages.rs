//! Frozen: what stands on the screen, key by key: a drill with and without sound, the practice room, and the pages around.

use crate::{TextSums, chance, rounded};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use std::collections::BTreeSet;
use std::fmt::Write;
use whichside::deck::{Card, Deck, shipped};
use whichside::memory::Hold;
use whichside::question::tempo::Past;
use whichside::question::{self, Answer, Form, Thread};
use whichside::screens::cards::{CardEntry, CardList};
use whichside::screens::keys::{Meaning, meaning};
use whichside::screens::page::Page;
use whichside::screens::playback::Playback;
use whichside::screens::screen_settings::{ExtraKeys, ScreenSettings};
use whichside::screens::settings::SettingsPage;
use whichside::screens::stages::{self, AudioStatus};
use whichside::screens::start::{self, Overview, ThreadProgress};
use whichside::screens::theme::{Depth, Theme};
use whichside::screens::{card, draw, lines};
use whichside::session::{Effect, Event, Profile, Session, Stage, Start, Step, Tomorrow};
use whichside::taps::Tap;

/// 2026-11-25 18:00 UTC, in seconds since 1970.
const EVENING: f64 = 1_795_629_600.0;
const SIZES: [(u16, u16, Depth); 3] = [
    (80, 24, Depth::Full),
    (50, 18, Depth::None),
    (120, 40, Depth::TwoHundredFiftySix),
];

/// The letters on the screen; then styles and places to click of the whole, as they are written for debugging.
fn drawn(page: &Page, (width, height, depth): (u16, u16, Depth)) -> (String, String) {
    let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
    let clicks = draw::page(page, Theme::new(depth), buffer.area, &mut buffer);
    let mut text = String::new();
    for row in buffer.content().chunks(usize::from(width)) {
        let row: String = row.iter().map(|cell| cell.symbol()).collect();
        text += row.trim_end();
        text.push('\n');
    }
    (text, format!("{buffer:?} {clicks:?}"))
}

/// Pages by their sums, and some of them to be read.
#[derive(Default)]
struct Pages {
    sums: TextSums,
    read: String,
    count: usize,
}

impl Pages {
    /// One page in each size; each `every`th is kept to be read.
    fn add(&mut self, about: &str, page: &Page, every: usize) {
        let size = SIZES[self.count % SIZES.len()];
        let (text, whole) = drawn(page, size);
        self.sums.add(about, &text);
        self.sums.add(about, &whole);
        self.sums
            .add(format!("{about}, in lines"), &lines::page(page));
        if self.count.is_multiple_of(every) {
            writeln!(self.read, "{about} {}\n{text}", self.count).unwrap();
        }
        self.count += 1;
    }

    fn told(self) -> (String, String) {
        (self.sums.told(), self.read)
    }
}

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
                seconds: 12.0,
                last: (n % 3 == 1).then(|| Past::after(None, 120.0, n % 2 == 0, n % 4 == 1)),
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
        for effect in self.session.update(event, self.now) {
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
        let Some(question) = asked else {
            return self.press(KeyCode::Enter);
        };
        match (&question.form, question.form.right().remove(0)) {
            (Form::Taps { task, .. }, Answer::Taps(taps)) => {
                let pulse = task.pulse_seconds();
                let taps = taps.iter().filter(|_| chance(&mut self.state, 9) > 0);
                let taps: Vec<Tap> = taps.copied().collect();
                let late = [0.02, 0.04 * pulse, pulse][self.now as usize % 3];
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
        let page = stages::page(&evening.session, audio, evening.now);
        let about = match evening.session.stage() {
            Stage::Welcome(_) => "welcome".into(),
            Stage::Waiting => "waiting".into(),
            Stage::Introduction(_) => "shown".into(),
            Stage::Asking(asking) => format!("asked, {}", asking.question.item.kind),
            Stage::Feedback(told) => format!("told, {}", told.question.item.kind),
            Stage::Paused(_) => "paused".into(),
            Stage::Done(_) => "done".into(),
        };
        pages.add(&about, &page, 29);
        if matches!(evening.session.stage(), Stage::Done(_)) {
            break;
        }
        match n % 151 {
            60 => evening.tell(Event::Away(700.0)),
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
    let page = stages::page(&evening.session, AudioStatus::default(), evening.now);
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

/// Cards of different sorts: one with a place in a phrase, two bars, six, a clave, the band alone.
fn played_cards() -> Vec<Card> {
    let decks = shipped();
    let mut cards: Vec<Card> = Vec::new();
    for id in [
        "tumbao/one-bar",
        "clave/son-2-3",
        "six-eight/rumba-3-2",
        "parts/cascara-rumba",
    ] {
        cards.extend(question::card(&decks, id).cloned());
    }
    let all = || decks.iter().flat_map(|deck| &deck.cards);
    cards.extend(all().find(|card| card.place.is_some()).cloned());
    cards.extend(
        all()
            .find(|c| c.place.is_some() && c.score.bars() == 2)
            .cloned(),
    );
    cards
}

#[test]
fn the_practice_room_changes_as_it_did() {
    let mut pages = Pages::default();
    let keys = "1234567-+=pbpbbpppbeekkllllmmmmmmmmmccccgggg?ttlmcg?0z9 fj--- ";
    for card in played_cards() {
        let mut playback = Playback::new(&card);
        playback.listens = card.id.len() % 2 == 0;
        for (n, letter) in keys.chars().enumerate() {
            let ask = playback.key(KeyEvent::new(KeyCode::Char(letter), KeyModifiers::NONE));
            playback.playing = n % 5 > 0;
            let moved = match n % 6 {
                2 => playback.go_on(n / 3),
                4 => playback.look_ahead(n * 3),
                _ => false,
            };
            if n % 3 == 0 {
                playback.tap(n as f64 / 2.0 + 0.1, None);
                playback.heard(n as f64);
            }
            if n % 17 == 0 {
                playback.forget_taps();
            }
            let score = playback.score();
            let take = playback.take(playback.rounds());
            let heard = format!(
                "{letter} {ask:?} {moved} {} {:?} {:?} {}\n{take:?}",
                playback.has_plan(),
                playback.entry(8),
                playback.next_cycle(),
                playback.bpm()
            );
            pages
                .sums
                .add(format!("{}, sound", card.id), &rounded(&heard));
            let audio = AudioStatus {
                playhead: Some(n % 5),
                volume: Some(60),
                ..AudioStatus::default()
            };
            pages.add(&card.id, &playback.page(&score, audio), 31);
        }
        playback.begin();
        let set = [
            format!("{:?}", playback.set_metronome("2,4".parse().unwrap())),
            format!("{:?}", playback.set_loop_bar(3)),
            format!("{:?}", playback.set_loop_bar(99)),
        ];
        playback.set_trainer(250.0, 7);
        playback.set_clave_gap(2);
        let cycles: Vec<(bool, f64)> = (0..12)
            .map(|cycle| (playback.go_on(cycle), playback.bpm()))
            .collect();
        let told = format!("{set:?} {cycles:?}");
        pages.sums.add(format!("{}, set", card.id), &rounded(&told));
    }
    let (sums, read) = pages.told();
    insta::assert_snapshot!("practice_room_sums", sums);
    insta::assert_snapshot!("practice_room", read);
}

#[test]
fn the_list_of_cards_goes_as_it_did() {
    let decks = shipped();
    let entries = decks.iter().flat_map(|deck| {
        deck.cards.iter().enumerate().map(|(n, card)| CardEntry {
            id: card.id.clone(),
            title: card.title.clone(),
            deck: deck.title.clone(),
            words: format!("{} {}", card.about, card.concepts.join(" ")),
            lesson: n % 7 == 2,
            met: n % 3 == 1,
            held: n % 6 == 1,
        })
    });
    let entries: Vec<CardEntry> = entries.collect();
    let mut pages = Pages::default();
    for only_lesson in [false, true] {
        let mut list = CardList::new(entries.clone(), only_lesson);
        let keys = [
            KeyCode::Down,
            KeyCode::PageDown,
            KeyCode::Tab,
            KeyCode::Right,
            KeyCode::Up,
            KeyCode::Left,
            KeyCode::BackTab,
            KeyCode::PageDown,
            KeyCode::PageUp,
            KeyCode::End,
            KeyCode::Home,
            KeyCode::Char('l'),
            KeyCode::Char('?'),
            KeyCode::Char('/'),
            KeyCode::Char('b'),
            KeyCode::Char('o'),
            KeyCode::Char('m'),
            KeyCode::Backspace,
            KeyCode::Enter,
            KeyCode::Down,
            KeyCode::Enter,
            KeyCode::Char('/'),
            KeyCode::Char('z'),
            KeyCode::Char('z'),
            KeyCode::Esc,
            KeyCode::Esc,
        ];
        for key in keys {
            let action = list.key(KeyEvent::new(key, KeyModifiers::NONE));
            let chosen = list.chosen().map(|entry| (&entry.id, entry.state()));
            let told = format!("{key:?} {action:?} {chosen:?} {}", list.listed().len());
            pages.sums.add("keys", &told);
            pages.add("cards", &list.page(), 9);
        }
        for row in [0, 1, 5, 5, 30] {
            pages.sums.add("clicks", &format!("{:?}", list.click(row)));
            pages.add("cards", &list.page(), 9);
        }
    }
    let (sums, read) = pages.told();
    insta::assert_snapshot!("card_list_sums", sums);
    insta::assert_snapshot!("card_list", read);
}

#[test]
fn the_pages_around_the_drill_look_as_they_did() {
    let mut pages = Pages::default();
    let mut settings = SettingsPage::new(Profile::default(), ScreenSettings::default());
    let mut state = 8_765_432_123;
    for n in 0..120 {
        let key = match chance(&mut state, 9) {
            0 | 1 => KeyCode::Down,
            2 => KeyCode::Up,
            3 | 4 => KeyCode::Right,
            5 => KeyCode::Left,
            6 => KeyCode::Enter,
            7 => KeyCode::Char(['k', 'q', 'o', 'v', 'x'][n % 5]),
            _ => KeyCode::Char('?'),
        };
        let action = settings.key(KeyEvent::new(key, KeyModifiers::NONE));
        let told = format!(
            "{key:?} {action:?} {:?} {:?}",
            settings.profile, settings.screen
        );
        pages.sums.add("settings, keys", &told);
        pages.add("settings", &settings.page(), 23);
    }
    for row in 0..12 {
        let action = settings.click(row);
        pages
            .sums
            .add("settings, clicks", &format!("{action:?} {settings:?}"));
    }
    for (again, new) in [(0, 0), (1, 1), (12, 3)] {
        let titles = ["Son clave", "A bell that goes on", "Room before the opens"];
        let overview = Overview {
            minutes: 5.0,
            again,
            sounded_out: again == 1,
            new: titles[..new].iter().map(|t| t.to_string()).collect(),
            fading: titles[..new].iter().rev().map(|t| t.to_string()).collect(),
            lesson: (again, new),
            not_held: titles[..new].iter().map(|t| t.to_string()).collect(),
            threads: Thread::ALL
                .into_iter()
                .map(|thread| ThreadProgress {
                    thread,
                    cards: 20,
                    met: again,
                    held: new,
                })
                .collect(),
            weak: (again > 1).then(|| "rumba clave, by ear".into()),
        };
        for _ in SIZES {
            pages.add("start", &start::page(&overview), 4);
        }
    }
    for (n, shown) in played_cards().iter().enumerate() {
        let hold = Hold {
            held: n == 1,
            chance: (n > 0).then_some(0.4 + n as f64 / 10.0),
            answers: n as u32,
        };
        let audio = AudioStatus {
            playhead: (n > 2).then_some(n),
            volume: (n % 2 == 0).then_some(50),
            ..AudioStatus::default()
        };
        for lesson in [true, false] {
            let page = card::page(shown, 120.0 + n as f64, lesson, hold, None, audio);
            pages.add("card", &page, 5);
        }
    }
    let (sums, read) = pages.told();
    insta::assert_snapshot!("pages_around_sums", sums);
    insta::assert_snapshot!("pages_around", read);
}
