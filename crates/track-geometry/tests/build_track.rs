//! Building a track from a corner list: lengths, angles, drop and banking are what the list says.

use track_geometry::corner_list::{CornerList, ListedCorner, Shape, read_corner_list};
use track_geometry::faults::{FaultKind, Faults};
use track_geometry::station_table::StationTable;
use track_geometry::track::{DataQuality, Hand, TrackData};
use track_geometry::track_builder::{LIP_CLEARANCE_M, build_track};

const LIST: &str = r#"name = "Little"
altitude_m = 600
latitude_deg = 60
source = "made up"
spacing_m = 0.5

[[elements]]
straight_m = 60
grade_percent = 4

[[elements]]
corner = "1"
hand = "left"
radius_m = 25
angle_deg = 100
transition_in_m = 30
transition_out_m = 24
design_speed_km_h = 108
grade_percent = 10

[[elements]]
straight_m = 33.3

[[elements]]
corner = "2"
hand = "right"
radius_m = 40
angle_deg = 200
transition_in_m = 25
design_speed_km_h = 108
exit_design_speed_km_h = 115
trough_radius_m = 3
grade_percent = 8

[[elements]]
straight_m = 70
grade_percent = 6

[[eyes]]
name = "start"
station_m = 15

[[eyes]]
name = "finish"
station_m = 300
"#;

const OSKERDALE: &str = include_str!("../../../tracks/oskerdale/corner_list.toml");
const QUILLMERE: &str = include_str!("../../../tracks/quillmere/corner_list.toml");
const EDGE_FREE: &str = include_str!("../../../tracks/tests/edge-free/corner_list.toml");

fn list_of(text: &str) -> CornerList {
    read_corner_list("corner_list.toml", text).expect("a readable list")
}

fn built(text: &str) -> TrackData {
    build_track(&list_of(text)).expect("a track")
}

/// Angle turned between two stations: plan curvature times cos(grade angle), trapezoid
/// rule, the grade from differences of elevation.
fn angle_deg(t: &StationTable, from_m: f64, to_m: f64) -> f64 {
    let mut sum = 0.0;
    for i in 1..t.len() {
        let ds = t.station_m[i] - t.station_m[i - 1];
        let sin = (t.elevation_m[i] - t.elevation_m[i - 1]) / ds;
        let middle = 0.5 * (t.station_m[i] + t.station_m[i - 1]);
        if (from_m..to_m).contains(&middle) {
            let mean = 0.5 * (t.plan_curvature_per_m[i] + t.plan_curvature_per_m[i - 1]);
            sum += mean * (1.0 - sin * sin).sqrt() * ds;
        }
    }
    sum.to_degrees()
}

fn corners_of(list: &CornerList) -> Vec<&ListedCorner> {
    list.elements
        .iter()
        .filter_map(|e| match &e.shape {
            Shape::Corner(c) => Some(c),
            Shape::Straight { .. } => None,
        })
        .collect()
}

#[test]
fn exact_angles_radii_straights_and_drop_come_back_to_a_thousandth() {
    for text in [LIST, OSKERDALE, QUILLMERE, EDGE_FREE] {
        let (list, track) = (list_of(text), built(text));
        let t = &track.table;
        let corners = corners_of(&list);
        assert_eq!(corners.len(), track.corners.len());
        for (listed, c) in corners.iter().zip(&track.corners) {
            assert_eq!((&listed.name, listed.hand), (&c.name, c.hand));
            let sign = if c.hand == Hand::Left { 1.0 } else { -1.0 };
            let (want, got) = (sign * listed.angle_rad.to_degrees(), angle_deg(t, c.entry_m, c.exit_m));
            // 0.1 % is what a corner list is promised; the station grid costs most of it.
            assert!((got / want - 1.0).abs() < 1e-3, "{} {}: {got} for {want} deg", track.name, c.name);
            let tightest = (0..t.len())
                .filter(|i| (c.entry_m..=c.exit_m).contains(&t.station_m[*i]))
                .map(|i| t.plan_curvature_per_m[i] * sign)
                .fold(0.0, f64::max);
            assert!((tightest * listed.radius_m - 1.0).abs() < 1e-3, "{}: radius {}", c.name, 1.0 / tightest);
        }
        let last = t.len() - 1;
        let straights_m: f64 = list
            .elements
            .iter()
            .map(|e| if let Shape::Straight { length_m } = e.shape { length_m } else { 0.0 })
            .sum();
        let corners_m: f64 = track.corners.iter().map(|c| c.exit_m - c.entry_m).sum();
        // 1e-4 m: some thirty borders, each rounded to 1e-6 m.
        assert!((t.station_m[last] - straights_m - corners_m).abs() < 1e-4);
        if let Some(drop_m) = list.total_drop_m {
            // 1e-5 m: elevations are rounded to 1e-6 m.
            assert!((t.elevation_m[0] - t.elevation_m[last] - drop_m).abs() < 1e-5);
        }
        assert_eq!(t.elevation_m[last], track.altitude_m);
    }
}

