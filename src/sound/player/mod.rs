//! From waves to the sound card, with a clock that follows the sound heard.

mod connection;
mod joined;
mod loop_buffer;
mod microphone;
mod mixer;
mod output_device;
mod played_sound;

use super::Wave;
#[cfg(any(test, feature = "internals"))]
use connection::nanos;
use connection::{Asker, Connection, Opener, open};
pub use joined::joined;
use loop_buffer::LoopBuffer;
pub use microphone::{HeardBlock, Microphone, MicrophoneEvent};
pub use mixer::JoinPoint;
use mixer::Order;
pub use output_device::{Info, SoundError};
use played_sound::PlayedSound;
use std::sync::atomic::Ordering;
use std::sync::mpsc::{Receiver, RecvTimeoutError, TryRecvError};
use std::sync::{Arc, OnceLock};
use std::time::{Duration, Instant};

/// How long a device may take to open before it counts as lost; it may still come later.
const PATIENCE: Duration = Duration::from_millis(1300);
/// How long a device may take to close.
const CLOSING: Duration = Duration::from_millis(200);
/// How long to wait before trying again to open a device that was lost.
const RETRY: Duration = Duration::from_secs(2);

/// The moment from which the stamps of all devices count.
fn origin() -> Instant {
    static ORIGIN: OnceLock<Instant> = OnceLock::new();
    *ORIGIN.get_or_init(Instant::now)
}

/// So many nanoseconds after [`origin`].
fn moment(nanos: u64) -> Instant {
    origin() + Duration::from_nanos(nanos)
}

/// What happened to the sound device since the last look.
#[derive(Clone, Debug, PartialEq)]
pub enum DeviceChange {
    /// It is gone; the reason in words. The player is silent until it is back.
    Lost(String),
    /// It is back, or another took its place; nothing sounds until something is played again.
    Back,
}

/// Where the sound that is heard at a moment lies in its wave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heard {
    /// Frame of [`Wave::frames`], with a share of a frame; in a loop folded back into the passes.
    pub frame: f64,
    /// Frames since the start of the wave, not folded; where it took over from another, since then.
    pub since_start: f64,
    /// How often a loop has gone back to the start of the passes.
    pub rounds: usize,
    /// The pulse, counted from the first one of the first pass; `None` in the count-in and after the passes.
    pub pulse: Option<usize>,
    /// It is the wave that was given last.
    pub latest: bool,
}

/// Waves that are remembered, so that it is known what is heard while one takes over from another.
const REMEMBERED: usize = 4;

/// Where the player is with its device.
enum Device {
    Open(Connection),
    /// It is being opened, since then.
    Opening(Receiver<Result<Connection, SoundError>>, Instant),
    /// It could not be opened, or was lost, then.
    Closed(Instant),
}

/// Plays waves, one at a time, on the default sound device.
///
/// Nothing here waits for the device but [`AudioPlayer::open`] and [`AudioPlayer::settle`], and these not for ever.
pub struct AudioPlayer {
    device: Device,
    opener: Opener,
    /// It was said that there is no device.
    lost: bool,
    volume: f32,
    /// The last waves with their numbers, the present one at the end.
    playing: Vec<(u64, Arc<LoopBuffer>)>,
    number: u64,
    /// Where what is played is kept, if somebody listens to the room.
    played: Option<Arc<PlayedSound>>,
}

impl AudioPlayer {
    /// The volume of a new player.
    pub const MODERATE: f32 = 0.5;

    /// Opens the default sound device.
    ///
    /// # Errors
    /// [`SoundError`], mostly within milliseconds, where there is none or it does not open, or does not within 1.3
    /// seconds. Nothing is written to standard error.
    pub fn open() -> Result<AudioPlayer, SoundError> {
        let mut player = AudioPlayer::begin();
        player.settle(PATIENCE)?;
        match player.is_opening() {
            true => Err(SoundError::NoAnswer),
            false => Ok(player),
        }
    }

    /// Begins to open the default sound device and does not wait for it. Until it is open, what is played is not heard;
    /// where it does not open [`AudioPlayer::tend`] says that it is lost.
    pub fn begin() -> AudioPlayer {
        AudioPlayer::through(Arc::new(Connection::to_card))
    }

    fn through(opener: Opener) -> AudioPlayer {
        let device = Device::Opening(open(&opener), Instant::now());
        AudioPlayer::on(device, opener)
    }

