//! Rod, mounts and ice together: Newton steps with the whole of what the ice remembers.
//!
//! A cell answers to its two depths and to what reaches it from the front: the film, and the depth of the ice left
//! there. The chain of cells from the front gives the columns of all the node values before it. Steps are held short
//! by a stiffness of ice that forgets (pseudo-transient continuation), which is taken away as the forces come into
//! balance.

use super::ContactSolver;
use crate::chained::Chained;
use crate::melt::{Answer, Under};
use crate::rig::{CELLS, POINTS};

/// Newton steps of one solve.
const STEPS: usize = 40;
/// Attempts to shorten one step.
const SHORTER: usize = 6;
/// Moments are compared with forces by this arm (m), that of the frame's pitch by the other.
const ARMS_M: [f64; 2] = [0.02, 0.2];

/// The system of one step.
#[derive(Clone, Debug, Default)]
pub(super) struct Coupled {
    /// Rod and mounts, frame held.
    elastic: Chained,
    jacobian: Chained,
    forgetful: Chained,
    matrix: Chained,
    /// Forces left over, those of heave and pitch at the end.
    residual: Vec<f64>,
    /// The state that the step starts from, and the solved columns.
    start: Vec<f64>,
    columns: Vec<[f64; 3]>,
    /// Columns of film, ice depth and share at the front of the cell in hand.
    carried: [Vec<f64>; 3],
}

impl Coupled {
    fn new(dofs: usize) -> Coupled {
        Coupled {
            elastic: Chained::zeros(dofs),
            jacobian: Chained::zeros(dofs),
            forgetful: Chained::zeros(dofs),
            matrix: Chained::zeros(dofs),
            residual: vec![0.0; dofs + 2],
            start: vec![0.0; dofs + 2],
            columns: vec![[0.0; 3]; dofs],
            carried: std::array::from_fn(|_| vec![0.0; dofs]),
        }
    }

    /// The derivatives of an element whose first node value is `first`: own node values, then what reaches it from
    /// the front. `touched` is where the columns in front end.
    fn add(&mut self, first: usize, element: &Element, touched: usize) {
        let columns = &mut self.carried;
        for a in 0..4 {
            for b in 0..4 {
                self.jacobian.add(first + a, first + b, element.force[a][b]);
                self.forgetful.add(first + a, first + b, element.forgetful[a][b]);
            }
            let [.., f, i, s] = element.force[a];
            let carried = columns[0][first..].iter().zip(&columns[1][first..]).zip(&columns[2][first..]);
            let row = self.jacobian.stretch(first + a, first, touched);
            for (j, ((film, ice), share)) in row.iter_mut().zip(carried) {
                *j += f * film + i * ice + s * share;
            }
        }
        for k in first..touched {
            let before = [columns[0][k], columns[1][k], columns[2][k]];
            for (column, by) in columns.iter_mut().zip(&element.state) {
                column[k] = by[4] * before[0] + by[5] * before[1] + by[6] * before[2];
            }
        }
        for (column, by) in columns.iter_mut().zip(&element.state) {
            for b in 0..4 {
                column[first + b] += by[b];
            }
        }
    }
}

/// What an element hangs on: its four node values; film, ice depth and share at its front.
const INPUTS: usize = 7;

/// Derivatives of one element, gathered cell by cell from its front.
struct Element {
    /// Of the forces on its node values.
    force: [[f64; INPUTS]; 4],
    /// Of film, ice depth and share behind the cell in hand.
    state: [[f64; INPUTS]; 3],
    forgetful: [[f64; 4]; 4],
}

impl Element {
    fn at_its_front() -> Element {
        let state = std::array::from_fn(|i| std::array::from_fn(|k| if k == 4 + i { 1.0 } else { 0.0 }));
        Element { force: [[0.0; INPUTS]; 4], state, forgetful: [[0.0; 4]; 4] }
    }

