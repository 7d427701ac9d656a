//! What is heard and what is played meanwhile, over some seconds: how late the second is heard in the first, and in
//! what share.

use super::bands::{BAND_COUNT, BandPowers, FilterBank, SideBank, SidePowers, SideShare};

/// Power below which nothing plays (-90 dB).
const SILENT: f32 = 1e-9;
/// Milliseconds by which what is played may be heard later than the system reckons.
const LAGS: std::ops::RangeInclusive<i32> = -60..=500;
/// The least correlation by which what is heard is taken for what is played (chosen).
const TOGETHER: f32 = 0.15;
/// Milliseconds of band that are compared at once: longer than the time by which a room drags it out, shorter than a note.
const STRETCH: usize = 32;
/// Ears of which a share is made, and steps in which it is found (chosen).
const EARS: usize = 8;
const STEPS: usize = 200;
/// What the band says nothing of is taken to be as the mean of what it does; that counts like this share of what it says (chosen).
const PRIOR: f32 = 0.01;
/// The least power that is told from none, so that decibels are numbers.
pub(super) const FAINTEST: f32 = 1e-12;

/// Powers of what is heard and of what is played meanwhile, a millisecond at a time: for a check of some seconds.
#[derive(Clone, Debug)]
pub struct PowerMeter {
    banks: (FilterBank, SideBank),
    heard: Vec<BandPowers>,
    played: Vec<[SidePowers; BAND_COUNT]>,
}

impl PowerMeter {
    /// For samples of `rate` a second.
    pub fn new(rate: u32) -> PowerMeter {
        PowerMeter {
            banks: (FilterBank::new(rate), SideBank::new(rate)),
            heard: Vec::new(),
            played: Vec::new(),
        }
    }

    /// Takes the next samples of the microphone, with what the program played at that time, left and right (as long,
    /// or nothing).
    pub fn feed(&mut self, heard: &[f32], played: &[[f32; 2]]) {
        for (i, sample) in heard.iter().enumerate() {
            self.heard.extend(self.banks.0.next(*sample).1);
            let frame = played.get(i).copied().unwrap_or_default();
            self.played.extend(self.banks.1.next(frame));
        }
    }

    /// Mean power of what was heard, in each band.
    pub(super) fn means(&self) -> BandPowers {
        std::array::from_fn(|band| {
            let sum: f64 = self.heard.iter().map(|p| f64::from(p[band])).sum();
            (sum / self.heard.len().max(1) as f64) as f32
        })
    }

    /// How the microphone hears both sides in a band, `lag` milliseconds later than the system reckons, and the mean power of that:
    /// the share by which what it heard is most likely, if powers scatter as counts do (the multiplicative steps of Lee & Seung
    /// 2001, *Advances in Neural Information Processing Systems* 13:556-562). It is made of ears that hear the sides by gains which
    /// go round a circle, so that no power comes out below nothing, and of a noise that stays the same: it begins as that of the
    /// silence before, but a room changes, and what was taken off for a noise that is gone would be missing in what leaks.
    pub(super) fn share(&self, band: usize, lag: i32, noise: f32) -> (SideShare, f32) {
        let (h, p) = (lag.max(0) as usize, (-lag).max(0) as usize);
        let heard = self.heard.get(h..).unwrap_or(&[]).chunks_exact(STRETCH);
        let played = self.played.get(p..).unwrap_or(&[]).chunks_exact(STRETCH);
        let ears: [SideShare; EARS] = std::array::from_fn(|n| {
            let (b, a) = (std::f32::consts::PI * n as f32 / EARS as f32).sin_cos();
            SideShare::of_gains(a, b)
        });
        let stretches: Vec<(f32, [f32; EARS])> = heard
            .zip(played)
            .map(|(heard, played)| {
                let power: f32 = heard.iter().map(|powers| powers[band]).sum();
                let all = played
                    .iter()
                    .fold(SidePowers::default(), |all, sides| all.plus(sides[band]));
                (power, ears.map(|ear| ear.of(all)))
            })
            .collect();
        let sums: [f32; EARS] = std::array::from_fn(|n| stretches.iter().map(|s| s.1[n]).sum());
        let played = sums.iter().sum::<f32>() / (stretches.len() * STRETCH).max(1) as f32;
        if played <= SILENT {
            return (SideShare::default(), 0.0);
        }
        let all = stretches.iter().map(|s| s.0).sum::<f32>();
        let mut noise = noise.max(FAINTEST) * STRETCH as f32;
        let usual = all / sums.iter().sum::<f32>();
        let prior = PRIOR * sums.iter().sum::<f32>() / EARS as f32;
        let mut shares = [usual; EARS];
        for _ in 0..STEPS {
            let (mut moved, mut steady) = ([0.0; EARS], 0.0);
            for (power, sides) in &stretches {
                let told = noise + shares.iter().zip(sides).map(|(w, s)| w * s).sum::<f32>();
                moved
                    .iter_mut()
                    .zip(sides)
                    .for_each(|(m, s)| *m += s * power / told);
                steady += power / told;
            }
            noise = (noise * steady / stretches.len() as f32).max(FAINTEST);
            for ((share, moved), sum) in shares.iter_mut().zip(moved).zip(sums) {
                *share = (*share * moved + prior * usual) / (sum + prior);
            }
        }
        let heard: f32 = sums
            .iter()
            .zip(shares)
            .map(|(sum, share)| sum * share)
            .sum();
        let ears = ears.into_iter().zip(shares);
        let share = ears.fold(SideShare::default(), |all, (ear, share)| {
            all.plus(ear.times(share))
        });
        (share, heard / (stretches.len() * STRETCH) as f32)
    }

