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

    /// Make row and column `i` those of the unit matrix.
    pub(crate) fn pin(&mut self, i: usize) {
        self.row[i] = [1.0, 0.0, 0.0, 0.0];
        for back in 1..4 {
            if let Some(row) = self.row.get_mut(i + back) {
                row[back] = 0.0;
            }
        }
    }

    /// Product with `x`, added to `out`.
    pub(crate) fn multiply_add(&self, x: &[f64], out: &mut [f64]) {
        for (i, row) in self.row.iter().enumerate() {
            out[i] += row[0] * x[i];
            for back in 1..=i.min(3) {
                out[i] += row[back] * x[i - back];
                out[i - back] += row[back] * x[i];
            }
        }
    }

    /// Replace the matrix by its factors L D L'. False if it is not positive definite.
    pub(crate) fn factor(&mut self) -> bool {
        let n = self.row.len();
        // the three rows before this one, as (d, l1, l2)
        for i in 0..n {
            let [mut d, mut a1, mut a2, mut a3] = self.row[i];
            if i >= 3 {
                let [d3, _, _, _] = self.row[i - 3];
                let l3 = a3 / d3;
                let r2 = self.row[i - 2];
                let r1 = self.row[i - 1];
                a2 -= a3 * r2[1];
                a1 -= a3 * r1[2];
                d -= a3 * l3;
                a3 = l3;
            }
            if i >= 2 {
                let d2 = self.row[i - 2][0];
                let l2 = a2 / d2;
                a1 -= a2 * self.row[i - 1][1];
                d -= a2 * l2;
                a2 = l2;
            }
            if i >= 1 {
                let l1 = a1 / self.row[i - 1][0];
                d -= a1 * l1;
                a1 = l1;
            }
            if d.is_nan() || d <= 0.0 {
                return false;
            }
            self.row[i] = [d, a1, a2, a3];
        }
        true
    }

    /// Solve in place for `K` right-hand sides, after [`Banded::factor`].
    pub(crate) fn solve<const K: usize>(&self, b: &mut [[f64; K]]) {
        let n = self.row.len();
        for i in 0..n {
            let row = &self.row[i];
            let mut value = b[i];
            for back in 1..=i.min(3) {
                for k in 0..K {
                    value[k] -= row[back] * b[i - back][k];
                }
            }
            b[i] = value;
        }
        for i in (0..n).rev() {
            let row = &self.row[i];
            let mut value = b[i];
            for v in &mut value {
                *v /= row[0];
            }
            // subtract the columns below, which are already solved
            for back in 1..4 {
                if i + back < n {
                    let l = self.row[i + back][back];
                    for k in 0..K {
                        value[k] -= l * b[i + back][k];
                    }
                }
            }
            b[i] = value;
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
        a.multiply_add(&x, &mut product);
        for i in 0..n {
            // rounding of a well conditioned 9 x 9 system
            approx::assert_abs_diff_eq!(product[i], right[i][0], epsilon = 1e-14);
        }
    }
}
