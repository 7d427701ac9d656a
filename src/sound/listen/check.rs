//! The sound check: how loud a room is, how much of the band leaks into the microphone, how loud strokes are.

use super::bands::{BAND_COUNT, BandPowers, FilterBank};
use super::onsets::HeardOnset;
use serde::{Deserialize, Serialize};

/// Strokes that a sound check needs at least.
const CHECK_STROKES: usize = 4;
/// Strokes must be so many dB above the noise and above what leaks.
const CLEAR: f32 = 10.0;
/// Power below which nothing plays (-90 dB).
const SILENT: f32 = 1e-9;
/// Milliseconds by which what is played may be heard later than the system reckons.
const LAGS: std::ops::RangeInclusive<i32> = -60..=500;
/// The least correlation by which what is heard is taken for what is played (chosen).
const TOGETHER: f32 = 0.15;
/// The least power that is told from none, so that decibels are numbers.
const FAINTEST: f32 = 1e-12;

/// The levels that a microphone is listened to with.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Levels {
    /// Power of the room in each band, mean square.
    pub noise: BandPowers,
    /// Power in each band of what leaks, as a share of the power of what is played.
    pub leak: BandPowers,
    /// How much later (seconds) what leaks is heard than the system reckons; 0 where it is too soft to tell.
    pub leak_late: f64,
    /// Power of a stroke, mean square over 5 ms.
    pub stroke: f32,
}

/// What a sound check found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SoundCheck {
    /// What to listen with.
    pub levels: Levels,
    /// How far strokes lie above the noise of the room, dB.
    pub above_noise: f32,
    /// How far strokes lie above what leaks of the band, dB.
    pub above_leak: f32,
}

/// A sound check that says too little.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum SoundCheckError {
    /// Too few strokes were heard.
    #[error(
        "only {found} strokes were heard, {CHECK_STROKES} are needed: come closer to the microphone, or turn it up, and clap again"
    )]
    TooFew {
        /// How many were heard.
        found: usize,
    },
    /// The strokes are hardly louder than the room.
    #[error(
        "your strokes are only {0:.0} dB above the room: come closer to the microphone, or find a quieter place"
    )]
    Noisy(f32),
    /// The strokes are hardly louder than what leaks.
    #[error(
        "your strokes are only {0:.0} dB above what the microphone hears of the band: wear headphones, or turn the band down"
    )]
    Leaky(f32),
}

/// Powers of what is heard and of what is played meanwhile, a millisecond at a time: for a check of some seconds.
#[derive(Clone, Debug)]
pub struct PowerMeter {
    banks: [FilterBank; 2],
    powers: [Vec<BandPowers>; 2],
}

impl PowerMeter {
    /// For samples of `rate` a second.
    pub fn new(rate: u32) -> PowerMeter {
        PowerMeter {
            banks: [FilterBank::new(rate), FilterBank::new(rate)],
            powers: [Vec::new(), Vec::new()],
        }
    }

    /// Takes the next samples of the microphone, with what the program played at that time (as long, or nothing).
    pub fn feed(&mut self, heard: &[f32], played: &[f32]) {
        for (i, sample) in heard.iter().enumerate() {
            let both = [*sample, played.get(i).copied().unwrap_or(0.0)];
            for ((bank, powers), sample) in self.banks.iter_mut().zip(&mut self.powers).zip(both) {
                powers.extend(bank.next(sample).1);
            }
        }
    }

    /// Mean power of what was heard and of what was played, in each band.
    fn means(&self) -> [BandPowers; 2] {
        self.powers.each_ref().map(|powers| {
            std::array::from_fn(|band| {
                let sum: f64 = powers.iter().map(|p| f64::from(p[band])).sum();
                (sum / powers.len().max(1) as f64) as f32
            })
        })
    }

