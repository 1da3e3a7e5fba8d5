//! Doubts: data that can be read and computed with, but may be wrong. Each names its station.

use crate::station_table::StationTable;
use crate::track::TrackData;
use std::f64::consts::TAU;
use std::fmt;

/// Faster change of banking is doubtful (deg/m).
pub(crate) const DOUBTFUL_BANKING_DEG_PER_M: f64 = 8.0;
/// Faster change of curvature is doubtful (1/m per m): 0 to a radius of 25 m within 5 m.
pub(crate) const DOUBTFUL_CURVATURE_PER_M2: f64 = 0.008;
/// Less ice to either side of the reference line is doubtful (m).
pub(crate) const DOUBTFUL_EDGE_M: f64 = 0.25;
/// A longer step between stations is doubtful (m).
pub(crate) const DOUBTFUL_STEP_M: f64 = 5.0;
/// Ice beyond this slope at an edge is doubtful (deg).
pub(crate) const DOUBTFUL_EDGE_SLOPE_DEG: f64 = 100.0;
/// Roughness of the elevation is judged at this speed (m/s) ...
pub(crate) const ROUGHNESS_SPEED_M_S: f64 = 30.0;
/// ... and doubtful when it shakes the load by more than this in g.
pub(crate) const DOUBTFUL_SHAKE_G: f64 = 0.3;
/// A lateral period is taken as at most this long (m).
pub(crate) const LATERAL_PERIOD_M: f64 = 45.0;
/// A transition shorter than this share of a lateral period is doubtful [-].
pub(crate) const DOUBTFUL_TRANSITION_SHARE: f64 = 0.25;

const STANDARD_GRAVITY_M_S2: f64 = 9.80665;
/// Doubtful stations nearer than this many rows are told as one stretch.
const SAME_STRETCH_ROWS: usize = 5;

/// Something doubtful in the data of a track.
#[derive(Clone, Debug, PartialEq)]
pub struct Doubt {
    /// Station where it is worst (m).
    pub station_m: f64,
    /// How many stations of this stretch are doubtful in the same way.
    pub stations: usize,
    /// What is doubtful, with the value where it is worst.
    pub kind: DoubtKind,
}

/// What is doubtful.
#[derive(Clone, Debug, PartialEq)]
pub enum DoubtKind {
    /// No edges in the file.
    EdgesAssumed {
        /// Assumed edge to both sides (m).
        edge_m: f64,
    },
    /// Banking changes fast.
    BankingJump {
        /// Change (deg/m).
        deg_per_m: f64,
    },
    /// Banking leans out of the corner: often a sign the wrong way round.
    BankingAgainstCorner {
        /// Plan radius (m).
        radius_m: f64,
        /// Banking (deg).
        banking_deg: f64,
    },
    /// The track rises.
    Uphill {
        /// Rise per hundred metres (%).
        rise_percent: f64,
    },
    /// The corner is tighter than the trough.
    TighterThanTrough {
        /// Plan radius (m).
        radius_m: f64,
        /// Trough radius (m).
        trough_radius_m: f64,
    },
    /// Little ice beside the reference line; a sled's runners alone are some 0.36 m apart.
    EdgesNearlyCross {
        /// Left edge (m).
        left_m: f64,
        /// Right edge (m).
        right_m: f64,
    },
    /// The ice hangs over at an edge.
    Overhang {
        /// Slope there (deg).
        slope_deg: f64,
    },
    /// Curvature changes fast.
    CurvatureJump {
        /// Radius before (m), infinite on a straight.
        from_radius_m: f64,
        /// Radius after (m), infinite on a straight.
        to_radius_m: f64,
    },
    /// The elevation is rough.
    ElevationNoise {
        /// How much it shakes the load at [`ROUGHNESS_SPEED_M_S`] in g.
        shake_g: f64,
    },
    /// A corner tightens or opens within much less than a lateral period.
    ShortTransition {
        /// Name of the corner.
        corner: String,
        /// Length from a tenth to nine tenths of its greatest curvature, over 0.8 (m).
        length_m: f64,
        /// A lateral period there (m).
        lateral_period_m: f64,
    },
    /// Stations are far apart.
    StationsFarApart {
        /// Step (m).
        step_m: f64,
    },
}

