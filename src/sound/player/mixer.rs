//! The part of the player that the sound card calls: plain arithmetic that takes no memory and waits for nothing.

use super::loop_buffer::LoopBuffer;
use rodio::cpal::{FromSample, Sample};
use std::sync::atomic::{AtomicU32, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, SyncSender};
use std::sync::{Arc, Mutex};

/// Seconds over which a sound that is stopped or replaced fades.
const FADE_SECONDS: f32 = 0.006;
/// Seconds in which the volume goes most of the way to a new value.
const VOLUME_SECONDS: f32 = 0.02;
/// Calls in which a card fills its buffer and starts; its time stamps are guesses until then.
const STARTING: u64 = 8;
/// Frames mixed at a time.
const BLOCK: usize = 256;

pub(super) enum Order {
    /// Play a reel; the number names it in stamps.
    Play(u64, Arc<LoopBuffer>),
    Hush,
}

/// Frame `at` of reel `reel` is heard `nanos` after the origin of the stream's clock.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stamp {
    pub buffer: u64,
    pub at: usize,
    pub nanos: u64,
    /// Frames handed over with this buffer: what is heard lies no later than their end.
    pub frames: usize,
}

/// What both sides see.
#[derive(Debug, Default)]
pub(super) struct SharedState {
    /// Bits of the volume factor, an `f32`.
    pub volume: AtomicU32,
    pub stamp: Mutex<Option<Stamp>>,
    /// Times that the card asked for sound.
    pub calls: AtomicU64,
    /// Delay from a call to the moment when its first frame is heard, nanoseconds.
    pub latency: AtomicU64,
    /// Times that the card had played all that it was given before it asked again.
    pub dry: AtomicU64,
}

struct Running {
    buffer: Arc<LoopBuffer>,
    number: u64,
    at: usize,
}

pub(super) struct CallbackMixer {
    orders: Receiver<Order>,
    /// Reels are sent back to be dropped, since freeing memory may wait.
    spent: SyncSender<Arc<LoopBuffer>>,
    shared: Arc<SharedState>,
    running: Option<Running>,
    leaving: Option<Running>,
    leaving_gain: f32,
    volume: f32,
    fade: f32,
    volume_step: f32,
    rate: u32,
    /// Calls on the board before the first of this desk.
    first_call: u64,
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
        let volume = f32::from_bits(shared.volume.load(Ordering::Relaxed));
        let first_call = shared.calls.load(Ordering::Relaxed);
        CallbackMixer {
            orders,
            spent,
            shared,
            running: None,
            leaving: None,
            leaving_gain: 0.0,
            volume,
            fade: 1.0 / (FADE_SECONDS * rate as f32),
            volume_step: 1.0 - (-1.0 / (VOLUME_SECONDS * rate as f32)).exp(),
            rate: rate.max(1),
            first_call,
            lasts_until: 0,
        }
    }

    /// Fills a buffer of the card with `channels` samples a frame. Its first frame is heard `heard_nanos` after the
    /// origin of the stream's clock, `latency_nanos` from now. One channel gets the middle of both sides, channels
    /// after the second stay silent.
    pub fn serve<T: Sample + FromSample<f32>>(
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

    /// Takes orders and notes when the buffer is heard.
    fn begin(&mut self, heard_nanos: u64, latency_nanos: u64, frames: usize) {
        if self.running.is_none() && self.leaving.is_none() {
            // Nothing sounds, so nothing needs to change slowly.
            self.volume = f32::from_bits(self.shared.volume.load(Ordering::Relaxed));
        }
        while let Ok(order) = self.orders.try_recv() {
            self.retire(true);
            if let Order::Play(number, buffer) = order {
                self.running = Some(Running {
                    buffer,
                    number,
                    at: 0,
                });
            }
        }
        self.shared.calls.fetch_add(1, Ordering::Relaxed);
        self.shared.latency.store(latency_nanos, Ordering::Relaxed);
        self.look_for_gap(heard_nanos, latency_nanos, frames);
        // Where a reader holds the stamp just now, the one before stays good: it only lies further back.
        if let Ok(mut stamp) = self.shared.stamp.try_lock() {
            *stamp = self.running.as_ref().map(|r| Stamp {
                buffer: r.number,
                at: r.at,
                nanos: heard_nanos,
                frames,
            });
        }
    }

    /// Notes where the card went dry. Not every way to a card tells: ALSA through a sound server does not.
    fn look_for_gap(&mut self, heard_nanos: u64, latency_nanos: u64, frames: usize) {
        let now = heard_nanos.saturating_sub(latency_nanos);
        let calls = self.shared.calls.load(Ordering::Relaxed) - self.first_call;
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
            if let Some(running) = &mut self.running
                && let Some(sound) = running.buffer.frame(running.at)
            {
                *frame = sound;
                running.at += 1;
            }
            if let Some(leaving) = &mut self.leaving {
                let sound = leaving.buffer.frame(leaving.at).unwrap_or([0.0; 2]);
                leaving.at += 1;
                frame[0] += sound[0] * self.leaving_gain;
                frame[1] += sound[1] * self.leaving_gain;
                self.leaving_gain -= self.fade;
                if self.leaving_gain <= 0.0 {
                    self.drop_leaving();
                }
            }
            self.volume += (wanted - self.volume) * self.volume_step;
            frame[0] = (frame[0] * self.volume).clamp(-1.0, 1.0);
            frame[1] = (frame[1] * self.volume).clamp(-1.0, 1.0);
        }
        let over = self
            .running
            .as_ref()
            .is_some_and(|r| r.buffer.frame(r.at).is_none());
        if over {
            self.retire(false);
        }
    }

    /// Takes the running reel off, fading it or at once.
    fn retire(&mut self, fading: bool) {
        let Some(running) = self.running.take() else {
            return;
        };
        self.drop_leaving();
        self.leaving = Some(running);
        if fading {
            self.leaving_gain = 1.0;
        } else {
            self.drop_leaving();
        }
    }

    fn drop_leaving(&mut self) {
        if let Some(leaving) = self.leaving.take() {
            // The other side empties the tray at every order; where it is gone, the memory is freed here.
            let _ = self.spent.try_send(leaving.buffer);
        }
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
        let (tray, _spent) = sync_channel(1);
        let mut mixer = CallbackMixer::new(incoming, tray, shared.clone(), 48_000);
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
