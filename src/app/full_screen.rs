//! The full screen and what happens on it: it draws pages, waits for keys and clicks, stops and comes back.

use super::events::{Events, OuterEvent, stop_process};
use super::{variable, writes_ascii};
use crate::screens::draw::{self, Click, ClickTarget};
use crate::screens::help;
use crate::screens::page::Page;
use crate::screens::screen::{self, Frame, Screen};
use crate::screens::screen_settings::ScreenSettings;
use crate::screens::theme::{Depth, Theme};
use anyhow::Context;
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use std::io;
use std::time::Duration;

/// What the player did.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pressed {
    /// A key, or a click on what stands for one.
    Key(KeyEvent),
    /// A click on this row of the list.
    Row(usize),
    /// Nothing within the patience, or something that is done already.
    Nothing,
    /// The program is to end.
    End,
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

    /// Waits for what the player does, for good where there is no `patience`.
    ///
    /// # Errors
    /// Where the terminal cannot be drawn on.
    pub fn next(&mut self, patience: Option<Duration>) -> io::Result<Pressed> {
        let key = match self.events.next(patience) {
            Some(OuterEvent::Key { key, .. }) => key,
            Some(OuterEvent::Click { at, .. }) => match draw::clicked(&self.targets, at) {
                Some(Click::Key(code)) => code.into(),
                Some(Click::Row(row)) => return Ok(Pressed::Row(row)),
                None => return Ok(Pressed::Nothing),
            },
            Some(OuterEvent::End) => return Ok(Pressed::End),
            Some(OuterEvent::Suspend) => return self.stop(),
            Some(OuterEvent::Resume) => {
                self.screen.reopen()?;
                return Ok(Pressed::Nothing);
            }
            Some(OuterEvent::Resized | OuterEvent::Microphone(_)) | None => {
                return Ok(Pressed::Nothing);
            }
        };
        if key.modifiers.contains(KeyModifiers::CONTROL) {
            return match key.code {
                KeyCode::Char('c') => Ok(Pressed::End),
                KeyCode::Char('z') => self.stop(),
                KeyCode::Char('l') => self.screen.repaint().map(|()| Pressed::Nothing),
                _ => Ok(Pressed::Nothing),
            };
        }
        Ok(match key.modifiers.contains(KeyModifiers::ALT) {
            true => Pressed::Nothing,
            false => Pressed::Key(key),
        })
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
    fn stop(&mut self) -> io::Result<Pressed> {
        self.lend(stop_process).map(|()| Pressed::Nothing)
    }
}
