//! What a runner is: rod, pins, bow screws, tips, groove; and the checks of its numbers.

use crate::foundation::Uneven;
use crate::rod::Rod;

/// A runner and how it is mounted. All places are measured from the middle, forward positive.
#[derive(Clone, Debug, PartialEq)]
pub struct RunnerSpec {
    /// Diameter of the rod (m).
    pub diameter_m: f64,
    /// Young's modulus of the steel (Pa).
    pub youngs_modulus_pa: f64,
    /// Yield stress of the steel (Pa).
    pub yield_stress_pa: f64,
    /// The pins stand this far before and behind the middle (m).
    pub pin_m: f64,
    /// The bow screws stand this far before and behind the middle (m).
    pub screw_m: f64,
    /// Stiffness of frame and mount at each pin and screw (N/m).
    pub mount_stiffness_n_per_m: f64,
    /// The rod ends this far before and behind the middle (m).
    pub tip_m: f64,
    /// Radius of the sweep of the tips beyond the pins (m).
    pub tip_radius_m: f64,
    /// The groove runs from here backwards (m).
    pub groove_start_m: f64,
    /// Radius of the two edges of the groove (m).
    pub groove_edge_radius_m: f64,
    /// Width of the groove, from edge to edge (m).
    pub groove_width_m: f64,
    /// RMS roughness of steel and ice together (m); 0 is smooth.
    pub roughness_m: f64,
    /// Friction of steel asperities on ice `[-]`.
    pub boundary_friction: f64,
    /// Bow of the rod when nothing bends it: middle against pins, towards the ice (m).
    pub free_bow_m: f64,
}

impl Default for RunnerSpec {
    /// A 16 mm rod [federation rule]; mounts, tips, edges and roughness are assumed.
    fn default() -> Self {
        RunnerSpec {
            diameter_m: 0.016,
            youngs_modulus_pa: 200e9,
            yield_stress_pa: 600e6,
            pin_m: 0.36,
            screw_m: 0.20,
            mount_stiffness_n_per_m: 6e5,
            tip_m: 0.42,
            tip_radius_m: 1.0,
            groove_start_m: 0.0,
            groove_edge_radius_m: 0.3e-3,
            groove_width_m: 1e-3,
            roughness_m: 0.25e-6,
            boundary_friction: 0.05,
            free_bow_m: 0.0,
        }
    }
}

/// Bow of one runner: advance of each screw against the runner that nothing bends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bow {
    /// Front screw (m).
    pub front_m: f64,
    /// Rear screw (m).
    pub rear_m: f64,
}

impl Bow {
    /// The same advance at both screws (m).
    pub fn even(advance_m: f64) -> Self {
        Bow { front_m: advance_m, rear_m: advance_m }
    }
}

/// Speed at which the contacts of a descent are solved (m/s): that of most of it. Assumed; the film's friction follows
/// the speed.
pub const CONTACT_SPEED_M_S: f64 = 28.0;

/// The ice a runner slides on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct IceState {
    /// Temperature of the ice surface (degC, at most 0).
    pub temperature_c: f64,
    /// Dynamic hardness (Pa).
    pub hardness_pa: f64,
    /// Share of the ploughing force that the ice springing back behind gives back `[-]`, 0..1.
    pub recovered_share: f64,
    /// Young's modulus of the ice (Pa).
    pub youngs_modulus_pa: f64,
    /// Height of the ice along the path about its mean, root mean square (m).
    pub unevenness_m: f64,
    /// Distance from crest to crest of that (m).
    pub wave_m: f64,
    /// Speed at which contacts are solved (m/s): melting hangs on it. That of most of a descent by default.
    pub contact_speed_m_s: f64,
}

impl IceState {
    /// Ice at a temperature (degC), its hardness from [`crate::hardness::ice_hardness_pa`]; modulus from handbooks, waves
    /// assumed.
    pub fn at_temperature(temperature_c: f64, recovered_share: f64) -> Self {
        IceState {
            temperature_c,
            hardness_pa: crate::hardness::ice_hardness_pa(temperature_c),
            recovered_share,
            youngs_modulus_pa: 9e9,
            unevenness_m: 30e-6,
            wave_m: 0.10,
            contact_speed_m_s: CONTACT_SPEED_M_S,
        }
    }

    /// The waves of the ice; evenly spread heights have sqrt 3 times their RMS to either side.
    pub(crate) fn waves(&self) -> Uneven {
        Uneven { half_m: 3.0_f64.sqrt() * self.unevenness_m, wave_m: self.wave_m }
    }
}

/// A number of the set-up that cannot be used: what, got, allowed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{field} is {got}; allowed {least} to {greatest}")]
pub struct Fault {
    /// The field.
    pub field: &'static str,
    /// What was given, in SI units.
    pub got: f64,
    /// Least allowed value.
    pub least: f64,
    /// Greatest allowed value.
    pub greatest: f64,
}

/// Gathers every number outside its limits.
#[derive(Default)]
struct Checker(Vec<Fault>);

