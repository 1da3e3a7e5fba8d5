//! Interpolating splines of one variable with their derivatives.
//!
//! [`Cubic`] is C2, [`Quintic`] is C4. Both reproduce a straight line exactly
//! (natural ends) and share one search for the interval, [`Knots`].

/// Why a spline could not be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SplineError {
    /// Fewer than two knots, or columns of different length.
    #[error("a spline needs two or more knots and as many values; got {knots} and {values}")]
    Shape {
        /// Number of abscissae.
        knots: usize,
        /// Number of ordinates.
        values: usize,
    },
    /// The abscissae do not increase at this index.
    #[error("the knots of a spline must increase; knot {index} does not")]
    NotIncreasing {
        /// Index of the offending knot.
        index: usize,
    },
    /// A value is NaN or infinite at this index.
    #[error("value {index} of a spline is not a finite number")]
    NotFinite {
        /// Index of the offending value.
        index: usize,
    },
}

/// Increasing abscissae with a search that costs a few operations.
#[derive(Clone, Debug)]
pub struct Knots {
    x: Vec<f64>,
    first_in_bucket: Vec<u32>,
    buckets_per_unit: f64,
}

impl Knots {
    /// Knots at `x`, which must increase.
    pub fn new(x: &[f64]) -> Result<Knots, SplineError> {
        if x.len() < 2 {
            return Err(SplineError::Shape { knots: x.len(), values: x.len() });
        }
        if let Some(index) = x.iter().position(|v| !v.is_finite()) {
            return Err(SplineError::NotFinite { index });
        }
        if let Some(i) = x.windows(2).position(|w| w[1] <= w[0]) {
            return Err(SplineError::NotIncreasing { index: i + 1 });
        }
        let buckets = 2 * x.len();
        let length = x[x.len() - 1] - x[0];
        let mut first_in_bucket = Vec::with_capacity(buckets + 1);
        let mut i = 0;
        for b in 0..=buckets {
            let left = x[0] + length * b as f64 / buckets as f64;
            while i + 2 < x.len() && x[i + 1] <= left {
                i += 1;
            }
            first_in_bucket.push(i as u32);
        }
        Ok(Knots { x: x.to_vec(), first_in_bucket, buckets_per_unit: buckets as f64 / length })
    }

    /// The abscissae.
    pub fn abscissae(&self) -> &[f64] {
        &self.x
    }

    /// Number of intervals.
    pub fn intervals(&self) -> usize {
        self.x.len() - 1
    }

    /// The interval that holds `x`; the first or last one outside the range.
    #[inline]
    pub fn interval(&self, x: f64) -> usize {
        let b = ((x - self.x[0]) * self.buckets_per_unit).max(0.0) as usize;
        let mut i = self.first_in_bucket[b.min(self.first_in_bucket.len() - 1)] as usize;
        while i > 0 && x < self.x[i] {
            i -= 1;
        }
        while i + 2 < self.x.len() && x >= self.x[i + 1] {
            i += 1;
        }
        i
    }
}

/// Value and first two derivatives.
pub(crate) type Jet2 = [f64; 3];
/// Value and first three derivatives.
pub(crate) type Jet3 = [f64; 4];

/// C2 cubic spline through points, second derivative zero at both ends.
#[derive(Clone, Debug)]
pub struct Cubic {
    coefficients: Vec<[f64; 4]>,
}

impl Cubic {
    /// The spline through `y` at `knots`.
    pub fn new(knots: &Knots, y: &[f64]) -> Result<Cubic, SplineError> {
        check(knots, y)?;
        let x = knots.abscissae();
        let n = x.len();
        // second derivatives m: tridiagonal system, natural ends
        let (mut c, mut m) = (vec![0.0; n], vec![0.0; n]);
        for i in 1..n - 1 {
            let (a, b) = (x[i] - x[i - 1], x[i + 1] - x[i]);
            let slope_step = (y[i + 1] - y[i]) / b - (y[i] - y[i - 1]) / a;
            let pivot = 2.0 * (a + b) - a * c[i - 1];
            c[i] = b / pivot;
            m[i] = (6.0 * slope_step - a * m[i - 1]) / pivot;
        }
        for i in (1..n - 1).rev() {
            m[i] -= c[i] * m[i + 1];
        }
        let coefficients = (0..n - 1)
            .map(|i| {
                let h = x[i + 1] - x[i];
                let slope = (y[i + 1] - y[i]) / h - h * (2.0 * m[i] + m[i + 1]) / 6.0;
                [y[i], slope, 0.5 * m[i], (m[i + 1] - m[i]) / (6.0 * h)]
            })
            .collect();
        Ok(Cubic { coefficients })
    }

