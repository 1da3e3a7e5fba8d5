//! What cannot be done is reported as not done.

use super::pendulum::{Balance, STEPS, guess};
use crate::ddp::{HomotopyStatus, Settings, Stall, Start, StartFault, Status, homotopy, solve};

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
    // from a lean of 0.3 rad, 9.81 tan(0.3) = 3.03 is needed to hold; 1.0 is allowed
    let problem = Balance { limit: 1.0, virtual_limit: 0.0, ..Balance::default() };
    let states = guess();
    let start = Start::Trajectory { states: &states, controls: &[[0.0; 2]; STEPS] };
    let plan = solve(&problem, start, &Settings::default()).unwrap();
    println!("{:?} gap {} it {} cost {}", plan.status, plan.gap, plan.iterations, plan.cost);
    for r in &plan.history { println!("{r:?}"); }
}
#[test]
fn exact_virtual_torque_that_is_needed_does_not_vanish() {
    let mut problem = Balance { limit: 1.0, ..Balance::default() };
    let states = guess();
    let start = Start::Trajectory { states: &states, controls: &[[0.0; 2]; STEPS] };
    let done = homotopy(
        &mut problem,
        start,
        &Settings::default(),
        1e-3,
        |level, problem, _| {
            problem.virtual_price = 1e-3 * 10f64.powi(level as i32);
            level < 8
        },
        |_, plan| plan.controls.iter().fold(0.0_f64, |most, u| most.max(u[1].abs())),
    )
    .unwrap();
    println!("{:?} {:?}", done.levels, done.status);
}
