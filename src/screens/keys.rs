//! What a key means at each stage of a session.

use super::stages::welcome;
use crate::session::{Event, Session, Stage};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

/// What a key means at this moment.
#[derive(Clone, Debug, PartialEq)]
pub enum Meaning {
    /// Something for the session.
    Session(Event),
    /// Make the sound louder (positive) or softer, in steps.
    Volume(i8),
    /// Stop the program for a while, as the terminal's stop key does.
    Suspend,
    /// Leave at once; what was answered stays.
    Leave,
    /// Nothing.
    Nothing,
}

/// What `key` means for `session`. The letters are answers; everything else has a key that is no letter.
pub fn meaning(session: &Session, key: KeyEvent) -> Meaning {
    if key.modifiers.contains(KeyModifiers::CONTROL) {
        return match key.code {
            KeyCode::Char('c') => Meaning::Leave,
            KeyCode::Char('z') => Meaning::Suspend,
            _ => Meaning::Nothing,
        };
    }
    if key.modifiers.contains(KeyModifiers::ALT) {
        return Meaning::Nothing;
    }
    match key.code {
        KeyCode::Up => Meaning::Volume(1),
        KeyCode::Down => Meaning::Volume(-1),
        KeyCode::Esc => Meaning::Session(Event::Quit),
        KeyCode::Backspace => Meaning::Session(Event::Erase),
        KeyCode::Enter => Meaning::Session(match session.stage() {
            Stage::Welcome(_) => Event::Begin,
            _ => Event::Next,
        }),
        KeyCode::Char(' ') => Meaning::Session(Event::HearAgain),
        KeyCode::Char('-') => Meaning::Session(Event::Slower),
        KeyCode::Char(letter) => match session.stage() {
            Stage::Welcome(profile) => match welcome::chosen(*profile, letter) {
                Some(profile) => Meaning::Session(Event::Choose(profile)),
                None => Meaning::Nothing,
            },
            _ => Meaning::Session(Event::Key(letter)),
        },
        _ => Meaning::Nothing,
    }
}
