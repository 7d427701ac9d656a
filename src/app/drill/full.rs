//! The drill on the full screen: its event loop.

use super::farewell::Farewell;
use super::session_host::SessionHost;
use crate::app::events::{Events, OuterEvent as Outer, stop_process};
use crate::app::quiet::Quiet;
use crate::app::{Clock, Folder, clock, variable, writes_ascii};
use crate::screens::draw::{self, Click, ClickTarget};
use crate::screens::keys::{Meaning, meaning};
use crate::screens::screen::{self, Screen};
use crate::screens::screen_settings::ScreenSettings;
use crate::screens::stages;
use crate::screens::theme::{Depth, Theme};
use crate::session::{Event, Session, Stage};
use crate::time::Seconds;
use anyhow::Context;
use chrono::{DateTime, Utc};
use crossterm::event::KeyEvent;
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
    screen::restore_on_panic();
    // Without the file the picture may be torn by messages, but the drill can go on.
    let quiet = Quiet::into(&folder.log_file()).ok();
    let remarks = host.library.remarks.clone();
    let mut app = TerminalApp {
        session,
        host,
        remarks: remarks.clone().into(),
        clock,
        still: !settings.motion,
        theme: settings.theme(Depth::from_environment(variable)),
        screen: Screen::open(settings.mouse, writes_ascii())
            .context("the terminal cannot be drawn on")?,
        shown: true,
        targets: Vec::new(),
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
        let event = events.next(Some(patience));
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

struct TerminalApp {
    session: Session,
    host: SessionHost,
    /// What the player should know about their own decks, one at a time.
    remarks: VecDeque<String>,
    clock: Clock,
    still: bool,
    theme: Theme,
    screen: Screen,
    /// The page had room on the screen when it was drawn last.
    shown: bool,
    /// What of the page can be clicked.
    targets: Vec<ClickTarget>,
    /// The player had the program stopped and has come back; the signal that tells so is still to come.
    goes_on: bool,
}

impl TerminalApp {
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
        let (theme, shown, targets) = (self.theme, &mut self.shown, &mut self.targets);
        self.screen.draw(|frame| {
            *shown = draw::is_large_enough(frame.area());
            *targets = draw::page(&page, theme, frame.area(), frame.buffer_mut());
        })
    }

    /// In a window too small for the page nobody can answer: the clock stands still.
    fn pause_where_nothing_shows(&mut self) {
        let playing = matches!(
            self.session.stage(),
            Stage::Asking(_) | Stage::Introduction(_) | Stage::Feedback(_)
        );
        if playing && !self.shown {
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
    fn turn(
        &mut self,
        event: Option<Outer>,
        gone: Seconds,
        patience: Duration,
    ) -> anyhow::Result<()> {
        let unasked = event == Some(Outer::Resume) && !std::mem::take(&mut self.goes_on);
        let longest = Seconds::of(patience) + SLACK;
        if unasked || !(-SLACK..=longest).contains(&gone) {
            self.host.tell(&mut self.session, Event::Away(gone));
            // A key was meant for the page that was there before.
            if matches!(event, Some(Outer::Key { .. } | Outer::Click { .. })) {
                return Ok(());
            }
        }
        match event {
            Some(event) => self.take(event),
            None => {
                self.host.tell(&mut self.session, Event::Tick);
                Ok(())
            }
        }
    }

    fn take(&mut self, event: Outer) -> anyhow::Result<()> {
        match event {
            Outer::Microphone(news) => {
                if let Some(said) = self.host.microphone(&mut self.session, news) {
                    self.remarks.push_front(said);
                }
            }
            Outer::Key { key, at } => match self.meant(key, at) {
                Meaning::Session(event) => {
                    if matches!(event, Event::Begin | Event::Next)
                        && self.session.notice().is_none()
                    {
                        self.remarks.pop_front();
                    }
                    self.tell_at(event, at);
                }
                Meaning::Volume(steps) => self.host.turn(steps),
                Meaning::Nothing => {}
                Meaning::Suspend => self.suspend()?,
                Meaning::Repaint => self.screen.repaint()?,
                Meaning::Leave => self.leave(),
            },
            Outer::Click { at, when } => {
                if let Some(Click::Key(code)) = draw::clicked(&self.targets, at) {
                    return self.take(Outer::Key {
                        key: code.into(),
                        at: when,
                    });
                }
            }
            Outer::Resized => {}
            Outer::End => self.leave(),
            Outer::Suspend => self.suspend()?,
            Outer::Resume => self.screen.reopen()?,
        }
        Ok(())
    }

    /// What a key means now; the microphone may hear it as well.
    fn meant(&mut self, key: KeyEvent, at: DateTime<Utc>) -> Meaning {
        self.host.keyed = clock::moment(at);
        meaning(&self.session, key, self.host.keys)
    }

    fn tell_at(&mut self, event: Event, at: DateTime<Utc>) {
        let at = clock::moment(at);
        self.host.tell_at(&mut self.session, event, at);
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
        self.screen.close();
        stop_process();
        self.screen.reopen()?;
        self.goes_on = true;
        let away = Event::Away(self.clock.moment() - before);
        self.host.tell(&mut self.session, away);
        Ok(())
    }
}
