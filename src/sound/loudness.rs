//! Loudness after ITU-R BS.1770, measured with the `ebur128` library.

use crate::time::Seconds;
use ebur128::{EbuR128, Mode};

/// Length over which momentary loudness is taken, seconds (EBU Tech 3341).
pub(super) const MOMENT: Seconds = Seconds::new(0.4);

/// Momentary loudness, LUFS, of the first 400 ms of a mono sound as it comes out of one loudspeaker; silence after
/// a shorter sound counts. Minus infinity for silence.
pub(super) fn momentary(samples: &[f32], rate: u32) -> f64 {
    // Measured over the sound itself and a little silence for the filters to settle, then spread over the 400 ms:
    // the same number in less time.
    let settle = 10;
    let milliseconds = (1000 * samples.len() as u64 / u64::from(rate)) as u32 + settle;
    let window = milliseconds.min((MOMENT.millis()) as u32);
    let wanted = (u64::from(window) * u64::from(rate) / 1000) as usize;
    let silence = vec![0.0f32; wanted.saturating_sub(samples.len())];
    let measure = || -> Result<f64, ebur128::Error> {
        let mut meter = EbuR128::new(1, rate, Mode::M)?;
        meter.add_frames_f32(&samples[..samples.len().min(wanted)])?;
        meter.add_frames_f32(&silence)?;
        meter.loudness_window(window)
    };
    let share = f64::from(window) / (MOMENT.millis());
    measure().map_or(f64::NEG_INFINITY, |l| l + 10.0 * share.log10())
}

/// The factor on amplitudes of a change in dB; 1 for a change that is not a number (as from silence).
pub(super) fn gain(db: f64) -> f64 {
    if db.is_finite() {
        10f64.powf(db / 20.0)
    } else {
        1.0
    }
}

/// The mean square, weighted as BS.1770 does, of a loudness.
pub(super) fn power(lufs: f64) -> f64 {
    10f64.powf((lufs + 0.691) / 10.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_sound_is_measured_as_over_400_ms() {
        let rate = 48_000;
        let sine = |n: usize| (std::f64::consts::TAU * 997.0 * n as f64 / 48_000.0).sin() as f32;
        // 997 Hz at full scale in one channel is -3.01 LUFS (EBU Tech 3341, ITU-R BS.1770 annex 1); a quarter of the
        // 400 ms is 6.02 dB less.
        let long: Vec<f32> = (0..48_000).map(sine).collect();
        assert!((momentary(&long, rate) + 3.01).abs() < 0.1);
        assert!((momentary(&long[..4_800], rate) + 9.03).abs() < 0.1);
        assert_eq!(momentary(&[0.0; 480], rate), f64::NEG_INFINITY);
    }
}
