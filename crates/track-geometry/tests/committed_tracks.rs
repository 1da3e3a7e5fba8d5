//! The tracks of the repository: readable, as their lists build them, without doubts.

use track_geometry::corner_list::{ListedCorner, Shape, read_corner_list};
use track_geometry::surface::Surface;
use track_geometry::table_file::write_stations_csv;
use track_geometry::track::{DataQuality, TrackData};
use track_geometry::track_builder::build_track;
use track_geometry::track_file::{read_track, write_track_toml};

const OSKERDALE: [&str; 3] = [
    include_str!("../../../tracks/oskerdale/corner_list.toml"),
    include_str!("../../../tracks/oskerdale/track.toml"),
    include_str!("../../../tracks/oskerdale/stations.csv"),
];
const QUILLMERE: [&str; 3] = [
    include_str!("../../../tracks/quillmere/corner_list.toml"),
    include_str!("../../../tracks/quillmere/track.toml"),
    include_str!("../../../tracks/quillmere/stations.csv"),
];
const EDGE_FREE: [&str; 3] = [
    include_str!("../../../tracks/tests/edge-free/corner_list.toml"),
    include_str!("../../../tracks/tests/edge-free/track.toml"),
    include_str!("../../../tracks/tests/edge-free/stations.csv"),
];

fn built(text: &str) -> TrackData {
    build_track(&read_corner_list("corner_list.toml", text).expect("a readable list")).expect("a track")
}

#[test]
fn pins_the_committed_tracks_are_what_their_lists_build() {
    for [list, toml, csv] in [OSKERDALE, QUILLMERE, EDGE_FREE] {
        let track = built(list);
        assert_eq!(track.quality, DataQuality::Invented);
        assert!(write_track_toml(&track) == toml, "{}: track.toml", track.name);
        assert!(write_stations_csv(&track.table) == csv, "{}: stations.csv", track.name);
        let read = read_track("track.toml", toml, "stations.csv", csv).expect("a readable track");
        assert_eq!(read.track, track);
    }
}

#[test]
fn exact_the_invented_tracks_raise_no_doubts() {
    for [_, toml, csv] in [OSKERDALE, QUILLMERE] {
        let read = read_track("track.toml", toml, "stations.csv", csv).expect("a readable track");
        assert!(read.doubts.is_empty(), "{:?}", read.doubts);
    }
}

#[test]
fn exact_the_tracks_for_tests_are_readable() {
    let incline = read_track(
        "track.toml",
        include_str!("../../../tracks/tests/incline/track.toml"),
        "stations.csv",
        include_str!("../../../tracks/tests/incline/stations.csv"),
    )
    .expect("a readable track");
    assert!(incline.doubts.is_empty());
    let t = &incline.track.table;
    for (s, z) in t.station_m.iter().zip(&t.elevation_m) {
        // 1e-12 m: one unit in the last place of 120 m is 1.4e-14 m.
        assert!((z - (1510.0 - s) * 0.0798f64.sin()).abs() < 1e-12);
    }
    let torus = read_track(
        "track.toml",
        include_str!("../../../tracks/tests/torus-corner/track.toml"),
        "stations.csv",
        include_str!("../../../tracks/tests/torus-corner/stations.csv"),
    )
    .expect("a readable track");
    assert!(torus.doubts.is_empty(), "{:?}", torus.doubts);
    let t = &torus.track.table;
    assert!(t.plan_curvature_per_m.iter().all(|k| *k == 0.04));
    assert!(t.trough_curvature_per_m.iter().all(|c| *c == 1.0 / 2.2));
}

#[test]
fn exact_the_examples_in_the_format_description_are_read() {
    let readme = include_str!("../../../tracks/README.md");
    let examples: Vec<&str> =
        readme.split("```toml\n").skip(1).filter_map(|rest| rest.split("```").next()).collect();
    let [track, list] = examples[..] else { panic!("{} examples", examples.len()) };
    read_track("track.toml", track, "stations.csv", OSKERDALE[2]).expect("a readable track");
    let track = built(list);
    assert_eq!(track.corners.len(), 1);
    // The values in comments are the ones used when nothing is said.
    let defaults = list.replace("# spacing", "spacing").replace("# straight_t", "straight_t");
    let defaults = defaults
        .replace("# corner_t", "corner_t")
        .replace("# half", "half")
        .replace("# lip_slope_deg = 88", "lip_slope_deg = 88");
    assert_eq!(built(&defaults.replace("# grade_t", "grade_t")), track);
}

/// Each corner of a list with the corner that was built from it.
fn pairs(list: &str, track: &TrackData) -> Vec<(ListedCorner, f64, f64)> {
    let list = read_corner_list("corner_list.toml", list).expect("a readable list");
    let listed = list.elements.into_iter().filter_map(|e| match e.shape {
        Shape::Corner(c) => Some(c),
        Shape::Straight { .. } => None,
    });
    listed.zip(&track.corners).map(|(l, c)| (l, c.entry_m, c.exit_m)).collect()
}

#[test]
fn exact_the_surface_turns_by_the_listed_angles() {
    for [list, ..] in [OSKERDALE, QUILLMERE, EDGE_FREE] {
        let track = built(list);
        let surface = Surface::new(&track.table).expect("a surface");
        for (listed, entry_m, exit_m) in pairs(list, &track) {
            let turned = (surface.heading_rad(exit_m) - surface.heading_rad(entry_m)).abs();
            // 0.1 % is what a corner list is promised.
            assert!(
                (turned / listed.angle_rad - 1.0).abs() < 1e-3,
                "{} {}: {turned}",
                track.name,
                listed.name
            );
        }
    }
}

#[test]
fn exact_at_the_design_speed_the_reference_line_needs_no_side_force() {
    for [list, ..] in [OSKERDALE, QUILLMERE, EDGE_FREE] {
        let track = built(list);
        let surface = Surface::new(&track.table).expect("a surface");
        for (listed, entry_m, exit_m) in pairs(list, &track) {
            let (v2_in, v2_out) = (listed.design_speed_in_m_s.powi(2), listed.design_speed_out_m_s.powi(2));
            for i in 0..=300 {
                let share = f64::from(i) / 300.0;
                let s = entry_m + share * (exit_m - entry_m);
                // Along u = 0 a body at v needs v^2 times the geodesic curvature to its left
                // within the ice; gravity gives -g times the rise of the ice to its left.
                let rise = (surface.position(s, 1e-4).z - surface.position(s, -1e-4).z) / 2e-4;
                let needed =
                    (v2_in + share * (v2_out - v2_in)) * surface.forms(s, 0.0).geodesic_curvature_per_m;
                let missing_g = needed / 9.80665 + rise;
                // 5e-4 g: splines between stations 2 m apart, and 1e-6 deg in the file, leave a few 1e-4.
                assert!(missing_g.abs() < 5e-4, "{} {} at {s}: {missing_g} g", track.name, listed.name);
            }
        }
    }
}