    /// One cell; `shape` are the node values' parts in the depths at its rear and front end.
    fn pass(&mut self, shape: &[[f64; 4]; 2], answer: &Answer) {
        // a quantity by its derivatives: depths by the node values, the rest by what came from the front
        let [film, ice, share] = self.state;
        let by = |d: &[f64; 4], d_share: f64| -> [f64; INPUTS] {
            let mut sum = [0.0; INPUTS];
            for k in 0..INPUTS {
                sum[k] = d[2] * film[k] + d[3] * ice[k] + d_share * share[k];
            }
            for k in 0..4 {
                sum[k] += d[0] * shape[0][k] + d[1] * shape[1][k];
            }
            sum
        };
        for (end, own) in shape.iter().enumerate() {
            let force = by(&answer.by_input[end], answer.by_share_n[end]);
            for a in 0..4 {
                for k in 0..INPUTS {
                    self.force[a][k] += own[a] * force[k];
                }
                for b in 0..4 {
                    self.forgetful[a][b] += 0.5 * answer.stiffness_n_per_m * own[a] * own[b];
                }
            }
        }
        self.state = [2, 3, 4].map(|i| by(&answer.by_input[i], 0.0));
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
        self.pressed_part.fill(1.0);
        coupled.jacobian.copy_from(&coupled.elastic);
        coupled.forgetful.clear();
        coupled.carried.iter_mut().for_each(|c| c.fill(0.0));
        let Some(melting) = &self.melting else { return 0.0 };
        let mut under = Under::FRESH;
        let mut touched = 0;
        for e in (0..self.rig.nodes_m.len() - 1).rev() {
            let Some(depth_m) = self.depth_m[e * CELLS..].first_chunk::<POINTS>() else { continue };
            let h = self.rig.nodes_m[e + 1] - self.rig.nodes_m[e];
            let dry = depth_m.iter().all(|d| *d <= 0.0);
            let mut element = Element::at_its_front();
            for i in (0..CELLS).rev() {
                let c = e * CELLS + i;
                if self.rig.starts_groove(c) {
                    // a node stands here, so the element is at its front
                    let kept = under.meets_the_edges(self.rig.edge_height_m);
                    coupled.carried[1].iter_mut().for_each(|i| *i *= kept);
                }
                if dry {
                    let kept = under.leave(self.rig.length_m[c]);
                    coupled.carried[0].iter_mut().for_each(|f| *f *= kept);
                    coupled.carried[2].fill(0.0);
                    continue;
                }
                let answer = melting.cell(&self.rig, c, self.rig.ends_m(c, &self.depth_m), &mut under, true);
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
                (self.share[c], self.pressed_part[c]) = (answer.share, answer.pressed);
                self.cut_m2[c] = answer.cut_m2;
                self.load_n[c] = answer.force_n[0] + answer.force_n[1];
                element.pass(&shape, &answer);
            }
            if !dry {
                touched = touched.max(2 * e + 4);
                coupled.add(2 * e, &element, touched);
            }
        }
        self.greatest(&coupled.residual)
    }

    /// Greatest force left over (N), moments by their arms.
    fn greatest(&self, residual: &[f64]) -> f64 {
        let dofs = self.free.len();
        let mut top = residual[dofs].abs().max(residual[dofs + 1].abs() / ARMS_M[1]);
        for i in 0..dofs / 2 {
            top = top.max(residual[2 * i].abs()).max(residual[2 * i + 1].abs() / ARMS_M[0]);
        }
        if residual.iter().any(|r| r.is_nan()) { f64::INFINITY } else { top }
    }

    /// Sum of squares of the same.
    fn norm(&self, residual: &[f64]) -> f64 {
        let dofs = self.free.len();
        let mut sum = residual[dofs].powi(2) + (residual[dofs + 1] / ARMS_M[1]).powi(2);
        for i in 0..dofs / 2 {
            sum += residual[2 * i].powi(2) + (residual[2 * i + 1] / ARMS_M[0]).powi(2);
        }
        if sum.is_nan() { f64::INFINITY } else { sum }
    }

