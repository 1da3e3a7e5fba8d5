//! Everything a descent needs of one runner, solved once per set-up on a grid and interpolated.
//!
//! | axis | coordinate | range | nodes |
//! |---|---|---|---|
//! | load | ln(N + 80 N) | 20..4500 N | 16 |
//! | curvature of the ice | sqrt(kappa + 0.004 1/m) | 0..1/12 1/m | 12 |
//! | load centroid | z = (x - x_g)/0.1 m as sign(z) (sqrt(1 + 2 abs(z)) - 1) | -0.25..0.25 m | 15 |
//! | speed (film only) | sqrt V | 4..48 m/s, polynomial of degree 4 | 5 |
//!
//! All quantities are shares of the load or weighted by it, so that what vanishes with its load does so
//! smoothly. Outside, coordinates are held at the edge. Interpolation is by quadratic B-splines
//! ([`numerics::grid_spline`]). Its error against direct solves at random places is measured by
//! `order_tables_match_direct_solves`: with 4 mm of bow, for half of a sled of 75-150 kg at 1-5 g and 25-40 m/s
//! on the ice curvature that goes with them, centroid +-0.12 m,
//!
//! ```text
//!                     median    95 %     greatest
//!   film friction     0.35 %    2.2 %     6.5 %
//!   ploughing         2e-6      1.1e-5    6.5e-5   of the load
//!   centre of grip    0.6 mm    3.6 mm    12 mm
//! ```
//!
//! The large ones sit where patches part or join within a few millimetres of centroid.

mod bytes;

use crate::contact::{ContactSolver, Demand};
use crate::film::MeltFilm;
use crate::free_shape::FreeShape;
use crate::friction::{POINTS, Place};
use crate::lateral::GripPoint;
use crate::patches::TouchReport;
use crate::runner::{Bow, Fault, IceState, RunnerSpec};
use numerics::dual::Real;
use numerics::grid_spline::GridSpline;
use rayon::prelude::*;

/// Nodes along load, curvature and centroid.
const NODES: [usize; 3] = [16, 12, 15];
/// Range of the load (N).
pub(crate) const LOAD_N: [f64; 2] = [20.0, 4500.0];
/// The nodes of the load spread less and less below this (N): few are needed where a runner is light.
const LIGHT_N: f64 = 80.0;
/// Range of the curvature of the ice (1/m).
pub(crate) const CURVATURE_PER_M: [f64; 2] = [0.0, 1.0 / 12.0];
/// Range of the load centroid (m).
pub(crate) const CENTROID_M: [f64; 2] = [-0.25, 0.25];
/// Offset of the root that spaces the nodes of the curvature (1/m).
const BEND_PER_M: f64 = 0.004;
/// Distance from the start of the groove where the nodes of the centroid begin to spread (m).
const SPREAD_M: f64 = 0.1;
/// Less of the load than this is not told apart from none `[-]`.
const LEAST_SHARE: f64 = 1e-4;
/// Square roots of the speeds of the film (m/s)^(1/2).
const ROOT_SPEED: [f64; 5] = [2.0, 2.8, 4.0, 5.5, 6.93];

/// Quantities of one place.
const EACH: usize = 6;
/// Quantities: those of each place, then film friction at five speeds, then spares to fill the row.
const MOTION: usize = 32;
/// Quantities for reports.
const REPORT: usize = 5;

/// What a runner does on the ice under one load.
#[derive(Clone, Copy, Debug)]
pub struct Touch<T> {
    /// Friction of the melt-water film over load `[-]`.
    pub film_friction: T,
    /// Where the load is carried, and how it grips.
    pub points: [GripPoint<T>; POINTS],
}

/// How the building of a table went.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Built {
    /// Contacts solved.
    pub(crate) solved: usize,
    /// Not found, or a load that no sled meets there; the nearest one that was found stands in for them.
    pub(crate) left_out: usize,
}

/// Tables of one runner.
#[derive(Clone, Debug)]
pub struct RunnerTable {
    motion: GridSpline<MOTION>,
    report: GridSpline<REPORT>,
    centroid: CentroidAxis,
    /// How the building went.
    pub(crate) built: Built,
}

/// Coordinate of the load axis, and its derivative by the load.
fn load_axis(load_n: f64) -> [f64; 2] {
    let [low, high] = LOAD_N.map(|n| (n + LIGHT_N).ln());
    let per = (NODES[0] - 1) as f64 / (high - low);
    [((load_n + LIGHT_N).ln() - low) * per, per / (load_n + LIGHT_N)]
}

