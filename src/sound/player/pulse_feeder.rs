//! What feeds a stream of a PulseAudio server: it keeps the server supplied, and goes back where something was ordered.

use super::mix_state::MixState;
use super::mixer::CallbackMixer;
use super::origin;
use super::output_device::StreamErrors;
use super::pulse_server::PulseServer;
use super::pulse_stream::{AHEAD, CHANNELS, DEVICE, FRAME_BYTES};
use super::sample_clock::SampleClock;
use crate::time::Seconds;
use pulseaudio::protocol::{
    Command, CorkStreamParams, LatencyParams, PlaybackLatency, ProtocolError,
};
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use std::collections::VecDeque;
use std::io::Read;
use std::os::unix::net::UnixStream;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::SystemTime;

/// Time between what the device has taken, as it is reckoned, and what is written anew: the way to the server.
const MARGIN: Seconds = Seconds::new(0.006);
/// Frames between two places that can be gone back to, 5 ms.
const STEP: usize = 240;
/// Steps that are sent together.
const TOGETHER: i64 = 4;
/// The most nanoseconds over which the server's progress is reckoned on from its last answer. One that hangs gets no more.
const RECKONED: u64 = 400_000_000;
/// Answers from which the greatest delay of the device is taken, some second.
const DELAYS: usize = 50;
/// Nanoseconds between two questions where the server is, and the longest sleep.
const ASK: u64 = 20_000_000;
const SLEEP: i64 = 10_000_000;

/// Where the server was when it answered.
#[derive(Clone, Copy)]
struct ServerPosition {
    /// Frames that its device had taken.
    read: i64,
    /// When that was, nanoseconds after [`origin`].
    at: u64,
    /// When frame 0 was heard, nanoseconds after [`origin`]; before the clock's origin where that is negative.
    start: i64,
}

/// What feeds a stream.
pub(super) struct PulseFeeder {
    server: PulseServer,
    channel: u32,
    mixer: CallbackMixer,
    clock: SampleClock,
    rate: f64,
    position: Option<ServerPosition>,
    /// The delays of the device in the last answers, nanoseconds.
    delays: VecDeque<u64>,
    /// When the server was asked last where it is.
    asked: u64,
    /// Frames that were written: the next one's place.
    written: i64,
    /// Frames that the next ones lie from where the server expects them.
    offset: i64,
    /// Frames to which there was sound before it was gone back.
    until: i64,
    /// What was mixed from a frame on, for the frames that can be gone back to.
    kept: VecDeque<(i64, MixState)>,
    /// An order is carried out with the next frame.
    ordered: bool,
    /// How far it is to the first frame that can be changed, nanoseconds.
    pub reach: Arc<AtomicU64>,
    /// What goes wrong.
    pub trouble: Arc<StreamErrors>,
}

fn now() -> u64 {
    origin().elapsed().as_nanos() as u64
}

impl PulseFeeder {
    /// For stream `channel` of a server, at `rate` frames a second.
    pub fn new(server: PulseServer, channel: u32, mixer: CallbackMixer, rate: u32) -> PulseFeeder {
        PulseFeeder {
            server,
            channel,
            mixer,
            clock: SampleClock::new(rate),
            rate: f64::from(rate),
            position: None,
            delays: VecDeque::with_capacity(DELAYS),
            asked: 0,
            written: 0,
            offset: 0,
            until: 0,
            kept: VecDeque::new(),
            ordered: false,
            reach: Arc::default(),
            trouble: Arc::default(),
        }
    }

    /// Feeds the stream until it is told to stop; `woken` says that there is an order.
    ///
    /// # Errors
    /// Where the server goes away or ends the stream.
    pub fn run(mut self, woken: &UnixStream, stop: &AtomicBool) -> Result<(), ProtocolError> {
        // Until the server says where it is, the first frames are heard when the device has had its time.
        let begun = now();
        let guess = ServerPosition {
            read: 0,
            at: begun,
            start: begun as i64 + (DEVICE.seconds() * 1e9) as i64,
        };
        self.fill(guess, begun)?;
        self.server
            .tell(&Command::CorkPlaybackStream(CorkStreamParams {
                channel: self.channel,
                cork: false,
            }))?;
        while !stop.load(Ordering::Relaxed) {
            self.ask()?;
            self.server.send()?;
            self.sleep(woken)?;
            self.listen()?;
            if let Some(position) = self.position {
                let now = now();
                if self.mixer.receive() {
                    self.rewind(position, now);
                }
                self.fill(position, now)?;
            }
        }
        Ok(())
    }

    /// Sleeps until the server has something to say or takes more, an order comes, or it is time to ask.
    fn sleep(&mut self, woken: &UnixStream) -> Result<(), ProtocolError> {
        let mut wanted = PollFlags::IN;
        wanted.set(PollFlags::OUT, self.server.has_outgoing());
        let mut ends = [
            PollFd::new(&self.server, wanted),
            PollFd::new(woken, PollFlags::IN),
        ];
        let longest = Timespec {
            tv_sec: 0,
            tv_nsec: SLEEP,
        };
        match poll(&mut ends, Some(&longest)) {
            Err(error) if error != rustix::io::Errno::INTR => {
                return Err(std::io::Error::from(error).into());
            }
            _ => {}
        }
        let mut woken = woken;
        let mut bytes = [0; 64];
        // How often it was woken does not matter.
        while woken
            .read(&mut bytes)
            .is_ok_and(|count| count == bytes.len())
        {}
        Ok(())
    }

    fn ask(&mut self) -> Result<(), ProtocolError> {
        let now = now();
        if now.saturating_sub(self.asked) < ASK {
            return Ok(());
        }
        let question = Command::GetPlaybackLatency(LatencyParams {
            channel: self.channel,
            now: SystemTime::now(),
        });
        if self.server.ask_latency(&question)? {
            self.asked = now;
        }
        Ok(())
    }

