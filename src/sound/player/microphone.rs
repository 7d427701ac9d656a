//! The microphone: opened on a thread that nobody waits for, heard block by block, found again when it was lost.
//!
//! Nothing that is heard is kept or written anywhere.

use super::output_device::{SoundError, StreamErrors, quiet};
use super::played_sound::PlayedSound;
use super::sample_clock::{SampleClock, SampleTime};
use super::{RETRY, moment, origin};
use crate::time::Seconds;
use rodio::cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use rodio::cpal::{self, BufferSize, FromSample, SampleFormat, SizedSample, StreamConfig};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel};
use std::thread;
use std::time::{Duration, Instant};

/// Frames in one block where that can be chosen, 5 ms: a sound server stamps no finer than its blocks. Where samples are lost
/// twice as many are tried, up to the second number.
const BLOCK: u32 = 240;
const LARGEST_BLOCK: u32 = 1920;
/// Blocks that may wait to be heard.
const WAITING: usize = 400;
/// The most frames of a block that is taken whole where its size cannot be chosen.
const LARGEST: usize = 1 << 13;
/// A microphone that gives nothing for this long counts as lost.
const STALLED: Duration = Duration::from_millis(2500);
/// Why nothing is heard, in words.
fn why(error: cpal::Error) -> String {
    match SoundError::from(error) {
        SoundError::Open(why) => format!("the microphone did not open: {why}"),
        _ => NO_DEVICE.to_string(),
    }
}