    /// By how many milliseconds what was played is heard later: where the amplitudes of both go together best, by the mean of
    /// the correlations of the bands. `None` where they do not go together.
    pub(super) fn lag(&self) -> Option<i32> {
        let series = |powers: &mut dyn Iterator<Item = f32>| {
            let tops: Vec<f32> = powers.map(f32::sqrt).collect();
            let mean = tops.iter().sum::<f32>() / tops.len().max(1) as f32;
            let off: Vec<f32> = tops.iter().map(|t| t - mean).collect();
            let norm = off.iter().map(|o| o * o).sum::<f32>().sqrt();
            off.iter()
                .map(|o| o / norm.max(1e-20))
                .collect::<Vec<f32>>()
        };
        let bands: Vec<_> = (0..BAND_COUNT)
            .map(|b| {
                let heard = series(&mut self.heard.iter().map(|p| p[b]));
                (heard, series(&mut self.played.iter().map(|p| p[b].total())))
            })
            .collect();
        let together = |lag: i32| {
            let sum = |(heard, played): &(Vec<f32>, Vec<f32>)| -> f32 {
                let (h, p) = (lag.max(0) as usize, (-lag).max(0) as usize);
                heard
                    .iter()
                    .skip(h)
                    .zip(played.iter().skip(p))
                    .map(|(h, p)| h * p)
                    .sum()
            };
            bands.iter().map(sum).sum::<f32>() / BAND_COUNT as f32
        };
        let lags = LAGS.map(|lag| (lag, together(lag)));
        let best = lags.max_by(|a, b| a.1.total_cmp(&b.1));
        best.filter(|(_, together)| *together >= TOGETHER)
            .map(|(lag, _)| lag)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Bursts of 40 ms on the left, in the middle and on the right, not together; heard by these gains with a noise of this top,
    /// while another was heard before. By hand: an ear with the gains a and b hears a power of 1 on the left as a squared, on the
    /// right as b squared, in the middle (half on each side) as half the square of both together.
    #[test]
    fn a_share_is_that_of_the_ear_whatever_the_noise() {
        let sine = |n: usize| (n as f32 * 0.327).sin();
        let played: Vec<[f32; 2]> = (0..4 * 48_000)
            .map(|n| match n / 1920 % 7 {
                0 => [sine(n), 0.0],
                2 => [sine(n), sine(n)],
                5 => [0.0, sine(n)],
                _ => [0.0; 2],
            })
            .collect();
        for (a, b) in [(0.1, 0.0), (0.0, 0.1), (0.05, 0.05), (0.1, 0.05)] {
            for (noise, before) in [(0.0, 0.0), (0.01, 0.01), (0.0, 0.01), (0.01, 0.0)] {
                let heard: Vec<f32> = (0..played.len())
                    .map(|n| a * played[n][0] + b * played[n][1] + noise * (n as f32 * 0.33).sin())
                    .collect();
                let mut meter = PowerMeter::new(48_000);
                meter.feed(&heard, &played);
                let (share, _) = meter.share(2, 0, before * before / 2.0);
                let middle = (share.left + share.right + share.cross) / 2.0;
                for (found, due) in [
                    (share.left, a * a),
                    (share.right, b * b),
                    (middle, (a + b) * (a + b) / 2.0),
                ] {
                    // Within 1 dB, or a twentieth of the strongest.
                    let far = (found - due).abs();
                    assert!(
                        far < 0.2 * due + 0.000_5,
                        "{a} {b} {noise} {before}: {share:?}"
                    );
                }
            }
        }
    }

    #[test]
    fn what_leaks_is_found_as_late_as_it_is() {
        // Clicks at uneven times, as a band has them, on the right.
        let clicks: Vec<[f32; 2]> = (0..3 * 48_000u64)
            .map(|n| match n * n / 48_000 % 20_011 {
                m if m < 240 => (n as f32 * 0.4).sin(),
                _ => 0.0,
            })
            .map(|s| [0.0, s])
            .collect();
        for late in [0usize, 24, 131, 400] {
            let mut heard = vec![0.0; 48 * late];
            heard.extend(clicks.iter().map(|s| 0.05 * s[1]));
            let mut meter = PowerMeter::new(48_000);
            meter.feed(&heard[..clicks.len()], &clicks);
            let lag = meter.lag();
            assert!(
                lag.is_some_and(|lag| lag.abs_diff(late as i32) <= 1),
                "{late} {lag:?}"
            );
        }
        let mut meter = PowerMeter::new(48_000);
        meter.feed(&[0.0; 48_000], &clicks[..48_000]);
        assert_eq!(meter.lag(), None);
    }
}
