//! The microphone: opened on a thread that nobody waits for, heard block by block, found again when it was lost.
//!
//! Nothing that is heard is kept or written anywhere.

use super::output_device::{is_gone, quiet};
use super::played_sound::PlayedSound;
use super::{RETRY, moment, origin};
use rodio::cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use rodio::cpal::{self, BufferSize, FromSample, SampleFormat, SizedSample, StreamConfig};
use std::collections::VecDeque;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel};
use std::thread;
use std::time::{Duration, Instant};

/// Frames in one block where that can be chosen: some 20 ms.
const BLOCK: u32 = 1024;
/// Blocks that may wait to be heard.
const WAITING: usize = 32;
/// The most frames of a block that is taken whole.
const LARGEST: usize = 1 << 14;
/// A microphone from which nothing comes for so long is taken for lost.
const STALLED: Duration = Duration::from_millis(2500);
/// Blocks whose stamps say together when a sample was heard, some ten seconds: a sound server that is busy gives stamps that
/// wander by ten milliseconds.
const STAMPS: usize = 512;
/// Stamps that lie so far from those before, nanoseconds, begin anew: the stream stood still.
const JUMP: i64 = 60_000_000;

/// Why nothing is heard.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
enum MicrophoneError {
    #[error("no microphone was found; check that one is plugged in and switched on")]
    NoDevice,
    /// With the system's words.
    #[error("the microphone did not open: {0}")]
    Open(String),
    /// As the system names it.
    #[error("the microphone gives samples in a format that this program cannot read ({0})")]
    Format(String),
}

impl From<cpal::Error> for MicrophoneError {
    fn from(error: cpal::Error) -> MicrophoneError {
        match error.kind() {
            cpal::ErrorKind::DeviceNotAvailable | cpal::ErrorKind::HostUnavailable => {
                MicrophoneError::NoDevice
            }
            _ => MicrophoneError::Open(error.to_string()),
        }
    }
}

