//! The sound card: the only place that talks to the system's sound.

use super::callback_stream;
use super::mixer::{CallbackMixer, SharedState};
use super::origin;
#[cfg(target_os = "linux")]
use super::pulse_stream::{PulseStream, ReadyStream};
use crate::sound::RATE;
use crate::time::Seconds;
use rodio::cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use rodio::cpal::{self, BufferSize};
use serde::Serialize;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// How long to wait for a new card to ask for sound before it counts as working.
const FIRST_CALL: Duration = Duration::from_millis(100);
/// Frames in one buffer of the card where that can be chosen. Smaller buffers gave wrong time stamps where ALSA goes
/// through a sound server, and the playhead follows the stamps, so the delay does no harm.
const BUFFER: u32 = 4096;
/// A card that asks for nothing for this long counts as lost.
const STALLED: Duration = Duration::from_millis(1200);
/// The most that counts of the time between two looks: while the program is stopped nobody asks for sound.
const LOOK: Duration = Duration::from_millis(400);

/// Why there is no sound.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SoundError {
    /// The system has no device for sound.
    #[error("no sound device was found; check that one is plugged in and switched on")]
    NoDevice,
    /// The device is there and was refused, with the system's words.
    #[error("the sound device did not open: {0}")]
    Open(String),
    /// The device does not open and does not refuse either.
    #[error("the sound server does not answer")]
    NoAnswer,
    /// The device wants samples in a form that is not made here, named as the system names it.
    #[error("the sound device takes no sample format that this program can make ({0})")]
    Format(String),
}

impl From<cpal::Error> for SoundError {
    fn from(error: cpal::Error) -> SoundError {
        match error.kind() {
            cpal::ErrorKind::DeviceNotAvailable | cpal::ErrorKind::HostUnavailable => {
                SoundError::NoDevice
            }
            _ => SoundError::Open(error.to_string()),
        }
    }
}

/// The device in use.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Info {
    /// The system's sound interface, as `ALSA`.
    pub host: String,
    /// What the system calls the device.
    pub device: String,
    /// Frames a second.
    pub rate: u32,
    /// Channels, 2 for stereo.
    pub channels: u16,
    /// Frames in one buffer, where known.
    pub buffer: Option<u32>,
    /// From handing a buffer over to hearing its first frame, as the system reports it; 0 before the first
    /// buffer. The delay of converters, amplifiers and wireless links is not in it.
    pub latency: Seconds,
    /// From a key to what it changes, on the average, without the time that the program takes; 0 before that is known.
    pub key_to_sound: Seconds,
    /// Times that the card ran out of sound, by its own word or by its time stamps, whichever are more.
    pub underruns: u64,
}

/// What the error callback saw.
#[derive(Debug, Default)]
pub(super) struct StreamErrors {
    lost: AtomicBool,
    reason: Mutex<String>,
    underruns: AtomicU64,
}

impl StreamErrors {
    /// The device is gone, for this reason.
    pub fn lose(&self, why: &str) {
        self.note(why);
        self.lost.store(true, Ordering::Relaxed);
    }

    /// Something went wrong, which may pass.
    pub fn note(&self, why: &str) {
        if let Ok(mut reason) = self.reason.lock() {
            why.clone_into(&mut reason);
        }
    }

    /// The system's word of an error.
    pub fn see(&self, error: &cpal::Error) {
        match error.kind() {
            cpal::ErrorKind::Xrun => self.ran_dry(),
            // The stream goes on by itself, somewhere else or with less priority.
            cpal::ErrorKind::DeviceChanged | cpal::ErrorKind::RealtimeDenied => {}
            // The device went away; other errors pass, or no more sound is asked for or comes, which is noticed.
            kind if callback_stream::is_gone(kind) => self.lose(&error.to_string()),
            _ => self.note(&error.to_string()),
        }
    }

    /// Has it been lost?
    pub fn is_lost(&self) -> bool {
        self.lost.load(Ordering::Relaxed)
    }

    /// Did a microphone lose samples since this was asked last?
    pub fn take_overrun(&self) -> bool {
        self.underruns.swap(0, Ordering::Relaxed) > 0
    }

