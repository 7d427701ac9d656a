//! How late taps come, from taps along with clicks.

use crate::time::Seconds;

/// Taps asked for.
pub const TAPS: usize = 16;
/// Taps at the start that do not count: the player is still finding the beat.
pub const WARM_UP: usize = 4;
/// The widest spread of the taps that count. If it is wider, the middle says little about the machine.
pub const WIDEST: Seconds = Seconds::new(0.060);

/// What tapping along with a click says about this machine and this player.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Calibration {
    /// By how much taps come after the sound as the program reckons it: converters, amplifier, wireless link
    /// and keyboard together, less the little by which people tap ahead of a beat (some 20 to 80 ms without
    /// musical training, less with it; Repp 2005, *Psychonomic Bulletin & Review* 12(6)). Take it off every tap.
    pub offset: Seconds,
    /// Between the second earliest and the second latest of the taps that count.
    pub spread: Seconds,
}

/// Taps that say nothing about the machine.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum CalibrationError {
    /// Fewer taps than can be averaged.
    #[error("{found} taps are too few: tap along for {TAPS} beats")]
    TooFew {
        /// How many there were.
        found: usize,
    },
    /// Taps too uneven to tell the machine from the player.
    #[error(
        "the taps spread over {:.0} ms, and more than {:.0} ms says nothing about the computer: tap once more, evenly, \
         with each click",
        spread.millis(), WIDEST.millis()
    )]
    TooWide {
        /// How far apart they lie.
        spread: Seconds,
    },
}

/// The offset of a machine from taps along with a click: `late` holds for every tap by how much it came
/// after its beat (negative: before), in the order of tapping. The first [`WARM_UP`] are left out; of the rest the
/// offset is the median.
///
/// # Errors
/// [`CalibrationError`] where there are fewer than [`TAPS`], or where their spread is above [`WIDEST`].
pub fn calibrate(late: &[Seconds]) -> Result<Calibration, CalibrationError> {
    let usable = late.iter().all(|l| l.is_finite());
    if late.len() < TAPS || !usable {
        return Err(CalibrationError::TooFew { found: late.len() });
    }
    let mut counted = late[WARM_UP..].to_vec();
    counted.sort_by(Seconds::total_cmp);
    let count = counted.len();
    let spread = counted[count - 2] - counted[1];
    if spread > WIDEST {
        return Err(CalibrationError::TooWide { spread });
    }
    let offset = 0.5 * (counted[(count - 1) / 2] + counted[count / 2]);
    Ok(Calibration { offset, spread })
}

/// How far a tap came after the beat nearest to it (negative: before). `None` without beats.
pub fn after_nearest(tap: Seconds, beats: &[Seconds]) -> Option<Seconds> {
    beats
        .iter()
        .map(|beat| tap - *beat)
        .min_by(|a, b| a.abs().total_cmp(&b.abs()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn taps(rest: [f64; 12]) -> Vec<Seconds> {
        let all = [0.3, -0.2, 0.15, 0.09].into_iter().chain(rest);
        all.map(Seconds::new).collect()
    }

    #[test]
    fn the_offset_is_the_median_of_the_last_twelve() {
        let rest = [
            0.040, 0.050, 0.041, 0.049, 0.042, 0.048, 0.043, 0.047, 0.044, 0.046, 0.044, 0.046,
        ];
        // By hand: sorted .040 .041 .042 .043 .044 .044 | .046 .046 .047 .048 .049 .050.
        let found = calibrate(&taps(rest)).unwrap();
        assert!((found.offset.seconds() - 0.045).abs() < 1e-12);
        assert!((found.spread.seconds() - 0.008).abs() < 1e-12);
    }

    #[test]
    fn one_stray_tap_at_each_end_does_no_harm() {
        let mut rest = [0.02; 12];
        rest[3] = 0.4;
        rest[7] = -0.4;
        assert_eq!(
            calibrate(&taps(rest)),
            Ok(Calibration {
                offset: Seconds::new(0.02),
                spread: Seconds::ZERO
            })
        );
    }

    #[test]
    fn uneven_and_too_few_taps_are_refused_with_a_reason() {
        let mut rest = [0.0; 12];
        for (i, tap) in rest.iter_mut().enumerate() {
            *tap = i as f64 * 0.01;
        }
        let error = calibrate(&taps(rest)).unwrap_err();
        assert!(error.to_string().contains("spread over 90 ms"), "{error}");
        let error = calibrate(&[Seconds::ZERO; 15]).unwrap_err();
        assert_eq!(error, CalibrationError::TooFew { found: 15 });
    }

    #[test]
    fn a_tap_belongs_to_the_nearest_beat() {
        let beats = [0.0, 0.5, 1.0].map(Seconds::new);
        let after = |tap| after_nearest(Seconds::new(tap), &beats).unwrap().seconds();
        assert!((after(0.48) + 0.02).abs() < 1e-12);
        assert!((after(1.03) - 0.03).abs() < 1e-12);
        assert_eq!(after_nearest(Seconds::new(1.0), &[]), None);
    }
}
