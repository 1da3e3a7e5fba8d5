//! The radius of the groove's edges in the fitted model: what planned rides at a few radii take, section by section.
//!
//! ```text
//!   t_k(r)/t_k(r0) = 1 + (f/f0) (a_k u + b_k u^2),   u = ln(r/r0)
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | r, r0 | radius, that of the set-up | mm |
//! | f, f0 | friction factor, that of the set-up | - |
//! | t | time of section k on a planned ride, or speed at its end | s, m/s |
//! | a, b | `curves`, by least squares through the rides | - |
//!
//! *Valid for* radii of [`RADII_MM`]. *Assumes* that a radius changes friction, and by it the same share of a
//! section's time whatever drag and push. *Source*: planned rides. *Checked by* `order_edge_follows_planned_rides`.

use super::PRECISION;
use crate::commands::ridden_by;
use rayon::prelude::*;
use sled_dynamics::motion::descent::{Descent, Split};
use sled_dynamics::motion::pilot::Steering;
use sled_dynamics::motion::precision::Detail;
use sled_dynamics::setup::keys::{get, set};
use sweep_runner::rides::prepared::{Attempt, Prepared};

/// The key.
pub const EDGE: &str = "runners.groove_edge_radius_mm";
/// Radii that are ridden (mm): the range of the plausible set by even ratios.
pub const RADII_MM: [f64; 4] = [0.15, 0.24, 0.38, 0.6];

/// What an edge radius does to times and speeds, section by section.
#[derive(Clone, Debug)]
pub struct EdgeCurve {
    own_mm: f64,
    /// Of time and of speed: first and second coefficient `[-]`, one for each eye.
    curves: Vec<[[f64; 2]; 2]>,
}

impl EdgeCurve {
    /// From rides planned anew at each radius, warm from that of the set-up.
    pub fn new(own: &Prepared<'_>) -> Result<EdgeCurve, String> {
        let setup = own.ready.setup;
        let own_mm = get(setup, EDGE).ok_or("--fit edge: these runners have no groove")?;
        let ride = |radius_mm: &f64| -> Result<(f64, Descent), String> {
            let mut other = setup.clone();
            set(&mut other, EDGE, *radius_mm).map_err(|f| format!("{}: {}", f.key(), f.problem))?;
            other.pilot.lag_s = own.ride.lag_s();
            let why = |why: String| format!("--fit edge: with {EDGE} = {radius_mm}: {why}");
            let descent =
                ridden_by(own, &other).map_err(why)?.descent(&Attempt::perfect(), PRECISION, Detail::Bare);
            match descent.finish_time_s {
                Some(_) => Ok(((radius_mm / own_mm).ln(), descent)),
                None => Err(why("the planned ride does not finish".into())),
            }
        };
        let rides = RADII_MM.par_iter().map(ride).collect::<Result<Vec<_>, _>>()?;
        let base = own.descent(&Attempt::perfect(), PRECISION, Detail::Bare);
        let curves = (0..base.splits.len())
            .map(|eye| {
                let of = |value: &dyn Fn(&[Split]) -> f64| {
                    let shares =
                        rides.iter().map(|(u, d)| (*u, value(&d.splits) / value(&base.splits) - 1.0));
                    through_zero(shares)
                };
                [of(&|s| section_s(s, eye)), of(&|s| s[eye].speed_m_s)]
            })
            .collect();
        Ok(EdgeCurve { own_mm, curves })
    }

    /// Factors on the time of the section that ends at an eye, and on the speed there, with friction over that of the
    /// set-up `[-]`.
    pub fn at(&self, eye: usize, radius_mm: f64, friction: f64) -> [f64; 2] {
        // straight on below the least: a search may look there, and a bend would hold it
        let ridden_mm = radius_mm.max(RADII_MM[0]);
        let u = (ridden_mm / self.own_mm).ln() + (radius_mm - ridden_mm) / ridden_mm;
        self.curves.get(eye).map_or([1.0; 2], |curve| curve.map(|[a, b]| 1.0 + friction * u * (a + u * b)))
    }
}

fn section_s(splits: &[Split], eye: usize) -> f64 {
    splits[eye].split_time_s - if eye == 0 { 0.0 } else { splits[eye - 1].split_time_s }
}

/// The least squares of y = a u + b u2; nothing where the points do not tell it.
fn through_zero(points: impl Iterator<Item = (f64, f64)>) -> [f64; 2] {
    let [mut u2, mut u3, mut u4, mut uy, mut u2y] = [0.0; 5];
    for (u, y) in points.filter(|p| p.1.is_finite()) {
        (u2, u3, u4) = (u2 + u * u, u3 + u * u * u, u4 + u * u * u * u);
        (uy, u2y) = (uy + u * y, u2y + u * u * y);
    }
    let determinant = u2 * u4 - u3 * u3;
    if determinant > 0.0 {
        [(uy * u4 - u2y * u3) / determinant, (u2y * u2 - uy * u3) / determinant]
    } else {
        [0.0; 2]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::commands::calibrate::weeks::read;
    use crate::commands::planned;
    use crate::plan_store::PlanStore;

    #[test]
    fn order_edge_follows_planned_rides() {
        let (track, setup) = read();
        let own = planned(track, &setup.setup, &PlanStore::none()).unwrap();
        let curve = EdgeCurve::new(&own).unwrap();
        // a radius between those that were ridden, on slower ice than that of the curve
        let with = |radius_mm: f64| {
            let mut other = setup.setup.clone();
            set(&mut other, EDGE, radius_mm).unwrap();
            other.ice.friction_factor *= 1.2;
            other.pilot.lag_s = own.ride.lag_s();
            ridden_by(&own, &other).unwrap().descent(&Attempt::perfect(), PRECISION, Detail::Bare)
        };
        let (own_mm, radius_mm) = (get(&setup.setup, EDGE).unwrap(), 0.48);
        let (base, rounder) = (with(own_mm), with(radius_mm));
        let told: f64 = (1..base.splits.len())
            .map(|e| section_s(&base.splits, e) * (curve.at(e, radius_mm, 1.2)[0] - 1.0))
            .sum();
        let changed = rounder.finish_time_s.unwrap() - base.finish_time_s.unwrap();
        assert!(changed < -0.05, "rounder edges are faster: {changed}");
        // 6 % when it was made: the line of a plan changes with friction, the curve does not
        approx::assert_relative_eq!(told, changed, max_relative = 0.08);
        // nothing for the set-up itself
        assert_eq!(curve.at(4, own_mm, 1.2), [1.0; 2]);
    }

    #[test]
    fn exact_a_parabola_through_zero_is_found() {
        let points = [-0.7, -0.2, 0.3, 0.7].map(|u| (u, 0.01 * u - 0.004 * u * u));
        let [a, b] = through_zero(points.into_iter());
        approx::assert_relative_eq!(a, 0.01, max_relative = 1e-12); // rounding
        approx::assert_relative_eq!(b, -0.004, max_relative = 1e-12); // rounding
        assert_eq!(through_zero([(f64::NAN, f64::NAN)].into_iter()), [0.0; 2]);
    }
}
