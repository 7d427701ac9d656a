//! How loud a room is by itself: minimum statistics (Martin 2001, *IEEE Transactions on Speech and Audio Processing* 9:504-512).

use super::bands::{BAND_COUNT, BandPowers};

/// Noise: seconds over which the least mean counts, milliseconds of the mean, and how far the least lies below it.
const NOISE_WINDOW: usize = 750;
const NOISE_MEAN: f32 = 50.0;
const NOISE_BIAS: f32 = 1.5;

/// The least of a mean over a sliding window, per band.
#[derive(Clone, Debug)]
pub(super) struct NoiseFloor {
    mean: Option<BandPowers>,
    least: [BandPowers; 2],
    count: usize,
}

impl NoiseFloor {
    /// Where the mean of it is known already, with that.
    pub fn new(known: Option<BandPowers>) -> NoiseFloor {
        let known = known.map_or([f32::INFINITY; BAND_COUNT], |noise| {
            noise.map(|n| n / NOISE_BIAS)
        });
        NoiseFloor {
            mean: None,
            least: [[f32::INFINITY; BAND_COUNT], known],
            count: 0,
        }
    }

    /// One millisecond more.
    pub fn next(&mut self, powers: BandPowers) {
        let mean = self.mean.get_or_insert(powers);
        for (mean, power) in mean.iter_mut().zip(powers) {
            *mean += (power - *mean) / NOISE_MEAN;
        }
        for (least, mean) in self.least[0].iter_mut().zip(mean) {
            *least = least.min(*mean);
        }
        self.count += 1;
        if self.count == NOISE_WINDOW {
            self.count = 0;
            self.least = [[f32::INFINITY; BAND_COUNT], self.least[0]];
        }
    }

    /// In a band; nothing where it is not known yet.
    pub fn at(&self, band: usize) -> f32 {
        let least = self.least[0][band].min(self.least[1][band]);
        if least.is_finite() {
            NOISE_BIAS * least
        } else {
            0.0
        }
    }
}
