//! What a descent needs of one runner, tabulated once per set-up over load, ice curvature, load
//! centroid and speed.
//!
//! Tensor products of quadratic B-splines: value and slope are continuous, and 27 coefficients do
//! what a cubic Hermite cell needs 64 numbers for. All channels are shares of the load, or
//! weighted by it, so that what vanishes with its load does so smoothly, and load and centroid of
//! the grip points come out as asked.
//!
//! Interpolation error against direct solves on random points (100-5000 N, ice curvature to
//! 0.06 1/m, centroid +-0.15 m, 2-44 m/s; even bow of 1, 2, 4 mm), 95th percentile and greatest:
//!
//! ```text
//! film friction      6, 8, 10 %          21, 24, 27 %      (median 1 %)
//! ploughing          6e-5 of the load    1.5e-4 of the load
//! share on groove    0.01, 0.05, 0.08    0.10, 0.25, 0.34
//! grip stiffness     46, 63, 120 %       a factor of 9-17  (median 3-8 %)
//! ```
//!
//! The large ones sit where a patch joins, parts or changes its deepest point within a few
//! millimetres of centroid: the contact itself jumps there, and the table spreads the jump.

use crate::bspline::{Axis, Weights, along_axis};
use crate::contact::{ContactSolver, Demand, Outcome};
use crate::free_shape::FreeShape;
use crate::friction::zone_friction;
use crate::lateral::GripPoint;
use crate::patches::Contact;
use crate::runner::{Bow, Fault, IceState, RunnerSpec};
use numerics::dual::Real;

/// Grip points: two halves of the smooth zone's load, two of the groove's.
pub const GRIP_POINTS: usize = 4;
const SPEEDS: usize = 5;
/// Plough smooth, groove; groove share; moment, stiffness, saturation of each point.
const FIXED: usize = 3 + 3 * GRIP_POINTS;
/// Speed coefficients, with the padded ends, smooth and groove side by side.
const CHANNELS: usize = FIXED + 2 * (SPEEDS + 2);
/// Touch span, effective length, share outside the screws.
const REPORTED: usize = 3;
/// Offset of the curvature axis, which is uniform in sqrt(kappa + offset) (1/m).
const BEND_OFFSET_PER_M: f64 = 0.004;
/// Range of the table in load (N).
pub const LOAD_RANGE_N: [f64; 2] = [20.0, 6000.0];
/// Range in ice curvature (1/m).
pub const CURVATURE_RANGE_PER_M: [f64; 2] = [0.0, 1.0 / 12.0];
/// Range in load centroid (m).
pub const CENTROID_RANGE_M: [f64; 2] = [-0.25, 0.25];
/// Range in speed (m/s).
pub const SPEED_RANGE_M_S: [f64; 2] = [1.0, 45.0];

/// Why a table could not be built.
#[derive(Clone, Debug, PartialEq)]
pub enum TableError {
    /// Numbers outside their limits, all at once.
    Faults(Vec<Fault>),
    /// A contact that could not be solved.
    Unsolved {
        /// What was asked.
        demand: Demand,
        /// How it ended.
        outcome: Outcome,
    },
}

/// What the ice does to a runner: coefficients on its load, and grip points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Touch<T> {
    /// Film friction of the smooth rod over the whole load `[-]`.
    pub glide_smooth: T,
    /// Film friction of the groove edges over the whole load `[-]`.
    pub glide_groove: T,
    /// Ploughing of the smooth rod over the whole load `[-]`.
    pub plough_smooth: T,
    /// Ploughing of the groove edges over the whole load `[-]`.
    pub plough_groove: T,
    /// Share of the load on the groove `[-]`.
    pub groove_share: T,
    /// Points that stand for parts of the load, from the front.
    pub points: [GripPoint<T>; GRIP_POINTS],
}

/// What is reported of a contact.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TouchReport {
    /// First to last touch (m).
    pub touch_span_m: f64,
    /// Effective length (m).
    pub effective_length_m: f64,
    /// Share of the load outside the bow screws `[-]`.
    pub outside_share: f64,
}

