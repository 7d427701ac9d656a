use super::Wave;
use super::desk::{BLOCK, Board, Desk, Order, Reel};
use rodio::cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use rodio::cpal::{self, BufferSize, FromSample, SampleFormat, SizedSample, StreamConfig};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// Frames in one buffer of the card where that can be chosen. Smaller buffers gave wrong time stamps where ALSA goes
/// through a sound server, and the playhead follows the stamps, so the delay does no harm.
const BUFFER: u32 = 4096;
/// The volume at the first start, of 1.
pub(super) const MODERATE: f32 = 0.5;
/// How long to wait before trying again to open a device that was lost.
const RETRY: Duration = Duration::from_secs(2);
/// A card that asks for nothing this long is taken for lost.
const STALLED: Duration = Duration::from_secs(3);

/// Why there is no sound.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SoundError {
    #[error("no sound device was found; check that one is plugged in and switched on")]
    NoDevice,
    #[error("the sound device would not open ({0}); another program may be using it")]
    Open(String),
    #[error("the sound device takes no sample format that this program can make ({0})")]
    Format(String),
}

/// What happened to the sound device since the last look.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// It is gone; the reason in words. The player is silent until it is back.
    Lost(String),
    /// It is back, or another took its place; nothing plays until something is played again.
    Back,
}

/// Where the sound that is heard at a moment lies in its wave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heard {
    /// Frame of [`Wave::frames`], with a share of a frame; in a loop folded back into the passes.
    pub frame: f64,
    /// Frames since the start of the wave, not folded.
    pub since_start: f64,
    /// How often a loop has gone back to the start of the passes.
    pub rounds: usize,
}

/// The device in use.
#[derive(Clone, Debug, PartialEq)]
pub struct Info {
    /// The system's sound interface, as `ALSA`.
    pub host: String,
    pub device: String,
    /// Frames a second.
    pub rate: u32,
    pub channels: u16,
    /// Frames in one buffer, where known.
    pub buffer: Option<u32>,
    /// Seconds from handing a buffer over to hearing its first frame, as the system reports it; 0 before the first
    /// buffer. The delay of converters, amplifiers and wireless links is not in it.
    pub latency: f64,
    /// Times that the card ran out of sound.
    pub underruns: u64,
}

/// What the error callback saw.
#[derive(Debug, Default)]
struct Trouble {
    lost: AtomicBool,
    reason: Mutex<String>,
    underruns: AtomicU64,
}

struct Line {
    stream: cpal::Stream,
    orders: SyncSender<Order>,
    spent: Receiver<Arc<Reel>>,
    trouble: Arc<Trouble>,
    host: String,
    device: String,
    rate: u32,
    channels: u16,
    calls_seen: u64,
    called: Instant,
}

struct Playing {
    number: u64,
    wave: Arc<Wave>,
    looped: bool,
}

/// Plays waves on the default sound device, one at a time.
pub struct Player {
    line: Option<Line>,
    board: Arc<Board>,
    playing: Option<Playing>,
    number: u64,
    tried: Instant,
}

impl Player {
    /// Opens the default sound device.
    ///
    /// # Errors
    /// [`SoundError`], within milliseconds, where there is none or it does not open. Nothing is written to standard
    /// error.
    pub fn open() -> Result<Player, SoundError> {
        let board = Arc::new(Board::default());
        board.volume.store(factor(MODERATE), Ordering::Relaxed);
        Ok(Player {
            line: Some(Line::open(board.clone())?),
            board,
            playing: None,
            number: 0,
            tried: Instant::now(),
        })
    }

    /// Plays a wave from its start, in place of what was playing; `looped` goes round the passes for ever. Silent
    /// while the device is lost.
    pub fn play(&mut self, wave: Arc<Wave>, looped: bool) {
        self.number += 1;
        let Some(line) = &self.line else {
            return;
        };
        while line.spent.try_recv().is_ok() {}
        let reel = reel(&wave, looped, line.rate);
        // A full tray means that the card has stopped asking; that is noticed as a loss.
        let _ = line
            .orders
            .try_send(Order::Play(self.number, Arc::new(reel)));
        self.playing = Some(Playing {
            number: self.number,
            wave,
            looped,
        });
    }

