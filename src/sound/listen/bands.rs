//! Power in four bands, a millisecond at a time.

/// How many bands there are.
pub const BAND_COUNT: usize = 4;
/// Mean square of the samples in each band, the lowest band first.
pub type BandPowers = [f32; BAND_COUNT];

/// Middle of each band, Hz, and its quality: body of a drum, its upper modes, claps and slaps, clicks (chosen).
const BANDS: [(f64, f64); BAND_COUNT] = [(250.0, 0.7), (800.0, 0.7), (2500.0, 0.7), (7000.0, 0.7)];

/// A band-pass of second order with 0 dB in its middle (Bristow-Johnson, *Audio EQ Cookbook*, W3C note 2021), direct form II
/// transposed.
#[derive(Clone, Copy, Debug, Default)]
struct BandPass {
    gain: f32,
    back: [f32; 2],
    state: [f32; 2],
}

impl BandPass {
    fn new(hz: f64, quality: f64, rate: f64) -> BandPass {
        // A device of a low rate has less of the top band.
        let turn = std::f64::consts::TAU * (hz / rate).min(0.4);
        let alpha = turn.sin() / (2.0 * quality);
        let norm = 1.0 + alpha;
        BandPass {
            gain: (alpha / norm) as f32,
            back: [
                (-2.0 * turn.cos() / norm) as f32,
                ((1.0 - alpha) / norm) as f32,
            ],
            state: [0.0; 2],
        }
    }

    fn next(&mut self, sample: f32) -> f32 {
        let out = self.gain * sample + self.state[0];
        self.state[0] = self.state[1] - self.back[0] * out;
        // A state that fades for ever would end in numbers that are slow to reckon with.
        self.state[1] = -self.gain * sample - self.back[1] * out + 1e-20;
        out
    }
}

/// The four bands of a signal.
#[derive(Clone, Debug)]
pub(super) struct FilterBank {
    filters: [BandPass; BAND_COUNT],
    sums: BandPowers,
    count: usize,
    hop: usize,
}

impl FilterBank {
    /// For a signal of `rate` samples a second.
    pub fn new(rate: u32) -> FilterBank {
        let filters = BANDS.map(|(hz, quality)| BandPass::new(hz, quality, f64::from(rate)));
        FilterBank {
            filters,
            sums: [0.0; BAND_COUNT],
            count: 0,
            hop: hop(rate),
        }
    }

    /// The next sample in each band; at the end of each [`hop`] also its powers. What is no number counts as silence.
    pub fn next(&mut self, sample: f32) -> ([f32; BAND_COUNT], Option<BandPowers>) {
        let sample = if sample.is_finite() {
            sample.clamp(-8.0, 8.0)
        } else {
            0.0
        };
        let out = self.filters.each_mut().map(|filter| filter.next(sample));
        for (sum, s) in self.sums.iter_mut().zip(out) {
            *sum += s * s;
        }
        self.count += 1;
        if self.count < self.hop {
            return (out, None);
        }
        self.count = 0;
        let powers = self.sums.map(|sum| sum / self.hop as f32);
        self.sums = [0.0; BAND_COUNT];
        (out, Some(powers))
    }
}

/// Samples of which one power is made: a millisecond.
pub(super) fn hop(rate: u32) -> usize {
    (rate as usize / 1000).max(1)
}
