//! From waves to the sound card, with a clock that follows the sound heard.

mod callback_stream;
mod connection;
mod heard;
mod join_point;
mod joined;
mod loop_buffer;
mod microphone;
mod mix_state;
mod mixer;
#[cfg(any(test, feature = "internals"))]
mod offline;
mod output_device;
mod played_sound;
#[cfg(target_os = "linux")]
mod pulse_feeder;
#[cfg(target_os = "linux")]
mod pulse_server;
#[cfg(target_os = "linux")]
mod pulse_stream;
mod sample_clock;
#[cfg(test)]
mod tests;

use super::Wave;
use crate::time::Seconds;
use connection::{Connection, Opener, open};
pub use heard::Heard;
pub use join_point::JoinPoint;
pub use joined::joined;
use loop_buffer::LoopBuffer;
pub use microphone::{HeardBlock, Microphone, MicrophoneEvent};
use mixer::Order;
pub use output_device::{Info, SoundError};
use played_sound::PlayedSound;
use std::sync::mpsc::{Receiver, RecvTimeoutError, TryRecvError};
use std::sync::{Arc, LazyLock};
use std::time::{Duration, Instant};

/// How long a device may take to open before it counts as lost; it may still open later.
const PATIENCE: Duration = Duration::from_millis(1300);
/// How long a device may take to close.
const CLOSING: Duration = Duration::from_millis(200);
/// How long to wait before trying again to open a device that was lost.
const RETRY: Duration = Duration::from_secs(2);

/// The moment from which the stamps of all devices count.
fn origin() -> Instant {
    static ORIGIN: LazyLock<Instant> = LazyLock::new(Instant::now);
    *ORIGIN
}

/// This many nanoseconds after [`origin`].
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
/// Only [`AudioPlayer::open`] and [`AudioPlayer::settle`] wait for the device, and not for ever.
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

    /// Begins to listen to the default microphone, on a thread of its own that calls `listener` with what comes; nobody waits for
    /// it. `delay` is how much later a sound of the program reaches the microphone than the system reckons.
    pub fn listen(
        &mut self,
        delay: Seconds,
        listener: impl FnMut(MicrophoneEvent) + Send + 'static,
    ) -> Microphone {
        let played = self
            .played
            .get_or_insert_with(|| Arc::new(PlayedSound::new()));
        let microphone = Microphone::begin(played.clone(), delay, listener);
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

    /// Takes the result of opening.
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

    /// Plays a wave from its start, replacing what was playing; `looped` goes round the passes for ever. Silent while
    /// there is no device.
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
        let buffer = LoopBuffer::new(wave, looped, phase, line.card.rate());
        let buffer = Arc::new(buffer);
        line.order(order(number, buffer.clone()));
        self.number = number;
        self.playing.push((self.number, buffer));
        let old = self.playing.len().saturating_sub(REMEMBERED);
        self.playing.drain(..old);
    }

    /// Stops the sound within milliseconds.
    pub fn hush(&mut self) {
        self.playing.clear();
        if let Some(line) = self.line() {
            line.order(Order::Hush);
        }
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
            line.set_volume(volume * volume);
        }
    }

    /// The volume that was set.
    pub fn volume(&self) -> f32 {
        self.volume
    }

    /// The device in use; `None` while there is none.
    pub fn info(&self) -> Option<Info> {
        let line = self.line()?;
        Some(line.card.info(&line.link.shared))
    }

    /// Looks after the device: notices when it is lost and tries to get it back. To be called some times a second.
    pub fn tend(&mut self) -> Option<DeviceChange> {
        match &mut self.device {
            Device::Open(line) => {
                let reason = line.card.loss(&line.link.shared)?;
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