impl Checker {
    fn within(&mut self, field: &'static str, got: f64, least: f64, greatest: f64) {
        if !(least..=greatest).contains(&got) {
            self.0.push(Fault { field, got, least, greatest });
        }
    }
}

/// A rod that is bent by more when nothing presses it is no runner (m). Assumed.
const MOST_FREE_BOW_M: f64 = 5e-3;

/// A bow screw stands at least this far inside its pin (m). Assumed.
pub const SCREW_TO_PIN_M: f64 = 0.02;
/// A rod ends at most this far beyond its pin (m). Assumed.
pub const MOST_TIP_M: f64 = 0.3;
/// Rounding of sums of lengths (m).
const ROUNDING_M: f64 = 1e-9;

/// Every fault of runner, bow and ice together; empty when all can be used.
pub fn faults(runner: &RunnerSpec, bow: Bow, ice: &IceState) -> Vec<Fault> {
    let mut check = Checker::default();
    check.within("diameter_m", runner.diameter_m, 4e-3, 0.05);
    check.within("youngs_modulus_pa", runner.youngs_modulus_pa, 1e9, 1e12);
    check.within("yield_stress_pa", runner.yield_stress_pa, 1e7, 5e9);
    check.within("screw_m", runner.screw_m, 0.02, 1.0);
    check.within("pin_m", runner.pin_m, runner.screw_m + SCREW_TO_PIN_M - ROUNDING_M, 1.2);
    check.within("tip_m", runner.tip_m, runner.pin_m, runner.pin_m + MOST_TIP_M + ROUNDING_M);
    check.within("tip_radius_m", runner.tip_radius_m, 0.05, 100.0);
    check.within("mount_stiffness_n_per_m", runner.mount_stiffness_n_per_m, 1e4, 1e9);
    check.within("groove_start_m", runner.groove_start_m, -runner.tip_m, runner.tip_m);
    check.within("groove_edge_radius_m", runner.groove_edge_radius_m, 1e-5, 0.02);
    check.within("groove_width_m", runner.groove_width_m, 0.0, 16e-3);
    check.within("roughness_m", runner.roughness_m, 0.0, 1e-5);
    check.within("boundary_friction", runner.boundary_friction, 0.0, 1.0);
    check.within("free_bow_m", runner.free_bow_m, -MOST_FREE_BOW_M, MOST_FREE_BOW_M);
    check.within("bow.front_m", bow.front_m, 0.0, 8e-3);
    check.within("bow.rear_m", bow.rear_m, 0.0, 8e-3);
    check.within("temperature_c", ice.temperature_c, -40.0, 0.0);
    check.within("hardness_pa", ice.hardness_pa, 1e6, 1e8);
    check.within("recovered_share", ice.recovered_share, 0.0, 1.0);
    check.within("ice.youngs_modulus_pa", ice.youngs_modulus_pa, 1e8, 1e11);
    check.within("unevenness_m", ice.unevenness_m, 0.0, 1e-3);
    check.within("wave_m", ice.wave_m, 5e-3, 1.0);
    check.0
}

impl RunnerSpec {
    /// Height of the edges of the groove above the lowest line of the smooth rod (m).
    ///
    /// ```text
    /// z = g^2 / (8 r)
    /// ```
    ///
    /// with g (m) the width of the groove and r (m) the radius of the rod. Valid for: grooves narrow against the rod.
    /// Source: sagitta of the round section. Checked by: `exact_edges_of_the_groove_stand_higher`.
    pub(crate) fn edge_height_m(&self) -> f64 {
        self.groove_width_m * self.groove_width_m / (4.0 * self.diameter_m)
    }

    /// The rod itself.
    pub fn rod(&self) -> Rod {
        Rod { diameter_m: self.diameter_m, youngs_modulus_pa: self.youngs_modulus_pa }
    }

    /// Height of the rod at `x_m` when nothing bends it, away from the ice, from the line through its pins (m): the
    /// sweep of the tips, and its free bow as one parabola over its whole length.
    ///
    /// ```text
    /// z = sweep - b (1 - x^2 / x_pin^2)
    /// sweep = (|x| - x_pin)^2 / (2 R_tip)   beyond the pins, 0 between them
    /// ```
    ///
    /// | symbol | name | unit |
    /// |---|---|---|
    /// | b | `free_bow_m` | m |
    /// | x_pin | `pin_m` | m |
    /// | R_tip | `tip_radius_m` | m |
    ///
    /// Valid for: small slopes. Assumes: a free bow of even curvature. Source: assumed.
    /// Checked by: `exact_a_free_bow_is_ice_that_is_less_hollow`.
    pub fn unbent_m(&self, x_m: f64) -> f64 {
        let beyond = (x_m.abs() - self.pin_m).max(0.0);
        let along = x_m / self.pin_m;
        beyond * beyond / (2.0 * self.tip_radius_m) - self.free_bow_m * (1.0 - along * along)
    }