impl fmt::Display for Doubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use DoubtKind as K;
        write!(f, "station {:.1} m", self.station_m)?;
        if self.stations > 1 {
            write!(f, " and {} more near it", self.stations - 1)?;
        }
        write!(f, ": ")?;
        match &self.kind {
            K::EdgesAssumed { edge_m } => {
                write!(f, "no edges given; the ice is assumed to end {edge_m} m to both sides")
            }
            K::BankingJump { deg_per_m } => write!(f, "banking changes by {deg_per_m:.1} deg per metre"),
            K::BankingAgainstCorner { radius_m, banking_deg } => write!(
                f,
                "radius {radius_m:.1} m but banking {banking_deg:.1} deg: the ice leans out of the corner; both \
                 are positive on a left-hand corner"
            ),
            K::Uphill { rise_percent } => write!(f, "the track rises by {rise_percent:.2} %"),
            K::TighterThanTrough { radius_m, trough_radius_m } => {
                write!(f, "radius {radius_m:.2} m is tighter than the trough radius {trough_radius_m:.2} m")
            }
            K::EdgesNearlyCross { left_m, right_m } => {
                write!(f, "little ice: left edge {left_m:.2} m, right edge {right_m:.2} m")
            }
            K::Overhang { slope_deg } => {
                write!(f, "the ice hangs over at its edge: slope {slope_deg:.0} deg")
            }
            K::CurvatureJump { from_radius_m, to_radius_m } => {
                write!(f, "curvature jumps: radius from {from_radius_m:.1} m to {to_radius_m:.1} m")
            }
            K::ElevationNoise { shake_g } => write!(
                f,
                "elevation is rough: at {ROUGHNESS_SPEED_M_S} m/s it would shake the load by {shake_g:.2} g"
            ),
            K::ShortTransition { corner, length_m, lateral_period_m } => write!(
                f,
                "corner {corner} tightens or opens within {length_m:.1} m; a lateral period is about \
                 {lateral_period_m:.0} m"
            ),
            K::StationsFarApart { step_m } => write!(f, "{step_m:.1} m to the next station"),
        }
    }
}

/// Everything doubtful in a track, by station.
pub fn doubts(track: &TrackData) -> Vec<Doubt> {
    let t = &track.table;
    let mut out = Vec::new();
    if !columns_match(t) {
        return out;
    }
    let step = |i: usize| t.station_m[i + 1] - t.station_m[i];
    let n = t.len();
    let steps = n.saturating_sub(1);
    stretches(t, steps, &mut out, |i| {
        let deg_per_m = ((t.banking_rad[i + 1] - t.banking_rad[i]) / step(i)).abs().to_degrees();
        (deg_per_m > DOUBTFUL_BANKING_DEG_PER_M).then_some((deg_per_m, DoubtKind::BankingJump { deg_per_m }))
    });
    stretches(t, n, &mut out, |i| {
        let (k, banking) = (t.plan_curvature_per_m[i], t.banking_rad[i]);
        let wrong = k * banking < 0.0 && k.abs() > 0.01 && banking.abs() > 0.1;
        let kind = DoubtKind::BankingAgainstCorner { radius_m: 1.0 / k, banking_deg: banking.to_degrees() };
        wrong.then_some((banking.abs(), kind))
    });
    stretches(t, steps, &mut out, |i| {
        let rise_percent = 100.0 * (t.elevation_m[i + 1] - t.elevation_m[i]) / step(i);
        (rise_percent > 0.0).then_some((rise_percent, DoubtKind::Uphill { rise_percent }))
    });
    stretches(t, n, &mut out, |i| {
        let (k, c) = (t.plan_curvature_per_m[i].abs(), t.trough_curvature_per_m[i]);
        let kind = DoubtKind::TighterThanTrough { radius_m: 1.0 / k, trough_radius_m: 1.0 / c };
        (c > 0.0 && k > c).then_some((k / c, kind))
    });
    stretches(t, n, &mut out, |i| {
        let (left_m, right_m) = (t.left_edge_m[i], t.right_edge_m[i]);
        let room = left_m.min(-right_m);
        (room < DOUBTFUL_EDGE_M).then_some((-room, DoubtKind::EdgesNearlyCross { left_m, right_m }))
    });
    stretches(t, n, &mut out, |i| {
        let slope = |u: f64| (t.trough_curvature_per_m[i] * u - t.banking_rad[i]).abs().to_degrees();
        let slope_deg = slope(t.left_edge_m[i]).max(slope(t.right_edge_m[i]));
        (slope_deg > DOUBTFUL_EDGE_SLOPE_DEG).then_some((slope_deg, DoubtKind::Overhang { slope_deg }))
    });
    stretches(t, steps, &mut out, |i| {
        let (k0, k1) = (t.plan_curvature_per_m[i], t.plan_curvature_per_m[i + 1]);
        let rate = ((k1 - k0) / step(i)).abs();
        let radius = |k: f64| if k == 0.0 { f64::INFINITY } else { 1.0 / k };
        let kind = DoubtKind::CurvatureJump { from_radius_m: radius(k0), to_radius_m: radius(k1) };
        (rate > DOUBTFUL_CURVATURE_PER_M2).then_some((rate, kind))
    });
    stretches(t, n, &mut out, |i| {
        let shake_g = shake_g(t, i)?;
        (shake_g > DOUBTFUL_SHAKE_G).then_some((shake_g, DoubtKind::ElevationNoise { shake_g }))
    });
    stretches(t, steps, &mut out, |i| {
        (step(i) > DOUBTFUL_STEP_M).then_some((step(i), DoubtKind::StationsFarApart { step_m: step(i) }))
    });
    out.extend(track.corners.iter().flat_map(|c| short_transitions(t, &c.name, c.entry_m, c.exit_m)));
    out.sort_by(|a, b| a.station_m.total_cmp(&b.station_m));
    out
}

