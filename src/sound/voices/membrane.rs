//! The modes of a circular membrane held at its rim.

use std::sync::LazyLock;

/// A mode: nodal diameters, the zero of the Bessel function that gives its frequency, and its mean square over the
/// head but for a common factor (Morse & Ingard 1968, ch. 5).
pub(super) struct MembraneMode {
    pub diameters: u32,
    pub zero: f64,
    norm: f64,
}

/// Zeros of the Bessel functions below 40, one row an order (Abramowitz & Stegun 1964, table 9.5, which the Digital
/// Library of Mathematical Functions, section 10.21, carries on; printed by SciPy's `jn_zeros`). They reach some 16
/// times the frequency of the lowest mode, as high as a slap is bright.
#[rustfmt::skip]
const ZEROS: [&[f64]; 34] = [
    &[
        2.404826, 5.520078, 8.653728, 11.791534, 14.930918, 18.071064, 21.211637, 24.352472, 27.493479, 30.634606,
        33.775820, 36.917098,
    ],
    &[
        3.831706, 7.015587, 10.173468, 13.323692, 16.470630, 19.615859, 22.760084, 25.903672, 29.046829, 32.189680,
        35.332308, 38.474766,
    ],
    &[
        5.135622, 8.417244, 11.619841, 14.795952, 17.959819, 21.116997, 24.270112, 27.420574, 30.569204, 33.716520,
        36.862857,
    ],
    &[
        6.380162, 9.761023, 13.015201, 16.223466, 19.409415, 22.582730, 25.748167, 28.908351, 32.064852, 35.218671,
        38.370472,
    ],
    &[
        7.588342, 11.064709, 14.372537, 17.615966, 20.826933, 24.019020, 27.199088, 30.371008, 33.537138, 36.699001,
        39.857627,
    ],
    &[8.771484, 12.338604, 15.700174, 18.980134, 22.217800, 25.430341, 28.626618, 31.811717, 34.988781, 38.159869],
    &[9.936110, 13.589290, 17.003820, 20.320789, 23.586084, 26.820152, 30.033722, 33.233042, 36.422020, 39.603239],
    &[11.086370, 14.821269, 18.287583, 21.641541, 24.934928, 28.191188, 31.422794, 34.637089, 37.838717],
    &[12.225092, 16.037774, 19.554536, 22.945173, 26.266815, 29.545660, 32.795800, 36.025615, 39.240448],
    &[13.354300, 17.241220, 20.807048, 24.233885, 27.583749, 30.885379, 34.154378, 37.400100],
    &[14.475501, 18.433464, 22.046985, 25.509451, 28.887375, 32.211856, 35.499909, 38.761807],
    &[15.589848, 19.615967, 23.275854, 26.773323, 30.179061, 33.526364, 36.833571],
    &[16.698250, 20.789906, 24.494885, 28.026710, 31.459960, 34.829987, 38.156378],
    &[17.801435, 21.956244, 25.705103, 29.270630, 32.731053, 36.123658, 39.469207],
    &[18.899998, 23.115778, 26.907369, 30.505950, 33.993185, 37.408185],
    &[19.994431, 24.269180, 28.102415, 31.733413, 35.247087, 38.684276],
    &[21.085146, 25.417019, 29.290871, 32.953665, 36.493398, 39.952553],
    &[22.172495, 26.559784, 30.473280, 34.167268, 37.732681],
    &[23.256776, 27.697898, 31.650118, 35.374717, 38.965432],
    &[24.338250, 28.831730, 32.821803, 36.576451],
    &[25.417141, 29.961604, 33.988703, 37.772858],
    &[26.493647, 31.087805, 35.151146, 38.964287],
    &[27.567944, 32.210587, 36.309426],
    &[28.640185, 33.330177, 37.463806],
    &[29.710509, 34.446778, 38.614522],
    &[30.779039, 35.560574, 39.761790],
    &[31.845887, 36.671730],
    &[32.911154, 37.780398],
    &[33.974930, 38.886713],
    &[35.037299, 39.990802],
    &[36.098337],
    &[37.158113],
    &[38.216691],
    &[39.274130],
];

/// All modes, the lowest of every row first.
pub(super) static MODES: LazyLock<Vec<MembraneMode>> = LazyLock::new(|| {
    let row = |(diameters, zeros): (usize, &&[f64])| {
        let diameters = diameters as u32;
        let round = if diameters == 0 { 1.0 } else { 0.5 };
        let mode = move |zero: &f64| MembraneMode {
            diameters,
            zero: *zero,
            norm: round * bessel(diameters + 1, *zero).powi(2),
        };
        zeros.iter().map(mode).collect::<Vec<_>>()
    };
    ZEROS.iter().enumerate().flat_map(row).collect()
});

impl MembraneMode {
    /// Its frequency over that of the lowest mode.
    pub fn ratio(&self) -> f64 {
        self.zero / ZEROS[0][0]
    }

    /// Its amplitude where the head is struck at one place, `place` radii from the centre: its shape there over its
    /// norm (Morse & Ingard 1968, ch. 5).
    pub fn struck_at(&self, place: f64) -> f64 {
        bessel(self.diameters, self.zero * place) / self.norm
    }
}

/// Bessel function of the first kind of whole order: the mean of `cos(m t - x sin t)` over half a turn (Abramowitz &
/// Stegun 9.1.21), by the trapezoidal rule, whose error here is below 1e-9.
fn bessel(order: u32, x: f64) -> f64 {
    // The rule errs by Bessel functions of orders above twice the steps less `order`, which are next to nothing there.
    let steps = (0.5 * (f64::from(order) + x)) as u32 + 14;
    let value = |i: u32| {
        let t = std::f64::consts::PI * f64::from(i) / f64::from(steps);
        (f64::from(order) * t - x * t.sin()).cos()
    };
    let inner: f64 = (1..steps).map(value).sum();
    (inner + 0.5 * (value(0) + value(steps))) / f64::from(steps)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bessel_functions_are_those_of_the_handbook() {
        // Abramowitz & Stegun, table 9.1: J0(1), J1(1), J2(1) and J0(5).
        for (order, x, value) in [
            (0, 1.0, 0.765_197_686_6),
            (1, 1.0, 0.440_050_585_7),
            (2, 1.0, 0.114_903_484_9),
            (0, 5.0, -0.177_596_771_3),
        ] {
            assert!((bessel(order, x) - value).abs() < 1e-9, "J{order}({x})");
        }
    }

    #[test]
    fn every_mode_is_a_zero_of_its_bessel_function() {
        for mode in MODES.iter() {
            let off = bessel(mode.diameters, mode.zero).abs();
            assert!(off < 1e-6, "({},..) at {}", mode.diameters, mode.zero);
        }
    }

    #[test]
    fn no_mode_is_missing() {
        for (order, zeros) in ZEROS.iter().enumerate() {
            let at = |i: u32| bessel(order as u32, f64::from(i) * 0.05) > 0.0;
            // No zero but 0 lies below the order (Abramowitz & Stegun 9.5.2).
            let changes = (20 * order as u32..800)
                .filter(|i| at(*i) != at(i + 1))
                .count();
            assert_eq!(changes, zeros.len(), "order {order}");
        }
    }
}
