//! The corner list: a track told as straights and corners, as coaches note it down.
//!
//! [`read_corner_list`] reads it from TOML; the track builder makes the station table. Grades are drops per hundred metres of track, angles are plan angles
//! that include both transitions.

use crate::faults::{FaultKind, Faults};
use crate::toml_keys::{Keys, TomlText};
use crate::track::{DataQuality, Eye, Hand};
use crate::track_file::{QUALITIES, read_eyes, read_head};

/// A corner of a corner list.
#[derive(Clone, Debug, PartialEq)]
pub struct ListedCorner {
    /// Name.
    pub name: String,
    /// Which way it turns.
    pub hand: Hand,
    /// Tightest radius in plan (m).
    pub radius_m: f64,
    /// Angle turned in plan, transitions included (rad).
    pub angle_rad: f64,
    /// Length over which the corner tightens (m).
    pub(crate) transition_in_m: f64,
    /// Length over which it opens again (m).
    pub(crate) transition_out_m: f64,
    /// Speed at the entry at which the reference line needs no steering (m/s).
    pub design_speed_in_m_s: f64,
    /// The same at the exit (m/s); between them its square grows evenly.
    pub design_speed_out_m_s: f64,
    /// Radius of the concave ice at full banking (m).
    pub(crate) trough_radius_m: f64,
    /// Slope of the ice where it ends on the outer side (rad).
    pub(crate) lip_slope_rad: f64,
}

/// What an element of the list is.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A straight of some length (m).
    Straight {
        /// Length (m).
        length_m: f64,
    },
    /// A corner.
    Corner(ListedCorner),
}

/// One element of the list.
#[derive(Clone, Debug, PartialEq)]
pub struct Element {
    /// Drop per metre of track [-].
    pub(crate) grade: f64,
    /// Straight or corner.
    pub shape: Shape,
}

/// A track as straights and corners.
#[derive(Clone, Debug, PartialEq)]
pub struct CornerList {
    /// Name of the track.
    pub name: String,
    /// Altitude of the last station above sea level (m).
    pub(crate) altitude_m: f64,
    /// Geographic latitude (rad).
    pub(crate) latitude_rad: f64,
    /// Where the data come from.
    pub(crate) source: String,
    /// What kind of data they are; a built track is never surveyed.
    pub(crate) quality: DataQuality,
    /// Distance of the stations (m).
    pub spacing_m: f64,
    /// Radius of the concave ice on straights (m).
    pub(crate) straight_trough_radius_m: f64,
    /// Ice on either side of the reference line on a straight (m).
    pub(crate) half_width_m: f64,
    /// Length over which a change of grade is spread (m).
    pub(crate) grade_transition_m: f64,
    /// Drop of the whole track (m); when given, all grades are scaled to meet it.
    pub total_drop_m: Option<f64>,
    /// Straights and corners in order.
    pub elements: Vec<Element>,
    /// Timing eyes in order.
    pub eyes: Vec<Eye>,
}

/// Station spacing when none is given (m).
pub(crate) const DEFAULT_SPACING_M: f64 = 2.0;
/// Trough radius of straights when none is given (m); assumed.
pub(crate) const DEFAULT_STRAIGHT_TROUGH_RADIUS_M: f64 = 3.5;
/// Trough radius of corners when none is given (m); assumed.
pub(crate) const DEFAULT_CORNER_TROUGH_RADIUS_M: f64 = 2.6;
/// Half width of straights when none is given (m); assumed.
pub(crate) const DEFAULT_HALF_WIDTH_M: f64 = 0.7;
/// Slope at the lip when none is given (deg); assumed.
pub(crate) const DEFAULT_LIP_SLOPE_DEG: f64 = 88.0;
/// Length of a change of grade when none is given (m); assumed.
pub(crate) const DEFAULT_GRADE_TRANSITION_M: f64 = 30.0;

struct Defaults {
    corner_trough_radius_m: f64,
    lip_slope_deg: f64,
}

/// Reads a corner list.
///
/// # Errors
/// All faults of the text at once, each with its line.
pub fn read_corner_list(file: &str, text: &str) -> Result<CornerList, Faults> {
    let mut faults = Faults::default();
    let toml = TomlText::new(file, text);
    let root = toml.parse(&mut faults);
    if !faults.0.is_empty() {
        return Err(faults);
    }
    let mut keys = Keys::new(&toml, &root, "");
    let list = read_list(&mut keys, &mut faults);
    keys.finish(&mut faults);
    match list {
        Some(list) if faults.0.is_empty() => Ok(list),
        _ => Err(faults),
    }
}

fn positive(keys: &mut Keys, key: &'static str, faults: &mut Faults) -> Option<f64> {
    keys.number_in(key, "a number above 0", |x| x > 0.0, faults).map(|n| n.value)
}

