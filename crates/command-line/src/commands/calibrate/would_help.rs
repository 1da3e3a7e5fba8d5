//! What would help most: the decision of this fit, and its standard deviation with one more measurement.

use super::fitted::{Course, Layout, Parameter, Timed};
use evidence::calibration::noise::with_one_more;
use evidence::calibration::worth::{after_measuring, sd_of, with_as_many_again, with_runs_like};
use evidence::calibration::{Fit, Unknown};
use nalgebra::{DMatrix, DVector};
use sweep_runner::rides::levelled::Levelled;
use track_geometry::track::{Eye, Track};

/// A change of drag or friction that a team could work on `[-]`.
const CHANGE: f64 = 0.05;
/// Standard error of a drag area from a wind tunnel `[-]`: assumed.
const TUNNEL: f64 = 0.02;
/// Standard error of a friction level from a coast-down on the flat `[-]`: assumed.
const COAST_DOWN: f64 = 0.05;

/// Standard error of an edge radius from a cast under a magnifier `[-]`: assumed.
const CAST: f64 = 0.1;

/// What is to be decided, and how surely.
pub struct Decision {
    /// In words.
    pub words: String,
    /// Its value (s).
    pub value_s: f64,
    /// Standard deviation now (s).
    pub sd_s: f64,
    /// Standard deviation with one more measurement, best first (s).
    pub with: Vec<(String, f64)>,
}

/// What the finish of a run changes by (s) for one unit of each parameter.
pub fn finish_slopes(
    course: &Course<'_>,
    layout: &Layout,
    fit: &Fit,
    unknowns: &[Unknown],
) -> Option<Vec<f64>> {
    let slopes = course.slopes(layout, unknowns, fit.estimates.as_slice(), 0)?;
    Some(slopes.last()?.iter().take(layout.parameters.len()).map(|s| s[0]).collect())
}

/// The decision of a fit: which of drag and friction is worth more work, or what less of the only one gives.
pub fn decision(
    course: &Course<'_>,
    layout: &Layout,
    fit: &Fit,
    unknowns: &[Unknown],
    last_digit_s: f64,
) -> Option<Decision> {
    let by = finish_slopes(course, layout, fit, unknowns)?;
    let gain = |p: usize| CHANGE * by[p];
    let mut slopes = DVector::zeros(unknowns.len());
    let x = &fit.estimates;
    let place = |wanted| layout.parameters.iter().position(|p| *p == wanted);
    let (words, value_s) = match (place(Parameter::Drag), place(Parameter::Friction)) {
        (Some(d), Some(f)) => {
            (slopes[d], slopes[f]) = (gain(d), -gain(f));
            ("what 5 % less drag gives over what 5 % less friction gives", gain(d) * x[d] - gain(f) * x[f])
        }
        (Some(d), None) => {
            slopes[d] = gain(d);
            ("what 5 % less drag gives", gain(d) * x[d])
        }
        (None, Some(f)) => {
            slopes[f] = gain(f);
            ("what 5 % less friction gives", gain(f) * x[f])
        }
        (None, None) => return None,
    };
    let now = &fit.covariance;
    let mut with: Vec<(String, f64)> = vec![];
    let measured = |p: usize, share: f64| {
        let mut row = DVector::zeros(unknowns.len());
        row[p] = 1.0;
        sd_of(&after_measuring(now, &row, share * x[p]), &slopes)
    };
    if let Some(d) = place(Parameter::Drag) {
        with.push(("drag area from a wind tunnel, to 2 %".into(), measured(d, TUNNEL)));
    }
    if let Some(f) = place(Parameter::Friction) {
        with.push(("friction from a coast-down on the flat, to 5 %".into(), measured(f, COAST_DOWN)));
    }
    if let Some(e) = place(Parameter::Edge) {
        with.push(("edge radius from a cast in wax under a magnifier, to 10 %".into(), measured(e, CAST)));
    }
    if let Some(again) = with_as_many_again(fit, unknowns) {
        let runs = course.runs.len();
        with.push((format!("as many runs again ({runs})"), sd_of(&again, &slopes)));
    }
    for (name, covariance) in more_eyes(course, layout, fit, unknowns, last_digit_s).unwrap_or_default() {
        with.push((name, sd_of(&covariance, &slopes)));
    }
    with.sort_by(|a, b| a.1.total_cmp(&b.1));
    Some(Decision { words: words.into(), value_s, sd_s: sd_of(now, &slopes), with })
}

