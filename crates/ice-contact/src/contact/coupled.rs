//! Rod, mounts and ice together: Newton steps with the whole of what the ice remembers.
//!
//! A cell answers to its two depths and to what reaches it from the front: the film, and the depth of the ice left
//! there. The chain of cells from the front gives the columns of all the node values before it. Steps are held short
//! by a stiffness of ice that forgets (pseudo-transient continuation), which is taken away as the forces come into
//! balance.

use super::ContactSolver;
use crate::melt::{Answer, Under};
use crate::rig::{CELLS, POINTS};
use nalgebra::{DMatrix, DVector};

/// Newton steps of one solve.
const STEPS: usize = 60;
/// Attempts to shorten one step.
const SHORTER: usize = 10;
/// Moments are compared with forces by this arm (m), that of the frame's pitch by the other.
const ARMS_M: [f64; 2] = [0.02, 0.2];

/// The system of one step.
#[derive(Clone, Debug)]
pub(super) struct Coupled {
    elastic: DMatrix<f64>,
    jacobian: DMatrix<f64>,
    forgetful: DMatrix<f64>,
    residual: DVector<f64>,
    /// Columns of film, ice depth and share at the front of the cell in hand.
    carried: [Vec<f64>; 3],
}

impl Coupled {
    pub(super) fn new(dofs: usize) -> Coupled {
        Coupled {
            elastic: DMatrix::zeros(0, 0),
            jacobian: DMatrix::zeros(dofs + 2, dofs + 2),
            forgetful: DMatrix::zeros(dofs + 2, dofs + 2),
            residual: DVector::zeros(dofs + 2),
            carried: std::array::from_fn(|_| vec![0.0; dofs]),
        }
    }

    /// The derivatives of one cell of the element whose first node value is `first`; `shape` are the node values'
    /// parts in the depths at its rear and front end. `touched` is where the columns in front end.
    fn add(&mut self, first: usize, shape: [[f64; 4]; 2], answer: &Answer, touched: usize) {
        let [film, ice, share] = &mut self.carried;
        for (end, own) in shape.iter().enumerate() {
            let by = &answer.by_input[end];
            for a in 0..4 {
                let row = first + a;
                for b in 0..4 {
                    self.jacobian[(row, first + b)] += own[a] * (by[0] * shape[0][b] + by[1] * shape[1][b]);
                    self.forgetful[(row, first + b)] += 0.5 * answer.stiffness_n_per_m * own[a] * own[b];
                }
                let [f, i, s] = [by[2], by[3], answer.by_share_n[end]].map(|by| own[a] * by);
                if f != 0.0 || i != 0.0 || s != 0.0 {
                    for k in first..touched {
                        self.jacobian[(row, k)] += f * film[k] + i * ice[k] + s * share[k];
                    }
                }
            }
        }
        let [_, _, by_film, by_ice, by_share] = &answer.by_input;
        for k in first..touched {
            let before = [film[k], ice[k]];
            film[k] = by_film[2] * before[0] + by_film[3] * before[1];
            ice[k] = by_ice[2] * before[0] + by_ice[3] * before[1];
            share[k] = by_share[2] * before[0] + by_share[3] * before[1];
        }
        for b in 0..4 {
            film[first + b] += by_film[0] * shape[0][b] + by_film[1] * shape[1][b];
            ice[first + b] += by_ice[0] * shape[0][b] + by_ice[1] * shape[1][b];
            share[first + b] += by_share[0] * shape[0][b] + by_share[1] * shape[1][b];
        }
    }
}

