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
/// The least power that is told from none, so that decibels are numbers.
const FAINTEST: f32 = 1e-12;

/// The levels that a microphone is listened to with.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Levels {
    /// Power of the room in each band, mean square.
    pub noise: BandPowers,
    /// Power in each band of what leaks, as a share of the power of what is played.
    pub leak: BandPowers,
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
    #[error("only {found} strokes were heard, {CHECK_STROKES} are needed: come closer to the microphone, or turn it up, and clap again")]
    TooFew {
        /// How many were heard.
        found: usize,
    },
    /// The strokes are hardly louder than the room.
    #[error("your strokes are only {0:.0} dB above the room: come closer to the microphone, or find a quieter place")]
    Noisy(f32),
    /// The strokes are hardly louder than what leaks.
    #[error("your strokes are only {0:.0} dB above what the microphone hears of the band: wear headphones, or turn the band down")]
    Leaky(f32),
}

/// Mean powers of what is heard and of what is played meanwhile.
#[derive(Clone, Debug)]
pub struct PowerMeter {
    banks: [FilterBank; 2],
    sums: [[f64; BAND_COUNT]; 2],
    count: usize,
}

impl PowerMeter {
    /// For samples of `rate` a second.
    pub fn new(rate: u32) -> PowerMeter {
        PowerMeter {
            banks: [FilterBank::new(rate), FilterBank::new(rate)],
            sums: [[0.0; BAND_COUNT]; 2],
            count: 0,
        }
    }

    /// Takes the next samples of the microphone, with what the program played at that time (as long, or nothing).
    pub fn feed(&mut self, heard: &[f32], played: &[f32]) {
        for (i, sample) in heard.iter().enumerate() {
            let both = [*sample, played.get(i).copied().unwrap_or(0.0)];
            for ((bank, sums), sample) in self.banks.iter_mut().zip(&mut self.sums).zip(both) {
                let (_, powers) = bank.next(sample);
                let Some(powers) = powers else { continue };
                for (sum, power) in sums.iter_mut().zip(powers) {
                    *sum += f64::from(power);
                }
            }
            self.count += 1;
        }
    }

    /// Mean power of what was heard and of what was played, in each band.
    fn means(&self, rate: u32) -> [BandPowers; 2] {
        let hops = (self.count / super::bands::hop(rate)).max(1) as f64;
        self.sums.map(|sums| sums.map(|sum| (sum / hops) as f32))
    }
}

impl SoundCheck {
    /// From a silence, a stretch of the band while the player was silent, and some strokes, all at `rate` samples a second.
    ///
    /// # Errors
    /// [`SoundCheckError`] where they say too little.
    pub fn of(
        silence: &PowerMeter,
        band: &PowerMeter,
        strokes: &[HeardOnset],
        rate: u32,
    ) -> Result<SoundCheck, SoundCheckError> {
        let found = strokes.len();
        if found < CHECK_STROKES {
            return Err(SoundCheckError::TooFew { found });
        }
        let mut powers: Vec<f32> = strokes.iter().map(|s| s.power).collect();
        powers.sort_by(f32::total_cmp);
        let stroke = powers[found / 2];
        let [noise, _] = silence.means(rate);
        let [heard, played] = band.means(rate);
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
        (0..count as u64).map(|sample| HeardOnset { sample, power }).collect()
    }

    #[test]
    fn levels_are_the_powers_of_room_leak_and_strokes() {
        // A sine of top a has the mean square a * a / 2; the band passes its middle as it is.
        let check = SoundCheck::of(&meter(0.01, 0.0), &meter(0.11, 1.0), &strokes(5, 0.3), 48_000);
        let levels = check.unwrap().levels;
        assert!((levels.noise[2] / 0.000_05 - 1.0).abs() < 0.02, "{levels:?}");
        assert!((levels.leak[2] / (0.0121 - 0.0001) - 1.0).abs() < 0.02, "{levels:?}");
        assert_eq!(levels.stroke, 0.3);
    }

    #[test]
    fn a_check_that_says_too_little_tells_what_to_do() {
        let of = |silence: f32, band: f32, strokes: &[HeardOnset]| {
            let check = SoundCheck::of(&meter(silence, 0.0), &meter(band, 1.0), strokes, 48_000);
            check.unwrap_err().to_string()
        };
        assert!(of(0.0, 0.0, &strokes(3, 0.3)).contains("only 3 strokes"));
        assert!(of(0.5, 0.0, &strokes(8, 0.3)).contains("quieter place"));
        assert!(of(0.0, 0.5, &strokes(8, 0.3)).contains("headphones"));
    }
}
