//! The shifts that answers speak for, and how sure they are.

use super::columns::Row;
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// An answer to a question at a moment.
#[derive(Clone, Debug)]
pub(super) struct Answer {
    pub row: Row,
    /// Share that was right.
    pub right: f64,
    /// Chance of guessing it.
    pub guess: f64,
}

/// Chance of a wrong answer about what is recalled (chosen).
const SLIP: f64 = 0.03;
/// No shift moves further than this in one step, so that no step overshoots.
const STRIDE: f64 = 1.5;
const STEPS: usize = 25;
/// Shifts have settled when none moves further.
const SETTLED: f64 = 1e-3;

/// Shifts with their uncertainty.
pub(super) struct Fit {
    /// The likeliest shifts.
    pub shifts: DVector<f64>,
    /// Of the inverse of their covariance.
    factor: Cholesky<f64, Dyn>,
    /// Logarithm of the likelihood of the answers with these spreads, up to a constant.
    pub evidence: f64,
}

impl Fit {
    /// The likeliest shifts where each has this standard deviation beforehand, by Fisher's scoring, and a normal
    /// distribution around them (Laplace's method: Gelman et al. 2013, *Bayesian Data Analysis*, 3rd ed., ch. 4.1 and
    /// 13.3), started from `from`. `None` where the figures leave the range of floating point.
    pub fn new(answers: &[Answer], spreads: &[f64], from: Option<&DVector<f64>>) -> Option<Fit> {
        let n = spreads.len();
        let precision = DVector::from_iterator(n, spreads.iter().map(|s| 1.0 / (s * s)));
        let mut shifts = match from {
            Some(from) => from.clone(),
            None => DVector::zeros(n),
        };
        let mut factor = None;
        for _ in 0..STEPS {
            let (slope, information) = slopes(answers, &precision, &shifts);
            let solved = Cholesky::new(information)?;
            let mut step = solved.solve(&slope);
            factor = Some(solved);
            let far = step.amax();
            step *= (STRIDE / far.max(STRIDE)).min(1.0);
            shifts += step;
            if far < SETTLED {
                break;
            }
        }
        let factor = factor?;
        let likelihood: f64 = answers.iter().map(|a| a.log_likelihood(&shifts)).sum();
        let beforehand =
            shifts.component_mul(&shifts).dot(&precision) - precision.map(f64::ln).sum();
        let evidence = likelihood - 0.5 * beforehand - 0.5 * factor.ln_determinant();
        evidence.is_finite().then_some(Fit {
            shifts,
            factor,
            evidence,
        })
    }

    /// Variance of a sum of shifts with these weights.
    pub fn variance(&self, weights: &DVector<f64>) -> f64 {
        let inside = self.factor.l_dirty().solve_lower_triangular(weights);
        inside.map_or(0.0, |v| v.norm_squared())
    }
}

/// First and expected second derivatives of the log posterior.
fn slopes(
    answers: &[Answer],
    precision: &DVector<f64>,
    shifts: &DVector<f64>,
) -> (DVector<f64>, DMatrix<f64>) {
    let mut slope = -shifts.component_mul(precision);
    let mut information = DMatrix::from_diagonal(precision);
    for answer in answers {
        let recall = answer.row.chance(shifts.as_slice());
        let right = answer.expected(recall);
        let rise = (1.0 - SLIP - answer.guess) * recall * (1.0 - recall);
        let noise = right * (1.0 - right);
        let pull = rise * (answer.right - right) / noise;
        let weight = rise * rise / noise;
        for (i, x) in &answer.row.entries {
            slope[*i] += pull * x;
            for (j, y) in &answer.row.entries {
                information[(*i, *j)] += weight * x * y;
            }
        }
    }
    (slope, information)
}

impl Answer {
    /// Chance of a right answer with this chance of recall.
    fn expected(&self, recall: f64) -> f64 {
        let right = self.guess + (1.0 - SLIP - self.guess) * recall;
        right.clamp(1e-6, 1.0 - 1e-6)
    }

    fn log_likelihood(&self, shifts: &DVector<f64>) -> f64 {
        let right = self.expected(self.row.chance(shifts.as_slice()));
        self.right * right.ln() + (1.0 - self.right) * (1.0 - right).ln()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn answers() -> Vec<Answer> {
        let of = |(odds, x, right, guess): (f64, f64, f64, f64)| Answer {
            row: Row {
                entries: vec![(0, 1.0), (1, x)],
                odds,
            },
            right,
            guess,
        };
        [
            (1.0, 0.5, 1.0, 0.5),
            (0.2, -1.0, 0.0, 0.25),
            (-0.4, 0.3, 0.0, 0.0),
            (2.0, 1.2, 1.0, 0.5),
            (0.7, -0.6, 0.4, 0.02),
            (1.5, 0.9, 0.0, 0.5),
        ]
        .map(of)
        .to_vec()
    }

    #[test]
    fn shifts_are_those_that_an_independent_optimiser_finds() {
        // scipy 1.17.1, scipy.optimize.minimize(method="BFGS") of the negative log posterior.
        let fit = Fit::new(&answers(), &[0.8, 0.5], None).unwrap();
        for (found, known) in fit.shifts.iter().zip([-0.66737699, 0.00183142]) {
            assert!((found - known).abs() < 1e-4, "{found} {known}");
        }
    }

    #[test]
    fn evidence_and_variance_are_near_those_of_numerical_integration() {
        // scipy 1.17.1, scipy.integrate.dblquad over the posterior: log of its integral, and the variance of the
        // first shift plus twice the second. A normal distribution comes as near as this.
        let fit = Fit::new(&answers(), &[0.8, 0.5], None).unwrap();
        assert!(
            (fit.evidence - -4.478437239970163).abs() < 0.1,
            "{}",
            fit.evidence
        );
        let variance = fit.variance(&DVector::from_vec(vec![1.0, 2.0]));
        assert!(
            (variance / 1.3956600639877994 - 1.0).abs() < 0.15,
            "{variance}"
        );
    }

    #[test]
    fn without_answers_nothing_is_known_but_what_was_known_before() {
        let fit = Fit::new(&[], &[0.8, 0.5], None).unwrap();
        assert_eq!(fit.shifts.as_slice(), [0.0, 0.0]);
        let variance = fit.variance(&DVector::from_vec(vec![1.0, 2.0]));
        assert!((variance - (0.64 + 4.0 * 0.25)).abs() < 1e-12);
        assert!(fit.evidence.abs() < 1e-12, "{}", fit.evidence);
    }
}
