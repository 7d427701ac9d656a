//! The onsets of strokes in what a microphone hears, while it hears it.
//!
//! An onset is where the power of several bands rises within milliseconds: the half-wave rectified difference of the logarithm
//! of band powers, summed over the bands (spectral flux; Bello et al. 2005, *IEEE Transactions on Speech and Audio
//! Processing* 13:1035-1047; Dixon 2006, *DAFx*), at its peaks, over a threshold that follows room noise (minimum
//! statistics, Martin 2001, *IEEE Transactions on Speech and Audio Processing* 9:504-512), the strokes heard before, and
//! what leaks of the band that the program plays. The attack itself is then looked for on the samples.

use super::bands::{BAND_COUNT, BandPowers, FilterBank, SideBank, SidePowers, SideShare, hop};
use super::check::Levels;
use super::noise_floor::NoiseFloor;
use std::collections::VecDeque;

/// Milliseconds over which power is averaged: a period of a low drum.
const MEAN: usize = 5;
/// Milliseconds before an onset to whose loudest it is compared.
const BEFORE: usize = 20;
/// Milliseconds after an onset that are heard before it is told.
const AFTER: usize = 26;
/// An onset is the greatest rise within this many milliseconds on both sides.
const PEAK: usize = 6;
/// Milliseconds after an onset in which there is no other: faster than any hands.
const REFRACTORY: u64 = 45;
/// The least sum of rises, natural logarithm: chosen on the seeds for choosing of `cargo bench --bench listen`, as all below.
const RISE: f32 = 1.6;
/// What counts as noise in each band, as a multiple of its mean: the fewer milliseconds and hertz, the more it flutters.
const FLUTTER: BandPowers = [8.0, 5.0, 3.5, 3.0];
/// A stroke is no softer than this share of the power of those before it (-24 dB).
const SOFTEST: f32 = 0.004;
/// Without a sound check, no softer than this share of the loudest of them (-14 dB): some may be the band.
const SOFTEST_UNCHECKED: f32 = 0.04;
/// The echo of a stroke is not a stroke: this share of its power at first, a tenth of that after this many milliseconds.
const ECHO: f32 = 0.2;
const ECHO_FADES: f32 = 80.0;
/// Strokes that say how strong strokes are.
const REMEMBERED: usize = 15;
/// What leaks counts as so many times the power that it has on average.
const LEAK_MARGIN: f32 = 1.6;
/// Milliseconds by which what leaks may come earlier or later than reckoned, and by which a room drags it out.
const LEAK_EARLY: usize = 20;
const LEAK_LATE: usize = 40;
/// The attack begins where the envelope is this share of its top.
const FOOT: f32 = 0.05;
/// A band rises clearly by this much in power.
const CLEAR_RISE: f32 = 6.0;
/// Milliseconds of the longest attack.
const ATTACK: usize = 12;
/// Milliseconds of samples and powers that are kept.
const KEPT: usize = 96;

/// A stroke that was heard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeardOnset {
    /// The sample, counted from the first that was fed, with which its attack begins.
    pub sample: u64,
    /// Power at its loudest, mean square over 5 ms.
    pub power: f32,
}

/// Finds onsets in a stream of samples.
#[derive(Clone, Debug)]
pub struct OnsetDetector {
    hop: usize,
    heard: FilterBank,
    played: SideBank,
    /// The samples of each band of the last [`KEPT`] milliseconds.
    bands: VecDeque<[f32; BAND_COUNT]>,
    /// Mean powers over [`MEAN`] milliseconds, of what leaks as well, and the rise, of the last [`KEPT`] milliseconds.
    powers: VecDeque<BandPowers>,
    means: VecDeque<BandPowers>,
    leaking: VecDeque<BandPowers>,
    leaks: VecDeque<BandPowers>,
    rises: VecDeque<f32>,
    /// Milliseconds so far.
    count: u64,
    last: Option<u64>,
    noise: NoiseFloor,
    leak: [SideShare; BAND_COUNT],
    checked: bool,
    strokes: VecDeque<f32>,
}

