//! What cannot be done is reported as not done.

use super::pendulum::{Balance, STEPS, guess, without_virtual_torque};
use crate::ddp::outcome::Stall;
use crate::ddp::{HomotopyStatus, Settings, Start, StartFault, Status, solve};

/// From a lean of 0.3 rad, holding the pole takes an acceleration of 9.81 tan(0.3) =
/// 3.03; with only 1 allowed, it takes a torque of 9.81 sin(0.3) - cos(0.3) = 1.94 or,
/// further down, more.
const WEAK: f64 = 1.0;
const NEEDED: f64 = 1.94;

#[test]
fn exact_open_loop_start_that_falls_over_names_the_stage() {
    let problem = Balance::default();
    let start = Start::Controls { first: guess()[0], controls: &[[0.0; 2]; STEPS] };
    let plan = solve(&problem, start, &Settings::default()).unwrap();
    // 0.3 rad grows to 1.2 by about acosh(4)/3.1 s = 0.66 s = stage 33, later for the sine
    let Status::LeftDomain { stage } = plan.status else { panic!("{:?}", plan.status) };
    assert!((33..40).contains(&stage), "{stage}");
}

#[test]
fn exact_pole_too_heavy_for_its_limit_is_not_held() {
    let problem = Balance { limit: WEAK, virtual_limit: 0.0, ..Balance::default() };
    let states = guess();
    let start = Start::Trajectory { states: &states, controls: &[[0.0; 2]; STEPS] };
    let plan = solve(&problem, start, &Settings::default()).unwrap();
    let Status::Stalled(Stall::NoDescent { left_domain_at: Some(_) }) = plan.status else {
        panic!("{:?}", plan.status)
    };
    // no motion exists that stays up: the gaps cannot have closed
    assert!(plan.gap > 1e-3, "{}", plan.gap);
}

#[test]
fn exact_virtual_torque_that_is_needed_does_not_vanish() {
    let mut problem = Balance { limit: WEAK, ..Balance::default() };
    let (done, _) = without_virtual_torque(&mut problem, 1e-3, 4);
    let HomotopyStatus::Exhausted { measure, target } = done.status else { panic!("{:?}", done.status) };
    assert!(measure > NEEDED && target < measure);
}

#[test]
fn exact_too_few_iterations_are_no_success() {
    let problem = Balance::default();
    let states = guess();
    let start = Start::Trajectory { states: &states, controls: &[[0.0; 2]; STEPS] };
    let settings = Settings { iterations: 3, ..Settings::default() };
    let plan = solve(&problem, start, &settings).unwrap();
    assert_eq!(plan.status, Status::MaxIterations);
    assert_eq!(plan.history.len(), 3);
}

#[test]
fn exact_faults_of_a_start_are_reported_together() {
    let problem = Balance { limit: -1.0, ..Balance::default() };
    let mut states = guess();
    states[7][2] = f64::NAN;
    let start = Start::Trajectory { states: &states[..STEPS], controls: &[[0.0; 2]; 3] };
    let settings = Settings { gap_tolerance: -1.0, ..Settings::default() };
    let faults = solve(&problem, start, &settings).unwrap_err();
    assert!(faults.contains(&StartFault::Setting { name: "gap_tolerance", got: -1.0 }));
    assert!(faults.contains(&StartFault::States { got: STEPS, wanted: STEPS + 1 }));
    assert!(faults.contains(&StartFault::Controls { got: 3, stages: STEPS }));
    assert!(faults.iter().any(|f| matches!(f, StartFault::State { stage: 7, entry: 2, .. })));
    assert!(faults.contains(&StartFault::Limits { stage: 0, entry: 0, lower: 1.0, upper: -1.0 }));
}
