//! Reading a track: every kind of fault is found, with its place, and all at once.

use track_geometry::faults::{FaultKind, Faults};
use track_geometry::table_file::{read_stations_csv, write_stations_csv};
use track_geometry::track::{DataQuality, Hand, Track};
use track_geometry::track_file::{TrackRead, read_track, write_track_toml};

const HEADER: &str = "station_m,elevation_m,radius_m,banking_deg";
const TOML: &str = r#"name = "Little"
altitude_m = 600
latitude_deg = 60
quality = "invented"
source = "made up"

[[eyes]]
name = "start"
station_m = 1

[[eyes]]
name = "finish"
station_m = 19
"#;

fn rows() -> Vec<String> {
    (0..=10).map(|i| format!("{},{},,0", 2 * i, 610.0 - 0.2 * f64::from(i))).collect()
}

fn csv_of(header: &str, rows: &[String]) -> String {
    format!("{header}\n{}\n", rows.join("\n"))
}

fn read(toml: &str, csv: &str) -> Result<TrackRead, Faults> {
    read_track("track.toml", toml, "stations.csv", csv)
}

fn faults(toml: &str, csv: &str) -> Faults {
    read(toml, csv).expect_err("faulty input was accepted")
}

/// The only fault of a table in which one row (from 0, line = row + 2) is replaced.
fn fault_of_row(row: usize, text: &str) -> String {
    let mut rows = rows();
    rows[row] = text.to_owned();
    one(&faults(TOML, &csv_of(HEADER, &rows)))
}

fn fault_of_wide_row(row: usize, text: &str) -> String {
    let mut rows: Vec<String> = rows().iter().map(|r| format!("{r},3,0.7,-0.7")).collect();
    rows[row] = text.to_owned();
    one(&faults(TOML, &csv_of(&format!("{HEADER},trough_radius_m,left_edge_m,right_edge_m"), &rows)))
}

fn fault_of_toml(from: &str, to: &str) -> String {
    assert!(TOML.contains(from));
    one(&faults(&TOML.replacen(from, to, 1), &csv_of(HEADER, &rows())))
}

fn one(faults: &Faults) -> String {
    assert_eq!(faults.0.len(), 1, "{faults}");
    faults.to_string()
}

#[track_caller]
fn says(message: &str, parts: &[&str]) {
    for part in parts {
        assert!(message.contains(part), "`{part}` is not in: {message}");
    }
}

#[test]
fn exact_a_good_track_is_read_and_has_only_the_doubt_of_assumed_edges() {
    let got = read(TOML, &csv_of(HEADER, &rows())).expect("a readable track");
    let t = &got.track;
    assert_eq!((t.name.as_str(), t.altitude_m, t.quality), ("Little", 600.0, DataQuality::Invented));
    assert_eq!(t.latitude_rad, 60f64.to_radians());
    assert_eq!(t.eyes.len(), 2);
    assert_eq!(t.table.station_m[10], 20.0);
    assert_eq!((t.table.left_edge_m[3], t.table.right_edge_m[3]), (0.7, -0.7));
    assert_eq!(t.table.trough_curvature_per_m, vec![0.0; 11]);
    assert_eq!(got.doubts.len(), 1, "{:?}", got.doubts);
    says(&got.doubts[0].to_string(), &["station 0.0 m", "no edges given", "0.7 m"]);
}

#[test]
fn exact_byte_order_mark_windows_line_ends_and_blank_lines_change_nothing() {
    let csv = csv_of(HEADER, &rows());
    let windows = |s: &str| format!("\u{feff}{}\r\n\r\n", s.replace('\n', "\r\n"));
    assert_eq!(read(&windows(TOML), &windows(&csv)), read(TOML, &csv));
}

#[test]
fn exact_columns_may_stand_in_any_order() {
    let swapped: Vec<String> =
        rows().iter().map(|r| r.split(',').rev().collect::<Vec<_>>().join(",")).collect();
    let got = read(TOML, &csv_of("banking_deg,radius_m,elevation_m,station_m", &swapped));
    assert_eq!(got, read(TOML, &csv_of(HEADER, &rows())));
}

