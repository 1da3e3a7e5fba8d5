//! Friction and grip along a solved contact: each patch from its leading edge, smooth rod and groove apart.

use crate::contact::ContactSolver;
use crate::film::{MeltFilm, Strip};
use crate::free_shape::FreeShape;
use crate::lateral::{grip_saturation, grip_stiffness};
use crate::plough::{cut_area_m2, plough_force_n};
use crate::runner::RunnerSpec;

/// The leading part of a cut counts as at least this long (m), assumed.
const LEAST_LEAD_M: f64 = 3e-3;

/// A stretch of one patch on one kind of steel: smooth rod, or the two edges of the groove.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Zone {
    /// Cells from the rear to the front.
    rear: usize,
    front: usize,
    /// Whether it is on the groove.
    pub(crate) groove: bool,
    /// Load (N).
    pub(crate) load_n: f64,
    /// Lateral force over load per slip angle, at no slip `[-]`.
    pub(crate) stiffness: f64,
    /// Greatest lateral force over load `[-]`.
    pub(crate) saturation: f64,
    /// Force of ploughing straight ahead (N).
    pub(crate) plough_n: f64,
}

/// Places for the load of a runner: front and rear half of the load on the smooth rod, the same on the groove.
pub const POINTS: usize = 4;

/// What the lateral law needs of one place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Place {
    /// Share of the runner's load `[-]`.
    pub load_share: f64,
    /// Where it acts, weighted by stiffness (m).
    pub at_m: f64,
    /// Lateral force over load per slip angle, at no slip `[-]`.
    pub stiffness: f64,
    /// Greatest lateral force over load `[-]`.
    pub saturation: f64,
    /// Ploughing straight ahead over load `[-]`.
    pub plough: f64,
    /// Slope of the free runner there, away from the ice, weighted by stiffness `[-]`.
    pub rise_slope: f64,
}

impl ContactSolver {
    /// The zones of the solved contact, from the front.
    pub(crate) fn zones(&self, runner: &RunnerSpec) -> Vec<Zone> {
        let mut zones = Vec::with_capacity(8);
        let x = &self.rig.points_m;
        let cells = x.len() - 1;
        let middle = |c: usize| 0.5 * (x[c] + x[c + 1]);
        let mut from = cells;
        while let Some(patch) = self.patch_behind(from) {
            from = patch.rear;
            let (leading_m, _) = self.edges_m(patch);
            let split =
                (patch.rear..patch.front).find(|&c| middle(c) > runner.groove_start_m).unwrap_or(patch.front);
            for (rear, front, groove) in [(split, patch.front, false), (patch.rear, split, true)] {
                if rear >= front {
                    continue;
                }
                let load_n: f64 = self.load_n[rear..front].iter().sum();
                let (deepest_m, depth_m) = self.deepest_m(rear, front);
                let depth_m = depth_m.max(0.0);
                let lead_m = (leading_m - deepest_m).max(LEAST_LEAD_M);
                let (radius_m, cuts) =
                    if groove { (runner.groove_edge_radius_m, 2.0) } else { (0.5 * runner.diameter_m, 1.0) };
                let area_m2 = cuts * cut_area_m2(radius_m, depth_m);
                zones.push(Zone {
                    rear,
                    front,
                    groove,
                    load_n,
                    stiffness: grip_stiffness(lead_m, radius_m),
                    saturation: grip_saturation(depth_m, radius_m),
                    plough_n: plough_force_n(self.rig.recovered_share, self.hardness_pa, area_m2),
                });
            }
        }
        zones
    }