impl ContactSolver {
    /// Forces left over at the present state into `residual`, and the Jacobian.
    fn balance(&mut self, coupled: &mut Coupled) -> f64 {
        self.update_depth();
        self.elastic_gradient();
        coupled.residual.copy_from_slice(&self.gradient);
        self.force.fill(0.0);
        self.load_n.fill(0.0);
        self.share.fill(1.0);
        coupled.jacobian.copy_from(&coupled.elastic);
        coupled.forgetful.fill(0.0);
        coupled.carried.iter_mut().for_each(|c| c.fill(0.0));
        let Some(melting) = &self.melting else { return 0.0 };
        let mut under = Under::FRESH;
        let mut touched = 0;
        for e in (0..self.rig.nodes_m.len() - 1).rev() {
            let Some(depth_m) = self.depth_m[e * CELLS..].first_chunk::<POINTS>() else { continue };
            let h = self.rig.nodes_m[e + 1] - self.rig.nodes_m[e];
            let dry = depth_m.iter().all(|d| *d <= 0.0);
            for i in (0..CELLS).rev() {
                let c = e * CELLS + i;
                if c + 1 < self.rig.groove.len() && self.rig.groove[c] && !self.rig.groove[c + 1] {
                    under = Under::FRESH;
                    coupled.carried.iter_mut().for_each(|c| c.fill(0.0));
                }
                if dry {
                    let kept = under.leave(self.rig.length_m[c]);
                    coupled.carried[0].iter_mut().for_each(|f| *f *= kept);
                    coupled.carried[2].fill(0.0);
                    continue;
                }
                touched = touched.max(2 * e + 4);
                let answer = melting.cell(&self.rig, c, [depth_m[i], depth_m[i + 1]], &mut under, true);
                let shape = [i, i + 1].map(|p| {
                    let n = &self.rig.shape[p];
                    [n[0], h * n[1], n[2], h * n[3]]
                });
                for (end, own) in shape.iter().enumerate() {
                    self.force[c + end] += answer.force_n[end];
                    for a in 0..4 {
                        coupled.residual[2 * e + a] += own[a] * answer.force_n[end];
                    }
                }
                (self.share[c], self.cut_m2[c]) = (answer.share, answer.cut_m2);
                self.load_n[c] = answer.force_n[0] + answer.force_n[1];
                coupled.add(2 * e, shape, &answer, touched);
            }
        }
        self.greatest(&coupled.residual)
    }

    /// Greatest force left over (N), moments by their arms.
    fn greatest(&self, residual: &DVector<f64>) -> f64 {
        let dofs = self.free.len();
        let mut top = residual[dofs].abs().max(residual[dofs + 1].abs() / ARMS_M[1]);
        for i in 0..dofs / 2 {
            top = top.max(residual[2 * i].abs()).max(residual[2 * i + 1].abs() / ARMS_M[0]);
        }
        if residual.iter().any(|r| r.is_nan()) { f64::INFINITY } else { top }
    }

    /// Sum of squares of the same.
    fn norm(&self, residual: &DVector<f64>) -> f64 {
        let dofs = self.free.len();
        let mut sum = residual[dofs].powi(2) + (residual[dofs + 1] / ARMS_M[1]).powi(2);
        for i in 0..dofs / 2 {
            sum += residual[2 * i].powi(2) + (residual[2 * i + 1] / ARMS_M[0]).powi(2);
        }
        if sum.is_nan() { f64::INFINITY } else { sum }
    }

    /// Steps until no force left over is above `tolerance_n`; returns the greatest.
    pub(super) fn couple(&mut self, tolerance_n: f64) -> f64 {
        let mut coupled = std::mem::replace(&mut self.coupled, Coupled::new(0));
        if coupled.elastic.is_empty() {
            coupled.elastic = self.elastic_matrix();
        }
        let mut held = if self.warm { 0.0 } else { 1.0 };
        let mut left_over_n = self.balance(&mut coupled);
        let (mut start, mut residual) = (self.state.clone(), coupled.residual.clone());
        let mut matrix = coupled.jacobian.clone();
        while left_over_n > tolerance_n && self.steps < STEPS {
            self.steps += 1;
            start.copy_from_slice(&self.state);
            residual.copy_from(&coupled.residual);
            let (jacobian, forgetful) = (coupled.jacobian.clone(), coupled.forgetful.clone());
            let norm = self.norm(&residual);
            let mut done = false;
            for _ in 0..SHORTER {
                matrix.copy_from(&jacobian);
                if held > 0.0 {
                    matrix += &forgetful * held;
                }
                if let Some(step) = matrix.clone().lu().solve(&residual) {
                    for ((x, from), d) in self.state.iter_mut().zip(&start).zip(step.iter()) {
                        *x = from - d;
                    }
                    left_over_n = self.balance(&mut coupled);
                    if self.norm(&coupled.residual) < norm {
                        done = true;
                        break;
                    }
                }
                held = (held * 6.0).max(1e-3);
            }
            if !done {
                self.state.copy_from_slice(&start);
                left_over_n = self.balance(&mut coupled);
                break;
            }
            held = if held < 1e-3 { 0.0 } else { held * 0.15 };
        }
        self.coupled = coupled;
        left_over_n
    }

    /// Rod, mounts and frame as one matrix.
    fn elastic_matrix(&self) -> DMatrix<f64> {
        let n = self.free.len() + 2;
        let mut matrix = DMatrix::zeros(n, n);
        let (mut unit, mut product) = (vec![0.0; n], vec![0.0; n]);
        for k in 0..n {
            unit[k] = 1.0;
            Self::elastic_product(&self.rig, &unit, &mut product);
            for (i, p) in product.iter().enumerate() {
                matrix[(i, k)] = *p;
            }
            unit[k] = 0.0;
        }
        matrix
    }
}