/// Covariance of the unknowns if all these runs had been timed by one more eye: a place in the middle of every section.
fn more_eyes(
    course: &Course<'_>,
    layout: &Layout,
    fit: &Fit,
    unknowns: &[Unknown],
    last_digit_s: f64,
) -> Option<Vec<(String, DMatrix<f64>)>> {
    let old = &course.track.data.eyes;
    let middles: Vec<Eye> = old
        .windows(2)
        .skip(1)
        .map(|pair| {
            let station_m = 0.5 * (pair[0].station_m + pair[1].station_m);
            let name = format!("an eye at {station_m:.0} m, between {} and {}", pair[0].name, pair[1].name);
            Eye { name, station_m: station_m.round() }
        })
        .collect();
    let mut track: Track = course.track.clone();
    track.data.eyes.extend(middles.iter().cloned());
    track.data.eyes.sort_by(|a, b| a.station_m.total_cmp(&b.station_m));
    let levelled: &Levelled = course.levelled;
    let wide =
        Course::new(&track, levelled, course.setup, course.runs).losing(course.losses).with_edge(course.edge);
    let x = fit.estimates.as_slice();
    let place = |name: &str| track.data.eyes.iter().position(|e| e.name == name);
    let at: Vec<usize> = old.iter().map(|e| place(&e.name)).collect::<Option<_>>()?;
    let mut runs = vec![];
    for r in 0..course.runs.len() {
        runs.push((wide.slopes(layout, unknowns, x, r)?, wide.at_eyes(layout, r, x)?));
    }
    let with = |extra: usize| {
        let mut like = vec![];
        for (timed, (slopes, times)) in course.runs.iter().zip(&runs) {
            like.push(rows(timed, &at, extra, slopes, times, last_digit_s)?);
        }
        with_runs_like(&like, unknowns)
    };
    let mut all = vec![];
    for middle in &middles {
        all.push((middle.name.clone(), with(place(&middle.name)?)?));
    }
    Some(all)
}

/// Slopes and covariance of the values of a run with one more time.
fn rows(
    timed: &Timed,
    at: &[usize],
    extra: usize,
    slopes: &[Vec<[f64; 2]>],
    times: &[[f64; 2]],
    last_digit_s: f64,
) -> Option<(DMatrix<f64>, DMatrix<f64>)> {
    let measured = &timed.measured;
    let mut eyes: Vec<(usize, usize)> =
        timed.eyes.iter().enumerate().map(|(i, e)| (at[*e], usize::from(i >= measured.times))).collect();
    eyes.push((extra, 0));
    let n = eyes.len();
    let unknowns = slopes.first()?.len();
    let a = DMatrix::from_fn(n, unknowns, |i, j| slopes[eyes[i].0][j][eyes[i].1]);
    // a speed trap stands behind the times, and has no part in the errors of others
    let of_times = measured.covariance.view((0, 0), (measured.times, measured.times)).clone_owned();
    let more = with_one_more(&of_times, &measured.values[..measured.times], times[extra][0], last_digit_s);
    let old = measured.values.len();
    let place = |k: usize| if k == old { Some(measured.times) } else { (k < measured.times).then_some(k) };
    let covariance = DMatrix::from_fn(n, n, |i, j| match (i < old && j < old, place(i), place(j)) {
        (true, ..) => measured.covariance[(i, j)],
        (false, Some(i), Some(j)) => more[(i, j)],
        _ => 0.0,
    });
    Some((a, covariance))
}
