//! Loudness after ITU-R BS.1770, measured with the `ebur128` library.

use ebur128::{EbuR128, Mode};

/// Length over which momentary loudness is taken, seconds (EBU Tech 3341).
pub(super) const MOMENT: f64 = 0.4;

/// Momentary loudness, LUFS, of the first 400 ms of a mono sound as it comes out of one loudspeaker; silence after
/// a shorter sound counts. Minus infinity for silence.
pub(super) fn momentary(samples: &[f32], rate: u32) -> f64 {
    let wanted = (MOMENT * f64::from(rate)).round() as usize;
    let silence = vec![0.0f32; wanted.saturating_sub(samples.len())];
    let measure = || -> Result<f64, ebur128::Error> {
        let mut meter = EbuR128::new(1, rate, Mode::M)?;
        meter.add_frames_f32(&samples[..samples.len().min(wanted)])?;
        meter.add_frames_f32(&silence)?;
        meter.loudness_momentary()
    };
    measure().unwrap_or(f64::NEG_INFINITY)
}

/// The factor on amplitudes of a change in dB; 1 for a change that is no number (as from silence).
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