    /// Friction of the melt-water film over load, at each of some speeds `[-]`.
    pub(crate) fn film_friction<const N: usize>(
        &self,
        zones: &[Zone],
        film: &MeltFilm,
        speeds_m_s: [f64; N],
    ) -> [f64; N] {
        let mut force_n = [0.0; N];
        for zone in zones {
            let strips = (zone.rear..zone.front).rev().map(|c| {
                let (rear_m, front_m) = self.wet_part_m(c);
                let k = self.rig.coefficient[c] * self.share[c];
                let line_load = |depth_m: f64| k * depth_m.max(0.0).sqrt();
                Strip {
                    length_m: front_m - rear_m,
                    front_n_m: line_load(self.depth_m[c + 1]),
                    rear_n_m: line_load(self.depth_m[c]),
                }
            });
            let channels = if zone.groove { 2.0 } else { 1.0 };
            for (sum, part) in force_n.iter_mut().zip(film.forces_n(speeds_m_s, channels, strips)) {
                *sum += part;
            }
        }
        force_n.map(|f| f / self.demand.load_n)
    }

    /// The load gathered at [`POINTS`] places: the halves, by load, of the smooth and of the groove zone.
    pub(crate) fn places(&self, zones: &[Zone], shape: &FreeShape) -> [Place; POINTS] {
        let mut places = [Place::default(); POINTS];
        let total: [f64; 2] =
            [false, true].map(|g| zones.iter().filter(|z| z.groove == g).map(|z| z.load_n).sum());
        let whole = total[0] + total[1];
        let mut gathered = [0.0; 2];
        for zone in zones {
            let kind = usize::from(zone.groove);
            for c in (zone.rear..zone.front).rev() {
                let at_m = 0.5 * (self.rig.points_m[c] + self.rig.points_m[c + 1]);
                let load_n = self.load_n[c];
                if load_n <= 0.0 {
                    continue;
                }
                let rise_slope = shape.rise_slope(at_m);
                let before = gathered[kind];
                gathered[kind] += load_n;
                // what of this cell belongs to the front half
                let in_front = (0.5 * total[kind] - before).clamp(0.0, load_n);
                for (half, part_n) in [(0, in_front), (1, load_n - in_front)] {
                    let p = &mut places[2 * kind + half];
                    p.load_share += part_n;
                    p.stiffness += part_n * zone.stiffness;
                    p.at_m += part_n * zone.stiffness * at_m;
                    p.rise_slope += part_n * zone.stiffness * rise_slope;
                    p.saturation += part_n * zone.saturation;
                    p.plough += part_n / zone.load_n.max(1e-12) * zone.plough_n;
                }
            }
        }
        for p in &mut places {
            if p.load_share > 1e-9 * whole {
                p.at_m /= p.stiffness;
                p.rise_slope /= p.stiffness;
                p.stiffness /= p.load_share;
                p.saturation /= p.load_share;
                p.plough /= p.load_share;
                p.load_share /= whole;
            } else {
                *p = Place { stiffness: 1.0, saturation: 0.01, ..Place::default() };
            }
        }
        places
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::contact::Demand;
    use crate::runner::{Bow, IceState};

    #[test]
    fn conserves_load_over_the_places() {
        let (runner, ice) = (RunnerSpec::default(), IceState::at_temperature(-5.0, 0.25));
        let shape = FreeShape::of(&runner, Bow::even(1e-3)).expect("in range");
        for (load_n, curvature, centroid_m) in [(580.0, 0.0, 0.03), (2300.0, 0.04, -0.1), (60.0, 0.08, 0.2)] {
            let mut solver = ContactSolver::new(&runner, Bow::even(1e-3), &ice).expect("in range");
            let demand = Demand { load_n, ice_curvature_per_m: curvature, centroid_m };
            assert!(solver.solve(demand).is_balanced());
            let zones = solver.zones(&runner);
            // the balance that the solver promises
            approx::assert_relative_eq!(
                zones.iter().map(|z| z.load_n).sum::<f64>(),
                load_n,
                max_relative = 1e-5
            );
            let shares: f64 = solver.places(&zones, &shape).iter().map(|p| p.load_share).sum();
            approx::assert_relative_eq!(shares, 1.0, max_relative = 1e-12);
        }
    }
}
