//! The contact of a bowed runner with yielding ice, solved for load, load centroid and curvature
//! of the ice.
//!
//! ```text
//! E I w'''' = sum_j f_j delta(x - x_j) - q(d),     f_j = k (Y + theta x_j + a_j - w(x_j))
//! d = w - sweep + kappa x^2 / 2,                   q = share(x) c(x) sqrt(max(d, 0))
//! int q dx = N,   int q x dx = N x_bar             (through heave Y and pitch theta of the frame)
//! ```
//!
//! With the share frozen the energy of rod, mounts and ice is convex; its minimum is found by
//! Newton steps on the banded system, bordered by heave and pitch, each step shortened until the
//! directional derivative of the energy says it goes far enough. The share follows by a lagged
//! fixed point.

use crate::banded::Banded;
use crate::foundation::{Cell, Law};
use crate::rig::Rig;
use crate::runner::{Bow, Fault, IceState, RunnerSpec, faults};
use crate::share::cell_shares;

/// What the runner has to carry.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Demand {
    /// Load (N).
    pub load_n: f64,
    /// Normal curvature of the ice along the path, concave positive (1/m).
    pub ice_curvature_per_m: f64,
    /// Where the load acts, forward of the middle (m).
    pub centroid_m: f64,
}

/// How a solve ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Outcome {
    /// Balanced, and the trailing share has settled.
    Converged,
    /// Balanced for the last trailing share, which had not settled: share of the load still moving.
    ShareUnsettled {
        /// Share of the load that the last update of the trailing share would move `[-]`.
        moving: f64,
    },
    /// Load or moment are not balanced.
    Unbalanced {
        /// Greatest force left over (N).
        left_over_n: f64,
    },
    /// The demand is not one that a runner can meet: load not positive, or not finite.
    BadDemand,
}

impl Outcome {
    /// True if load and moment are balanced (the share may still be moving).
    pub fn is_balanced(self) -> bool {
        matches!(self, Outcome::Converged | Outcome::ShareUnsettled { .. })
    }
}

/// Greatest number of Newton steps in one solve.
const STEPS: usize = 400;
/// Greatest number of updates of the trailing share.
const UPDATES: usize = 60;
/// After this many secant updates, shorter and shorter plain ones.
const SECANT_UPDATES: usize = 16;
/// The share has settled when an update moves less than this part of the load.
const SETTLED: f64 = 1e-4;

#[derive(Clone, Copy, Debug, Default)]
struct Mixing {
    has_last: bool,
}

/// Solver for one runner; its workspace is allocated once.
#[derive(Clone, Debug)]
pub struct ContactSolver {
    pub(crate) rig: Rig,
    pub(crate) demand: Demand,
    /// Node values and slopes of the rod, then heave and pitch of the frame.
    pub(crate) state: Vec<f64>,
    /// Indentation at the points (m).
    pub(crate) depth_m: Vec<f64>,
    /// Share of each cell.
    pub(crate) share: Vec<f64>,
    wish: Vec<f64>,
    last_share: Vec<f64>,
    last_change: Vec<f64>,
    bare_n: Vec<f64>,
    weight: Vec<f64>,
    trial_m: Vec<f64>,
    root: Vec<f64>,
    mixing: Mixing,
    free: Vec<f64>,
    step: Vec<f64>,
    step_at_points: Vec<f64>,
    force: Vec<f64>,
    diagonal: Vec<f64>,
    beside: Vec<f64>,
    gradient: Vec<f64>,
    product: Vec<f64>,
    matrix: Banded,
    columns: Vec<[f64; 3]>,
    warm: bool,
    /// Newton steps of the last solve.
    pub steps: usize,
    /// Updates of the trailing share in the last solve.
    pub updates: usize,
}

impl ContactSolver {
    /// Solver for a runner, its bow and the ice; all faults at once otherwise.
    pub fn new(runner: &RunnerSpec, bow: Bow, ice: &IceState) -> Result<Self, Vec<Fault>> {
        let found = faults(runner, bow, ice);
        if found.is_empty() { Ok(Self::of_rig(Rig::of_runner(runner, bow, ice))) } else { Err(found) }
    }

