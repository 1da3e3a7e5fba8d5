//! A few points of what is not known, and the band of an answer over them: one law for calibrations and for numbers
//! that nobody has measured.
//!
//! ```text
//!   points : the middle, and on each axis one standard deviation to either side of it
//!   s^2    = sum over axes of ((g_below - g)^2 + (g_above - g)^2)/2
//!   band   : g - 1.96 s to g + 1.96 s
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | g | the answer at the middle | its own |
//! | `g_below`, `g_above` | the answer at the two points of an axis | as g |
//! | s | `sd` | as g |
//!
//! Axes of a posterior are the columns of the Cholesky factor of its covariance: the first unknown with what goes with
//! it, then what the second has of its own. Axes of numbers that nobody has measured are those numbers, one by one, the
//! others as the set-up has them.
//!
//! *Valid for* answers that are nearly straight within a standard deviation; for straight ones s is exact. *Assumes*
//! axes independent of each other. *Source*: propagation of errors by points, *Julier 1997*, from memory. *Checked by* `exact_points_carry_a_covariance`, `exact_an_open_end_leaves_the_band_open`.

use super::keyed::{Keyed, Set, Single};
use super::{Target, UNKNOWNS, Unknown};
use nalgebra::{Cholesky, DMatrix};

/// Half-width of a band of 95 % over its standard deviation `[-]`.
pub(crate) const BAND_95: f64 = 1.959_963_984_540_054;
/// Least share of the width that is worth a name `[-]`, assumed.
const WORTH_A_NAME: f64 = 0.1;

/// One axis of what is not known.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// What moves along it.
    pub name: String,
    /// Its two points.
    pub ends: [Set; 2],
}

/// An answer over the points.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// At the middle.
    pub middle: f64,
    /// Standard deviation over the points; infinite where one of them has no answer.
    pub sd: f64,
    /// What each axis adds to it: its own standard deviation.
    pub(crate) by_axis: Vec<f64>,
}

impl Band {
    /// From the answers at the middle and at the two points of every axis.
    pub fn new(middle: f64, ends: &[[f64; 2]]) -> Band {
        let own = |[a, b]: &[f64; 2]| {
            let square = 0.5 * ((a - middle) * (a - middle) + (b - middle) * (b - middle));
            if square.is_finite() { libm::sqrt(square) } else { f64::INFINITY }
        };
        let by_axis: Vec<f64> = ends.iter().map(own).collect();
        Band { middle, sd: libm::sqrt(by_axis.iter().map(|s| s * s).sum()), by_axis }
    }

    /// Half of the band of 95 %.
    pub fn half(&self) -> f64 {
        BAND_95 * self.sd
    }

    /// The band of 95 %.
    pub fn ends(&self) -> [f64; 2] {
        [self.middle - self.half(), self.middle + self.half()]
    }

    /// Whether the sign of the answer is the same over the whole band.
    pub fn keeps_its_sign(&self) -> bool {
        self.middle.abs() > self.half()
    }

    /// The axis that adds most, and what it adds alone; none where it is not worth a name.
    pub fn most(&self) -> Option<(usize, f64)> {
        let most = self.by_axis.iter().copied().enumerate().max_by(|a, b| a.1.total_cmp(&b.1))?;
        (most.1 > 0.0 && !(most.1 < WORTH_A_NAME * self.sd)).then_some(most)
    }

    /// What matters most, and how it is measured without a laboratory: a line with its end, or nothing.
    pub fn at_home_words(&self, axes: &[Axis]) -> String {
        let most = self.most().and_then(|(i, _)| axes.get(i));
        most.and_then(|a| a.at_home().map(|how| (&a.name, how))).map_or(String::new(), |(name, how)| {
            format!("  to know {name}: {how} (common practice, no source)\n")
        })
    }

    /// In seconds, one line without its end: the band, and what moves the answer most.
    pub fn words_s(&self, axes: &[Axis], over: &str) -> String {
        let named = |i: usize| axes.get(i).map_or("?", |a| a.name.as_str());
        if self.sd.is_infinite() {
            let open = self.by_axis.iter().enumerate().filter(|(_, s)| s.is_infinite());
            let names: Vec<&str> = open.map(|(i, _)| named(i)).collect();
            return format!(
                "over {over}: no band, since rides are lost or cannot be planned at a point of {}",
                names.join(", ")
            );
        }
        let [low, high] = self.ends();
        let most = self.most().filter(|_| axes.len() > 1);
        let most = most.map_or(String::new(), |(i, sd)| {
            format!("; most by {}, ±{:.3} s by itself", named(i), BAND_95 * sd)
        });
        format!("over {over}: 95 % band {low:+.3} s to {high:+.3} s{most}")
    }
}

impl Axis {
    /// How its number is measured without a laboratory; none for an axis of a calibration.
    pub(crate) fn at_home(&self) -> Option<&'static str> {
        match &self.ends[0] {
            Set::Single(one) => Some(one.unknown.measured_at_home()),
            _ => None,
        }
    }
}

