//! What a key means at each stage of a session.

use super::screen_settings::ExtraKeys;
use super::stages::welcome;
use crate::session::{Event, Session, Stage};
use crossterm::event::{KeyCode, KeyEvent};

/// What a key means at this moment.
#[derive(Clone, Debug, PartialEq)]
pub enum Meaning {
    /// Something for the session.
    Session(Event),
    /// Make the sound louder (positive) or softer, in steps.
    Volume(i8),
    /// Nothing.
    Nothing,
}

/// The key that plays what the player wrote, after the answer.
pub const OWN: char = 'y';

fn asks(session: &Session) -> bool {
    matches!(session.stage(), Stage::Asking(_))
}

fn shown(session: &Session) -> bool {
    matches!(session.stage(), Stage::Introduction(_))
}

fn told(session: &Session) -> bool {
    matches!(session.stage(), Stage::Feedback(_))
}

/// What `key` means for `session`. The letters are answers, but for the `extra` ones; everything else has a key that is not
/// a letter.
pub fn meaning(session: &Session, key: KeyEvent, extra: ExtraKeys) -> Meaning {
    let is =
        |code, letter: char| matches!(code, KeyCode::Char(c) if c.eq_ignore_ascii_case(&letter));
    match key.code {
        KeyCode::Left => Meaning::Session(Event::Move(-1)),
        KeyCode::Right => Meaning::Session(Event::Move(1)),
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
        KeyCode::Char('?') => Meaning::Session(Event::Pause),
        code if is(code, extra.unknown) && asks(session) => Meaning::Session(Event::Unknown),
        code if is(code, extra.ask_me) && shown(session) => Meaning::Session(Event::AskMe),
        code if is(code, OWN) && told(session) => Meaning::Session(Event::HearOwn),
        code if is(code, extra.take_back) && told(session) => Meaning::Session(Event::TakeBack),
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::question::Stands;
    use crate::session::{Profile, Start};

    fn session(profile: Option<Profile>) -> Session {
        Session::new(Start {
            decks: Vec::new().into(),
            met: Default::default(),
            profile,
            minutes: None,
            sound: true,
            seed: 1,
        })
    }

    #[test]
    fn each_key_means_what_the_screens_say() {
        let session = session(Some(Profile::default()));
        let of = |code| {
            let key = KeyEvent::from(code);
            meaning(&session, key, ExtraKeys::default())
        };
        assert_eq!(of(KeyCode::Up), Meaning::Volume(1));
        assert_eq!(of(KeyCode::Down), Meaning::Volume(-1));
        assert_eq!(of(KeyCode::Esc), Meaning::Session(Event::Quit));
        assert_eq!(of(KeyCode::Backspace), Meaning::Session(Event::Erase));
        assert_eq!(of(KeyCode::Enter), Meaning::Session(Event::Next));
        assert_eq!(of(KeyCode::Char(' ')), Meaning::Session(Event::HearAgain));
        assert_eq!(of(KeyCode::Char('-')), Meaning::Session(Event::Slower));
        assert_eq!(of(KeyCode::Char('?')), Meaning::Session(Event::Pause));
        assert_eq!(of(KeyCode::Char('h')), Meaning::Session(Event::Key('h')));
        assert_eq!(of(KeyCode::F(1)), Meaning::Nothing);
    }

    #[test]
    fn on_the_first_page_keys_choose_and_enter_begins() {
        let session = session(None);
        let of = |code| {
            let key = KeyEvent::from(code);
            meaning(&session, key, ExtraKeys::default())
        };
        assert_eq!(of(KeyCode::Enter), Meaning::Session(Event::Begin));
        let two = Profile {
            two_drums: true,
            ..Profile::default()
        };
        assert_eq!(of(KeyCode::Char('2')), Meaning::Session(Event::Choose(two)));
        for (key, stands) in [
            ('n', Stands::New),
            ('t', Stands::Tumbao),
            ('B', Stands::Bands),
        ] {
            let profile = Profile {
                stands,
                ..Profile::default()
            };
            let chosen = Meaning::Session(Event::Choose(profile));
            assert_eq!(of(KeyCode::Char(key)), chosen);
        }
        assert_eq!(of(KeyCode::Char('q')), Meaning::Nothing);
    }
}
