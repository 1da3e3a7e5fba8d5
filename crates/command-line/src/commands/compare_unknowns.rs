//! `sagitta compare --unknowns`: the same question over the plausible set.

use super::unknowns::{at_sets, band_words, decides_words, many_words, over_sets};
use crate::files::ReadSetup;
use sled_dynamics::riding::errors_of_ride::Skill;
use sweep_runner::plausible::bands::OverSets;
use sweep_runner::plausible::keyed::Set;
use sweep_runner::rides::ensemble::{Ensemble, RIDES, rides};
use sweep_runner::rides::prepared::{Prepared, Ready};
use track_geometry::track::Track;

/// What every set-up is ridden with.
pub struct Asked<'a> {
    /// The track.
    pub track: &'a Track,
    /// The level of skill before its unknown factors.
    pub skill: &'a Skill,
    /// Rides of each set-up in each set.
    pub rides: usize,
    /// Seed of the mistakes.
    pub seed: u64,
}

/// Median of the rides of a set-up with the numbers of a set (s), infinite where it is lost, and the share
/// lost; a text where there is no ride. Planned from nothing, as each set-up of `compare` is.
fn ridden(asked: &Asked<'_>, read: &ReadSetup, set: &Set) -> Result<[f64; 2], String> {
    let setup = set.on(&read.setup)?;
    let skill = set.skilled(asked.skill);
    let ready = Ready::new(asked.track, &setup).map_err(|e| e.to_string())?;
    let planned = ready.plan(skill.lag_s, None).map_err(|e| e.to_string())?;
    let prepared = Prepared::new(ready, planned, skill.lag_s).map_err(|e| e.to_string())?;
    let rides = rides(&prepared, &skill, asked.seed, 0..asked.rides, RIDES);
    let figures = Ensemble { planned_time_s: None, rides }.figures();
    Ok([figures.median_s.map_or(f64::INFINITY, |m| m.value), figures.lost.value])
}

/// Asks over the sets and tells; also whether all were asked.
pub fn over_unknowns(asked: &Asked<'_>, setups: &[(String, ReadSetup)], sets: &[Set]) -> (String, bool) {
    // a sled that cannot be planned has no time to compare, and no share
    let all = at_sets(sets, |set| -> Vec<[f64; 2]> {
        setups.iter().map(|(_, read)| ridden(asked, read, set).unwrap_or([f64::NAN; 2])).collect()
    });
    let done = &sets[..all.len()];
    let mut text = format!("\nover {}, {} rides of each set-up in each\n", many_words(done), asked.rides);
    for other in 1..setups.len() {
        let less = |[a, b]: [f64; 2]| if a == b && a.is_infinite() { f64::NAN } else { a - b };
        let differences: Vec<f64> = all.iter().map(|m| less([m[other][0], m[0][0]])).collect();
        text += &match over_sets(done, &differences) {
            None => format!("({}) less (1): no set has a time of both\n", other + 1),
            Some(told) => words(other + 1, &told, done.len()) + &lost(&all, other),
        };
    }
    (text, all.len() == sets.len())
}

/// Share of rides lost over all sets that have a ride with both, in words: a set-up ahead may be one that is lost.
fn lost(all: &[Vec<[f64; 2]>], other: usize) -> String {
    let shares = all.iter().map(|m| [m[other][1], m[0][1]]);
    let both: Vec<[f64; 2]> = shares.filter(|s| s.iter().all(|x| x.is_finite())).collect();
    let percent = |i: usize| 100.0 * both.iter().map(|s| s[i]).sum::<f64>() / both.len().max(1) as f64;
    let (mine, first) = (percent(0), percent(1));
    let more = if mine > first { " (ahead or not, it loses control more often)" } else { "" };
    format!(
        "control lost over all sets: ({}) in {mine:.0} % of rides{more}, (1) in {first:.0} %\n",
        other + 1
    )
}

fn words(number: usize, told: &OverSets, sets: usize) -> String {
    let difference = |s: f64| match s {
        f64::INFINITY => format!("lost with ({number})"),
        f64::NEG_INFINITY => "lost with (1)".to_string(),
        _ => format!("{s:+.3} s"),
    };
    let [below, above] = told.signs.map(|share| 100.0 * share);
    format!(
        "difference of medians, ({number}) less (1): {}\n({number}) ahead in {below:.0} % of sets, (1) in {above:.0} \
         %; {}\n",
        band_words(told, sets, difference),
        decides_words(told)
    )
}