    /// Slope of [`RunnerSpec::unbent_m`] `[-]`.
    pub(crate) fn unbent_slope(&self, x_m: f64) -> f64 {
        let sweep = (x_m.abs() - self.pin_m).max(0.0) / self.tip_radius_m * x_m.signum();
        sweep + 2.0 * self.free_bow_m * x_m / (self.pin_m * self.pin_m)
    }

    /// Nodes for beam elements no longer than `length_m`, with one at each pin, screw, tip and
    /// at the start of the groove (m, increasing).
    pub(crate) fn nodes_m(&self, length_m: f64) -> Vec<f64> {
        let (tip, pin, screw) = (self.tip_m, self.pin_m, self.screw_m);
        let mut stops = vec![-tip, -pin, -screw, screw, pin, tip, self.groove_start_m];
        stops.sort_by(f64::total_cmp);
        stops.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        let mut nodes = vec![stops[0]];
        for pair in stops.windows(2) {
            let n = ((pair[1] - pair[0]) / length_m - 1e-9).ceil().max(1.0);
            for i in 1..=n as usize {
                nodes.push(pair[0] + (pair[1] - pair[0]) * i as f64 / n);
            }
        }
        nodes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_a_free_bow_is_ice_that_is_less_hollow() {
        use crate::contact::{ContactSolver, Demand};
        use crate::patches::Contact;
        let ice = IceState::at_temperature(-6.0, 0.25);
        let bow = Bow { front_m: 1.2e-3, rear_m: 0.8e-3 };
        for (free_bow_m, ice_curvature_per_m) in [(0.3e-3, 0.0), (-0.2e-3, 0.02), (0.4e-3, 0.035)] {
            let bent = RunnerSpec { free_bow_m, ..RunnerSpec::default() };
            let straight = RunnerSpec::default();
            // b (1 - x^2 / p^2) towards the ice, against k x^2 / 2 of the ice: only k - 2 b / p^2 counts
            let less_per_m = ice_curvature_per_m - 2.0 * free_bow_m / bent.pin_m.powi(2);
            let [a, b] = [(&bent, ice_curvature_per_m), (&straight, less_per_m)].map(|(runner, k)| {
                let mut solver = ContactSolver::new(runner, bow, &ice).expect("in range");
                let demand = Demand { load_n: 500.0, ice_curvature_per_m: k, centroid_m: -0.005 };
                assert!(solver.solve(demand).is_balanced());
                Contact::of(&solver, runner)
            });
            // the solver ends within 1e-6 of the load, from another start
            approx::assert_abs_diff_eq!(a.touch_span_m, b.touch_span_m, epsilon = 1e-5);
            approx::assert_abs_diff_eq!(a.outside_share, b.outside_share, epsilon = 1e-4);
            approx::assert_abs_diff_eq!(a.groove_share, b.groove_share, epsilon = 1e-4);
        }
    }

    #[test]
    fn exact_edges_of_the_groove_stand_higher() {
        let runner = RunnerSpec { groove_width_m: 4e-3, ..RunnerSpec::default() };
        // by hand: 8 mm - sqrt(64 - 4) mm = 0.2540 mm; the parabola leaves 1.6 % of that
        let round_m = 8e-3 - (64e-6_f64 - 4e-6).sqrt();
        approx::assert_relative_eq!(runner.edge_height_m(), round_m, max_relative = 0.02);
    }

    #[test]
    fn exact_the_slope_of_the_unbent_rod_is_its_derivative() {
        let runner = RunnerSpec { free_bow_m: 0.5e-3, ..RunnerSpec::default() };
        // middle against pins, towards the ice
        approx::assert_abs_diff_eq!(runner.unbent_m(0.36) - runner.unbent_m(0.0), 0.5e-3, epsilon = 1e-15); // rounding
        for x in [-0.41, -0.3, 0.0, 0.1, 0.4] {
            let h = 1e-6;
            let difference = (runner.unbent_m(x + h) - runner.unbent_m(x - h)) / (2.0 * h);
            // rounding over the step
            approx::assert_abs_diff_eq!(runner.unbent_slope(x), difference, epsilon = 1e-9);
        }
    }

    #[test]
    fn exact_all_faults_are_named_at_once() {
        let runner = RunnerSpec { diameter_m: -1.0, groove_start_m: 0.5, ..RunnerSpec::default() };
        let ice =
            IceState { temperature_c: 3.0, hardness_pa: 17.7e6, ..IceState::at_temperature(-5.0, f64::NAN) };
        let found: Vec<_> = faults(&runner, Bow::even(9e-3), &ice).iter().map(|f| f.field).collect();
        let wanted =
            ["diameter_m", "groove_start_m", "bow.front_m", "bow.rear_m", "temperature_c", "recovered_share"];
        assert_eq!(found, wanted);
        assert!(
            faults(&RunnerSpec::default(), Bow::even(1e-3), &IceState::at_temperature(-5.0, 0.25)).is_empty()
        );
    }
}
