//! Told lines are planned anew: high rides higher and low lower, in every corner of both tracks.

use crate::made::{setup, shipped};
use sled_dynamics::told_line::ToldPlace;
use sweep_runner::prepared::{Prepared, Ready};
use sweep_runner::told::told_ride;

#[test]
fn plan_high_is_higher_try() {
    for name in ["oskerdale", "quillmere"] {
        let track = shipped(name);
        let own = setup("clubs-woman", &[]);
        let lag_s = own.pilot.lag_s;
        let ready = Ready::new(&track, &own).unwrap();
        let planned = ready.plan(lag_s, None).unwrap();
        let prepared = Prepared::new(ready, planned, lag_s).unwrap();
        for (i, corner) in track.data.corners.iter().enumerate() {
            for (sign, word) in [(1.0, "high"), (-1.0, "low")] {
                for (at, s) in [("in", 0.5 * (corner.entry_m + corner.exit_m)), ("into", corner.entry_m), ("out", corner.exit_m)] {
                let outward = if corner.hand == track_geometry::track::Hand::Left { -1.0 } else { 1.0 };
                let place = ToldPlace { station_m: s, aside_m: sign * outward * 0.3, wall: None };
                let t = std::time::Instant::now();
                let got = told_ride(&prepared, &[place]);
                let words = match got { Ok(r) => format!("{} time {:?} walls {}", r.met[0].words(), r.descent.finish_time_s, r.descent.wall_touches()), Err(e) => e.replace('\n', " | ") };
                eprintln!("{name} {} {word} {at}: {words} {:.1} s", i + 1, t.elapsed().as_secs_f64());
                }
            }
        }
    }
}
