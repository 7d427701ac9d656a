//! The forgetting curve on the grid of half-lives, and the fast logarithm and exponential that the filter uses.

use super::constants::Constants;

/// Half-lives of the grid.
pub(super) const HALVES: usize = 64;
/// Shortest half-life of the grid, log2 of days.
pub(super) const SHORTEST: f32 = -7.0;
/// Distance between neighbours on the grid, log2 of days.
pub(super) const STEP: f32 = 0.25;
/// Steps of ease.
pub(super) const EASES: usize = 5;
/// Cells of one belief.
pub(super) const CELLS: usize = HALVES * EASES;

/// Recall for every half-life of the grid.
pub(super) type Recalls = [f32; HALVES];

/// Phases between two neighbours of the grid at which the curve is tabled.
const PHASES: usize = 16;
/// The table covers log2(t/h) from `LOW` to `HIGH`.
const LOW: f32 = -28.0;
const HIGH: f32 = 24.0;
const ROW: usize = ((HIGH - LOW) / STEP) as usize + 1;

/// `R(t|h) = (1 + t/h (2^(1/psi) - 1))^-psi`: 1/2 at the half-life (Wickelgren's power law, Wixted & Carpenter 2007,
/// written in its half-life). R depends on log2 t - log2 h alone, so one table serves all.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Curve {
    /// Row `p`, entry `j`: R at log2(t/h) = HIGH - j STEP + p STEP/PHASES.
    table: Vec<f32>,
}

impl Curve {
    pub fn new(constants: &Constants) -> Self {
        let psi = f64::from(constants.psi);
        let scale = (1.0 / psi).exp2() - 1.0;
        let mut table = Vec::with_capacity((PHASES + 1) * ROW);
        for phase in 0..=PHASES {
            for j in 0..ROW {
                let z =
                    f64::from(HIGH) - f64::from(STEP) * (j as f64 - phase as f64 / PHASES as f64);
                table.push((1.0 + z.exp2() * scale).powf(-psi) as f32);
            }
        }
        Self { table }
    }

    /// Recall after `days` for each half-life of the grid.
    pub fn recalls(&self, days: f32, out: &mut Recalls) {
        let (low, high, part) = self.rows(days);
        for k in 0..HALVES {
            out[k] = low[k] + part * (high[k] - low[k]);
        }
    }

    /// The two tabled rows around `days` and the share of the second.
    fn rows(&self, days: f32) -> (&[f32], &[f32], f32) {
        // log2(t/h) of the shortest half-life is the largest: it is entry 0 of the slice.
        let reach = HALVES as f32 * STEP;
        let z = (log2(days.max(1e-9)) - SHORTEST).clamp(LOW + reach + STEP, HIGH - STEP);
        let from_top = (HIGH - z) / STEP;
        let j = from_top.ceil();
        let phase = (j - from_top) * PHASES as f32;
        let p = (phase as usize).min(PHASES - 1);
        let start = j as usize;
        let low = &self.table[p * ROW + start..][..HALVES];
        let high = &self.table[(p + 1) * ROW + start..][..HALVES];
        (low, high, phase - p as f32)
    }
}

/// log2 of a positive, normal number, to about 1e-6. A polynomial (minimax by interpolation at Chebyshev nodes) on the mantissa: no call, so
/// loops over it run in vector registers.
#[inline(always)]
pub(super) fn log2(v: f32) -> f32 {
    let bits = v.to_bits() as i32;
    // Mantissa in [sqrt(1/2), sqrt(2)).
    let shifted = bits - 0x3f35_04f3;
    let exponent = shifted >> 23;
    let m = f32::from_bits((bits - (exponent << 23)) as u32);
    // 2 atanh(s)/ln 2 with s = (m-1)/(m+1); |s| < .1716, so four terms of the series reach 1e-8.
    let s = (m - 1.0) / (m + 1.0);
    let q = s * s;
    let series = 2.885_39 + q * (0.961_796_7 + q * (0.577_078_04 + q * 0.412_198_6));
    exponent as f32 + s * series
}

/// 2^v for v within ±126 (clamped), relative error below 1e-6: the Taylor series of the exponential on [-1/2, 1/2].
#[inline(always)]
pub(super) fn exp2(v: f32) -> f32 {
    let v = v.clamp(-126.0, 126.0);
    // Round to nearest by the trick of adding a large number; no call.
    let n = (v + 12_582_912.0) - 12_582_912.0;
    let f = (v - n) * std::f32::consts::LN_2;
    let p = 1.0
        + f * (1.0
            + f * (0.5
                + f * (0.166_666_67
                    + f * (0.041_666_67 + f * (0.008_333_334 + f * 0.001_388_889)))));
    f32::from_bits(((n as i32 + 127) << 23) as u32) * p
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::memory::constants::DEFAULT;

    #[test]
    fn logarithm_and_exponential_agree_with_the_library() {
        for i in -4000..4000 {
            let v = i as f32 / 40.0;
            let e = exp2(v);
            assert!(
                (f64::from(e) / f64::from(v).exp2() - 1.0).abs() < 1e-6,
                "{v}"
            );
            assert!((log2(e) - v).abs() < 2e-5, "{v} {}", log2(e));
        }
    }

    #[test]
    fn half_is_left_at_the_half_life() {
        let curve = Curve::new(&DEFAULT);
        let mut r = [0.0; HALVES];
        for k in 0..HALVES {
            let half = (SHORTEST + k as f32 * STEP).exp2();
            curve.recalls(half, &mut r);
            assert!((r[k] - 0.5).abs() < 1e-4, "{k} {}", r[k]);
        }
    }

    #[test]
    fn table_equals_the_formula_and_falls_with_time() {
        let curve = Curve::new(&DEFAULT);
        let psi = f64::from(DEFAULT.psi);
        let mut before = [1.0f32; HALVES];
        for i in 0..400 {
            let days = (-16.0 + i as f32 * 0.0703).exp2();
            let mut r = [0.0; HALVES];
            curve.recalls(days, &mut r);
            for k in 0..HALVES {
                let half = f64::from(SHORTEST + k as f32 * STEP).exp2();
                let exact = (1.0 + f64::from(days) / half * ((1.0 / psi).exp2() - 1.0)).powf(-psi);
                assert!((f64::from(r[k]) - exact).abs() < 2e-5, "{days} {k}");
                assert!(r[k] <= before[k]);
            }
            before = r;
        }
    }
}