    pub(crate) fn of_rig(rig: Rig) -> Self {
        let (dofs, points) = (2 * rig.nodes_m.len(), rig.points_m.len());
        ContactSolver {
            free: rig.free_dofs(),
            demand: Demand { load_n: 0.0, ice_curvature_per_m: 0.0, centroid_m: 0.0 },
            state: vec![0.0; dofs + 2],
            depth_m: vec![0.0; points],
            share: vec![1.0; points - 1],
            wish: vec![1.0; points - 1],
            last_share: vec![1.0; points - 1],
            last_change: vec![0.0; points - 1],
            bare_n: vec![0.0; points - 1],
            weight: vec![0.0; points - 1],
            trial_m: vec![0.0; points],
            root: vec![0.0; points],
            mixing: Mixing::default(),
            step: vec![0.0; dofs + 2],
            step_at_points: vec![0.0; points],
            force: vec![0.0; points],
            diagonal: vec![0.0; points],
            beside: vec![0.0; points],
            gradient: vec![0.0; dofs + 2],
            product: vec![0.0; dofs],
            matrix: Banded::zeros(dofs),
            columns: vec![[0.0; 3]; dofs],
            warm: false,
            steps: 0,
            updates: 0,
            rig,
        }
    }

    /// Forget the last solution, so that the next solve starts from the free shape.
    pub fn forget(&mut self) {
        self.warm = false;
    }

    /// Solve for a demand, from the last solution if there is one.
    pub fn solve(&mut self, demand: Demand) -> Outcome {
        let Demand { load_n, ice_curvature_per_m, centroid_m } = demand;
        self.steps = 0;
        self.updates = 0;
        if !(load_n > 0.0 && load_n.is_finite() && ice_curvature_per_m.is_finite() && centroid_m.is_finite())
        {
            return Outcome::BadDemand;
        }
        self.demand = demand;
        if !self.warm {
            self.start();
        }
        let outcome = self.settle();
        self.warm = outcome.is_balanced();
        outcome
    }

    /// Free shape, sunk until the ice carries about the load.
    fn start(&mut self) {
        let dofs = self.free.len();
        self.share.fill(1.0);
        self.state[..dofs].copy_from_slice(&self.free);
        self.state[dofs..].fill(0.0);
        self.update_depth();
        let highest = self.depth_m.iter().fold(f64::NEG_INFINITY, |top, &d| top.max(d));
        let (mut low, mut high) = (0.0, 1e-6);
        let load = |solver: &Self, sink: f64| -> f64 {
            (0..solver.share.len()).map(|c| solver.cell_load(c, sink - highest)).sum()
        };
        while load(self, high) < self.demand.load_n && high < 1.0 {
            low = high;
            high *= 2.0;
        }
        for _ in 0..4 {
            let middle = 0.5 * (low + high);
            if load(self, middle) < self.demand.load_n { low = middle } else { high = middle }
        }
        for i in 0..dofs / 2 {
            self.state[2 * i] += high - highest;
        }
        self.state[dofs] = high - highest;
    }

    /// Load of a cell (N) with the rod lowered by `sink_m`.
    fn cell_load(&self, cell: usize, sink_m: f64) -> f64 {
        let (a, b) = (self.depth_m[cell] + sink_m, self.depth_m[cell + 1] + sink_m);
        let g = self.rig.law.cell(a, b, a.max(0.0).sqrt(), b.max(0.0).sqrt()).g;
        self.rig.coefficient[cell] * self.share[cell] * self.rig.length_m[cell] * (g[0] + g[1])
    }

    /// Loads of a cell that its rear and front end stand for (N).
    pub(crate) fn end_loads_n(&self, cell: usize) -> [f64; 2] {
        let (a, b) = (self.depth_m[cell], self.depth_m[cell + 1]);
        let g = self.rig.law.cell(a, b, a.max(0.0).sqrt(), b.max(0.0).sqrt()).g;
        let weight = self.rig.coefficient[cell] * self.share[cell] * self.rig.length_m[cell];
        [weight * g[0], weight * g[1]]
    }

