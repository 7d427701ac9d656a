//! The sound check: how loud a room is, how much of the band leaks into the microphone, how loud strokes are.

use super::bands::{BAND_COUNT, BandPowers, SideShare};
use super::onsets::HeardOnset;
use super::power_meter::{FAINTEST, PowerMeter};
use crate::time::Seconds;
use serde::{Deserialize, Serialize};

/// Strokes that a sound check needs at least.
const CHECK_STROKES: usize = 4;
/// Strokes must be this many dB above the noise and above what leaks.
const CLEAR: f32 = 10.0;

/// The levels that a microphone is listened to with.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Levels {
    /// Power of the room in each band, mean square.
    pub noise: BandPowers,
    /// How the microphone hears both sides of what is played, in each band.
    pub leak: [SideShare; BAND_COUNT],
    /// How much later (seconds) what leaks is heard than the system reckons; 0 where it is too soft to tell.
    pub leak_late: Seconds,
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
        let noise = silence.means();
        let lag = band.lag();
        let leaks: [_; BAND_COUNT] =
            std::array::from_fn(|b| band.share(b, lag.unwrap_or(0), noise[b]));
        let [above_noise, above_leak] = [noise, leaks.map(|leak| leak.1)].map(|powers| {
            let power = powers.iter().sum::<f32>().max(FAINTEST);
            10.0 * (stroke / power).log10()
        });
        if above_noise < CLEAR {
            return Err(SoundCheckError::Noisy(above_noise));
        }
        if above_leak < CLEAR {
            return Err(SoundCheckError::Leaky(above_leak));
        }
        Ok(SoundCheck {
            levels: Levels {
                noise,
                leak: leaks.map(|leak| leak.0),
                leak_late: lag.map_or(Seconds::ZERO, |ms| Seconds::new(f64::from(ms) / 1000.0)),
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
        let played: Vec<[f32; 2]> = sine(played).into_iter().map(|s| [s, s]).collect();
        meter.feed(&sine(heard), &played);
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
            ((levels.leak[2].left + levels.leak[2].right + levels.leak[2].cross)
                / (0.0121 - 0.0001)
                - 1.0)
                .abs()
                < 0.02,
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
}
