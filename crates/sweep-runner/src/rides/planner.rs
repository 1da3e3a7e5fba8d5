//! Plans a ride: the problem of `sled_dynamics::riding::plan`, its derivatives in parallel, and the price of the help
//! raised level by level until it vanishes.

use numerics::ddp::{
    Expansion, Homotopy, HomotopyStatus, Problem, Settings, Solution, Start, StartFault, Status, homotopy,
    solve,
};
use sled_dynamics::laws::ice::Ice;
use sled_dynamics::motion::course::Course;
use sled_dynamics::motion::descend::descend;
use sled_dynamics::motion::descent::Outcome;
use sled_dynamics::motion::entry::Entry;
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::guided::guided;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::plan::RideProblem;
use sled_dynamics::riding::plan_state::{ASKED, CONTROLS, FORWARD, STATES};
use sled_dynamics::riding::planned_ride::{Plan, PlannedRide};
use sled_dynamics::riding::routine::Onward;
use sled_dynamics::riding::told_line::ToldNode;
use sled_dynamics::riding::tracking::{Allowed, tracking_gains};
use track_geometry::track::Track;

mod parallel;
mod status;
mod ways;

use parallel::Parallel;
pub use status::PlanStatus;
use ways::by_four_ways;

/// Help below this is none (m/s2, root mean square).
pub const NO_HELP_M_S2: f64 = 0.002;
/// Nowhere may it be more than this (m/s2): with more the sled does not follow its plan without it.
pub const MOST_HELP_M_S2: f64 = 0.004;
/// The solver goes on until the help is below this (m/s2, root mean square).
const SOLVE_TO_M_S2: f64 = 0.0003;
/// The price of the help rises so from level to level: the root of a thousand.
const RISE: f64 = 31.622776601683793;
/// Highest price, as a rule. A plan of a neighbour is taken up at it.
const LAST_PRICE: f64 = RISE * RISE * RISE;
/// Where a little help is left at the last price, the plan is solved on at these: taken if it steers no more than fully.
const BEYOND_PRICES: [f64; 2] = [RISE * LAST_PRICE, RISE * RISE * LAST_PRICE];
/// Where a little help is left by every start, steering beyond what is kept back is made so many times as dear.
const SPARING: f64 = 20.0;
/// From this price on the bends of the sled's rates count: a solve then converges in few full steps, and looks less around.
const CURVED_FROM: f64 = 0.9 * LAST_PRICE;
/// A plan is drawn to a told line from this price on: help may carry the sled there first.
const TOLD_PRICE: f64 = RISE;
/// First price of the patient start.
const PATIENT_PRICE: f64 = 1.0 / RISE;

/// A plan and how it came out.
#[derive(Clone, Debug)]
pub struct Planned {
    /// The plan.
    pub plan: Plan,
    /// How it came out.
    pub status: PlanStatus,
    /// What is left of the virtual help (m/s2, root mean square).
    pub help_m_s2: f64,
    /// Time from the launch to the last eye (s).
    pub time_s: Option<f64>,
    /// Backward sweeps of the solver, all levels.
    pub sweeps: usize,
}

/// What all solves share: contacts that join and part make the cost rough, so what holds steps short is kept.
fn shared() -> Settings {
    Settings {
        regularisation_least: 1e-2,
        regularisation_at_end: 0.3,
        control_share: 0.1,
        patience: 4,
        ..Settings::default()
    }
}

/// How the levels on the way are solved: only as far as the next one needs.
fn rough() -> Settings {
    Settings { iterations: 8, gain_tolerance: 1e-3, ..shared() }
}

/// How the problem is solved: until four sweeps gain less than half a millisecond of cost.
fn settings() -> Settings {
    Settings { iterations: 40, gain_tolerance: 1e-5, ..shared() }
}

/// Where a solve starts from, and the prices of the help on its way.
struct Way<'s> {
    states: &'s [[f64; STATES]],
    controls: &'s [[f64; CONTROLS]],
    first_price: f64,
    on_the_way: Settings,
}