/// Coordinate of the curvature axis, and its derivative by the curvature.
fn curvature_axis(curvature_per_m: f64) -> [f64; 2] {
    let [low, high] = CURVATURE_PER_M.map(|k| (k + BEND_PER_M).sqrt());
    let per = (NODES[1] - 1) as f64 / (high - low);
    let root = (curvature_per_m.max(0.0) + BEND_PER_M).sqrt();
    // just below zero the grid holds the value, and the derivative with it
    let inside = if curvature_per_m < 0.0 { 0.0 } else { 1.0 };
    [(root - low) * per, 0.5 * per / root * inside]
}

/// The axis of the centroid, spread about the start of the groove.
#[derive(Clone, Copy, Debug)]
struct CentroidAxis {
    middle_m: f64,
    low: f64,
    per: f64,
}

impl CentroidAxis {
    fn new(middle_m: f64) -> CentroidAxis {
        let [low, high] = CENTROID_M.map(|x| spread((x - middle_m) / SPREAD_M)[0]);
        CentroidAxis { middle_m, low, per: (NODES[2] - 1) as f64 / (high - low) }
    }

    #[inline]
    fn at(&self, centroid_m: f64) -> [f64; 2] {
        let [y, slope] = spread((centroid_m - self.middle_m) / SPREAD_M);
        [(y - self.low) * self.per, self.per * slope / SPREAD_M]
    }

    fn node_m(&self, i: usize) -> f64 {
        let y = self.low + i as f64 / self.per;
        self.middle_m + SPREAD_M * y.signum() * 0.5 * ((1.0 + y.abs()).powi(2) - 1.0)
    }
}

/// Spreads the nodes away from zero, and the derivative of that; its first derivative is continuous.
#[inline]
fn spread(z: f64) -> [f64; 2] {
    let root = (1.0 + 2.0 * z.abs()).sqrt();
    [(root - 1.0).copysign(z), 1.0 / root]
}

fn node(range: [f64; 2], i: usize, nodes: usize) -> f64 {
    range[0] + (range[1] - range[0]) * i as f64 / (nodes - 1) as f64
}

/// Weights of the polynomial through the film's speeds, and their derivatives by the root of the speed.
fn speed_weights(root: f64) -> ([f64; 5], [f64; 5]) {
    let (mut weight, mut slope) = ([0.0; 5], [0.0; 5]);
    for i in 0..5 {
        let (mut w, mut s) = (1.0, 0.0);
        for j in 0..5 {
            if j != i {
                let d = 1.0 / (ROOT_SPEED[i] - ROOT_SPEED[j]);
                s = s * (root - ROOT_SPEED[j]) * d + w * d;
                w *= (root - ROOT_SPEED[j]) * d;
            }
        }
        (weight[i], slope[i]) = (w, s);
    }
    (weight, slope)
}

/// Whether a sled meets a load together with a curvature of the ice: `N = m/2 (kappa v^2 + g)` for a mass of
/// 50-200 kg at 8-43 m/s, with room for what one runner takes from the other.
fn can_be(demand: &Demand) -> bool {
    let Demand { load_n, ice_curvature_per_m: k, .. } = *demand;
    load_n > 10.0 * (64.0 * k + 1.0) && load_n < 130.0 * (1850.0 * k + 11.0)
}

/// Quantities of motion and of reports.
type Quantities = ([f64; MOTION], [f64; REPORT]);

/// What stands in for a contact that was not found: the nearest one by load that was, then by curvature, then by
/// centroid.
fn beside([i, j, k]: [usize; 3], solved: impl Fn(usize, usize, usize) -> Option<Quantities>) -> Quantities {
    for far in 1..NODES.into_iter().max().unwrap_or(1) {
        for [di, dj, dk] in [[far, 0, 0], [0, far, 0], [0, 0, far]] {
            let down = [i.checked_sub(di), j.checked_sub(dj), k.checked_sub(dk)];
            if let [Some(a), Some(b), Some(c)] = down
                && let Some(q) = solved(a, b, c)
            {
                return q;
            }
            let [a, b, c] = [i + di, j + dj, k + dk];
            if a < NODES[0]
                && b < NODES[1]
                && c < NODES[2]
                && let Some(q) = solved(a, b, c)
            {
                return q;
            }
        }
    }
    ([0.0; MOTION], [0.0; REPORT])
}

