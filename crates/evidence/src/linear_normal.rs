//! A straight model with normal noise and normal beliefs: the posterior in closed form, run by run.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// Belief about slopes, kept as precision, so that a slope of which nothing is known has precision 0.
///
/// ```text
///   y_i = x_i . b + e_i,  e_i ~ N(0, s_i),   b_j ~ N(m_j, v_j)
///   P = diag(1/v) + sum x_i x_i^T / s_i^2      P b' = m/v + sum x_i y_i / s_i^2
/// ```
///
/// | symbol | name | unit |
/// |---|---|---|
/// | P | `precision` | one over slopes squared |
/// | P b' | `pull` | one over slopes |
///
/// *Source*: normal prior and normal likelihood, textbook. *Checked by* `exact_flat_belief_is_least_squares`,
/// `exact_restricted_likelihood_of_one_mean`.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct LinearBelief {
    precision: DMatrix<f64>,
    pull: DVector<f64>,
}

/// Mean and covariance of slopes.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Slopes {
    /// Means.
    pub(crate) mean: DVector<f64>,
    /// Covariance.
    pub(crate) covariance: DMatrix<f64>,
}

impl LinearBelief {
    /// Independent beliefs, mean and standard deviation of each slope; an infinite one says that nothing is known.
    pub(crate) fn before(beliefs: &[(f64, f64)]) -> LinearBelief {
        let weights = beliefs.iter().map(|(_, sd)| 1.0 / (sd * sd)).collect::<Vec<_>>();
        let pull = beliefs.iter().zip(&weights).map(|((mean, _), w)| mean * w).collect::<Vec<_>>();
        LinearBelief {
            precision: DMatrix::from_diagonal(&DVector::from_vec(weights)),
            pull: DVector::from_vec(pull),
        }
    }

    /// Takes in a measurement with its standard deviation.
    pub(crate) fn learn(&mut self, row: &DVector<f64>, value: f64, sd: f64) {
        let weight = 1.0 / (sd * sd);
        self.precision.ger(weight, row, row, 1.0);
        self.pull.axpy(weight * value, row, 1.0);
    }

    fn factor(&self) -> Option<Cholesky<f64, Dyn>> {
        Cholesky::new(self.precision.clone())
    }

    /// Mean and covariance; `None` where a slope is not determined.
    pub(crate) fn slopes(&self) -> Option<Slopes> {
        let factor = self.factor()?;
        let covariance = factor.inverse();
        let mean = factor.solve(&self.pull);
        // a slope that rounding alone determines is not determined
        let fine = covariance.diagonal().iter().all(|v| v.is_finite() && *v > 0.0 && *v < 1e10);
        fine.then_some(Slopes { mean, covariance })
    }

    /// Log of the likelihood of the measurements with the slopes integrated out, up to what depends on neither the
    /// standard deviations of the measurements nor those of the beliefs.
    ///
    /// ```text
    ///   -1/2 ( sum ln s_i^2 + sum ln v_j + ln|P| + sum ((y_i - x_i b')/s_i)^2 + sum (b'_j - m_j)^2/v_j )
    /// ```
    ///
    /// Sums over beliefs leave out those of which nothing is known: the restricted likelihood.
    pub(crate) fn log_likelihood(
        &self,
        beliefs: &[(f64, f64)],
        rows: &[(DVector<f64>, f64, f64)],
    ) -> Option<f64> {
        let factor = self.factor()?;
        let mean = factor.solve(&self.pull);
        let determinant = 2.0 * factor.l().diagonal().iter().map(|d| d.ln()).sum::<f64>();
        let off = |(row, value, sd): &(DVector<f64>, f64, f64)| {
            ((value - row.dot(&mean)) / sd).powi(2) + 2.0 * sd.ln()
        };
        let moved = |(j, (m, sd)): (usize, &(f64, f64))| {
            if sd.is_finite() { ((mean[j] - m) / sd).powi(2) + 2.0 * sd.ln() } else { 0.0 }
        };
        let sums = rows.iter().map(off).sum::<f64>() + beliefs.iter().enumerate().map(moved).sum::<f64>();
        Some(-0.5 * (sums + determinant))
    }
}

impl Slopes {
    /// Covariance after one more measurement, whatever its outcome.
    ///
    /// ```text
    ///   V' = V - V x x^T V / (x^T V x + s^2)
    /// ```
    pub(crate) fn covariance_after(covariance: &DMatrix<f64>, row: &DVector<f64>, sd: f64) -> DMatrix<f64> {
        let along = covariance * row;
        let mut after = covariance.clone();
        after.ger(-1.0 / (row.dot(&along) + sd * sd), &along, &along, 1.0);
        after
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_flat_belief_is_least_squares() {
        // by hand: a line through (0, 1), (1, 3), (2, 5) with slope 2; variances of the textbook for x about its mean
        let flat = [(0.0, f64::INFINITY); 2];
        let mut belief = LinearBelief::before(&flat);
        for (x, y) in [(-1.0, 1.0), (0.0, 3.0), (1.0, 5.0)] {
            belief.learn(&DVector::from_vec(vec![1.0, x]), y, 0.5);
        }
        let found = belief.slopes().unwrap();
        // rounding
        approx::assert_abs_diff_eq!(found.mean[0], 3.0, epsilon = 1e-14);
        approx::assert_abs_diff_eq!(found.mean[1], 2.0, epsilon = 1e-14);
        approx::assert_abs_diff_eq!(found.covariance[(0, 0)], 0.25 / 3.0, epsilon = 1e-14);
        approx::assert_abs_diff_eq!(found.covariance[(1, 1)], 0.25 / 2.0, epsilon = 1e-14);
        // one more measurement: the same whether learnt or foretold
        let row = DVector::from_vec(vec![1.0, 2.0]);
        let foretold = Slopes::covariance_after(&found.covariance, &row, 0.5);
        belief.learn(&row, 9.9, 0.5);
        approx::assert_abs_diff_eq!(foretold, belief.slopes().unwrap().covariance, epsilon = 1e-14);
        assert!(LinearBelief::before(&flat).slopes().is_none());
    }

    #[test]
    fn exact_restricted_likelihood_of_one_mean() {
        // values with a flat mean: by hand -1/2 (n ln s^2 + ln(n/s^2) + S/s^2), S the squares about the mean
        let values = [1.0, 2.0, 4.0, 5.0];
        for sd in [0.5, 2.0] {
            let beliefs = [(0.0, f64::INFINITY)];
            let rows: Vec<_> = values.iter().map(|y| (DVector::from_element(1, 1.0), *y, sd)).collect();
            let mut belief = LinearBelief::before(&beliefs);
            rows.iter().for_each(|(row, y, sd)| belief.learn(row, *y, *sd));
            let by_hand = -0.5 * (4.0 * 2.0 * sd.ln() + (4.0 / (sd * sd)).ln() + 10.0 / (sd * sd));
            let found = belief.log_likelihood(&beliefs, &rows).unwrap();
            approx::assert_abs_diff_eq!(found, by_hand, epsilon = 1e-12); // rounding
        }
    }
}
