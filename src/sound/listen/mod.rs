//! What a microphone hears: the onsets of strokes, and the sound check that sets the levels for them.
//!
//! Everything here is values in, values out: samples come in blocks of any length, and nothing of them is kept longer than
//! a tenth of a second.

mod bands;
mod check;
mod noise_floor;
mod onsets;
mod power_meter;

pub use check::{Levels, SoundCheck};
pub use onsets::{HeardOnset, OnsetDetector};
pub use power_meter::PowerMeter;