/// The table of one runner.
#[derive(Clone, Debug)]
pub struct ContactTable {
    axes: [Axis; 3],
    speed: Axis,
    coefficients: Vec<f64>,
    reported: Vec<f64>,
    /// Deflection slopes of the free runner.
    free: FreeShape,
    tip_m: f64,
    groove_start_m: f64,
    /// Contacts whose trailing share had not settled.
    pub unsettled: usize,
    /// Contacts solved.
    pub solved: usize,
}

/// The place axis is uniform in asinh((x - groove start) / scale): fine where the contact passes
/// from rod to groove (m).
const PLACE_SCALE_M: f64 = 0.08;

fn bend(curvature_per_m: f64) -> f64 {
    (curvature_per_m.max(0.0) + BEND_OFFSET_PER_M).sqrt()
}

impl ContactTable {
    /// Solve and tabulate the contacts of a runner.
    pub fn build(runner: &RunnerSpec, bow: Bow, ice: &IceState) -> Result<Self, TableError> {
        let mut solver = ContactSolver::new(runner, bow, ice).map_err(TableError::Faults)?;
        let free = FreeShape::of(runner, bow).map_err(TableError::Faults)?;
        let middle = runner.groove_start_m;
        let axes = [
            Axis { first: LOAD_RANGE_N[0].ln(), last: LOAD_RANGE_N[1].ln(), nodes: 11 },
            Axis { first: bend(0.0), last: bend(CURVATURE_RANGE_PER_M[1]), nodes: 16 },
            Axis {
                first: ((CENTROID_RANGE_M[0] - middle) / PLACE_SCALE_M).asinh(),
                last: ((CENTROID_RANGE_M[1] - middle) / PLACE_SCALE_M).asinh(),
                nodes: 9,
            },
        ];
        let speed = Axis { first: 0.0, last: SPEED_RANGE_M_S[1].ln(), nodes: SPEEDS };
        let speeds: Vec<f64> = (0..SPEEDS).map(|i| speed.node(i).exp()).collect();
        let Some(speed_fit) = speed.fit() else { return Err(TableError::Faults(Vec::new())) };
        let [loads, bends, places] = axes.map(|a| a.nodes);
        let mut block = vec![0.0; loads * bends * places * CHANNELS];
        let mut reported = vec![0.0; loads * bends * places * REPORTED];
        let (mut unsettled, mut solved) = (0, 0);
        for p in 0..places {
            for b in 0..bends {
                for l in 0..loads {
                    // back and forth, so that each solve starts from a neighbour
                    let b = if p % 2 == 0 { b } else { bends - 1 - b };
                    let l = if (p + b) % 2 == 0 { l } else { loads - 1 - l };
                    let root = axes[1].node(b);
                    let demand = Demand {
                        load_n: axes[0].node(l).exp(),
                        ice_curvature_per_m: (root * root - BEND_OFFSET_PER_M).max(0.0),
                        centroid_m: middle + PLACE_SCALE_M * axes[2].node(p).sinh(),
                    };
                    let mut outcome = solver.solve(demand);
                    if outcome != Outcome::Converged {
                        solver.forget();
                        outcome = solver.solve(demand);
                    }
                    if !outcome.is_balanced() {
                        return Err(TableError::Unsolved { demand, outcome });
                    }
                    solved += 1;
                    unsettled += usize::from(outcome != Outcome::Converged);
                    let at = (l * bends + b) * places + p;
                    let [smooth, groove] = zone_friction(&solver, runner, ice, &speeds);
                    let out = &mut block[at * CHANNELS..][..CHANNELS];
                    let n = demand.load_n;
                    out[0] = smooth.plough_n / n;
                    out[1] = groove.plough_n / n;
                    out[2] = groove.load_n() / n;
                    for (i, half) in smooth.halves.iter().chain(&groove.halves).enumerate() {
                        out[3 + 3 * i] = half.moment_n_m / n;
                        out[4 + 3 * i] = half.stiffness_n / n;
                        out[5 + 3 * i] = half.saturation_n / n;
                    }
                    for i in 0..SPEEDS + 2 {
                        for (z, zone) in [&smooth, &groove].into_iter().enumerate() {
                            let sum: f64 =
                                zone.glide_n.iter().enumerate().map(|(k, f)| speed_fit[(i, k)] * f).sum();
                            out[FIXED + 2 * i + z] = sum / n;
                        }
                    }
                    let contact = Contact::of(&solver, runner);
                    reported[at * REPORTED..][..REPORTED].copy_from_slice(&[
                        contact.touch_span_m,
                        contact.effective_length_m,
                        contact.outside_share,
                    ]);
                }
            }
        }
        let fits: Vec<_> = axes.iter().filter_map(Axis::fit).collect();
        let [on_load, on_bend, on_place] = &fits[..] else { return Err(TableError::Faults(Vec::new())) };
        let padded = bends + 2;
        let fit_all = |block: &[f64], channels: usize| {
            let block = along_axis(block, channels, on_place);
            let block = along_axis(&block, (places + 2) * channels, on_bend);
            along_axis(&block, padded * (places + 2) * channels, on_load)
        };
        Ok(ContactTable {
            coefficients: fit_all(&block, CHANNELS),
            reported: fit_all(&reported, REPORTED),
            axes,
            speed,
            free,
            tip_m: runner.tip_m,
            groove_start_m: runner.groove_start_m,
            unsettled,
            solved,
        })
    }

