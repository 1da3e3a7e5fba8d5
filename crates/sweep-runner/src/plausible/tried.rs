//! One sample tried: the tests in order, each only where all before it are met, unless every miss is wanted.

use super::Sample;
use super::bounds::{
    AtBow, BOB_FRICTION, BOB_LOAD_N, BOB_RADIUS_M, BOB_SPEEDS_M_S, BOWS_M, DRAG_ELASTICITY,
    GREATEST_OVER_MEAN, ICE_SHARE, LESS_DRAG, MEAN_OVER_FALL, Test, missed_by_club, missed_by_elite,
};
use crate::rides::ensemble::{Ensemble, RIDES, rides};
use crate::rides::planner::Planned;
use crate::rides::prepared::CaseError;
use crate::rides::prepared::{Attempt, Prepared, Ready};
use ice_contact::contact::{ContactSolver, Demand};
use ice_contact::free_shape::FreeShape;
use ice_contact::runner::{Bow, IceState, RunnerSpec};
use ice_contact::tables::direct;
use sled_dynamics::laws::gravity::STANDARD_GRAVITY_M_S2;
use sled_dynamics::laws::on_runners::ice_state;
use sled_dynamics::motion::course::Course;
use sled_dynamics::motion::descend::descend;
use sled_dynamics::motion::descent::{Descent, Outcome};
use sled_dynamics::motion::entry::Entry;
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::motion::pilot::HandsOff;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::errors_of_ride::{SKILLS, Skill};
use sled_dynamics::setup::Setup;
use track_geometry::track::Track;

/// What samples are tried on.
#[derive(Clone, Copy, Debug)]
pub struct Trial<'a> {
    /// Track and set-up of each planned ride.
    pub pairs: &'a [(&'a Track, &'a Setup)],
    /// How many of them, from the first on, are ridden over bow by elite and club.
    pub over_bow: usize,
    /// Rides of each skill with each bow.
    pub rides: usize,
    /// Seed of samples and mistakes.
    pub seed: u64,
    /// Go on with a sample that missed a test, as long as it has numbers that fit and a ride, and tell every miss.
    pub beyond_misses: bool,
}

/// Figures of a planned ride; those that were not looked at any more are none.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct OfPlanned {
    /// Share of the ice in the lost energy `[-]`.
    pub(crate) ice_share: Option<f64>,
    /// Mean speed over sqrt(2 g drop) `[-]`.
    pub(crate) mean_over_fall: Option<f64>,
    /// Greatest over mean speed `[-]`.
    pub(crate) greatest_over_mean: Option<f64>,
    /// Relative change of time over that of drag `[-]`.
    pub(crate) drag_elasticity: Option<f64>,
    /// How far of the way a guest comes who only lies `[-]`; told, not asked.
    pub(crate) guest_way: Option<f64>,
}

/// Rides over bow of elite and club; empty where they were not ridden any more.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct OverBow {
    /// Elite, in the order of the bows.
    pub(crate) elite: Vec<AtBow>,
    /// Club, likewise.
    pub(crate) club: Vec<AtBow>,
}

/// A sample, all that was found of it, and what it missed.
#[derive(Clone, Debug, PartialEq)]
pub struct Tried {
    /// Its number.
    pub(crate) number: usize,
    /// Its values.
    pub(crate) sample: Sample,
    /// Friction of a bob runner `[-]`.
    pub(crate) bob_friction: Option<f64>,
    /// Pair by pair.
    pub planned: Vec<OfPlanned>,
    /// Pair by pair, of those that are ridden.
    pub(crate) over_bow: Vec<OverBow>,
    /// The test missed, or every one; empty where it is kept.
    pub(crate) missed: Vec<Test>,
    /// More words on that.
    pub(crate) why: String,
}

impl Tried {
    /// A sample of which nothing is known yet.
    pub(crate) fn begun(number: usize, sample: Sample, trial: &Trial<'_>) -> Tried {
        Tried {
            number,
            sample,
            bob_friction: None,
            planned: vec![OfPlanned::default(); trial.pairs.len()],
            over_bow: vec![OverBow::default(); trial.over_bow.min(trial.pairs.len())],
            missed: Vec::new(),
            why: String::new(),
        }
    }
}

/// A test after which nothing more can be asked of a sample, with more words where there are any.
type End = (Test, String);

/// What is missed on the way.
struct Misses {
    beyond: bool,
    missed: Vec<Test>,
}

impl Misses {
    /// Takes the answer to a test down; ends the sample where that is enough.
    fn asked(&mut self, test: Test, met: bool) -> Result<(), End> {
        if met {
            return Ok(());
        }
        if self.beyond {
            self.take(test);
            return Ok(());
        }
        Err((test, String::new()))
    }

    fn take(&mut self, test: Test) {
        if !self.missed.contains(&test) {
            self.missed.push(test);
        }
    }
}

