//! What inferred rides agree on, section by section, and what one more eye or a video would tell.

use super::{Against, Inferred, Possible};
use crate::rides::mistakes::Lineage;
use nalgebra::{DMatrix, DVector};
use sled_dynamics::analysis::sections::{Section, sections};
use sled_dynamics::motion::descent::{Descent, Sample};
use std::sync::Arc;
use track_geometry::track::{Hand, Track};

/// One figure over the inferred rides.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Mean.
    pub mean: f64,
    /// 2.5 % of the weight lie below.
    pub low: f64,
    /// 2.5 % lie above.
    pub high: f64,
    /// Share of the weight above zero `[-]`.
    pub above: f64,
}

/// What the rides say of one section.
#[derive(Clone, Debug, PartialEq)]
pub struct OfSection {
    /// The section.
    pub section: Section,
    /// Rides of equal weight that tell as much of it `[-]`.
    pub effective: f64,
    /// Time lost against the planned ride (s).
    pub lost_s: Spread,
    /// Steering later than planned (s); none outside corners.
    pub late_s: Option<Spread>,
    /// Steering beyond what was planned, as a share of it `[-]`; -1 is a missed steer.
    pub more: Option<Spread>,
    /// Place at the entry, beside the planned line: towards the outside of the corner (m).
    pub out_m: Option<Spread>,
    /// Greatest height on the bank above that of the planned ride (m).
    pub height_m: Option<Spread>,
}

/// Figures of one ride, section by section: time lost (s), late (s), more, out (m), height (m); none where control was
/// lost.
pub type Figures = Vec<Option<[f64; 5]>>;

/// Time (s) at a station of a trace.
fn at_s(trace: &[Sample], station_m: f64) -> Option<f64> {
    let i = trace.partition_point(|s| s.station_m < station_m - 1e-6).max(1);
    let (a, b) = (trace.get(i - 1)?, trace.get(i)?);
    let part = (station_m - a.station_m) / (b.station_m - a.station_m);
    Some(a.time_s + part * (b.time_s - a.time_s))
}

/// Time in each section (s), from the first eye on; entry (m, outwards) and greatest height (m) of each corner.
pub(super) fn planned_sections(track: &Track, descent: &Descent) -> Vec<Option<[f64; 3]>> {
    let clock_m = track.data.eyes.first().map_or(0.0, |e| e.station_m);
    sections(track)
        .iter()
        .map(|s| {
            let from_m = s.from_m.max(clock_m);
            let time_s = at_s(&descent.trace, s.to_m)? - at_s(&descent.trace, from_m)?;
            let Some(corner) = s.corner.and_then(|c| track.data.corners.get(c)) else {
                return Some([time_s, 0.0, 0.0]);
            };
            let ridden = descent.corners.iter().find(|c| c.name == corner.name)?;
            // the outside of a left-hand corner is on the right
            let out = if corner.hand == Hand::Left { -1.0 } else { 1.0 };
            Some([time_s, out * ridden.entry.offset_m, ridden.highest.height_m])
        })
        .collect()
}

/// The figures of a ride with a trace, against the planned one.
pub(super) fn section_figures(against: &Against<'_>, lineage: &Lineage, descent: &Descent) -> Figures {
    let rider = against.rider;
    let track = rider.prepared.ready.track;
    let mistakes = rider.mistakes(lineage);
    let of = |((s, r), p): ((&Section, &Option<[f64; 3]>), &[f64; 3])| {
        let [late, more] = s.corner.and_then(|c| mistakes.corners.get(c)).map_or([0.0; 2], |m| {
            let missed = m[3] < rider.skill.miss;
            [rider.skill.timing_s * m[0], if missed { -1.0 } else { (rider.skill.amount * m[1]).max(-1.0) }]
        });
        r.map(|r| [r[0] - p[0], late, more, r[1] - p[1], r[2] - p[2]])
    };
    let ridden = planned_sections(track, descent);
    sections(track).iter().zip(&ridden).zip(&against.planned).map(of).collect()
}

