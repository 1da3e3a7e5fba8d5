//! The shape a runner takes on its pins and bow screws when nothing touches it.

use crate::beam::BentLine;
use crate::rig::Rig;
use crate::runner::{Bow, Fault, IceState, RunnerSpec, faults};

/// Shape of a runner off the ice, with the forces that hold it.
///
/// ```text
/// E I w'''' = sum_j f_j delta(x - x_j),   f_j = k (a_j - w(x_j))
/// ```
///
/// | symbol | meaning | unit |
/// |---|---|---|
/// | w | deflection of the rod from its own shape, towards the ice | m |
/// | a_j | advance of a screw from the rod that nothing bends; 0 at the pins | m |
/// | k | stiffness of frame and mount | N/m |
///
/// Valid for: small slopes; linear in the two advances.
/// Assumes: mounts that push and pull alike.
/// Source: Euler-Bernoulli beam theory; mount stiffness assumed.
/// Checked by: `exact_stiff_mounts_give_the_four_point_shape`, `exact_free_shape_is_linear`,
/// `exact_free_forces_balance`.
#[derive(Clone, Debug, PartialEq)]
pub struct FreeShape {
    runner: RunnerSpec,
    bow: Bow,
    unit_front: BentLine,
    unit_rear: BentLine,
    line: BentLine,
}

impl FreeShape {
    /// Shape of `runner` with its screws advanced by `bow`; all faults at once otherwise.
    pub fn of(runner: &RunnerSpec, bow: Bow) -> Result<Self, Vec<Fault>> {
        // the ice does not matter for the free shape
        let ice = IceState::at_temperature(0.0, 0.0);
        let found = faults(runner, bow, &ice);
        if !found.is_empty() {
            return Err(found);
        }
        let unit = |bow: Bow| {
            let rig = Rig::of_runner(runner, bow, &ice);
            let dofs = rig.free_dofs();
            BentLine::new(rig.nodes_m, dofs)
        };
        let unit_front = unit(Bow { front_m: 1.0, rear_m: 0.0 });
        let unit_rear = unit(Bow { front_m: 0.0, rear_m: 1.0 });
        let dofs = unit_front
            .dofs()
            .iter()
            .zip(unit_rear.dofs())
            .map(|(f, r)| bow.front_m * f + bow.rear_m * r)
            .collect();
        let line = BentLine::new(unit_front.nodes_m().to_vec(), dofs);
        Ok(FreeShape { runner: runner.clone(), bow, unit_front, unit_rear, line })
    }

    /// Deflection per metre of advance of the front screw `[-]`.
    pub fn front_influence(&self) -> &BentLine {
        &self.unit_front
    }

    /// Deflection per metre of advance of the rear screw `[-]`.
    pub fn rear_influence(&self) -> &BentLine {
        &self.unit_rear
    }

    /// How far the rod stands towards the ice at `x_m`, from the straight line through the frame's
    /// unadvanced mounts (m); the sweep of the tips and the free bow count.
    pub fn drop_m(&self, x_m: f64) -> f64 {
        self.line.deflection_m(x_m) - self.runner.unbent_m(x_m)
    }

    /// Slope dz/dx of the runner at `x_m`, z away from the ice `[-]`.
    pub(crate) fn rise_slope(&self, x_m: f64) -> f64 {
        self.runner.unbent_slope(x_m) - self.line.slope(x_m)
    }

    /// Curvature d2z/dx2 by which the screws bend the rod at `x_m`, z away from the ice (1/m).
    pub fn rise_curvature_per_m(&self, x_m: f64) -> f64 {
        -self.line.curvature_per_m(x_m)
    }

    /// Forces of front and rear screw on the rod, towards the ice positive (N).
    pub fn screw_forces_n(&self) -> [f64; 2] {
        let (k, x) = (self.runner.mount_stiffness_n_per_m, self.runner.screw_m);
        [
            k * (self.bow.front_m - self.line.deflection_m(x)),
            k * (self.bow.rear_m - self.line.deflection_m(-x)),
        ]
    }

