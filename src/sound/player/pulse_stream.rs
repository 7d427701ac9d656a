//! A stream to a PulseAudio server that holds much sound ahead, so that it does not run dry on a busy machine, and in which what
//! changes is written anew over what is not played yet, so that a key is heard soon: the server calls that rewinding.

use super::SoundError;
use super::mixer::CallbackMixer;
use super::output_device::StreamErrors;
use super::pulse_feeder::PulseFeeder;
use super::pulse_server::{PulseServer, is_timeout};
use crate::sound::RATE;
use crate::time::Seconds;
use pulseaudio::protocol::stream::{BufferAttr, StreamFlags};
use pulseaudio::protocol::{
    ChannelMap, ChannelVolume, Command, CreatePlaybackStreamReply, DEFAULT_SINK, GetSinkInfo,
    PlaybackStreamParams, SampleFormat, SampleSpec, SinkInfo,
};
use std::io::Write;
use std::os::unix::net::UnixStream;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

pub(super) const CHANNELS: usize = 2;
/// Bytes of one frame: two `f32`.
pub(super) const FRAME_BYTES: usize = 4 * CHANNELS;
/// How much sound the server holds: it may be so long until a busy machine lets the program go on.
pub(super) const AHEAD: Seconds = Seconds::new(1.2);
/// How much sound the server's device takes at a time where that can be chosen. What it took is out of reach.
pub(super) const DEVICE: Seconds = Seconds::new(0.02);

/// What the program keeps of a stream; a thread of its own feeds it.
pub(super) struct PulseStream {
    waker: UnixStream,
    ended: Arc<AtomicBool>,
    /// Nanoseconds from now to the first frame that can still be changed.
    reach: Arc<AtomicU64>,
}

/// A stream that a server has made and that is not fed yet.
pub(super) struct ReadyStream {
    server: PulseServer,
    channel: u32,
    /// What the server calls its device.
    pub device: String,
}

impl ReadyStream {
    /// Makes a stream of [`RATE`] to the default device of the session's server; `None` where there is no server, or it refuses.
    ///
    /// # Errors
    /// Where the server does not answer, or has no device.
    pub fn open() -> Result<Option<ReadyStream>, SoundError> {
        let Some(mut server) = PulseServer::connect()? else {
            return Ok(None);
        };
        let sink = Command::GetSinkInfo(GetSinkInfo {
            index: None,
            name: Some(DEFAULT_SINK.to_owned()),
        });
        let made = server.call::<SinkInfo>(&sink).and_then(|sink| {
            let made: CreatePlaybackStreamReply = server.call(&create(sink.index))?;
            server.wait_for_nothing()?;
            Ok((sink, made.channel))
        });
        match made {
            Ok((sink, channel)) => {
                let name = sink.description.unwrap_or(sink.name);
                Ok(Some(ReadyStream {
                    server,
                    channel,
                    device: name.to_string_lossy().into_owned(),
                }))
            }
            Err(error) if is_timeout(&error) => Err(SoundError::NoAnswer),
            Err(_) => Ok(None),
        }
    }

    /// Begins to feed it, on a thread of its own.
    ///
    /// # Errors
    /// Where the system gives no thread or no pair of sockets.
    pub fn start(
        self,
        mixer: CallbackMixer,
        trouble: Arc<StreamErrors>,
    ) -> Result<PulseStream, SoundError> {
        let open = |error: std::io::Error| SoundError::Open(error.to_string());
        let (waker, woken) = UnixStream::pair().map_err(open)?;
        waker.set_nonblocking(true).map_err(open)?;
        woken.set_nonblocking(true).map_err(open)?;
        let ended = Arc::new(AtomicBool::new(false));
        let mut feeder = PulseFeeder::new(self.server, self.channel, mixer, RATE);
        feeder.trouble = trouble.clone();
        let reach = feeder.reach.clone();
        let stop = ended.clone();
        let feed = move || {
            if let Err(error) = feeder.run(&woken, &stop)
                && !stop.load(Ordering::Relaxed)
            {
                trouble.lose(&error.to_string());
            }
        };
        let thread = std::thread::Builder::new().name("sound".into());
        thread.spawn(feed).map_err(open)?;
        Ok(PulseStream {
            waker,
            ended,
            reach,
        })
    }
}

/// The command that makes a stream to a sink.
fn create(sink: u32) -> Command {
    let bytes = |length: Seconds| (length.seconds() * f64::from(RATE)) as u32 * FRAME_BYTES as u32;
    Command::CreatePlaybackStream(PlaybackStreamParams {
        sample_spec: SampleSpec {
            format: match cfg!(target_endian = "big") {
                true => SampleFormat::Float32Be,
                false => SampleFormat::Float32Le,
            },
            channels: CHANNELS as u8,
            sample_rate: RATE,
        },
        channel_map: ChannelMap::stereo(),
        sink_index: Some(sink),
        cvolume: Some(ChannelVolume::norm(CHANNELS as u8)),
        buffer_attr: BufferAttr {
            max_length: bytes(3.0 * AHEAD),
            target_length: bytes(AHEAD),
            // The stream goes on where it ran dry.
            pre_buffering: 0,
            minimum_request_length: bytes(DEVICE),
            ..BufferAttr::default()
        },
        flags: StreamFlags {
            start_corked: true,
            // The device then takes no more at a time than is asked for at a time.
            early_requests: true,
            ..StreamFlags::default()
        },
        ..PlaybackStreamParams::default()
    })
}

impl PulseStream {
    /// Lets an order be noticed at once.
    pub fn wake(&self) {
        // Where nothing more goes in, it is awake.
        let _ = (&self.waker).write(&[0]);
    }

    /// Frames that the server holds.
    pub fn buffer(&self) -> u32 {
        (AHEAD.seconds() * f64::from(RATE)) as u32
    }

    /// From an order to when it is heard; 0 before that is known.
    pub fn reach(&self) -> Seconds {
        Seconds::new(self.reach.load(Ordering::Relaxed) as f64 / 1e9)
    }
}

impl Drop for PulseStream {
    fn drop(&mut self) {
        self.ended.store(true, Ordering::Relaxed);
        self.wake();
    }
}