fn spread(values: &[(f64, f64)]) -> Spread {
    let mut sorted = values.to_vec();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let at = |share: f64| {
        let mut sum = 0.0;
        let found = sorted.iter().find(|(_, w)| {
            sum += w;
            sum >= share
        });
        found.or(sorted.last()).map_or(0.0, |v| v.0)
    };
    Spread {
        mean: values.iter().map(|(v, w)| v * w).sum(),
        low: at(0.025),
        high: at(0.975),
        above: values.iter().filter(|v| v.0 > 0.0).map(|v| v.1).sum(),
    }
}

/// What the rides say of every section, each told by the rides after the eye behind it and one more.
pub fn agreed(track: &Track, inferred: &Inferred) -> Vec<OfSection> {
    sections(track)
        .into_iter()
        .enumerate()
        .map(|(i, section)| {
            let after = &inferred.after[inferred.telling_of(section.to_m)];
            let kept: Vec<([f64; 5], f64)> =
                after.rides.iter().filter_map(|(r, w)| Some((r.figures[i]?, *w))).collect();
            let total: f64 = kept.iter().map(|k| k.1).sum();
            let of = |k: usize| spread(&kept.iter().map(|(f, w)| (f[k], *w / total)).collect::<Vec<_>>());
            let some = |k: usize| section.corner.is_some().then(|| of(k));
            OfSection {
                effective: after.effective_up_to(section.to_m),
                lost_s: of(0),
                late_s: some(1),
                more: some(2),
                out_m: some(3),
                height_m: some(4),
                section,
            }
        })
        .collect()
}

/// What one more measurement would tell.
#[derive(Clone, Debug, PartialEq)]
pub struct OneMore {
    /// Its section.
    pub section: Section,
    /// Share of what is open about where the time was lost that an eye at the end of the section would tell `[-]`.
    pub eye: f64,
    /// The same of a video of the corner: place at the entry and greatest height; none outside corners.
    pub video: Option<f64>,
}

/// Share of what the rides leave open, time lost section by section, that one more measurement would tell on average:
/// what a straight fit to the measurement explains within the stretch between two eyes, less what a fit explains by chance.
///
/// ```text
///   1 - sum_i var(lost_i | x) / sum_i var(lost_i),   less k/(n - 1) of what is left, n effective rides, k measurements
/// ```
///
/// *Source*: weighted least squares; adjusted share of explained variance, common practice.
/// *Checked by* `exact_what_an_eye_tells_of_two_sections`.
pub fn one_more(track: &Track, inferred: &Inferred) -> Vec<OneMore> {
    let all = sections(track);
    let stretch = |s: &Section| inferred.stations_m.partition_point(|e| *e < s.to_m - 1e-6);
    let mut found: Vec<OneMore> = vec![];
    let mut total = 0.0;
    for (i, s) in all.iter().enumerate() {
        let own = stretch(s);
        let of_stretch: Vec<usize> = (0..all.len()).filter(|j| stretch(&all[*j]) == own).collect();
        let after = &inferred.after[inferred.telling_of(s.to_m)];
        let whole = |r: &&(Arc<Possible>, f64)| of_stretch.iter().all(|j| r.0.figures[*j].is_some());
        let kept: Vec<&(Arc<Possible>, f64)> = after.rides.iter().filter(whole).collect();
        let share: f64 = kept.iter().map(|r| r.1).sum();
        let value = |r: &Possible, j: usize, k: usize| r.figures[j].map_or(0.0, |f| f[k]);
        let targets: Vec<(Vec<f64>, f64)> = kept
            .iter()
            .map(|(r, w)| (of_stretch.iter().map(|j| value(r, *j, 0)).collect(), w / share))
            .collect();
        let n = after.effective_up_to(s.to_m);
        let eyes: Vec<Vec<f64>> = kept
            .iter()
            .map(|(r, _)| vec![of_stretch.iter().filter(|j| **j <= i).map(|j| value(r, *j, 0)).sum()])
            .collect();
        let videos: Vec<Vec<f64>> = kept.iter().map(|(r, _)| vec![value(r, i, 3), value(r, i, 4)]).collect();
        let open = variance(&targets);
        if of_stretch.first() == Some(&i) {
            total += open;
        }
        // there is an eye at the end of the stretch already
        let eye = if of_stretch.last() == Some(&i) { 0.0 } else { open * explained(&targets, &eyes, n) };
        let video = s.corner.map(|_| open * explained(&targets, &videos, n));
        found.push(OneMore { section: s.clone(), eye, video });
    }
    for m in found.iter_mut().filter(|_| total > 0.0) {
        m.eye /= total;
        m.video = m.video.map(|v| v / total);
    }
    found
}