    /// A player without a sound device, for tests and measurements: [`AudioPlayer::pull`] takes the sound, and the clock
    /// counts the frames taken at `rate` a second.
    #[cfg(any(test, feature = "internals"))]
    pub fn offline(rate: u32) -> AudioPlayer {
        let opener = Arc::new(move || Ok(Connection::to_program(rate)));
        let mut player = AudioPlayer::on(Device::Open(Connection::to_program(rate)), opener);
        player.set_volume(AudioPlayer::MODERATE);
        player
    }

    fn on(device: Device, opener: Opener) -> AudioPlayer {
        AudioPlayer {
            device,
            opener,
            lost: false,
            volume: AudioPlayer::MODERATE,
            playing: Vec::new(),
            number: 0,
            played: None,
        }
    }

    /// Begins to listen to the default microphone, on a thread of its own that calls `ear` with what comes; nobody waits for
    /// it. `delay` is how much later (seconds) a sound of the program reaches the microphone than the system reckons.
    pub fn listen(
        &mut self,
        delay: f64,
        ear: impl FnMut(MicrophoneEvent) + Send + 'static,
    ) -> Microphone {
        let played = self
            .played
            .get_or_insert_with(|| Arc::new(PlayedSound::new()));
        let microphone = Microphone::begin(played.clone(), delay, ear);
        self.keep_played();
        microphone
    }

    fn keep_played(&self) {
        if let (Some(line), Some(played)) = (self.line(), &self.played) {
            // Where one is there already it is this one.
            let _ = line.link.shared.played.set(played.clone());
        }
    }

    fn line(&self) -> Option<&Connection> {
        match &self.device {
            Device::Open(line) => Some(line),
            _ => None,
        }
    }

    /// The device is being opened for the first time, and did not take too long yet.
    pub fn is_opening(&self) -> bool {
        !self.lost && matches!(self.device, Device::Opening(..))
    }

    /// Waits until the device is open, or for so long. A device that is lost is not waited for.
    ///
    /// # Errors
    /// Where it does not open.
    pub fn settle(&mut self, patience: Duration) -> Result<(), SoundError> {
        let (Device::Opening(opened, _), false) = (&self.device, self.lost) else {
            return Ok(());
        };
        match opened.recv_timeout(patience) {
            Err(RecvTimeoutError::Timeout) => Ok(()),
            result => {
                let opened = self.opened(result.unwrap_or(Err(SoundError::NoAnswer)));
                self.lost = opened.is_err();
                opened
            }
        }
    }

    /// Takes what came of opening.
    fn opened(&mut self, result: Result<Connection, SoundError>) -> Result<(), SoundError> {
        match result {
            Ok(line) => {
                self.device = Device::Open(line);
                self.set_volume(self.volume);
                self.keep_played();
                Ok(())
            }
            Err(error) => {
                self.device = Device::Closed(Instant::now());
                Err(error)
            }
        }
    }

    /// Takes the next frames from a player made with [`AudioPlayer::offline`], interleaved left and right; with any other
    /// player nothing happens.
    #[cfg(any(test, feature = "internals"))]
    pub fn pull(&mut self, out: &mut [f32]) {
        if let Device::Open(Connection {
            asker: Asker::Program(mixer, rate, taken),
            ..
        }) = &mut self.device
        {
            mixer.serve(out, 2, nanos(*taken, *rate), 0);
            *taken += out.len() as u64 / 2;
        }
    }

    /// Plays a wave from its start, in place of what was playing; `looped` goes round the passes for ever. Silent
    /// while there is no device.
    pub fn play(&mut self, wave: Arc<Wave>, looped: bool) {
        self.playing.clear();
        self.give(wave, looped, 0, Order::Play);
    }

    /// Lets a wave that goes round for ever take over from the one that plays, without a gap. Where nothing plays it
    /// begins at its start. A second one takes the place of one that waits for its line.
    pub fn take_over(&mut self, wave: Arc<Wave>, entry: JoinPoint) {
        self.give(wave, true, entry.phase, |number, buffer| {
            Order::TakeOver(number, buffer, entry)
        });
    }

