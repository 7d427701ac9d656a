//! The part of the player that the sound card calls: plain arithmetic that allocates no memory and waits for nothing.

use super::join_point::{JoinPoint, Junction};
use super::loop_buffer::LoopBuffer;
use super::mix_state::{Curve, Leaving, MixState, Pending, Running};
use super::played_sound::PlayedSound;
use rodio::cpal::{FromSample, Sample};
use std::collections::VecDeque;
use std::sync::atomic::{AtomicU32, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, SyncSender};
use std::sync::{Arc, Mutex, OnceLock};

/// Seconds over which a sound that is stopped or replaced fades.
const FADE_SECONDS: f32 = 0.006;
/// Seconds in which a wave takes over from another.
const TAKE_OVER_SECONDS: f32 = 0.012;
/// Seconds in which the volume goes most of the way to a new value.
const VOLUME_SECONDS: f32 = 0.02;
/// Calls in which a card fills its buffer and starts; its time stamps are guesses until then.
const STARTING: u64 = 8;
/// Frames mixed at a time.
const BLOCK: usize = 256;
/// Orders that may wait.
pub(super) const WAITING: usize = 16;

pub(super) enum Order {
    /// Play a buffer; the number names it in stamps.
    Play(u64, Arc<LoopBuffer>),
    /// Let a buffer take over from the one that plays.
    TakeOver(u64, Arc<LoopBuffer>, JoinPoint),
    Hush,
}

/// Frame `at` of buffer `buffer` is heard `nanos` after the origin of the clock.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stamp {
    pub buffer: u64,
    pub at: i64,
    pub nanos: u64,
    /// Frames handed over with this buffer: what is heard lies no later than their end.
    pub frames: usize,
    /// The last change from one buffer to another, or the next one where it is known.
    pub junction: Option<Junction>,
}

/// What both sides see.
#[derive(Debug, Default)]
pub(super) struct SharedState {
    /// Bits of the volume factor, an `f32`.
    pub volume: AtomicU32,
    pub stamp: Mutex<Option<Stamp>>,
    /// Times that the card asked for sound, or showed in another way that it plays.
    pub calls: AtomicU64,
    /// Delay from a call to the moment when its first frame is heard, nanoseconds.
    pub latency: AtomicU64,
    /// Times that the card had played all that it was given before it asked again.
    pub dry: AtomicU64,
    /// Where what is played is kept, if somebody listens to the room.
    pub played: OnceLock<Arc<PlayedSound>>,
}

pub(super) struct CallbackMixer {
    orders: Receiver<Order>,
    /// Orders that were received and not yet carried out.
    waiting: VecDeque<Order>,
    /// Bits of the volume factor when orders were received last.
    volume_seen: u32,
    /// Buffers are sent back to be dropped, since freeing memory may wait.
    spent: SyncSender<Arc<LoopBuffer>>,
    shared: Arc<SharedState>,
    state: MixState,
    volume_step: f32,
    rate: u32,
    /// When the last frame handed over is over, on the stream's clock.
    lasts_until: u64,
}

impl CallbackMixer {
    pub fn new(
        orders: Receiver<Order>,
        spent: SyncSender<Arc<LoopBuffer>>,
        shared: Arc<SharedState>,
        rate: u32,
    ) -> CallbackMixer {
        let volume_seen = shared.volume.load(Ordering::Relaxed);
        CallbackMixer {
            orders,
            waiting: VecDeque::with_capacity(WAITING),
            volume_seen,
            spent,
            shared,
            state: MixState {
                running: None,
                leaving: None,
                pending: None,
                junction: None,
                volume: f32::from_bits(volume_seen),
            },
            volume_step: 1.0 - (-1.0 / (VOLUME_SECONDS * rate as f32)).exp(),
            rate: rate.max(1),
            lasts_until: 0,
        }
    }

    /// Receives what was ordered; true where something waits to be carried out, or the volume was changed.
    pub fn receive(&mut self) -> bool {
        while self.waiting.len() < WAITING
            && let Ok(order) = self.orders.try_recv()
        {
            self.waiting.push_back(order);
        }
        let volume = self.shared.volume.load(Ordering::Relaxed);
        let turned = std::mem::replace(&mut self.volume_seen, volume) != volume;
        turned || !self.waiting.is_empty()
    }

    /// The card plays, though it asks for nothing just now.
    pub fn is_well(&self) {
        self.shared.calls.fetch_add(1, Ordering::Relaxed);
    }

    /// What is mixed from here on.
    pub fn state(&self) -> MixState {
        self.state.clone()
    }