impl OnsetDetector {
    /// For samples of `rate` a second. `levels` are those of a sound check; without one the first strokes set them.
    pub fn new(rate: u32, levels: Option<&Levels>) -> OnsetDetector {
        OnsetDetector {
            hop: hop(rate),
            heard: FilterBank::new(rate),
            played: SideBank::new(rate),
            bands: VecDeque::new(),
            powers: VecDeque::new(),
            means: VecDeque::new(),
            leaking: VecDeque::new(),
            leaks: VecDeque::new(),
            rises: VecDeque::new(),
            count: 0,
            last: None,
            noise: NoiseFloor::new(levels.map(|levels| levels.noise)),
            leak: levels.map_or_else(Default::default, |l| l.leak),
            checked: levels.is_some(),
            strokes: levels.map_or(VecDeque::new(), |l| [l.stroke; REMEMBERED].into()),
        }
    }

    /// Takes the next samples of the microphone, with what the program played at that time, left and right (as long, or
    /// nothing), and gives
    /// the onsets that are certain by now: some 30 ms after them.
    pub fn feed(&mut self, heard: &[f32], played: &[[f32; 2]], onsets: &mut Vec<HeardOnset>) {
        for (i, sample) in heard.iter().enumerate() {
            let (bands, powers) = self.heard.next(*sample);
            let played = self.played.next(played.get(i).copied().unwrap_or_default());
            push(&mut self.bands, bands, KEPT * self.hop);
            if let (Some(powers), Some(played)) = (powers, played) {
                onsets.extend(self.step(powers, played));
            }
        }
    }

    /// One millisecond more.
    fn step(&mut self, powers: BandPowers, played: [SidePowers; BAND_COUNT]) -> Option<HeardOnset> {
        self.noise.next(powers);
        push(&mut self.powers, powers, KEPT);
        let leaked = std::array::from_fn(|b| self.leak[b].of(played[b]) * LEAK_MARGIN);
        push(&mut self.leaking, leaked, MEAN);
        push(&mut self.leaks, mean(&self.leaking), KEPT);
        push(&mut self.means, mean(&self.powers), KEPT);
        self.count += 1;
        let rise = self.rise();
        push(&mut self.rises, rise, KEPT);
        self.onset()
    }

    /// What is louder than noise and leak in a band, at a place counted back from now.
    fn floor(&self, band: usize, back: usize) -> f32 {
        let now = self.leaks.len().saturating_sub(1 + back);
        let around = now.saturating_sub(LEAK_LATE)..(now + LEAK_EARLY + 1).min(self.leaks.len());
        let leak = self
            .leaks
            .range(around)
            .map(|l| l[band])
            .fold(0.0, f32::max);
        (self.noise.at(band) * FLUTTER[band]).max(leak).max(1e-12)
    }

    /// Powers now and the greatest before, both no less than the floor, in a band; the moment lies [`AFTER`] milliseconds back.
    fn edge(&self, band: usize) -> (f32, f32) {
        let back = AFTER - MEAN + 1;
        let floor = self.floor(band, back);
        let Some(now) = self.means.len().checked_sub(1 + back) else {
            return (floor, floor);
        };
        let before = now.saturating_sub(MEAN);
        let range = before.saturating_sub(BEFORE)..before;
        let before = self.means.range(range).map(|m| m[band]).fold(0.0, f32::max);
        (self.means[now][band].max(floor), before.max(floor))
    }

    /// The sum of rises of what is strong enough for a stroke.
    fn rise(&self) -> f32 {
        let (mut sum, mut power) = (0.0, 0.0);
        for (now, before) in (0..BAND_COUNT).map(|b| self.edge(b)) {
            sum += (now / before).ln().max(0.0);
            power += (now - before).max(0.0);
        }
        if power < self.softest() { 0.0 } else { sum }
    }