/// Solves level by level, from the first price to `last_price`.
fn climb<I: Ice + Sync>(
    problem: &mut RideProblem<'_, I>,
    way: &Way<'_>,
    last_price: f64,
    sweeps: &mut usize,
) -> Result<Homotopy<STATES, CONTROLS>, Vec<StartFault>> {
    let solved = homotopy(
        &mut Parallel(problem),
        Start::Trajectory { states: way.states, controls: way.controls },
        &way.on_the_way,
        SOLVE_TO_M_S2,
        |level, p, _| {
            p.0.prices.help = way.first_price * RISE.powi(level as i32);
            p.0.curved = p.0.prices.help > CURVED_FROM;
            p.0.prices.help < 1.1 * last_price
        },
        |p, s| p.0.help_m_s2(&s.controls),
    )?;
    *sweeps += solved.sweeps;
    problem.prices.help = problem.prices.help.min(last_price);
    Ok(solved)
}

/// One solve, from the start to the highest price.
fn solve_from<I: Ice + Sync>(
    problem: &mut RideProblem<'_, I>,
    way: &Way<'_>,
    sweeps: &mut usize,
) -> Result<(Solution<STATES, CONTROLS>, PlanStatus), Vec<StartFault>> {
    let solved = climb(problem, way, LAST_PRICE, sweeps)?;
    problem.curved = true;
    // at the last price, to the end
    let solution = match solved.status {
        HomotopyStatus::Failed { status: Status::LeftDomain { .. }, .. } => solved.solution,
        _ => solve(&Parallel(problem), Start::from(&solved.solution), &settings())?,
    };
    *sweeps += solution.iterations;
    let status = judged(problem, &solution);
    Ok((solution, status))
}

/// Whether it is so little help that a plan may be found without.
fn a_little_is_left(status: &PlanStatus) -> bool {
    matches!(status, PlanStatus::NeedsHelp { lacks_m_s2, .. } if *lacks_m_s2 < 2.0 * MOST_HELP_M_S2)
}

/// One solve, and where a little help is left another beyond the highest price.
fn solve_beyond<I: Ice + Sync>(
    problem: &mut RideProblem<'_, I>,
    way: &Way<'_>,
    sweeps: &mut usize,
) -> Result<(Solution<STATES, CONTROLS>, PlanStatus), Vec<StartFault>> {
    let (mut solution, mut status) = solve_from(problem, way, sweeps)?;
    for price in BEYOND_PRICES {
        if !a_little_is_left(&status) {
            break;
        }
        problem.prices.help = price;
        let beyond = solve(&Parallel(problem), Start::from(&solution), &settings())?;
        *sweeps += beyond.iterations;
        // help must not be bought with more steering than there is
        if !beyond.states.iter().all(|x| x[ASKED].abs() <= 1.0) {
            break;
        }
        (status, solution) = (judged(problem, &beyond), beyond);
    }
    Ok((solution, status))
}

/// How a solution came out.
fn judged<I: Ice>(problem: &RideProblem<'_, I>, solution: &Solution<STATES, CONTROLS>) -> PlanStatus {
    let (station_m, lacks_m_s2) = problem.most_help(&solution.controls);
    let free = problem.help_m_s2(&solution.controls) <= NO_HELP_M_S2 && lacks_m_s2 <= MOST_HELP_M_S2;
    match solution.status {
        // not the very best, yet a motion of the sled without help: a plan all the same
        Status::Converged | Status::Creeping | Status::MaxIterations if free && solution.gap < 1e-9 => {
            PlanStatus::Found
        }
        Status::Converged | Status::Creeping | Status::MaxIterations => {
            PlanStatus::NeedsHelp { station_m, lacks_m_s2 }
        }
        status => PlanStatus::Failed(status.to_string()),
    }
}

/// What one start led to.
struct Candidate {
    plan: Plan,
    solution: Solution<STATES, CONTROLS>,
    status: PlanStatus,
    help: f64,
}