    /// Load that a cell carries (N).
    pub(crate) fn load_of_cell_n(&self, cell: usize) -> f64 {
        self.cell_load(cell, 0.0)
    }

    /// Force of the ice at the points (N), away from the ice positive.
    pub(crate) fn point_forces_n(&self) -> &[f64] {
        &self.force
    }

    /// Forces of the mounts on the rod, from the rear (N), towards the ice positive.
    pub(crate) fn mount_forces_n(&self) -> Vec<f64> {
        let dofs = self.free.len();
        let (heave, pitch) = (self.state[dofs], self.state[dofs + 1]);
        self.rig
            .mounts
            .iter()
            .map(|m| {
                let gap = heave + pitch * m.at_m + m.advance_m - self.state[2 * m.node];
                m.stiffness_n_per_m * gap
            })
            .collect()
    }

    /// Greatest bending moment (N m), by statics from the rear: every force is known.
    pub(crate) fn greatest_moment_n_m(&self) -> f64 {
        let mounts = self.mount_forces_n();
        let (mut shear, mut moment, mut top) = (0.0, 0.0_f64, 0.0_f64);
        for (i, force) in self.force.iter().enumerate() {
            if i > 0 {
                moment += shear * self.rig.length_m[i - 1];
            }
            top = top.max(moment.abs());
            shear += force;
            if i % self.rig.cells == 0 {
                let node = i / self.rig.cells;
                let here = self.rig.mounts.iter().zip(&mounts).filter(|(m, _)| m.node == node);
                shear -= here.map(|(_, f)| f).sum::<f64>();
            }
        }
        top
    }

    fn update_depth(&mut self) {
        self.rig.at_points(&self.state, &mut self.depth_m);
        let half = 0.5 * self.demand.ice_curvature_per_m;
        for ((d, x), u) in self.depth_m.iter_mut().zip(&self.rig.points_m).zip(&self.rig.unbent_m) {
            *d += half * x * x - u;
        }
    }

    fn settle(&mut self) -> Outcome {
        self.update_depth();
        let load_n = self.demand.load_n;
        let finest_n = 1e-6 * load_n;
        self.mixing = Mixing::default();
        if self.warm {
            self.wish_shares();
            std::mem::swap(&mut self.share, &mut self.wish);
        }
        let mut moving = 1.0;
        let mut settling = false;
        loop {
            let tolerance_n =
                if settling { finest_n } else { (0.02 * moving * load_n).clamp(finest_n, 0.01 * load_n) };
            let left_over_n = self.newton(tolerance_n);
            if left_over_n.is_nan() || left_over_n > 10.0 * tolerance_n {
                return Outcome::Unbalanced { left_over_n };
            }
            moving = self.wish_shares();
            if settling && moving < SETTLED {
                return Outcome::Converged;
            }
            if self.updates >= UPDATES {
                if settling {
                    return Outcome::ShareUnsettled { moving };
                }
                settling = true;
                continue;
            }
            settling = settling || moving < 3.0 * SETTLED;
            if settling && moving < SETTLED {
                continue;
            }
            self.updates += 1;
            self.mix();
        }
    }

    /// Shares that the present indentation asks for, and the share of the load that they would
    /// move.
    fn wish_shares(&mut self) -> f64 {
        if self.rig.recovered_share >= 1.0 {
            self.wish.fill(1.0);
            return 0.0;
        }
        cell_shares(&self.depth_m, self.rig.recovered_share, &mut self.wish);
        let mut moving = 0.0;
        for c in 0..self.share.len() {
            // what the cell carries, without its share
            self.bare_n[c] = (self.force[c] + self.force[c + 1]).abs() / self.share[c].max(1e-3) * 0.5;
            moving += (self.wish[c] - self.share[c]).abs() * self.bare_n[c];
        }
        moving / self.demand.load_n
    }

