//! Whether what was fitted can be told apart, in words.

use super::Found;
use super::would_help::finish_slopes;
use evidence::calibration::worth::sd_of;
use nalgebra::DVector;

/// Correlation from which two parameters count as not separated `[-]`: common practice, no source.
const NOT_SEPARATED: f64 = 0.9;

/// A line for every two parameters, and what the scatter says of the athlete.
pub fn together(found: &Found<'_>) -> String {
    let Some(by) = finish_slopes(&found.course, &found.layout, &found.fit, &found.unknowns) else {
        return String::new();
    };
    let pairs = (0..by.len()).flat_map(|j| (0..j).map(move |i| (i, j)));
    let told: String = pairs.map(|pair| of_two(found, &by, pair)).collect();
    told + &found.errors.map_or(String::new(), |e| e.words())
}

fn of_two(found: &Found<'_>, by: &[f64], (i, j): (usize, usize)) -> String {
    let [a, b] = [i, j].map(|k| found.layout.parameters[k].word());
    let sd = |places: &[usize]| {
        let mut all = DVector::zeros(found.unknowns.len());
        places.iter().for_each(|k| all[*k] = by[*k]);
        sd_of(&found.fit.covariance, &all)
    };
    let squares = found.least_squares.as_ref().map(|fit| fit.correlation(i, j));
    let r = found.fit.correlation(i, j);
    let alone = squares.as_ref().map_or(String::new(), |r| format!("{r:+.2} by least squares, "));
    let verdict = if r.abs() > NOT_SEPARATED || squares.map_or(true, |r| r.abs() > NOT_SEPARATED) {
        format!("Your runs cannot separate {a} and {b}")
    } else {
        format!("{a} and {b} are told apart")
    };
    format!(
        "{verdict}: correlation {alone}{r:+.2} with the priors. At the finish {a} is known to {:.3} s, {b} to {:.3} s, \
         their sum to {:.3} s.\n",
        sd(&[i]),
        sd(&[j]),
        sd(&[i, j])
    )
}