    fn give(
        &mut self,
        wave: Arc<Wave>,
        looped: bool,
        phase: usize,
        order: impl FnOnce(u64, Arc<LoopBuffer>) -> Order,
    ) {
        let Some(line) = self.line() else {
            return;
        };
        let number = self.number + 1;
        let buffer = LoopBuffer::new(wave, looped, phase, line.asker.rate());
        let buffer = Arc::new(buffer);
        line.link.order(order(number, buffer.clone()));
        self.number = number;
        self.playing.push((self.number, buffer));
        let old = self.playing.len().saturating_sub(REMEMBERED);
        self.playing.drain(..old);
    }

    /// Stops the sound within milliseconds.
    pub fn hush(&mut self) {
        self.playing.clear();
        if let Some(line) = self.line() {
            line.link.order(Order::Hush);
        }
    }

    /// What is heard now; `None` when nothing is, or not yet, or no longer.
    pub fn heard(&self) -> Option<Heard> {
        self.heard_at(Instant::now())
    }

    /// What was heard at a moment in the last seconds, as when a key was pressed. Follows the time stamps of the
    /// stream, not the time since the start.
    pub fn heard_at(&self, when: Instant) -> Option<Heard> {
        let line = self.line()?;
        let stamp = (*line.link.shared.stamp.lock().ok()?)?;
        let later = (line.asker.at(when) as f64 - stamp.nanos as f64) / 1e9;
        let rate = f64::from(line.asker.rate());
        // Where the card ran out of sound, nothing later than what it was given is heard.
        let at = stamp.at as f64 + (later * rate).min(stamp.frames as f64);
        let (mut number, mut at, mut since) = (stamp.buffer, at, None);
        if let Some(j) = stamp.junction {
            let (old, new) = (j.when as f64, j.at as f64);
            if number == j.new && at < new {
                (number, at) = (j.old, old + at - new);
            } else if number == j.old && at >= old {
                (number, at) = (j.new, new + at - old);
            }
            since = (number == j.new).then_some(at - new);
        }
        let (_, buffer) = self.playing.iter().find(|p| p.0 == number)?;
        let heard = buffer.heard(at)?;
        Some(Heard {
            since_start: since.map_or(heard.since_start, |s| {
                s / rate * f64::from(buffer.wave.rate())
            }),
            latest: number == self.number,
            ..heard
        })
    }

    /// Sets the volume, 0 to 1; other values are brought into that range. The amplitude follows its square.
    pub fn set_volume(&mut self, volume: f32) {
        let volume = if volume.is_nan() {
            AudioPlayer::MODERATE
        } else {
            volume.clamp(0.0, 1.0)
        };
        self.volume = volume;
        if let Some(line) = self.line() {
            let factor = (volume * volume).to_bits();
            line.link.shared.volume.store(factor, Ordering::Relaxed);
        }
    }

    /// The volume that was set.
    pub fn volume(&self) -> f32 {
        self.volume
    }

    /// The device in use; `None` while there is none.
    pub fn info(&self) -> Option<Info> {
        let line = self.line()?;
        match &line.asker {
            Asker::OutputDevice(card) => Some(card.info(&line.link.shared)),
            #[cfg(any(test, feature = "internals"))]
            Asker::Program(_, rate, _) => Some(Info {
                host: "none".to_string(),
                device: "offline".to_string(),
                rate: *rate,
                channels: 2,
                buffer: None,
                latency: 0.0,
                underruns: 0,
            }),
        }
    }

    /// Looks after the device: notices when it is lost and tries to get it back. To be called some times a second.
    pub fn tend(&mut self) -> Option<DeviceChange> {
        match &mut self.device {
            Device::Open(line) => {
                let reason = match &mut line.asker {
                    Asker::OutputDevice(card) => card.loss(&line.link.shared)?,
                    #[cfg(any(test, feature = "internals"))]
                    Asker::Program(..) => return None,
                };
                self.close(Duration::ZERO);
                self.playing.clear();
                Some(self.lose(reason))
            }
            Device::Opening(opened, since) => {
                let result = match opened.try_recv() {
                    Ok(result) => result,
                    Err(TryRecvError::Disconnected) => Err(SoundError::NoAnswer),
                    Err(TryRecvError::Empty) if self.lost || since.elapsed() < PATIENCE => {
                        return None;
                    }
                    Err(TryRecvError::Empty) => {
                        return Some(self.lose(SoundError::NoAnswer.to_string()));
                    }
                };
                match (self.opened(result), self.lost) {
                    (Ok(()), true) => {
                        self.lost = false;
                        Some(DeviceChange::Back)
                    }
                    (Err(error), false) => Some(self.lose(error.to_string())),
                    _ => None,
                }
            }
            Device::Closed(since) => {
                if since.elapsed() > RETRY {
                    self.device = Device::Opening(open(&self.opener), Instant::now());
                }
                None
            }
        }
    }