    /// By how many milliseconds what was played is heard later: where the amplitudes of both go together best, by the mean of
    /// the correlations of the bands. `None` where they do not go together.
    fn lag(&self) -> Option<i32> {
        let series = |powers: &[BandPowers], band: usize| {
            let tops: Vec<f32> = powers.iter().map(|p| p[band].sqrt()).collect();
            let mean = tops.iter().sum::<f32>() / tops.len().max(1) as f32;
            let off: Vec<f32> = tops.iter().map(|t| t - mean).collect();
            let norm = off.iter().map(|o| o * o).sum::<f32>().sqrt();
            off.iter()
                .map(|o| o / norm.max(1e-20))
                .collect::<Vec<f32>>()
        };
        let [heard, played] = &self.powers;
        let bands: Vec<_> = (0..BAND_COUNT)
            .map(|b| (series(heard, b), series(played, b)))
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

impl SoundCheck {
    /// From a silence, a stretch of the band while the player was silent, and some strokes.
    ///
    /// # Errors
    /// [`SoundCheckError`] where they say too little.
    pub fn of(
        silence: &PowerMeter,
        band: &PowerMeter,
        strokes: &[HeardOnset],
    ) -> Result<SoundCheck, SoundCheckError> {
        let found = strokes.len();
        if found < CHECK_STROKES {
            return Err(SoundCheckError::TooFew { found });
        }
        let mut powers: Vec<f32> = strokes.iter().map(|s| s.power).collect();
        powers.sort_by(f32::total_cmp);
        let stroke = powers[found / 2];
        let [noise, _] = silence.means();
        let [heard, played] = band.means();
        let leaked: BandPowers = std::array::from_fn(|b| (heard[b] - noise[b]).max(0.0));
        let [above_noise, above_leak] = [noise, leaked].map(|powers| {
            let power = powers.iter().sum::<f32>().max(FAINTEST);
            10.0 * (stroke / power).log10()
        });
        if above_noise < CLEAR {
            return Err(SoundCheckError::Noisy(above_noise));
        }
        if above_leak < CLEAR {
            return Err(SoundCheckError::Leaky(above_leak));
        }
        let share = |b: usize| match played[b] > SILENT {
            true => leaked[b] / played[b],
            false => 0.0,
        };
        Ok(SoundCheck {
            levels: Levels {
                noise,
                leak: std::array::from_fn(share),
                leak_late: band.lag().map_or(0.0, |ms| f64::from(ms) / 1000.0),
                stroke,
            },
            above_noise,
            above_leak,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A meter that was fed one second of a sine of 2500 Hz, the middle of the third band.
    fn meter(heard: f32, played: f32) -> PowerMeter {
        let sine = |top: f32| -> Vec<f32> {
            let turn = std::f32::consts::TAU * 2500.0 / 48_000.0;
            (0..48_000).map(|n| top * (turn * n as f32).sin()).collect()
        };
        let mut meter = PowerMeter::new(48_000);
        meter.feed(&sine(heard), &sine(played));
        meter
    }

    fn strokes(count: usize, power: f32) -> Vec<HeardOnset> {
        (0..count as u64)
            .map(|sample| HeardOnset { sample, power })
            .collect()
    }

    #[test]
    fn levels_are_the_powers_of_room_leak_and_strokes() {
        // A sine of top a has the mean square a * a / 2; the band passes its middle as it is.
        let check = SoundCheck::of(&meter(0.01, 0.0), &meter(0.11, 1.0), &strokes(5, 0.3));
        let levels = check.unwrap().levels;
        assert!(
            (levels.noise[2] / 0.000_05 - 1.0).abs() < 0.02,
            "{levels:?}"
        );
        assert!(
            (levels.leak[2] / (0.0121 - 0.0001) - 1.0).abs() < 0.02,
            "{levels:?}"
        );
        assert_eq!(levels.stroke, 0.3);
    }

    #[test]
    fn a_check_that_says_too_little_tells_what_to_do() {
        let of = |silence: f32, band: f32, strokes: &[HeardOnset]| {
            let check = SoundCheck::of(&meter(silence, 0.0), &meter(band, 1.0), strokes);
            check.unwrap_err().to_string()
        };
        assert!(of(0.0, 0.0, &strokes(3, 0.3)).contains("only 3 strokes"));
        assert!(of(0.5, 0.0, &strokes(8, 0.3)).contains("quieter place"));
        assert!(of(0.0, 0.5, &strokes(8, 0.3)).contains("headphones"));
    }

    #[test]
    fn what_leaks_is_found_as_late_as_it_is() {
        // Clicks at uneven times, as a band has them.
        let clicks: Vec<f32> = (0..3 * 48_000u64)
            .map(|n| match n * n / 48_000 % 20_011 {
                m if m < 240 => (n as f32 * 0.4).sin(),
                _ => 0.0,
            })
            .collect();
        for late in [0usize, 24, 131, 400] {
            let mut heard = vec![0.0; 48 * late];
            heard.extend(clicks.iter().map(|s| 0.05 * s));
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
