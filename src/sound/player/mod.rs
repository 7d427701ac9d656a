//! From waves to the sound card, with a clock that follows the sound heard.

mod joined;
mod loop_buffer;
mod mixer;
mod output_device;

use super::Wave;
pub use joined::joined;
use loop_buffer::LoopBuffer;
pub use mixer::Entry;
use mixer::{CallbackMixer, Order, SharedState};
use output_device::OutputDevice;
pub use output_device::{Info, SoundError};
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::time::{Duration, Instant};

/// How long to wait before trying again to open a device that was lost.
const RETRY: Duration = Duration::from_secs(2);
/// How often to try to open a device that is there but refuses.
const TRIES: usize = 3;
/// Between two of them: a sound server may still be closing what another program left.
const PAUSE: Duration = Duration::from_millis(100);

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

/// Who asks the mixer for sound.
enum Asker {
    OutputDevice(Box<OutputDevice>),
    /// The program itself: the mixer, frames a second and the frames taken so far.
    #[cfg(any(test, feature = "internals"))]
    Program(Box<CallbackMixer>, u32, u64),
}

impl Asker {
    /// Frames a second.
    fn rate(&self) -> u32 {
        match self {
            Asker::OutputDevice(card) => card.rate(),
            #[cfg(any(test, feature = "internals"))]
            Asker::Program(_, rate, _) => *rate,
        }
    }

    /// A moment on the clock that stamps are written in, nanoseconds.
    fn at(&self, when: Instant) -> i128 {
        match self {
            Asker::OutputDevice(card) => {
                // Both clocks have to be read at the same moment: where this thread was held up in between, again.
                let read = || {
                    let before = when.elapsed();
                    let now = card.now();
                    let after = when.elapsed();
                    (after - before, i128::from(now) - before.as_nanos() as i128)
                };
                let readings = [read(), read(), read()];
                let best = readings.into_iter().min_by_key(|r| r.0);
                best.map_or(0, |r| r.1)
            }
            #[cfg(any(test, feature = "internals"))]
            Asker::Program(_, rate, taken) => i128::from(nanos(*taken, *rate)),
        }
    }
}

/// An open way to whoever asks for sound.
struct Connection {
    asker: Asker,
    orders: SyncSender<Order>,
    spent: Receiver<Arc<LoopBuffer>>,
}

/// Plays waves, one at a time, on the default sound device.
pub struct AudioPlayer {
    line: Option<Connection>,
    shared: Arc<SharedState>,
    /// The last waves with their numbers, the present one at the end.
    playing: Vec<(u64, Arc<LoopBuffer>)>,
    number: u64,
    tried: Instant,
}

impl AudioPlayer {
    /// The volume of a new player.
    pub const MODERATE: f32 = 0.5;

    /// Opens the default sound device.
    ///
    /// # Errors
    /// [`SoundError`], within milliseconds, where there is none or it does not open. Nothing is written to standard
    /// error.
    pub fn open() -> Result<AudioPlayer, SoundError> {
        let shared = Arc::new(SharedState::default());
        let line = Connection::to_card(&shared)?;
        Ok(AudioPlayer::on(line, shared))
    }

    /// A player without a sound device, for tests and measurements: [`AudioPlayer::pull`] takes the sound, and the clock
    /// counts the frames taken at `rate` a second.
    #[cfg(any(test, feature = "internals"))]
    pub fn offline(rate: u32) -> AudioPlayer {
        let shared = Arc::new(SharedState::default());
        let (orders, spent, mixer) = mixer(&shared);
        let line = Connection {
            asker: Asker::Program(Box::new(mixer(rate)), rate, 0),
            orders,
            spent,
        };
        AudioPlayer::on(line, shared)
    }

    fn on(line: Connection, shared: Arc<SharedState>) -> AudioPlayer {
        let mut player = AudioPlayer {
            line: Some(line),
            shared,
            playing: Vec::new(),
            number: 0,
            tried: Instant::now(),
        };
        player.set_volume(AudioPlayer::MODERATE);
        player
    }

    /// Takes the next frames from a player made with [`AudioPlayer::offline`], interleaved left and right; with any other
    /// player nothing happens.
    #[cfg(any(test, feature = "internals"))]
    pub fn pull(&mut self, out: &mut [f32]) {
        if let Some(Connection {
            asker: Asker::Program(mixer, rate, taken),
            ..
        }) = &mut self.line
        {
            mixer.serve(out, 2, nanos(*taken, *rate), 0);
            *taken += out.len() as u64 / 2;
        }
    }