    /// Contract the three weight sets over one channel group: value and three partials by the axes.
    #[inline]
    fn contract<const C: usize, const PARTIALS: bool>(&self, w: &[Weights; 3], from: usize) -> [[f64; C]; 4] {
        let (bends, places) = (self.axes[1].nodes + 2, self.axes[2].nodes + 2);
        let mut out = [[0.0; C]; 4];
        for i in 0..3 {
            let mut plane = [[0.0; C]; 3];
            for j in 0..3 {
                let start = ((w[0].at + i) * bends + w[1].at + j) * places + w[2].at;
                let mut line = [[0.0; C]; 2];
                for k in 0..3 {
                    let c = &self.coefficients[(start + k) * CHANNELS + from..][..C];
                    for n in 0..C {
                        line[0][n] += w[2].value[k] * c[n];
                        if PARTIALS {
                            line[1][n] += w[2].slope[k] * c[n];
                        }
                    }
                }
                for n in 0..C {
                    plane[0][n] += w[1].value[j] * line[0][n];
                    if PARTIALS {
                        plane[1][n] += w[1].slope[j] * line[0][n];
                        plane[2][n] += w[1].value[j] * line[1][n];
                    }
                }
            }
            for n in 0..C {
                out[0][n] += w[0].value[i] * plane[0][n];
                if PARTIALS {
                    out[1][n] += w[0].slope[i] * plane[0][n];
                    out[2][n] += w[0].value[i] * plane[1][n];
                    out[3][n] += w[0].value[i] * plane[2][n];
                }
            }
        }
        out
    }

    fn place(&self, centroid_m: f64) -> f64 {
        ((centroid_m - self.groove_start_m) / PLACE_SCALE_M).asinh()
    }

    fn weights(&self, load_n: f64, curvature_per_m: f64, centroid_m: f64) -> [Weights; 3] {
        [
            self.axes[0].weights(load_n.max(1e-3).ln()),
            self.axes[1].weights(bend(curvature_per_m)),
            self.axes[2].weights(self.place(centroid_m)),
        ]
    }

    /// Touch at a load (N), ice curvature (1/m), load centroid (m) and speed (m/s), with exact
    /// partials of the interpolant. Outside the ranges of the table the nearest edge is taken; the
    /// loads of the points follow the load asked for in any case.
    pub fn look<T: Real>(&self, load_n: T, ice_curvature_per_m: T, centroid_m: T, speed_m_s: T) -> Touch<T> {
        let (n, k) = (load_n.value(), ice_curvature_per_m.value());
        let w = self.weights(n, k, centroid_m.value());
        let v = speed_m_s.value().max(1e-3);
        let ws = self.speed.weights(v.ln());
        let fixed = self.contract::<FIXED, true>(&w, 0);
        let glide = self.contract::<6, true>(&w, FIXED + 2 * ws.at);
        // from the axes' own measures to the arguments
        let from_groove = centroid_m.value() - self.groove_start_m;
        let scale = [
            1.0 / n.max(1e-3),
            if k >= 0.0 { 0.5 / bend(k) } else { 0.0 },
            1.0 / (from_groove * from_groove + PLACE_SCALE_M * PLACE_SCALE_M).sqrt(),
        ];
        let lift = |c: usize| {
            let df = [fixed[1][c] * scale[0], fixed[2][c] * scale[1], fixed[3][c] * scale[2]];
            T::chain_all(fixed[0][c], df, [load_n, ice_curvature_per_m, centroid_m])
        };
        let zone = |z: usize| {
            let at = |part: usize, w: &[f64; 3]| (0..3).map(|i| w[i] * glide[part][2 * i + z]).sum::<f64>();
            let df = [
                at(1, &ws.value) * scale[0],
                at(2, &ws.value) * scale[1],
                at(3, &ws.value) * scale[2],
                at(0, &ws.slope) / v,
            ];
            T::chain_all(at(0, &ws.value), df, [load_n, ice_curvature_per_m, centroid_m, speed_m_s])
        };
        self.touch(load_n, lift, zone)
    }

