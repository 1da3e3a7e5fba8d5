//! Products and a Cholesky factor of small matrices of fixed size, rows of columns.

/// `a b`.
#[inline]
pub(crate) fn mul<const R: usize, const K: usize, const C: usize>(
    a: &[[f64; K]; R],
    b: &[[f64; C]; K],
) -> [[f64; C]; R] {
    let mut out = [[0.0; C]; R];
    for (row, a) in out.iter_mut().zip(a) {
        for (a, b) in a.iter().zip(b) {
            for (o, b) in row.iter_mut().zip(b) {
                *o += a * b;
            }
        }
    }
    out
}

/// `a^T b`.
#[inline]
pub(crate) fn transposed_mul<const R: usize, const K: usize, const C: usize>(
    a: &[[f64; R]; K],
    b: &[[f64; C]; K],
) -> [[f64; C]; R] {
    let mut out = [[0.0; C]; R];
    for (a, b) in a.iter().zip(b) {
        for (row, a) in out.iter_mut().zip(a) {
            for (o, b) in row.iter_mut().zip(b) {
                *o += a * b;
            }
        }
    }
    out
}

/// `a v`.
#[inline]
pub(crate) fn apply<const R: usize, const C: usize>(a: &[[f64; C]; R], v: &[f64; C]) -> [f64; R] {
    let mut out = [0.0; R];
    for (o, a) in out.iter_mut().zip(a) {
        *o = dot(a, v);
    }
    out
}

/// `a^T v`.
#[inline]
pub(crate) fn transposed_apply<const R: usize, const C: usize>(a: &[[f64; C]; R], v: &[f64; R]) -> [f64; C] {
    let mut out = [0.0; C];
    for (a, v) in a.iter().zip(v) {
        for (o, a) in out.iter_mut().zip(a) {
            *o += a * v;
        }
    }
    out
}

/// `a . b`.
#[inline]
pub(crate) fn dot<const N: usize>(a: &[f64; N], b: &[f64; N]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// `a += scale b`, entry by entry.
#[inline]
pub(crate) fn add_scaled<const N: usize>(a: &mut [f64; N], scale: f64, b: &[f64; N]) {
    for (a, b) in a.iter_mut().zip(b) {
        *a += scale * b;
    }
}

/// `a += scale b`, entry by entry.
#[inline]
pub(crate) fn add_scaled_rows<const R: usize, const C: usize>(
    a: &mut [[f64; C]; R],
    scale: f64,
    b: &[[f64; C]; R],
) {
    for (a, b) in a.iter_mut().zip(b) {
        add_scaled(a, scale, b);
    }
}

/// `a - b`.
#[inline]
pub(crate) fn difference<const N: usize>(a: &[f64; N], b: &[f64; N]) -> [f64; N] {
    let mut out = *a;
    add_scaled(&mut out, -1.0, b);
    out
}

/// `(a + a^T) / 2`.
#[inline]
#[expect(clippy::needless_range_loop, reason = "two rows at a time")]
pub(crate) fn symmetrise<const N: usize>(a: &mut [[f64; N]; N]) {
    for i in 0..N {
        for j in 0..i {
            let mean = 0.5 * (a[i][j] + a[j][i]);
            a[i][j] = mean;
            a[j][i] = mean;
        }
    }
}

/// Lower triangular factor of a symmetric positive definite matrix.
pub(crate) struct Cholesky<const M: usize>([[f64; M]; M]);

impl<const M: usize> Cholesky<M> {
    /// `None` if the matrix is not positive definite to working precision.
    #[inline]
    #[expect(clippy::needless_range_loop, reason = "two rows at a time")]
    pub(crate) fn new(a: &[[f64; M]; M]) -> Option<Self> {
        const LOST: f64 = 1e-14; // a pivot this small beside its diagonal is rounding
        let mut l = [[0.0; M]; M];
        for i in 0..M {
            for j in 0..=i {
                let mut rest = a[i][j];
                for k in 0..j {
                    rest -= l[i][k] * l[j][k];
                }
                if i != j {
                    l[i][j] = rest / l[j][j];
                } else if rest > LOST * a[i][i] && rest.is_finite() && rest > 0.0 {
                    l[i][i] = rest.sqrt();
                } else {
                    return None;
                }
            }
        }
        Some(Cholesky(l))
    }

    /// Solves for several right-hand sides, the columns of `b`.
    #[inline]
    pub(crate) fn solve<const C: usize>(&self, mut b: [[f64; C]; M]) -> [[f64; C]; M] {
        let l = &self.0;
        for i in 0..M {
            for j in 0..i {
                let known = b[j];
                add_scaled(&mut b[i], -l[i][j], &known);
            }
            for b in &mut b[i] {
                *b /= l[i][i];
            }
        }
        for i in (0..M).rev() {
            for j in i + 1..M {
                let known = b[j];
                add_scaled(&mut b[i], -l[j][i], &known);
            }
            for b in &mut b[i] {
                *b /= l[i][i];
            }
        }
        b
    }

    /// Solves for one right-hand side.
    #[inline]
    pub(crate) fn solve_one(&self, b: &[f64; M]) -> [f64; M] {
        self.solve(b.map(|b| [b])).map(|[x]| x)
    }
}