    /// The device ran out of sound, by its own word.
    pub fn ran_dry(&self) {
        self.underruns.fetch_add(1, Ordering::Relaxed);
    }

    /// The last error in words, if there was one.
    fn reason(&self) -> Option<String> {
        let reason = self.reason.lock().ok()?;
        (!reason.is_empty()).then(|| reason.clone())
    }
}

/// What asks a mixer for sound.
enum OutputStream {
    /// The system, which is given a buffer at a time.
    Callback(cpal::Stream),
    /// A sound server, in which what is not played yet can be changed.
    #[cfg(target_os = "linux")]
    Pulse(PulseStream),
    /// The program itself, with the frames taken so far.
    #[cfg(any(test, feature = "internals"))]
    Program(Box<CallbackMixer>, u64),
}

/// An open card that asks a mixer for sound.
pub(super) struct OutputDevice {
    stream: OutputStream,
    trouble: Arc<StreamErrors>,
    /// What does not change of it.
    info: Info,
    calls_seen: u64,
    looked: Instant,
    /// How long the card has asked for nothing.
    silent: Duration,
}

impl OutputDevice {
    /// Opens the default device, by way of a sound server that lets sound be changed where there is one. `mixer` makes the
    /// mixer for the rate that the card runs at; `shared`, the mixer's own, tells when the card asks for sound.
    pub fn open(
        shared: &SharedState,
        mixer: impl FnOnce(u32) -> CallbackMixer,
    ) -> Result<OutputDevice, SoundError> {
        quiet();
        #[cfg(target_os = "linux")]
        if let Some(ready) = ReadyStream::open()? {
            let trouble = Arc::new(StreamErrors::default());
            let info = Info {
                host: "PulseAudio".into(),
                device: ready.device.clone(),
                rate: RATE,
                channels: 2,
                ..Info::default()
            };
            let stream = ready.start(mixer(RATE), trouble.clone())?;
            return Ok(OutputDevice::on(OutputStream::Pulse(stream), trouble, info));
        }
        let host = cpal::default_host();
        let device = host.default_output_device().ok_or(SoundError::NoDevice)?;
        let open = SoundError::from;
        let usual = device.default_output_config().map_err(open)?;
        // The rate of the waves, if the card takes it in its usual format; else its own rate.
        let same = device
            .supported_output_configs()
            .map_err(open)?
            .filter(|c| {
                c.sample_format() == usual.sample_format() && c.channels() == usual.channels()
            })
            .find_map(|c| c.try_with_sample_rate(RATE));
        let chosen = same.unwrap_or(usual);
        let mut config = chosen.config();
        let host_name = host.id().name().to_string();
        if host_name.eq_ignore_ascii_case("alsa") {
            config.buffer_size = BufferSize::Fixed(match chosen.buffer_size() {
                cpal::SupportedBufferSize::Range { min, max } => {
                    BUFFER.clamp(*min, (*max).max(*min))
                }
                cpal::SupportedBufferSize::Unknown => BUFFER,
            });
        }
        let trouble = Arc::new(StreamErrors::default());
        let format = chosen.sample_format();
        let stream =
            callback_stream::begin(&device, config, format, mixer(config.sample_rate), &trouble)?;
        let called = || shared.calls.load(Ordering::Relaxed) > 0;
        let begun = Instant::now();
        while !called() && begun.elapsed() < FIRST_CALL {
            std::thread::sleep(Duration::from_millis(1));
        }
        // An error at the start is not a refusal where the card asks for sound all the same: ALSA over PulseAudio
        // reports one as long as the server has not yet told its delay.
        if let (false, Some(reason)) = (called(), trouble.reason()) {
            return Err(SoundError::Open(reason));
        }
        let info = Info {
            host: host_name,
            device: device.to_string(),
            rate: config.sample_rate,
            channels: config.channels,
            ..Info::default()
        };
        let stream = OutputStream::Callback(stream);
        Ok(OutputDevice::on(stream, trouble, info))
    }

    fn on(stream: OutputStream, trouble: Arc<StreamErrors>, info: Info) -> OutputDevice {
        OutputDevice {
            stream,
            trouble,
            info,
            calls_seen: 0,
            looked: Instant::now(),
            silent: Duration::ZERO,
        }
    }