/// The quantities of one solved contact.
fn quantities(
    solver: &ContactSolver,
    runner: &RunnerSpec,
    shape: &FreeShape,
    film: &MeltFilm,
) -> ([f64; MOTION], [f64; REPORT]) {
    let mut motion = [0.0; MOTION];
    for (i, p) in solver.places(runner, shape).iter().enumerate() {
        let Place { load_share, at_m, stiffness, saturation, plough, rise_slope } = *p;
        let grip = load_share * stiffness;
        motion[EACH * i..EACH * (i + 1)].copy_from_slice(&[
            load_share,
            grip,
            grip * at_m,
            load_share * saturation,
            load_share * plough,
            grip * rise_slope,
        ]);
    }
    // six go as fast as five: processors take them in pairs
    let speeds: [f64; 6] = std::array::from_fn(|i| ROOT_SPEED[i.min(4)].powi(2));
    let friction = solver.film_friction(film, speeds);
    motion[EACH * POINTS..EACH * POINTS + 5].copy_from_slice(&friction[..5]);
    let t = solver.touch(runner);
    (motion, [t.touch_span_m, t.effective_length_m, t.groove_share, t.outside_screws, 0.0])
}

impl RunnerTable {
    /// Solves the contact on the whole grid; every fault of the numbers at once otherwise.
    pub fn build(runner: &RunnerSpec, bow: Bow, ice: &IceState) -> Result<RunnerTable, Vec<Fault>> {
        let solver = ContactSolver::new(runner, bow, ice)?;
        let shape = FreeShape::of(runner, bow)?;
        let film = MeltFilm::new(ice, runner.roughness_m, runner.boundary_friction);
        let centroid = CentroidAxis::new(runner.groove_start_m);
        let [n, m, l] = NODES;
        // a row of loads by one solver, each contact from those of the lighter loads: rows do not hang on one another
        let row = |solver: &mut ContactSolver, row: usize| -> Vec<Option<Quantities>> {
            let (j, k) = (row / l, row % l);
            let root = node(CURVATURE_PER_M.map(|k| (k + BEND_PER_M).sqrt()), j, m);
            // the contacts of the last two loads, where they were found
            let [mut earlier, mut last]: [Option<Vec<f64>>; 2] = [None, None];
            (0..n)
                .map(|i| {
                    let demand = Demand {
                        load_n: node(LOAD_N.map(|n| (n + LIGHT_N).ln()), i, n).exp() - LIGHT_N,
                        ice_curvature_per_m: (root * root - BEND_PER_M).max(0.0),
                        centroid_m: centroid.node_m(k),
                    };
                    if !can_be(&demand) {
                        return None;
                    }
                    let found = match last {
                        Some(_) => solver.solve_beside(demand, earlier.as_deref()),
                        None => solver.solve(demand),
                    }
                    .is_balanced();
                    (earlier, last) = (last.take(), found.then(|| solver.state.clone()));
                    found.then(|| quantities(solver, runner, &shape, &film))
                })
                .collect()
        };
        let rows: Vec<_> = (0..m * l).into_par_iter().map_init(|| solver.clone(), row).collect();
        let solved = |i: usize, j: usize, k: usize| rows[j * l + k][i];
        let mut built = Built { solved: n * m * l, left_out: 0 };
        let mut cells = vec![([0.0; MOTION], [0.0; REPORT]); n * m * l];
        for j in 0..m {
            for k in 0..l {
                for i in 0..n {
                    cells[(i * m + j) * l + k] = solved(i, j, k).unwrap_or_else(|| {
                        built.left_out += 1;
                        beside([i, j, k], solved)
                    });
                }
            }
        }
        let at = |i: usize, j: usize, k: usize| &cells[(i * m + j) * l + k];
        Ok(RunnerTable {
            motion: GridSpline::new(NODES, |i, j, k| at(i, j, k).0),
            report: GridSpline::new(NODES, |i, j, k| at(i, j, k).1),
            centroid,
            built,
        })
    }

