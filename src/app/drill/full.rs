use super::backstage::{Backstage, Farewell};
use crate::app::events::{Event as Outer, Events, stop_process};
use crate::app::quiet::Quiet;
use crate::app::{Clock, Folder};
use crate::screens::draw;
use crate::screens::keys::{Meaning, meaning};
use crate::screens::screen::{self, Screen};
use crate::screens::stages;
use crate::screens::theme::{Depth, Theme};
use crate::session::{Event, Session};
use anyhow::Context;
use chrono::{DateTime, Utc};
use std::time::Duration;

/// The drill on the full screen.
///
/// # Errors
/// Where the terminal cannot be drawn on.
pub fn run(
    session: Session,
    backstage: Backstage,
    folder: &Folder,
    clock: Clock,
    still: bool,
    events: Events,
) -> anyhow::Result<Farewell> {
    screen::restore_on_panic();
    // Without the file the picture may be torn by messages, which is no reason not to play.
    let _quiet = Quiet::into(&folder.log_file()).ok();
    let mut face = Face {
        session,
        backstage,
        clock,
        still,
        theme: Theme::new(Depth::from_environment(|name| std::env::var(name).ok())),
        screen: Screen::open().context("the terminal cannot be drawn on")?,
    };
    face.backstage.start(&mut face.session);
    while !face.session.finished() {
        face.backstage.listen(&mut face.session);
        face.draw().context("the terminal cannot be drawn on")?;
        if let Some(event) = events.next(face.patience()) {
            face.take(event)?;
        }
    }
    Ok(face.backstage.farewell(&face.session))
}

struct Face {
    session: Session,
    backstage: Backstage,
    clock: Clock,
    still: bool,
    theme: Theme,
    screen: Screen,
}

impl Face {
    fn draw(&mut self) -> std::io::Result<()> {
        let mut outside = self.backstage.outside(&self.session);
        if self.still {
            outside.playhead = None;
        }
        let mut page = stages::page(&self.session, outside, self.clock.seconds());
        if page.notice.is_none() {
            page.notice.clone_from(&self.backstage.trouble);
        }
        let theme = self.theme;
        self.screen
            .draw(|frame| draw::page(&page, theme, frame.area(), frame.buffer_mut()))
    }

    /// How long the picture stays true by itself; `None` where nothing on it moves and no sound is to be looked
    /// after.
    fn patience(&self) -> Option<Duration> {
        let sound = self.backstage.sound.as_ref();
        sound.map(|sound| sound.patience(self.still))
    }

    fn take(&mut self, event: Outer) -> anyhow::Result<()> {
        match event {
            Outer::Key { key, at } => match meaning(&self.session, key) {
                Meaning::Session(event) => self.tell_at(event, at),
                Meaning::Volume(steps) => self.backstage.turn(steps),
                Meaning::Nothing => {}
                Meaning::Suspend => self.suspend()?,
                Meaning::Leave => self.leave(),
            },
            Outer::Resized => {}
            Outer::End => self.leave(),
            Outer::Suspend => self.suspend()?,
            Outer::Resume => self.screen.reopen()?,
        }
        Ok(())
    }

    fn tell_at(&mut self, event: Event, at: DateTime<Utc>) {
        let at = at.timestamp_micros() as f64 / 1e6;
        self.backstage.tell_at(&mut self.session, event, at);
    }

    /// Ends the session from wherever it is. What could not be saved is tried once more on the way.
    fn leave(&mut self) {
        while !self.session.finished() {
            self.backstage.tell(&mut self.session, Event::Quit);
        }
    }

    /// Gives the terminal back, stops, and goes on where it was when the player comes back.
    fn suspend(&mut self) -> anyhow::Result<()> {
        let before = self.clock.seconds();
        if let Some(sound) = &mut self.backstage.sound {
            sound.hush();
        }
        self.screen.close();
        stop_process();
        self.screen.reopen()?;
        let away = self.clock.seconds() - before;
        self.backstage.tell(&mut self.session, Event::Away(away));
        Ok(())
    }
}