    /// The program itself in place of a card.
    #[cfg(any(test, feature = "internals"))]
    pub fn program(mixer: CallbackMixer, rate: u32) -> OutputDevice {
        let info = Info {
            host: "none".into(),
            device: "offline".into(),
            rate,
            channels: 2,
            ..Info::default()
        };
        let stream = OutputStream::Program(Box::new(mixer), 0);
        OutputDevice::on(stream, Arc::default(), info)
    }

    /// Takes the next frames of this many channels for the program itself, interleaved; nothing is taken from a card.
    #[cfg(any(test, feature = "internals"))]
    pub fn pull(&mut self, out: &mut [f32], channels: usize) {
        if let OutputStream::Program(mixer, taken) = &mut self.stream {
            mixer.serve(out, channels, nanos(*taken, self.info.rate), 0);
            *taken += (out.len() / channels) as u64;
        }
    }

    /// Frames a second.
    pub fn rate(&self) -> u32 {
        self.info.rate
    }

    /// A moment on the clock of the stamps, nanoseconds.
    pub fn at(&self, when: Instant) -> u64 {
        #[cfg(any(test, feature = "internals"))]
        if let OutputStream::Program(_, taken) = &self.stream {
            return nanos(*taken, self.info.rate);
        }
        when.saturating_duration_since(origin()).as_nanos() as u64
    }

    /// Lets an order be noticed at once, where the system does not have to ask first.
    pub fn wake(&self) {
        match &self.stream {
            #[cfg(target_os = "linux")]
            OutputStream::Pulse(stream) => stream.wake(),
            _ => {}
        }
    }

    pub fn info(&self, shared: &SharedState) -> Info {
        let told = self.trouble.underruns.load(Ordering::Relaxed);
        let latency = Seconds::new(shared.latency.load(Ordering::Relaxed) as f64 / 1e9);
        let (buffer, key_to_sound) = match &self.stream {
            OutputStream::Callback(stream) => {
                let buffer = stream.buffer_size().ok();
                // A card asks once a buffer, and what it then gets is heard after the delay.
                let waits = f64::from(buffer.unwrap_or(0)) / f64::from(self.info.rate.max(1)) / 2.0;
                (buffer, latency + Seconds::new(waits))
            }
            #[cfg(target_os = "linux")]
            OutputStream::Pulse(stream) => (Some(stream.buffer()), stream.reach()),
            #[cfg(any(test, feature = "internals"))]
            OutputStream::Program(..) => (None, Seconds::ZERO),
        };
        Info {
            buffer,
            latency,
            key_to_sound,
            underruns: told.max(shared.dry.load(Ordering::Relaxed)),
            ..self.info.clone()
        }
    }

    /// Why the device counts as lost, if it does.
    pub fn loss(&mut self, shared: &SharedState) -> Option<String> {
        #[cfg(any(test, feature = "internals"))]
        if let OutputStream::Program(..) = self.stream {
            return None;
        }
        let calls = shared.calls.load(Ordering::Relaxed);
        let reason = self.trouble.reason();
        self.silent += self.looked.elapsed().min(LOOK);
        self.looked = Instant::now();
        if calls != self.calls_seen {
            self.calls_seen = calls;
            self.silent = Duration::ZERO;
            // What went wrong before has passed.
            if let Ok(mut reason) = self.trouble.reason.lock() {
                reason.clear();
            }
        }
        // In words first: a screen may have no room for what the system says.
        let detail = reason
            .as_deref()
            .map_or(String::new(), |r| format!(" ({r})"));
        if self.trouble.is_lost() {
            return Some(format!("the device is gone{detail}"));
        }
        (self.silent > STALLED).then(|| format!("the device has stopped taking sound{detail}"))
    }
}

/// Keeps ALSA from writing to standard error in this thread.
pub(super) fn quiet() {
    #[cfg(target_os = "linux")]
    let _ = alsa::Output::local_error_handler();
}

/// The time that frames last, nanoseconds.
#[cfg(any(test, feature = "internals"))]
fn nanos(frames: u64, rate: u32) -> u64 {
    (u128::from(frames) * 1_000_000_000 / u128::from(rate.max(1))) as u64
}
