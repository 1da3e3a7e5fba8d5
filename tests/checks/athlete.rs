//! The athlete who sees late and coarsely: lines beside the plan, skids that are caught, sleds a little different,
//! and a ledger that closes although the sled is disturbed.

use crate::made::{setup, shipped};
use sled_dynamics::athlete::{Athlete, Trouble};
use sled_dynamics::descent::{Descent, EventKind, Outcome};
use sled_dynamics::disturbance::Disturbance;
use sled_dynamics::errors_of_ride::{RideErrors, SKILLS, Skill};
use sled_dynamics::precision::{Detail, Precision};
use sled_dynamics::routine::{Beside, Routine};
use sled_dynamics::setup::Setup;
use sled_dynamics::setup_keys::set;
use sweep_runner::ensemble::{RIDES, ensemble};
use sweep_runner::mistakes::{Rider, routine_of};
use sweep_runner::prepared::{Attempt, Prepared, Ready};
use track_geometry::track::Track;

fn prepared<'a>(track: &'a Track, setup: &'a Setup, lag_s: f64) -> Prepared<'a> {
    let ready = Ready::new(track, setup).unwrap();
    let plan = ready.plan(lag_s, None).unwrap();
    Prepared::new(ready, plan, lag_s).unwrap()
}

/// The club's woman with the bow and the frame that she would ride.
fn ridden() -> Setup {
    let mut s = setup("clubs-woman", &[]);
    let bow = std::env::var("BOW").ok().and_then(|b| b.parse().ok()).unwrap_or(3.0);
    set(&mut s, "runners.bow_mm", bow).unwrap();
    set(&mut s, "sled.frame_twist_n_m_per_rad", 300.0).unwrap();
    s
}

#[test]
fn look() {
    let name = std::env::var("TRACK").unwrap_or("oskerdale".into());
    let (track, setup) = (shipped(&name), ridden());
    for skill in SKILLS {
        let p = prepared(&track, &setup, skill.lag_s);
        let only = |f: fn(&mut Skill)| {
            let mut s = skill.without_errors();
            s.sight_m = 1e-6;
            f(&mut s);
            s
        };
        let all: [(&str, Skill); 8] = [
            ("none", only(|_| ())),
            ("disturbed", Skill { disturbance_n_m: skill.disturbance_n_m, ..only(|_| ()) }),
            ("timing", Skill { timing_s: skill.timing_s, ..only(|_| ()) }),
            ("amount", Skill { amount: skill.amount, ..only(|_| ()) }),
            ("aim", Skill { aim_m: skill.aim_m, ..only(|_| ()) }),
            (
                "sight",
                Skill {
                    sight_m: skill.sight_m,
                    sight_rad: skill.sight_rad,
                    unseen_m: skill.unseen_m,
                    unseen_rad: skill.unseen_rad,
                    ..only(|_| ())
                },
            ),
            ("but start", Skill { start_s: 0.0, ..skill }),
            ("all", skill),
        ];
        for (what, s) in all {
            let t = std::time::Instant::now();
            let e = ensemble(&p, &s, 20, 40, RIDES);
            let routine = routine_of(&p, &s);
            let skids: usize = (0..10)
                .map(|i| {
                    Rider { prepared: &p, skill: &s, routine: routine.as_ref(), seed: 20 }
                        .ride(i, RIDES, Detail::Bare)
                        .events
                        .iter()
                        .filter(|e| matches!(e.kind, EventKind::Skid { .. }))
                        .count()
                })
                .sum();
            let f = e.figures();
            println!(
                "{name} {} {what}: plan {:?} mean {:?} sd {:?} touches {:.2} lost {:.2} skids {} took {:.0} ms",
                skill.name,
                e.planned_time_s,
                f.mean_s.map(|m| m.value),
                f.sd_s.map(|m| m.value),
                f.wall_touches.value,
                f.lost.value,
                skids,
                t.elapsed().as_secs_f64() * 1e3
            );
            let lost: Vec<_> = e
                .rides
                .iter()
                .filter_map(|r| r.lost)
                .map(|l| format!("{:.0} {:?}", l.0, l.1))
                .take(5)
                .collect();
            if !lost.is_empty() {
                println!("    {lost:?}");
            }
        }
    }
}