/// Tries the sample of a number.
pub fn tried(trial: &Trial<'_>, number: usize) -> Tried {
    let mut row = Tried::begun(number, Sample::of(trial.seed, number), trial);
    let mut misses = Misses { beyond: trial.beyond_misses, missed: vec![] };
    if let Err((test, why)) = try_all(trial, &mut row, &mut misses) {
        misses.take(test);
        row.why = why;
    }
    row.missed = misses.missed;
    row
}

fn try_all(trial: &Trial<'_>, row: &mut Tried, misses: &mut Misses) -> Result<(), End> {
    let sample = row.sample.clone();
    let mut setups = Vec::with_capacity(trial.pairs.len());
    for (_, base) in trial.pairs {
        setups.push(sample.on(base).map_err(|why| (Test::FitsTogether, why))?);
    }
    let Some(first) = setups.first() else { return Ok(()) };
    row.bob_friction = bob_friction(first);
    misses.asked(Test::BobFriction, row.bob_friction.is_some_and(|mu| BOB_FRICTION.holds(mu)))?;
    for ((of, (track, _)), setup) in row.planned.iter_mut().zip(trial.pairs).zip(&setups) {
        try_planned(track, setup, of, misses)?;
    }
    for ((over, (track, _)), setup) in row.over_bow.iter_mut().zip(trial.pairs).zip(&setups) {
        try_over_bow(trial, track, setup, &sample, over, misses)?;
    }
    Ok(())
}

/// Even bow with which a runner off the ice is as round as that of a bob (m).
///
/// The rod bends in proportion to the advance of its screws: between them `1/R = c a`, with c the curvature for a
/// metre of advance.
///
/// Checked by: `exact_bow_of_a_bob_runner_has_its_radius`.
pub(crate) fn bob_bow_m(runner: &RunnerSpec) -> Option<f64> {
    let one_m = 1e-3;
    let shape = FreeShape::of(runner, Bow::even(one_m)).ok()?;
    let curvature_per_m = shape.rise_curvature_per_m(0.0).abs();
    Some(one_m / (BOB_RADIUS_M * curvature_per_m)).filter(|bow| bow.is_finite())
}

/// Friction of a runner without groove, as round as that of a bob and loaded like one, mean over speeds `[-]`. Bobs
/// have smooth runners; the rod keeps its own section. The contact is solved at the mean of those speeds.
pub(crate) fn bob_friction(setup: &Setup) -> Option<f64> {
    let mut runner = setup.runners.pair()[0].clone();
    // the groove runs from its start backwards: from the rear tip on there is none
    runner.groove_start_m = -runner.tip_m;
    let bow = Bow::even(bob_bow_m(&runner)?);
    let mean = |all: &[f64]| all.iter().sum::<f64>() / all.len() as f64;
    let ice = IceState { contact_speed_m_s: mean(&BOB_SPEEDS_M_S), ..ice_state(&setup.ice) };
    let mut solver = ContactSolver::new(&runner, bow, &ice).ok()?;
    let demand = Demand { load_n: BOB_LOAD_N, ice_curvature_per_m: 0.0, centroid_m: 0.0 };
    if !solver.solve(demand).is_balanced() {
        return None;
    }
    let friction = |speed_m_s: f64| {
        let touch = direct(&solver, &runner, bow, &ice, speed_m_s).ok()?;
        let load_n: f64 = touch.points.iter().map(|p| p.load_n).sum();
        Some(touch.film_friction + touch.points.iter().map(|p| p.plough * p.load_n).sum::<f64>() / load_n)
    };
    let all: Option<Vec<f64>> = BOB_SPEEDS_M_S.iter().map(|v| friction(*v)).collect();
    Some(mean(&all?))
}

/// A ride planned for a lag, or why there is none.
fn planned_for<'a>(ready: Ready<'a>, lag_s: f64, near: Option<&Planned>) -> Result<Prepared<'a>, CaseError> {
    let planned = ready.plan(lag_s, near.map(|p| &p.plan))?;
    Prepared::new(ready, planned, lag_s)
}

/// Mean speed between the first and last eye (m/s).
fn mean_m_s(track: &Track, time_s: f64) -> f64 {
    (track.finish_m() - track.data.eyes.first().map_or(0.0, |e| e.station_m)) / time_s
}

