//! Friction and grip integrated along a solved contact, for the smooth rod and the groove apart.

use crate::contact::ContactSolver;
use crate::film::{MeltFilm, Strip};
use crate::lateral::{grip_saturation, grip_stiffness};
use crate::patches::Cells;
use crate::plough::{cut_area_m2, plough_force_n};
use crate::runner::{IceState, RunnerSpec};

/// Least distance from the leading edge of a patch to its deepest point in the lateral law (m).
const LEAST_LEADING_M: f64 = 3e-3;
/// Strips of the film along one patch, about.
const STRIPS: usize = 20;

/// One of the two halves of a zone's load: sums over it, each weighted by the load (N times unit).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct HalfZone {
    /// Load (N).
    pub load_n: f64,
    /// Load times place (N m).
    pub moment_n_m: f64,
    /// Load times lateral stiffness (N).
    pub stiffness_n: f64,
    /// Load times lateral saturation (N).
    pub saturation_n: f64,
}

/// Forces of one zone along a solved contact.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ZoneFriction {
    /// Film friction (N) at each speed asked for.
    pub glide_n: Vec<f64>,
    /// Ploughing (N).
    pub plough_n: f64,
    /// Front and rear half of the zone's load.
    pub halves: [HalfZone; 2],
}

impl ZoneFriction {
    /// Load of the zone (N).
    pub fn load_n(&self) -> f64 {
        self.halves[0].load_n + self.halves[1].load_n
    }
}

/// A part of a patch that lies in one zone.
#[derive(Clone, Copy, Debug)]
struct Piece {
    cells: Cells,
    depth_m: f64,
    leading_m: f64,
}

/// Film, ploughing and grip along the contact that `solver` has solved last: smooth rod, groove.
///
/// The film starts afresh at the leading edge of each patch and at the start of the groove; the
/// cut of a zone is that of its greatest depth in each patch; the groove has two edges.
/// Source: see [`crate::film`], [`crate::plough`], [`crate::lateral`].
/// Checked by: `conserves_load_and_moment_over_the_halves`.
pub fn zone_friction(
    solver: &ContactSolver,
    runner: &RunnerSpec,
    ice: &IceState,
    speeds_m_s: &[f64],
) -> [ZoneFriction; 2] {
    let film = MeltFilm::new(ice, runner.roughness_m, runner.boundary_friction);
    let groove = solver.rig.points_m.partition_point(|&x| x < runner.groove_start_m - 1e-9);
    let zones = [
        (groove, solver.share.len(), 0.5 * runner.diameter_m, 1.0),
        (0, groove.min(solver.share.len()), runner.groove_edge_radius_m, 2.0),
    ];
    zones.map(|(rear, front, radius_m, channels)| {
        let pieces = pieces(solver, rear, front);
        let mut zone = ZoneFriction { glide_n: vec![0.0; speeds_m_s.len()], ..ZoneFriction::default() };
        for piece in &pieces {
            let strips = strips(solver, piece.cells);
            for (force, &v) in zone.glide_n.iter_mut().zip(speeds_m_s) {
                *force += film.force_n(v, channels, strips.iter().copied());
            }
            let area = channels * cut_area_m2(radius_m, piece.depth_m);
            zone.plough_n += plough_force_n(ice.recovered_share, ice.hardness_pa, area);
        }
        zone.halves = halves(solver, &pieces, radius_m);
        zone
    })
}

fn pieces(solver: &ContactSolver, rear: usize, front: usize) -> Vec<Piece> {
    let mut found = Vec::new();
    let mut from = solver.share.len();
    while let Some(patch) = solver.patch_behind(from) {
        from = patch.rear;
        let cells = Cells { rear: patch.rear.max(rear), front: patch.front.min(front) };
        if cells.rear >= cells.front {
            continue;
        }
        let (deepest_m, depth_m) = solver.deepest_m(cells.rear, cells.front);
        let leading_m = (solver.edges_m(patch).0 - deepest_m).max(LEAST_LEADING_M);
        found.push(Piece { cells, depth_m, leading_m });
    }
    found
}

