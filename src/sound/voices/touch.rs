//! The small differences between one hit and the next by the same hand.

use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};

/// The small differences between one hit and the next by the same hand. How large they are is from memory.
pub(super) struct Touch {
    /// Factor on frequencies.
    pub pitch: f64,
    /// Factor on the contact time.
    pub contact: f64,
    /// Factor on decay times.
    pub ring: f64,
    /// Shift of the place that is struck, in radii.
    pub place: f64,
    /// Shift of the noise of the contact against the rest, dB.
    pub noise: f64,
    /// Shift of the level, dB.
    pub level: f64,
}

impl Touch {
    pub fn new(seed: u64) -> Touch {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut around = |spread: f64| random.random_range(-spread..spread);
        Touch {
            pitch: 1.0 + around(0.003),
            contact: 1.0 + around(0.15),
            ring: 1.0 + around(0.12),
            place: around(0.035),
            noise: around(1.5),
            level: around(1.0),
        }
    }
}