    /// Forces' ingredients under a load, on ice of a curvature, with the load at a centroid, at a speed.
    /// The load may be zero; below the range its shares and coefficients are those at its lower end.
    #[inline]
    pub fn look<T: Real>(&self, load_n: T, ice_curvature_per_m: T, centroid_m: T, speed_m_s: T) -> Touch<T> {
        let held = load_n.max(T::from(LOAD_N[0]));
        let axes = [
            load_axis(held.value()),
            curvature_axis(ice_curvature_per_m.value()),
            self.centroid.at(centroid_m.value()),
        ];
        let place = axes.map(|a| a[0]);
        let root = speed_m_s.value().clamp(4.0, 48.0).sqrt();
        let (weight, slope) = speed_weights(root);
        if T::HAS_PARTIALS {
            let (q, partial) = self.motion.value_and_partials(place);
            let per = axes.map(|a| a[1]);
            let args = [held, ice_curvature_per_m, centroid_m];
            let lift =
                |i: usize| T::chain_all(q[i], [0, 1, 2].map(|axis| partial[axis][i] * per[axis]), args);
            let mut film_friction = T::from(0.0);
            let mut by_root = 0.0;
            for i in 0..5 {
                let film = lift(EACH * POINTS + i);
                film_friction += film * weight[i];
                by_root += film.value() * slope[i];
            }
            film_friction += speed_m_s.chain(0.0, by_root * 0.5 / root);
            Touch { film_friction, points: std::array::from_fn(|i| point(load_n, |k| lift(EACH * i + k))) }
        } else {
            let q = self.motion.value(place);
            let film: f64 = (0..5).map(|i| q[EACH * POINTS + i] * weight[i]).sum();
            Touch {
                film_friction: T::from(film),
                points: std::array::from_fn(|i| point(load_n, |k| T::from(q[EACH * i + k]))),
            }
        }
    }

    /// The contact under a load, for reports.
    pub fn report(&self, load_n: f64, ice_curvature_per_m: f64, centroid_m: f64) -> TouchReport {
        if load_n <= 0.0 {
            return TouchReport::default();
        }
        let axes = [load_axis(load_n), curvature_axis(ice_curvature_per_m), self.centroid.at(centroid_m)];
        let q = self.report.value(axes.map(|a| a[0]));
        TouchReport {
            touch_span_m: q[0].max(0.0),
            effective_length_m: q[1].max(0.0),
            groove_share: q[2].clamp(0.0, 1.0),
            outside_screws: q[3].clamp(0.0, 1.0),
        }
    }
}

#[inline]
fn point<T: Real>(load_n: T, q: impl Fn(usize) -> T) -> GripPoint<T> {
    let zero = T::from(0.0);
    let share = q(0).max(T::from(LEAST_SHARE));
    let per_share = T::from(1.0) / share;
    let grip = q(1).max(share * LEAST_STIFFNESS);
    let per_grip = T::from(1.0) / grip;
    GripPoint {
        at_m: (q(2) * per_grip).min(T::from(FARTHEST_M)).max(T::from(-FARTHEST_M)),
        load_n: share * load_n.max(zero),
        stiffness: grip * per_share,
        saturation: (q(3) * per_share).max(T::from(LEAST_SATURATION)),
        plough: (q(4) * per_share).max(zero),
        rise_slope: (q(5) * per_grip).min(T::from(STEEPEST)).max(T::from(-STEEPEST)),
    }
}

/// Bounds that only a place without load meets: grip, place (m) and slope of the runner.
const LEAST_STIFFNESS: f64 = 0.1;
const LEAST_SATURATION: f64 = 1e-3;
const FARTHEST_M: f64 = 0.42;
const STEEPEST: f64 = 0.1;

/// What [`RunnerTable::look`] stands for, straight from a solved contact.
pub fn direct(
    solver: &ContactSolver,
    runner: &RunnerSpec,
    bow: Bow,
    ice: &IceState,
    speed_m_s: f64,
) -> Result<Touch<f64>, Vec<Fault>> {
    let shape = FreeShape::of(runner, bow)?;
    let film = MeltFilm::new(ice, runner.roughness_m, runner.boundary_friction);
    let [film_friction] = solver.film_friction(&film, [speed_m_s]);
    let places = solver.places(runner, &shape);
    Ok(Touch {
        film_friction,
        points: places.map(|p| GripPoint {
            at_m: p.at_m,
            load_n: p.load_share * solver.demand.load_n,
            stiffness: p.stiffness,
            saturation: p.saturation,
            plough: p.plough,
            rise_slope: p.rise_slope,
        }),
    })
}

#[cfg(test)]
mod tests;
