//! Frozen: what stands on the screen, key by key: the practice room, and the pages around a drill.

use crate::{TextSums, chance, rounded};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use std::fmt::Write;
use whichside::deck::{Card, shipped};
use whichside::memory::Hold;
use whichside::question::{self, Thread};
use whichside::rhythm::Tempo;
use whichside::screens::cards::{CardEntry, CardList};
use whichside::screens::page::Page;
use whichside::screens::playback::Playback;
use whichside::screens::screen_settings::ScreenSettings;
use whichside::screens::settings::SettingsPage;
use whichside::screens::stages::AudioStatus;
use whichside::screens::start::{self, Overview, ThreadProgress};
use whichside::screens::theme::{Depth, Theme};
use whichside::screens::{card, draw, lines};
use whichside::session::Profile;

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
pub struct Pages {
    pub sums: TextSums,
    read: String,
    count: usize,
}

impl Pages {
    /// One page in each size; each `every`th is kept to be read.
    pub fn add(&mut self, about: &str, page: &Page, every: usize) {
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

    pub fn told(self) -> (String, String) {
        (self.sums.told(), self.read)
    }
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
    let odd = |card: &&Card| card.place.is_some_and(|place| place.bar % 2 == 0);
    cards.extend(all().find(odd).cloned());
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
                playback.tempo().bpm()
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
        playback.set_trainer(Tempo::new(250.0), 7);
        playback.set_clave_gap(2);
        let cycles: Vec<(bool, f64)> = (0..12)
            .map(|cycle| (playback.go_on(cycle), playback.tempo().bpm()))
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
            let page = card::page(
                shown,
                Tempo::new(120.0 + n as f64),
                lesson,
                hold,
                None,
                audio,
            );
            pages.add("card", &page, 5);
        }
    }
    let (sums, read) = pages.told();
    insta::assert_snapshot!("pages_around_sums", sums);
    insta::assert_snapshot!("pages_around", read);
}
