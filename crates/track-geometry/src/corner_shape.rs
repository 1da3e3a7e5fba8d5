//! How a corner of a corner list tightens and opens: steepness, curvature and banking.
//!
//! Over a transition of length T the ice is rotated up by a quintic smoothstep, and the
//! curvature is what the rotated ice carries at the design speed:
//!
//! ```text
//! S(x)     = x^3 (10 - 15 x + 6 x^2)          x = distance / T, 0..1
//! kappa(s) = (1/R) tan(phi S) / tan(phi)      phi = atan(v^2 / (g R))
//! ```
//!
//! So the curvature begins and ends with no jump up to its second derivative, and the
//! ice is twisted evenly, not all at the beginning as it would be under a clothoid.
//! v is the design speed in the middle of the corner, g standard gravity: a rule of
//! design, no force of a descent. Assumed; common practice only in that transitions are
//! clothoid-like.

use crate::corner_list::ListedCorner;

/// Standard gravity (m/s2), used only to bank a corner for its design speed.
pub(crate) const STANDARD_GRAVITY_M_S2: f64 = 9.80665;

/// Quintic smoothstep: 0 below 0, 1 above 1, with two continuous derivatives.
pub(crate) fn smoothstep(x: f64) -> f64 {
    let x = x.clamp(0.0, 1.0);
    x * x * x * (10.0 - 15.0 * x + 6.0 * x * x)
}

/// Derivative of [`smoothstep`].
pub(crate) fn smoothstep_slope(x: f64) -> f64 {
    let x = x.clamp(0.0, 1.0);
    30.0 * (x * (1.0 - x)).powi(2)
}

/// Integral of [`smoothstep`] from 0.
pub(crate) fn smoothstep_integral(x: f64) -> f64 {
    let y = x.clamp(0.0, 1.0);
    y.powi(4) * (2.5 - 3.0 * y + y * y) + (x - 1.0).max(0.0)
}

/// A corner with its arc of full curvature, measured from its entry.
pub(crate) struct CornerShape<'a> {
    pub(crate) corner: &'a ListedCorner,
    pub(crate) arc_m: f64,
}

impl CornerShape<'_> {
    /// Length from entry to exit (m).
    pub(crate) fn length_m(&self) -> f64 {
        self.corner.transition_in_m + self.arc_m + self.corner.transition_out_m
    }

    /// Steepness from 0 on the straights to 1 at full banking [-], at `x_m` from the entry.
    pub(crate) fn steepness(&self, x_m: f64) -> f64 {
        let c = self.corner;
        smoothstep(x_m / c.transition_in_m) * smoothstep((self.length_m() - x_m) / c.transition_out_m)
    }

    /// Banking at full curvature and the design speed in the middle (rad, without sign).
    pub(crate) fn full_banking_rad(&self) -> f64 {
        let c = self.corner;
        let v2 = 0.5 * (c.design_speed_in_m_s.powi(2) + c.design_speed_out_m_s.powi(2));
        (v2 / (STANDARD_GRAVITY_M_S2 * c.radius_m)).atan()
    }

    /// Plan curvature without sign (1/m).
    pub(crate) fn curvature_per_m(&self, x_m: f64) -> f64 {
        let (phi, s) = (self.full_banking_rad(), self.steepness(x_m));
        let share = if phi > 1e-6 { (phi * s).tan() / phi.tan() } else { s };
        share / self.corner.radius_m
    }

    /// Square of the design speed (m2/s2): grows evenly from entry to exit.
    pub(crate) fn design_speed_squared_m2_s2(&self, x_m: f64) -> f64 {
        let c = self.corner;
        let (a, b) = (c.design_speed_in_m_s.powi(2), c.design_speed_out_m_s.powi(2));
        a + (b - a) * x_m / self.length_m()
    }

    /// Angle turned (rad) where `cos_grade` is the cosine of the grade angle at `x_m`.
    pub(crate) fn angle_rad(&self, cos_grade: impl Fn(f64) -> f64) -> f64 {
        let c = self.corner;
        let ends = [0.0, c.transition_in_m, c.transition_in_m + self.arc_m, self.length_m()];
        ends.windows(2).map(|w| simpson(w[0], w[1], 400, |x| self.curvature_per_m(x) * cos_grade(x))).sum()
    }
}

/// Simpson's rule over `parts` parts.
fn simpson(a: f64, b: f64, parts: u32, f: impl Fn(f64) -> f64) -> f64 {
    let h = (b - a) / f64::from(parts);
    let sum: f64 = (0..parts)
        .map(|i| {
            let x = a + f64::from(i) * h;
            f(x) + 4.0 * f(x + 0.5 * h) + f(x + h)
        })
        .sum();
    sum * h / 6.0
}
