//! Friction and grip along a solved contact, cell by cell from the front; smooth rod and groove apart.
//!
//! Everything is a sum over cells of what they carry, so that nothing jumps where patches join or part.

use crate::contact::ContactSolver;
use crate::film::{MeltFilm, Strip};
use crate::free_shape::FreeShape;
use crate::lateral::{grip_saturation, grip_stiffness};
use crate::melt::DRY_LOSS_PER_M;
use crate::plough::plough_force_n;
use crate::runner::RunnerSpec;
use std::f64::consts::PI;

/// The leading part of a cut counts as at least this long (m), assumed.
const LEAST_LEAD_M: f64 = 3e-3;
/// The ice forgets the leading edge over this length without load (m), assumed.
const FORGET_M: f64 = 20e-3;
/// A cell with this share of the hardness, or more, is loaded `[-]`, assumed.
const LOADED: f64 = 0.1;
/// Mean distance from the leading edge, by load, of an elliptic leading half, over its length: 1 - 4/(3 pi).
const MEAN_LEAD: f64 = 1.0 - 4.0 / (3.0 * PI);
/// Mean width, by load, of an elliptic leading half, over its greatest: 8/(3 pi).
const MEAN_WIDTH: f64 = 8.0 / (3.0 * PI);

/// Length of a cell that counts as touch (m): all of it where it bears [`LOADED`] of the hardness or more.
fn loaded_m(length_m: f64, pressure_share: f64) -> f64 {
    length_m * (pressure_share / LOADED).min(1.0)
}

/// Length of touch that the ice behind a cell remembers (m): what was in front with the cell's own, and what a stretch
/// off the ice takes away.
fn lead_behind_m(lead_m: f64, loaded_m: f64, off_m: f64) -> f64 {
    (lead_m + loaded_m) * (1.0 - off_m / FORGET_M).max(0.0)
}

/// One cell that carries load.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Grip {
    /// Middle of the cell (m).
    at_m: f64,
    groove: bool,
    load_n: f64,
    /// Lateral force over load per slip angle, at no slip `[-]`.
    stiffness: f64,
    /// Greatest lateral force over load `[-]`.
    saturation: f64,
    /// Force of ploughing straight ahead (N).
    plough_n: f64,
}

/// Places for the load of a runner: front and rear half of the load on the smooth rod, the same on the groove.
pub const POINTS: usize = 4;

/// What the lateral law needs of one place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Place {
    /// Share of the runner's load `[-]`.
    pub(crate) load_share: f64,
    /// Where it acts, weighted by stiffness (m).
    pub(crate) at_m: f64,
    /// Lateral force over load per slip angle, at no slip `[-]`.
    pub(crate) stiffness: f64,
    /// Greatest lateral force over load `[-]`.
    pub(crate) saturation: f64,
    /// Ploughing straight ahead over load `[-]`.
    pub(crate) plough: f64,
    /// Slope of the free runner there, away from the ice, weighted by stiffness `[-]`.
    pub(crate) rise_slope: f64,
}