    /// Goes back by this many frames, to where the state was this: they are mixed anew.
    pub fn rewind(&mut self, state: MixState, frames: u64) {
        self.state = state;
        if let Some(played) = self.shared.played.get() {
            played.rewind(frames);
        }
    }

    /// Receives what was ordered and fills a buffer of the card, as [`CallbackMixer::mix`] does.
    pub fn serve<T: Sample + FromSample<f32>>(
        &mut self,
        out: &mut [T],
        channels: usize,
        heard_nanos: u64,
        latency_nanos: u64,
    ) {
        self.receive();
        self.mix(out, channels, heard_nanos, latency_nanos);
    }

    /// Carries out what was received and fills a buffer of the card with `channels` samples a frame. Its first frame is heard `heard_nanos` after the
    /// origin of the stream's clock, `latency_nanos` from now. One channel gets the middle of both sides, channels
    /// after the second stay silent.
    pub fn mix<T: Sample + FromSample<f32>>(
        &mut self,
        out: &mut [T],
        channels: usize,
        heard_nanos: u64,
        latency_nanos: u64,
    ) {
        self.begin(heard_nanos, latency_nanos, out.len() / channels);
        for part in out.chunks_mut(channels * BLOCK) {
            let mut block = [[0.0; 2]; BLOCK];
            let count = part.len() / channels;
            self.fill(&mut block[..count]);
            if let Some(played) = self.shared.played.get() {
                played.write(&block[..count]);
            }
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
    }

    /// Carries out orders and notes when the buffer is heard.
    fn begin(&mut self, heard_nanos: u64, latency_nanos: u64, frames: usize) {
        if self.state.running.is_none() && self.state.leaving.is_none() {
            // Nothing sounds, so nothing needs to change slowly.
            self.state.volume = f32::from_bits(self.shared.volume.load(Ordering::Relaxed));
        }
        while let Some(order) = self.waiting.pop_front() {
            match order {
                Order::Hush => self.replace(None, Curve::Cut),
                Order::TakeOver(number, buffer, entry) if self.state.running.is_some() => {
                    self.prepare(number, buffer, entry);
                }
                Order::Play(number, buffer) | Order::TakeOver(number, buffer, _) => {
                    let at = 0;
                    let new = Running { buffer, number, at };
                    self.replace(Some(new), Curve::Cut);
                }
            }
        }
        self.shared.calls.fetch_add(1, Ordering::Relaxed);
        self.shared.latency.store(latency_nanos, Ordering::Relaxed);
        self.look_for_gap(heard_nanos, latency_nanos, frames);
        if let Some(played) = self.shared.played.get() {
            played.stamp(heard_nanos, self.rate);
        }
        // Where a reader holds the stamp just now, the one before stays good: it only lies further back.
        if let Ok(mut stamp) = self.shared.stamp.try_lock() {
            *stamp = self.state.running.as_ref().map(|r| Stamp {
                buffer: r.number,
                at: r.at,
                nanos: heard_nanos,
                frames,
                junction: self.state.junction,
            });
        }
    }

    /// Settles where a buffer takes over from the one that runs.
    fn prepare(&mut self, number: u64, buffer: Arc<LoopBuffer>, entry: JoinPoint) {
        let Some(running) = &self.state.running else {
            return;
        };
        let fading = self.state.leaving.as_ref().map_or(0.0, |l| l.left / l.step);
        let fade = (TAKE_OVER_SECONDS * self.rate as f32) as i64;
        let from = running.at + fading.ceil() as i64;
        let (when, at) = entry.places(&running.buffer, &buffer, from, fade);
        let junction = Junction {
            old: running.number,
            when,
            new: number,
            at,
        };
        let curve = match running.buffer.goes_with(&buffer) {
            true => Curve::SamePulse,
            false => Curve::OtherPulse,
        };
        let running = Running { buffer, number, at };
        self.forget_pending();
        self.state.junction = Some(junction);
        self.state.pending = Some(Pending {
            running,
            curve,
            junction,
        });
    }

    /// Notes where the card went dry. Not every way to a card tells: ALSA through a sound server does not.
    fn look_for_gap(&mut self, heard_nanos: u64, latency_nanos: u64, frames: usize) {
        let now = heard_nanos.saturating_sub(latency_nanos);
        let calls = self.shared.calls.load(Ordering::Relaxed);
        if calls > STARTING && now > self.lasts_until {
            self.shared.dry.fetch_add(1, Ordering::Relaxed);
        }
        self.lasts_until = heard_nanos + frames as u64 * 1_000_000_000 / u64::from(self.rate);
    }

    /// Mixes the next frames.
    fn fill(&mut self, out: &mut [[f32; 2]]) {
        let wanted = f32::from_bits(self.shared.volume.load(Ordering::Relaxed));
        for frame in out.iter_mut() {
            *frame = [0.0; 2];
            self.take_over();
            let leaving = self.state.leaving.as_ref();
            let [gain, leaving_gain] = leaving.map_or([1.0, 0.0], |l| l.curve.gains(l.left));
            if let Some(running) = &mut self.state.running
                && let Some(sound) = running.buffer.frame(running.at)
            {
                *frame = sound.map(|s| s * gain);
                running.at += 1;
            }
            if let Some(leaving) = &mut self.state.leaving {
                let old = &mut leaving.running;
                let sound = old.buffer.frame(old.at).unwrap_or([0.0; 2]);
                old.at += 1;
                frame[0] += sound[0] * leaving_gain * leaving.gain;
                frame[1] += sound[1] * leaving_gain * leaving.gain;
                leaving.left -= leaving.step;
                if leaving.left <= 0.0 {
                    self.drop_leaving();
                }
            }
            self.state.volume += (wanted - self.state.volume) * self.volume_step;
            frame[0] = (frame[0] * self.state.volume).clamp(-1.0, 1.0);
            frame[1] = (frame[1] * self.state.volume).clamp(-1.0, 1.0);
        }
        let over = self
            .state
            .running
            .as_ref()
            .is_some_and(|r| r.buffer.frame(r.at).is_none());
        if over && let Some(running) = self.state.running.take() {
            self.give_back(running);
        }
    }

    /// Begins the change that is due. If the wave before it is over already, the change is due too.
    fn take_over(&mut self) {
        let due = |p: &Pending| {
            let running = self.state.running.as_ref();
            running.is_none_or(|r| r.at >= p.junction.when)
        };
        if self.state.pending.as_ref().is_some_and(due)
            && let Some(pending) = self.state.pending.take()
        {
            self.replace(Some(pending.running), pending.curve);
            self.state.junction = Some(pending.junction);
        }
    }

    /// Fades the running buffer out and lets `new` run.
    fn replace(&mut self, new: Option<Running>, curve: Curve) {
        self.forget_pending();
        self.state.junction = None;
        let fading = self.state.leaving.as_ref();
        let gain = fading.map_or(1.0, |l| l.curve.gains(l.left)[0]);
        let seconds = match curve {
            Curve::Cut => FADE_SECONDS,
            _ => TAKE_OVER_SECONDS,
        };
        if let Some(running) = self.state.running.take() {
            self.drop_leaving();
            self.state.leaving = Some(Leaving {
                running,
                curve,
                left: 1.0,
                step: 1.0 / (seconds * self.rate as f32),
                gain,
            });
        }
        self.state.running = new;
    }

    fn drop_leaving(&mut self) {
        if let Some(leaving) = self.state.leaving.take() {
            self.give_back(leaving.running);
        }
    }

    fn forget_pending(&mut self) {
        if let Some(pending) = self.state.pending.take() {
            self.give_back(pending.running);
        }
    }

    fn give_back(&self, running: Running) {
        // The other side empties the queue at every order; where it is gone, the memory is freed here.
        let _ = self.spent.try_send(running.buffer);
    }

    /// The place in the running buffer of the frame that is mixed next.
    pub fn at(&self) -> Option<i64> {
        Some(self.state.running.as_ref()?.at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc::sync_channel;

    #[test]
    fn a_card_that_asks_too_late_has_gone_dry_once() {
        let shared = Arc::new(SharedState::default());
        let (_orders, incoming) = sync_channel(1);
        let (used, _spent) = sync_channel(1);
        let mut mixer = CallbackMixer::new(incoming, used, shared.clone(), 48_000);
        // A buffer of 10 ms is asked for 20 ms before it is heard.
        let mut ask = |now_ms: u64, ahead_ms: u64| {
            let heard = (now_ms + ahead_ms) * 1_000_000;
            mixer.serve(&mut [0.0f32; 960], 2, heard, ahead_ms * 1_000_000);
            shared.dry.load(Ordering::Relaxed)
        };
        // Before a card is under way its stamps jump, and mean nothing.
        assert_eq!((ask(0, 0), ask(1500, 20)), (0, 0));
        let steady = (1..50).map(|n| ask(1500 + 10 * n, 20)).max();
        assert_eq!(steady, Some(0));
        // All that it had was over at 2020 ms.
        assert_eq!(ask(2019, 1), 0);
        assert_eq!(ask(2100, 20), 1);
        assert_eq!(ask(2110, 20), 1);
    }
}