    /// One update of the shares: a secant (Anderson) step through the last two wishes.
    fn mix(&mut self) {
        let (mut top, mut bottom) = (0.0, 0.0);
        for c in 0..self.share.len() {
            let change = self.wish[c] - self.share[c];
            let difference = change - self.last_change[c];
            let w = self.bare_n[c];
            top += w * difference * change;
            bottom += w * difference * difference;
        }
        let secant = self.mixing.has_last && bottom > 0.0 && self.updates <= SECANT_UPDATES;
        let gamma = if secant { (top / bottom).clamp(-3.0, 0.9) } else { 0.0 };
        let part = if self.updates <= SECANT_UPDATES {
            1.0
        } else {
            4.0 / (self.updates + 8 - SECANT_UPDATES) as f64
        };
        for c in 0..self.share.len() {
            let share = self.share[c];
            let change = self.wish[c] - share;
            let back = (share - self.last_share[c]) + (change - self.last_change[c]);
            self.share[c] = (share + part * change - gamma * back).clamp(self.rig.recovered_share, 1.0);
            self.last_share[c] = share;
            self.last_change[c] = change;
        }
        self.mixing.has_last = true;
    }

    /// Gradient and stiffness of the ice at the points, for the indentations in `trial_m`.
    fn press(&mut self) {
        let n = self.trial_m.len();
        match self.rig.law {
            Law::Root => {
                for (r, d) in self.root.iter_mut().zip(&self.trial_m) {
                    *r = d.max(0.0).sqrt();
                }
            }
            Law::Linear | Law::TwoSided => self.root.copy_from_slice(&self.trial_m),
        }
        let mut carried = Cell::default();
        for c in 0..n - 1 {
            let (a, b) = (self.trial_m[c], self.trial_m[c + 1]);
            if a > 0.0 || b > 0.0 || self.rig.law == Law::TwoSided {
                let weight = self.weight[c];
                let cell = self.rig.law.cell(a, b, self.root[c], self.root[c + 1]);
                self.force[c] = carried.g[1] + weight * cell.g[0];
                self.diagonal[c] = carried.h[2] + weight * cell.h[0];
                self.beside[c] = weight * cell.h[1];
                carried.g[1] = weight * cell.g[1];
                carried.h[2] = weight * cell.h[2];
            } else {
                self.force[c] = carried.g[1];
                self.diagonal[c] = carried.h[2];
                self.beside[c] = 0.0;
                carried = Cell::default();
            }
        }
        self.force[n - 1] = carried.g[1];
        self.diagonal[n - 1] = carried.h[2];
        self.beside[n - 1] = 0.0;
    }

    /// Slope of the ice's energy along the step, at the trial point.
    fn ice_slope(&self) -> f64 {
        self.force.iter().zip(&self.step_at_points).map(|(f, s)| f * s).sum()
    }

    /// Indentations `t` of the step further on, and the ice's answer there.
    fn try_step(&mut self, t: f64) -> f64 {
        for ((trial, d), s) in self.trial_m.iter_mut().zip(&self.depth_m).zip(&self.step_at_points) {
            *trial = d + t * s;
        }
        self.press();
        self.ice_slope()
    }

    /// Gradient of the energy without the ice: beam, mounts, load.
    fn elastic_gradient(&mut self) {
        let dofs = self.free.len();
        self.gradient.fill(0.0);
        self.rig.stiffness.multiply_add(&self.state[..dofs], &mut self.gradient[..dofs]);
        let (heave, pitch) = (self.state[dofs], self.state[dofs + 1]);
        self.gradient[dofs] = -self.demand.load_n;
        self.gradient[dofs + 1] = -self.demand.load_n * self.demand.centroid_m;
        for m in &self.rig.mounts {
            let push = m.stiffness_n_per_m * (heave + pitch * m.at_m + m.advance_m);
            // the spring's own pull on the rod is in the stiffness matrix
            self.gradient[2 * m.node] -= push;
            let net = push - m.stiffness_n_per_m * self.state[2 * m.node];
            self.gradient[dofs] += net;
            self.gradient[dofs + 1] += net * m.at_m;
        }
    }