    /// Power of the softest stroke that is to be heard now.
    fn softest(&self) -> f32 {
        let mut strokes: Vec<f32> = self.strokes.iter().copied().collect();
        strokes.sort_by(f32::total_cmp);
        let least = match self.checked {
            true => strokes
                .get(strokes.len() / 2)
                .map_or(0.0, |usual| usual * SOFTEST),
            false => strokes
                .last()
                .map_or(0.0, |loudest| loudest * SOFTEST_UNCHECKED),
        };
        let since = self
            .last
            .map_or(f32::INFINITY, |last| (self.count - last) as f32);
        let ringing =
            self.strokes.back().copied().unwrap_or(0.0) * ECHO * 10f32.powf(-since / ECHO_FADES);
        least.max(ringing)
    }

    /// The onset whose rise lies [`PEAK`] milliseconds back, if there is one.
    fn onset(&mut self) -> Option<HeardOnset> {
        let at = self.rises.len().checked_sub(1 + PEAK)?;
        let rise = self.rises[at];
        let first = at.saturating_sub(PEAK);
        let top = self.rises.range(first..at).all(|r| *r < rise)
            && self.rises.range(at..).all(|r| *r <= rise);
        let since = self.last.map_or(u64::MAX, |last| self.count - last);
        if rise < RISE || !top || since < REFRACTORY {
            return None;
        }
        self.last = Some(self.count);
        // Milliseconds back from now to the rise.
        let back = AFTER + PEAK;
        let from = self.means.len().saturating_sub(back);
        let loudest = self
            .means
            .range(from..)
            .map(|m| m.iter().sum::<f32>())
            .fold(0.0, f32::max);
        push(&mut self.strokes, loudest, REMEMBERED);
        let foot = self.foot(back);
        let now = self.count * self.hop as u64;
        Some(HeardOnset {
            sample: now.saturating_sub(foot as u64),
            power: loudest,
        })
    }

    /// Samples from now back to where the attack begins around `back` milliseconds ago: in the highest band that rises
    /// clearly, since it is the fastest, else in the one that rises most.
    fn foot(&self, back: usize) -> usize {
        let end = self.means.len();
        let loudest = |from: usize, to: usize, band: usize| {
            let range = end.saturating_sub(from)..end.saturating_sub(to);
            self.means.range(range).map(|m| m[band]).fold(0.0, f32::max)
        };
        let rises: BandPowers = std::array::from_fn(|band| {
            let before = loudest(back + PEAK + BEFORE, back + PEAK, band);
            let floor = self.noise.at(band) * FLUTTER[band];
            loudest(back + PEAK, back - AFTER, band) / before.max(floor).max(1e-12)
        });
        let most = (0..BAND_COUNT).fold(0, |most, b| if rises[b] > rises[most] { b } else { most });
        let band = (0..BAND_COUNT)
            .rfind(|b| rises[*b] >= CLEAR_RISE)
            .unwrap_or(most);
        let samples = self.bands.len();
        let at = |ms: usize| samples.saturating_sub(ms * self.hop);
        let power = |n: usize| self.bands[n][band] * self.bands[n][band];
        let (from, to) = (at(back + PEAK), at(back - ATTACK));
        let top = (from..to).fold(from, |top, n| if power(n) > power(top) { n } else { top });
        let before = at(back + ATTACK + PEAK);
        let quiet = (before..from).map(power).fold(0.0, f32::max);
        let foot = (power(top) * FOOT).max(quiet.min(power(top) * 0.5));
        // Half a millisecond below the foot: a wave goes through zero more often.
        let mut start = top;
        for n in (before..top).rev() {
            if power(n) >= foot {
                start = n;
            } else if start - n > self.hop / 2 * (BAND_COUNT - band) {
                break;
            }
        }
        samples - start
    }
}

/// Mean of the last [`MEAN`] milliseconds.
fn mean(powers: &VecDeque<BandPowers>) -> BandPowers {
    std::array::from_fn(|b| {
        let last = powers.iter().rev().take(MEAN);
        last.map(|p| p[b]).sum::<f32>() / MEAN as f32
    })
}