    /// Takes what the server has to say.
    fn listen(&mut self) -> Result<(), ProtocolError> {
        let (channel, trouble) = (self.channel, &self.trouble);
        let latest = self.server.receive(|message| {
            match message {
                Command::Underflow(_) => trouble.ran_dry(),
                Command::PlaybackStreamKilled(killed) if killed == channel => {
                    return Err(ProtocolError::Invalid("the server ended the stream".into()));
                }
                _ => {}
            }
            Ok(())
        })?;
        if let Some(latency) = latest {
            self.locate(&latency);
        }
        Ok(())
    }

    /// Notes where the server is.
    fn locate(&mut self, latency: &PlaybackLatency) {
        let now = now();
        // Server and program have the same clock; the answer is not older than the question.
        let age = SystemTime::now().duration_since(latency.remote_time);
        let age = age.map_or(0, |age| age.as_nanos() as u64);
        let at = now - age.min(now.saturating_sub(self.asked));
        let delay = latency.sink_usec.saturating_mul(1000);
        if self.delays.len() == DELAYS {
            self.delays.pop_front();
        }
        self.delays.push_back(delay);
        let read = latency.read_offset / FRAME_BYTES as i64;
        let frames = u64::try_from(read).unwrap_or(0);
        let heard = self.clock.heard(frames, at.saturating_add(delay)).nanos;
        let start = heard as i64 - self.nanos(read);
        // A device that plays out what it had before has not taken anything yet, and is well.
        let last = self.position.replace(ServerPosition { read, at, start });
        let plays = self
            .delays
            .iter()
            .rev()
            .nth(1)
            .is_some_and(|before| delay < *before);
        if plays || last.is_some_and(|last| last.read != read) {
            self.mixer.is_well();
        }
        // Where it has gone on without sound, what comes next comes now. A device that took much at a time gives it back when the
        // stream begins, and is followed.
        let most = ((AHEAD.seconds() + RECKONED as f64 / 1e9 + 0.5) * self.rate) as i64;
        if read > self.written || self.written > read + most {
            let next = read + (DEVICE.seconds() * self.rate) as i64;
            self.offset += next - self.written;
            self.written = next;
            self.until = next;
            self.kept.clear();
            self.delays.clear();
        }
    }

    /// Nanoseconds that frames last.
    fn nanos(&self, frames: i64) -> i64 {
        (frames as f64 / self.rate * 1e9) as i64
    }

    /// The first frame that can still be changed.
    fn changeable(&self, position: ServerPosition, now: u64) -> i64 {
        let delay = self.delays.iter().max().copied().unwrap_or(0);
        // PipeWire says nothing of what its device has taken.
        let delay = delay.max((DEVICE.seconds() * 1e9) as u64);
        let heard = (now as i64 - position.start) as f64 / 1e9 * self.rate;
        (heard + (delay as f64 / 1e9 + MARGIN.seconds()) * self.rate) as i64
    }

    /// Goes back to the first frame that can still be changed, so that what was ordered is heard from there on.
    fn rewind(&mut self, position: ServerPosition, now: u64) {
        let from = self.changeable(position, now);
        let place = self.kept.partition_point(|(frame, _)| *frame < from);
        let Some((frame, state)) = self.kept.get(place).cloned() else {
            return;
        };
        // The state before the order is no place to go back to afterwards.
        self.kept.truncate(place);
        let back = self.written - frame;
        self.mixer.rewind(state, back as u64);
        self.until = self.until.max(self.written);
        self.offset -= back;
        self.written = frame;
        self.ordered = true;
    }

    /// Mixes and queues what is missing.
    fn fill(&mut self, position: ServerPosition, now: u64) -> Result<(), ProtocolError> {
        let since = now.saturating_sub(position.at).min(RECKONED);
        let read = position.read + (since as f64 / 1e9 * self.rate) as i64;
        let until = self.until.max(read + (AHEAD.seconds() * self.rate) as i64);
        while self.written + TOGETHER * STEP as i64 <= until {
            self.mix_together(position, now)?;
        }
        Ok(())
    }

    /// Mixes and queues some steps.
    fn mix_together(&mut self, position: ServerPosition, now: u64) -> Result<(), ProtocolError> {
        let mut bytes = Vec::with_capacity(TOGETHER as usize * STEP * FRAME_BYTES);
        for _ in 0..TOGETHER {
            if !std::mem::take(&mut self.ordered) {
                self.kept.push_back((self.written, self.mixer.state()));
            }
            let heard = position.start + self.nanos(self.written);
            let heard = u64::try_from(heard).unwrap_or(0);
            let mut frames = [0.0f32; CHANNELS * STEP];
            let latency = heard.saturating_sub(now);
            self.mixer.mix(&mut frames, CHANNELS, heard, latency);
            bytes.extend(frames.iter().flat_map(|sample| sample.to_ne_bytes()));
            self.written += STEP as i64;
        }
        let offset = std::mem::take(&mut self.offset) * FRAME_BYTES as i64;
        self.server.queue_sound(self.channel, &bytes, offset)?;
        let out_of_reach = self.changeable(position, now);
        let gone = self
            .kept
            .partition_point(|(frame, _)| *frame < out_of_reach);
        self.kept.drain(..gone);
        let reach = position.start + self.nanos(out_of_reach + STEP as i64 / 2) - now as i64;
        self.reach
            .store(u64::try_from(reach).unwrap_or(0), Ordering::Relaxed);
        Ok(())
    }
}

#[cfg(test)]
mod tests;
