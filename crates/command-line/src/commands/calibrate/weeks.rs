//! Invented weeks: six runs of the full simulator by an athlete who makes mistakes, as a sheet in words.

use super::runs::{Reading, Runs};
use super::*;
use crate::files::{self, ReadSetup, ReadTrack};
use numerics::points::stream;
use rand::RngExt;
use rand_distr::StandardNormal;
use sled_dynamics::laws::on_runners::runner_tables;
use sled_dynamics::setup::keys::{get, set};
use std::sync::OnceLock;
use sweep_runner::rides::mistakes::{Rider, routine_of};

/// Runs of a week.
pub const RUNS: usize = 6;
/// Ice of the runs (degC): two degrees to either side of the set-up's.
const ICE_C: [f64; 5] = [-8.0, -7.0, -6.0, -5.0, -4.0];
/// Rides that are tried for one run; those that lose control leave no finish on a sheet.
const TRIED: usize = 20;

/// What a week is made of.
#[derive(Clone, Debug)]
pub struct Planted {
    pub friction_factor: f64,
    pub drag_area_m2: f64,
    /// Errors of the athlete over those of the level.
    pub error_factor: f64,
    /// A key that the model has wrong, and by which factor: `KEY=FACTOR`.
    pub wrong: Option<String>,
}

impl Planted {
    /// The factor by which the model has a key wrong `[-]`.
    pub fn wrong_by(&self, key: &str) -> f64 {
        let of_key = self.wrong.as_ref().and_then(|w| w.split_once('=')).filter(|(k, _)| *k == key);
        of_key.map_or(1.0, |(_, factor)| factor.parse().unwrap())
    }
}

/// Track and set-up that are built in.
pub fn read() -> &'static (ReadTrack, ReadSetup) {
    static READ: OnceLock<(ReadTrack, ReadSetup)> = OnceLock::new();
    READ.get_or_init(|| (files::track(None).unwrap(), files::setup(None, &[]).unwrap()))
}

/// What is believed before the runs, drawn: friction and drag of a week, and how far the athlete's errors are from the
/// level's, by ratio with this standard deviation.
pub fn truth(seed: u64, week: usize, errors_sd: f64) -> Planted {
    let mut rng = stream(seed, week as u64);
    let mut normal = || -> f64 { rng.sample(StandardNormal) };
    let setup = &read().1.setup;
    // within the limits of the keys, and where a sled comes down
    let friction_factor = (setup.ice.friction_factor * (1.0 + 0.3 * normal())).max(0.4);
    let drag_area_m2 = setup.air.drag_area_m2 + 0.007 * normal();
    let error_factor = (errors_sd * normal()).exp();
    Planted { error_factor, friction_factor, drag_area_m2, wrong: None }
}

/// A sheet of six runs of an athlete: planned for the planted sled, ridden with mistakes on the ice and in the air of
/// each run, written to 0.01 s. `None` where that sled has no planned ride.
pub fn sheet(
    base: &Prepared<'_>,
    planted: &Planted,
    skill: &Skill,
    seed: u64,
    week: usize,
) -> Option<String> {
    let track = &read().0.track;
    let skill = &with_errors(planted.error_factor, skill);
    let mut setup = read().1.setup.clone();
    setup.ice.friction_factor = planted.friction_factor;
    setup.air.drag_area_m2 = planted.drag_area_m2;
    if let Some((key, factor)) = planted.wrong.as_ref().and_then(|w| w.split_once('=')) {
        let value = get(&setup, key).unwrap() * factor.parse::<f64>().unwrap();
        set(&mut setup, key, value).unwrap();
    }
    let own = Ready::new(track, &setup).ok()?;
    let planned = own.plan(skill.lag_s, Some(&base.planned.plan)).ok()?;
    let mut rng = stream(seed ^ 0x5eed, week as u64);
    let eyes = &track.data.eyes;
    let names: Vec<&str> = eyes[2..eyes.len() - 1].iter().map(|e| e.name.as_str()).collect();
    let mut text = format!("run,date,ice_c,air_c,start_s,{},finish_s\n", names.join(","));
    for run in 0..RUNS {
        let mut of_run = setup.clone();
        of_run.ice.temperature_c = ICE_C[rng.random_range(0..ICE_C.len())];
        let air: f64 = rng.sample(StandardNormal);
        of_run.air.temperature_c += (3.0 * air).round();
        let ready = Ready::on(track, &of_run, runner_tables(&of_run).ok()?).ok()?;
        let prepared = Prepared::new(ready, planned.clone(), skill.lag_s).ok()?;
        let routine = routine_of(&prepared, skill);
        let rider = Rider { prepared: &prepared, skill, routine: routine.as_ref(), seed };
        let first = (week * RUNS + run) * TRIED;
        let descent = (first..first + TRIED)
            .map(|ride| rider.ride(ride, RIDES, Detail::Bare))
            .find(|d| d.finish_time_s.is_some())?;
        let times: Vec<String> =
            descent.splits[1..].iter().map(|s| format!("{:.2}", s.split_time_s)).collect();
        text += &format!(
            "{},2026-01-{:02},{},{},{}\n",
            run + 1,
            20 + run / 3,
            of_run.ice.temperature_c,
            of_run.air.temperature_c,
            times.join(",")
        );
    }
    Some(text)
}

/// The runs of a sheet, ready to be fitted.
pub fn runs(text: &str) -> Runs {
    let sheet = read_sheet("week.csv", text).unwrap();
    assert!(sheet.faults.is_empty(), "{text}");
    let rows: Vec<&TimedRun> = sheet.runs.iter().collect();
    let reading = Reading {
        file: "week.csv",
        track: &read().0.track,
        setup: &read().1.setup,
        spread_s: None,
        trap: None,
    };
    reading.runs(&sheet, &rows).unwrap()
}

/// The estimate at the level of the ride that an athlete of this lag plans, on all ice of the weeks.
pub fn levelled_at(base: &Prepared<'_>) -> Levelled {
    let (track, setup) = read();
    let (ridden, launch) = ridden_with_more(base);
    let ends = [ICE_C[0], ICE_C[ICE_C.len() - 1]].map(|ice_c| {
        let mut other = setup.setup.clone();
        other.ice.temperature_c = ice_c;
        other.pilot.lag_s = base.ride.lag_s();
        (ice_c, on_other_ice(base, &other).unwrap())
    });
    Levelled::new(&track.track, &setup.setup, &launch, &ridden, &ends).unwrap()
}
