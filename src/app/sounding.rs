//! The sound of a drill: renders waves ahead, plays them, and finds lost devices again.

use super::listening::{KnownMicrophone, MicrophoneNews, StrokeListener};
use super::record::TapOffset;
use crate::sound::{
    AudioPlayer, CountIn, DeviceChange, Heard, JoinPoint, Microphone, RATE, SoundError, Take, Wave,
    render,
};
use crate::time::Seconds;
use std::sync::Arc;
use std::sync::mpsc::{self, Receiver, TryRecvError};
use std::thread;
use std::time::{Duration, Instant};

/// How often the picture is drawn while the playhead moves.
const FRAME: Duration = Duration::from_millis(33);
/// How often to look whether the sound can be heard yet, so that the clock of a question starts at the right time.
const SOON: Duration = Duration::from_millis(5);
/// How often the sound device is checked.
const TEND: Duration = Duration::from_millis(300);
/// How long the first picture may wait for the device, so that there is mostly sound or none from the start.
const OPENING: Duration = Duration::from_millis(400);
/// How long what does not look by itself may wait for it.
const SETTLING: Duration = Duration::from_millis(1200);
/// Steps from silence to full volume.
const STEPS: f32 = 20.0;

/// Something that the sound has to say.
#[derive(Clone, Debug, PartialEq)]
pub enum News {
    /// What was last played is heard; its first frame was heard this long ago.
    Heard(Seconds),
    /// The sound device is gone, and why.
    Lost(String),
    /// It is back.
    Back,
}

/// What is done with a wave that was made.
#[derive(Clone, Copy)]
enum WaveStart {
    Play { looped: bool },
    TakeOver(JoinPoint),
}

/// The sound of the program: waves are made on a thread of their own and played as soon as they are ready.
pub struct Sounding {
    player: AudioPlayer,
    /// The wave that is being made.
    making: Option<(Receiver<Wave>, WaveStart)>,
    /// A wave was given to the player.
    playing: bool,
    /// It was said that the present wave is heard.
    told: bool,
    /// Where the last wave takes over.
    entry: JoinPoint,
    tended: Instant,
    lost: bool,
    /// What was found out while nobody listened.
    news: Option<News>,
    taps: Option<TapOffset>,
    /// What the sound takes longer to the ear than the system knows, as far as taps have told.
    late: Duration,
    /// The microphone that is listened to, and what is known of it.
    microphone: Option<(Microphone, Option<KnownMicrophone>)>,
}

impl Sounding {
    /// Opens the sound device at a volume from 0 to 1. What is shown and timed waits as long as taps on the same
    /// device came after the sound: a radio link is late by a fifth of a second and tells nobody.
    ///
    /// A device that neither opens nor refuses at once is not waited for: what is to be heard waits for it, and
    /// [`Sounding::poll`] says that it is lost where it takes too long.
    ///
    /// # Errors
    /// Where there is none that opens.
    pub fn open(volume: Option<f32>, taps: Option<&TapOffset>) -> Result<Sounding, SoundError> {
        let mut sounding = Sounding::on(AudioPlayer::begin(), taps);
        sounding.player.settle(OPENING)?;
        if let Some(volume) = volume {
            sounding.player.set_volume(volume);
        }
        Ok(sounding)
    }

    fn on(player: AudioPlayer, taps: Option<&TapOffset>) -> Sounding {
        Sounding {
            player,
            making: None,
            playing: false,
            told: false,
            entry: JoinPoint::default(),
            tended: Instant::now(),
            lost: false,
            news: None,
            taps: taps.cloned(),
            late: Duration::ZERO,
            microphone: None,
        }
    }

    /// Begins to listen to the microphone; `tell` is called on another thread with what it has to say. Nobody waits for it.
    pub fn listen(
        &mut self,
        known: Option<KnownMicrophone>,
        mut tell: impl FnMut(MicrophoneNews) + Send + 'static,
    ) {
        let levels = known.as_ref().and_then(|known| known.levels);
        let delay = levels.map_or(Seconds::ZERO, |levels| levels.leak_late);
        let mut listener = StrokeListener::new(known.clone());
        let microphone = self
            .player
            .listen(delay, move |event| listener.hear(event, &mut tell));
        self.microphone = Some((microphone, known));
    }

    /// How much later (seconds) the microphone stamps a stroke than a key that was pressed with it would have to be: what is
    /// heard, and what is late to the ear, are late for both where that was not measured.
    pub fn stroke_late(&self) -> Seconds {
        let known = self
            .microphone
            .as_ref()
            .and_then(|(_, known)| known.as_ref());
        let output = self.player.info().map(|info| info.device);
        let delay = known
            .zip(output)
            .and_then(|(known, output)| known.delay_of(&output));
        delay.map_or(Seconds::ZERO, |delay| delay - Seconds::of(self.late))
    }

    /// Plays a take as soon as its wave is made, replacing what plays now.
    pub fn play(&mut self, take: &Take, looped: bool) {
        self.hush();
        self.make(take.clone(), WaveStart::Play { looped });
    }

    /// Lets a take go on for ever after what plays now, without a gap and without its count-in; where nothing plays, it
    /// begins with it. What waits for its line is replaced, and waits on.
    pub fn take_over(&mut self, take: &Take, mut entry: JoinPoint) {
        let mut take = take.clone();
        if self.playing {
            take.count_in = CountIn::None;
            let waits = self.making.is_some() || !self.told;
            if waits {
                entry.line = entry.line.max(self.entry.line);
                entry.pulse = entry.pulse.or(self.entry.pulse);
            }
        }
        self.entry = entry;
        self.make(take, WaveStart::TakeOver(entry));
    }