impl ContactSolver {
    /// The loaded cells, from the front.
    ///
    /// ```text
    /// a = s / 0.5756,   w = w_cell / 0.849        s: length of loaded touch in front of the cell
    /// ```
    ///
    /// An elliptic leading half, as a rigid rod has it, then comes out with its own length a and greatest width w.
    /// Source: means of that ellipse. Checked by: `exact_grip_of_a_stiff_rod_is_that_of_the_closed_form`.
    fn grips(&self, runner: &RunnerSpec) -> Vec<Grip> {
        let rig = &self.rig;
        let mut grips = Vec::with_capacity(64);
        let mut lead_m = 0.0;
        for c in (0..rig.length_m.len()).rev() {
            let groove = rig.groove[c];
            if rig.starts_groove(c) {
                lead_m = 0.0;
            }
            let load_n = self.load_n[c];
            let (pressed_m, pressure_share) = self.pressed_m(c);
            let loaded_m = if load_n > 0.0 { loaded_m(pressed_m, pressure_share) } else { 0.0 };
            let middle_m = lead_m + 0.5 * loaded_m;
            lead_m = lead_behind_m(lead_m, loaded_m, rig.length_m[c] - loaded_m);
            if load_n <= 0.0 {
                continue;
            }
            let [rear_m, front_m] = rig.ends_m(c, &self.depth_m);
            let depth_m = 0.5 * (rear_m.max(0.0) + front_m.max(0.0));
            let (mean_m, wet) = rig.mean_width_m(c, depth_m);
            let (radius_m, cuts) =
                if groove { (runner.groove_edge_radius_m, 2.0) } else { (0.5 * runner.diameter_m, 1.0) };
            let width_m = mean_m / wet / MEAN_WIDTH;
            grips.push(Grip {
                at_m: 0.5 * (rig.points_m[c] + rig.points_m[c + 1]),
                groove,
                load_n,
                stiffness: grip_stiffness((middle_m / MEAN_LEAD).max(LEAST_LEAD_M), radius_m),
                saturation: grip_saturation(width_m * width_m / (8.0 * radius_m), radius_m),
                plough_n: plough_force_n(self.recovered_share, self.hardness_pa, cuts * self.cut_m2[c]),
            });
        }
        grips
    }

    /// Friction of the melt-water film over load, at each of some speeds `[-]`.
    pub(crate) fn film_friction<const N: usize>(&self, film: &MeltFilm, speeds_m_s: [f64; N]) -> [f64; N] {
        let rig = &self.rig;
        let strips = (0..rig.groove.len()).rev().flat_map(|c| {
            let (rear_m, front_m) = self.wet_part_m(c);
            let [rear, front] = rig.ends_m(c, &self.depth_m).map(|d| d.max(0.0));
            let [front_width_m, rear_width_m] = [front, rear].map(|d| {
                let (mean_m, wet) = rig.mean_width_m(c, d);
                mean_m / wet
            });
            let wet = rig.uneven.wet(0.5 * (front + rear));
            let (length_m, pressure_share) = self.pressed_m(c);
            let touching = Strip {
                length_m,
                front_width_m,
                rear_width_m,
                wet,
                channels: if rig.groove[c] { 2.0 } else { 1.0 },
                loss_per_m: rig.uneven.loss_per_m(wet),
                pressure_share,
            };
            let dry_m = rig.length_m[c] - (front_m - rear_m).max(0.0);
            let dry = Strip { loss_per_m: DRY_LOSS_PER_M, ..Strip::off_the_ice(dry_m) };
            if front > 0.0 { [touching, dry] } else { [dry, touching] }
        });
        film.forces_n(speeds_m_s, strips).map(|f| f / self.demand.load_n)
    }

