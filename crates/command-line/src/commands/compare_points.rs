//! The same question at a few points of what is not known: what a calibration leaves open, or numbers nobody measured.

use super::calibrated::at_points_of_each;
use sled_dynamics::riding::errors_of_ride::Skill;
use sweep_runner::plausible::keyed::Set;
use sweep_runner::plausible::points::{Axis, Band};
use sweep_runner::rides::ensemble::{Ensemble, RIDES, rides};
use sweep_runner::rides::paired::paired;
use sweep_runner::rides::prepared::{Prepared, Ready};

/// What is ridden at the points.
pub struct Asked<'a> {
    /// The level of skill.
    pub skill: &'a Skill,
    /// Rides of each set-up at each point.
    pub rides: usize,
    /// Seed of the mistakes.
    pub seed: u64,
}

/// Rides of a set-up with the numbers of a set, its ride found from the one without; none where there is no ride.
pub fn ridden_at(asked: &Asked<'_>, own: &Prepared<'_>, set: &Set) -> Option<Ensemble> {
    let skill = set.skilled(asked.skill);
    let setup = set.on(own.ready.setup).ok()?;
    let of = |p: &Prepared<'_>| rides(p, &skill, asked.seed, 0..asked.rides, RIDES);
    let rides = if setup == *own.ready.setup {
        of(own)
    } else {
        let ready = Ready::new(own.ready.track, &setup).ok()?;
        let planned = ready.plan(skill.lag_s, Some(&own.planned.plan)).ok()?;
        of(&Prepared::new(ready, planned, skill.lag_s).ok()?)
    };
    Some(Ensemble { planned_time_s: None, rides })
}

/// What all others less the first do over the points, in words.
pub fn over_points(
    asked: &Asked<'_>,
    entrants: &[Option<(&Prepared<'_>, &Ensemble)>],
    axes: &[Axis],
    over: &str,
) -> String {
    let points = at_points_of_each(axes, "points", |set| {
        entrants.iter().map(|e| e.and_then(|(own, _)| ridden_at(asked, own, set))).collect::<Vec<_>>()
    });
    let median_s = |all: &[Option<Ensemble>], other: usize| {
        let (Some(Some(b)), Some(Some(a))) = (all.get(other), all.first()) else { return f64::NAN };
        paired(b, a).median_s.unwrap_or(f64::NAN)
    };
    let mut text = String::from("\n");
    for (other, entrant) in entrants.iter().enumerate().skip(1) {
        let number = other + 1;
        let (Some((_, b)), Some(Some((_, a)))) = (entrant, entrants.first()) else { continue };
        let Some(middle) = paired(b, a).median_s else { continue };
        let ends: Vec<[f64; 2]> =
            points.iter().map(|p| [median_s(&p[0], other), median_s(&p[1], other)]).collect();
        let band = Band::new(middle, &ends);
        let verdict = match band.keeps_its_sign() {
            true if middle < 0.0 => format!("({number}) stays ahead in the median"),
            true => "(1) stays ahead in the median".to_string(),
            false => "which is ahead in the median cannot be told".to_string(),
        };
        text += &format!("({number}) less (1) {}\n  over it {verdict}\n", band.words_s(axes, over));
        text += &band.at_home_words(axes);
    }
    let lost = |i: usize| {
        let shares = points.iter().flatten().map(|p| p.get(i)?.as_ref().map(|e| e.figures().lost.value));
        let shares: Option<Vec<f64>> = shares.collect();
        let (least, most) = shares?.iter().fold((1.0_f64, 0.0_f64), |(a, b), s| (a.min(*s), b.max(*s)));
        let least = if most - least < 0.005 { String::new() } else { format!("{:.0} to ", 100.0 * least) };
        Some(format!("({}) in {least}{:.0} % of rides", i + 1, 100.0 * most))
    };
    let lost: Vec<String> = (0..entrants.len()).filter_map(lost).collect();
    if !lost.is_empty() {
        text += &format!("control lost at these points: {}\n", lost.join(", "));
    }
    text + "sampling and numerical error are apart, above\n"
}