fn read_list(keys: &mut Keys, f: &mut Faults) -> Option<CornerList> {
    let head = read_head(keys, f);
    let quality = keys.choice("quality", &QUALITIES[..2], f).unwrap_or(DataQuality::Approximate);
    let spacing_m = keys
        .number_in("spacing_m", "0.1 to 20", |x| (0.1..=20.0).contains(&x), f)
        .map_or(DEFAULT_SPACING_M, |n| n.value);
    let straight_trough_radius_m =
        positive(keys, "straight_trough_radius_m", f).unwrap_or(DEFAULT_STRAIGHT_TROUGH_RADIUS_M);
    let half_width_m = positive(keys, "half_width_m", f).unwrap_or(DEFAULT_HALF_WIDTH_M);
    let grade_transition_m = positive(keys, "grade_transition_m", f).unwrap_or(DEFAULT_GRADE_TRANSITION_M);
    let total_drop_m = positive(keys, "total_drop_m", f);
    let defaults = Defaults {
        corner_trough_radius_m: positive(keys, "corner_trough_radius_m", f)
            .unwrap_or(DEFAULT_CORNER_TROUGH_RADIUS_M),
        lip_slope_deg: lip_slope(keys, f).unwrap_or(DEFAULT_LIP_SLOPE_DEG),
    };
    let (eyes, _) = read_eyes(keys, f);
    let mut elements = Vec::new();
    let mut grade = None;
    if !keys.has("elements") {
        f.add(keys.place("elements"), FaultKind::MissingKey);
    }
    for mut item in keys.tables("elements", f) {
        let own = item.number_in("grade_percent", "-50 to 50", |x| x.abs() <= 50.0, f);
        // With a total drop and no grades the slope is even; otherwise the first element needs one.
        let even = total_drop_m.is_some().then_some(0.1);
        grade = own.map(|n| n.value / 100.0).or(grade).or(even);
        if grade.is_none() && !item.has("grade_percent") {
            f.add(item.place("grade_percent"), FaultKind::MissingKey);
            grade = Some(0.1);
        }
        if let Some(shape) = read_shape(&mut item, &defaults, f) {
            if let Shape::Corner(c) = &shape
                && corners_of(&elements).any(|b| b.name == c.name)
            {
                f.add(item.place("corner"), FaultKind::RepeatedName { got: c.name.clone() });
            }
            elements.push(Element { grade: grade.unwrap_or(0.1), shape });
        }
        item.finish(f);
    }
    let head = head?;
    Some(CornerList {
        name: head.name,
        altitude_m: head.altitude_m,
        latitude_rad: head.latitude_rad,
        source: head.source,
        quality,
        spacing_m,
        straight_trough_radius_m,
        half_width_m,
        grade_transition_m,
        total_drop_m,
        elements,
        eyes,
    })
}

fn corners_of(elements: &[Element]) -> impl Iterator<Item = &ListedCorner> {
    elements.iter().filter_map(|e| match &e.shape {
        Shape::Corner(corner) => Some(corner),
        Shape::Straight { .. } => None,
    })
}

fn lip_slope(keys: &mut Keys, f: &mut Faults) -> Option<f64> {
    keys.number_in("lip_slope_deg", "20 to 110", |x| (20.0..=110.0).contains(&x), f).map(|n| n.value)
}

fn read_shape(item: &mut Keys, defaults: &Defaults, f: &mut Faults) -> Option<Shape> {
    let (straight, corner) = (item.has("straight_m"), item.has("corner"));
    if straight == corner {
        f.add(item.place("straight_m"), FaultKind::EitherOr { keys: "`straight_m` and `corner`".into() });
        return None;
    }
    if straight {
        return positive(item, "straight_m", f).map(|length_m| Shape::Straight { length_m });
    }
    let name = item.text("corner", f);
    let hand = item
        .required("hand", f, |k, key, f| k.choice(key, &[("left", Hand::Left), ("right", Hand::Right)], f));
    let radius_m = item.required("radius_m", f, positive);
    let angle = item.required("angle_deg", f, |k, key, f| {
        k.number_in(key, "above 0, at most 720", |x| x > 0.0 && x <= 720.0, f)
    });
    let transition_in_m = item.required("transition_in_m", f, positive);
    let transition_out_m = positive(item, "transition_out_m", f).or(transition_in_m);
    let speed_in = item.required("design_speed_km_h", f, |k, key, f| {
        k.number_in(key, "0 to 200", |x| (0.0..=200.0).contains(&x), f)
    });
    let speed_out = item
        .number_in("exit_design_speed_km_h", "0 to 200", |x| (0.0..=200.0).contains(&x), f)
        .or(speed_in.clone());
    let trough_radius_m = positive(item, "trough_radius_m", f).unwrap_or(defaults.corner_trough_radius_m);
    let lip_slope_deg = lip_slope(item, f).unwrap_or(defaults.lip_slope_deg);
    Some(Shape::Corner(ListedCorner {
        name: name?.value,
        hand: hand?,
        radius_m: radius_m?,
        angle_rad: angle?.value.to_radians(),
        transition_in_m: transition_in_m?,
        transition_out_m: transition_out_m?,
        design_speed_in_m_s: speed_in?.value / 3.6,
        design_speed_out_m_s: speed_out?.value / 3.6,
        trough_radius_m,
        lip_slope_rad: lip_slope_deg.to_radians(),
    }))
}
