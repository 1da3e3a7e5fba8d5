//! The contact of a bowed runner with yielding ice, solved for load, load centroid and curvature
//! of the ice.
//!
//! ```text
//! E I w'''' = sum_j f_j delta(x - x_j) - q(d),     f_j = k (Y + theta x_j + a_j - w(x_j))
//! d = w - sweep + kappa x^2 / 2,                   q = share(x) c(x) G(d)
//! int q dx = N,   int q x dx = N x_bar             (through heave Y and pitch theta of the frame)
//! ```
//!
//! With the share frozen the energy of rod, mounts and ice is convex; its minimum is found by
//! Newton steps on the banded system, bordered by heave and pitch, each step shortened until the
//! directional derivative of the energy says it goes far enough. G is the mean root of the depth on
//! uneven ice, d counts from its highest crests. From there Newton steps with what the ice remembers
//! (`melt.rs`, `coupled.rs`) lead to the contact.

mod coupled;
mod newton;
mod press;

use crate::banded::Banded;
use crate::film::MeltFilm;
use crate::melt::Melting;
use crate::rig::{CELLS, Rig};
use crate::runner::{Bow, Fault, IceState, RunnerSpec, faults};
use coupled::Coupled;
use press::Pressed;

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
    /// Load and moment are balanced.
    Converged,
    /// Load or moment are not balanced.
    Unbalanced {
        /// Greatest force left over (N).
        left_over_n: f64,
    },
    /// The demand is not one that a runner can meet: load not positive, or not finite.
    BadDemand,
}

impl Outcome {
    /// True if load and moment are balanced.
    pub fn is_balanced(self) -> bool {
        self == Outcome::Converged
    }
}

/// Greatest number of Newton steps in one solve.
const STEPS: usize = 400;
/// Forces are balanced to this part of the load.
const FINEST: f64 = 1e-5;
/// A contact of a table, from one beside it, to this part: its interpolation is coarser by far.
const FINEST_BESIDE: f64 = 1e-4;
/// Part of the forgetful ice that holds the first step, from a contact of ice that only bears and from one beside `[-]`.
const HELD_AT_FIRST: f64 = 0.2;
const HELD_BESIDE: f64 = 0.05;
/// A contact with more left over has not been found: where a patch joins, the last bit may not come into balance.
const CLOSE_ENOUGH: f64 = 5e-4;

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
    /// Part of the length of touch of each cell where anything presses `[-]`.
    pub(crate) pressed_part: Vec<f64>,
    /// Load that each cell carries (N).
    pub(crate) load_n: Vec<f64>,
    weight: Vec<f64>,
    whole_weight: Vec<f64>,
    trial_m: Vec<f64>,
    free: Vec<f64>,
    step: Vec<f64>,
    step_at_points: Vec<f64>,
    force: Vec<f64>,
    pressed: Vec<Pressed>,
    gradient: Vec<f64>,
    product: Vec<f64>,
    matrix: Banded,
    columns: Vec<[f64; 3]>,
    /// Newton steps of the last solve.
    pub(crate) steps: usize,
    /// Hardness of the ice (Pa).
    pub(crate) hardness_pa: f64,
    /// What gives the share; none where all of the ice bears.
    pub(crate) melting: Option<Melting>,
    coupled: Coupled,
    /// Section that each cell cuts out of the ice, one contact of it (m2).
    pub(crate) cut_m2: Vec<f64>,
    /// Recovered share of the ploughing force `[-]`.
    pub(crate) recovered_share: f64,
}

impl ContactSolver {
    /// Solver for a runner, its bow and the ice; all faults at once otherwise.
    pub fn new(runner: &RunnerSpec, bow: Bow, ice: &IceState) -> Result<Self, Vec<Fault>> {
        let found = faults(runner, bow, ice);
        if !found.is_empty() {
            return Err(found);
        }
        let film = MeltFilm::new(ice, runner.roughness_m, runner.boundary_friction);
        Ok(ContactSolver {
            hardness_pa: ice.hardness_pa,
            recovered_share: ice.recovered_share,
            melting: Some(Melting::new(film, ice)),
            ..Self::of_rig(Rig::of_runner(runner, bow, ice))
        })
    }

    pub(crate) fn of_rig(rig: Rig) -> Self {
        let (dofs, points) = (2 * rig.nodes_m.len(), rig.points_m.len());
        ContactSolver {
            free: rig.free_dofs(),
            demand: Demand { load_n: 0.0, ice_curvature_per_m: 0.0, centroid_m: 0.0 },
            state: vec![0.0; dofs + 2],
            depth_m: vec![0.0; points],
            share: vec![1.0; points - 1],
            pressed_part: vec![1.0; points - 1],
            load_n: vec![0.0; points - 1],
            weight: vec![0.0; points - 1],
            whole_weight: rig.coefficient.iter().zip(&rig.length_m).map(|(c, h)| c * h).collect(),
            trial_m: vec![0.0; points],
            step: vec![0.0; dofs + 2],
            step_at_points: vec![0.0; points],
            force: vec![0.0; points],
            pressed: vec![Pressed::DRY; rig.nodes_m.len() - 1],
            gradient: vec![0.0; dofs + 2],
            product: vec![0.0; dofs + 2],
            matrix: Banded::zeros(dofs),
            columns: vec![[0.0; 3]; dofs],
            steps: 0,
            hardness_pa: 0.0,
            melting: None,
            coupled: Coupled::default(),
            cut_m2: vec![0.0; points - 1],
            recovered_share: 1.0,
            rig,
        }
    }

    /// Solve for a demand, always from the free shape: no contact hangs on the one before.
    pub fn solve(&mut self, demand: Demand) -> Outcome {
        let Demand { load_n, ice_curvature_per_m, centroid_m } = demand;
        self.steps = 0;
        if !(load_n > 0.0 && load_n.is_finite() && ice_curvature_per_m.is_finite() && centroid_m.is_finite())
        {
            return Outcome::BadDemand;
        }
        self.demand = demand;
        self.start();
        self.settle()
    }

    /// Solve for a demand beside the last one, from the contact found then, carried on by what it changed from
    /// `earlier`; from the free shape where that leads nowhere.
    pub(crate) fn solve_beside(&mut self, demand: Demand, earlier: Option<&[f64]>) -> Outcome {
        if self.melting.is_none() {
            return self.solve(demand);
        }
        self.steps = 0;
        self.demand = demand;
        for (now, before) in self.state.iter_mut().zip(earlier.into_iter().flatten()) {
            *now += *now - before;
        }
        let left_over_n = self.couple(FINEST_BESIDE * demand.load_n, HELD_BESIDE);
        match self.outcome(left_over_n) {
            Outcome::Converged => Outcome::Converged,
            _ => self.solve(demand),
        }
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
        let finest_n = FINEST * self.demand.load_n;
        // all of the ice bears: a start for what follows
        self.share.fill(1.0);
        self.update_depth();
        self.trial_m.copy_from_slice(&self.depth_m);
        self.press();
        let mut left_over_n = self.newton(finest_n);
        if self.melting.is_some() {
            self.steps = 0;
            left_over_n = self.couple(finest_n, HELD_AT_FIRST);
        }
        self.outcome(left_over_n)
    }

    fn outcome(&self, left_over_n: f64) -> Outcome {
        if left_over_n.is_nan() || left_over_n > CLOSE_ENOUGH * self.demand.load_n {
            return Outcome::Unbalanced { left_over_n };
        }
        Outcome::Converged
    }
}