    fn lose(&mut self, why: String) -> DeviceChange {
        self.lost = true;
        DeviceChange::Lost(why)
    }

    fn close(&mut self, patience: Duration) {
        let closed = Device::Closed(Instant::now());
        if let Device::Open(line) = std::mem::replace(&mut self.device, closed) {
            line.close(patience);
        }
    }
}

impl Drop for AudioPlayer {
    fn drop(&mut self) {
        self.close(CLOSING);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sound::{Take, render};
    use std::sync::Mutex;
    use std::sync::mpsc::{Sender, channel};

    /// A device that opens, or does not, when it is told to, and hangs until then.
    fn hanging() -> (AudioPlayer, Sender<Result<(), SoundError>>) {
        let (tell, told) = channel();
        let told = Mutex::new(told);
        let opener: Opener = Arc::new(move || {
            let told = told.lock().unwrap();
            told.recv().unwrap_or(Err(SoundError::NoAnswer))?;
            Ok(Connection::to_program(48_000))
        });
        (AudioPlayer::through(opener), tell)
    }

    fn next_change(player: &mut AudioPlayer) -> DeviceChange {
        for _ in 0..2000 {
            if let Some(change) = player.tend() {
                return change;
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        panic!("nothing changed in ten seconds");
    }

    fn wave() -> Arc<Wave> {
        let mut score = crate::rhythm::Score::empty(crate::rhythm::Grid::Eighths);
        let beats = [true, false, true, false, true, false, true, false];
        let cells = beats.map(|b| b.then(crate::rhythm::Hit::default)).to_vec();
        let click = crate::rhythm::Instrument::Click;
        score.set_line(crate::rhythm::Line::new(click, score.grid, cells).unwrap());
        Arc::new(render(&Take::new(score, 240.0, 1)))
    }

    #[test]
    fn a_device_that_hangs_is_lost_and_is_back_when_it_opens_after_all() {
        let (mut player, tell) = hanging();
        assert!(player.is_opening());
        player.set_volume(1.0);
        player.play(wave(), true);
        assert_eq!((player.heard(), player.info()), (None, None));
        let why = "the sound server does not answer".to_string();
        assert_eq!(next_change(&mut player), DeviceChange::Lost(why));
        // Once is enough, and nothing waits for it any more.
        assert_eq!((player.tend(), player.is_opening()), (None, false));
        assert_eq!(player.settle(Duration::MAX), Ok(()));
        tell.send(Ok(())).unwrap();
        assert_eq!(next_change(&mut player), DeviceChange::Back);
        player.play(wave(), true);
        let mut out = [0.0; 2 * 4800];
        player.pull(&mut out);
        assert!(player.heard().is_some() && out.iter().any(|s| s.abs() > 0.01));
    }

    #[test]
    fn a_device_that_refuses_is_tried_again() {
        let (mut player, tell) = hanging();
        tell.send(Err(SoundError::NoDevice)).unwrap();
        let why = SoundError::NoDevice.to_string();
        assert_eq!(next_change(&mut player), DeviceChange::Lost(why));
        tell.send(Ok(())).unwrap();
        assert_eq!(next_change(&mut player), DeviceChange::Back);
    }

    #[test]
    fn whoever_waits_for_the_device_is_told_what_came_of_it() {
        let (mut player, tell) = hanging();
        assert_eq!(player.settle(Duration::ZERO), Ok(()));
        assert!(player.is_opening());
        tell.send(Err(SoundError::NoDevice)).unwrap();
        assert_eq!(
            player.settle(Duration::from_secs(10)),
            Err(SoundError::NoDevice)
        );
        let (mut player, tell) = hanging();
        tell.send(Ok(())).unwrap();
        assert_eq!(player.settle(Duration::from_secs(10)), Ok(()));
        assert!(player.info().is_some() && !player.is_opening());
    }

    #[test]
    fn closing_waits_for_nobody_who_hangs() {
        let (player, tell) = hanging();
        drop(player);
        // What opens too late has nobody to go to, and is closed where it was opened.
        tell.send(Ok(())).unwrap();
    }
}