#[test]
fn exact_faults_of_the_header() {
    let narrow = ["0,3,", "2,2.9,", "4,2.8,", "20,2.5,"].map(str::to_owned);
    let missing = one(&faults(TOML, &csv_of("station_m,elevation_m,radius_m", &narrow)));
    says(&missing, &["stations.csv, line 1", "banking_deg", "missing"]);
    let with = |header: &str| {
        faults(TOML, &csv_of(header, &rows().iter().map(|r| format!("{r},1")).collect::<Vec<_>>()))
    };
    says(
        &one(&with(&format!("{HEADER},trough_radus_m"))),
        &["line 1, column 5", "(trough_radus_m)", "did you mean `trough_radius_m`?"],
    );
    says(&one(&with(&format!("{HEADER},colour"))), &["line 1, column 5", "(colour)", "unknown column"]);
    says(&one(&with(&format!("{HEADER},station_m"))), &["line 1, column 5", "(station_m)", "twice"]);
    says(&one(&with(&format!("{HEADER},left_edge_m"))), &["line 1", "(right_edge_m)", "missing"]);
}

#[test]
fn exact_semicolons_are_told_in_words() {
    let csv = csv_of(HEADER, &rows()).replace(',', ";").replace('.', ",");
    says(&one(&faults(TOML, &csv)), &["stations.csv, line 1", "semicolons", "commas", "point"]);
}

#[test]
fn exact_decimal_commas_are_told_in_words() {
    says(&fault_of_row(3, "6,\"609,4\",,0"), &["line 5, column 2 (elevation_m)", "decimal comma", "609.4"]);
    says(&fault_of_row(3, "6,609,4,,0"), &["line 5", "5 fields", "header has 4", "decimal comma"]);
}

#[test]
fn exact_empty_files() {
    says(&one(&faults(TOML, "  \n\n")), &["stations.csv", "empty"]);
    says(&one(&faults("", &csv_of(HEADER, &rows()))), &["track.toml", "empty"]);
}

#[test]
fn exact_faults_of_single_values() {
    says(
        &fault_of_row(4, "8,high,,0"),
        &["stations.csv, line 6, column 2 (elevation_m)", "\"high\"", "a number"],
    );
    says(&fault_of_row(4, "8,609.2,,"), &["line 6, column 4 (banking_deg)", "\"\"", "a number"]);
    says(&fault_of_row(4, "8,NaN,,0"), &["line 6, column 2 (elevation_m)", "NaN", "finite"]);
    says(&fault_of_row(4, "8,609.2,inf,0"), &["line 6, column 3 (radius_m)", "inf", "finite"]);
    says(&fault_of_row(4, "8,609.2,0,0"), &["column 3 (radius_m)", "got 0", "blank for a straight"]);
    says(&fault_of_row(4, "8,609.2"), &["line 6", "2 fields", "header has 4"]);
    says(&fault_of_row(4, "8,12345,,0"), &["elevation_m", "10,000 m"]);
}

#[test]
fn exact_faults_between_rows() {
    says(&fault_of_row(5, "8,609,,0"), &["line 7, column 1 (station_m)", "8 m after 8 m", "increase"]);
    says(&fault_of_row(10, "20,606,,0"), &["line 12, column 2 (elevation_m)", "-2.2000 m", "2.0000 m"]);
    says(&fault_of_row(10, "20,608,,70"), &["line 12, column 4 (banking_deg)", "35.0 deg per metre", "30"]);
    let few = csv_of(HEADER, &rows()[8..]);
    let all = faults(TOML, &few).to_string();
    says(&all, &["stations.csv: 3 rows", "at least 4"]);
}

#[test]
fn exact_faults_of_trough_and_edges() {
    says(
        &fault_of_wide_row(2, "4,609.6,,0,-3,0.7,-0.7"),
        &["line 4, column 5 (trough_radius_m)", "got -3", "without sign"],
    );
    says(
        &fault_of_wide_row(2, "4,609.6,,0,3,-0.7,0.7"),
        &["line 4, column 6 (left_edge_m)", "-0.7", "greater"],
    );
    says(
        &fault_of_wide_row(2, "4,609.6,,0,3,0.7,0.2"),
        &["line 4, column 7 (right_edge_m)", "off the ice", "right negative"],
    );
}

