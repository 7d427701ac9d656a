//! The numbers of the free score. Made by a program, not by hand.

use super::score::Weights;

/// Printed by `cargo bench --bench fit_side`, which also reports how well they do on rows that were held back.
///
/// Fitted to *Firm-Teacher Clave-Direction Classification* (Mehmet Vurkaç; UCI Machine Learning Repository, DOI
/// 10.24432/C5GC9F): logistic regression with a normal prior for the votes of the half bars on the rows called
/// forward or reverse, multinomial logistic regression for the second step on all rows; the strength of the priors by
/// folds that keep a pattern and its swapped form together.
#[rustfmt::skip]
pub static WEIGHTS: Weights = Weights {
    halves: [
        [-1.708, -4.319, 9.855, 0.091, -5.668, -9.398, 2.664, -4.927, 1.026, -0.696, 12.260, 3.442, -2.430, -4.443, 5.680, -1.431],
        [1.216, 2.376, -5.094, -1.771, 5.381, 6.867, 1.382, 3.360, -1.704, -1.241, -7.654, -4.764, 1.309, 2.463, -1.925, -0.200],
    ],
    classes: [
        [-0.468, 0.471, -0.294, 9.631, 0.095, -0.079, -0.001, 0.033, -0.516],
        [-0.338, 0.466, -0.146, 3.344, 0.166, 0.101, 0.013, -0.003, -1.180],
    ],
    bar_slope: 0.340,
};