    /// The load gathered at [`POINTS`] places: the halves, by load, of the smooth rod and of the groove.
    pub(crate) fn places(&self, runner: &RunnerSpec, shape: &FreeShape) -> [Place; POINTS] {
        let grips = self.grips(runner);
        let mut places = [Place::default(); POINTS];
        let total: [f64; 2] =
            [false, true].map(|g| grips.iter().filter(|p| p.groove == g).map(|p| p.load_n).sum());
        let whole = total[0] + total[1];
        let mut gathered = [0.0; 2];
        for grip in &grips {
            let kind = usize::from(grip.groove);
            let rise_slope = shape.rise_slope(grip.at_m);
            let before = gathered[kind];
            gathered[kind] += grip.load_n;
            // what of this cell belongs to the front half
            let in_front = (0.5 * total[kind] - before).clamp(0.0, grip.load_n);
            for (half, part_n) in [(0, in_front), (1, grip.load_n - in_front)] {
                let p = &mut places[2 * kind + half];
                let held = part_n * grip.stiffness;
                p.load_share += part_n;
                p.stiffness += held;
                p.at_m += held * grip.at_m;
                p.rise_slope += held * rise_slope;
                p.saturation += part_n * grip.saturation;
                p.plough += part_n / grip.load_n * grip.plough_n;
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
    use crate::plough::RigidRod;
    use crate::runner::{Bow, IceState};

    #[test]
    fn conserves_load_over_the_places() {
        let (runner, ice) = (RunnerSpec::default(), IceState::at_temperature(-5.0, 0.25));
        let shape = FreeShape::of(&runner, Bow::even(3e-3)).expect("in range");
        for (load_n, curvature, centroid_m) in [(580.0, 0.0, 0.03), (2300.0, 0.04, -0.1), (60.0, 0.08, 0.2)] {
            let mut solver = ContactSolver::new(&runner, Bow::even(3e-3), &ice).expect("in range");
            let demand = Demand { load_n, ice_curvature_per_m: curvature, centroid_m };
            assert!(solver.solve(demand).is_balanced());
            let carried: f64 = solver.grips(&runner).iter().map(|g| g.load_n).sum();
            // the balance that the solver promises
            approx::assert_relative_eq!(carried, load_n, max_relative = 1e-3);
            let shares: f64 = solver.places(&runner, &shape).iter().map(|p| p.load_share).sum();
            approx::assert_relative_eq!(shares, 1.0, max_relative = 1e-12);
        }
    }

    #[test]
    fn exact_means_of_an_elliptic_leading_half() {
        // deepest at 0, leading edge at 1, width and load in proportion to sqrt(1 - x^2); midpoints, 1e5 of them
        let n = 100_000;
        let (mut load, mut ahead, mut width) = (0.0, 0.0, 0.0);
        for i in 0..n {
            let x = (f64::from(i) + 0.5) / f64::from(n);
            let w = (1.0 - x * x).sqrt();
            load += w;
            ahead += w * (1.0 - x);
            width += w * w;
        }
        approx::assert_relative_eq!(MEAN_LEAD, ahead / load, max_relative = 1e-6);
        approx::assert_relative_eq!(MEAN_WIDTH, width / load, max_relative = 1e-6);
    }

    #[test]
    fn exact_touch_that_counts_and_what_the_ice_forgets() {
        // by hand, with a tenth of the hardness and 20 mm as assumed
        approx::assert_relative_eq!(loaded_m(0.01, 0.05), 0.005, max_relative = 1e-12);
        assert_eq!(loaded_m(0.01, 0.5), 0.01);
        approx::assert_relative_eq!(lead_behind_m(0.02, 0.01, 0.01), 0.015, max_relative = 1e-12);
        assert_eq!(lead_behind_m(0.02, 0.0, 0.02), 0.0);
    }

    #[test]
    fn exact_grip_of_a_stiff_rod_is_that_of_the_closed_form() {
        // a rod too stiff to bend, bent to a circle of 20 m by its own free bow, on even, hard-edged ice that neither
        // melts (too slow a film) nor springs back: the rigid rod of `plough.rs`
        let pin_m = RunnerSpec::default().pin_m;
        let runner = RunnerSpec {
            youngs_modulus_pa: 1e12,
            mount_stiffness_n_per_m: 1e9,
            groove_start_m: -0.42,
            free_bow_m: pin_m * pin_m / (2.0 * 80.0),
            ..RunnerSpec::default()
        };
        let ice =
            IceState { unevenness_m: 0.0, youngs_modulus_pa: 1e11, ..IceState::at_temperature(-5.0, 0.0) };
        let mut solver = ContactSolver::new(&runner, Bow::even(0.0), &ice).expect("in range");
        let demand = Demand { load_n: 564.0, ice_curvature_per_m: 0.0, centroid_m: 0.0 };
        assert!(solver.solve(demand).is_balanced());
        let rod =
            RigidRod { load_n: 564.0, hardness_pa: ice.hardness_pa, bow_radius_m: 80.0, rod_radius_m: 8e-3 };
        let grips = solver.grips(&runner);
        let mean = |of: fn(&Grip) -> f64| grips.iter().map(|g| g.load_n * of(g)).sum::<f64>() / 564.0;
        // melting holds the contact up further back than a rod that only cuts: tens of per cent, see below
        let long = mean(|g| g.stiffness) / grip_stiffness(rod.half_length_m(), 8e-3);
        assert!(long > 0.9 && long < 2.0, "{long}");
        let deep = mean(|g| g.saturation) / grip_saturation(rod.depth_m(), 8e-3);
        assert!(deep > 0.8 && deep < 1.5, "{deep}");
    }
}
