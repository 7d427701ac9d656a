//! Modal synthesis: a sound as a sum of decaying sines and short bands of noise.

use rand::rngs::ChaCha8Rng;
use rand::{Rng, SeedableRng};
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

impl Burst {
    /// Its values in the order of the fields.
    pub fn new(hz: f64, q: f64, gain: f64, attack: f64, t60: f64) -> Burst {
        Burst {
            hz,
            q,
            gain,
            attack,
            t60,
        }
    }
}

/// Many small bodies thrown against a wall (Cook 1997, *Computer Music Journal* 21(3)): every collision, at a random
/// moment, adds noise in proportion to the energy left, and the wall colours it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Rattle {
    /// The wall's resonance, Hz, and its middle over its width.
    pub hz: f64,
    pub q: f64,
    /// Collisions a second.
    pub collisions: f64,
    /// Seconds in which the noise of one collision falls by 60 dB.
    pub sound_t60: f64,
    /// Seconds in which the energy of all bodies falls by 60 dB.
    pub energy_t60: f64,
    /// Seconds in which the throw gathers: few bodies arrive at first, all of them at its end.
    pub rise: f64,
}

/// The recipe of one hit of a voice.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Recipe {
    pub partials: Vec<Partial>,
    pub bursts: Vec<Burst>,
    pub rattle: Option<Rattle>,
    /// Seconds until the hand, stick or finger has left: the modes swell over this time, so nothing clicks.
    pub attack: f64,
    /// Seconds by which the sound begins before the pulse that it belongs to.
    pub lead: f64,
    /// The modes begin at phases of their own instead of all together, as those of a body that is struck far from where
    /// they meet: nothing then adds up to one sharp peak. Which phases is arbitrary.
    pub scattered: bool,
    /// Longest useful length, seconds.
    pub longest: f64,
    /// Momentary loudness of a single hit, LUFS (ITU-R BS.1770, 400 ms).
    pub level: f64,
}

/// Parts of a sound below this share of its loudest part are not computed (-66 dB).
const FLOOR: f64 = 5e-4;
const FADE_SECONDS: f64 = 0.004;
const LANES: usize = 8;

impl Recipe {
    /// The samples, not yet at their level. The first sample belongs to the onset, or lies `lead` before
    /// it; the last ones fade to nothing.
    ///
    /// `seed` belongs to this hit, `kin` to all hits of the sound.
    pub fn samples(&self, rate: f64, seed: u64, kin: u64) -> Vec<f32> {
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
            .chain(
                self.rattle
                    .iter()
                    .map(|r| frames(1.0, r.energy_t60) + (r.rise * rate) as usize),
            )
            .max()
            .unwrap_or(0);
        let length = parts.first().map_or(0, |p| p.0).max(noise).max(LANES);

        let mut out = vec![0.0f32; length];
        for group in parts.chunks(LANES) {
            ring(&mut out[..group[0].0], group, rate, self.scattered);
        }
        swell(&mut out, self.attack * rate);
        for (i, burst) in self.bursts.iter().enumerate() {
            let seeds = [kin, seed].map(|s| s.wrapping_add(i as u64));
            hiss(&mut out, burst, rate, seeds);
        }
        if let Some(rattle) = &self.rattle {
            shake(&mut out, rattle, rate, seed);
        }
        fade(&mut out, FADE_SECONDS * rate);
        out
    }
}

/// Up to [`LANES`] decaying sines, each a number turned and shrunk from sample to sample.
#[derive(Default)]
struct Sines {
    x: [f32; LANES],
    y: [f32; LANES],
    turn_x: [f32; LANES],
    turn_y: [f32; LANES],
}

impl Sines {
    fn new(group: &[(usize, Partial)], rate: f64, scattered: bool) -> Sines {
        let mut sines = Sines::default();
        for (i, (_, p)) in group.iter().enumerate() {
            let shrink = shrink(p.t60, rate);
            let (sin, cos) = (TAU * p.hz / rate).sin_cos();
            let phase = if scattered { p.hz } else { 0.0 };
            sines.x[i] = (p.gain * phase.cos()) as f32;
            sines.y[i] = (p.gain * phase.sin()) as f32;
            sines.turn_x[i] = (shrink * cos) as f32;
            sines.turn_y[i] = (shrink * sin) as f32;
        }
        sines
    }

    /// Their sum at the next sample.
    #[inline(always)]
    fn next(&mut self) -> f32 {
        // Added in pairs, so that the compiler may add side by side.
        let mut pairs = [0.0f32; LANES / 2];
        for (i, pair) in pairs.iter_mut().enumerate() {
            *pair = self.y[i] + self.y[i + LANES / 2];
        }
        for i in 0..LANES {
            let x = self.x[i] * self.turn_x[i] - self.y[i] * self.turn_y[i];
            self.y[i] = self.x[i] * self.turn_y[i] + self.y[i] * self.turn_x[i];
            self.x[i] = x;
        }
        (pairs[0] + pairs[2]) + (pairs[1] + pairs[3])
    }
}

