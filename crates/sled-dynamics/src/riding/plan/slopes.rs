//! How the rates of a planned sled change with its state: slopes along a step, and their bends at a node.

use super::{ON_ICE, RideProblem};
use crate::laws::ice::Ice;
use crate::riding::plan_state::{ABOUT, CONTROLS, FORWARD, PlanState, STATES};
use nalgebra::SMatrix;
use numerics::ddp::Expansion;
use numerics::dual::{Dual, Real};
use track_geometry::station::Station;

const ALL: usize = STATES + CONTROLS;

/// Slopes of the sled's rates by what they depend on: row rate, column state.
pub(super) type Slope = [[f64; ON_ICE]; ON_ICE];

/// Second derivatives of the cost-to-go along a node by what the sled on its ice knows of.
pub type Bend = [[f64; ON_ICE]; ON_ICE];

/// Bends are differences over this share of [`ABOUT`] `[-]`: wide enough to cross the cells of the tables.
const BEND_STEP: f64 = 0.01;

/// Each a variable of its own.
#[inline]
fn variables(x: &[f64; ON_ICE]) -> [Dual<ON_ICE>; ON_ICE] {
    std::array::from_fn(|i| Dual::variable(x[i], i))
}

impl<I: Ice> RideProblem<'_, I> {
    /// Derivatives of a node, with what its bend adds to the Hessian by the first six states.
    pub fn expand_with(
        &self,
        k: usize,
        x: &[f64; STATES],
        u: &[f64; CONTROLS],
        bend: Option<&Bend>,
    ) -> Option<Expansion<STATES, CONTROLS>> {
        type D = Dual<ALL>;
        let dx: [D; STATES] = std::array::from_fn(|i| D::variable(x[i], i));
        let du: [D; CONTROLS] = std::array::from_fn(|i| D::variable(u[i], STATES + i));
        let mut slope = [[0.0; ON_ICE]; ON_ICE];
        let sled =
            |stage: usize, at: &Station, own: &[D; ON_ICE]| self.sloped_rates(stage, at, own, &mut slope);
        let (next, time) = self.to_next(k, &dx, &du, sled)?;
        let priced = self.priced(k, &dx, &du);
        let weight = self.weight_s(k, x[FORWARD]);
        let mut gradient = time.du;
        let mut hessian = [[0.0; ALL]; ALL];
        let mut squares = 0.0;
        for r in &priced {
            squares += r.re * r.re;
            for i in 0..ALL {
                gradient[i] += 2.0 * weight * r.re * r.du[i];
                for j in 0..ALL {
                    hessian[i][j] += 2.0 * weight * r.du[i] * r.du[j];
                }
            }
        }
        for (row, more) in hessian.iter_mut().zip(bend.into_iter().flatten()) {
            for (h, more) in row.iter_mut().zip(more) {
                *h += more;
            }
        }
        // the weight of the prices falls with the speed
        gradient[FORWARD] -= weight / x[FORWARD].max(1.0) * squares;
        Some(Expansion {
            a: std::array::from_fn(|i| std::array::from_fn(|j| next[i].du[j])),
            b: std::array::from_fn(|i| std::array::from_fn(|j| next[i].du[STATES + j])),
            cost_x: std::array::from_fn(|i| gradient[i]),
            cost_u: std::array::from_fn(|i| gradient[STATES + i]),
            cost_xx: std::array::from_fn(|i| std::array::from_fn(|j| hessian[i][j])),
            cost_ux: std::array::from_fn(|i| std::array::from_fn(|j| hessian[STATES + i][j])),
            cost_uu: std::array::from_fn(|i| std::array::from_fn(|j| hessian[STATES + i][STATES + j])),
        })
    }

    /// The rates of a stage of a step, and how they change: by exact slopes at its start, which all stages share. The
    /// values are those of the step; only the direction of a search hangs on the slopes.
    #[inline]
    pub(super) fn sloped_rates<const N: usize>(
        &self,
        stage: usize,
        at: &Station,
        own: &[Dual<N>; ON_ICE],
        slope: &mut Slope,
    ) -> [Dual<N>; ON_ICE] {
        let here = own.map(|x| x.re);
        let rates = if stage == 0 {
            let rates = self.sled_rates(at, &variables(&here));
            *slope = rates.map(|r| r.du);
            rates.map(|r| r.re)
        } else {
            self.sled_rates(at, &here)
        };
        std::array::from_fn(|i| Real::chain_all(rates[i], slope[i], *own))
    }

    /// The bend at the start of a node: of the rates times the costate, by differences of exact slopes, without the
    /// directions in which it would make the cost fall to both sides. Nothing as long as the costate is not known.
    ///
    /// ```text
    ///   L d2/dx2 (sum v_i dx_i/ds + dt/ds)      v costate, L length of the node
    /// ```
    pub fn bend(
        &self,
        k: usize,
        x: &PlanState,
        u: &[f64; CONTROLS],
        costate: &[f64; STATES],
    ) -> Option<Bend> {
        if !self.curved || costate.iter().all(|c| *c == 0.0) {
            return None;
        }
        let at = &self.stations[self.first[k]];
        let slope = |own: &[f64; ON_ICE]| {
            let own = variables(own);
            let x = std::array::from_fn(|i| if i < ON_ICE { own[i] } else { Dual::from(x[i]) });
            let rates = self.per_metre(&x, &u.map(Dual::from), |own| self.sled_rates(at, own));
            rates[..STATES].iter().zip(costate).fold(rates[STATES], |sum, (r, c)| sum + *r * *c).du
        };
        let own: [f64; ON_ICE] = std::array::from_fn(|i| x[i]);
        let here = slope(&own);
        let mut bend = SMatrix::<f64, ON_ICE, ON_ICE>::zeros();
        for i in 0..ON_ICE {
            let mut beside = own;
            beside[i] += BEND_STEP * ABOUT[i];
            let there = slope(&beside);
            for j in 0..ON_ICE {
                bend[(i, j)] = (there[j] - here[j]) / BEND_STEP * ABOUT[j] * self.nodes[k].length_m;
            }
        }
        if bend.iter().any(|b| !b.is_finite()) {
            return None;
        }
        let own = ((bend + bend.transpose()) * 0.5).symmetric_eigen();
        let upward = SMatrix::<f64, ON_ICE, ON_ICE>::from_diagonal(&own.eigenvalues.map(|v| v.max(0.0)));
        let bend = own.eigenvectors * upward * own.eigenvectors.transpose();
        Some(std::array::from_fn(|i| std::array::from_fn(|j| bend[(i, j)] / (ABOUT[i] * ABOUT[j]))))
    }
}
