//! The full screen and what happens on it: it draws pages, waits for keys and clicks, stops and comes back.

use super::events::{Events, OuterEvent, stop_process};
use super::listening::MicrophoneNews;
use super::{variable, writes_ascii};
use crate::screens::draw::{self, Click, ClickTarget};
use crate::screens::help;
use crate::screens::page::Page;
use crate::screens::screen::{self, Frame, Screen};
use crate::screens::screen_settings::ScreenSettings;
use crate::screens::theme::{Depth, Theme};
use anyhow::Context;
use chrono::{DateTime, Utc};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use std::io;
use std::time::Duration;

/// What happened to the page on the screen.
#[derive(Clone, Debug, PartialEq)]
pub enum Pressed {
    /// A key, or a click on what stands for one.
    Key {
        /// Which.
        key: KeyEvent,
        /// When it was read.
        at: DateTime<Utc>,
    },
    /// A click on this row of the list.
    Row(usize),
    /// The microphone has something to say.
    Microphone(MicrophoneNews),
    /// The program is to be stopped for a while, see [`FullScreen::stop`].
    Stop,
    /// The program goes on after a stop.
    Resumed,
    /// Nothing within the patience, or something that is done already.
    Nothing,
    /// The program is to end.
    End,
}

/// What a key is to any page: those pressed with Ctrl are the same on all. `None` redraws everything.
fn meant(key: KeyEvent, at: DateTime<Utc>) -> Option<Pressed> {
    let control = key.modifiers.contains(KeyModifiers::CONTROL);
    match key.code {
        KeyCode::Char('c') if control => Some(Pressed::End),
        KeyCode::Char('z') if control => Some(Pressed::Stop),
        KeyCode::Char('l') if control => None,
        _ if control || key.modifiers.contains(KeyModifiers::ALT) => Some(Pressed::Nothing),
        _ => Some(Pressed::Key { key, at }),
    }
}

/// The full screen with what happens on it.
pub struct FullScreen<'a> {
    screen: Screen,
    events: &'a Events,
    theme: Theme,
    targets: Vec<ClickTarget>,
    /// Columns and lines of the last picture.
    pub size: (u16, u16),
}

impl<'a> FullScreen<'a> {
    /// Takes the terminal over.
    ///
    /// # Errors
    /// Where it cannot be drawn on.
    pub fn open(events: &'a Events, settings: &ScreenSettings) -> anyhow::Result<FullScreen<'a>> {
        screen::restore_on_panic();
        Ok(FullScreen {
            screen: Screen::open(settings.mouse, writes_ascii())
                .context("the terminal cannot be drawn on")?,
            events,
            theme: settings.theme(Depth::from_environment(variable)),
            targets: Vec::new(),
            size: (0, 0),
        })
    }

    /// Draws a page.
    ///
    /// # Errors
    /// Where the terminal cannot be drawn on.
    pub fn show(&mut self, page: &Page) -> io::Result<()> {
        self.draw(|theme, frame| draw::page(page, theme, frame.area(), frame.buffer_mut()))
    }

    /// Draws a picture that says what of it can be clicked.
    ///
    /// # Errors
    /// Where the terminal cannot be drawn on.
    pub fn draw(
        &mut self,
        picture: impl FnOnce(Theme, &mut Frame) -> Vec<ClickTarget>,
    ) -> io::Result<()> {
        let (targets, size, theme) = (&mut self.targets, &mut self.size, self.theme);
        self.screen.draw(|frame| {
            *size = (frame.area().width, frame.area().height);
            *targets = picture(theme, frame);
        })
    }

    /// Waits for what the player does, for good where there is no `patience`. A stop and what the microphone says are nothing
    /// to most pages.
    ///
    /// # Errors
    /// Where the terminal cannot be drawn on.
    pub fn next(&mut self, patience: Option<Duration>) -> io::Result<Pressed> {
        Ok(match self.event(patience)? {
            Pressed::Stop => self.stop().map(|()| Pressed::Nothing)?,
            Pressed::Resumed | Pressed::Microphone(_) => Pressed::Nothing,
            other => other,
        })
    }

    /// Waits in the same way, and tells all that happens.
    ///
    /// # Errors
    /// Where the terminal cannot be drawn on.
    pub fn event(&mut self, patience: Option<Duration>) -> io::Result<Pressed> {
        Ok(match self.events.next(patience) {
            Some(OuterEvent::Key { key, at }) => self.key(key, at)?,
            Some(OuterEvent::Click { at, when }) => match draw::clicked(&self.targets, at) {
                Some(Click::Key(code)) => self.key(code.into(), when)?,
                Some(Click::Row(row)) => Pressed::Row(row),
                None => Pressed::Nothing,
            },
            Some(OuterEvent::Microphone(news)) => Pressed::Microphone(news),
            Some(OuterEvent::End) => Pressed::End,
            Some(OuterEvent::Suspend) => Pressed::Stop,
            Some(OuterEvent::Resume) => self.screen.reopen().map(|()| Pressed::Resumed)?,
            Some(OuterEvent::Resized) | None => Pressed::Nothing,
        })
    }

    fn key(&mut self, key: KeyEvent, at: DateTime<Utc>) -> io::Result<Pressed> {
        match meant(key, at) {
            Some(pressed) => Ok(pressed),
            None => self.screen.repaint().map(|()| Pressed::Nothing),
        }
    }

    /// Shows the keys of a page and the words of all, until the next key.
    ///
    /// # Errors
    /// Where the terminal cannot be drawn on.
    pub fn help(&mut self, keys: &[(&str, &str)]) -> anyhow::Result<()> {
        loop {
            self.show(&help::page(keys))?;
            if self.next(None)? != Pressed::Nothing {
                return Ok(());
            }
        }
    }

    /// Takes over what the player has set of the screen.
    ///
    /// # Errors
    /// Where the terminal cannot be drawn on.
    pub fn set(&mut self, settings: &ScreenSettings) -> io::Result<()> {
        self.theme = settings.theme(Depth::from_environment(variable));
        self.screen.listen_to_mouse(settings.mouse)
    }

    /// Gives the terminal to something else that draws on it, and takes it again.
    ///
    /// # Errors
    /// Where the terminal cannot be drawn on.
    pub fn lend<T>(&mut self, to: impl FnOnce() -> T) -> io::Result<T> {
        self.screen.close();
        let done = to();
        self.screen.reopen()?;
        Ok(done)
    }

    /// Gives the terminal back, stops, and takes it again when the player comes back.
    ///
    /// # Errors
    /// Where the terminal cannot be drawn on.
    pub fn stop(&mut self) -> io::Result<()> {
        self.lend(stop_process)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_that_are_held_with_others_are_the_same_on_all_pages() {
        let at = DateTime::UNIX_EPOCH;
        let held = |letter, with| meant(KeyEvent::new(KeyCode::Char(letter), with), at);
        assert_eq!(held('c', KeyModifiers::CONTROL), Some(Pressed::End));
        assert_eq!(held('z', KeyModifiers::CONTROL), Some(Pressed::Stop));
        assert_eq!(held('l', KeyModifiers::CONTROL), None);
        assert_eq!(held('h', KeyModifiers::CONTROL), Some(Pressed::Nothing));
        assert_eq!(held('h', KeyModifiers::ALT), Some(Pressed::Nothing));
        let key = KeyCode::Char('c').into();
        assert_eq!(
            held('c', KeyModifiers::NONE),
            Some(Pressed::Key { key, at })
        );
    }
}
