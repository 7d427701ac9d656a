//! Modal synthesis: a sound as a sum of decaying sines and short bands of noise.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::f64::consts::{PI, TAU};

/// One mode of vibration.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Partial {
    pub hz: f64,
    /// Amplitude relative to the other parts of the sound.
    pub gain: f64,
    /// Seconds in which it falls by 60 dB.
    pub t60: f64,
}

/// A band of noise: the hand, stick or hammer itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Burst {
    /// Middle of the band, Hz.
    pub hz: f64,
    /// Middle over width of the band.
    pub q: f64,
    /// Amplitude relative to the other parts of the sound.
    pub gain: f64,
    /// Seconds until it is fully there.
    pub attack: f64,
    /// Seconds in which it falls by 60 dB.
    pub t60: f64,
}

/// What a voice makes of one hit.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Recipe {
    pub partials: Vec<Partial>,
    pub bursts: Vec<Burst>,
    /// Seconds until the hand, stick or finger has left: the modes swell over this time, so nothing clicks.
    pub attack: f64,
    /// Longest useful length, seconds.
    pub longest: f64,
}

/// Parts of a sound below this share of its loudest part are not computed (-66 dB).
const FLOOR: f64 = 5e-4;
const FADE_SECONDS: f64 = 0.004;
const LANES: usize = 8;

impl Recipe {
    /// The samples, at no particular level. The first sample belongs to the onset; the last ones fade to nothing.
    pub fn samples(&self, rate: f64, seed: u64) -> Vec<f32> {
        let loudest = self.partials.iter().map(|p| p.gain.abs());
        let loudest = loudest.chain(self.bursts.iter().map(|b| b.gain.abs()));
        let loudest = loudest.fold(0.0, f64::max).max(f64::MIN_POSITIVE);
        let seconds = |gain: f64, t60: f64| {
            let over = (gain.abs() / loudest / FLOOR).max(1.0);
            (t60 * over.log10() / 3.0).min(self.longest)
        };
        let frames = |gain, t60| (seconds(gain, t60) * rate).ceil() as usize;

        let mut parts: Vec<(usize, Partial)> = self
            .partials
            .iter()
            .filter(|p| p.hz < 0.45 * rate)
            .map(|p| (frames(p.gain, p.t60), *p))
            .collect();
        parts.sort_by_key(|p| std::cmp::Reverse(p.0));
        let noise = self
            .bursts
            .iter()
            .map(|b| frames(b.gain, b.t60) + (b.attack * rate) as usize)
            .max()
            .unwrap_or(0);
        let length = parts.first().map_or(0, |p| p.0).max(noise).max(LANES);

        let mut out = vec![0.0f32; length];
        for group in parts.chunks(LANES) {
            ring(&mut out[..group[0].0], group, rate);
        }
        swell(&mut out, self.attack * rate);
        for (i, burst) in self.bursts.iter().enumerate() {
            hiss(&mut out, burst, rate, seed.wrapping_add(i as u64));
        }
        fade(&mut out, FADE_SECONDS * rate);
        out
    }
}

/// Adds up to [`LANES`] decaying sines, each a number turned and shrunk from sample to sample.
fn ring(out: &mut [f32], group: &[(usize, Partial)], rate: f64) {
    let mut x = [0.0f32; LANES];
    let mut y = [0.0f32; LANES];
    let mut turn_x = [0.0f32; LANES];
    let mut turn_y = [0.0f32; LANES];
    for (i, (_, p)) in group.iter().enumerate() {
        let shrink = 10f64.powf(-3.0 / (p.t60 * rate));
        let (sin, cos) = (TAU * p.hz / rate).sin_cos();
        x[i] = p.gain as f32;
        turn_x[i] = (shrink * cos) as f32;
        turn_y[i] = (shrink * sin) as f32;
    }
    for sample in out {
        // Added in pairs, so that the compiler may add side by side.
        let mut pairs = [0.0f32; LANES / 2];
        for i in 0..LANES / 2 {
            pairs[i] = y[i] + y[i + LANES / 2];
        }
        let sum = (pairs[0] + pairs[2]) + (pairs[1] + pairs[3]);
        for i in 0..LANES {
            let next = x[i] * turn_x[i] - y[i] * turn_y[i];
            y[i] = x[i] * turn_y[i] + y[i] * turn_x[i];
            x[i] = next;
        }
        *sample += sum;
    }
}

