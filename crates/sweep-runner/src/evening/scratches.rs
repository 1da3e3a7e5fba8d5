//! Scratches of a runner as roughness: by their depth and size, since the model of the ice knows no more of them.

/// A scratch as somebody measured or guessed it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scratch {
    /// Depth (m).
    pub(crate) depth_m: f64,
    /// Width at the surface (m).
    pub(crate) width_m: f64,
    /// Length (m).
    pub(crate) length_m: f64,
    /// Whether it runs across the runner, not along it.
    pub(crate) across: bool,
}

/// Width of the band of a runner that touches (m), assumed.
pub(crate) const BAND_WIDTH_M: f64 = 4e-3;
/// Length of the band of a runner that touches (m), assumed: between flat ice and the tightest corner.
pub(crate) const BAND_LENGTH_M: f64 = 0.5;

impl Scratch {
    /// What it is called.
    pub(crate) fn words(&self) -> String {
        let way = if self.across { "across" } else { "along" };
        format!("{:.0} um deep, {:.0} mm {way}", 1e6 * self.depth_m, 1e3 * self.length_m)
    }
}

/// Roughness of a runner with scratches.
///
/// ```text
/// R^2 = R_0^2 + sum(f d^2 / 3)        f = w l / (b L)
/// ```
///
/// | symbol | name | unit |
/// |---|---|---|
/// | R, R_0 | `rough_m`, RMS roughness with and without scratches | m |
/// | d, w, l | `depth_m`, `width_m`, `length_m`; l across the runner at most b | m |
/// | b, L | [`BAND_WIDTH_M`], [`BAND_LENGTH_M`] | m |
///
/// Valid for: scratches of a triangular profile that cover a small share f of the band that touches, all of them inside
/// it. Assumes: that a scratch acts as roughness of the same mean square, whatever its direction; practice holds one
/// across the runner for worse (opinion), and a burr at its edge is not in it. Source: mean square of a triangle; that it
/// acts as roughness is assumed. Checked by: `exact_roughness_of_scratches_by_hand`.
pub(crate) fn rough_with_scratches_m(rough_m: f64, scratches: &[Scratch]) -> f64 {
    let share = |s: &Scratch| {
        let length_m = if s.across { s.length_m.min(BAND_WIDTH_M) } else { s.length_m.min(BAND_LENGTH_M) };
        s.width_m * length_m / (BAND_WIDTH_M * BAND_LENGTH_M)
    };
    let more: f64 = scratches.iter().map(|s| share(s) * s.depth_m * s.depth_m / 3.0).sum();
    (rough_m * rough_m + more).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_roughness_of_scratches_by_hand() {
        let along = Scratch { depth_m: 20e-6, width_m: 40e-6, length_m: 0.03, across: false };
        // f = 40e-6 * 0.03 / (4e-3 * 0.5) = 6e-4; f d^2 / 3 = 8e-14; 0.25 um squared is 6.25e-14; rounding
        approx::assert_abs_diff_eq!(
            rough_with_scratches_m(0.25e-6, &[along]),
            (14.25e-14f64).sqrt(),
            epsilon = 1e-18
        );
        // across, no more than the 4 mm of the band are on the ice: 4/30 of it
        let across = Scratch { across: true, ..along };
        let both = (6.25e-14 + 8e-14 + 8e-14 * 4.0 / 30.0f64).sqrt();
        approx::assert_abs_diff_eq!(rough_with_scratches_m(0.25e-6, &[along, across]), both, epsilon = 1e-18);
        assert_eq!(rough_with_scratches_m(0.25e-6, &[]), 0.25e-6);
        assert_eq!(across.words(), "20 um deep, 30 mm across");
    }
}