/// A solution as a plan, with the gains that hold a sled on it.
fn ready_to_ride<I: Ice + Sync>(
    problem: &mut RideProblem<'_, I>,
    solution: &Solution<STATES, CONTROLS>,
) -> Plan {
    let mut along = vec![Expansion::ZERO; solution.controls.len()];
    let costates = vec![[0.0; STATES]; solution.controls.len()];
    let ridden = &solution.states[..solution.controls.len()];
    let station_m = problem.stations_m();
    let gains = match Parallel(problem).expand_all(ridden, &solution.controls, &costates, &mut along) {
        Ok(()) => {
            let length_s: Vec<f64> = station_m
                .windows(2)
                .zip(&solution.states)
                .map(|(s, x)| (s[1] - s[0]) / x[FORWARD].max(1.0))
                .collect();
            tracking_gains(&along, &length_s, &Allowed::default())
        }
        Err(_) => vec![[0.0; STATES]; solution.controls.len()],
    };
    Plan { station_m, states: solution.states.clone(), controls: solution.controls.clone(), gains }
}

/// How deviations from a plan go on from node to node; `None` where the plan leaves what can be planned.
pub fn onward<I: Ice + Sync>(
    track: &Track,
    constants: &Constants,
    ice: &I,
    launch: &Launch,
    lag_s: f64,
    plan: &Plan,
) -> Option<Vec<Onward>> {
    let speed_m_s = |s: f64| {
        let i = plan.station_m.partition_point(|a| *a < s).min(plan.states.len() - 1);
        plan.states[i][FORWARD]
    };
    let mut problem = RideProblem::new(track, constants, ice, lag_s, launch.station_m, speed_m_s);
    let many = plan.controls.len();
    let mut along = vec![Expansion::ZERO; many];
    let costates = vec![[0.0; STATES]; many];
    let ridden = plan.states.get(..many)?;
    Parallel(&mut problem).expand_all(ridden, &plan.controls, &costates, &mut along).ok()?;
    Some(along.iter().map(|e| e.a).collect())
}

/// True if the plan, ridden without error and without help, comes to the end and touches no wall.
fn ridden_clean<I: Ice>(
    track: &Track,
    constants: &Constants,
    ice: &I,
    launch: &Launch,
    plan: &Plan,
    lag_s: f64,
) -> bool {
    PlannedRide::new(plan, lag_s).is_ok_and(|ride| {
        let course = Course { track, constants, ice, pilot: &ride };
        let d = descend(&course, launch, Entry::STRAIGHT, Precision::default(), Detail::Bare);
        d.outcome == Outcome::Finished && d.touches() == 0
    })
}

/// About how fast the sled is at a station (m/s): the guided estimate.
fn about_m_s(track: &Track, constants: &Constants, launch: &Launch) -> impl Fn(f64) -> f64 {
    let about = guided(track, constants, launch, 0.012, Precision::default(), Detail::Trace(1.0)).trace;
    let first_m = launch.station_m + 1.0;
    move |s| about[about.partition_point(|a| a.station_m < s.max(first_m)).min(about.len() - 1)].speed_m_s
}

/// Plans the ride anew along a line that is told beside a plan of the same sled, warm from that plan.
pub(crate) fn plan_told<I: Ice + Sync>(
    (track, constants, ice, launch): (&Track, &Constants, &I, &Launch),
    lag_s: f64,
    beside: &Plan,
    told: Vec<ToldNode>,
    price: f64,
) -> Result<Planned, Vec<StartFault>> {
    let speed_m_s = about_m_s(track, constants, launch);
    let mut problem = RideProblem::new(track, constants, ice, lag_s, launch.station_m, speed_m_s);
    problem.told = told;
    problem.prices.told = price;
    let way = Way {
        states: &beside.states,
        controls: &beside.controls,
        first_price: TOLD_PRICE,
        on_the_way: rough(),
    };
    let mut sweeps = 0;
    let (mut solution, mut status) = solve_beyond(&mut problem, &way, &mut sweeps)?;
    if a_little_is_left(&status) {
        problem.prices.limit *= SPARING;
        let so_far = solution.clone();
        let way = Way { states: &so_far.states, controls: &so_far.controls, first_price: LAST_PRICE, ..way };
        let sparing = solve_beyond(&mut problem, &way, &mut sweeps)?;
        if sparing.1 == PlanStatus::Found {
            (solution, status) = sparing;
        }
    }
    let plan = ready_to_ride(&mut problem, &solution);
    Ok(planned(&problem, &solution, plan, status, sweeps))
}