    /// Newton steps until no force left over is above `tolerance_n`; returns the greatest.
    fn newton(&mut self, tolerance_n: f64) -> f64 {
        let dofs = self.free.len();
        for c in 0..self.share.len() {
            self.weight[c] = self.rig.coefficient[c] * self.share[c] * self.rig.length_m[c];
        }
        self.trial_m.copy_from_slice(&self.depth_m);
        self.press();
        loop {
            self.elastic_gradient();
            self.columns_from_gradient();
            let left_over_n = self.left_over();
            if left_over_n <= tolerance_n || self.steps >= STEPS {
                return left_over_n;
            }
            self.steps += 1;
            self.assemble();
            if !self.matrix.factor() {
                return f64::NAN;
            }
            self.matrix.solve(&mut self.columns);
            self.bordered_step();
            let (step, points) = (&self.step, &mut self.step_at_points);
            self.rig.at_points(&step[..dofs], points);
            let t = self.search();
            for (s, d) in self.state.iter_mut().zip(&self.step) {
                *s += t * d;
            }
            self.depth_m.copy_from_slice(&self.trial_m);
        }
    }

    /// Right-hand side (less the whole gradient) and the two border columns.
    fn columns_from_gradient(&mut self) {
        let dofs = self.free.len();
        for i in 0..dofs {
            self.columns[i] = [-self.gradient[i], 0.0, 0.0];
        }
        let cells = self.rig.cells;
        for e in 0..self.rig.nodes_m.len() - 1 {
            let h = self.rig.nodes_m[e + 1] - self.rig.nodes_m[e];
            let mut sum = [0.0; 4];
            // a point between two elements belongs to the rear one; the first point to the first
            for i in usize::from(e > 0)..=cells {
                let f = self.force[e * cells + i];
                if f != 0.0 {
                    for (s, n) in sum.iter_mut().zip(&self.rig.shape[i]) {
                        *s += f * n;
                    }
                }
            }
            self.columns[2 * e][0] -= sum[0];
            self.columns[2 * e + 1][0] -= h * sum[1];
            self.columns[2 * e + 2][0] -= sum[2];
            self.columns[2 * e + 3][0] -= h * sum[3];
        }
        for m in &self.rig.mounts {
            self.columns[2 * m.node][1] -= m.stiffness_n_per_m;
            self.columns[2 * m.node][2] -= m.stiffness_n_per_m * m.at_m;
        }
    }

    /// Greatest force left over; moments are divided by an arm.
    fn left_over(&self) -> f64 {
        let dofs = self.free.len();
        const ARM_M: f64 = 0.02;
        let mut top = self.gradient[dofs].abs().max(self.gradient[dofs + 1].abs() / 0.2);
        for pair in self.columns.chunks_exact(2) {
            top = top.max(pair[0][0].abs()).max(pair[1][0].abs() / ARM_M);
        }
        top
    }

    /// Beam, mounts and ice.
    fn assemble(&mut self) {
        self.matrix.copy_from(&self.rig.stiffness);
        let cells = self.rig.cells;
        for e in 0..self.rig.nodes_m.len() - 1 {
            let first = e * cells;
            let mut block = [[0.0; 4]; 4];
            let mut any = false;
            for i in usize::from(e > 0)..=cells {
                let p = first + i;
                let rear = if i > 0 { self.beside[p - 1] } else { 0.0 };
                let diagonal = self.diagonal[p];
                if diagonal == 0.0 {
                    continue;
                }
                any = true;
                let n = &self.rig.shape[i];
                let before = &self.rig.shape[i.saturating_sub(1)];
                for a in 0..4 {
                    for b in 0..=a {
                        block[a][b] += diagonal * n[a] * n[b] + rear * (n[a] * before[b] + before[a] * n[b]);
                    }
                }
            }
            // the cell at the rear end of the element couples its first point, which is counted
            // with the element before
            if any {
                let h = self.rig.nodes_m[e + 1] - self.rig.nodes_m[e];
                let scale = [1.0, h, 1.0, h];
                for a in 0..4 {
                    for b in 0..=a {
                        self.matrix.add(2 * e + a, a - b, block[a][b] * scale[a] * scale[b]);
                    }
                }
            }
        }
    }