    /// Stops the sound within milliseconds.
    pub fn hush(&mut self) {
        self.playing = None;
        if let Some(line) = &self.line {
            while line.spent.try_recv().is_ok() {}
            let _ = line.orders.try_send(Order::Hush);
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
        let playing = self.playing.as_ref()?;
        let stamp = (*self.board.stamp.lock().ok()?)?;
        if stamp.reel != playing.number {
            return None;
        }
        let ago = when.elapsed().as_nanos() as i128;
        let now = line.stream.now().as_nanos() as i128;
        let later = (now - ago - i128::from(stamp.nanos)) as f64 / 1e9;
        let frames =
            (stamp.at as f64 / f64::from(line.rate) + later) * f64::from(playing.wave.rate());
        fold(&playing.wave, playing.looped, frames)
    }

    /// Volume from 0 to 1. Loudness follows the square of it.
    pub fn set_volume(&mut self, volume: f32) {
        self.board.volume.store(factor(volume), Ordering::Relaxed);
    }

    /// The volume that was set.
    pub fn volume(&self) -> f32 {
        f32::from_bits(self.board.volume.load(Ordering::Relaxed)).sqrt()
    }

    /// The device in use; `None` while it is lost.
    pub fn info(&self) -> Option<Info> {
        let line = self.line.as_ref()?;
        Some(Info {
            host: line.host.clone(),
            device: line.device.clone(),
            rate: line.rate,
            channels: line.channels,
            buffer: line.stream.buffer_size().ok(),
            latency: self.board.latency.load(Ordering::Relaxed) as f64 / 1e9,
            underruns: line.trouble.underruns.load(Ordering::Relaxed),
        })
    }

    /// Looks after the device: notices when it is lost and tries to get it back. To be called about once a second.
    pub fn tend(&mut self) -> Option<Change> {
        if let Some(line) = &mut self.line {
            let reason = line.loss(&self.board)?;
            self.line = None;
            self.playing = None;
            self.tried = Instant::now();
            return Some(Change::Lost(reason));
        }
        if self.tried.elapsed() < RETRY {
            return None;
        }
        self.tried = Instant::now();
        self.line = Some(Line::open(self.board.clone()).ok()?);
        Some(Change::Back)
    }
}

impl Line {
    fn open(board: Arc<Board>) -> Result<Line, SoundError> {
        quiet();
        let host = cpal::default_host();
        let device = host.default_output_device().ok_or(SoundError::NoDevice)?;
        let open = |e: cpal::Error| SoundError::Open(e.to_string());
        let usual = device.default_output_config().map_err(open)?;
        // The rate of the waves, if the card takes it in its usual format; else its own rate.
        let same = device
            .supported_output_configs()
            .map_err(open)?
            .filter(|c| {
                c.sample_format() == usual.sample_format() && c.channels() == usual.channels()
            })
            .find_map(|c| c.try_with_sample_rate(super::RATE));
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

        *board.stamp.lock().unwrap_or_else(|e| e.into_inner()) = None;
        let (orders, incoming) = sync_channel(16);
        let (tray, spent) = sync_channel(32);
        let desk = Desk::new(incoming, tray, board.clone(), config.sample_rate);
        let trouble = Arc::new(Trouble::default());
        let stream = build(&device, config, chosen.sample_format(), desk, &trouble)?;
        stream.play().map_err(open)?;
        Ok(Line {
            stream,
            orders,
            spent,
            trouble,
            host: host_name,
            device: device.to_string(),
            rate: config.sample_rate,
            channels: config.channels,
            calls_seen: board.calls.load(Ordering::Relaxed),
            called: Instant::now(),
        })
    }

