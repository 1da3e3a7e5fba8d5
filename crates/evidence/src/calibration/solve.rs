//! The search for the least sum of squares (Levenberg and Marquardt), on whitened residuals.

use super::{Fit, FitFailure, LEAST_SINGULAR, Question};
use nalgebra::{Cholesky, DMatrix, DVector};

/// Most steps of the search.
const MOST_STEPS: usize = 200;
/// A step is the last when it moves the whitened residuals by less than this share of their length `[-]`.
const SETTLED: f64 = 1e-6;
/// Where no step helps, the search has settled if the plain step would move no unknown by more than this share of its
/// standard error `[-]`: the model's own numerical error hides what is smaller.
const MOVES_NOTHING: f64 = 1e-2;
/// First damping `[-]`.
const DAMPING: f64 = 1e-3;
/// Damping beyond which no step helps `[-]`.
const MOST_DAMPING: f64 = 1e10;

/// Lower roots of the covariances, one for each run.
struct Roots(Vec<DMatrix<f64>>);

/// Residuals and predictions at a point.
struct At {
    whitened: Vec<DVector<f64>>,
    predicted: Vec<Vec<f64>>,
    chi_square: f64,
    prior_chi_square: f64,
}

impl At {
    fn all(&self) -> f64 {
        self.chi_square + self.prior_chi_square
    }
}

impl Roots {
    fn new(q: &Question<'_>) -> Result<Roots, FitFailure> {
        let root = |r: &super::Measured| {
            let fits = r.covariance.is_square() && r.covariance.nrows() == r.values.len();
            let root = if fits { Cholesky::new(r.covariance.clone()).map(|c| c.l()) } else { None };
            root.ok_or_else(|| FitFailure::Covariance { run: r.name.clone() })
        };
        q.runs.iter().map(root).collect::<Result<_, _>>().map(Roots)
    }

    /// Whitens the first values of a run.
    fn whiten(&self, run: usize, values: &DVector<f64>) -> Option<DVector<f64>> {
        let n = values.len();
        self.0[run].view((0, 0), (n, n)).clone_owned().solve_lower_triangular(values)
    }
}

fn at(q: &Question<'_>, roots: &Roots, x: &DVector<f64>) -> Result<At, usize> {
    let (mut whitened, mut predicted, mut chi_square) = (vec![], vec![], 0.0);
    for (r, run) in q.runs.iter().enumerate() {
        let told = (q.predict)(r, x.as_slice()).filter(|v| v.len() == run.values.len()).ok_or(r)?;
        let residual = DVector::from_fn(q.used(r), |i, _| run.values[i] - told[i]);
        let w = roots.whiten(r, &residual).filter(|w| w.iter().all(|v| v.is_finite())).ok_or(r)?;
        chi_square += w.norm_squared();
        whitened.push(w);
        predicted.push(told);
    }
    let priors = q.unknowns.iter().zip(x.iter()).filter_map(|(u, x)| u.prior.map(|p| (x - p.mean) / p.sd));
    let prior_chi_square = priors.map(|z| z * z).sum();
    Ok(At { whitened, predicted, chi_square, prior_chi_square })
}

/// Whitened derivatives by central differences; of an unknown that belongs to one run there alone.
fn slopes(q: &Question<'_>, roots: &Roots, x: &DVector<f64>) -> Result<Vec<DMatrix<f64>>, usize> {
    let of_run = |r: usize| {
        let used = q.used(r);
        let mut slopes = DMatrix::zeros(used, q.unknowns.len());
        for (j, unknown) in q.unknowns.iter().enumerate() {
            if used == 0 || unknown.run.is_some_and(|own| own != r) {
                continue;
            }
            let beside = |side: f64| {
                let mut y = x.clone();
                y[j] += side * unknown.step;
                (q.predict)(r, y.as_slice()).filter(|v| v.len() >= used).ok_or(r)
            };
            let (more, less) = (beside(1.0)?, beside(-1.0)?);
            let slope = DVector::from_fn(used, |i, _| (more[i] - less[i]) / (2.0 * unknown.step));
            slopes.set_column(j, &roots.whiten(r, &slope).ok_or(r)?);
        }
        Ok(slopes)
    };
    (0..q.runs.len()).map(of_run).collect()
}

/// Curvature and downhill direction of half the sum of squares.
fn curvature(
    q: &Question<'_>,
    at: &At,
    slopes: &[DMatrix<f64>],
    x: &DVector<f64>,
) -> (DMatrix<f64>, DVector<f64>) {
    let n = q.unknowns.len();
    let (mut m, mut g) = (DMatrix::zeros(n, n), DVector::zeros(n));
    for (a, w) in slopes.iter().zip(&at.whitened) {
        m += a.transpose() * a;
        g += a.transpose() * w;
    }
    for (j, unknown) in q.unknowns.iter().enumerate() {
        if let Some(p) = unknown.prior {
            m[(j, j)] += 1.0 / (p.sd * p.sd);
            g[j] -= (x[j] - p.mean) / (p.sd * p.sd);
        }
    }
    (m, g)
}

