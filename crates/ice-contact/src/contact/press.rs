//! The ice's answer to an indentation, element by element: those that touch nothing are passed over.

use crate::foundation::{Cells, Law, all_wet};
use crate::rig::{CELLS, POINTS, TRIANGLE};

/// What the ice does to one beam element.
#[derive(Clone, Debug)]
pub(super) struct Pressed {
    /// Whether it touches anywhere; the rest means nothing otherwise.
    pub(super) wet: bool,
    /// Force on values and slopes at the two nodes.
    pub(super) gradient: [f64; 4],
    /// Its cells, without their weights.
    bare: Cells<CELLS>,
}

impl Pressed {
    pub(super) const DRY: Pressed = Pressed { wet: false, gradient: [0.0; 4], bare: Cells::NONE };

    /// Takes the indentations at the points; the weights are still to come.
    pub(super) fn press(&mut self, law: Law, depth_m: &[f64; POINTS]) {
        let deepest = depth_m.iter().fold(f64::NEG_INFINITY, |top, &d| top.max(d));
        self.wet = deepest > 0.0 || law == Law::TwoSided;
        if !self.wet {
            return;
        }
        if law == Law::Root && depth_m.iter().all(|&d| d > 0.0) {
            all_wet(&depth_m.map(f64::sqrt), &mut self.bare);
            return;
        }
        let root = if law == Law::Root { depth_m.map(|d| d.max(0.0).sqrt()) } else { *depth_m };
        for i in 0..CELLS {
            let cell = law.cell(depth_m[i], depth_m[i + 1], root[i], root[i + 1]);
            for (row, g) in self.bare.g.iter_mut().zip(cell.g) {
                row[i] = g;
            }
            for (row, h) in self.bare.h.iter_mut().zip(cell.h) {
                row[i] = h;
            }
        }
    }

    /// Force at the points, from cells of given weights.
    pub(super) fn force(&self, weight: &[f64; CELLS]) -> [f64; POINTS] {
        let [rear, front] = &self.bare.g;
        let mut force = [0.0; POINTS];
        for i in 0..CELLS {
            force[i] = weight[i] * rear[i];
        }
        for i in 0..CELLS {
            force[i + 1] += weight[i] * front[i];
        }
        force
    }

    /// Load of the cells, of given weights.
    pub(super) fn loads(&self, weight: &[f64; CELLS]) -> [f64; CELLS] {
        std::array::from_fn(|i| weight[i] * (self.bare.g[0][i] + self.bare.g[1][i]))
    }

    /// The gradient for cells of given weights; `shape` are the Hermite functions at the points and `length_m` is
    /// the length of the element.
    pub(super) fn weigh(&mut self, weight: &[f64; CELLS], shape: &[[f64; 4]; POINTS], length_m: f64) {
        let mut sum = [0.0; 4];
        for (f, n) in self.force(weight).iter().zip(shape) {
            for a in 0..4 {
                sum[a] += f * n[a];
            }
        }
        self.gradient = [sum[0], length_m * sum[1], sum[2], length_m * sum[3]];
    }

    /// Stiffness on values and slopes at the two nodes; `products` of the Hermite functions, as the rig has them.
    pub(super) fn stiffness(
        &self,
        weight: &[f64; CELLS],
        products: &[[[f64; 10]; POINTS]; 2],
        length_m: f64,
    ) -> [[f64; 4]; 4] {
        let [own, next] = products;
        let [rear, beside, front] = &self.bare.h;
        let mut sum = [0.0; 10];
        for i in 0..CELLS {
            let [a, b, c] = [rear[i], beside[i], front[i]].map(|h| weight[i] * h);
            for k in 0..10 {
                sum[k] += a * own[i][k] + b * next[i][k] + c * own[i + 1][k];
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
