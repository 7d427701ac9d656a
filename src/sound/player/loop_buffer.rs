//! A wave at the rate of the device, played once or round and round.

use crate::sound::Wave;
use std::sync::Arc;

/// A wave as a card plays it: once through, or once and then round and round its second form.
#[derive(Debug)]
pub(super) struct LoopBuffer {
    wave: Arc<Wave>,
    looped: bool,
    /// Both parts at the rate of the card, where that is not the rate of the wave.
    converted: Option<[Vec<[f32; 2]>; 2]>,
}

impl LoopBuffer {
    /// The reel of a wave for a card of `rate` frames a second.
    pub fn new(wave: Arc<Wave>, looped: bool, rate: u32) -> LoopBuffer {
        let mut buffer = LoopBuffer {
            wave,
            looped,
            converted: None,
        };
        if rate != buffer.wave.rate() {
            let ratio = f64::from(rate) / f64::from(buffer.wave.rate());
            let [once, round] = buffer.parts();
            buffer.converted = Some([resampled(once, ratio), resampled(round, ratio)]);
        }
        buffer
    }

    /// What is played once, and what goes round after it.
    fn parts(&self) -> [&[[f32; 2]]; 2] {
        match &self.converted {
            Some([once, round]) => [once, round],
            None if self.looped => [
                &self.wave.frames()[..self.wave.body_end()],
                self.wave.ring(),
            ],
            None => [self.wave.frames(), &[]],
        }
    }

    /// The frame `at` frames after the start; `None` after the end.
    pub fn frame(&self, at: usize) -> Option<[f32; 2]> {
        let [once, round] = self.parts();
        if let Some(frame) = once.get(at) {
            return Some(*frame);
        }
        let over = (at - once.len()).checked_rem(round.len())?;
        Some(round[over])
    }
}

/// The frames at another rate, `ratio` times as many, by cubic interpolation; the whole stays as long to the
/// nearest frame.
fn resampled(frames: &[[f32; 2]], ratio: f64) -> Vec<[f32; 2]> {
    if frames.is_empty() {
        return Vec::new();
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sine_stays_a_sine_of_the_same_length_at_another_rate() {
        let sine =
            |rate: f64, n: usize| (std::f64::consts::TAU * 440.0 * n as f64 / rate).sin() as f32;
        let frames: Vec<[f32; 2]> = (0..48_000).map(|n| [sine(48_000.0, n); 2]).collect();
        let other = resampled(&frames, 44_100.0 / 48_000.0);
        assert_eq!(other.len(), 44_100);
        for (n, frame) in other.iter().enumerate().take(44_000).skip(2) {
            assert!((frame[0] - sine(44_100.0, n)).abs() < 1e-3);
        }
    }
}
