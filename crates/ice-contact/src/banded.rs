//! Symmetric banded systems of half-bandwidth three: the beam's own matrix.

/// Lower triangle of a symmetric matrix with three sub-diagonals.
///
/// `row[i] = [a(i,i), a(i,i-1), a(i,i-2), a(i,i-3)]`.
#[derive(Clone, Debug, Default)]
pub(crate) struct Banded {
    row: Vec<[f64; 4]>,
}

impl Banded {
    /// A zero matrix of `n` rows.
    pub(crate) fn zeros(n: usize) -> Self {
        Banded { row: vec![[0.0; 4]; n] }
    }

    /// Copy of `other` without allocating.
    pub(crate) fn copy_from(&mut self, other: &Banded) {
        self.row.copy_from_slice(&other.row);
    }

    /// Add `value` at row `i`, column `i - back` (`back` 0..=3).
    #[inline]
    pub(crate) fn add(&mut self, i: usize, back: usize, value: f64) {
        self.row[i][back] += value;
    }

    /// Add a symmetric 4 x 4 block whose first row is `first`.
    #[inline]
    pub(crate) fn add_block(&mut self, first: usize, block: &[[f64; 4]; 4]) {
        for (a, line) in block.iter().enumerate() {
            for (b, value) in line[..=a].iter().enumerate() {
                self.row[first + a][a - b] += value;
            }
        }
    }

    /// Every number of the whole matrix: row, column, value.
    pub(crate) fn each(&self, mut to: impl FnMut(usize, usize, f64)) {
        for (i, row) in self.row.iter().enumerate() {
            for (back, value) in row.iter().enumerate().take(i + 1) {
                to(i, i - back, *value);
                if back > 0 {
                    to(i - back, i, *value);
                }
            }
        }
    }

    /// Make row and column `i` those of the unit matrix.
    #[cfg(test)]
    pub(crate) fn pin(&mut self, i: usize) {
        self.row[i] = [1.0, 0.0, 0.0, 0.0];
        for back in 1..4 {
            if let Some(row) = self.row.get_mut(i + back) {
                row[back] = 0.0;
            }
        }
    }

    /// Product with `x` into `out`.
    pub(crate) fn multiply(&self, x: &[f64], out: &mut [f64]) {
        // sums of the three rows before this one, and their places in `x`, nearest first
        let [mut s1, mut s2, mut s3] = [0.0; 3];
        let [mut x1, mut x2, mut x3] = [0.0; 3];
        for (i, (row, &x)) in self.row.iter().zip(x).enumerate() {
            s3 += row[3] * x;
            s2 += row[2] * x;
            s1 += row[1] * x;
            if i >= 3 {
                out[i - 3] = s3;
            }
            let own = row[0] * x + row[1] * x1 + row[2] * x2 + row[3] * x3;
            (s3, s2, s1) = (s2, s1, own);
            (x3, x2, x1) = (x2, x1, x);
        }
        for (out, s) in out[..self.row.len()].iter_mut().rev().zip([s1, s2, s3]) {
            *out = s;
        }
    }

    /// Replace the matrix by its factors L D L', with the inverse of D in place of D. False if it is not
    /// positive definite.
    pub(crate) fn factor(&mut self) -> bool {
        // the three rows before this one, nearest first; before the first row there is nothing
        let [mut r1, mut r2, mut r3] = [[0.0; 4]; 3];
        for row in &mut self.row {
            let [d, a1, a2, a3] = *row;
            let l3 = a3 * r3[0];
            let a2 = a2 - a3 * r2[1];
            let l2 = a2 * r2[0];
            let a1 = a1 - a3 * r1[2] - a2 * r1[1];
            let l1 = a1 * r1[0];
            let d = d - a3 * l3 - a2 * l2 - a1 * l1;
            if d.is_nan() || d <= 0.0 {
                return false;
            }
            *row = [1.0 / d, l1, l2, l3];
            (r3, r2, r1) = (r2, r1, *row);
        }
        true
    }

    /// Solve in place for `K` right-hand sides, after [`Banded::factor`].
    pub(crate) fn solve<const K: usize>(&self, b: &mut [[f64; K]]) {
        let [mut b1, mut b2, mut b3] = [[0.0; K]; 3];
        for (row, value) in self.row.iter().zip(b.iter_mut()) {
            for k in 0..K {
                value[k] = value[k] - row[3] * b3[k] - row[2] * b2[k] - row[1] * b1[k];
            }
            (b3, b2, b1) = (b2, b1, *value);
        }
        // the three rows behind this one, nearest first, and what is solved there
        let [mut r1, mut r2, mut r3] = [[0.0; 4]; 3];
        let [mut b1, mut b2, mut b3] = [[0.0; K]; 3];
        for (row, value) in self.row.iter().zip(b.iter_mut()).rev() {
            for k in 0..K {
                value[k] = value[k] * row[0] - r3[3] * b3[k] - r2[2] * b2[k] - r1[1] * b1[k];
            }
            (r3, r2, r1) = (r2, r1, *row);
            (b3, b2, b1) = (b2, b1, *value);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_factored_solution_satisfies_the_system() {
        let n = 9;
        let mut a = Banded::zeros(n);
        for i in 0..n {
            a.add(i, 0, 6.0 + i as f64);
            for back in 1..=i.min(3) {
                a.add(i, back, 1.0 / (1.0 + back as f64 + 0.3 * i as f64));
            }
        }
        let mut b: Vec<[f64; 1]> = (0..n).map(|i| [(1.0 + i as f64).sin()]).collect();
        let right = b.clone();
        let mut l = a.clone();
        assert!(l.factor());
        l.solve(&mut b);
        let x: Vec<f64> = b.iter().map(|v| v[0]).collect();
        let mut product = vec![0.0; n];
        a.multiply(&x, &mut product);
        for i in 0..n {
            // rounding of a well conditioned 9 x 9 system
            approx::assert_abs_diff_eq!(product[i], right[i][0], epsilon = 1e-14);
        }
    }
}