/// The matrix with rows and columns scaled to a diagonal of ones, and the scales; `None` where a diagonal is zero.
fn scaled(m: &DMatrix<f64>) -> Option<(DMatrix<f64>, DVector<f64>)> {
    let s = DVector::from_fn(m.nrows(), |j, _| m[(j, j)].sqrt());
    if !s.iter().all(|v| *v > 0.0 && v.is_finite()) {
        return None;
    }
    Some((DMatrix::from_fn(m.nrows(), m.ncols(), |i, j| m[(i, j)] / (s[i] * s[j])), s))
}

/// Inverse of a curvature, and the condition of the problem that it is the square of.
pub(super) fn inverse(m: &DMatrix<f64>) -> Result<(DMatrix<f64>, f64), FitFailure> {
    let wanted = m.nrows();
    let zero = (0..wanted).filter(|j| !(m[(*j, *j)] > 0.0)).count();
    let Some((unit, s)) = scaled(m) else {
        return Err(FitFailure::Undetermined { determined: wanted - zero, wanted });
    };
    // the eigenvalues are squares of the singular values
    let eigen = unit.clone().symmetric_eigen().eigenvalues;
    let (least, most) = (eigen.min(), eigen.max());
    let undetermined = |v: &&f64| !(**v > LEAST_SINGULAR * LEAST_SINGULAR * most);
    let lost = eigen.iter().filter(undetermined).count();
    let inverse = Cholesky::new(unit).map(|c| c.inverse()).filter(|_| lost == 0);
    let Some(inverse) = inverse else {
        return Err(FitFailure::Undetermined { determined: wanted - lost.max(1), wanted });
    };
    let inverse = DMatrix::from_fn(wanted, wanted, |i, j| inverse[(i, j)] / (s[i] * s[j]));
    Ok((inverse, (most / least).sqrt()))
}

/// Searches from a start, or from that of the unknowns.
pub(super) fn solve(q: &Question<'_>, start: Option<&DVector<f64>>) -> Result<Fit, FitFailure> {
    let values = (0..q.runs.len()).map(|r| q.used(r)).sum::<usize>();
    if q.unknowns.is_empty() || values == 0 {
        return Err(FitFailure::Nothing);
    }
    let free = q.unknowns.iter().filter(|u| u.prior.is_none()).count();
    if values < free {
        return Err(FitFailure::Undetermined {
            determined: values + q.unknowns.len() - free,
            wanted: q.unknowns.len(),
        });
    }
    let roots = Roots::new(q)?;
    let no_prediction = |r: usize| FitFailure::NoPrediction { run: q.runs[r].name.clone() };
    let own = DVector::from_fn(q.unknowns.len(), |j, _| q.unknowns[j].start);
    let mut x = start.filter(|s| s.len() == own.len()).cloned().unwrap_or(own);
    let mut now = at(q, &roots, &x).map_err(no_prediction)?;
    let (mut damping, mut tried) = (DAMPING, 0);
    'search: loop {
        // a search that has left the start for where the model says nothing has not settled
        let lost = |r| if tried == 0 { no_prediction(r) } else { FitFailure::NotConverged { steps: tried } };
        let slope = slopes(q, &roots, &x).map_err(lost)?;
        let (m, g) = curvature(q, &now, &slope, &x);
        let Some((unit, s)) = scaled(&m) else {
            return inverse(&m).and(Err(FitFailure::NotConverged { steps: tried }));
        };
        let downhill = g.component_div(&s);
        // squared; a bound on the move of every unknown over its error
        let far = Cholesky::new(unit.clone()).map_or(f64::INFINITY, |c| c.solve(&downhill).dot(&downhill));
        loop {
            tried += 1;
            if damping > MOST_DAMPING && far < MOVES_NOTHING * MOVES_NOTHING {
                break 'search;
            }
            if tried > MOST_STEPS || damping > MOST_DAMPING {
                return Err(FitFailure::NotConverged { steps: tried - 1 });
            }
            let damped = &unit + DMatrix::identity(s.len(), s.len()) * damping;
            let Some(step) = Cholesky::new(damped).map(|c| c.solve(&downhill)) else {
                damping *= 10.0;
                continue;
            };
            // how far the whitened residuals would move
            let moved = (&unit * &step).dot(&step).max(0.0).sqrt();
            let small = moved < SETTLED * (1.0 + now.all().sqrt()) && damping <= DAMPING;
            let there = &x + step.component_div(&s);
            let next = at(q, &roots, &there).ok().filter(|n| small || n.all() < now.all());
            match next {
                Some(next) => {
                    (x, now) = (there, next);
                    damping = (0.1 * damping).max(1e-12);
                    if small {
                        break 'search;
                    }
                    break;
                }
                None => damping *= 10.0,
            }
        }
    }
    let slopes = slopes(q, &roots, &x).map_err(no_prediction)?;
    let (m, _) = curvature(q, &now, &slopes, &x);
    let (covariance, condition) = inverse(&m)?;
    let At { whitened, predicted, chi_square, prior_chi_square } = now;
    Ok(Fit {
        estimates: x,
        covariance,
        condition,
        whitened,
        slopes,
        predicted,
        chi_square,
        prior_chi_square,
        values,
        steps: tried,
    })
}

/// Fits the unknowns; failure is told as failure.
pub fn fit(question: &Question<'_>) -> Result<Fit, FitFailure> {
    solve(question, None)
}

/// Fits the unknowns from where another search ended.
pub(crate) fn fit_from(question: &Question<'_>, start: &DVector<f64>) -> Result<Fit, FitFailure> {
    solve(question, Some(start))
}
