//! The numbers of the free score. Made by a program, not by hand.

use super::score::SalienceWeights;

/// Printed by `cargo bench --bench fit_side`, which also reports how well they do on rows that were held back.
///
/// Fitted to *Firm-Teacher Clave-Direction Classification* (Mehmet Vurkaç; UCI Machine Learning Repository, DOI
/// 10.24432/C5GC9F): logistic regression with a normal prior for the votes of the half bars on the rows called
/// forward or reverse, multinomial logistic regression for the second step on all rows; the strength of the priors by
/// folds that keep a pattern and its swapped form together.
#[rustfmt::skip]
pub static WEIGHTS: SalienceWeights = SalienceWeights {
    halves: [
        [-2.029, -4.959, 11.594, -0.017, -6.541, -10.752, 3.075, -5.671, 1.074, -0.894, 14.328, 3.850, -2.860, -5.107, 6.594, -1.683],
        [1.369, 2.638, -5.922, -1.992, 6.151, 7.781, 1.560, 3.834, -1.883, -1.389, -8.719, -5.398, 1.491, 2.799, -2.121, -0.199],
    ],
    classes: [
        [-0.559, -0.088, 0.209, -1.209, -11.987, 9.859, 0.745, 0.183, 0.014, 0.411, -0.240, -0.067, -0.482],
        [-0.326, 0.170, 0.252, -0.729, -9.824, 4.713, -1.431, -1.284, -0.167, -0.994, 0.527, -0.347, -0.264],
    ],
    bar_slope: 0.295,
};
