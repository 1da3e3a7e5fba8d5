//! The ice's answer to an indentation, element by element: those that touch nothing are passed over.

use crate::foundation::{Cell, Law, all_wet};
use crate::rig::{CELLS, POINTS, TRIANGLE};

/// What the ice does to one beam element.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pressed {
    /// Whether it touches anywhere; the rest means nothing otherwise.
    pub(super) wet: bool,
    /// Force on values and slopes at the two nodes.
    pub(super) gradient: [f64; 4],
    /// Force at the points, from the cells of this element.
    pub(super) force: [f64; POINTS],
    /// Stiffness at the points, and between each and the next.
    diagonal: [f64; POINTS],
    beside: [f64; CELLS],
}

impl Pressed {
    pub(super) const DRY: Pressed = Pressed {
        wet: false,
        gradient: [0.0; 4],
        force: [0.0; POINTS],
        diagonal: [0.0; POINTS],
        beside: [0.0; CELLS],
    };

    /// Answer to indentations at the points, on cells of given weights; `shape` are the Hermite functions
    /// at the points and `length_m` is the length of the element.
    pub(super) fn press(
        &mut self,
        law: Law,
        depth_m: &[f64; POINTS],
        weight: &[f64; CELLS],
        shape: &[[f64; 4]; POINTS],
        length_m: f64,
    ) {
        let (mut deepest, mut least) = (depth_m[0], depth_m[0]);
        for &d in depth_m {
            deepest = deepest.max(d);
            least = least.min(d);
        }
        self.wet = deepest > 0.0 || law == Law::TwoSided;
        if !self.wet {
            return;
        }
        if law == Law::Root && least > 0.0 {
            let cells = all_wet(&depth_m.map(f64::sqrt), weight);
            self.force[0] = cells.g[0][0];
            self.diagonal[0] = cells.h[0][0];
            for i in 1..CELLS {
                self.force[i] = cells.g[1][i - 1] + cells.g[0][i];
                self.diagonal[i] = cells.h[2][i - 1] + cells.h[0][i];
            }
            self.force[CELLS] = cells.g[1][CELLS - 1];
            self.diagonal[CELLS] = cells.h[2][CELLS - 1];
            self.beside = cells.h[1];
        } else {
            let root = if law == Law::Root { depth_m.map(|d| d.max(0.0).sqrt()) } else { *depth_m };
            let mut carried = Cell::default();
            for i in 0..CELLS {
                let (w, cell) = (weight[i], law.cell(depth_m[i], depth_m[i + 1], root[i], root[i + 1]));
                self.force[i] = carried.g[1] + w * cell.g[0];
                self.diagonal[i] = carried.h[2] + w * cell.h[0];
                self.beside[i] = w * cell.h[1];
                carried.g[1] = w * cell.g[1];
                carried.h[2] = w * cell.h[2];
            }
            self.force[CELLS] = carried.g[1];
            self.diagonal[CELLS] = carried.h[2];
        }
        let mut sum = [0.0; 4];
        for (f, n) in self.force.iter().zip(shape) {
            for a in 0..4 {
                sum[a] += f * n[a];
            }
        }
        self.gradient = [sum[0], length_m * sum[1], sum[2], length_m * sum[3]];
    }

    /// Stiffness on values and slopes at the two nodes; `products` of the Hermite functions, as the rig has them.
    pub(super) fn stiffness(&self, products: &[[[f64; 10]; POINTS]; 2], length_m: f64) -> [[f64; 4]; 4] {
        let [own, next] = products;
        let mut sum = [0.0; 10];
        for i in 0..POINTS {
            for k in 0..10 {
                sum[k] += self.diagonal[i] * own[i][k];
            }
        }
        for i in 0..CELLS {
            for k in 0..10 {
                sum[k] += self.beside[i] * next[i][k];
            }
        }
        let scale = [1.0, length_m, 1.0, length_m];
        let mut block = [[0.0; 4]; 4];
        for (s, (a, b)) in sum.iter().zip(TRIANGLE) {
            block[a][b] = s * scale[a] * scale[b];
        }
        block
    }
}