/// Adds a group of sines. They fade at the end: cut short, even so soft a sound would tick.
fn ring(out: &mut [f32], group: &[(usize, Partial)], rate: f64, scattered: bool) {
    let mut sines = Sines::new(group, rate, scattered);
    let fading = ((FADE_SECONDS * rate) as usize).min(out.len());
    let (whole, end) = out.split_at_mut(out.len() - fading);
    for sample in whole {
        *sample += sines.next();
    }
    for (i, sample) in end.iter_mut().enumerate() {
        *sample += sines.next() * (fading - 1 - i) as f32 / fading as f32;
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

/// The share by which an amplitude shrinks from sample to sample where it falls by 60 dB in `t60` seconds.
fn shrink(t60: f64, rate: f64) -> f64 {
    10f64.powf(-3.0 / (t60 * rate))
}

/// A number from -1 to 1.
fn white(random: &mut ChaCha8Rng) -> f64 {
    f64::from(random.next_u32()) / f64::from(u32::MAX) * 2.0 - 1.0
}

/// A two-pole band-pass (the constant-peak form of the well-known audio biquad formulas by R. Bristow-Johnson).
pub(super) struct Band {
    b0: f64,
    a1: f64,
    a2: f64,
    before: [f64; 4],
}

impl Band {
    pub fn new(hz: f64, q: f64, rate: f64) -> Band {
        let omega = TAU * hz.min(0.45 * rate) / rate;
        let alpha = omega.sin() / (2.0 * q);
        let a0 = 1.0 + alpha;
        Band {
            b0: alpha / a0,
            a1: -2.0 * omega.cos() / a0,
            a2: (1.0 - alpha) / a0,
            before: [0.0; 4],
        }
    }

    pub fn pass(&mut self, x: f64) -> f64 {
        let [x1, x2, y1, y2] = self.before;
        let y = self.b0 * (x - x2) - self.a1 * y1 - self.a2 * y2;
        self.before = [x, x1, y, y1];
        y
    }
}

/// Share of the power of a burst that all hits of a sound have in common: the same hand on the same skin.
const KIN: f64 = 0.85;

/// Adds a decaying band of white noise, in part that of all hits of the sound and in part this hit's own.
fn hiss(out: &mut [f32], burst: &Burst, rate: f64, seeds: [u64; 2]) {
    let mut band = Band::new(burst.hz, burst.q, rate);
    // A narrow band lets less noise through: make up for it, so that `gain` means the same for every band.
    let make_up = (0.5 * rate * burst.q / burst.hz).sqrt();
    let shrink = shrink(burst.t60, rate);
    let rise = (burst.attack * rate).max(1.0);
    let [mut kin, mut own] = seeds.map(ChaCha8Rng::seed_from_u64);
    let (common, single) = (KIN.sqrt(), (1.0 - KIN).sqrt());
    let mut level = burst.gain * make_up;
    let count = ((burst.t60 * 1.1 + burst.attack) * rate) as usize;
    for (i, sample) in out.iter_mut().take(count).enumerate() {
        let up = ((i + 1) as f64 / rise).min(1.0);
        let noise = common * white(&mut kin) + single * white(&mut own);
        *sample += (band.pass(noise) * level * up) as f32;
        if up >= 1.0 {
            level *= shrink;
        }
    }
}

/// Adds the collisions of many small bodies.
fn shake(out: &mut [f32], rattle: &Rattle, rate: f64, seed: u64) {
    let mut band = Band::new(rattle.hz, rattle.q, rate);
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let (fade, tire) = (
        shrink(rattle.sound_t60, rate),
        shrink(rattle.energy_t60, rate),
    );
    let chance = rattle.collisions / rate;
    let rise = (rattle.rise * rate).max(1.0);
    // The level to which sounds that overlap add up on average: the throw begins there.
    let (mut energy, mut level) = (1.0, chance / (1.0 - fade));
    for (i, sample) in out.iter_mut().enumerate() {
        if f64::from(random.next_u32()) < chance * f64::from(u32::MAX) {
            level += energy;
        }
        let gathered = ((i + 1) as f64 / rise).min(1.0);
        let up = 0.5 - 0.5 * (PI * gathered).cos();
        *sample += (up * band.pass(level * white(&mut random))) as f32;
        level *= fade;
        if gathered >= 1.0 {
            energy *= tire;
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
        let samples = recipe.samples(48_000.0, 1, 2);
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
            let s = recipe.samples(48_000.0, 3, 4);
            s.iter().map(|x| f64::from(x * x)).sum::<f64>() / s.len() as f64
        };
        let ratio = power(400.0, 2.0) / power(3000.0, 4.0);
        assert!((0.7..1.4).contains(&ratio), "{ratio}");
    }
}