/// What comes from a microphone.
#[derive(Clone, Copy, Debug)]
pub enum MicrophoneEvent<'a> {
    /// It is open; what the system calls it, and its samples a second.
    Opened(&'a str, u32),
    /// The next samples.
    Block(HeardBlock<'a>),
    /// There is none, or it was lost; the reason in words. It is looked for again.
    Lost(&'a str),
}

/// Some samples of a microphone, in the middle of its channels.
#[derive(Clone, Copy, Debug)]
pub struct HeardBlock<'a> {
    /// The samples.
    pub samples: &'a [f32],
    /// What the program played meanwhile, as far as it can be heard then.
    pub played: &'a [f32],
    /// When the first sample was heard, as the system reckons it.
    pub at: Instant,
    /// Samples were lost before this block.
    pub gap: bool,
}

/// A microphone that is listened to as long as this value lives.
#[derive(Debug)]
pub struct Microphone {
    over: Arc<AtomicBool>,
}

impl Drop for Microphone {
    fn drop(&mut self) {
        self.over.store(true, Ordering::Relaxed);
    }
}

impl Microphone {
    /// Begins to listen to the default microphone. `ear` is called on a thread of its own with what comes. `delay` is how much
    /// later (seconds) a sound of the program is heard than the system reckons.
    pub(super) fn begin(
        played: Arc<PlayedSound>,
        delay: f64,
        mut ear: impl FnMut(MicrophoneEvent) + Send + 'static,
    ) -> Microphone {
        let over = Arc::new(AtomicBool::new(false));
        let ends = over.clone();
        thread::spawn(move || {
            quiet();
            let mut told = false;
            while !ends.load(Ordering::Relaxed) {
                let lost = match InputDevice::open() {
                    Ok(device) => {
                        told = false;
                        device.hear(&played, delay, &ends, &mut ear)
                    }
                    Err(error) => error.to_string(),
                };
                if ends.load(Ordering::Relaxed) {
                    return;
                }
                if !std::mem::replace(&mut told, true) {
                    ear(MicrophoneEvent::Lost(&lost));
                }
                thread::sleep(RETRY);
            }
        });
        Microphone { over }
    }
}

/// Samples on their way from the callback, with the place of the first among all and the moment at which it was heard
/// (nanoseconds after [`origin`]), as the system reckons it.
struct RawBlock {
    samples: Vec<f32>,
    first: u64,
    nanos: u64,
}

/// An open microphone.
struct InputDevice {
    stream: cpal::Stream,
    blocks: Receiver<RawBlock>,
    /// Emptied blocks go back, so that the callback takes no memory.
    empty: SyncSender<Vec<f32>>,
    lost: Arc<AtomicBool>,
    name: String,
    rate: u32,
}

impl InputDevice {
    /// Opens the default microphone. May take for ever.
    fn open() -> Result<InputDevice, MicrophoneError> {
        let host = cpal::default_host();
        let device = host
            .default_input_device()
            .ok_or(MicrophoneError::NoDevice)?;
        let usual = device
            .default_input_config()
            .map_err(MicrophoneError::from)?;
        let mut config = usual.config();
        if let cpal::SupportedBufferSize::Range { min, max } = usual.buffer_size() {
            config.buffer_size = BufferSize::Fixed(BLOCK.clamp(*min, (*max).max(*min)));
        }
        let rate = config.sample_rate;
        let (full, blocks) = sync_channel(WAITING);
        let (empty, emptied) = sync_channel(WAITING);
        for _ in 0..WAITING {
            // There is room for all of them.
            let _ = empty.try_send(Vec::with_capacity(LARGEST));
        }
        let lost = Arc::new(AtomicBool::new(false));
        let feed = BlockFeed {
            full,
            emptied,
            taken: 0,
            channels: usize::from(config.channels.max(1)),
        };
        let gone = lost.clone();
        let stream = match usual.sample_format() {
            SampleFormat::F32 => stream::<f32>(&device, config, feed, gone),
            SampleFormat::F64 => stream::<f64>(&device, config, feed, gone),
            SampleFormat::I16 => stream::<i16>(&device, config, feed, gone),
            SampleFormat::I32 => stream::<i32>(&device, config, feed, gone),
            SampleFormat::U16 => stream::<u16>(&device, config, feed, gone),
            SampleFormat::U8 => stream::<u8>(&device, config, feed, gone),
            other => Err(MicrophoneError::Format(other.to_string())),
        }?;
        stream.play().map_err(MicrophoneError::from)?;
        Ok(InputDevice {
            stream,
            blocks,
            empty,
            lost,
            name: device.to_string(),
            rate,
        })
    }

    /// Listens until it is over, or the microphone is lost: then why.
    fn hear(
        self,
        played: &PlayedSound,
        delay: f64,
        over: &AtomicBool,
        ear: &mut dyn FnMut(MicrophoneEvent),
    ) -> String {
        ear(MicrophoneEvent::Opened(&self.name, self.rate));
        let mut clock = SampleClock::new(self.rate);
        let mut reference = Vec::new();
        let mut next = 0;
        let mut silent = Instant::now();
        while !over.load(Ordering::Relaxed) {
            let block = match self.blocks.recv_timeout(Duration::from_millis(200)) {
                Ok(block) => block,
                Err(RecvTimeoutError::Timeout) if silent.elapsed() < STALLED => continue,
                Err(_) => return "the microphone gives no more sound".to_string(),
            };
            silent = Instant::now();
            let nanos = clock.heard(block.first, block.nanos);
            let shifted = nanos.saturating_add_signed(-(delay * 1e9) as i64);
            played.read(shifted, block.samples.len(), self.rate, &mut reference);
            ear(MicrophoneEvent::Block(HeardBlock {
                samples: &block.samples,
                played: &reference,
                at: moment(nanos),
                gap: block.first != next,
            }));
            next = block.first + block.samples.len() as u64;
            let _ = self.empty.try_send(block.samples);
            if self.lost.load(Ordering::Relaxed) {
                return "the microphone is gone".to_string();
            }
        }
        // Named here so that the stream lives until now.
        drop(self.stream);
        String::new()
    }
}

/// When samples were heard: their count and the rate say so, moved to the middle of what the stamps of the last blocks say,
/// which are uneven.
struct SampleClock {
    rate: f64,
    /// When sample 0 was heard, by each of the last stamps, nanoseconds.
    starts: VecDeque<i64>,
}

impl SampleClock {
    fn new(rate: u32) -> SampleClock {
        SampleClock {
            rate: f64::from(rate.max(1)),
            starts: VecDeque::new(),
        }
    }

    /// When sample `first` was heard, which a stamp puts at `nanos`.
    fn heard(&mut self, first: u64, nanos: u64) -> u64 {
        let since = (first as f64 / self.rate * 1e9) as i64;
        let start = nanos as i64 - since;
        if (start - self.middle().unwrap_or(start)).abs() > JUMP {
            self.starts.clear();
        }
        self.starts.push_back(start);
        if self.starts.len() > STAMPS {
            self.starts.pop_front();
        }
        u64::try_from(self.middle().unwrap_or(start) + since).unwrap_or(0)
    }

    fn middle(&self) -> Option<i64> {
        let mut sorted: Vec<i64> = self.starts.iter().copied().collect();
        sorted.sort_unstable();
        sorted.get(sorted.len() / 2).copied()
    }
}

/// What the callback needs.
struct BlockFeed {
    full: SyncSender<RawBlock>,
    emptied: Receiver<Vec<f32>>,
    taken: u64,
    channels: usize,
}

impl BlockFeed {
    fn take<T: SizedSample>(&mut self, data: &[T], nanos: u64)
    where
        f32: FromSample<T>,
    {
        let first = self.taken;
        self.taken += (data.len() / self.channels) as u64;
        let Ok(mut samples) = self.emptied.try_recv() else {
            // Nobody has heard the last blocks yet: this one is lost, and the next tells so.
            return;
        };
        samples.clear();
        let share = 1.0 / self.channels as f32;
        let frames = data.chunks_exact(self.channels).take(LARGEST);
        samples.extend(frames.map(|frame| {
            let sum: f32 = frame.iter().map(|s| s.to_sample::<f32>()).sum();
            sum * share
        }));
        let block = RawBlock {
            samples,
            first,
            nanos,
        };
        let _ = self.full.try_send(block);
    }
}

fn stream<T: SizedSample>(
    device: &cpal::Device,
    config: StreamConfig,
    mut feed: BlockFeed,
    lost: Arc<AtomicBool>,
) -> Result<cpal::Stream, MicrophoneError>
where
    f32: FromSample<T>,
{
    let heard = move |data: &[T], info: &cpal::InputCallbackInfo| {
        let stamp = info.timestamp();
        let ago = stamp.callback.saturating_duration_since(stamp.capture);
        let now = origin().elapsed().saturating_sub(ago);
        feed.take(data, now.as_nanos() as u64);
    };
    let failed = move |error: cpal::Error| {
        if is_gone(error.kind()) {
            lost.store(true, Ordering::Relaxed);
        }
    };
    device
        .build_input_stream(config, heard, failed, None)
        .map_err(MicrophoneError::from)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn uneven_stamps_do_not_move_the_samples() {
        let mut clock = SampleClock::new(48_000);
        // Blocks of 480 samples, 10 ms, that began 5 ms after the program's clock; two stamps are off.
        let off = [0, 0, 0, 3_000_000, 0, -2_000_000, 0, 0];
        for (n, off) in off.into_iter().enumerate() {
            let due = 5_000_000 + 10_000_000 * n as i64;
            let heard = clock.heard(480 * n as u64, (due + off) as u64);
            assert_eq!(heard as i64, due);
        }
        // The stream stood still for a second.
        assert_eq!(clock.heard(480 * 8, 1_085_000_000), 1_085_000_000);
    }
}
