//! From a corner list to a station table.
//!
//! Angles, lengths and the drop are exact: the arc of full curvature of each corner is
//! made as long as its angle needs. The banking is set so that the reference line needs
//! no steering at the design speed v, standard gravity g, grade angle th:
//!
//! ```text
//! tan(banking) = v^2 k cos(th) / (g cos(th) - th' v^2)      k = cos(th) * plan curvature
//! ```
//!
//! Edges. On straights the ice reaches `half_width` to both sides. In a corner the inner
//! edge lies `half_width` beyond the floor of the bowl; the outer edge is a lip where the
//! ice has the lip slope, or 0.7 m beyond the reference line if that is higher.
//! Both are blended in with the banking, so all columns are twice smooth.

use crate::corner_list::{CornerList, Shape};
use crate::corner_shape::{
    CornerShape, STANDARD_GRAVITY_M_S2, smoothstep, smoothstep_integral, smoothstep_slope,
};
use crate::faults::{FaultKind, Faults};
use crate::station_table::StationTable;
use crate::track::{Corner, Hand, TrackData};
use file_faults::Place;

/// Least ice between the reference line and a lip (m); assumed.
pub const LIP_CLEARANCE_M: f64 = 1.0;

/// Greatest grade after scaling [-].
const MOST_GRADE: f64 = 0.5;

/// Most stations a built track may have.
const MOST_STATIONS: f64 = 1e5;

/// Grades blended at the borders of elements.
struct Grades {
    first: f64,
    /// Border (m) and change of grade there.
    steps: Vec<(f64, f64)>,
    blend_m: f64,
}

impl Grades {
    fn grade(&self, s: f64) -> f64 {
        self.first + self.steps.iter().map(|(b, d)| d * smoothstep((s - b) / self.blend_m + 0.5)).sum::<f64>()
    }

    fn slope_per_m(&self, s: f64) -> f64 {
        self.steps.iter().map(|(b, d)| d * smoothstep_slope((s - b) / self.blend_m + 0.5)).sum::<f64>()
            / self.blend_m
    }

    fn drop_m(&self, s: f64) -> f64 {
        let blended = |x: f64, b: f64| self.blend_m * smoothstep_integral((x - b) / self.blend_m + 0.5);
        self.first * s + self.steps.iter().map(|(b, d)| d * (blended(s, *b) - blended(0.0, *b))).sum::<f64>()
    }

    fn cos(&self, s: f64) -> f64 {
        (1.0 - self.grade(s).powi(2)).sqrt()
    }
}

/// Where every element begins, with the arc lengths of the corners and the grades.
struct Layout<'a> {
    list: &'a CornerList,
    arcs_m: Vec<f64>,
    starts_m: Vec<f64>,
    length_m: f64,
    grade_scale: f64,
    grades: Grades,
}

impl<'a> Layout<'a> {
    fn new(list: &'a CornerList, arcs_m: Vec<f64>, grade_scale: f64) -> Layout<'a> {
        let mut starts_m = Vec::with_capacity(arcs_m.len());
        let mut at = 0.0;
        for (element, arc_m) in list.elements.iter().zip(&arcs_m) {
            starts_m.push(at);
            at += match &element.shape {
                Shape::Straight { length_m } => *length_m,
                Shape::Corner(corner) => CornerShape { corner, arc_m: *arc_m }.length_m(),
            };
        }
        let grade: Vec<f64> = list.elements.iter().map(|e| e.grade * grade_scale).collect();
        let steps = starts_m.iter().skip(1).zip(grade.windows(2)).map(|(b, g)| (*b, g[1] - g[0])).collect();
        let first = grade.first().copied().unwrap_or(0.0);
        let grades = Grades { first, steps, blend_m: list.grade_transition_m };
        Layout { list, arcs_m, starts_m, length_m: at, grade_scale, grades }
    }

    fn corner(&self, i: usize) -> Option<CornerShape<'a>> {
        match &self.list.elements[i].shape {
            Shape::Corner(corner) => Some(CornerShape { corner, arc_m: self.arcs_m[i] }),
            Shape::Straight { .. } => None,
        }
    }