/// Raises the start in half a cosine over `frames`.
fn swell(out: &mut [f32], frames: f64) {
    let count = (frames as usize).min(out.len());
    for (i, sample) in out[..count].iter_mut().enumerate() {
        *sample *= (0.5 - 0.5 * (PI * (i + 1) as f64 / (frames + 1.0)).cos()) as f32;
    }
}

fn fade(out: &mut [f32], frames: f64) {
    let count = (frames as usize).min(out.len());
    let start = out.len() - count;
    for (i, sample) in out[start..].iter_mut().enumerate() {
        *sample *= (count - 1 - i) as f32 / count as f32;
    }
}

/// Adds a band of noise: white noise through a two-pole band-pass (the constant-peak form of the well-known audio
/// biquad formulas by R. Bristow-Johnson), decaying.
fn hiss(out: &mut [f32], burst: &Burst, rate: f64, seed: u64) {
    let omega = TAU * burst.hz.min(0.45 * rate) / rate;
    let alpha = omega.sin() / (2.0 * burst.q);
    let a0 = 1.0 + alpha;
    let (b0, a1, a2) = (alpha / a0, -2.0 * omega.cos() / a0, (1.0 - alpha) / a0);
    // A narrow band lets less noise through: make up for it, so that `gain` means the same for every band.
    let make_up = (0.5 * rate * burst.q / burst.hz).sqrt();
    let shrink = 10f64.powf(-3.0 / (burst.t60 * rate));
    let rise = (burst.attack * rate).max(1.0);
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut level = burst.gain * make_up;
    let (mut x1, mut x2, mut y1, mut y2) = (0.0, 0.0, 0.0, 0.0);
    let count = ((burst.t60 * 1.1 + burst.attack) * rate) as usize;
    for (i, sample) in out.iter_mut().take(count).enumerate() {
        let white = f64::from(random.next_u32()) / f64::from(u32::MAX) * 2.0 - 1.0;
        let band = b0 * (white - x2) - a1 * y1 - a2 * y2;
        (x2, x1, y2, y1) = (x1, white, y1, band);
        let up = ((i + 1) as f64 / rise).min(1.0);
        *sample += (band * level * up) as f32;
        if up >= 1.0 {
            level *= shrink;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_partial_is_the_decaying_sine_of_its_formula() {
        let partial = Partial {
            hz: 440.0,
            gain: 1.0,
            t60: 0.4,
        };
        let recipe = Recipe {
            partials: vec![partial],
            longest: 1.0,
            ..Recipe::default()
        };
        let samples = recipe.samples(48_000.0, 1);
        for i in (0..15_000).step_by(7) {
            let t = i as f64 / 48_000.0;
            let formula = 10f64.powf(-3.0 * t / 0.4) * (TAU * 440.0 * t).sin();
            assert!((f64::from(samples[i]) - formula).abs() < 2e-3, "at {i}");
        }
        assert_eq!(samples.last(), Some(&0.0));
    }

    #[test]
    fn noise_has_the_same_power_in_every_band() {
        let power = |hz, q| {
            let recipe = Recipe {
                bursts: vec![Burst {
                    hz,
                    q,
                    gain: 1.0,
                    attack: 0.001,
                    t60: 50.0,
                }],
                longest: 1.0,
                ..Recipe::default()
            };
            let s = recipe.samples(48_000.0, 3);
            s.iter().map(|x| f64::from(x * x)).sum::<f64>() / s.len() as f64
        };
        let ratio = power(400.0, 2.0) / power(3000.0, 4.0);
        assert!((0.7..1.4).contains(&ratio), "{ratio}");
    }
}