#[test]
fn exact_faults_of_the_toml() {
    let misspelt = faults(&TOML.replacen("altitude_m", "altitud_m", 1), &csv_of(HEADER, &rows()));
    assert_eq!(misspelt.0.len(), 2, "{misspelt}");
    says(
        &misspelt.to_string(),
        &["(altitude_m): this key is missing", "line 2, column 1 (altitud_m)", "did you mean `altitude_m`?"],
    );
    says(
        &fault_of_toml("latitude_deg = 60", "latitude_deg = 91"),
        &["track.toml, line 3, column 16 (latitude_deg)", "got 91", "-90 to 90"],
    );
    says(
        &fault_of_toml("altitude_m = 600", "altitude_m = \"600\""),
        &["line 2, column 14 (altitude_m)", "the text \"600\"", "a number"],
    );
    says(
        &fault_of_toml("altitude_m = 600", "altitude_m = nan"),
        &["line 2", "(altitude_m)", "nan", "finite"],
    );
    says(
        &fault_of_toml("name = \"Little\"", "name = 4"),
        &["line 1", "(name)", "the number 4", "text in quotes"],
    );
    says(
        &fault_of_toml("\"invented\"", "\"guessed\""),
        &["line 4", "(quality)", "\"guessed\"", "\"surveyed\""],
    );
    says(&fault_of_toml("source", "colour = 1\nsource"), &["line 5, column 1 (colour)", "unknown key"]);
    says(
        &fault_of_toml("name = \"start\"", "name = \"start\"\nstation = 3"),
        &["line 9, column 1 (eyes.station)", "did you mean `station_m`?"],
    );
    says(&fault_of_toml("source = \"made up\"\n", ""), &["track.toml", "(source)", "missing"]);
    says(&fault_of_toml("source = ", "source "), &["track.toml, line 5", "TOML"]);
}

#[test]
fn exact_faults_of_eyes() {
    says(
        &fault_of_toml("station_m = 19", "station_m = 21"),
        &["line 13, column 13 (eyes.station_m)", "21 m", "from 0 to 20 m"],
    );
    says(
        &fault_of_toml("station_m = 19", "station_m = 1"),
        &["line 13", "(eyes.station_m)", "1 m after 1 m", "order"],
    );
    let second = &TOML[TOML.rfind("[[eyes]]").unwrap_or(0)..];
    says(&fault_of_toml(second, ""), &["track.toml", "(eyes)", "1 timing eyes", "at least 2"]);
}

fn with_corners(corners: &str, csv: &str) -> Result<TrackRead, Faults> {
    read(&format!("{TOML}\n{corners}"), csv)
}

fn corner(name: &str, entry_m: f64, exit_m: f64) -> String {
    format!("[[corners]]\nname = \"{name}\"\nentry_m = {entry_m}\nexit_m = {exit_m}\n")
}

fn turning(radius_m: f64) -> String {
    let rows: Vec<String> =
        (0..=10).map(|i| format!("{},{},{radius_m},0", 2 * i, 610.0 - 0.2 * f64::from(i))).collect();
    csv_of(HEADER, &rows)
}

#[test]
fn exact_the_hand_of_a_corner_comes_from_the_curvature() {
    for (radius_m, hand) in [(50.0, Hand::Left), (-50.0, Hand::Right)] {
        let got = with_corners(&corner("1", 2.0, 9.0), &turning(radius_m)).expect("a readable track");
        assert_eq!(got.track.corners[0].hand, hand);
    }
}

#[test]
fn exact_faults_of_corners() {
    let fault = |corners: &str, csv: &str| one(&with_corners(corners, csv).expect_err("faulty corners"));
    let csv = turning(50.0);
    says(
        &fault(&corner("1", 2.0, 25.0), &csv),
        &["line 18, column 10 (corners.exit_m)", "25 m", "from 0 to 20 m"],
    );
    says(&fault(&corner("1", 9.0, 2.0), &csv), &["(corners.exit_m)", "entry 9 m, exit 2 m", "after"]);
    says(
        &fault(&(corner("1", 2.0, 9.0) + &corner("2", 8.0, 12.0)), &csv),
        &["line 21", "(corners.entry_m)", "entry 8 m", "ends at 9 m", "overlap"],
    );
    says(&fault(&corner("1", 2.0, 9.0), &csv_of(HEADER, &rows())), &["(corners.name)", "turns by 0.000 deg"]);
}

#[test]
fn exact_all_faults_of_both_files_come_at_once() {
    let mut rows = rows();
    rows[1] = "2,x,,0".into();
    rows[7] = "14,608.6,0,y".into();
    let toml = TOML.replace("60\n", "100\n").replace("source", "sorce");
    let all = faults(&toml, &csv_of(HEADER, &rows));
    let lines: Vec<_> = all.0.iter().map(|f| (f.place.file.as_str(), f.place.line)).collect();
    assert_eq!(
        lines,
        [
            ("track.toml", Some(3)),
            ("track.toml", Some(1)),
            ("track.toml", Some(5)),
            ("stations.csv", Some(3)),
            ("stations.csv", Some(9)),
            ("stations.csv", Some(9)),
        ],
        "{all}"
    );
    assert!(matches!(all.0[1].kind, FaultKind::MissingKey));
}

