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

mod newton;
mod press;

use crate::banded::Banded;
use crate::rig::{CELLS, Rig};
use crate::runner::{Bow, Fault, IceState, RunnerSpec, faults};
use crate::share::{BEHIND, cell_shares};
use press::Pressed;
use std::ops::Range;

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
const UPDATES: usize = 400;
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
    /// Load that each cell carries (N).
    pub(crate) load_n: Vec<f64>,
    /// Elements from the first to behind the last that touches.
    reach: Range<usize>,
    wish: Vec<f64>,
    last_share: Vec<f64>,
    last_change: Vec<f64>,
    bare_n: Vec<f64>,
    weight: Vec<f64>,
    whole_weight: Vec<f64>,
    trial_m: Vec<f64>,
    mixing: Mixing,
    free: Vec<f64>,
    step: Vec<f64>,
    step_at_points: Vec<f64>,
    force: Vec<f64>,
    pressed: Vec<Pressed>,
    gradient: Vec<f64>,
    product: Vec<f64>,
    matrix: Banded,
    columns: Vec<[f64; 3]>,
    warm: bool,
    /// Newton steps of the last solve.
    pub steps: usize,
    /// Updates of the trailing share in the last solve.
    pub updates: usize,
    /// Hardness of the ice (Pa).
    pub(crate) hardness_pa: f64,
}

impl ContactSolver {
    /// Solver for a runner, its bow and the ice; all faults at once otherwise.
    pub fn new(runner: &RunnerSpec, bow: Bow, ice: &IceState) -> Result<Self, Vec<Fault>> {
        let found = faults(runner, bow, ice);
        if !found.is_empty() {
            return Err(found);
        }
        Ok(ContactSolver { hardness_pa: ice.hardness_pa, ..Self::of_rig(Rig::of_runner(runner, bow, ice)) })
    }

    pub(crate) fn of_rig(rig: Rig) -> Self {
        let (dofs, points) = (2 * rig.nodes_m.len(), rig.points_m.len());
        ContactSolver {
            free: rig.free_dofs(),
            demand: Demand { load_n: 0.0, ice_curvature_per_m: 0.0, centroid_m: 0.0 },
            state: vec![0.0; dofs + 2],
            depth_m: vec![0.0; points],
            share: vec![1.0; points - 1],
            load_n: vec![0.0; points - 1],
            reach: 0..0,
            wish: vec![1.0; points - 1],
            last_share: vec![1.0; points - 1],
            last_change: vec![0.0; points - 1],
            bare_n: vec![0.0; points - 1],
            weight: vec![0.0; points - 1],
            whole_weight: rig.coefficient.iter().zip(&rig.length_m).map(|(c, h)| c * h).collect(),
            trial_m: vec![0.0; points],
            mixing: Mixing::default(),
            step: vec![0.0; dofs + 2],
            step_at_points: vec![0.0; points],
            force: vec![0.0; points],
            pressed: vec![Pressed::DRY; rig.nodes_m.len() - 1],
            gradient: vec![0.0; dofs + 2],
            product: vec![0.0; dofs + 2],
            matrix: Banded::zeros(dofs),
            columns: vec![[0.0; 3]; dofs],
            warm: false,
            steps: 0,
            updates: 0,
            hardness_pa: 0.0,
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
            if i % CELLS == 0 {
                let node = i / CELLS;
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
        self.trial_m.copy_from_slice(&self.depth_m);
        self.press();
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
        let cells = self.reach_of_cells();
        self.wish.fill(1.0);
        let depth_m = self.depth_m.get(cells.start..=cells.end).unwrap_or_default();
        cell_shares(depth_m, self.rig.recovered_share, &mut self.wish[cells.clone()]);
        let mut moving = 0.0;
        for c in cells {
            // what the cell carries, without its share
            let force_n = (self.force[c] + self.force[c + 1]).abs();
            self.bare_n[c] = if force_n > 0.0 { 0.5 * force_n / self.share[c].max(1e-3) } else { 0.0 };
            moving += (self.wish[c] - self.share[c]).abs() * self.bare_n[c];
        }
        moving / self.demand.load_n
    }

    /// Cells of the elements that touch and those close behind, which keep the share of the patch before them.
    fn reach_of_cells(&self) -> Range<usize> {
        (self.reach.start * CELLS).saturating_sub(BEHIND)..self.reach.end * CELLS
    }

    /// One update of the shares: a secant (Anderson) step through the last two wishes.
    fn mix(&mut self) {
        let (mut top, mut bottom) = (0.0, 0.0);
        for c in self.reach_of_cells() {
            let change = self.wish[c] - self.share[c];
            let difference = change - self.last_change[c];
            let w = self.bare_n[c] * difference;
            top += w * change;
            bottom += w * difference;
        }
        let secant = self.mixing.has_last && bottom > 0.0 && self.updates <= SECANT_UPDATES;
        let gamma = if secant { (top / bottom).clamp(-3.0, 0.9) } else { 0.0 };
        let part = if self.updates <= SECANT_UPDATES {
            1.0
        } else {
            4.0 / (self.updates + 8 - SECANT_UPDATES) as f64
        };
        let recovered = self.rig.recovered_share;
        let cells =
            self.share.iter_mut().zip(&self.wish).zip(&mut self.last_share).zip(&mut self.last_change);
        for (((share, wish), last_share), last_change) in cells {
            let change = wish - *share;
            let back = (*share - *last_share) + (change - *last_change);
            (*last_share, *last_change) = (*share, change);
            *share = (*share + part * change - gamma * back).max(recovered).min(1.0);
        }
        self.mixing.has_last = true;
    }
}