    /// Newton step from the solved columns and the two border equations.
    fn bordered_step(&mut self) {
        let dofs = self.free.len();
        let mut s = [[0.0; 2]; 2];
        let mut r = [-self.gradient[dofs], -self.gradient[dofs + 1]];
        let mut whole = 0.0;
        for m in &self.rig.mounts {
            let (k, x) = (m.stiffness_n_per_m, m.at_m);
            let [u, c0, c1] = self.columns[2 * m.node];
            // border row is -(k, k x) at the mount
            s[0][0] += k + k * c0;
            s[0][1] += k * x + k * c1;
            s[1][1] += k * x * x + k * x * c1;
            r[0] += k * u;
            r[1] += k * x * u;
            whole += k;
        }
        s[1][0] = s[0][1];
        // one mount alone does not hold the pitch: leave it
        if self.rig.mounts.len() < 2 {
            (s[0][1], s[1][0], s[1][1], r[1]) = (0.0, 0.0, whole, 0.0);
        }
        s[0][0] += 1e-9 * whole;
        s[1][1] += 1e-12 * whole;
        let determinant = s[0][0] * s[1][1] - s[0][1] * s[1][0];
        let heave = (r[0] * s[1][1] - r[1] * s[0][1]) / determinant;
        let pitch = (r[1] * s[0][0] - r[0] * s[1][0]) / determinant;
        for (step, column) in self.step.iter_mut().zip(&self.columns) {
            *step = column[0] - heave * column[1] - pitch * column[2];
        }
        self.step[dofs] = heave;
        self.step[dofs + 1] = pitch;
    }

    /// Second derivative of the elastic energy along the step.
    fn elastic_curvature(&mut self) -> f64 {
        let dofs = self.free.len();
        self.product.fill(0.0);
        self.rig.stiffness.multiply_add(&self.step[..dofs], &mut self.product);
        let mut sum: f64 = self.product.iter().zip(&self.step).map(|(a, b)| a * b).sum();
        let (heave, pitch) = (self.step[dofs], self.step[dofs + 1]);
        for m in &self.rig.mounts {
            let frame = heave + pitch * m.at_m;
            sum += m.stiffness_n_per_m * frame * (frame - 2.0 * self.step[2 * m.node]);
        }
        sum
    }

    /// How much of the step to take: where the energy's slope along it has nearly vanished.
    /// Leaves the ice's answer there in place.
    fn search(&mut self) -> f64 {
        let first: f64 = self.step.iter().zip(&self.gradient).map(|(s, g)| s * g).sum();
        let second = self.elastic_curvature();
        let at_zero = first + self.ice_slope();
        let mut t = 1.0;
        let mut value = first + second + self.try_step(t);
        let enough = 0.3 * at_zero.abs();
        if at_zero >= 0.0 || value.abs() <= enough {
            return t;
        }
        let mut low = (0.0, at_zero);
        let mut tries = 0;
        while value < -enough && tries < 8 {
            low = (t, value);
            t *= 2.0;
            value = first + t * second + self.try_step(t);
            tries += 1;
        }
        if value <= enough {
            return t;
        }
        // the sign changes between low and high: false position, the value of a kept end halved
        let mut high = (t, value);
        for _ in 0..30 {
            let part = (low.1 / (low.1 - high.1)).clamp(0.02, 0.98);
            t = low.0 + (high.0 - low.0) * part;
            value = first + t * second + self.try_step(t);
            if value.abs() <= enough {
                break;
            }
            if value < 0.0 {
                low = (t, value);
                high.1 *= 0.5;
            } else {
                high = (t, value);
                low.1 *= 0.5;
            }
        }
        t
    }
}