    /// As [`ContactTable::look`], values only and faster.
    pub fn look_values(
        &self,
        load_n: f64,
        ice_curvature_per_m: f64,
        centroid_m: f64,
        speed_m_s: f64,
    ) -> Touch<f64> {
        let w = self.weights(load_n, ice_curvature_per_m, centroid_m);
        let ws = self.speed.weights(speed_m_s.max(1e-3).ln());
        let fixed = self.contract::<FIXED, false>(&w, 0);
        let glide = self.contract::<6, false>(&w, FIXED + 2 * ws.at);
        self.touch(load_n, |c| fixed[0][c], |z| (0..3).map(|i| ws.value[i] * glide[0][2 * i + z]).sum())
    }

    fn touch<T: Real>(&self, load_n: T, lift: impl Fn(usize) -> T, zone: impl Fn(usize) -> T) -> Touch<T> {
        /// Least share of a zone; below it grip is negligible and only quotients must stay finite.
        const LEAST_SHARE: f64 = 1e-4;
        let zero = T::from(0.0);
        let groove_share = lift(2).max(zero).min(T::from(1.0));
        let (plough_smooth, plough_groove) = (lift(0).max(zero), lift(1).max(zero));
        let smooth_share = -(groove_share - 1.0);
        let points = std::array::from_fn(|i| {
            let (share, plough) =
                if i < 2 { (smooth_share, plough_smooth) } else { (groove_share, plough_groove) };
            let half = (share * 0.5).max(T::from(LEAST_SHARE));
            let at_m = (lift(3 + 3 * i) / half).max(T::from(-self.tip_m)).min(T::from(self.tip_m));
            let slope = self.free.rise_slope(at_m.value());
            let curvature = self.free.rise_curvature_per_m(at_m.value());
            GripPoint {
                at_m,
                load_n: load_n * share * 0.5,
                stiffness: (lift(4 + 3 * i) / half).max(T::from(1e-3)),
                saturation: (lift(5 + 3 * i) / half).max(T::from(1e-4)),
                plough: plough / (half * 2.0),
                rise_slope: at_m.chain(slope, curvature),
            }
        });
        Touch {
            glide_smooth: zone(0).max(zero),
            glide_groove: zone(1).max(zero),
            plough_smooth,
            plough_groove,
            groove_share,
            points,
        }
    }

    /// What is reported of the contact, by the same interpolation.
    pub fn report(&self, load_n: f64, ice_curvature_per_m: f64, centroid_m: f64) -> TouchReport {
        let w = self.weights(load_n, ice_curvature_per_m, centroid_m);
        let (bends, places) = (self.axes[1].nodes + 2, self.axes[2].nodes + 2);
        let mut out = [0.0; REPORTED];
        for i in 0..27 {
            let (a, b, c) = (i / 9, i / 3 % 3, i % 3);
            let at = ((w[0].at + a) * bends + w[1].at + b) * places + w[2].at + c;
            let weight = w[0].value[a] * w[1].value[b] * w[2].value[c];
            for (o, v) in out.iter_mut().zip(&self.reported[at * REPORTED..]) {
                *o += weight * v;
            }
        }
        TouchReport {
            touch_span_m: out[0].max(0.0),
            effective_length_m: out[1].max(0.0),
            outside_share: out[2].clamp(0.0, 1.0),
        }
    }

    /// Start of the groove (m).
    pub fn groove_start_m(&self) -> f64 {
        self.groove_start_m
    }
}

#[cfg(test)]
mod tests;
