//! Power in four bands, a millisecond at a time: of what is heard, and of both sides of what is played.

use serde::{Deserialize, Serialize};

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

    /// The next sample in each band; at the end of each [`hop`] also its powers. What is not a number counts as
    /// silence.
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

/// Products of left and right in one band, mean over a millisecond: of each with itself, its power, and of the left with the
/// right. It is the covariance of both sides, whose sum with a [`SideShare`] is the power that any ear hears of them.
pub(super) type SidePowers = SideShare;

/// How an ear hears both sides in one band: its power is the sum of these with the [`SidePowers`]. For an ear that hears them with
/// gains a and b they are a squared, b squared and twice a times b; where paths differ, the last is nearer to nothing (full-rank
/// spatial covariance, Duong, Vincent & Gribonval 2010, *IEEE Transactions on Audio, Speech, and Language Processing* 18:1830-1840).
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(from = "KeptShare")]
pub struct SideShare {
    /// Of the left.
    pub left: f32,
    /// Of the right.
    pub right: f32,
    /// Of what both have in common.
    pub cross: f32,
}

/// As sound checks were kept: earlier ones with one number, the share of the middle's power.
#[derive(Deserialize)]
#[serde(untagged)]
enum KeptShare {
    Middle(f32),
    Sides { left: f32, right: f32, cross: f32 },
}

impl From<KeptShare> for SideShare {
    fn from(kept: KeptShare) -> SideShare {
        match kept {
            KeptShare::Middle(share) => SideShare::of_gains(0.5, 0.5).times(share),
            KeptShare::Sides { left, right, cross } => SideShare { left, right, cross },
        }
    }
}

impl SideShare {
    /// An ear with these gains.
    pub fn of_gains(left: f32, right: f32) -> SideShare {
        SideShare {
            left: left * left,
            right: right * right,
            cross: 2.0 * left * right,
        }
    }

    /// The power that is heard.
    pub(super) fn of(self, sides: SidePowers) -> f32 {
        let sum = self.left * sides.left + self.right * sides.right + self.cross * sides.cross;
        sum.max(0.0)
    }

    /// The power of both sides, as if nothing of them went together.
    pub(super) fn total(self) -> f32 {
        self.left + self.right
    }

    /// This many times as much.
    pub fn times(self, by: f32) -> SideShare {
        SideShare {
            left: by * self.left,
            right: by * self.right,
            cross: by * self.cross,
        }
    }

    /// Both together.
    pub fn plus(self, other: SideShare) -> SideShare {
        SideShare {
            left: self.left + other.left,
            right: self.right + other.right,
            cross: self.cross + other.cross,
        }
    }
}

/// The four bands of both sides.
#[derive(Clone, Debug)]
pub(super) struct SideBank {
    banks: [FilterBank; 2],
    sums: [SidePowers; BAND_COUNT],
}

impl SideBank {
    /// For a signal of `rate` frames a second.
    pub fn new(rate: u32) -> SideBank {
        SideBank {
            banks: [FilterBank::new(rate), FilterBank::new(rate)],
            sums: Default::default(),
        }
    }

    /// The next frame; at the end of each [`hop`] its powers.
    pub fn next(&mut self, frame: [f32; 2]) -> Option<[SidePowers; BAND_COUNT]> {
        let [(left, powers), (right, _)] = [0, 1].map(|side| self.banks[side].next(frame[side]));
        for (sum, (l, r)) in self.sums.iter_mut().zip(left.into_iter().zip(right)) {
            *sum = sum.plus(SidePowers {
                left: l * l,
                right: r * r,
                cross: l * r,
            });
        }
        powers?;
        let share = 1.0 / self.banks[0].hop as f32;
        let sums = std::mem::take(&mut self.sums);
        Some(sums.map(|sum| sum.times(share)))
    }
}

/// Samples of which one power is made: a millisecond.
pub(super) fn hop(rate: u32) -> usize {
    (rate as usize / 1000).max(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Powers by hand: one instrument of power 1 in the middle (each side half), one on the left with power 3, each alone.
    #[test]
    fn an_ear_hears_both_sides_by_its_gains() {
        let middle = SidePowers {
            left: 0.5,
            right: 0.5,
            cross: 0.5,
        };
        let left = SidePowers {
            left: 3.0,
            ..SidePowers::default()
        };
        for (gains, powers) in [
            ([1.0, 0.0], [0.5, 3.0]),
            ([0.0, 1.0], [0.5, 0.0]),
            ([0.5, 0.5], [0.5, 0.75]),
            ([1.0, -1.0], [0.0, 3.0]),
        ] {
            let ear = SideShare::of_gains(gains[0], gains[1]);
            assert_eq!([ear.of(middle), ear.of(left)], powers, "{gains:?}");
        }
    }
}
