//! Pages of a drill as its full screen draws them, from keys that a player presses, at moments that are given.

use crate::svg::Screen;
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use whichside::deck::shipped;
use whichside::question;
use whichside::screens::keys::{Meaning, meaning};
use whichside::screens::screen_settings::ExtraKeys;
use whichside::screens::stages::{AudioStatus, page};
use whichside::screens::theme::{Depth, Theme};
use whichside::screens::{draw, lines};
use whichside::session::{Effect, Event, Profile, Session, Start, Step};
use whichside::time::{Moment, Seconds};

/// 2026-11-25 18:00 UTC, in seconds since 1970.
const EVENING: f64 = 1_795_629_600.0;
/// The window, columns and lines.
const WINDOW: (u16, u16) = (80, 24);

/// A silent drill on items of the shipped decks, whose cards were met before.
pub struct Drill {
    session: Session,
    now: f64,
}

impl Drill {
    /// A drill that asks for these items, `deck/card:kind:sense` each with the reason why it comes.
    pub fn on(items: &[(&str, &str)], seed: u64) -> Drill {
        let decks = shipped();
        let known = question::items(&decks);
        let step = |(name, why): &(&str, &str)| Step {
            item: known
                .iter()
                .find(|item| item.key.to_string() == *name)
                .unwrap_or_else(|| panic!("no item is called {name}"))
                .key
                .clone(),
            why: why.to_string(),
            seconds: Seconds::new(10.0),
            last: None,
        };
        let steps: Vec<Step> = items.iter().map(step).collect();
        let session = Session::new(Start {
            decks: decks.into(),
            met: steps.iter().map(|step| step.item.card.clone()).collect(),
            profile: Some(Profile::default()),
            minutes: None,
            sound: false,
            seed,
        });
        let now = EVENING;
        let mut drill = Drill { session, now };
        drill.tell(Event::Begin);
        drill.tell(Event::Planned(steps));
        drill
    }

    fn tell(&mut self, event: Event) {
        for effect in self.session.update(event, Moment::new(self.now)) {
            if let Effect::Record { ticket, .. } = effect {
                self.tell(Event::Saved(ticket));
            }
        }
    }

    /// Lets seconds pass.
    pub fn wait(&mut self, seconds: f64) {
        self.now += seconds;
    }

    /// Presses a key.
    pub fn press(&mut self, code: KeyCode) {
        let key = KeyEvent::new(code, KeyModifiers::NONE);
        match meaning(&self.session, key, ExtraKeys::default()) {
            Meaning::Session(event) => self.tell(event),
            other => panic!("{code:?} means {other:?}"),
        }
    }

    /// Types letters.
    pub fn type_in(&mut self, letters: &str) {
        letters.chars().for_each(|c| self.press(KeyCode::Char(c)));
    }

    /// What is on the screen.
    pub fn screen(&self) -> Screen {
        let mut buffer = Buffer::empty(Rect::new(0, 0, WINDOW.0, WINDOW.1));
        let page = page(&self.session, AudioStatus::default(), Moment::new(self.now));
        draw::page(&page, Theme::new(Depth::Full), buffer.area, &mut buffer);
        Screen::of_buffer(&buffer)
    }

    /// The same in words, as they are read aloud.
    pub fn words(&self) -> String {
        lines::page(&page(
            &self.session,
            AudioStatus::default(),
            Moment::new(self.now),
        ))
    }
}