const NO_DEVICE: &str = "no microphone was found; check that one is plugged in and switched on";

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
    /// What the program played meanwhile, left and right, as far as it can be heard then.
    pub played: &'a [[f32; 2]],
    /// When the first sample was heard, as the system reckons it.
    pub at: Instant,
    /// Samples were lost before this block, or it is the first.
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
    /// Begins to listen to the default microphone. `listener` is called on a thread of its own with what comes. `delay` is how much
    /// later a sound of the program is heard than the system reckons.
    pub(super) fn begin(
        played: Arc<PlayedSound>,
        delay: Seconds,
        mut listener: impl FnMut(MicrophoneEvent) + Send + 'static,
    ) -> Microphone {
        let over = Arc::new(AtomicBool::new(false));
        let ends = over.clone();
        thread::spawn(move || {
            quiet();
            let mut told = false;
            let mut block = BLOCK;
            let mut open = None;
            while !ends.load(Ordering::Relaxed) {
                let ended = match InputDevice::open(block) {
                    Ok(device) => {
                        told = false;
                        let is = (device.name.clone(), device.rate);
                        if open.as_ref() != Some(&is) {
                            listener(MicrophoneEvent::Opened(&is.0, is.1));
                            open = Some(is);
                        }
                        device.hear(&played, delay, &ends, &mut listener)
                    }
                    Err(why) => MicrophoneEnd::Lost(why),
                };
                match ended {
                    MicrophoneEnd::Over => return,
                    MicrophoneEnd::TooSmall => block *= 2,
                    MicrophoneEnd::Lost(why) => {
                        open = None;
                        if !std::mem::replace(&mut told, true) {
                            listener(MicrophoneEvent::Lost(&why));
                        }
                        thread::sleep(RETRY);
                    }
                }
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

/// Why a microphone is not listened to any more.
enum MicrophoneEnd {
    /// Nobody listens to it any more.
    Over,
    /// Its blocks are too small for this machine.
    TooSmall,
    /// It is gone, and why.
    Lost(String),
}

/// An open microphone.
struct InputDevice {
    stream: cpal::Stream,
    blocks: Receiver<RawBlock>,
    /// Emptied blocks go back, so that the callback allocates no memory.
    empty: SyncSender<Vec<f32>>,
    errors: Arc<StreamErrors>,
    name: String,
    rate: u32,
    /// Frames of the blocks that were asked for.
    block: u32,
}

impl InputDevice {
    /// Opens the default microphone, with blocks of this many frames where that can be chosen. May take for ever.
    fn open(block: u32) -> Result<InputDevice, String> {
        let host = cpal::default_host();
        let device = host.default_input_device().ok_or(NO_DEVICE)?;
        let usual = device.default_input_config().map_err(why)?;
        let mut config = usual.config();
        if let cpal::SupportedBufferSize::Range { min, max } = usual.buffer_size() {
            config.buffer_size = BufferSize::Fixed(block.clamp(*min, (*max).max(*min)));
        }
        let rate = config.sample_rate;
        let (full, blocks) = sync_channel(WAITING);
        let (empty, emptied) = sync_channel(WAITING);
        let room = match config.buffer_size {
            BufferSize::Fixed(frames) => 2 * frames as usize,
            BufferSize::Default => LARGEST,
        };
        for _ in 0..WAITING {
            // There is room for all of them.
            let _ = empty.try_send(Vec::with_capacity(room));
        }
        let errors = Arc::new(StreamErrors::default());
        let feed = BlockFeed {
            full,
            emptied,
            taken: 0,
            channels: usize::from(config.channels.max(1)),
        };
        let seen = errors.clone();
        let stream = match usual.sample_format() {
            SampleFormat::F32 => stream::<f32>(&device, config, feed, seen),
            SampleFormat::F64 => stream::<f64>(&device, config, feed, seen),
            SampleFormat::I16 => stream::<i16>(&device, config, feed, seen),
            SampleFormat::I32 => stream::<i32>(&device, config, feed, seen),
            SampleFormat::U16 => stream::<u16>(&device, config, feed, seen),
            SampleFormat::U8 => stream::<u8>(&device, config, feed, seen),
            other => Err(format!(
                "the microphone gives samples in a format that this program cannot read ({other})"
            )),
        }?;
        stream.play().map_err(why)?;
        Ok(InputDevice {
            stream,
            blocks,
            empty,
            errors,
            name: device.to_string(),
            rate,
            block,
        })
    }

    /// Listens until it is over, or can go on no longer.
    fn hear(
        self,
        played: &PlayedSound,
        delay: Seconds,
        over: &AtomicBool,
        listener: &mut dyn FnMut(MicrophoneEvent),
    ) -> MicrophoneEnd {
        let mut clock = SampleClock::new(self.rate);
        let mut reference = Vec::new();
        // The first block follows none.
        let mut next = u64::MAX;
        let mut silent = Instant::now();
        while !over.load(Ordering::Relaxed) {
            let block = match self.blocks.recv_timeout(Duration::from_millis(200)) {
                Ok(block) => block,
                Err(RecvTimeoutError::Timeout) if silent.elapsed() < STALLED => continue,
                Err(_) => {
                    return MicrophoneEnd::Lost(
                        "the microphone has stopped giving sound".to_string(),
                    );
                }
            };
            silent = Instant::now();
            if self.errors.take_overrun() {
                if self.block < LARGEST_BLOCK {
                    return MicrophoneEnd::TooSmall;
                }
                clock.restart();
                next = u64::MAX;
            }
            let SampleTime { nanos, moved } = clock.heard(block.first, block.nanos);
            let shifted = nanos.saturating_add_signed(-(delay.seconds() * 1e9) as i64);
            played.read(shifted, block.samples.len(), self.rate, &mut reference);
            listener(MicrophoneEvent::Block(HeardBlock {
                samples: &block.samples,
                played: &reference,
                at: moment(nanos),
                gap: moved || block.first != next,
            }));
            next = block.first + block.samples.len() as u64;
            let _ = self.empty.try_send(block.samples);
            if self.errors.is_lost() {
                return MicrophoneEnd::Lost("the microphone is gone".to_string());
            }
        }
        // Named here so that the stream lives until now.
        drop(self.stream);
        MicrophoneEnd::Over
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
        let frames = data.chunks_exact(self.channels).take(samples.capacity());
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
    errors: Arc<StreamErrors>,
) -> Result<cpal::Stream, String>
where
    f32: FromSample<T>,
{
    let heard = move |data: &[T], info: &cpal::InputCallbackInfo| {
        let stamp = info.timestamp();
        let ago = stamp.callback.saturating_duration_since(stamp.capture);
        let now = origin().elapsed().saturating_sub(ago);
        feed.take(data, now.as_nanos() as u64);
    };
    let failed = move |error: cpal::Error| errors.see(&error);
    device
        .build_input_stream(config, heard, failed, None)
        .map_err(why)
}