/// Strips from the front of a piece, cells joined where there are many; the load is kept.
fn strips(solver: &ContactSolver, cells: Cells) -> Vec<Strip> {
    let join = (cells.front - cells.rear).div_ceil(STRIPS).max(1);
    let mut out = Vec::with_capacity(STRIPS + 8);
    let mut front = cells.front;
    while front > cells.rear {
        // the leading edge is kept fine
        let taken = if cells.front - front < 3 { 1 } else { join };
        let rear = front.saturating_sub(taken).max(cells.rear);
        let (mut load_n, mut length_m) = (0.0, 0.0);
        for c in rear..front {
            let (a, b) = solver.wet_part_m(c);
            load_n += solver.load_of_cell_n(c);
            length_m += b - a;
        }
        let line_load = |c: usize, point: usize| {
            solver.rig.coefficient[c] * solver.share[c] * solver.depth_m[point].max(0.0).sqrt()
        };
        let mut strip =
            Strip { length_m, front_n_m: line_load(front - 1, front), rear_n_m: line_load(rear, rear) };
        let shape_n = strip.load_n();
        if shape_n > 0.0 {
            strip.front_n_m *= load_n / shape_n;
            strip.rear_n_m *= load_n / shape_n;
            out.push(strip);
        }
        front = rear;
    }
    out
}

fn halves(solver: &ContactSolver, pieces: &[Piece], radius_m: f64) -> [HalfZone; 2] {
    let whole: f64 =
        pieces.iter().flat_map(|p| p.cells.rear..p.cells.front).map(|c| solver.load_of_cell_n(c)).sum();
    let mut halves = [HalfZone::default(); 2];
    let mut left = 0.5 * whole;
    for piece in pieces {
        let stiffness = grip_stiffness(piece.leading_m, radius_m);
        let saturation = grip_saturation(piece.depth_m, radius_m);
        for c in (piece.cells.rear..piece.cells.front).rev() {
            let [rear_n, front_n] = solver.end_loads_n(c);
            let load = rear_n + front_n;
            if load <= 0.0 {
                continue;
            }
            let x = (rear_n * solver.rig.points_m[c] + front_n * solver.rig.points_m[c + 1]) / load;
            let ahead = load.min(left.max(0.0));
            for (half, part) in halves.iter_mut().zip([ahead, load - ahead]) {
                half.load_n += part;
                half.moment_n_m += part * x;
                half.stiffness_n += part * stiffness;
                half.saturation_n += part * saturation;
            }
            left -= ahead;
        }
    }
    halves
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::contact::Demand;
    use crate::runner::Bow;

    #[test]
    fn conserves_load_and_moment_over_the_halves() {
        let (runner, ice) = (RunnerSpec::default(), IceState::at_temperature(-5.0, 0.25));
        for (load_n, curvature, centroid_m) in [(580.0, 0.0, 0.03), (2300.0, 0.04, -0.1), (60.0, 0.08, 0.2)] {
            let mut solver = ContactSolver::new(&runner, Bow::even(1e-3), &ice).expect("in range");
            let demand = Demand { load_n, ice_curvature_per_m: curvature, centroid_m };
            assert!(solver.solve(demand).is_balanced());
            let zones = zone_friction(&solver, &runner, &ice, &[20.0]);
            let all = || zones.iter().flat_map(|z| z.halves);
            // the balance that the solver promises
            approx::assert_relative_eq!(all().map(|h| h.load_n).sum::<f64>(), load_n, max_relative = 1e-5);
            approx::assert_abs_diff_eq!(
                all().map(|h| h.moment_n_m).sum::<f64>(),
                load_n * centroid_m,
                epsilon = 1e-5 * load_n
            );
        }
    }
}
