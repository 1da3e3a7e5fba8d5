//! The shape of a runner for any advance of its screws, also one that no set-up may have: a fit may land there.

use ice_contact::beam::BentLine;
use ice_contact::free_shape::FreeShape;
use ice_contact::runner::{Bow, Fault, RunnerSpec};

/// Shapes per advance of each screw, free of the ice.
///
/// ```text
/// w(x) = a_f u_f(x) + a_r u_r(x)        sigma = E r |w''|
/// ```
///
/// | symbol | meaning | unit |
/// |---|---|---|
/// | w | drop of the rod towards the ice, from its own shape when nothing bends it | m |
/// | a_f, a_r | advance of front and rear screw | m |
/// | u_f, u_r | drop per advance | - |
/// | sigma | greatest bending stress | Pa |
///
/// Valid for: small slopes. Assumes: mounts that push and pull alike. Source: linearity of the
/// Euler-Bernoulli beam. Checked by: `exact_stress_beyond_the_limits_goes_on_in_proportion`.
#[derive(Clone, Debug)]
pub struct UnitShape {
    runner: RunnerSpec,
    unit: FreeShape,
}

impl UnitShape {
    /// Shapes of a runner; every fault of its numbers otherwise.
    pub fn of(runner: &RunnerSpec) -> Result<Self, Vec<Fault>> {
        Ok(UnitShape { runner: runner.clone(), unit: FreeShape::of(runner, Bow::even(0.0))? })
    }

    /// Drop per advance of the front and of the rear screw.
    pub(crate) fn influence(&self) -> [&BentLine; 2] {
        [self.unit.front_influence(), self.unit.rear_influence()]
    }

    /// Drop of the bent rod at `x_m`, without the shape that it has unbent (m).
    pub fn drop_m(&self, bow: Bow, x_m: f64) -> f64 {
        let [front, rear] = self.influence();
        bow.front_m * front.deflection_m(x_m) + bow.rear_m * rear.deflection_m(x_m)
    }

    /// Standard error of [`UnitShape::drop_m`] for a covariance of the two advances (m).
    pub fn drop_error_m(&self, covariance_m2: &[[f64; 2]; 2], x_m: f64) -> f64 {
        let [f, r] = self.influence().map(|line| line.deflection_m(x_m));
        let c = covariance_m2;
        (f * f * c[0][0] + 2.0 * f * r * c[0][1] + r * r * c[1][1]).max(0.0).sqrt()
    }

    /// How far the screws push the middle below the line through the pins, and its standard error for a covariance of
    /// the two advances (m).
    pub fn middle_below_pins_m(&self, bow: Bow, covariance_m2: &[[f64; 2]; 2]) -> [f64; 2] {
        let pin_m = self.runner.pin_m;
        let per_advance = self.influence().map(|line| {
            line.deflection_m(0.0) - 0.5 * (line.deflection_m(pin_m) + line.deflection_m(-pin_m))
        });
        let ([f, r], c) = (per_advance, covariance_m2);
        let variance = f * f * c[0][0] + 2.0 * f * r * c[0][1] + r * r * c[1][1];
        [f * bow.front_m + r * bow.rear_m, variance.max(0.0).sqrt()]
    }

    /// Mean curvature from one place to another, per advance of front and rear screw (1/m2).
    pub(crate) fn curvature_per_advance(&self, from_m: f64, to_m: f64) -> [f64; 2] {
        self.influence().map(|line| (line.slope(from_m) - line.slope(to_m)) / (to_m - from_m))
    }

    /// Greatest bending stress (Pa), off the ice.
    pub(crate) fn greatest_stress_pa(&self, bow: Bow) -> f64 {
        let [front, rear] = self.influence();
        let curvature =
            |x: f64| (bow.front_m * front.curvature_per_m(x) + bow.rear_m * rear.curvature_per_m(x)).abs();
        let rod = self.runner.rod();
        let greatest = front.nodes_m().iter().fold(0.0, |top: f64, &x| top.max(curvature(x)));
        rod.bending_stress_pa(rod.bending_stiffness_n_m2() * greatest)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_the_middle_below_the_pins_is_that_of_the_shape() {
        let runner = RunnerSpec { free_bow_m: 0.3e-3, ..RunnerSpec::default() };
        let bow = Bow { front_m: 2e-3, rear_m: 1e-3 };
        let shape = FreeShape::of(&runner, bow).expect("in range");
        // equal errors that hang together fully: the error of an even bow of that size
        let c = [[4e-10; 2]; 2];
        let [got, error] = UnitShape::of(&runner).expect("in range").middle_below_pins_m(bow, &c);
        // the shape has the free bow as well
        let whole = shape.drop_m(0.0) - 0.5 * (shape.drop_m(0.36) + shape.drop_m(-0.36));
        approx::assert_abs_diff_eq!(got, whole - 0.3e-3, epsilon = 1e-12); // rounding
        // 1.12 mm for a millimetre of even advance, pinned in `ice_contact::free_shape`
        approx::assert_abs_diff_eq!(error, 1.12 * 2e-5, epsilon = 1e-7);
    }

    #[test]
    fn exact_stress_beyond_the_limits_goes_on_in_proportion() {
        let runner = RunnerSpec::default();
        let unit = UnitShape::of(&runner).expect("in range");
        let bow = Bow { front_m: 2e-3, rear_m: 1e-3 };
        let inside = FreeShape::of(&runner, bow).expect("in range").greatest_stress_pa();
        // rounding
        approx::assert_relative_eq!(unit.greatest_stress_pa(bow), inside, max_relative = 1e-12);
        // ten times as far, past every limit of a set-up, and backwards; rounding
        for times in [10.0, -10.0] {
            let far = Bow { front_m: times * bow.front_m, rear_m: times * bow.rear_m };
            approx::assert_relative_eq!(unit.greatest_stress_pa(far), 10.0 * inside, max_relative = 1e-12);
        }
    }
}