fn columns_match(t: &StationTable) -> bool {
    let n = t.len();
    [
        &t.elevation_m,
        &t.plan_curvature_per_m,
        &t.banking_rad,
        &t.trough_curvature_per_m,
        &t.left_edge_m,
        &t.right_edge_m,
    ]
    .iter()
    .all(|c| c.len() == n)
}

/// Adds one doubt for each stretch of doubtful rows: the worst row speaks for it.
fn stretches(
    t: &StationTable,
    rows: usize,
    out: &mut Vec<Doubt>,
    judge: impl Fn(usize) -> Option<(f64, DoubtKind)>,
) {
    let mut open: Option<(usize, f64, Doubt)> = None;
    for i in 0..rows {
        let Some((badness, kind)) = judge(i) else { continue };
        let doubt = Doubt { station_m: t.station_m[i], stations: 1, kind };
        open = Some(match open.take() {
            Some((last, worst, old)) if i - last <= SAME_STRETCH_ROWS => {
                let stations = old.stations + 1;
                let (worst, told) = if badness > worst { (badness, doubt) } else { (worst, old) };
                (i, worst, Doubt { stations, ..told })
            }
            closed => {
                out.extend(closed.map(|(_, _, d)| d));
                (i, badness, doubt)
            }
        });
    }
    out.extend(open.map(|(_, _, d)| d));
}

/// How much the bend of the elevation at row `i` differs from the mean bend of its
/// neighbours, as load at [`ROUGHNESS_SPEED_M_S`] in g. A smooth crest or hollow gives little.
fn shake_g(t: &StationTable, i: usize) -> Option<f64> {
    if i < 2 || i + 2 >= t.len() {
        return None;
    }
    let bend = |j: usize| {
        let (a, b) = (t.station_m[j] - t.station_m[j - 1], t.station_m[j + 1] - t.station_m[j]);
        let (za, zb) = (t.elevation_m[j] - t.elevation_m[j - 1], t.elevation_m[j + 1] - t.elevation_m[j]);
        2.0 * (zb / b - za / a) / (a + b)
    };
    let rough = bend(i) - 0.5 * (bend(i - 1) + bend(i + 1));
    Some(rough.abs() * ROUGHNESS_SPEED_M_S.powi(2) / STANDARD_GRAVITY_M_S2)
}

/// Transitions much shorter than a lateral period, on a trough of radius r in a corner of
/// radius R about `2 pi sqrt(r R)` (small oscillation on a bank where v^2/R is much more than g).
fn short_transitions(t: &StationTable, corner: &str, entry_m: f64, exit_m: f64) -> Vec<Doubt> {
    let rows: Vec<usize> = (0..t.len()).filter(|i| (entry_m..=exit_m).contains(&t.station_m[*i])).collect();
    let curvature = |i: &usize| t.plan_curvature_per_m[*i].abs();
    let Some(peak) = rows.iter().max_by(|a, b| curvature(a).total_cmp(&curvature(b))) else {
        return Vec::new();
    };
    let (k, c) = (curvature(peak), t.trough_curvature_per_m[*peak]);
    let lateral_period_m =
        if k > 0.0 && c > 0.0 { (TAU / (k * c).sqrt()).min(LATERAL_PERIOD_M) } else { LATERAL_PERIOD_M };
    let mut out = Vec::new();
    let backwards: Vec<usize> = rows.iter().rev().copied().collect();
    for walk in [&rows, &backwards] {
        let (Some(a), Some(b)) = (first_above(t, walk, 0.1 * k), first_above(t, walk, 0.9 * k)) else {
            continue;
        };
        let length_m = (b - a).abs() / 0.8;
        if length_m < DOUBTFUL_TRANSITION_SHARE * lateral_period_m {
            let kind = DoubtKind::ShortTransition { corner: corner.to_owned(), length_m, lateral_period_m };
            out.push(Doubt { station_m: a, stations: 1, kind });
        }
    }
    out
}

/// Station where the curvature first exceeds `target` on a walk over rows; `None` when
/// that is an end of the table, where no transition can be seen.
fn first_above(t: &StationTable, walk: &[usize], target: f64) -> Option<f64> {
    let mut before: Option<(f64, f64)> = None;
    for i in walk {
        let (s, k) = (t.station_m[*i], t.plan_curvature_per_m[*i].abs());
        if k >= target {
            if before.is_none() && (*i == 0 || *i + 1 == t.len()) {
                return None;
            }
            return Some(before.map_or(s, |(s0, k0)| s0 + (s - s0) * (target - k0) / (k - k0)));
        }
        before = Some((s, k));
    }
    None
}
