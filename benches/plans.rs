//! How long do a plan and a thousand rides of it take on all cores? Targets on two: cold plan 5 s (3 wanted), warm
//! 1 s, a thousand executed rides 8 s.
#![allow(missing_docs, clippy::unwrap_used)]

use sled_dynamics::riding::errors_of_ride::SKILLS;
use sled_dynamics::setup::keys::set;
use std::path::Path;
use std::time::Instant;
use sweep_runner::rides::ensemble::{RIDES, ensemble};
use sweep_runner::rides::prepared::{Prepared, Ready};
use track_geometry::track::Track;

fn text(path: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(path)).unwrap()
}

fn main() {
    for folder in ["oskerdale", "quillmere"] {
        let (toml, csv) = (format!("tracks/{folder}/track.toml"), format!("tracks/{folder}/stations.csv"));
        let read = track_geometry::track_file::read_track(&toml, &text(&toml), &csv, &text(&csv)).unwrap();
        let track = Track::new(read.track).unwrap();
        for name in ["clubs-woman", "clubs-man"] {
            let file = format!("examples/{name}.toml");
            let setup = sled_dynamics::setup::file::read_setup(&file, &text(&file), &[]).unwrap();
            let mut other = setup.clone();
            set(&mut other, "sled.ballast_kg", setup.sled.ballast_kg + 1.0).unwrap();
            let (ready, near) = (Ready::new(&track, &setup).unwrap(), Ready::new(&track, &other).unwrap());
            let elite = SKILLS[3];
            let clock = Instant::now();
            let plan = ready.plan(elite.lag_s, None).unwrap();
            let cold = clock.elapsed();
            let clock = Instant::now();
            let warm_sweeps = near.plan(elite.lag_s, Some(&plan.plan)).unwrap().sweeps;
            let warm = clock.elapsed();
            let sweeps = plan.sweeps;
            let prepared = Prepared::new(ready, plan, elite.lag_s).unwrap();
            let clock = Instant::now();
            let rides = ensemble(&prepared, &elite, 1, 1000, RIDES);
            println!(
                "{name} on {folder}: cold plan {cold:.2?} ({sweeps} sweeps), warm, a kilogram more, {warm:.2?} \
                 ({warm_sweeps} sweeps), 1000 rides {:.2?}, {} lost",
                clock.elapsed(),
                rides.rides.iter().filter(|r| r.lost.is_some()).count()
            );
        }
    }
}
