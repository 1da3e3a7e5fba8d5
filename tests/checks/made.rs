//! Tracks and constants made for checks: an incline, a torus corner, a vertical wall.

use sled_dynamics::motion::equations::Constants;
use sled_dynamics::setup::Setup;
use track_geometry::station_table::StationTable;
use track_geometry::track::{DataQuality, Eye, Track, TrackData};

/// A table with the same columns at every station, every `step_m` from 0 to `length_m`.
pub fn even(length_m: f64, step_m: f64, grade_rad: f64, plan_curvature_per_m: f64) -> StationTable {
    let n = (length_m / step_m).round() as usize;
    let station_m: Vec<f64> = (0..=n).map(|i| i as f64 * length_m / n as f64).collect();
    let same = |v: f64| vec![v; n + 1];
    StationTable {
        elevation_m: station_m.iter().map(|s| -s * grade_rad.sin()).collect(),
        plan_curvature_per_m: same(plan_curvature_per_m),
        banking_rad: same(0.0),
        trough_curvature_per_m: same(0.0),
        left_edge_m: same(20.0),
        right_edge_m: same(-20.0),
        station_m,
    }
}

/// A track from a table, with eyes at the given stations.
pub fn track(table: StationTable, eyes_m: &[f64]) -> Track {
    let eyes = eyes_m.iter().map(|s| Eye { name: format!("{s} m"), station_m: *s }).collect();
    let data = TrackData {
        name: "made for a check".into(),
        altitude_m: 0.0,
        latitude_rad: 0.8,
        source: "invented".into(),
        quality: DataQuality::Invented,
        eyes,
        corners: vec![],
        table,
    };
    Track::new(data).unwrap()
}

/// Constants with the given gravity, mass and drag.
pub fn constants(gravity_m_s2: f64, mass_kg: f64, drag_kg_per_m: f64) -> Constants {
    Constants {
        mass_kg,
        yaw_inertia_kg_m2: 16.0,
        gravity_m_s2,
        drag_kg_per_m,
        wall_friction: 0.05,
        mass_height_m: 0.15,
        gauge_m: 0.36,
        air_yaw_n_m_s2_per_rad_m2: 0.0,
        shaking_n_s_per_m: 0.0,
    }
}

/// One of the shipped tracks, or of the tracks for tests, by its folder under `tracks/`.
pub fn shipped(folder: &str) -> Track {
    let dir = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../tracks").join(folder);
    let read = |name: &str| std::fs::read_to_string(dir.join(name)).unwrap();
    let (toml, csv) = (read("track.toml"), read("stations.csv"));
    let checked = track_geometry::track_file::read_track("track.toml", &toml, "stations.csv", &csv).unwrap();
    Track::new(checked.track).unwrap()
}

/// One of the set-ups in `examples/`, with keys set.
pub fn setup(name: &str, sets: &[(&str, &str)]) -> Setup {
    let file = format!("{name}.toml");
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples").join(&file);
    let text = std::fs::read_to_string(path).unwrap();
    let sets: Vec<(String, String)> = sets.iter().map(|(k, v)| ((*k).into(), (*v).into())).collect();
    sled_dynamics::setup::file::read_setup(&file, &text, &sets).unwrap()
}