#[test]
fn exact_a_corner_without_grade_has_the_length_its_angle_needs() {
    let flat = LIST.replace("grade_percent = ", "grade_percent = 0 # ").replace("= 108", "= 0.001");
    let track = built(&flat);
    // At no speed the curvature is a smoothstep, whose mean is one half, so on the level
    // length = R angle + (in + out)/2. Corner 1: 25 * 100 deg + 27 m. 1e-4 m: rounding.
    let c = &track.corners[0];
    assert!((c.exit_m - c.entry_m - (25.0 * 100f64.to_radians() + 27.0)).abs() < 1e-4, "{c:?}");
    assert_eq!(c.entry_m, 60.0);
}

#[test]
fn exact_banking_carries_the_design_speed() {
    let t = built(&LIST.replace("grade_percent = ", "grade_percent = 0 # ")).table;
    // Level, 30 m/s, R 25 m: banking = atan(900 / (9.80665 * 25)) = 1.3048424535904464 rad,
    // computed apart, `tests/reference/values.py`; 2e-8 rad: the file holds 1e-6 deg.
    let full = t.banking_rad.iter().copied().fold(0.0, f64::max);
    assert!((full - 1.304_842_453_590_446_4).abs() < 2e-8, "{full}");
    // Straights are not banked.
    assert!(t.banking_rad.iter().zip(&t.station_m).all(|(b, s)| *s > 60.0 || *b == 0.0));
}

#[test]
fn exact_right_is_the_mirror_of_left() {
    let swapped =
        LIST.replace("\"left\"", "\"x\"").replace("\"right\"", "\"left\"").replace("\"x\"", "\"right\"");
    let mirror = built(LIST).table.mirrored();
    // -0.0 equals 0.0, so straights compare equal.
    assert_eq!(built(&swapped).table, mirror);
}

#[test]
fn order_ice_is_twice_smooth_and_edges_have_no_jumps() {
    // Second differences over h^2 stay what they are when the spacing is divided by four; a kink makes them four
    // times as large, a jump sixteen times. Edges are held wide behind a corner and have kinks there, no jumps.
    // 1.1: the coarse grid misses the peaks a little.
    let table = |h: &str| built(&LIST.replace("spacing_m = 0.5", &format!("spacing_m = {h}"))).table;
    let bend = |t: &StationTable, x: &[f64]| {
        (1..t.len() - 2)
            .map(|i| {
                let h = t.station_m[i] - t.station_m[i - 1];
                ((x[i + 1] - 2.0 * x[i] + x[i - 1]) / (h * h)).abs()
            })
            .fold(0.0, f64::max)
    };
    let (coarse, fine) = (table("0.4"), table("0.1"));
    let columns: [fn(&StationTable) -> &Vec<f64>; 6] = [
        |t| &t.elevation_m,
        |t| &t.plan_curvature_per_m,
        |t| &t.banking_rad,
        |t| &t.trough_curvature_per_m,
        |t| &t.left_edge_m,
        |t| &t.right_edge_m,
    ];
    for (i, column) in columns.iter().enumerate() {
        let (a, b) = (bend(&coarse, column(&coarse)), bend(&fine, column(&fine)));
        let most = if i < 4 { 1.1 } else { 4.4 };
        assert!(b < most * a && b > 0.9 * a, "column {i}: {a} {b}");
    }
}

#[test]
fn exact_there_is_room_beside_the_line_and_a_lip_in_fast_corners() {
    for text in [OSKERDALE, QUILLMERE] {
        let track = built(text);
        let t = &track.table;
        for i in 0..t.len() {
            let room = t.left_edge_m[i].min(-t.right_edge_m[i]);
            // half of a straight's trough, as the lists ask
            assert!(room > 0.69, "{} at {}: {room} m", track.name, t.station_m[i]);
        }
        for c in &track.corners {
            let middle = 0.5 * (c.entry_m + c.exit_m);
            let i = t.station_m.partition_point(|s| *s < middle);
            let slope = |u: f64| (t.trough_curvature_per_m[i] * u - t.banking_rad[i]).to_degrees();
            let (outer, inner) = match c.hand {
                Hand::Left => (-slope(t.right_edge_m[i]), slope(t.left_edge_m[i])),
                Hand::Right => (slope(t.left_edge_m[i]), -slope(t.right_edge_m[i])),
            };
            let room = match c.hand {
                Hand::Left => -t.right_edge_m[i],
                Hand::Right => t.left_edge_m[i],
            };
            assert!(room > LIP_CLEARANCE_M - 0.02, "{}: {room} m", c.name);
            // Nearly upright outside, nearly level (less than half a right angle) inside.
            assert!(
                (87.0..100.0).contains(&outer) && (0.0..45.0).contains(&inner),
                "{}: {outer} {inner}",
                c.name
            );
        }
    }
}

