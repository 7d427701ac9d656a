//! The playback of a card on the full screen: its event loop.

use crate::app::events::Events;
use crate::app::full_screen::{FullScreen, Pressed};
use crate::app::listening::{MicrophoneNews, is_keyboard};
use crate::app::quiet::Quiet;
use crate::app::record::Record;
use crate::app::sounding::{News, Sounding};
use crate::app::{Clock, Exit, Folder};
use crate::rhythm::Hand;
use crate::screens::playback::{Ask, Playback};
use crate::screens::screen_settings::ScreenSettings;
use crate::screens::stages::AudioStatus;
use crate::sound::JoinPoint;
use crate::time::Seconds;
use anyhow::Context;
use chrono::{DateTime, Utc};
use std::time::{Duration, Instant};

/// How often to look whether the next cycle of the clave sounds different.
const LOOK_AHEAD: Duration = Duration::from_millis(100);

/// Plays a card on the full screen until the player closes it.
///
/// # Errors
/// Where the terminal cannot be drawn on.
pub fn run(
    playback: Playback,
    sound: Sounding,
    record: &mut Record,
    folder: &Folder,
    settings: ScreenSettings,
    events: &Events,
) -> anyhow::Result<Exit> {
    let _quiet = Quiet::into(&folder.log_file()).ok();
    let mut face = PlaybackApp {
        playback,
        sound,
        clock: record.clock(),
        record,
        still: !settings.motion,
        keyed: DateTime::UNIX_EPOCH,
        notice: None,
        screen: FullScreen::open(events, &settings)?,
    };
    face.start();
    loop {
        face.listen();
        face.draw().context("the terminal cannot be drawn on")?;
        let mut patience = face.sound.patience(face.still);
        if face.playback.has_plan() {
            patience = patience.min(LOOK_AHEAD);
        }
        let event = face.screen.event(Some(patience))?;
        if face.take(event)? {
            return Ok(Exit::Clean);
        }
    }
}

struct PlaybackApp<'a> {
    playback: Playback,
    sound: Sounding,
    record: &'a mut Record,
    still: bool,
    clock: Clock,
    /// When a key was pressed last.
    keyed: DateTime<Utc>,
    notice: Option<String>,
    screen: FullScreen<'a>,
}

impl PlaybackApp<'_> {
    fn start(&mut self) {
        self.playback.playing = true;
        self.playback.begin();
        self.sound.hush();
        self.take_over(self.playback.entry(0));
    }

    /// Goes on with what is to be heard now.
    fn take_over(&mut self, entry: JoinPoint) {
        let take = self.playback.take(self.playback.rounds());
        self.playback.forget_taps();
        self.sound.take_over(&take, entry);
    }

    fn stop(&mut self) {
        self.playback.playing = false;
        self.sound.hush();
    }

    fn listen(&mut self) {
        match self.sound.poll() {
            Some(News::Lost(why)) => {
                self.notice = Some(format!("No sound: {why}."));
            }
            Some(News::Back) => {
                self.notice = Some("The sound is back.".into());
                if self.playback.playing {
                    self.start();
                }
            }
            Some(News::Heard(_)) | None => {}
        }
        if let Some(place) = self.sound.place_at(Instant::now(), false) {
            self.playback.heard(place);
        }
        if let Some(pulse) = self.sound.pulse()
            && self.playback.playing
            && self.playback.look_ahead(pulse)
        {
            self.take_over(self.playback.next_cycle());
        }
    }

    fn tap(&mut self, place: Option<f64>, hand: Option<Hand>) {
        if let Some(place) = place.filter(|_| self.playback.playing) {
            self.playback.tap(place, hand);
        }
    }

    /// Takes what the microphone has to say.
    fn hear(&mut self, news: MicrophoneNews) {
        if let MicrophoneNews::Stroke { at } = news {
            let ago = Seconds::of(at.elapsed());
            let since = (self.clock.now() - self.keyed).as_seconds_f64();
            let after_key = Seconds::new(since) - ago;
            if !is_keyboard(after_key) {
                self.tap(self.sound.place_at(at, true), None);
            }
            return;
        }
        match news {
            MicrophoneNews::Opened { .. } => self.playback.listens = true,
            MicrophoneNews::Lost(_) => self.playback.listens = false,
            _ => {}
        }
        self.notice = news.told().or(self.notice.take());
    }

    fn draw(&mut self) -> std::io::Result<()> {
        let audio = AudioStatus {
            playhead: self.sound.pulse().filter(|_| !self.still),
            volume: Some(self.sound.percent()),
            ..AudioStatus::default()
        };
        let score = self.playback.score();
        let mut page = self.playback.page(&score, audio);
        page.notice.clone_from(&self.notice);
        self.screen.show(&page)
    }

    /// Takes an event; true where it is the end.
    fn take(&mut self, event: Pressed) -> anyhow::Result<bool> {
        let (key, at) = match event {
            Pressed::Key { key, at } => (key, at),
            Pressed::Microphone(news) => {
                self.hear(news);
                return Ok(false);
            }
            Pressed::Stop => {
                self.stop();
                self.screen.stop()?;
                return Ok(false);
            }
            Pressed::Row(_) | Pressed::Resumed | Pressed::Nothing => return Ok(false),
            Pressed::End => return Ok(true),
        };
        // Whoever goes on has read it.
        self.notice = None;
        self.keyed = at;
        match self.playback.key(key) {
            Ask::Start => self.start(),
            Ask::Changed(line) if self.playback.playing => {
                self.take_over(self.playback.entry(line));
            }
            Ask::Changed(_) | Ask::Nothing => {}
            Ask::Stop => self.stop(),
            Ask::Tap(hand) => {
                let now = Instant::now();
                let ago = (self.clock.now() - at).to_std().unwrap_or_default();
                let when = now.checked_sub(ago).unwrap_or(now);
                self.tap(self.sound.place_at(when, false), Some(hand));
            }
            Ask::Volume(steps) => {
                self.sound.turn(steps);
                if let Err(error) = self.record.keep_volume(self.sound.volume()) {
                    self.notice = Some(error.to_string());
                }
            }
            Ask::Close => return Ok(true),
        }
        Ok(false)
    }
}
