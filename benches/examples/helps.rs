//! scratch
#![allow(missing_docs, clippy::unwrap_used)]
use std::path::Path;
use sweep_runner::prepared::*;
use sled_dynamics::precision::*;
use sled_dynamics::setup_keys::set;
use track_geometry::track::Track;
fn text(path: &str) -> String { std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(path)).unwrap() }
fn main() {
  for folder in ["oskerdale","quillmere"] { for name in ["clubs-woman","clubs-man"] {
    let (toml, csv) = (format!("tracks/{folder}/track.toml"), format!("tracks/{folder}/stations.csv"));
    let read = track_geometry::track_file::read_track(&toml, &text(&toml), &csv, &text(&csv)).unwrap();
    let track = Track::new(read.track).unwrap();
    for keys in [vec![], vec![("sled.steer_couple_n_m",0.0)], vec![("sled.steer_couple_n_m",10.0)], vec![("sled.steer_couple_n_m",25.0)], vec![("runners.bow_mm",4.0)], vec![("runners.groove_edge_radius_mm",0.5)]] {
    let mut setup = sled_dynamics::setup_file::read_setup("a", &text(&format!("examples/{name}.toml")), &[]).unwrap();
    for (k,v) in &keys { set(&mut setup, k, *v).unwrap(); }
    let ready = Ready::new(&track, &setup).unwrap();
    let p = ready.plan(0.15, None).unwrap();
    let most = p.plan.controls.iter().zip(&p.plan.station_m).map(|(u,s)| (u[1].hypot(0.2*u[2]), *s)).fold((0.0,0.0),|a,b| if b.0>a.0 {b} else {a});
    // mean over 20 m windows
    let u=&p.plan.controls; let mut run: f64=0.0; for w in u.windows(25) { let m=(w.iter().map(|u| u[1]*u[1]+0.04*u[2]*u[2]).sum::<f64>()/25.0).sqrt(); run=run.max(m); }
    let (s, sw, h, ts)=(p.status.clone(), p.sweeps, p.help_m_s2, p.time_s);
    let d = Prepared::new(ready, p, 0.15).map(|p| p.descent(&Attempt::perfect(), Precision::default(), Detail::Times));
    let end = match d { Ok(d) => format!("{:?} walls {} {:?}", d.outcome, d.wall_touches(), d.finish_time_s), Err(e) => format!("{e}") };
    println!("{folder} {name} {keys:?}: {s:?} {sw} sweeps rms {h:.5} greatest {:.4} at {:.0}, over 25 m {run:.4}; {ts:?} ridden {end}", most.0, most.1);
  }}}
}