fn planned<I: Ice>(
    problem: &RideProblem<'_, I>,
    solution: &Solution<STATES, CONTROLS>,
    plan: Plan,
    status: PlanStatus,
    sweeps: usize,
) -> Planned {
    let help_m_s2 = problem.help_m_s2(&solution.controls);
    Planned { time_s: problem.time_s(&solution.states, &solution.controls), help_m_s2, plan, status, sweeps }
}

/// Where a plan starts from.
#[derive(Clone, Copy, PartialEq)]
enum Begin {
    /// The plan of a neighbour, at the highest price.
    Neighbour,
    /// The bare line by four ways, the better of them place by place.
    FourWays,
    /// The bare line from a low price, with more patience.
    Patience,
    /// The best of these, where a little help is left, with steering beyond what is kept back made dear.
    Sparing,
}

/// Plans the ride of a sled from the launch to the last eye. Starts, until one ends free of help: the plan of a
/// neighbour, if there is one; the bare line by four ways; the bare line from a low price, with more patience; the best
/// of these, where a little help is left, with dear steering.
pub fn plan_ride<I: Ice + Sync>(
    track: &Track,
    constants: &Constants,
    ice: &I,
    launch: &Launch,
    lag_s: f64,
    neighbour: Option<&Plan>,
) -> Result<Planned, Vec<StartFault>> {
    let speed_m_s = about_m_s(track, constants, launch);
    let mut problem = RideProblem::new(track, constants, ice, lag_s, launch.station_m, &speed_m_s);
    let (mut line, hands_off) = problem.on_the_line(&speed_m_s);
    line[0][FORWARD] = launch.speed_m_s;
    let near = neighbour.filter(|n| n.states.len() == line.len()).map(|n| {
        let mut states = n.states.clone();
        states[0] = line[0];
        (states, &n.controls)
    });
    let mut sweeps = 0;
    let mut best: Option<Candidate> = None;
    for start in [Begin::Neighbour, Begin::FourWays, Begin::Patience, Begin::Sparing] {
        let (four_ways, so_far);
        let way = match start {
            Begin::Neighbour => {
                let Some((states, controls)) = &near else { continue };
                Way { states, controls, first_price: LAST_PRICE, on_the_way: rough() }
            }
            Begin::FourWays => {
                four_ways = by_four_ways(&problem, &line, &hands_off, &mut sweeps)?;
                let (states, controls) = (&four_ways.states, &four_ways.controls);
                Way { states, controls, first_price: LAST_PRICE, on_the_way: rough() }
            }
            Begin::Patience => {
                let patient = Settings { iterations: 40, ..shared() };
                Way { states: &line, controls: &hands_off, first_price: PATIENT_PRICE, on_the_way: patient }
            }
            Begin::Sparing => {
                let Some(c) = best.as_ref().filter(|b| a_little_is_left(&b.status)) else { continue };
                problem.prices.limit *= SPARING;
                so_far = c.solution.clone();
                let (states, controls) = (&so_far.states, &so_far.controls);
                Way { states, controls, first_price: LAST_PRICE, on_the_way: rough() }
            }
        };
        let (solution, status) = solve_beyond(&mut problem, &way, &mut sweeps)?;
        let found = status == PlanStatus::Found;
        let help = match status {
            PlanStatus::Failed(_) => f64::INFINITY,
            _ => problem.help_m_s2(&solution.controls),
        };
        let next = Candidate { plan: ready_to_ride(&mut problem, &solution), solution, status, help };
        if found {
            // the plan of a neighbour may lead where this sled cannot follow to the end; the bare line decides then
            let again =
                start == Begin::Neighbour && !ridden_clean(track, constants, ice, launch, &next.plan, lag_s);
            best = Some(next);
            if !again {
                break;
            }
        } else if best.as_ref().is_none_or(|b| b.status != PlanStatus::Found && help < b.help) {
            best = Some(next);
        }
    }
    let Some(Candidate { plan, solution, status, .. }) = best else { return Err(vec![]) };
    Ok(planned(&problem, &solution, plan, status, sweeps))
}