    /// Greatest bending stress (Pa).
    pub fn greatest_stress_pa(&self) -> f64 {
        let ei = self.runner.rod().bending_stiffness_n_m2();
        let curvature =
            self.line.nodes_m().iter().fold(0.0, |top: f64, &x| top.max(self.line.curvature_per_m(x).abs()));
        self.runner.rod().bending_stress_pa(ei * curvature)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::beam::SupportedRod;

    #[test]
    fn exact_stiff_mounts_give_the_four_point_shape() {
        let runner = RunnerSpec { mount_stiffness_n_per_m: 1e9, ..RunnerSpec::default() };
        let free = FreeShape::of(&runner, Bow::even(1e-3)).expect("in range");
        // a on both screws, rigid mounts: F = 6 EI a / (d^2 (3 L - 4 d)), d = 0.16, L = 0.72
        let (d, l) = (0.16, 0.72);
        let force = 6.0 * runner.rod().bending_stiffness_n_m2() * 1e-3 / (d * d * (3.0 * l - 4.0 * d));
        // mounts of 1e9 N/m against a rod of 1e5 N/m
        approx::assert_relative_eq!(free.screw_forces_n()[0], force, max_relative = 4e-4);
        let line = SupportedRod {
            rod: runner.rod(),
            supports_m: vec![-0.36, 0.36],
            loads_m_n: vec![(-0.2, force), (0.2, force)],
        }
        .deflect()
        .expect("held");
        approx::assert_relative_eq!(free.drop_m(0.0), line.deflection_m(0.0), max_relative = 4e-4);
        approx::assert_relative_eq!(free.rise_slope(0.3), -line.slope(0.3), max_relative = 4e-4);
    }

    #[test]
    fn exact_free_shape_is_linear() {
        let runner = RunnerSpec::default();
        let a = FreeShape::of(&runner, Bow { front_m: 2e-3, rear_m: 3e-3 }).expect("in range");
        for x in [-0.4, -0.3, -0.1, 0.0, 0.25, 0.41] {
            let sum = 2e-3 * a.front_influence().deflection_m(x) + 3e-3 * a.rear_influence().deflection_m(x)
                - runner.unbent_m(x);
            // rounding
            approx::assert_abs_diff_eq!(a.drop_m(x), sum, epsilon = 1e-15);
            // the mirrored runner
            let mirrored = FreeShape::of(&runner, Bow { front_m: 3e-3, rear_m: 2e-3 }).expect("in range");
            // conditioning of the beam matrix
            approx::assert_abs_diff_eq!(a.drop_m(x), mirrored.drop_m(-x), epsilon = 1e-11);
        }
    }

    #[test]
    fn exact_free_forces_balance() {
        let free =
            FreeShape::of(&RunnerSpec::default(), Bow { front_m: 1e-3, rear_m: 4e-3 }).expect("in range");
        let pin_force_n = |x: f64| -free.runner.mount_stiffness_n_per_m * free.line.deflection_m(x);
        let ([sf, sr], [pf, pr]) = (free.screw_forces_n(), [0.36, -0.36].map(pin_force_n));
        // conditioning of the beam matrix, forces of hundreds of newtons
        approx::assert_abs_diff_eq!(sf + sr + pf + pr, 0.0, epsilon = 1e-5);
        approx::assert_abs_diff_eq!((sf - sr) * 0.2 + (pf - pr) * 0.36, 0.0, epsilon = 1e-5);
    }

    #[test]
    fn pins_one_millimetre_of_advance_bows_the_middle_by_1_12_from_the_pins() {
        let free = FreeShape::of(&RunnerSpec::default(), Bow::even(1e-3)).expect("in range");
        approx::assert_abs_diff_eq!(free.drop_m(0.0) - free.drop_m(0.36), 1.12e-3, epsilon = 0.005e-3);
    }
}
