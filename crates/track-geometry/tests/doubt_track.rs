//! Doubts: what can be read but may be wrong is told with its station.

use track_geometry::doubts::{Doubt, DoubtKind};
use track_geometry::track_file::read_track;

const HEADER: &str = "station_m,elevation_m,radius_m,banking_deg,trough_radius_m,left_edge_m,right_edge_m";
const TOML: &str = r#"name = "Little"
altitude_m = 600
latitude_deg = 60
quality = "invented"
source = "made up"
eyes = [{ name = "start", station_m = 1 }, { name = "finish", station_m = 19 }]
"#;

/// Stations every 2 m on an even slope; the row at 8 m (or another) is replaced.
fn rows_with(row: usize, text: &str) -> Vec<String> {
    let mut rows: Vec<String> =
        (0..=10).map(|i| format!("{},{},,0,3,0.7,-0.7", 2 * i, 610.0 - 0.2 * f64::from(i))).collect();
    text.clone_into(&mut rows[row]);
    rows
}

fn doubts_with_corners(rows: &[String], corners: &str) -> Vec<Doubt> {
    let csv = format!("{HEADER}\n{}\n", rows.join("\n"));
    read_track("track.toml", &format!("{TOML}{corners}"), "stations.csv", &csv)
        .expect("a readable track")
        .doubts
}

fn doubts_of(rows: &[String]) -> Vec<Doubt> {
    doubts_with_corners(rows, "")
}

#[track_caller]
fn doubted(doubts: &[Doubt], station_m: f64, words: &str, is: impl Fn(&DoubtKind) -> bool) {
    let found = doubts.iter().find(|d| d.station_m == station_m && is(&d.kind));
    let text = found.map(ToString::to_string).unwrap_or_default();
    assert!(text.contains(words) && text.starts_with("station "), "`{words}` is not in {text}: {doubts:?}");
}

#[test]
fn exact_nothing_is_doubted_on_an_even_slope() {
    assert_eq!(doubts_of(&rows_with(4, "8,609.2,,0,3,0.7,-0.7")), []);
}

#[test]
fn exact_a_jump_of_banking_is_doubted() {
    let doubts = doubts_of(&rows_with(4, "8,609.2,,20,3,0.7,-0.7"));
    doubted(&doubts, 6.0, "10.0 deg per metre", |k| matches!(k, DoubtKind::BankingJump { .. }));
    assert_eq!(doubts[0].stations, 2);
}

#[test]
fn exact_a_rise_is_doubted() {
    let doubts = doubts_of(&rows_with(4, "8,609.5,,0,3,0.7,-0.7"));
    doubted(&doubts, 6.0, "rises by 5.00 %", |k| matches!(k, DoubtKind::Uphill { .. }));
}

#[test]
fn exact_rough_elevation_is_doubted_from_three_tenths_of_g() {
    // A lone error e at spacing h bends by 2 e/h^2 against e/h^2 of its neighbours the other
    // way: 3 e/4 * 900/9.80665 = 0.275 g for 4 mm, 0.344 g for 5 mm.
    for (error_m, doubtful) in [(0.004, false), (0.005, true)] {
        let doubts = doubts_of(&rows_with(5, &format!("10,{},,0,3,0.7,-0.7", 609.0 + error_m)));
        assert_eq!(!doubts.is_empty(), doubtful);
        if doubtful {
            doubted(&doubts, 10.0, "0.34 g", |k| matches!(k, DoubtKind::ElevationNoise { .. }));
        }
    }
}

#[test]
fn exact_a_corner_tighter_than_its_trough_and_a_jump_of_curvature_are_doubted() {
    let doubts = doubts_of(&rows_with(4, "8,609.2,2.5,0,3,0.7,-0.7"));
    doubted(&doubts, 8.0, "2.50 m is tighter than the trough radius 3.00 m", |k| {
        matches!(k, DoubtKind::TighterThanTrough { .. })
    });
    doubted(&doubts, 6.0, "from inf m to 2.5 m", |k| matches!(k, DoubtKind::CurvatureJump { .. }));
}

#[test]
fn exact_banking_out_of_the_corner_and_little_ice_are_doubted() {
    let doubts = doubts_of(&rows_with(4, "8,609.2,50,-10,3,0.2,-0.7"));
    doubted(&doubts, 8.0, "leans out of the corner", |k| matches!(k, DoubtKind::BankingAgainstCorner { .. }));
    doubted(&doubts, 8.0, "left edge 0.20 m", |k| matches!(k, DoubtKind::EdgesNearlyCross { .. }));
}

#[test]
fn exact_an_overhang_is_doubted() {
    // Slope at the right edge: 10 deg + 5.5/3 rad = 115.04 deg.
    let doubts = doubts_of(&rows_with(4, "8,609.2,,10,3,4.5,-5.5"));
    doubted(&doubts, 8.0, "slope 115 deg", |k| matches!(k, DoubtKind::Overhang { .. }));
}

#[test]
fn exact_stations_far_apart_are_doubted() {
    let mut rows = rows_with(4, "");
    rows.drain(4..=5);
    doubted(&doubts_of(&rows), 6.0, "6.0 m to the next", |k| matches!(k, DoubtKind::StationsFarApart { .. }));
}

#[test]
fn exact_a_short_transition_is_doubtful_and_a_long_one_is_not() {
    // Clothoids to 1/40 over 8 m and 30 m; a quarter of the longest lateral period is 11.25 m.
    for (ramp_m, doubtful) in [(8.0, true), (30.0, false)] {
        let rows: Vec<String> = (0..=100)
            .map(|s| {
                let s = f64::from(s);
                let k = (s / ramp_m).min((100.0 - s) / ramp_m).clamp(0.0, 1.0) / 40.0;
                let radius = if k == 0.0 { String::new() } else { format!("{}", 1.0 / k) };
                format!("{s},{},{radius},{},3,0.7,-0.7", 610.0 - 0.1 * s, 2000.0 * k)
            })
            .collect();
        let doubts = doubts_with_corners(&rows, "[[corners]]\nname = \"Kiln\"\nentry_m = 0\nexit_m = 100\n");
        assert_eq!(doubts.len(), if doubtful { 2 } else { 0 }, "{doubts:?}");
        for d in &doubts {
            doubted(&doubts, d.station_m, "corner Kiln tightens or opens within 8.0 m", |k| {
                matches!(k, DoubtKind::ShortTransition { .. })
            });
        }
    }
}