    /// Value and two derivatives at distance `d` behind the start of interval `i`.
    #[inline]
    pub fn jet(&self, i: usize, d: f64) -> Jet2 {
        let [a, b, c, e] = self.coefficients[i];
        [a + d * (b + d * (c + d * e)), b + d * (2.0 * c + d * 3.0 * e), 2.0 * c + 6.0 * d * e]
    }
}

/// C4 quintic spline through points, third and fourth derivative zero at both ends.
#[derive(Clone, Debug)]
pub struct Quintic {
    coefficients: Vec<[f64; 6]>,
}

type Block = [[f64; 2]; 2];

impl Quintic {
    /// The spline through `y` at `knots`.
    pub fn new(knots: &Knots, y: &[f64]) -> Result<Quintic, SplineError> {
        check(knots, y)?;
        let x = knots.abscissae();
        let n = x.len();
        let h: Vec<f64> = x.windows(2).map(|w| w[1] - w[0]).collect();
        // unknown slope d and second derivative s at each knot; third and fourth
        // derivative agree from both sides (block tridiagonal, swept forward)
        let zero: Block = [[0.0; 2]; 2];
        let (mut upper, mut value) = (vec![zero; n], vec![[0.0; 2]; n]);
        for i in 0..n {
            let (mut low, mut mid, mut up, mut rhs) = (zero, zero, zero, [0.0; 2]);
            if i + 1 < n {
                let (h, rise) = (h[i], y[i + 1] - y[i]);
                // minus third and fourth derivative at the start of the right interval
                mid[0] = [36.0 / h.powi(2), 9.0 / h];
                up[0] = [24.0 / h.powi(2), -3.0 / h];
                rhs[0] += 60.0 * rise / h.powi(3);
                mid[1] = [-192.0 / h.powi(3), -36.0 / h.powi(2)];
                up[1] = [-168.0 / h.powi(3), 24.0 / h.powi(2)];
                rhs[1] += -360.0 * rise / h.powi(4);
            }
            if i > 0 {
                let (h, rise) = (h[i - 1], y[i] - y[i - 1]);
                // plus third and fourth derivative at the end of the left interval
                low[0] = [-24.0 / h.powi(2), -3.0 / h];
                mid[0][0] -= 36.0 / h.powi(2);
                mid[0][1] += 9.0 / h;
                rhs[0] -= 60.0 * rise / h.powi(3);
                low[1] = [-168.0 / h.powi(3), -24.0 / h.powi(2)];
                mid[1][0] -= 192.0 / h.powi(3);
                mid[1][1] += 36.0 / h.powi(2);
                rhs[1] -= 360.0 * rise / h.powi(4);
            }
            if i > 0 {
                for r in 0..2 {
                    for k in 0..2 {
                        rhs[r] -= low[r][k] * value[i - 1][k];
                        for c in 0..2 {
                            mid[r][c] -= low[r][k] * upper[i - 1][k][c];
                        }
                    }
                }
            }
            let det = mid[0][0] * mid[1][1] - mid[0][1] * mid[1][0];
            let solve = |b: [f64; 2]| {
                [(mid[1][1] * b[0] - mid[0][1] * b[1]) / det, (mid[0][0] * b[1] - mid[1][0] * b[0]) / det]
            };
            value[i] = solve(rhs);
            let (p, q) = (solve([up[0][0], up[1][0]]), solve([up[0][1], up[1][1]]));
            upper[i] = [[p[0], q[0]], [p[1], q[1]]];
        }
        for i in (0..n - 1).rev() {
            for r in 0..2 {
                value[i][r] -= upper[i][r][0] * value[i + 1][0] + upper[i][r][1] * value[i + 1][1];
            }
        }
        let coefficients = (0..n - 1)
            .map(|i| {
                let h = h[i];
                let ([d0, s0], [d1, s1]) = (value[i], value[i + 1]);
                let rise = y[i + 1] - y[i] - d0 * h - 0.5 * s0 * h * h;
                let turn = (d1 - d0 - s0 * h) * h;
                let bend = (s1 - s0) * h * h;
                [
                    y[i],
                    d0,
                    0.5 * s0,
                    (10.0 * rise - 4.0 * turn + 0.5 * bend) / h.powi(3),
                    (-15.0 * rise + 7.0 * turn - bend) / h.powi(4),
                    (6.0 * rise - 3.0 * turn + 0.5 * bend) / h.powi(5),
                ]
            })
            .collect();
        Ok(Quintic { coefficients })
    }

    /// Value and three derivatives at distance `d` behind the start of interval `i`.
    #[inline]
    pub fn jet(&self, i: usize, d: f64) -> Jet3 {
        let [a0, a1, a2, a3, a4, a5] = self.coefficients[i];
        [
            a0 + d * (a1 + d * (a2 + d * (a3 + d * (a4 + d * a5)))),
            a1 + d * (2.0 * a2 + d * (3.0 * a3 + d * (4.0 * a4 + d * 5.0 * a5))),
            2.0 * a2 + d * (6.0 * a3 + d * (12.0 * a4 + d * 20.0 * a5)),
            6.0 * a3 + d * (24.0 * a4 + d * 60.0 * a5),
        ]
    }
}