    /// Why the device counts as lost, if it does.
    fn loss(&mut self, board: &Board) -> Option<String> {
        let calls = board.calls.load(Ordering::Relaxed);
        if calls != self.calls_seen {
            self.calls_seen = calls;
            self.called = Instant::now();
        }
        if self.trouble.lost.load(Ordering::Relaxed) {
            let reason = self.trouble.reason.lock();
            return Some(reason.map(|r| r.clone()).unwrap_or_default());
        }
        (self.called.elapsed() > STALLED).then(|| "it takes no more sound".to_string())
    }
}

fn build(
    device: &cpal::Device,
    config: StreamConfig,
    format: SampleFormat,
    desk: Desk,
    trouble: &Arc<Trouble>,
) -> Result<cpal::Stream, SoundError> {
    match format {
        SampleFormat::F32 => stream::<f32>(device, config, desk, trouble),
        SampleFormat::F64 => stream::<f64>(device, config, desk, trouble),
        SampleFormat::I16 => stream::<i16>(device, config, desk, trouble),
        SampleFormat::I32 => stream::<i32>(device, config, desk, trouble),
        SampleFormat::U16 => stream::<u16>(device, config, desk, trouble),
        SampleFormat::U8 => stream::<u8>(device, config, desk, trouble),
        other => Err(SoundError::Format(other.to_string())),
    }
}

fn stream<T: SizedSample + FromSample<f32>>(
    device: &cpal::Device,
    config: StreamConfig,
    mut desk: Desk,
    trouble: &Arc<Trouble>,
) -> Result<cpal::Stream, SoundError> {
    let trouble = trouble.clone();
    let channels = usize::from(config.channels.max(1));
    let mut block = [[0.0f32; 2]; BLOCK];
    let sound = move |out: &mut [T], info: &cpal::OutputCallbackInfo| {
        let stamp = info.timestamp();
        let latency = stamp.playback.saturating_duration_since(stamp.callback);
        desk.begin(stamp.playback.as_nanos() as u64, latency.as_nanos() as u64);
        for part in out.chunks_mut(channels * BLOCK) {
            let count = part.len() / channels;
            desk.fill(&mut block[..count]);
            for (frame, into) in block.iter().zip(part.chunks_mut(channels)) {
                if let [one] = into {
                    *one = T::from_sample(0.5 * (frame[0] + frame[1]));
                    continue;
                }
                for (i, sample) in into.iter_mut().enumerate() {
                    *sample = T::from_sample(frame.get(i).copied().unwrap_or(0.0));
                }
            }
        }
    };
    let failed = move |e: cpal::Error| match e.kind() {
        cpal::ErrorKind::Xrun => {
            trouble.underruns.fetch_add(1, Ordering::Relaxed);
        }
        // The stream goes on by itself, somewhere else or with less priority.
        cpal::ErrorKind::DeviceChanged | cpal::ErrorKind::RealtimeDenied => {}
        _ => {
            if let Ok(mut reason) = trouble.reason.lock() {
                *reason = e.to_string();
            }
            trouble.lost.store(true, Ordering::Relaxed);
        }
    };
    device
        .build_output_stream(config, sound, failed, None)
        .map_err(|e| SoundError::Open(e.to_string()))
}

/// Keeps ALSA from writing to standard error in this thread.
fn quiet() {
    #[cfg(target_os = "linux")]
    let _ = alsa::Output::local_error_handler();
}

/// The bits of the amplitude factor of a volume.
fn factor(volume: f32) -> u32 {
    let volume = if volume.is_nan() {
        MODERATE
    } else {
        volume.clamp(0.0, 1.0)
    };
    (volume * volume).to_bits()
}

fn reel(wave: &Wave, looped: bool, rate: u32) -> Reel {
    let ratio = f64::from(rate) / f64::from(wave.rate());
    if !looped {
        return Reel {
            once: resampled(wave.frames(), ratio),
            round: Vec::new(),
        };
    }
    Reel {
        once: resampled(&wave.frames()[..wave.body_end()], ratio),
        round: resampled(wave.ring(), ratio),
    }
}

/// The frames at another rate, `ratio` times as many, by cubic interpolation; the whole stays as long to the
/// nearest frame.
fn resampled(frames: &[[f32; 2]], ratio: f64) -> Vec<[f32; 2]> {
    if ratio == 1.0 || frames.is_empty() {
        return frames.to_vec();
    }
    let count = (frames.len() as f64 * ratio).round().max(1.0) as usize;
    let step = frames.len() as f64 / count as f64;
    let last = frames.len() - 1;
    let get = |i: usize, c: usize| frames[i.min(last)][c];
    (0..count)
        .map(|n| {
            let at = n as f64 * step;
            let i = at as usize;
            let t = (at - i as f64) as f32;
            [0, 1].map(|c| {
                let (a, b, d, e) = (
                    get(i.saturating_sub(1), c),
                    get(i, c),
                    get(i + 1, c),
                    get(i + 2, c),
                );
                // Catmull-Rom spline through the four nearest samples.
                b + 0.5
                    * t
                    * (d - a + t * (2.0 * a - 5.0 * b + 4.0 * d - e + t * (3.0 * (b - d) + e - a)))
            })
        })
        .collect()
}

/// Frames since the start of a wave as a place in it; `None` before its start and after its end.
fn fold(wave: &Wave, looped: bool, since_start: f64) -> Option<Heard> {
    if since_start < 0.0 {
        return None;
    }
    let end = wave.body_end() as f64;
    let round = wave.ring().len() as f64;
    if !looped {
        return (since_start < wave.frames().len() as f64).then_some(Heard {
            frame: since_start,
            since_start,
            rounds: 0,
        });
    }
    if since_start < end || round == 0.0 {
        return Some(Heard {
            frame: since_start,
            since_start,
            rounds: 0,
        });
    }
    let over = since_start - end;
    Some(Heard {
        frame: wave.lead_in() as f64 + over % round,
        since_start,
        rounds: 1 + (over / round) as usize,
    })
}
