//! The beta distribution: what is known about a share after some answers.

use serde::Serialize;
use statrs::function::beta::beta_reg;

/// What is known about a share, as a beta distribution.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Strength {
    /// Best guess of the share, 0 to 1.
    pub mean: f64,
    /// The share lies between `low` and `high` with a probability of nine in ten, and is as likely to lie below as
    /// above.
    pub low: f64,
    /// Upper end of that interval, 0 to 1.
    pub high: f64,
    /// How many answers without any guessing would say as much, including those that the prior expectation is worth.
    pub worth: f64,
}

impl Strength {
    /// The beta distribution of this mean and variance. The variance is kept below that of a share which is
    /// either 0 or 1.
    pub(super) fn of_moments(mean: f64, variance: f64) -> Strength {
        let mean = mean.clamp(1e-6, 1.0 - 1e-6);
        let most = mean * (1.0 - mean);
        let worth = most / variance.clamp(1e-12, most * 0.999) - 1.0;
        let (a, b) = (mean * worth, (1.0 - mean) * worth);
        Strength {
            mean,
            low: quantile(a, b, 0.05),
            high: quantile(a, b, 0.95),
            worth,
        }
    }
}

/// The share that `hits` of `tries` tell, by Jeffreys' interval (Brown, Cai & DasGupta 2001, *Statistical Science*
/// 16:101-133).
pub(super) fn share(hits: f64, tries: f64) -> Strength {
    let worth = tries + 1.0;
    let mean = (hits + 0.5) / worth;
    Strength::of_moments(mean, mean * (1.0 - mean) / (worth + 1.0))
}

/// Quantiles are this exact, as a share of themselves.
const EXACT: f64 = 1e-10;

/// The share below which a beta distribution with parameters `a` and `b` (both above 0) has probability `p`.
pub fn quantile(a: f64, b: f64, p: f64) -> f64 {
    if p <= 0.0 || p >= 1.0 {
        return p.clamp(0.0, 1.0);
    }
    let (mut low, mut high) = (0.0, 1.0);
    // Halving is slow and cannot go wrong.
    while high - low > EXACT * high {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if beta_reg(a, b, middle) < p {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Chance of `hits` or more among `tries` that each hit with chance `p`; both counts may be fractional, by way of the
/// incomplete beta function (DLMF 8.17.5).
pub fn at_least(hits: f64, tries: f64, p: f64) -> f64 {
    if hits <= 0.0 {
        1.0
    } else if hits > tries || p <= 0.0 {
        0.0
    } else if p >= 1.0 {
        1.0
    } else {
        beta_reg(hits, tries - hits + 1.0, p)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_are_those_of_an_independent_library() {
        // scipy 1.17.1, scipy.stats.beta.ppf(p, a, b)
        for (a, b, p, x) in [
            (1.0, 1.0, 0.05, 0.05),
            (0.5, 0.5, 0.05, 0.0061558297024311365),
            (0.5, 20.5, 0.95, 0.0904764265378723),
            (2.0, 3.0, 0.05, 0.09761146288641434),
            (7.25, 1.5, 0.95, 0.976793824707447),
            (38.5, 12.5, 0.05, 0.6512493695309232),
            (38.5, 12.5, 0.95, 0.8470889951358469),
            (1200.0, 300.0, 0.05, 0.7827924236751511),
            (0.02, 3.0, 0.95, 0.0180040474859598),
            (5.0, 0.1, 0.05, 0.8805715735586175),
        ] {
            let found = quantile(a, b, p);
            assert!((found - x).abs() < 1e-6, "{a} {b} {p}: {found}");
        }
    }

    #[test]
    fn tails_are_those_of_an_independent_library() {
        // scipy 1.17.1, scipy.stats.binom.sf(hits - 1, tries, p)
        for (hits, tries, p, x) in [
            (3.0, 10.0, 0.1, 0.0701908264),
            (7.0, 40.0, 0.05, 0.0033918975779359773),
            (0.0, 5.0, 0.3, 1.0),
            (15.0, 15.0, 0.5, 3.0517578125e-05),
        ] {
            assert!((at_least(hits, tries, p) - x).abs() < 1e-9);
        }
    }

    #[test]
    fn moments_give_the_beta_distribution_they_belong_to() {
        // Beta(2, 3): mean 2/5, variance 1/25 (Johnson, Kotz & Balakrishnan 1995, ch. 25).
        let s = Strength::of_moments(0.4, 0.04);
        assert!((s.worth - 5.0).abs() < 1e-9);
        assert!((s.low - 0.09761146288641434).abs() < 1e-6);
    }
}
