//! Systems of a beam whose foundation remembers: every row knows all columns in front of it, and three behind.

/// A matrix with all of its upper triangle and three sub-diagonals, row by row.
#[derive(Clone, Debug, Default)]
pub(crate) struct Chained {
    size: usize,
    row: Vec<f64>,
}

/// Sub-diagonals.
const BAND: usize = 3;

impl Chained {
    pub(crate) fn zeros(size: usize) -> Chained {
        Chained { size, row: vec![0.0; size * size] }
    }

    pub(crate) fn copy_from(&mut self, other: &Chained) {
        self.row.copy_from_slice(&other.row);
    }

    pub(crate) fn clear(&mut self) {
        self.row.fill(0.0);
    }

    pub(crate) fn add(&mut self, i: usize, k: usize, value: f64) {
        self.row[i * self.size + k] += value;
    }

    /// A stretch of one row.
    pub(crate) fn stretch(&mut self, i: usize, from: usize, to: usize) -> &mut [f64] {
        &mut self.row[i * self.size + from..i * self.size + to]
    }

    /// Adds a multiple of another.
    pub(crate) fn add_scaled(&mut self, other: &Chained, scale: f64) {
        for (a, b) in self.row.iter_mut().zip(&other.row) {
            *a += scale * b;
        }
    }

    /// Solves for three right-hand sides in place, by elimination without exchanges; false where a pivot vanishes.
    ///
    /// Checked by: `exact_solution_of_a_chained_system`.
    pub(crate) fn solve(&mut self, rhs: &mut [[f64; 3]]) -> bool {
        let n = self.size;
        for k in 0..n {
            let (head, tail) = self.row.split_at_mut((k + 1) * n);
            let pivot_row = &head[k * n..];
            let pivot = pivot_row[k];
            if pivot == 0.0 || !pivot.is_finite() {
                return false;
            }
            for j in 0..BAND.min(n - 1 - k) {
                let row = &mut tail[j * n..(j + 1) * n];
                let factor = row[k] / pivot;
                if factor == 0.0 {
                    continue;
                }
                for (a, b) in row[k..].iter_mut().zip(&pivot_row[k..]) {
                    *a -= factor * b;
                }
                for r in 0..3 {
                    rhs[k + 1 + j][r] -= factor * rhs[k][r];
                }
            }
        }
        for k in (0..n).rev() {
            let row = &self.row[k * n..(k + 1) * n];
            let mut sum = rhs[k];
            for (a, x) in row[k + 1..].iter().zip(&rhs[k + 1..]) {
                for r in 0..3 {
                    sum[r] -= a * x[r];
                }
            }
            rhs[k] = sum.map(|s| s / row[k]);
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_solution_of_a_chained_system() {
        let n = 9;
        let mut matrix = Chained::zeros(n);
        // any numbers with a heavy diagonal
        let value = |i: usize, k: usize| {
            if i == k { 5.0 + i as f64 } else { ((7 * i + 3 * k) % 11) as f64 / 11.0 - 0.4 }
        };
        for i in 0..n {
            for k in i.saturating_sub(BAND)..n {
                matrix.add(i, k, value(i, k));
            }
        }
        let wanted: Vec<[f64; 3]> = (0..n).map(|i| [i as f64, 1.0, -0.5 * i as f64]).collect();
        let mut rhs = vec![[0.0; 3]; n];
        for i in 0..n {
            for k in i.saturating_sub(BAND)..n {
                for r in 0..3 {
                    rhs[i][r] += value(i, k) * wanted[k][r];
                }
            }
        }
        assert!(matrix.solve(&mut rhs));
        for (a, b) in rhs.iter().zip(&wanted) {
            for r in 0..3 {
                // rounding
                approx::assert_abs_diff_eq!(a[r], b[r], epsilon = 1e-12);
            }
        }
    }
}
