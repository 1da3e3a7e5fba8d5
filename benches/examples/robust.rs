//! scratch
#![allow(missing_docs, clippy::unwrap_used)]
use sled_dynamics::setup_keys::set;
use sled_dynamics::descent::EventKind;
use sled_dynamics::precision::{Detail, Precision};
use std::path::Path;
use sweep_runner::prepared::{Attempt, Prepared, Ready};
use track_geometry::track::Track;
fn text(path: &str) -> String { std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(path)).unwrap() }
fn main() {
    let lag: f64 = std::env::var("LAG").map_or(0.15, |l| l.parse().unwrap());
    let only: Vec<String> = std::env::args().skip(1).collect();
    for folder in ["oskerdale", "quillmere"] {
        let (toml, csv) = (format!("tracks/{folder}/track.toml"), format!("tracks/{folder}/stations.csv"));
        let read = track_geometry::track_file::read_track(&toml, &text(&toml), &csv, &text(&csv)).unwrap();
        let track = Track::new(read.track).unwrap();
        for name in ["clubs-woman", "clubs-man"] {
            if !only.is_empty() && !only.iter().any(|o| o == name || o == folder) { continue; }
            let file = format!("examples/{name}.toml");
            let mut setup = sled_dynamics::setup_file::read_setup(&file, &text(&file), &[]).unwrap(); for kv in std::env::var("SET").unwrap_or_default().split(",").filter(|s| !s.is_empty()) { let (k,v)=kv.split_once("=").unwrap(); set(&mut setup, k, v.parse().unwrap()).unwrap(); }
            println!("margin 1g {:.4}", Ready::new(&track,&setup).unwrap().ice.static_margin_m(1000.0, 0.0));
            let ready = Ready::new(&track, &setup).unwrap();
            let t = std::time::Instant::now();
            let planned = ready.plan(lag, None).unwrap();
            println!("== {name} {folder} plan {:.4} s, {} sweeps {:?} {:?} help {:.5}", planned.time_s.unwrap_or(0.0), planned.sweeps, t.elapsed(), planned.status, planned.help_m_s2);
            let plan = planned.plan.clone();
            let mut g = [0.0f64; 7];
            for k in &plan.gains { for i in 0..7 { g[i] = g[i].max(k[i].abs()); } }
            println!("greatest gains {g:.1?}");
            let edge = |d: &sled_dynamics::descent::Descent| d.trace.iter().map(|s| { let st = track.surface.station(s.station_m); ((st.left_edge[0]-s.offset_m).min(s.offset_m-st.right_edge[0]), s.station_m)}).fold((9.9,0.0), |a,b| if b.0<a.0 {b} else {a});
            let i = setup.sled.yaw_inertia_kg_m2; let b = setup.sled.balance_point_m*1e3; 
            { let a = setup.air.drag_area_m2; let mut other = setup.clone(); set(&mut other, "air.drag_area_m2", a*0.895).unwrap(); let r2 = Ready::new(&track, &other).unwrap(); let p2 = r2.plan(lag, None).unwrap();
              let eye = ready.launch.time_s - ready.launch.sprint.unwrap().time_at_s(track.data.eyes[0].station_m); let t0 = planned.time_s.unwrap()+eye; println!("margin drag {:.4} -10.5 % drag: {:+.3} %; mean {:.2}", a, 100.0*(p2.time_s.unwrap()-planned.time_s.unwrap())/t0, (track.finish_m()-track.data.eyes[0].station_m)/t0); }
            let mut cases: Vec<(String, Vec<(&str, f64)>)> = vec![("itself".into(), vec![])];
            for f in [0.75,0.9, 1.05, 1.1,1.15, 1.2, 1.25] { cases.push((format!("inertia x{f}"), vec![("sled.yaw_inertia_kg_m2", i*f)])); }
            for d in [-2.0, 2.0] { cases.push((format!("balance {d}"), vec![("sled.balance_point_mm", b+d)])); }
            cases.push(("friction +2%".into(), vec![("ice.friction_factor", 1.02)]));
            cases.push(("friction -2%".into(), vec![("ice.friction_factor", 0.98)]));
            for (what, keys) in cases {
                let mut other = setup.clone();
                                for (k, v) in keys { set(&mut other, k, v).unwrap(); }
                let r2 = Ready::new(&track, &other).unwrap();
                let p = Prepared::new(r2, planned.clone(), lag).unwrap();
                let d = p.descent(&Attempt::perfect(), Precision::default(), Detail::Trace(1.0));
                let mut dev=(0.0f64,0.0); let mut dyaw=(0.0f64,0.0); let mut sat=0.0;
                for s in &d.trace { let k = plan.station_m.partition_point(|x| *x <= s.station_m).clamp(1, plan.station_m.len())-1; let x=&plan.states[k]; let du=(s.offset_m-x[0]).abs(); if du>dev.0 {dev=(du,s.station_m)}; let dy=(s.yaw_rad-x[1]).abs(); if dy>dyaw.0 {dyaw=(dy,s.station_m)}; if s.steer.abs()>0.97 {sat+=1.0;} }
                if std::env::var("TR").is_ok_and(|w| what.contains(&w)) { for s in &d.trace { let k = plan.station_m.partition_point(|x| *x <= s.station_m+1e-6).clamp(1, plan.station_m.len())-1; let x=&plan.states[k]; println!("{:.0} u {:+.3} {:+.3} yaw {:+.4} {:+.4} w {:+.3} {:+.3} slip {:+.4} {:+.4} steer {:+.2} {:+.2} asked {:+.2} rate {:+.1} g {:.1}", s.station_m, s.offset_m, x[0], s.yaw_rad, x[1], s.spin_rad_s, x[4], s.slip_rad, x[3]/x[2], s.steer, x[5], x[6], plan.controls[k.min(plan.controls.len()-1)][0], s.g_load);} }
                let touches: Vec<String> = d.events.iter().filter(|e| !matches!(e.kind, EventKind::Light)).map(|e| format!("{:.0}", e.station_m)).collect();
                println!("{what:14} {:?} {:?} touches {} at {:?} max dev {:.3} at {:.0} yaw {:.4} at {:.0} edge {:.3} at {:.0} full-steer m {sat}", d.outcome, d.finish_time_s, d.wall_touches(), touches, dev.0, dev.1, dyaw.0, dyaw.1, edge(&d).0, edge(&d).1);
            }
        }
    }
}