    /// Newton step by the columns of residual, heave and pitch; false where there is none.
    fn step_from(&mut self, coupled: &mut Coupled, residual: &[f64]) -> bool {
        let dofs = self.free.len();
        for (column, r) in coupled.columns.iter_mut().zip(residual) {
            *column = [*r, 0.0, 0.0];
        }
        for m in &self.rig.mounts {
            coupled.columns[2 * m.node][1] -= m.stiffness_n_per_m;
            coupled.columns[2 * m.node][2] -= m.stiffness_n_per_m * m.at_m;
        }
        if !coupled.matrix.solve(&mut coupled.columns) {
            return false;
        }
        // heave and pitch by what is left of their two rows
        let (mut s, mut r) = ([[0.0; 2]; 2], [residual[dofs], residual[dofs + 1]]);
        for m in &self.rig.mounts {
            let arms = [1.0, m.at_m];
            let [u, c0, c1] = coupled.columns[2 * m.node];
            for i in 0..2 {
                r[i] += m.stiffness_n_per_m * arms[i] * u;
                s[i][0] += m.stiffness_n_per_m * arms[i] * (1.0 + c0);
                s[i][1] += m.stiffness_n_per_m * arms[i] * (m.at_m + c1);
            }
        }
        let determinant = s[0][0] * s[1][1] - s[0][1] * s[1][0];
        let heave = (r[0] * s[1][1] - r[1] * s[0][1]) / determinant;
        let pitch = (r[1] * s[0][0] - r[0] * s[1][0]) / determinant;
        for (i, [u, c0, c1]) in coupled.columns.iter().enumerate() {
            self.state[i] = coupled.start[i] - (u - c0 * heave - c1 * pitch);
        }
        self.state[dofs] = coupled.start[dofs] - heave;
        self.state[dofs + 1] = coupled.start[dofs + 1] - pitch;
        heave.is_finite() && pitch.is_finite()
    }

    /// Steps until no force left over is above `tolerance_n`; returns the greatest. The first is held by a part of the
    /// forgetful ice.
    pub(super) fn couple(&mut self, tolerance_n: f64, mut held: f64) -> f64 {
        let mut coupled = std::mem::take(&mut self.coupled);
        if coupled.residual.is_empty() {
            coupled = Coupled::new(self.free.len());
            self.rig.stiffness.each(|i, k, value| coupled.elastic.add(i, k, value));
        }
        let mut left_over_n = self.balance(&mut coupled);
        while left_over_n > tolerance_n && self.steps < STEPS {
            self.steps += 1;
            coupled.start.copy_from_slice(&self.state);
            let residual = coupled.residual.clone();
            let (jacobian, forgetful) = (coupled.jacobian.clone(), coupled.forgetful.clone());
            let norm = self.norm(&residual);
            let mut done = false;
            for _ in 0..SHORTER {
                coupled.matrix.copy_from(&jacobian);
                if held > 0.0 {
                    coupled.matrix.add_scaled(&forgetful, held);
                }
                if self.step_from(&mut coupled, &residual) {
                    left_over_n = self.balance(&mut coupled);
                    if self.norm(&coupled.residual) < norm {
                        done = true;
                        break;
                    }
                }
                held = (held * 6.0).max(1e-3);
            }
            if !done {
                self.state.copy_from_slice(&coupled.start);
                left_over_n = self.balance(&mut coupled);
                break;
            }
            held = if held < 1e-3 { 0.0 } else { held * 0.1 };
        }
        self.coupled = coupled;
        left_over_n
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::contact::Outcome;
    use crate::runner::{Bow, IceState, RunnerSpec};

    #[test]
    fn exact_every_force_left_over_counts() {
        let ice = IceState::at_temperature(-4.0, 0.25);
        let solver = ContactSolver::new(&RunnerSpec::default(), Bow::even(2e-3), &ice).unwrap();
        let dofs = solver.free.len();
        for i in 0..dofs + 2 {
            let mut residual = vec![0.0; dofs + 2];
            residual[i] = -3.0;
            // deflection and slope of each node by turns, then load and moment of the whole
            let arm_m = match i {
                _ if i == dofs + 1 => ARMS_M[1],
                _ if i % 2 == 1 => ARMS_M[0],
                _ => 1.0,
            };
            assert_eq!(solver.greatest(&residual), 3.0 / arm_m, "{i}");
            // rounding
            approx::assert_relative_eq!(solver.norm(&residual), (3.0 / arm_m).powi(2), max_relative = 1e-14);
        }
    }

    #[test]
    fn exact_only_a_converged_contact_is_balanced() {
        assert!(Outcome::Converged.is_balanced());
        assert!(!Outcome::Unbalanced { left_over_n: 1.0 }.is_balanced());
        assert!(!Outcome::BadDemand.is_balanced());
    }
}
