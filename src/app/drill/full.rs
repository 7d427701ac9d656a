//! The drill on the full screen: its event loop.

use super::farewell::Farewell;
use super::session_host::SessionHost;
use crate::app::events::Events;
use crate::app::full_screen::{FullScreen, Pressed};
use crate::app::quiet::Quiet;
use crate::app::{Clock, Folder, clock};
use crate::screens::draw;
use crate::screens::keys::{Meaning, meaning};
use crate::screens::screen_settings::ScreenSettings;
use crate::screens::stages;
use crate::session::{Event, Session, Stage};
use crate::time::{Moment, Seconds};
use anyhow::Context;
use std::collections::VecDeque;
use std::io::Write;
use std::time::Duration;

/// How often the page is drawn when nothing happens: the time that is left goes by.
const TICK: Duration = Duration::from_secs(1);
/// The same while it is looked whether the log is sound.
const CHECK: Duration = Duration::from_millis(50);
/// How long the loop may wait beyond its patience. Longer, and the machine slept, the program was stopped, or
/// the clock was set. What the program itself takes for a page does not count: a slow machine loses no keys.
const SLACK: Seconds = Seconds::new(2.0);

/// The drill on the full screen.
///
/// # Errors
/// Where the terminal cannot be drawn on.
pub fn run(
    session: Session,
    host: SessionHost,
    folder: &Folder,
    clock: Clock,
    settings: ScreenSettings,
    events: &Events,
    out: &mut dyn Write,
) -> anyhow::Result<Farewell> {
    // Without the file the picture may be torn by messages, but the drill can go on.
    let quiet = Quiet::into(&folder.log_file()).ok();
    let remarks = host.library.remarks.clone();
    let mut app = TerminalApp {
        session,
        host,
        remarks: remarks.clone().into(),
        clock,
        still: !settings.motion,
        screen: FullScreen::open(events, &settings)?,
        goes_on: false,
    };
    app.host.start(&mut app.session);
    let mut turned = clock.moment();
    while !app.session.finished() {
        if let Err(damage) = app.host.record.store().sound_so_far() {
            if app.session.unsaved().next().is_none() {
                return Err(damage.into());
            }
            // Nothing can be saved; what was answered is kept elsewhere.
            app.leave();
            break;
        }
        app.host.listen(&mut app.session);
        app.draw().context("the terminal cannot be drawn on")?;
        app.pause_where_nothing_shows();
        let patience = app.patience();
        let since = clock.moment();
        let event = app.screen.event(Some(patience))?;
        // From turn to turn: it may have been set while the program worked.
        let now = clock.moment();
        if app
            .host
            .clock_jumped(now - std::mem::replace(&mut turned, now))
        {
            app.leave();
        } else {
            app.turn(event, now - since, patience)?;
        }
    }
    let farewell = app.host.farewell(&app.session);
    drop(app);
    drop(quiet);
    // In the picture there may not have been room for all of it.
    for remark in remarks {
        writeln!(out, "Note: {remark}")?;
    }
    Ok(farewell)
}

struct TerminalApp<'a> {
    session: Session,
    host: SessionHost,
    /// What the player should know about their own decks, one at a time.
    remarks: VecDeque<String>,
    clock: Clock,
    still: bool,
    screen: FullScreen<'a>,
    /// The player had the program stopped and has come back; the signal that tells so is still to come.
    goes_on: bool,
}

impl TerminalApp<'_> {
    fn draw(&mut self) -> std::io::Result<()> {
        let mut audio = self.host.audio(&self.session);
        if self.still {
            audio.playhead = None;
        }
        let mut page = stages::page(&self.session, audio, self.clock.moment());
        if page.notice.is_none() {
            let trouble = self.host.trouble.as_ref();
            page.notice = trouble.or(self.remarks.front()).cloned();
        }
        self.screen.show(&page)
    }

    /// In a window too small for the page nobody can answer: the clock stands still.
    fn pause_where_nothing_shows(&mut self) {
        let playing = matches!(
            self.session.stage(),
            Stage::Asking(_) | Stage::Introduction(_) | Stage::Feedback(_)
        );
        if playing && !draw::is_large_enough(self.screen.size) {
            self.host.tell(&mut self.session, Event::Pause);
        }
    }

    /// How long the picture stays true by itself.
    fn patience(&self) -> Duration {
        let longest = match self.host.record.store().is_checking() {
            true => CHECK,
            false => TICK,
        };
        let sound = self.host.sound.as_ref();
        sound.map_or(longest, |sound| sound.patience(self.still).min(longest))
    }

    /// One turn of the loop: what happened while it waited for this long, or nothing within `patience`.
    fn turn(&mut self, event: Pressed, gone: Seconds, patience: Duration) -> anyhow::Result<()> {
        let unasked = event == Pressed::Resumed && !std::mem::take(&mut self.goes_on);
        let longest = Seconds::of(patience) + SLACK;
        if unasked || !(-SLACK..=longest).contains(&gone) {
            self.host.tell(&mut self.session, Event::Away(gone));
            // A key was meant for the page that was there before.
            if matches!(event, Pressed::Key { .. }) {
                return Ok(());
            }
        }
        match event {
            Pressed::Key { key, at } => {
                let at = clock::moment(at);
                // The microphone may hear it as well.
                self.host.keyed = at;
                self.take(meaning(&self.session, key, self.host.keys), at);
            }
            Pressed::Microphone(news) => {
                if let Some(said) = self.host.microphone(&mut self.session, news) {
                    self.remarks.push_front(said);
                }
            }
            Pressed::Row(_) | Pressed::Resumed => {}
            Pressed::Nothing => self.host.tell(&mut self.session, Event::Tick),
            Pressed::Stop => self.suspend()?,
            Pressed::End => self.leave(),
        }
        Ok(())
    }

    /// Does what a key means that was pressed at `at`.
    fn take(&mut self, meaning: Meaning, at: Moment) {
        match meaning {
            Meaning::Session(event) => {
                let goes_on = matches!(event, Event::Begin | Event::Next);
                if goes_on && self.session.notice().is_none() {
                    self.remarks.pop_front();
                }
                self.host.tell_at(&mut self.session, event, at);
            }
            Meaning::Volume(steps) => self.host.turn(steps),
            Meaning::Nothing => {}
        }
    }

    /// Ends the session from wherever it is. What could not be saved is tried once more on the way.
    fn leave(&mut self) {
        while !self.session.finished() {
            self.host.tell(&mut self.session, Event::Quit);
        }
    }

    /// Gives the terminal back, stops, and goes on where it was when the player comes back.
    fn suspend(&mut self) -> anyhow::Result<()> {
        let before = self.clock.moment();
        if let Some(sound) = &mut self.host.sound {
            sound.hush();
        }
        self.screen.stop()?;
        self.goes_on = true;
        let away = Event::Away(self.clock.moment() - before);
        self.host.tell(&mut self.session, away);
        Ok(())
    }
}