fn check(knots: &Knots, y: &[f64]) -> Result<(), SplineError> {
    if y.len() != knots.abscissae().len() {
        return Err(SplineError::Shape { knots: knots.abscissae().len(), values: y.len() });
    }
    match y.iter().position(|v| !v.is_finite()) {
        Some(index) => Err(SplineError::NotFinite { index }),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn uneven(n: usize) -> Vec<f64> {
        (0..=n).map(|i| i as f64 / n as f64 * 3.0 + 0.02 * (i as f64).sin() / n as f64).collect()
    }

    #[test]
    fn exact_straight_line_is_reproduced() {
        let x = uneven(9);
        let knots = Knots::new(&x).unwrap();
        let y: Vec<f64> = x.iter().map(|x| 2.0 - 0.3 * x).collect();
        let (c, q) = (Cubic::new(&knots, &y).unwrap(), Quintic::new(&knots, &y).unwrap());
        for s in [0.1, 1.234, 2.9] {
            let i = knots.interval(s);
            let d = s - x[i];
            // rounding only
            assert_abs_diff_eq!(c.jet(i, d)[0], 2.0 - 0.3 * s, epsilon = 1e-14);
            assert_abs_diff_eq!(q.jet(i, d)[1], -0.3, epsilon = 1e-12);
            assert_abs_diff_eq!(q.jet(i, d)[2], 0.0, epsilon = 1e-10);
        }
    }

    #[test]
    fn exact_continuity_across_knots() {
        let x = uneven(12);
        let knots = Knots::new(&x).unwrap();
        let y: Vec<f64> = x.iter().map(|x| (2.0 * x).sin()).collect();
        let (c, q) = (Cubic::new(&knots, &y).unwrap(), Quintic::new(&knots, &y).unwrap());
        for i in 1..x.len() - 1 {
            let (before, after) = (c.jet(i - 1, x[i] - x[i - 1]), c.jet(i, 0.0));
            let (b5, a5) = (q.jet(i - 1, x[i] - x[i - 1]), q.jet(i, 0.0));
            for k in 0..3 {
                assert_abs_diff_eq!(before[k], after[k], epsilon = 1e-11); // rounding
            }
            for k in 0..4 {
                assert_abs_diff_eq!(b5[k], a5[k], epsilon = 1e-8); // rounding over h^3
            }
        }
    }

    /// Largest error in the middle of the range, away from the natural ends.
    fn errors(n: usize) -> (f64, f64) {
        let x = uneven(n);
        let knots = Knots::new(&x).unwrap();
        let y: Vec<f64> = x.iter().map(|x| (2.0 * x).sin()).collect();
        let (c, q) = (Cubic::new(&knots, &y).unwrap(), Quintic::new(&knots, &y).unwrap());
        let mut worst = (0.0_f64, 0.0_f64);
        for j in 0..400 {
            let s = 1.2 + 0.6 * j as f64 / 400.0;
            let i = knots.interval(s);
            worst.0 = worst.0.max((c.jet(i, s - x[i])[0] - (2.0 * s).sin()).abs());
            worst.1 = worst.1.max((q.jet(i, s - x[i])[0] - (2.0 * s).sin()).abs());
        }
        worst
    }

    #[test]
    fn order_cubic_four_quintic_six() {
        let (coarse, fine) = (errors(40), errors(80));
        // theory 16 and 64 away from the ends; a fifth is left for the uneven knots
        assert!(coarse.0 / fine.0 > 12.8, "cubic {}", coarse.0 / fine.0);
        assert!(coarse.1 / fine.1 > 51.0, "quintic {}", coarse.1 / fine.1);
    }

    #[test]
    fn exact_interval_search() {
        let x = [0.0, 0.1, 0.11, 5.0, 5.5, 20.0];
        let knots = Knots::new(&x).unwrap();
        let mut s = -1.0;
        while s < 21.0 {
            let slow = x.iter().rposition(|k| *k <= s).unwrap_or(0).min(x.len() - 2);
            assert_eq!(knots.interval(s), slow, "at {s}");
            s += 0.005;
        }
    }

    #[test]
    fn faults_are_told() {
        assert_eq!(Knots::new(&[0.0, 1.0, 1.0]).unwrap_err(), SplineError::NotIncreasing { index: 2 });
        let knots = Knots::new(&[0.0, 1.0]).unwrap();
        assert!(matches!(Cubic::new(&knots, &[0.0]), Err(SplineError::Shape { .. })));
        assert!(matches!(Cubic::new(&knots, &[0.0, f64::NAN]), Err(SplineError::NotFinite { index: 1 })));
    }
}
