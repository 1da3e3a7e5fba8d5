//! How long do a plan and a thousand rides of it take on all cores? Targets on two: cold plan 5 s (3 wanted), warm
//! 1 s, a thousand executed rides 8 s. Of `plans` and `rides` those named are timed.
#![allow(missing_docs, clippy::unwrap_used)]

use sled_dynamics::riding::errors_of_ride::SKILLS;
use sled_dynamics::setup::keys::set;
use sweep_runner::rides::ensemble::{RIDES, rides};
use sweep_runner::rides::prepared::{Prepared, Ready};
use timings::{Times, row, setup, table, track, wanted};

fn main() {
    let elite = SKILLS[3];
    table("How long do a plan and a thousand rides of it take on all cores?");
    for folder in ["oskerdale", "quillmere"] {
        let track = track(folder);
        for name in ["clubs-woman", "clubs-man"] {
            let setup = setup(name);
            let mut other = setup.clone();
            set(&mut other, "sled.ballast_kg", setup.sled.ballast_kg + 1.0).unwrap();
            let (ready, near) = (Ready::new(&track, &setup).unwrap(), Ready::new(&track, &other).unwrap());
            let plan = ready.plan(elite.lag_s, None).unwrap();
            if wanted("plans") {
                let cold = Times::measured(|| ready.plan(elite.lag_s, None));
                row(&format!("{name} on {folder}: cold plan, {} sweeps", plan.sweeps), &cold);
                let sweeps = near.plan(elite.lag_s, Some(&plan.plan)).unwrap().sweeps;
                let warm = Times::measured(|| near.plan(elite.lag_s, Some(&plan.plan)));
                row(&format!("{name} on {folder}: warm plan, a kilogram more, {sweeps} sweeps"), &warm);
            }
            if wanted("rides") {
                let prepared = Prepared::new(ready, plan, elite.lag_s).unwrap();
                let ridden = || rides(&prepared, &elite, 1, 0..1000, RIDES);
                let lost = ridden().iter().filter(|r| r.lost.is_some()).count();
                row(&format!("{name} on {folder}: 1000 rides, {lost} lost"), &Times::measured(ridden));
            }
        }
    }
}
