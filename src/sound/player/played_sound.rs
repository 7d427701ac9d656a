//! What was played last, kept for whoever listens to the room: it shows how much of it leaks into a microphone.

use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

/// Frames that are kept, 2.7 s at 48 kHz: more than lie between handing a frame over and hearing it.
const KEPT: usize = 1 << 17;

/// Frame `frame`, counted from the first, is heard `nanos` after [`super::origin`].
#[derive(Clone, Copy, Debug)]
struct FrameStamp {
    frame: u64,
    nanos: u64,
    rate: u32,
}

/// The last seconds of what a device was given, left and right. The device's callback writes, others read.
#[derive(Debug)]
pub(super) struct PlayedSound {
    /// Bits of both samples of a frame in one number, so that they are written and read at once.
    frames: Box<[AtomicU64]>,
    written: AtomicU64,
    stamp: Mutex<Option<FrameStamp>>,
}

impl PlayedSound {
    pub fn new() -> PlayedSound {
        PlayedSound {
            frames: (0..KEPT).map(|_| AtomicU64::new(0)).collect(),
            written: AtomicU64::new(0),
            stamp: Mutex::new(None),
        }
    }

    /// The next frame to be written is heard at `nanos`; the device takes `rate` frames a second. Waits for nobody.
    pub fn stamp(&self, nanos: u64, rate: u32) {
        let frame = self.written.load(Ordering::Relaxed);
        if let Ok(mut stamp) = self.stamp.try_lock() {
            *stamp = Some(FrameStamp { frame, nanos, rate });
        }
    }

    /// Adds frames. Waits for nobody.
    pub fn write(&self, frames: &[[f32; 2]]) {
        let written = self.written.load(Ordering::Relaxed);
        for (n, frame) in (written..).zip(frames) {
            let [left, right] = frame.map(|sample| u64::from(sample.to_bits()));
            self.frames[n as usize % KEPT].store(left << 32 | right, Ordering::Relaxed);
        }
        let written = written + frames.len() as u64;
        self.written.store(written, Ordering::Release);
    }

    /// Takes back this many of the last frames, which are not heard yet: others come in their place.
    pub fn rewind(&self, frames: u64) {
        let written = self.written.load(Ordering::Relaxed);
        let written = written.saturating_sub(frames);
        self.written.store(written, Ordering::Release);
    }

    /// What is heard from `nanos` on, as `count` frames at `rate` a second; silence where that is not known.
    pub fn read(&self, nanos: u64, count: usize, rate: u32, into: &mut Vec<[f32; 2]>) {
        into.clear();
        into.resize(count, [0.0; 2]);
        let written = self.written.load(Ordering::Acquire);
        let Some(stamp) = self.stamp.lock().ok().and_then(|stamp| *stamp) else {
            return;
        };
        let later = (nanos as f64 - stamp.nanos as f64) / 1e9;
        let first = stamp.frame as f64 + later * f64::from(stamp.rate);
        let step = f64::from(stamp.rate) / f64::from(rate.max(1));
        for (i, frame) in into.iter_mut().enumerate() {
            let at = first + i as f64 * step;
            if at >= 0.0 && (at as u64) < written && at as u64 + KEPT as u64 > written {
                let bits = self.frames[at as usize % KEPT].load(Ordering::Relaxed);
                *frame = [(bits >> 32) as u32, bits as u32].map(f32::from_bits);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_read_is_what_is_heard_then() {
        let played = PlayedSound::new();
        let mut read = Vec::new();
        played.read(0, 3, 1000, &mut read);
        assert_eq!(read, [[0.0; 2]; 3]);
        // Frames 1, 2, 3, ... on the left, -1, -2, -3, ... on the right of a device of 1000 frames a second, the first heard at two seconds.
        played.stamp(2_000_000_000, 1000);
        let frames: Vec<[f32; 2]> = (1..=10).map(|n| [n as f32, -n as f32]).collect();
        played.write(&frames);
        played.read(2_003_000_000, 3, 1000, &mut read);
        assert_eq!(read, [[4.0, -4.0], [5.0, -5.0], [6.0, -6.0]]);
        played.read(1_999_000_000, 3, 1000, &mut read);
        assert_eq!(read, [[0.0, 0.0], [1.0, -1.0], [2.0, -2.0]]);
        // At half the rate every second one; after the last there is silence.
        played.read(2_007_000_000, 3, 500, &mut read);
        assert_eq!(read, [[8.0, -8.0], [10.0, -10.0], [0.0, 0.0]]);
        // The last two are taken back; what comes instead is heard when they would have been.
        played.rewind(2);
        played.stamp(2_008_000_000, 1000);
        played.write(&[[0.25; 2]; 2]);
        played.read(2_007_000_000, 3, 1000, &mut read);
        assert_eq!(read, [[8.0, -8.0], [0.25, 0.25], [0.25, 0.25]]);
        // What was written over is gone.
        played.write(&vec![[0.5; 2]; KEPT]);
        played.read(2_003_000_000, 3, 1000, &mut read);
        assert_eq!(read, [[0.0; 2]; 3]);
    }
}