/// Puts a value at the end and lets the first go where there are more than `most`.
fn push<T>(queue: &mut VecDeque<T>, value: T, most: usize) {
    queue.push_back(value);
    if queue.len() > most {
        queue.pop_front();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::Seconds;

    const RATE: u32 = 48_000;

    /// Noise that is the same each time (xorshift, Marsaglia 2003), mean square 1/3.
    fn noise(count: usize) -> impl Iterator<Item = f32> {
        let mut state = 0x2545_f491u32;
        (0..count).map(move |_| {
            state ^= state << 13;
            state ^= state >> 17;
            state ^= state << 5;
            state as f32 / u32::MAX as f32 * 2.0 - 1.0
        })
    }

    /// Bursts of noise that fall to 1/e in 10 ms, from these samples on.
    fn bursts(starts: &[usize], count: usize) -> Vec<f32> {
        let mut wave = vec![0.0; count];
        for start in starts {
            for (n, s) in noise(4800).enumerate() {
                wave[start + n] += 0.5 * s * (-(n as f32) / 480.0).exp();
            }
        }
        wave
    }

    fn found(
        wave: &[f32],
        played: &[[f32; 2]],
        levels: Option<&Levels>,
        block: usize,
    ) -> Vec<HeardOnset> {
        let mut detector = OnsetDetector::new(RATE, levels);
        let mut found = Vec::new();
        for (i, heard) in wave.chunks(block).enumerate() {
            detector.feed(heard, played.get(i * block..).unwrap_or(&[]), &mut found);
        }
        found
    }

    #[test]
    fn bursts_are_found_where_they_begin_whatever_the_blocks() {
        let starts = [9_600, 20_007, 31_113, 36_000];
        let wave = bursts(&starts, 48_000);
        let onsets = found(&wave, &[], None, 441);
        assert_eq!(onsets.len(), starts.len());
        for (onset, start) in onsets.iter().zip(starts) {
            assert!(
                onset.sample.abs_diff(start as u64) <= 48,
                "{onset:?} {start}"
            );
        }
        assert_eq!(onsets, found(&wave, &[], None, 7));
        assert_eq!(onsets, found(&wave, &[], None, 48_000));
    }

    #[test]
    fn noise_and_numbers_that_are_none_are_no_strokes() {
        let hiss: Vec<f32> = noise(4 * 48_000).map(|s| 0.01 * s).collect();
        let onsets = found(&hiss, &[], None, 480);
        // Where the noise itself begins is a rise.
        assert!(onsets.iter().all(|o| o.sample < 4800), "{onsets:?}");
        let wild = [f32::NAN, f32::INFINITY, f32::MAX, -f32::MAX].repeat(12_000);
        let mut after = wild;
        after.extend(vec![0.0; 48_000]);
        after.extend(bursts(&[4800], 24_000));
        let onsets = found(&after, &[], None, 480);
        assert!(
            onsets
                .iter()
                .any(|o| o.sample.abs_diff(48_000 + 48_000 + 4800) <= 48),
            "{onsets:?}"
        );
    }

    #[test]
    fn what_leaks_is_no_stroke_and_a_stroke_over_it_is_one() {
        let band = bursts(&[4_800, 14_400, 24_000, 33_600], 48_000);
        let leaking: Vec<f32> = band.iter().map(|s| 0.1 * s).collect();
        let played: Vec<[f32; 2]> = band.iter().map(|s| [*s, *s]).collect();
        let levels = Levels {
            noise: [0.0; BAND_COUNT],
            leak: [SideShare::of_gains(0.1, 0.0); BAND_COUNT],
            leak_late: Seconds::ZERO,
            stroke: 1e-9,
        };
        assert_eq!(found(&leaking, &played, Some(&levels), 480), []);
        // Nobody told that it plays.
        assert_eq!(found(&leaking, &[], Some(&levels), 480).len(), 4);
        let mut heard = leaking;
        let own = bursts(&[24_100], 48_000);
        heard.iter_mut().zip(own).for_each(|(s, o)| *s += o);
        let onsets = found(&heard, &played, Some(&levels), 480);
        assert_eq!(onsets.len(), 1);
        assert!(onsets[0].sample.abs_diff(24_100) <= 144, "{onsets:?}");
    }
}
