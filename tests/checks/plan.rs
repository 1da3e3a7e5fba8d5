//! The planned ride on a shipped track: free of walls and of virtual help, ridden as planned, and by a sled that
//! is a little different.

use crate::made::{setup, shipped};
use sled_dynamics::descend::{Course, descend};
use sled_dynamics::descent::{Descent, Outcome};
use sled_dynamics::entry::Entry;
use sled_dynamics::equations::Constants;
use sled_dynamics::launch::Launch;
use sled_dynamics::on_runners::{OnRunners, runner_tables};
use sled_dynamics::planned_ride::PlannedRide;
use sled_dynamics::precision::{Detail, Precision};
use sled_dynamics::setup::Setup;
use std::sync::OnceLock;
use sweep_runner::planner::{NO_HELP_M_S2, PlanStatus, Planned, plan_ride};
use track_geometry::track::Track;

/// A track with a planned ride on it.
pub struct Scene {
    pub track: Track,
    pub setup: Setup,
    pub constants: Constants,
    pub launch: Launch,
    pub planned: Planned,
}

/// The club's man on Quillmere, planned once for all checks.
pub fn scene() -> &'static Scene {
    static SCENE: OnceLock<Scene> = OnceLock::new();
    SCENE.get_or_init(|| {
        let (track, setup) = (shipped("quillmere"), setup("clubs-man", &[]));
        let constants = Constants::new(&setup, &track.data);
        let launch = Launch::from_push(&setup.push, &track, &constants, 0.009).unwrap();
        let ice = OnRunners::new(&setup, runner_tables(&setup).unwrap());
        let planned = plan_ride(&track, &constants, &ice, &launch, setup.pilot.lag_s, None).unwrap();
        Scene { track, setup, constants, launch, planned }
    })
}

fn ridden(constants: &Constants, setup: &Setup) -> Descent {
    let s = scene();
    let ride = PlannedRide::new(&s.planned.plan, s.setup.pilot.lag_s).unwrap();
    let ice = OnRunners::new(setup, runner_tables(setup).unwrap());
    let course = Course { track: &s.track, constants, ice: &ice, pilot: &ride };
    descend(&course, &s.launch, Entry::STRAIGHT, Precision::default(), Detail::Times)
}

#[test]
fn plan_is_free_of_walls_and_help() {
    let p = &scene().planned;
    assert_eq!(p.status, PlanStatus::Found);
    assert!(p.help_m_s2 <= NO_HELP_M_S2, "{} m/s2", p.help_m_s2);
    let slip = p.plan.states.iter().map(|x| (x[3] / x[2]).abs()).fold(0.0, f64::max).to_degrees();
    assert!(slip < 2.0, "{slip} degrees");
}

#[test]
fn plan_is_ridden_within_a_millisecond() {
    let s = scene();
    let d = ridden(&s.constants, &s.setup);
    assert_eq!((d.outcome, d.wall_touches()), (Outcome::Finished, 0));
    let first_eye_s = s.launch.sprint.unwrap().time_at_s(s.track.data.eyes[0].station_m);
    let planned_s = s.planned.time_s.unwrap() + s.launch.time_s - first_eye_s;
    let apart = d.finish_time_s.unwrap() - planned_s;
    println!("planned {planned_s:.5} s, ridden {apart:+.1e} s apart");
    assert!(apart.abs() < 1e-3, "{apart} s");
}
