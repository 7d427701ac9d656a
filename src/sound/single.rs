//! One stroke by itself, for calibration and examples.

use super::bank;
use super::voices::Sound;
use crate::rhythm::Stroke;

/// One stroke alone, mono, at [`super::RATE`]: what a take mixes, without its place in the room. Every `touch` is
/// another hit of the same stroke; takes use the first few. A stroke with an open hand is played with the right.
pub fn single(stroke: Stroke, touch: u32) -> Vec<f32> {
    bank::make(Sound::Drum(stroke), touch).samples
}
