//! scratch
#![allow(missing_docs, clippy::unwrap_used)]
use std::path::Path;
use sweep_runner::prepared::Ready;
use track_geometry::track::Track;
fn text(path: &str) -> String { std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(path)).unwrap() }
fn main() {
    let folder="oskerdale";
    let (toml, csv) = (format!("tracks/{folder}/track.toml"), format!("tracks/{folder}/stations.csv"));
    let read = track_geometry::track_file::read_track(&toml, &text(&toml), &csv, &text(&csv)).unwrap();
    let track = Track::new(read.track).unwrap();
    let setup = sled_dynamics::setup_file::read_setup("a", &text("examples/clubs-woman.toml"), &[]).unwrap();
    let ready = Ready::new(&track, &setup).unwrap();
    for _ in 0..3 { let t = std::time::Instant::now(); let p = ready.plan(0.15, None).unwrap(); println!("{} {:?}", p.sweeps, t.elapsed()); }
}
