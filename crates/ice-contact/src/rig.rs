//! A rod on sprung mounts, cut into beam elements and fine contact cells.

use crate::banded::Banded;
use crate::beam::{beam_matrix, hermite};
use crate::foundation::{Law, Uneven};
use crate::runner::{Bow, IceState, RunnerSpec};
use numerics::dual::Real;

/// A spring between frame and rod.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Mount {
    /// Node of the beam it stands on.
    pub(crate) node: usize,
    /// Where it stands (m).
    pub(crate) at_m: f64,
    /// Stiffness (N/m).
    pub(crate) stiffness_n_per_m: f64,
    /// How far it is advanced towards the ice (m).
    pub(crate) advance_m: f64,
}

/// Rod, mounts and ice, without load.
#[derive(Clone, Debug)]
pub(crate) struct Rig {
    /// Nodes of the beam (m), from the rear to the front.
    pub(crate) nodes_m: Vec<f64>,
    /// Beam and mount springs, frame held.
    pub(crate) stiffness: Banded,
    /// The mounts: rear pin, rear screw, front screw, front pin for a runner.
    pub(crate) mounts: Vec<Mount>,
    /// Hermite functions at the points of one element, by point.
    pub(crate) shape: [[f64; 4]; POINTS],
    /// The same by function.
    by_function: [[f64; POINTS]; 4],
    /// Lower triangles of their products: of each point with itself, and of each with the next one, both ways.
    pub(crate) products: [[[f64; 10]; POINTS]; 2],
    /// Points between the cells (m).
    pub(crate) points_m: Vec<f64>,
    /// Lengths of the cells (m).
    pub(crate) length_m: Vec<f64>,
    /// Height of the unbent rod at the points (m).
    pub(crate) unbent_m: Vec<f64>,
    /// Foundation coefficient of each cell (N/m per m^(1/2), or N/m2 for the linear law).
    pub(crate) coefficient: Vec<f64>,
    /// Law of the ice.
    pub(crate) law: Law,
    /// Whether a cell is on the groove.
    pub(crate) groove: Vec<bool>,
    /// Width of one contact of a cell over the root of its depth (m^(1/2)).
    width: [f64; 2],
    /// Height of the edges of the groove above the lowest line of the rod (m).
    pub(crate) edge_height_m: f64,
    /// The waves of the ice.
    pub(crate) uneven: Uneven,
}

/// Length of a beam element (m), at most.
const ELEMENT_M: f64 = 0.030;
/// Contact cells per element.
pub(crate) const CELLS: usize = 10;
/// Points of an element, those at its two nodes included.
pub(crate) const POINTS: usize = CELLS + 1;

/// Lower triangle of a symmetric 4 x 4 block, row by row.
pub(crate) const TRIANGLE: [(usize, usize); 10] =
    [(0, 0), (1, 0), (1, 1), (2, 0), (2, 1), (2, 2), (3, 0), (3, 1), (3, 2), (3, 3)];

impl Rig {
    /// A rod over `nodes_m`; `mounts` are place, stiffness and advance; `unbent` is its natural
    /// height at a point.
    pub(crate) fn new(
        bending_stiffness_n_m2: f64,
        nodes_m: Vec<f64>,
        mounts: &[(f64, f64, f64)],
        unbent: impl Fn(f64) -> f64,
    ) -> Self {
        let mut stiffness = beam_matrix(bending_stiffness_n_m2, &nodes_m);
        let mounts: Vec<Mount> = mounts
            .iter()
            .map(|&(at_m, stiffness_n_per_m, advance_m)| Mount {
                node: nodes_m.partition_point(|&x| x < at_m - 1e-9).min(nodes_m.len() - 1),
                at_m,
                stiffness_n_per_m,
                advance_m,
            })
            .collect();
        for m in &mounts {
            stiffness.add(2 * m.node, 0, m.stiffness_n_per_m);
        }
        let shape: [[f64; 4]; POINTS] = std::array::from_fn(|i| hermite(i as f64 / CELLS as f64));
        let own = shape.map(|n| TRIANGLE.map(|(a, b)| n[a] * n[b]));
        let beside = std::array::from_fn(|i| {
            let (n, m) = (&shape[i], &shape[(i + 1).min(CELLS)]);
            TRIANGLE.map(|(a, b)| n[a] * m[b] + m[a] * n[b])
        });
        let mut points_m = Vec::with_capacity((nodes_m.len() - 1) * CELLS + 1);
        points_m.push(nodes_m[0]);
        for pair in nodes_m.windows(2) {
            for i in 1..=CELLS {
                points_m.push(pair[0] + (pair[1] - pair[0]) * i as f64 / CELLS as f64);
            }
        }
        let unbent_m = points_m.iter().map(|&x| unbent(x)).collect();
        let length_m: Vec<f64> = points_m.windows(2).map(|p| p[1] - p[0]).collect();
        let points = points_m.len() - 1;
        let coefficient = vec![0.0; points];
        Rig {
            nodes_m,
            stiffness,
            mounts,
            shape,
            by_function: std::array::from_fn(|a| shape.map(|n| n[a])),
            products: [own, beside],
            points_m,
            length_m,
            unbent_m,
            coefficient,
            law: Law::Root,
            groove: vec![false; points],
            width: [0.0; 2],
            edge_height_m: 0.0,
            uneven: Uneven::FLAT,
        }
    }

