//! Local slopes: what one spoken step of a key moves at the finish, with its error.
//!
//! ```text
//! slope = T(x + h/2) - T(x - h/2)        error = |slope - (T(x + h) - T(x - h))/2| + e(x + h/2) + e(x - h/2)
//! ```
//!
//! h is the step, T the finish time, e its numerical error. The first part of the error tells how far the times
//! are from a straight line over two steps. *Checked by* `exact_slopes_on_the_incline`.

use crate::study::axes::{Axis, quantity};
use crate::study::file::StudyModel;
use crate::study::levels::Levels;
use crate::study::quantity_values::base_value;
use sled_dynamics::setup::Setup;
use track_geometry::track::Track;

/// Where the cases of an axis lie, in steps from the base set-up, after the base itself.
pub(crate) const SIDES: [f64; 4] = [-1.0, -0.5, 0.5, 1.0];

/// The steps in which people speak: key, step in its unit, and whether that is a share of the base value.
const SPOKEN: [(&str, f64, bool); 7] = [
    ("runners.bow_mm", 0.1, false),
    ("sled.ballast_kg", 1.0, false),
    ("athlete.mass_kg", 1.0, false),
    ("air.drag_area_m2", 0.01, true),
    ("ice.temperature_c", 1.0, false),
    ("air.pressure_hpa", 10.0, false),
    ("push.top_sprint_speed_m_s", 0.1, false),
];

/// Axes in spoken steps: 0.1 mm of bow, 1 kg, 1 % of drag area, 1 K of ice, 10 hPa, 0.1 m/s at the push; those
/// that the model knows and the base set-up leaves room for.
pub(crate) fn spoken_axes(model: StudyModel, track: &Track, setup: &Setup) -> Vec<Axis> {
    let axis = |(path, step, share): (&str, f64, bool)| {
        let quantity = quantity(path).ok().filter(|q| model.knows(q))?;
        let base = base_value(&quantity, track, setup)?;
        let step = if share { step * base } else { step };
        let (least, most) = quantity.limits()?;
        (base - step >= least && base + step <= most).then_some(Axis { quantity, levels: Levels::Step(step) })
    };
    SPOKEN.into_iter().filter_map(axis).collect()
}

/// What one step of an axis moves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slope {
    /// Change of the finish time for one step (s).
    pub per_step_s: f64,
    /// Its error (s).
    pub error_s: f64,
}

/// Slopes from the finish times (s) and their numerical errors (s) of the cases of a study of slopes, axis by
/// axis; none where a case has no time.
pub fn slopes(times: &[Option<(f64, f64)>]) -> Vec<Option<Slope>> {
    let of = |sides: &[Option<(f64, f64)>]| {
        let [Some((low, _)), Some((a, ea)), Some((b, eb)), Some((high, _))] = sides else { return None };
        let per_step_s = b - a;
        let error_s = (per_step_s - 0.5 * (high - low)).abs() + ea + eb;
        Some(Slope { per_step_s, error_s })
    };
    times.get(1..).unwrap_or_default().chunks_exact(SIDES.len()).map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_slope_of_a_parabola_and_its_error() {
        // T = 50 + 0.3 x + 0.1 x^3 about 0 in steps of 1: T(1/2) - T(-1/2) = 0.325, (T(1) - T(-1))/2 = 0.4
        let t = |x: f64| Some((50.0 + 0.3 * x + 0.1 * x.powi(3), 1e-4));
        let made = slopes(&[t(0.0), t(-1.0), t(-0.5), t(0.5), t(1.0)]);
        let slope = made[0].unwrap();
        // rounding of times near 50
        assert!((slope.per_step_s - 0.325).abs() < 1e-13 && (slope.error_s - 0.0752).abs() < 1e-13);
        assert_eq!(slopes(&[t(0.0), t(-1.0), None, t(0.5), t(1.0)]), [None]);
        assert!(slopes(&[]).is_empty());
    }
}