/// The axes of a normal posterior of keys of a set-up, each with its name; none where its covariance is not positive.
pub(crate) fn axes_of_posterior(
    keys: &[&'static str],
    names: &[&str],
    mean: &[f64],
    covariance: &DMatrix<f64>,
) -> Option<Vec<Axis>> {
    let root = Cholesky::new(covariance.clone())?.l();
    let axis = |j: usize| {
        let end = |number: usize, side: f64| {
            let values = mean.iter().enumerate().map(|(i, m)| m + side * root[(i, j)]).collect();
            Set::Keyed(Keyed { number, seed: 0, keys: keys.to_vec(), values })
        };
        let name = match names.get(j + 1..) {
            Some([with]) => format!("{} and the {with} that goes with it", names[j]),
            Some(more @ [_, _, ..]) => {
                format!("{} and the {} that go with it", names[j], more.join(" and the "))
            }
            _ if j > 0 => format!("{} alone", names[j]),
            _ => names[j].to_string(),
        };
        Axis { name, ends: [end(2 * j, -1.0), end(2 * j + 1, 1.0)] }
    };
    Some((0..keys.len()).map(axis).collect())
}

/// The axis of a number that nobody has measured: a standard deviation of its range to either side of its middle.
pub(crate) fn axis_of(unknown: &'static Unknown) -> Axis {
    // of an even spread over a range of 1
    let sd = libm::sqrt(1.0 / 12.0);
    let end = |side: f64| Set::Single(Single { unknown, value: unknown.at(0.5 + side * sd) });
    Axis { name: unknown.words().into(), ends: [end(-1.0), end(1.0)] }
}

/// The axis of an athlete's errors about those that rides have already: the logarithm of the factor by its standard deviation.
pub(crate) fn axis_of_errors(log_sd: f64) -> Option<Axis> {
    let unknown = UNKNOWNS.iter().find(|u| matches!(u.target, Target::ErrorFactor))?;
    let end = |side: f64| Set::Single(Single { unknown, value: libm::exp(side * log_sd) });
    Some(Axis { name: "errors of the athlete".into(), ends: [end(-1.0), end(1.0)] })
}

/// The axes of numbers that nobody has measured, by their names, in that order.
pub fn axes_of(names: &[&str]) -> Vec<Axis> {
    names.iter().filter_map(|n| UNKNOWNS.iter().find(|u| u.name == *n)).map(axis_of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const KEYS: [&str; 2] = ["ice.friction_factor", "air.drag_area_m2"];
    const NAMES: [&str; 2] = ["friction", "drag"];

    #[test]
    fn exact_points_carry_a_covariance() {
        // sd 0.2 and 0.003, correlation -0.9
        let covariance = DMatrix::from_row_slice(2, 2, &[0.04, -0.00054, -0.00054, 9e-6]);
        let axes = axes_of_posterior(&KEYS, &NAMES, &[1.1, 0.061], &covariance).unwrap();
        // an answer 2 s for the factor and 100 s for the area: 0.16 + 0.09 - 2 x 0.9 x 0.4 x 0.3 = 0.034 s2
        let g = |set: &Set| 2.0 * set.values()[0] + 100.0 * set.values()[1];
        let ends: Vec<[f64; 2]> = axes.iter().map(|a| [g(&a.ends[0]), g(&a.ends[1])]).collect();
        let band = Band::new(2.2 + 6.1, &ends);
        approx::assert_relative_eq!(band.sd, 0.034_f64.sqrt(), max_relative = 1e-12); // rounding
        let mean = ends.iter().flatten().sum::<f64>() / 4.0;
        approx::assert_relative_eq!(mean, 8.3, max_relative = 1e-12); // rounding
        assert!(band.keeps_its_sign());
        let none = DMatrix::from_row_slice(2, 2, &[1.0, 2.0, 2.0, 1.0]);
        assert_eq!(axes_of_posterior(&KEYS, &NAMES, &[1.0, 0.06], &none), None);
    }

    #[test]
    fn exact_a_bend_is_no_certainty() {
        // the same answer at both ends, 0.1 s beside the middle
        let band = Band::new(0.0, &[[0.1, 0.1]]);
        approx::assert_relative_eq!(band.sd, 0.1, max_relative = 1e-15); // rounding
        assert!(!band.keeps_its_sign());
    }

    #[test]
    fn exact_an_open_end_leaves_the_band_open() {
        let axes = axes_of(&["runners.roughness_um", "ice.grip_factor"]);
        for lost in [f64::INFINITY, f64::NAN] {
            let band = Band::new(0.2, &[[0.1, 0.3], [0.2, lost]]);
            assert!(band.sd.is_infinite() && !band.keeps_its_sign());
            let words = band.words_s(&axes, "this");
            assert!(words.contains("no band") && words.contains(&axes[1].name), "{words}");
        }
        let band = Band::new(0.2, &[[0.1, 0.3], [0.2, 0.2]]);
        assert_eq!(band.most().map(|m| m.0), Some(0));
        assert!(
            band.words_s(&axes, "this").contains("+0.004 s to +0.396 s"),
            "{}",
            band.words_s(&axes, "this")
        );
    }

    #[test]
    fn exact_points_of_a_range_are_its_standard_deviation() {
        // even from 0.5 to 1.5: 1 -+ 1/sqrt(12), to the four digits of a table
        let [a, b] = axes_of(&["ice.grip_factor"])[0].ends.clone().map(|s| s.values()[0]);
        assert_eq!([a, b], [0.7113, 1.289]);
        // by ratio from 0.15 to 0.6: 0.3 times 4 to the power of -+0.28868
        let [a, b] = axes_of(&["runners.roughness_um"])[0].ends.clone().map(|s| s.values()[0]);
        assert_eq!([a, b], [0.2011, 0.4476]);
    }
}
