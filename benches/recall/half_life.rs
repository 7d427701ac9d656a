//! Half-life regression (Settles & Meeder 2016, ACL P16-1174): `p = 2^(-d/h)`, `h = 2^(theta x)`.

/// Features of an item: how often right and wrong, and a constant.
#[derive(Clone, Copy, Debug, Default)]
pub struct Counts {
    pub right: f64,
    pub wrong: f64,
}

#[derive(Clone, Copy, Debug)]
pub struct Weights {
    pub right: f64,
    pub wrong: f64,
    pub bias: f64,
    /// Take square roots of one more than the counts, as the paper's best model does.
    pub roots: bool,
}

/// Leitner boxes 1972 as the paper writes them: a right answer doubles the interval, a wrong one halves it.
pub const LEITNER: Weights = Weights {
    right: 1.0,
    wrong: -1.0,
    bias: 0.0,
    roots: false,
};

/// Only tests use it. Pimsleur 1967 as the paper writes it: {n: 2.4, bias: -16.5}, n the number of exposures.
#[allow(dead_code)]
pub const PIMSLEUR: Weights = Weights {
    right: 2.4,
    wrong: 2.4,
    bias: -16.5,
    roots: false,
};

impl Weights {
    /// log2 of the half-life in days, before the paper's clip to 15 minutes and 9 months.
    pub fn log_half(&self, counts: Counts) -> f64 {
        let f = |v: f64| if self.roots { (1.0 + v).sqrt() } else { v };
        self.right * f(counts.right) + self.wrong * f(counts.wrong) + self.bias
    }

    /// Chance of recall after `days`.
    pub fn recall(&self, counts: Counts, days: f64) -> f64 {
        let half = self.log_half(counts).exp2().clamp(15.0 / 1440.0, 274.0);
        (-days / half).exp2()
    }
}