fn try_planned(track: &Track, setup: &Setup, of: &mut OfPlanned, misses: &mut Misses) -> Result<(), End> {
    let no_ride = |e: CaseError| (Test::Planned, e.to_string());
    let lag_s = setup.pilot.lag_s;
    let ready = Ready::new(track, setup).map_err(no_ride)?;
    let prepared = planned_for(ready, lag_s, None).map_err(no_ride)?;
    let d = prepared.descent(&Attempt::perfect(), Precision::default(), Detail::Trace(2.0));
    let Some(time_s) = d.finish_time_s else { return Err((Test::Planned, "control lost".into())) };
    of.guest_way = Some(guest_way(&prepared.ready));
    let lost_j = d.energy.lost_j;
    let ice_share = (lost_j[1..4].iter().sum::<f64>() + lost_j[6]) / lost_j.iter().sum::<f64>();
    let mean = mean_m_s(track, time_s);
    let z = |s: f64| track.surface.station(s).elevation_m;
    let drop_m = z(track.data.eyes.first().map_or(0.0, |e| e.station_m)) - z(track.finish_m());
    let mean_over_fall = mean / (2.0 * STANDARD_GRAVITY_M_S2 * drop_m).sqrt();
    let greatest_over_mean = d.top_speed_m_s() / mean;
    of.ice_share = Some(ice_share);
    of.mean_over_fall = Some(mean_over_fall);
    of.greatest_over_mean = Some(greatest_over_mean);
    misses.asked(Test::IceShare, ICE_SHARE.holds(ice_share))?;
    misses.asked(Test::MeanOverFall, MEAN_OVER_FALL.holds(mean_over_fall))?;
    misses.asked(Test::GreatestOverMean, GREATEST_OVER_MEAN.holds(greatest_over_mean))?;
    let mut less = setup.clone();
    less.air.drag_area_m2 *= 1.0 - LESS_DRAG;
    let constants = Constants::new(&less, &track.data);
    let launch = Launch::from_push(&less.push, track, &constants, less.ice.guided_friction)
        .map_err(|e| no_ride(e.into()))?;
    // the runners do not know of the air
    let ready = Ready { setup: &less, constants, launch, ..prepared.ready.clone() };
    let faster = planned_for(ready, lag_s, Some(&prepared.planned)).map_err(no_ride)?;
    let d = faster.descent(&Attempt::perfect(), Precision::default(), Detail::Bare);
    of.drag_elasticity = d.finish_time_s.map(|t| libm::log(t / time_s) / libm::log(1.0 - LESS_DRAG));
    misses.asked(Test::DragElasticity, of.drag_elasticity.is_some_and(|e| DRAG_ELASTICITY.holds(e)))
}

/// How far of the way to the last eye a sled comes that nobody steers `[-]`.
fn guest_way(ready: &Ready<'_>) -> f64 {
    let Ready { track, constants, ice, launch, .. } = ready;
    let course = Course { track, constants, ice, pilot: &HandsOff };
    let d: Descent = descend(&course, launch, Entry::STRAIGHT, RIDES, Detail::Bare);
    match d.outcome {
        Outcome::Finished => 1.0,
        Outcome::ControlLost { station_m, .. } => station_m / track.finish_m(),
    }
}

/// A level by its name.
fn level(name: &str) -> Skill {
    SKILLS.into_iter().find(|s| s.name == name).unwrap_or(SKILLS[0])
}

fn try_over_bow(
    trial: &Trial<'_>,
    track: &Track,
    setup: &Setup,
    sample: &Sample,
    over: &mut OverBow,
    misses: &mut Misses,
) -> Result<(), End> {
    let setups: Vec<Setup> = BOWS_M
        .iter()
        .map(|bow_m| {
            let mut bowed = setup.clone();
            let even = Bow::even(*bow_m);
            (bowed.runners.left, bowed.runners.right) = (even, even);
            bowed
        })
        .collect();
    let ready: Vec<Option<Ready<'_>>> = setups.iter().map(|s| Ready::new(track, s).ok()).collect();
    let [elite, club] = ["elite", "club"].map(|name| sample.skilled(&level(name)));
    let mut near: Vec<Option<Planned>> = vec![None; ready.len()];
    let mut ride = |skill: &Skill| -> Vec<AtBow> {
        // from the plan of the other skill with the same bow, else from nothing, else from that of a bow beside it
        let mut prepared: Vec<Option<Prepared<'_>>> = ready
            .iter()
            .zip(&near)
            .map(|(ready, near)| planned_for(ready.clone()?, skill.lag_s, near.as_ref()).ok())
            .collect();
        for i in 0..prepared.len() {
            let beside = [i.checked_sub(1), Some(i + 1)].into_iter().flatten();
            let from = beside.filter_map(|j| Some(prepared.get(j)?.as_ref()?.planned.clone())).next();
            if let (None, Some(ready), Some(from)) = (&prepared[i], &ready[i], from) {
                prepared[i] = planned_for(ready.clone(), skill.lag_s, Some(&from)).ok();
            }
        }
        near = prepared.iter().map(|p| p.as_ref().map(|p| p.planned.clone())).collect();
        let ridden = prepared.iter().map(|prepared| {
            let Some(prepared) = prepared else { return AtBow::NO_RIDE };
            let rides = rides(prepared, skill, trial.seed, 0..trial.rides, RIDES);
            at_bow(&Ensemble { planned_time_s: None, rides })
        });
        ridden.collect()
    };
    over.elite = ride(&elite);
    if let Some(test) = missed_by_elite(&over.elite) {
        misses.asked(test, false)?;
    }
    over.club = ride(&club);
    match missed_by_club(&over.elite, &over.club) {
        Some(test) => misses.asked(test, false),
        None => Ok(()),
    }
}

fn at_bow(rides: &Ensemble) -> AtBow {
    let f = rides.figures();
    AtBow {
        median_s: f.median_s.map_or(f64::INFINITY, |m| m.value),
        sd_s: f.sd_finished_s.map(|s| s.value),
        lost: f.lost.value,
    }
}