    /// Plays a wave from its start, in place of what was playing; `looped` goes round the passes for ever. Silent
    /// while the device is lost.
    pub fn play(&mut self, wave: Arc<Wave>, looped: bool) {
        self.playing.clear();
        self.give(wave, looped, 0, Order::Play);
    }

    /// Lets a wave that goes round for ever take over from the one that plays, without a gap. Where nothing plays it
    /// begins at its start. A second one takes the place of one that waits for its line.
    pub fn take_over(&mut self, wave: Arc<Wave>, entry: Entry) {
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
        let Some(line) = &self.line else {
            return;
        };
        self.number += 1;
        let buffer = LoopBuffer::new(wave, looped, phase, line.asker.rate());
        let buffer = Arc::new(buffer);
        line.order(order(self.number, buffer.clone()));
        self.playing.push((self.number, buffer));
        let old = self.playing.len().saturating_sub(REMEMBERED);
        self.playing.drain(..old);
    }

    /// Stops the sound within milliseconds.
    pub fn hush(&mut self) {
        self.playing.clear();
        if let Some(line) = &self.line {
            line.order(Order::Hush);
        }
    }

    /// What is heard now; `None` when nothing is, or not yet, or no longer.
    pub fn heard(&self) -> Option<Heard> {
        self.heard_at(Instant::now())
    }

    /// What was heard at a moment in the last seconds, as when a key was pressed. Follows the time stamps of the
    /// stream, not the time since the start.
    pub fn heard_at(&self, when: Instant) -> Option<Heard> {
        let line = self.line.as_ref()?;
        let stamp = (*self.shared.stamp.lock().ok()?)?;
        let now = line.asker.at(when);
        let later = (now - i128::from(stamp.nanos)) as f64 / 1e9;
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
        let factor = volume * volume;
        self.shared
            .volume
            .store(factor.to_bits(), Ordering::Relaxed);
    }

    /// The volume that was set.
    pub fn volume(&self) -> f32 {
        f32::from_bits(self.shared.volume.load(Ordering::Relaxed)).sqrt()
    }

    /// The device in use; `None` while it is lost.
    pub fn info(&self) -> Option<Info> {
        match &self.line.as_ref()?.asker {
            Asker::OutputDevice(card) => Some(card.info(&self.shared)),
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

    /// Looks after the device: notices when it is lost and tries to get it back. To be called about once a second.
    pub fn tend(&mut self) -> Option<DeviceChange> {
        if let Some(line) = &mut self.line {
            let reason = match &mut line.asker {
                Asker::OutputDevice(card) => card.loss(&self.shared)?,
                #[cfg(any(test, feature = "internals"))]
                Asker::Program(..) => return None,
            };
            self.line = None;
            self.playing.clear();
            self.tried = Instant::now();
            return Some(DeviceChange::Lost(reason));
        }
        if self.tried.elapsed() < RETRY {
            return None;
        }
        self.tried = Instant::now();
        self.line = Some(Connection::to_card(&self.shared).ok()?);
        Some(DeviceChange::Back)
    }
}

impl Connection {
    fn to_card(shared: &Arc<SharedState>) -> Result<Connection, SoundError> {
        let mut tries = 1;
        loop {
            *shared.stamp.lock().unwrap_or_else(|e| e.into_inner()) = None;
            let (orders, spent, mixer) = mixer(shared);
            match OutputDevice::open(shared, mixer) {
                Ok(card) => {
                    return Ok(Connection {
                        asker: Asker::OutputDevice(Box::new(card)),
                        orders,
                        spent,
                    });
                }
                Err(SoundError::Open(_)) if tries < TRIES => {
                    std::thread::sleep(PAUSE);
                    tries += 1;
                }
                Err(error) => return Err(error),
            }
        }
    }

    fn order(&self, order: Order) {
        while self.spent.try_recv().is_ok() {}
        // The tray is full only where the card has stopped asking, and that is noticed as a loss.
        let _ = self.orders.try_send(order);
    }
}

/// A desk for a rate that is not known yet, with the way for orders to it and for spent reels back.
fn mixer(
    shared: &Arc<SharedState>,
) -> (
    SyncSender<Order>,
    Receiver<Arc<LoopBuffer>>,
    impl FnOnce(u32) -> CallbackMixer + use<>,
) {
    let (orders, incoming) = sync_channel(16);
    let (tray, spent) = sync_channel(32);
    let shared = shared.clone();
    let mixer = move |rate| CallbackMixer::new(incoming, tray, shared, rate);
    (orders, spent, mixer)
}

/// The time that frames last, nanoseconds.
#[cfg(any(test, feature = "internals"))]
fn nanos(frames: u64, rate: u32) -> u64 {
    (u128::from(frames) * 1_000_000_000 / u128::from(rate.max(1))) as u64
}