#[test]
fn exact_any_text_gives_a_result_or_faults_and_no_panic() {
    for csv in
        ["\u{0}", "a", "\"", ",,,\n,,,", "station_m,elevation_m,radius_m,banking_deg\n\"1,2\n", "é,ü\n1,2"]
    {
        assert!(!faults(TOML, csv).0.is_empty());
    }
    for toml in
        ["=", "[[", "name", "eyes = 3", "[eyes]\nname = 1", "eyes = [1, 2]", "\u{1F600}", "corners = {}"]
    {
        assert!(!faults(toml, &csv_of(HEADER, &rows())).0.is_empty());
    }
}

#[test]
fn exact_a_track_written_and_read_again_is_the_same() {
    let csv = "station_m,elevation_m,radius_m,banking_deg,trough_radius_m,left_edge_m,right_edge_m\n\
               0,610.123456,,0,,0.7,-0.75\n2.5,609.9,-33.3,-12.34567,3.1,0.71,-2.123456\n\
               4,609.7,97.123456,1e-3,2.6,1,-1\n6,609.51,1234567.891,0.1,7,0.7,-0.7\n20,608,,0,,2,-2\n";
    let toml = TOML.replace("Little", r#"A \"small\" one \\ \u00e5"#) + "\n" + &corner("1", 1.25, 5.5);
    let first = read(&toml, csv).expect("a readable track").track;
    let again =
        read(&write_track_toml(&first), &write_stations_csv(&first.table)).expect("a readable track").track;
    assert_eq!(first, again);
    // Radii and angles come back with the digits they had, not with rounding dust.
    assert!(write_stations_csv(&first.table).contains("2.5,609.9,-33.3,-12.34567,3.1,0.71,-2.123456"));
}

#[test]
fn exact_a_table_alone_is_read_with_its_faults() {
    assert_eq!(read_stations_csv("s.csv", &csv_of(HEADER, &rows())).map(|t| t.len()), Ok(11));
    assert!(read_stations_csv("s.csv", "x").is_err());
}

#[test]
fn exact_an_edge_that_swings_across_the_line_between_rows_is_refused() {
    let row = |i: usize, left_m: f64| format!("{},{},,0,3,{left_m},-0.7", 5 * i, 610.0 - 0.5 * i as f64);
    let header = format!("{HEADER},trough_radius_m,left_edge_m,right_edge_m");
    let surface = |left_m: f64| {
        let rows: Vec<String> = (0..=10).map(|i| row(i, if i == 5 { left_m } else { 0.7 })).collect();
        Track::new(read(TOML, &csv_of(&header, &rows)).expect("in range").track)
    };
    // by the natural spline's own swing beside a jump: 20 m throw it across, 2 m do not
    let said = surface(20.0).expect_err("across").to_string();
    assert!(said.contains("left_edge_m swings to -"), "{said}");
    assert!(said.contains("allowed is more than 0"), "{said}");
    let track = surface(2.0).expect("on its side");
    for s in 0..=500 {
        let at = track.surface.station(0.1 * f64::from(s));
        assert!(at.right_edge[0] < at.lowest_m() && at.lowest_m() < at.left_edge[0], "{}", at.station_m);
    }
}

#[test]
fn exact_names_are_on_one_line_and_once_alone() {
    let said = fault_of_toml("name = \"Little\"", "name = \"Lit\\u001btle\"");
    assert!(said.starts_with("track.toml, line 1") && said.contains("control characters"), "{said}");
    assert!(!said.contains('\u{1b}'), "{said}");
    let said = fault_of_toml("name = \"finish\"", "name = \"start\"");
    assert!(said.starts_with("track.toml, line 12") && said.contains("\"start\" a second time"), "{said}");
    let turning: Vec<String> =
        (0..=10).map(|i| format!("{},{},50,0", 2 * i, 610.0 - 0.2 * f64::from(i))).collect();
    let corner =
        |entry: u32| format!("\n[[corners]]\nname = \"1\"\nentry_m = {entry}\nexit_m = {}\n", entry + 4);
    let toml = format!("{TOML}{}{}", corner(2), corner(8));
    let said = one(&faults(&toml, &csv_of(HEADER, &turning)));
    assert!(said.starts_with("track.toml, line 20") && said.contains("\"1\" a second time"), "{said}");
}