/// Sum of the variances of all targets.
fn variance(targets: &[(Vec<f64>, f64)]) -> f64 {
    let wanted = targets.first().map_or(0, |t| t.0.len());
    let of = |j: usize| {
        let mean: f64 = targets.iter().map(|(t, w)| w * t[j]).sum();
        targets.iter().map(|(t, w)| w * (t[j] - mean).powi(2)).sum::<f64>()
    };
    (0..wanted).map(of).sum()
}

/// Share of the variance of all targets that straight fits to the measurements explain.
fn explained(targets: &[(Vec<f64>, f64)], measured: &[Vec<f64>], effective: f64) -> f64 {
    let Some(k) = measured.first().map(Vec::len) else { return 0.0 };
    if effective < k as f64 + 2.0 {
        return 0.0;
    }
    let wanted = targets[0].0.len();
    let weights: Vec<f64> = targets.iter().map(|t| t.1).collect();
    let centred = |columns: usize, of: &dyn Fn(usize, usize) -> f64| {
        let mean: Vec<f64> =
            (0..columns).map(|j| weights.iter().enumerate().map(|(i, w)| w * of(i, j)).sum()).collect();
        DMatrix::from_fn(weights.len(), columns, |i, j| weights[i].sqrt() * (of(i, j) - mean[j]))
    };
    let x = centred(k, &|i, j| measured[i][j]);
    let y = centred(wanted, &|i, j| targets[i].0[j]);
    let total = y.norm_squared();
    let scale = DVector::from_iterator(k, x.column_iter().map(|c| c.norm().max(1e-12)));
    let x = x * DMatrix::from_diagonal(&scale.map(|s| 1.0 / s));
    let Ok(fit) = x.clone().svd(true, true).solve(&y, 1e-9) else { return 0.0 };
    let left = (&y - x * fit).norm_squared();
    if total <= 0.0 {
        return 0.0;
    }
    let by_chance = (effective - 1.0) / (effective - 1.0 - k as f64);
    (1.0 - left / total * by_chance).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_what_an_eye_tells_of_two_sections() {
        // two sections with losses +-1 and +-2, independent: the sum of both known, an eye between tells all
        let corners = [[1.0, 2.0], [1.0, -2.0], [-1.0, 2.0], [-1.0, -2.0]];
        let targets: Vec<(Vec<f64>, f64)> = corners.iter().map(|c| (c.to_vec(), 0.25)).collect();
        let first: Vec<Vec<f64>> = corners.iter().map(|c| vec![c[0]]).collect();
        let both: Vec<Vec<f64>> = corners.iter().map(|c| c.to_vec()).collect();
        // by hand: variance 1 of 1 + 4 is told; with a million rides nothing is taken off for chance
        approx::assert_abs_diff_eq!(explained(&targets, &first, 1e6), 0.2, epsilon = 1e-5);
        approx::assert_abs_diff_eq!(explained(&targets, &both, 1e6), 1.0, epsilon = 1e-9); // rounding
        // ten rides: what is left counts 9/8
        approx::assert_abs_diff_eq!(explained(&targets, &first, 10.0), 1.0 - 0.8 * 9.0 / 8.0, epsilon = 1e-9);
    }

    #[test]
    fn exact_spread_by_weight() {
        // two hundredths of the weight lie beyond the band of 95 %
        let found = spread(&[(3.0, 0.02), (-1.0, 0.5), (1.0, 0.48)]);
        approx::assert_abs_diff_eq!(found.mean, 0.04, epsilon = 1e-12); // by hand
        assert_eq!((found.low, found.high), (-1.0, 1.0));
        approx::assert_abs_diff_eq!(found.above, 0.5, epsilon = 1e-12);
    }
}
