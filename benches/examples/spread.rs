//! scratch
#![allow(missing_docs, clippy::unwrap_used)]
use std::path::Path;
use sweep_runner::prepared::*;
use sweep_runner::ensemble::{RIDES, ensemble};
use sled_dynamics::errors_of_ride::SKILLS;
use sled_dynamics::setup_keys::set;
use track_geometry::track::Track;
fn text(path: &str) -> String { std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(path)).unwrap() }
fn main() {
  for folder in ["oskerdale","quillmere"] { for name in ["clubs-woman","clubs-man"] {
    let (toml, csv) = (format!("tracks/{folder}/track.toml"), format!("tracks/{folder}/stations.csv"));
    let read = track_geometry::track_file::read_track(&toml, &text(&toml), &csv, &text(&csv)).unwrap();
    let track = Track::new(read.track).unwrap();
    for keys in [vec![], vec![("runners.bow_mm",2.0)], vec![("runners.bow_mm",4.0)], vec![("runners.bow_mm",4.0),("ice.temperature_c",-10.0)]] {
    let mut setup = sled_dynamics::setup_file::read_setup("a", &text(&format!("examples/{name}.toml")), &[]).unwrap();
    for (k,v) in &keys { set(&mut setup, k, *v).unwrap(); }
    for (i, skill) in SKILLS.iter().enumerate() { if std::env::var("E").is_ok() && i!=3 {continue;}
    let ready = Ready::new(&track, &setup).unwrap();
    let p = ready.plan(skill.lag_s, None).unwrap();
    let t=p.time_s;
    match Prepared::new(ready, p, skill.lag_s) { Ok(p) => { let e = ensemble(&p, skill, 1, 200, RIDES); let ts: Vec<f64> = e.rides.iter().filter_map(|r| r.finish_time_s).collect(); let m=ts.iter().sum::<f64>()/ts.len() as f64; let sd=(ts.iter().map(|t| (t-m)*(t-m)).sum::<f64>()/(ts.len() as f64-1.0)).sqrt();
      println!("{folder} {name} {keys:?} {}: plan {t:?} mean {m:.3} SD {:.3} % lost {} walls {:.2}", skill.name, 100.0*sd/m, e.rides.iter().filter(|r| r.lost.is_some()).count(), e.rides.iter().map(|r| r.wall_touches as f64).sum::<f64>()/200.0); }, Err(e)=>println!("{folder} {name} {keys:?} {}: {e}", skill.name) }
    }}
  }}
}