#[test]
fn exact_an_even_slope_comes_from_a_total_drop_alone() {
    let mut text: String =
        LIST.lines().filter(|l| !l.starts_with("grade_percent")).map(|l| format!("{l}\n")).collect();
    text = text.replace("spacing_m", "total_drop_m = 30\nspacing_m");
    let t = built(&text).table;
    let last = t.len() - 1;
    for i in 0..t.len() {
        let want = 600.0 + 30.0 * (1.0 - t.station_m[i] / t.station_m[last]);
        // 2e-6 m: elevations and stations are rounded to 1e-6 m.
        assert!((t.elevation_m[i] - want).abs() < 2e-6, "{i}");
    }
}

fn read_faults(from: &str, to: &str) -> Faults {
    assert!(LIST.contains(from));
    read_corner_list("corner_list.toml", &LIST.replacen(from, to, 1)).expect_err("a faulty list was accepted")
}

fn build_faults(from: &str, to: &str) -> Faults {
    assert!(LIST.contains(from));
    build_track(&list_of(&LIST.replacen(from, to, 1))).expect_err("a faulty list was built")
}

#[track_caller]
fn says(faults: &Faults, parts: &[&str]) {
    assert_eq!(faults.0.len(), 1, "{faults}");
    for part in parts {
        assert!(faults.to_string().contains(part), "`{part}` is not in: {faults}");
    }
}

#[test]
fn exact_faults_of_a_list_have_their_line() {
    says(
        &read_faults("hand = \"left\"", "hand = \"up\""),
        &["corner_list.toml, line 13", "(elements.hand)", "\"up\"", "\"left\", \"right\""],
    );
    says(&read_faults("radius_m = 25\n", ""), &["line 11", "(elements.radius_m)", "missing"]);
    says(&read_faults("radius_m = 25", "radius_m = -25"), &["line 14, column 12", "got -25", "above 0"]);
    says(
        &read_faults("angle_deg = 100", "angle_deg = \"100\""),
        &["line 15", "the text \"100\"", "a number"],
    );
    says(
        &read_faults("straight_m = 33.3", "grade_percent = 5"),
        &["line 21", "exactly one of `straight_m` and `corner`"],
    );
    says(
        &read_faults("transition_out_m", "transitoin_out_m"),
        &["line 17, column 1", "did you mean `transition_out_m`?"],
    );
    says(&read_faults("grade_percent = 4\n", ""), &["line 7", "(elements.grade_percent)", "missing"]);
    says(
        &read_faults("source", "quality = \"surveyed\"\nsource"),
        &["(quality)", "\"surveyed\"", "\"approximate\""],
    );
    says(&read_faults("station_m = 300", "station_m = 3"), &["(eyes.station_m)", "3 m after 15 m"]);
}

#[test]
fn exact_faults_of_what_cannot_be_built_name_the_corner() {
    says(
        &build_faults("angle_deg = 100", "angle_deg = 40"),
        &["Little (corner 1)", "angle 40 deg", "transitions alone turn"],
    );
    says(
        &build_faults("station_m = 300", "station_m = 3000"),
        &["(eye finish)", "got 3000 m", "the track reaches from 0"],
    );
    let light = build_faults("grade_percent = 4", "grade_percent = -20");
    assert!(matches!(light.0[0].kind, FaultKind::LightAtDesignSpeed { .. }), "{light}");
    says(&light, &["(corner 1)", "at station", "falls away", "108.0 km/h"]);
    let mut list = list_of(LIST);
    list.spacing_m = f64::NAN;
    list.elements[0].shape = Shape::Straight { length_m: -1.0 };
    let faults = build_track(&list).expect_err("a faulty list was built");
    assert_eq!(faults.0.len(), 2, "{faults}");
    list.elements.clear();
    list.eyes.clear();
    assert_eq!(build_track(&list).expect_err("a faulty list was built").0.len(), 3);
    let level = LIST.replace("grade_percent = ", "grade_percent = 0 # ");
    let mut list = list_of(&level);
    list.total_drop_m = Some(20.0);
    says(
        &build_track(&list).expect_err("a level track with a drop was built"),
        &["(total_drop_m)", "got 20"],
    );
}

#[test]
fn exact_a_damaged_list_gives_faults_and_no_panic() {
    for (i, _) in LIST.char_indices() {
        for other in ["", "-", "9", "\"", "\n", "["] {
            let damaged = format!("{}{other}{}", &LIST[..i], &LIST[i + 1..]);
            match read_corner_list("corner_list.toml", &damaged) {
                Err(faults) => assert!(!faults.0.is_empty(), "{damaged}"),
                Ok(list) => assert!(list.eyes.len() >= 2, "{damaged}"),
            }
        }
    }
}

#[test]
fn exact_a_list_without_quality_is_approximate() {
    assert_eq!(built(LIST).quality, DataQuality::Approximate);
}