    /// A runner on yielding ice.
    ///
    /// ```text
    /// q = H * width(d),  width = 2 sqrt(2 r d) on the rod,  2 * 2 sqrt(2 r_e d) on the two edges
    /// ```
    pub(crate) fn of_runner(runner: &RunnerSpec, bow: Bow, ice: &IceState) -> Self {
        let k = runner.mount_stiffness_n_per_m;
        let mounts = [
            (-runner.pin_m, k, 0.0),
            (-runner.screw_m, k, bow.rear_m),
            (runner.screw_m, k, bow.front_m),
            (runner.pin_m, k, 0.0),
        ];
        let ei = runner.rod().bending_stiffness_n_m2();
        let mut rig = Rig::new(ei, runner.nodes_m(ELEMENT_M), &mounts, |x| runner.unbent_m(x));
        rig.width = [2.0 * runner.diameter_m.sqrt(), 2.0 * (2.0 * runner.groove_edge_radius_m).sqrt()];
        let [rod, edge] = rig.width.map(|w| w * ice.hardness_pa);
        let middles = rig.points_m.windows(2).map(|pair| 0.5 * (pair[0] + pair[1]));
        for ((c, groove), middle_m) in rig.coefficient.iter_mut().zip(&mut rig.groove).zip(middles) {
            *groove = middle_m <= runner.groove_start_m;
            *c = if *groove { 2.0 * edge } else { rod };
        }
        for (unbent_m, x_m) in rig.unbent_m.iter_mut().zip(&rig.points_m) {
            if *x_m < runner.groove_start_m - 1e-9 {
                *unbent_m += runner.edge_height_m();
            }
        }
        rig.edge_height_m = runner.edge_height_m();
        rig.uneven = ice.waves();
        rig.law = if ice.unevenness_m > 0.0 { Law::Uneven(rig.uneven) } else { Law::Root };
        rig
    }

    /// Depths at the rear and front end of a cell of what touches there (m): where the groove starts, its edges stand
    /// higher than the smooth rod in front of them.
    #[inline]
    pub(crate) fn ends_m(&self, cell: usize, depth_m: &[f64]) -> [f64; 2] {
        let step_m = if self.starts_groove(cell) { self.edge_height_m } else { 0.0 };
        [depth_m[cell], depth_m[cell + 1] - step_m]
    }

    /// Whether a cell is the first on the groove.
    pub(crate) fn starts_groove(&self, cell: usize) -> bool {
        self.groove[cell] && self.groove.get(cell + 1).is_some_and(|front| !front)
    }

    /// Mean width of one contact of a cell over the heights of the ice (m), and the part of it that touches `[-]`.
    #[inline]
    pub(crate) fn mean_width_m<T: Real>(&self, cell: usize, depth_m: T) -> (T, T) {
        let width = self.width[usize::from(self.groove[cell])];
        (self.uneven.mean_root(depth_m) * width, self.uneven.wet(depth_m))
    }

    /// Mean section of the cut of one contact down to a depth (m2).
    pub(crate) fn mean_cut_m2(&self, cell: usize, depth_m: f64) -> f64 {
        self.width[usize::from(self.groove[cell])] * self.uneven.integral(depth_m)
    }

    /// Values of a bent line (node values and slopes) at all points.
    pub(crate) fn at_points(&self, dofs: &[f64], out: &mut [f64]) {
        for e in 0..self.nodes_m.len() - 1 {
            let h = self.nodes_m[e + 1] - self.nodes_m[e];
            let d = [dofs[2 * e], h * dofs[2 * e + 1], dofs[2 * e + 2], h * dofs[2 * e + 3]];
            if let Some(out) = out[e * CELLS..].first_chunk_mut::<POINTS>() {
                let [n0, n1, n2, n3] = &self.by_function;
                for i in 0..POINTS {
                    out[i] = n0[i] * d[0] + n1[i] * d[1] + n2[i] * d[2] + n3[i] * d[3];
                }
            }
        }
    }

    /// Deflection of the rod when the frame is held and there is no ice: node values and slopes.
    pub(crate) fn free_dofs(&self) -> Vec<f64> {
        let mut b = vec![[0.0]; 2 * self.nodes_m.len()];
        for m in &self.mounts {
            b[2 * m.node][0] += m.stiffness_n_per_m * m.advance_m;
        }
        let mut k = self.stiffness.clone();
        if k.factor() {
            k.solve(&mut b);
        }
        b.iter().map(|v| v[0]).collect()
    }
}
