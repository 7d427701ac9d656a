//! A wave at the rate of the device, played once or round and round.

use super::Heard;
use crate::sound::Wave;
use std::sync::Arc;

/// A wave as a card plays it: once through, or once and then round and round its second form.
///
/// A place in it is counted in frames of the card from its start, through all rounds; before its start it is silent.
#[derive(Debug)]
pub(super) struct LoopBuffer {
    pub wave: Arc<Wave>,
    looped: bool,
    /// [`super::JoinPoint::phase`].
    pub phase: usize,
    /// Both parts at the rate of the card, where that is not the rate of the wave.
    converted: Option<[Vec<[f32; 2]>; 2]>,
}

impl LoopBuffer {
    /// A wave for a card of `rate` frames a second.
    pub fn new(wave: Arc<Wave>, looped: bool, phase: usize, rate: u32) -> LoopBuffer {
        let mut buffer = LoopBuffer {
            wave,
            looped,
            phase,
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

    /// The frame at a place; `None` after the end.
    pub fn frame(&self, at: i64) -> Option<[f32; 2]> {
        let Ok(at) = usize::try_from(at) else {
            return Some([0.0; 2]);
        };
        let [once, round] = self.parts();
        if let Some(frame) = once.get(at) {
            return Some(*frame);
        }
        let over = (at - once.len()).checked_rem(round.len())?;
        Some(round[over])
    }

    /// Frames of the card to one of the wave.
    fn ratio(&self) -> f64 {
        let of_wave = match self.looped {
            true => self.wave.body_end(),
            false => self.wave.frames().len(),
        };
        self.parts()[0].len() as f64 / of_wave.max(1) as f64
    }

    /// The place of a pulse, counted on through all rounds.
    pub fn place(&self, pulse: usize) -> i64 {
        let places = self.wave.pulse_frames();
        let frame = match (places.get(pulse), places.len()) {
            (Some(frame), _) => *frame,
            (None, count) if self.looped && count > 0 => places[pulse % count],
            _ => self.wave.body_end(),
        };
        let rounds = match self.looped {
            true => pulse.checked_div(places.len()).unwrap_or(0),
            false => 0,
        };
        (frame as f64 * self.ratio()).round() as i64 + (rounds * self.parts()[1].len()) as i64
    }

    /// The first pulse at or after a place.
    pub fn pulse_from(&self, at: i64) -> usize {
        let round = self.parts()[1].len() as i64;
        let lead_in = self.place(0);
        let rounds = (at - lead_in).max(0).checked_div(round).unwrap_or(0);
        let frame = (at - rounds * round) as f64 / self.ratio();
        let places = self.wave.pulse_frames();
        // Half a frame for what the other rate rounds.
        let in_round = places.partition_point(|f| (*f as f64) < frame - 0.5);
        rounds as usize * places.len() + in_round
    }

    /// Are the pulses of both equally far apart?
    pub fn goes_with(&self, other: &LoopBuffer) -> bool {
        let apart = |b: &LoopBuffer| [1, 2, 3, 4].map(|p| b.place(p) - b.place(0));
        apart(self) == apart(other)
    }

    /// What is heard at a place; `None` before its start and after its end.
    pub fn heard(&self, at: f64) -> Option<Heard> {
        let wave = &self.wave;
        let since_start = at / self.ratio();
        let (end, round) = (wave.body_end() as f64, wave.ring().len() as f64);
        let over = since_start - end;
        let (frame, rounds) = if !self.looped || over < 0.0 || round == 0.0 {
            (since_start, 0)
        } else {
            // By the card's own frames, since whole rounds of them are what is played.
            let round_here = self.parts()[1].len() as f64;
            let over = at - self.parts()[0].len() as f64;
            let in_round = over.rem_euclid(round_here) / round_here * round;
            (
                wave.lead_in() as f64 + in_round,
                1 + (over / round_here) as usize,
            )
        };
        let ends = !self.looped && since_start >= wave.frames().len() as f64;
        let in_round = wave.pulse_at(frame as usize);
        let earlier = rounds * wave.pulse_frames().len();
        (since_start >= 0.0 && !ends).then(|| Heard {
            frame,
            since_start,
            rounds,
            pulse: in_round.map(|p| p + earlier),
            place: in_round.map(|p| {
                let from = wave.pulse_frames()[p];
                let next = wave.pulse_frames().get(p + 1).copied();
                let length = next.unwrap_or(wave.body_end()) - from;
                (p + earlier) as f64 + (frame - from as f64) / length.max(1) as f64
            }),
            latest: true,
        })
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