    fn angle_rad(&self, i: usize) -> Option<f64> {
        self.corner(i).map(|c| c.angle_rad(|x| self.grades.cos(self.starts_m[i] + x)))
    }

    /// Arcs and grades such that every angle and the drop are met. The grade hardly
    /// changes an angle, so each round leaves about a hundredth of the error.
    fn solved(list: &'a CornerList) -> Layout<'a> {
        let mut layout = Layout::new(list, vec![0.0; list.elements.len()], 1.0);
        let mut scale = 1.0;
        for _ in 0..12 {
            let mut arcs_m = layout.arcs_m.clone();
            for (i, arc_m) in arcs_m.iter_mut().enumerate() {
                if let (Some(shape), Some(angle)) = (layout.corner(i), layout.angle_rad(i)) {
                    *arc_m = (*arc_m + (shape.corner.angle_rad - angle) * shape.corner.radius_m).max(0.0);
                }
            }
            if let Some(total) = list.total_drop_m {
                scale *= total / layout.grades.drop_m(layout.length_m);
            }
            layout = Layout::new(list, arcs_m, scale);
        }
        layout
    }

    /// Stations at the spacing; the last step takes up the rest.
    fn stations_m(&self) -> Vec<f64> {
        let steps = (self.length_m / self.list.spacing_m).round().max(1.0);
        let mut stations: Vec<f64> = (0..steps as usize).map(|i| i as f64 * self.list.spacing_m).collect();
        stations.push(self.length_m);
        stations
    }
}

/// What the ice looks like at one station.
struct Ice {
    curvature_per_m: f64,
    banking_rad: f64,
    trough_curvature_per_m: f64,
    left_edge_m: f64,
    right_edge_m: f64,
}

fn straight_ice(list: &CornerList) -> Ice {
    Ice {
        curvature_per_m: 0.0,
        banking_rad: 0.0,
        trough_curvature_per_m: 1.0 / list.straight_trough_radius_m,
        left_edge_m: list.half_width_m,
        right_edge_m: -list.half_width_m,
    }
}

fn banking_rad(layout: &Layout, shape: &CornerShape, start_m: f64, s: f64) -> f64 {
    let (cos, v2) = (layout.grades.cos(s), shape.design_speed_squared_m2_s2(s - start_m));
    let k = cos * shape.curvature_per_m(s - start_m);
    let grade_angle_slope = layout.grades.slope_per_m(s) / cos;
    (v2 * k * cos).atan2(STANDARD_GRAVITY_M_S2 * cos - grade_angle_slope * v2)
}

/// An outer edge opens and closes by at most this on a metre `[-]`, assumed: 3 m/s at 30 m/s.
const EDGE_RUN: f64 = 0.10;

/// Ice in a corner; `steepest_rad` is its greatest banking.
fn corner_ice(layout: &Layout, shape: &CornerShape, start_m: f64, s: f64, steepest_rad: f64) -> Ice {
    let (list, w) = (layout.list, shape.steepness(s - start_m));
    let (straight, full) = (1.0 / list.straight_trough_radius_m, 1.0 / shape.corner.trough_radius_m);
    let trough = straight + (full - straight) * w;
    let banking = banking_rad(layout, shape, start_m, s);
    let lip = shape.corner.lip_slope_rad.max(steepest_rad + full * LIP_CLEARANCE_M);
    let outer = list.half_width_m + w * ((lip - banking) / trough - list.half_width_m);
    let inner = list.half_width_m + banking / trough;
    let kappa = shape.curvature_per_m(s - start_m);
    let (sign, left_edge_m, right_edge_m) = match shape.corner.hand {
        Hand::Left => (1.0, inner, -outer),
        Hand::Right => (-1.0, outer, -inner),
    };
    Ice {
        curvature_per_m: sign * kappa,
        banking_rad: sign * banking,
        trough_curvature_per_m: trough,
        left_edge_m,
        right_edge_m,
    }
}

/// Builds the track of a corner list.
///
/// The columns are rounded to the digits a station file holds (1e-6 of m or deg), so
/// that the built track and its file are the same.
///
/// # Errors
/// All faults of the list at once; the place names the corner.
pub fn build_track(list: &CornerList) -> Result<TrackData, Faults> {
    let mut faults = crate::corner_list_check::check(list);
    if !faults.0.is_empty() {
        return Err(faults);
    }
    let layout = Layout::solved(list);
    check_layout(&layout, &mut faults);
    if !faults.0.is_empty() {
        return Err(faults);
    }
    let table = lay_ice(&layout);
    let corners = (0..list.elements.len())
        .filter_map(|i| {
            let shape = layout.corner(i)?;
            Some(Corner {
                name: shape.corner.name.clone(),
                entry_m: rounded(layout.starts_m[i]),
                exit_m: rounded(layout.starts_m[i] + shape.length_m()),
                hand: shape.corner.hand,
            })
        })
        .collect();
    Ok(TrackData {
        name: list.name.clone(),
        altitude_m: list.altitude_m,
        latitude_rad: list.latitude_rad,
        source: list.source.clone(),
        quality: list.quality,
        eyes: list.eyes.clone(),
        corners,
        table,
    })
}

fn rounded(x: f64) -> f64 {
    (x * 1e6).round() / 1e6
}

/// 1/x as it comes back from a file that holds x with six decimals; 0 for a straight.
fn curvature_as_filed(curvature_per_m: f64) -> f64 {
    if curvature_per_m.abs() < 1e-9 { 0.0 } else { 1.0 / rounded(1.0 / curvature_per_m) }
}

fn lay_ice(layout: &Layout) -> StationTable {
    let mut table = StationTable::default();
    let steepest: Vec<f64> = (0..layout.starts_m.len()).map(|i| steepest_rad(layout, i)).collect();
    let mut element = 0;
    for s in layout.stations_m() {
        while element + 1 < layout.starts_m.len() && s >= layout.starts_m[element + 1] {
            element += 1;
        }
        let start_m = layout.starts_m[element];
        let ice = layout.corner(element).map_or_else(
            || straight_ice(layout.list),
            |shape| corner_ice(layout, &shape, start_m, s, steepest[element]),
        );
        let height_m = layout.grades.drop_m(layout.length_m) - layout.grades.drop_m(s);
        table.station_m.push(rounded(s));
        table.elevation_m.push(rounded(layout.list.altitude_m + height_m));
        table.plan_curvature_per_m.push(curvature_as_filed(ice.curvature_per_m));
        table.banking_rad.push(rounded(ice.banking_rad.to_degrees()).to_radians());
        table.trough_curvature_per_m.push(curvature_as_filed(ice.trough_curvature_per_m));
        table.left_edge_m.push(rounded(ice.left_edge_m));
        table.right_edge_m.push(rounded(ice.right_edge_m));
    }
    hold_outer_wide(layout, &mut table);
    table
}

/// Widens the outer edge of each corner before its entry and behind its exit, so that it neither opens nor closes faster
/// than [`EDGE_RUN`]: one that closed faster would meet a sled that leaves a corner high like a wall across its way.
fn hold_outer_wide(layout: &Layout, table: &mut StationTable) {
    let step_m = list_step_m(&table.station_m);
    let mut hand = vec![None; table.station_m.len()];
    for i in 0..layout.starts_m.len() {
        let Some(shape) = layout.corner(i) else { continue };
        let (from_m, to_m) = (layout.starts_m[i], layout.starts_m[i] + shape.length_m());
        for (hand, s) in hand.iter_mut().zip(&table.station_m) {
            if *s >= from_m && *s <= to_m {
                *hand = Some(shape.corner.hand);
            }
        }
    }
    for (outer_of, sign, edge_m) in
        [(Hand::Right, 1.0, &mut table.left_edge_m), (Hand::Left, -1.0, &mut table.right_edge_m)]
    {
        let outer = |(h, e): (&Option<Hand>, &f64)| if *h == Some(outer_of) { sign * e } else { 0.0 };
        let mut wide_m: Vec<f64> = hand.iter().zip(edge_m.iter()).map(outer).collect();
        hold_wide(&mut wide_m, step_m);
        for (edge, wide) in edge_m.iter_mut().zip(wide_m) {
            *edge = rounded(sign * (sign * *edge).max(wide));
        }
    }
}

/// Spacing of the stations (m).
fn list_step_m(station_m: &[f64]) -> f64 {
    match station_m {
        [first, .., last] => (last - first) / (station_m.len() - 1) as f64,
        _ => 1.0,
    }
}

/// ```text
/// edge(s) = max over t of edge(t) - run abs(s - t)
/// ```
fn hold_wide(edge_m: &mut [f64], step_m: f64) {
    let fall_m = EDGE_RUN * step_m;
    for i in 1..edge_m.len() {
        edge_m[i] = edge_m[i].max(edge_m[i - 1] - fall_m);
    }
    for i in (1..edge_m.len()).rev() {
        edge_m[i - 1] = edge_m[i - 1].max(edge_m[i] - fall_m);
    }
}

fn steepest_rad(layout: &Layout, i: usize) -> f64 {
    let Some(shape) = layout.corner(i) else { return 0.0 };
    let start_m = layout.starts_m[i];
    (0..=200)
        .map(|j| banking_rad(layout, &shape, start_m, start_m + shape.length_m() * f64::from(j) / 200.0))
        .fold(0.0, f64::max)
}

fn check_layout(layout: &Layout, faults: &mut Faults) {
    let list = layout.list;
    if layout.length_m / list.spacing_m > MOST_STATIONS {
        faults.add(
            Place { key: Some("elements".into()), ..Place::file(&list.name) },
            FaultKind::OutOfRange {
                got: layout.length_m,
                allowed: "a length of at most 100,000 stations".into(),
            },
        );
        return;
    }
    let steepest = list.elements.iter().map(|e| (e.grade * layout.grade_scale).abs());
    if !steepest.into_iter().all(|g| g <= MOST_GRADE) {
        faults.add(
            Place { key: Some("total_drop_m".into()), ..Place::file(&list.name) },
            FaultKind::OutOfRange {
                got: list.total_drop_m.unwrap_or(0.0),
                allowed: "a drop that leaves every grade at 50 % or less".into(),
            },
        );
        return;
    }
    for i in 0..list.elements.len() {
        let (Some(shape), Some(angle_rad)) = (layout.corner(i), layout.angle_rad(i)) else { continue };
        let place = Place { key: Some(format!("corner {}", shape.corner.name)), ..Place::file(&list.name) };
        if angle_rad > shape.corner.angle_rad * (1.0 + 1e-9) {
            faults.add(
                place.clone(),
                FaultKind::TransitionsTooLong {
                    angle_deg: shape.corner.angle_rad.to_degrees(),
                    transitions_deg: angle_rad.to_degrees(),
                },
            );
        }
        let light = (0..=200).map(|j| f64::from(j) / 200.0 * shape.length_m()).find(|x| {
            let s = layout.starts_m[i] + x;
            let cos = layout.grades.cos(s);
            layout.grades.slope_per_m(s) / cos * shape.design_speed_squared_m2_s2(*x)
                > 0.9 * STANDARD_GRAVITY_M_S2 * cos
        });
        if let Some(x) = light {
            let design_speed_km_h = shape.design_speed_squared_m2_s2(x).sqrt() * 3.6;
            faults.add(
                place,
                FaultKind::LightAtDesignSpeed { station_m: layout.starts_m[i] + x, design_speed_km_h },
            );
        }
    }
    for eye in list.eyes.iter().filter(|e| !(0.0..=layout.length_m).contains(&e.station_m)) {
        faults.add(
            Place { key: Some(format!("eye {}", eye.name)), ..Place::file(&list.name) },
            FaultKind::OutsideTrack { got_m: eye.station_m, first_m: 0.0, last_m: layout.length_m },
        );
    }
}
