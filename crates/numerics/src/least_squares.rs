//! Weighted linear least squares with its covariance.

use nalgebra::{DMatrix, DVector};

/// Why a fit is not possible.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum LeastSquaresError {
    /// Shapes of matrix, values and errors differ, or there are no unknowns.
    #[error("matrix, values and errors do not have the same number of rows")]
    Shape,
    /// A number is not finite, or a standard error is not above 0; the row, from 0.
    #[error("row {0} is not finite or has an error that is not above 0")]
    Row(usize),
    /// The rows determine fewer unknowns than asked for.
    #[error("the rows determine {determined} unknowns; {wanted} are wanted")]
    Rank {
        /// Unknowns that the rows determine.
        determined: usize,
        /// Unknowns asked for.
        wanted: usize,
    },
}

/// A fitted linear model.
#[derive(Clone, Debug, PartialEq)]
pub struct LinearFit {
    /// Fitted unknowns.
    pub unknowns: DVector<f64>,
    /// Their covariance, from the stated errors (not scaled by the residuals).
    pub covariance: DMatrix<f64>,
    /// Value less model, per row.
    pub residuals: DVector<f64>,
    /// Sum of the squared residuals over their errors.
    pub chi_square: f64,
    /// Rows less unknowns.
    pub freedom: usize,
}

/// Solves `min sum ((y - A b) / s)^2` by singular values.
///
/// Columns are scaled to length one first. `relative_rank` is the singular value, against the
/// greatest, below which an unknown counts as undetermined (1e-10 is usual).
pub fn weighted_linear(
    matrix: &DMatrix<f64>,
    values: &DVector<f64>,
    errors: &DVector<f64>,
    relative_rank: f64,
) -> Result<LinearFit, LeastSquaresError> {
    let (rows, wanted) = matrix.shape();
    if wanted == 0 || values.len() != rows || errors.len() != rows {
        return Err(LeastSquaresError::Shape);
    }
    for row in 0..rows {
        let finite = values[row].is_finite() && matrix.row(row).iter().all(|a| a.is_finite());
        if !(finite && errors[row] > 0.0 && errors[row].is_finite()) {
            return Err(LeastSquaresError::Row(row));
        }
    }
    if rows < wanted {
        return Err(LeastSquaresError::Rank { determined: rows, wanted });
    }
    let mut scaled = DMatrix::from_fn(rows, wanted, |i, j| matrix[(i, j)] / errors[i]);
    let lengths: Vec<f64> = scaled.column_iter().map(|c| c.norm()).collect();
    for (j, length) in lengths.iter().enumerate() {
        if *length > 0.0 {
            scaled.column_mut(j).unscale_mut(*length);
        }
    }
    let rhs = values.component_div(errors);
    let svd = scaled.svd(true, true);
    let limit = svd.singular_values.max() * relative_rank;
    let determined = svd.singular_values.iter().filter(|&&s| s > limit).count();
    let (Some(u), Some(v_t)) = (&svd.u, &svd.v_t) else {
        return Err(LeastSquaresError::Rank { determined: 0, wanted });
    };
    if determined < wanted {
        return Err(LeastSquaresError::Rank { determined, wanted });
    }
    // rows of `root` are the columns of V over singular values and column lengths
    let root = DMatrix::from_fn(wanted, wanted, |i, k| v_t[(k, i)] / (svd.singular_values[k] * lengths[i]));
    let unknowns = &root * (u.transpose() * rhs);
    let covariance = &root * root.transpose();
    let residuals = values - matrix * &unknowns;
    let chi_square = residuals.component_div(errors).norm_squared();
    Ok(LinearFit { unknowns, covariance, residuals, chi_square, freedom: rows - wanted })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_weighted_mean() {
        let fit = weighted_linear(
            &DMatrix::from_element(2, 1, 1.0),
            &DVector::from_vec(vec![1.0, 4.0]),
            &DVector::from_vec(vec![1.0, 2.0]),
            1e-10,
        )
        .expect("determined");
        // weights 1 and 1/4: mean (1 + 1) / 1.25, variance 1 / 1.25; rounding
        approx::assert_abs_diff_eq!(fit.unknowns[0], 1.6, epsilon = 1e-14);
        approx::assert_abs_diff_eq!(fit.covariance[(0, 0)], 0.8, epsilon = 1e-14);
        // 0.6^2 + (2.4 / 2)^2
        approx::assert_abs_diff_eq!(fit.chi_square, 1.8, epsilon = 1e-13);
        assert_eq!(fit.freedom, 1);
    }

    #[test]
    fn exact_line_and_its_covariance() {
        // x = 0, 1, 2 with unit errors: variance of the slope 1/2, of the value at 0 5/6
        let matrix = DMatrix::from_row_slice(3, 2, &[1.0, 0.0, 1.0, 1.0, 1.0, 2.0]);
        let values = DVector::from_vec(vec![1.0, 3.0, 5.0]);
        let fit =
            weighted_linear(&matrix, &values, &DVector::from_element(3, 1.0), 1e-10).expect("determined");
        let got = [fit.unknowns[0], fit.unknowns[1], fit.covariance[(0, 0)], fit.covariance[(1, 1)]];
        for (got, wanted) in got.into_iter().zip([1.0, 2.0, 5.0 / 6.0, 0.5]) {
            // rounding
            approx::assert_abs_diff_eq!(got, wanted, epsilon = 1e-13);
        }
    }

    #[test]
    fn published_certified_line() {
        // NIST Statistical Reference Datasets, Norris (linear, 36 values of y and x), from memory; the certified
        // estimates come out of these values in exact fractions
        let y = [
            0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8,
            339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5,
            778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
        ];
        let x = [
            0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9,
            338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0,
            779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
        ];
        let matrix = DMatrix::from_fn(36, 2, |i, j| if j == 0 { 1.0 } else { x[i] });
        let y = DVector::from_row_slice(&y);
        let fit = weighted_linear(&matrix, &y, &DVector::from_element(36, 1.0), 1e-12).expect("determined");
        // six digits are asked of estimates, five of errors; rounding leaves twelve
        approx::assert_relative_eq!(fit.unknowns[0], -0.262323073774029, max_relative = 1e-11);
        approx::assert_relative_eq!(fit.unknowns[1], 1.00211681802045, max_relative = 1e-12);
        let error = |k: usize| (fit.chi_square / fit.freedom as f64 * fit.covariance[(k, k)]).sqrt();
        approx::assert_relative_eq!(error(0), 0.232818234301152, max_relative = 1e-9);
        approx::assert_relative_eq!(error(1), 0.429796848199937e-3, max_relative = 1e-9);
    }

    #[test]
    fn exact_faults_are_named() {
        let one = DVector::from_element(2, 1.0);
        let same = DMatrix::from_element(2, 2, 1.0);
        assert_eq!(
            weighted_linear(&same, &one, &one, 1e-10),
            Err(LeastSquaresError::Rank { determined: 1, wanted: 2 })
        );
        let bad = DVector::from_vec(vec![1.0, 0.0]);
        assert_eq!(weighted_linear(&same, &one, &bad, 1e-10), Err(LeastSquaresError::Row(1)));
    }
}