    fn make(&mut self, take: Take, start: WaveStart) {
        let (done, wave) = mpsc::channel();
        // A wave that nobody waits for any more is dropped.
        thread::spawn(move || done.send(render(&take)));
        self.making = Some((wave, start));
    }

    /// Plays a wave once.
    pub fn play_wave(&mut self, wave: Wave) {
        self.hush();
        let (done, made) = mpsc::channel();
        // The other end is here.
        let _ = done.send(wave);
        self.making = Some((made, WaveStart::Play { looped: false }));
    }

    /// Waits for a device that is not open yet, though not long.
    pub fn wait(&mut self) {
        if let Err(error) = self.player.settle(SETTLING) {
            let lost = DeviceChange::Lost(error.to_string());
            self.news = Some(self.changed(lost));
        }
    }

    /// Waits until the wave that is being made plays.
    pub fn settle(&mut self) {
        self.wait();
        if !self.player.is_opening()
            && let Some((wave, start)) = self.making.take()
            && let Ok(wave) = wave.recv()
        {
            self.start(Arc::new(wave), start);
        }
    }

    fn start(&mut self, wave: Arc<Wave>, start: WaveStart) {
        match start {
            WaveStart::Play { looped } => self.player.play(wave, looped),
            WaveStart::TakeOver(entry) => self.player.take_over(wave, entry),
        }
        self.playing = true;
        self.told = false;
        self.late = match (&self.taps, self.player.info()) {
            (Some(taps), Some(info)) => taps.late_on(&info.device),
            _ => Duration::ZERO,
        };
    }

    /// Stops the sound.
    pub fn hush(&mut self) {
        self.making = None;
        if std::mem::take(&mut self.playing) {
            self.player.hush();
        }
    }

    /// Goes on with what can go on, and says what is new.
    pub fn poll(&mut self) -> Option<News> {
        if let Some(news) = self.news.take().or_else(|| self.tend()) {
            return Some(news);
        }
        // What is to be heard waits for a device that is being opened.
        if let Some((wave, start)) = self.making.as_ref().filter(|_| !self.player.is_opening()) {
            match wave.try_recv() {
                Ok(wave) => {
                    let start = *start;
                    self.making = None;
                    self.start(Arc::new(wave), start);
                }
                Err(TryRecvError::Empty) => {}
                Err(TryRecvError::Disconnected) => self.making = None,
            }
        }
        if self.playing
            && !self.told
            && let Some(heard) = self.heard().filter(|h| h.latest)
        {
            self.told = true;
            return Some(News::Heard(Seconds::new(
                heard.since_start / f64::from(RATE),
            )));
        }
        None
    }

    /// Looks after the device.
    fn tend(&mut self) -> Option<News> {
        if !self.player.is_opening() && self.tended.elapsed() < TEND {
            return None;
        }
        self.tended = Instant::now();
        let change = self.player.tend()?;
        Some(self.changed(change))
    }

    /// Nothing is heard any more.
    fn changed(&mut self, change: DeviceChange) -> News {
        self.making = None;
        self.playing = false;
        self.lost = matches!(change, DeviceChange::Lost(_));
        match change {
            DeviceChange::Lost(why) => News::Lost(why),
            DeviceChange::Back => News::Back,
        }
    }

    /// How soon to look again.
    pub fn patience(&self, still: bool) -> Duration {
        match (&self.making, self.playing) {
            _ if self.lost => TEND,
            (Some(_), _) => SOON,
            (None, true) if !self.told => SOON,
            (None, true) if !still && self.heard().is_some() => FRAME,
            _ => TEND,
        }
    }

    /// What reaches the ear now.
    fn heard(&self) -> Option<Heard> {
        let now = Instant::now();
        self.player
            .heard_at(now.checked_sub(self.late).unwrap_or(now))
    }

    /// The pulse that is heard, counted from the first one of the first pass.
    pub fn pulse(&self) -> Option<usize> {
        self.heard()?.pulse
    }

    /// The same of what was played last; `None` while it waits for its line.
    pub fn newest_pulse(&self) -> Option<usize> {
        self.heard().filter(|heard| heard.latest)?.pulse
    }

    /// How many pulses after the first one of what was played last something was tapped, with a share of a pulse; `None` while it
    /// waits for its line. `stroke`: the microphone heard it then, not a key.
    pub fn place_at(&self, when: Instant, stroke: bool) -> Option<f64> {
        let stroke_late = if stroke {
            self.stroke_late()
        } else {
            Seconds::ZERO
        };
        let late = Seconds::of(self.late) + stroke_late;
        let far = Duration::from_secs_f64(late.abs().seconds());
        let heard = match late < Seconds::ZERO {
            true => when.checked_add(far),
            false => when.checked_sub(far),
        };
        self.player.heard_at(heard?).filter(|h| h.latest)?.place
    }

    /// True from the start of a wave, or of making it, to the end of its sound.
    pub fn is_busy(&self) -> bool {
        let begins = self.making.is_some() || (self.playing && !self.told);
        !self.lost && (begins || self.heard().is_some())
    }

    /// Volume, 0 to 1.
    pub fn volume(&self) -> f32 {
        self.player.volume()
    }

    /// Makes it louder (positive) or softer by this many steps.
    pub fn turn(&mut self, steps: i8) {
        let step = (self.volume() * STEPS).round() + f32::from(steps);
        self.player.set_volume((step / STEPS).clamp(0.0, 1.0));
    }

    /// Volume in percent.
    pub fn percent(&self) -> u8 {
        (self.volume() * 100.0).round() as u8
    }
}
