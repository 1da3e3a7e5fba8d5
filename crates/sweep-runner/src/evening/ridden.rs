//! One set-up of the evening: planned from nothing, ridden with the same mistakes as all others.

use crate::rides::beside_steps::of_rides_s;
use crate::rides::choice::{Candidate, Choice, choose};
use crate::rides::ensemble::{Ensemble, RIDES, rides};
use crate::rides::figures::{Figure, rank_s, share_error};
use crate::rides::planner::Planned;
use crate::rides::prepared::{Attempt, Prepared, Ready};
use ice_contact::runner::Bow;
use ice_contact::tables::RunnerTable;
use rayon::prelude::*;
use sled_dynamics::laws::on_runners::bending_stress_pa;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::errors_of_ride::Skill;
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::checks::misfits;
use std::sync::Arc;
use track_geometry::track::Track;

/// Finds the ride of a set-up that is ready: from a store, or planned from nothing.
pub(crate) type FindPlan<'a> = dyn Fn(&Ready<'_>) -> Result<Planned, String> + Sync + 'a;

/// What all set-ups of an evening share.
pub struct Tonight<'a> {
    /// The track.
    pub track: &'a Track,
    /// Who rides.
    pub skill: &'a Skill,
    /// Seed of the mistakes.
    pub seed: u64,
    /// Rides of each set-up.
    pub rides: usize,
    /// Share of rides that may lose control `[-]`.
    pub most_lost: f64,
    /// Finds a ride.
    pub plan: &'a FindPlan<'a>,
    /// Whether it was asked to stop.
    pub stop: &'a (dyn Fn() -> bool + Sync),
    /// Told of each set-up that is ridden.
    pub done: &'a (dyn Fn() + Sync),
}

/// A set-up that was ridden, or why it was not.
#[derive(Clone, Debug)]
pub struct Ridden {
    /// What it is called among its like.
    pub name: String,
    /// The set-up.
    pub setup: Setup,
    /// What came of it; an error says in words why there is no ride.
    pub rode: Result<Rode, String>,
}

/// What came of a set-up.
#[derive(Clone, Debug)]
pub struct Rode {
    /// The plan.
    pub planned: Planned,
    /// Numerical error of the planned time (s).
    pub(crate) numerical_s: f64,
    /// The rides, and the time without mistakes.
    pub rides: Ensemble,
    /// Tables of both runners.
    tables: [Arc<RunnerTable>; 2],
}

impl Ridden {
    /// Its rides, if there are any.
    pub fn rides(&self) -> Option<&Ensemble> {
        self.rode.as_ref().ok().map(|r| &r.rides)
    }

    /// As one of those that [`choose`] chooses from.
    pub(crate) fn candidate(&self) -> Candidate<'_> {
        let numerical_s = self.rode.as_ref().map_or(0.0, |r| r.numerical_s);
        Candidate { rides: self.rides(), numerical_s, by_plan_s: of_rides_s(&self.setup) }
    }
}

impl Tonight<'_> {
    /// Plans and rides set-ups, in parallel, in order; those missing where it was asked to stop.
    pub(crate) fn ride_each(&self, setups: &[(String, Setup)]) -> Vec<Option<Ridden>> {
        setups.par_iter().map(|(name, setup)| self.ride(name, setup, None)).collect()
    }

    /// The same, all of them or none.
    pub(crate) fn ride_all(&self, setups: &[(String, Setup)]) -> Option<Vec<Ridden>> {
        self.ride_each(setups).into_iter().collect()
    }

    /// Rides set-ups by the plan of another, in parallel, in order; none of them where it was asked to stop.
    pub(crate) fn ride_all_as(&self, setups: &[(String, Setup)], other: &Ridden) -> Option<Vec<Ridden>> {
        setups.par_iter().map(|(name, setup)| self.ride(name, setup, Some(other))).collect()
    }

    fn ride(&self, name: &str, setup: &Setup, other: Option<&Ridden>) -> Option<Ridden> {
        if (self.stop)() {
            return None;
        }
        let rode = self.prepared(setup, other).map(|prepared| {
            let descent = prepared.descent(&Attempt::perfect(), Precision::default(), Detail::Times);
            let ridden = rides(&prepared, self.skill, self.seed, 0..self.rides, RIDES);
            Rode {
                numerical_s: descent.numerical_error_s,
                rides: Ensemble { planned_time_s: descent.finish_time_s, rides: ridden },
                tables: prepared.ready.ice.tables(),
                planned: prepared.planned,
            }
        });
        (self.done)();
        Some(Ridden { name: name.to_string(), setup: setup.clone(), rode })
    }

    /// A set-up with a plan: its own, or that of another, whose tables serve where runners and ice are the same.
    pub fn prepared<'s>(&'s self, setup: &'s Setup, other: Option<&Ridden>) -> Result<Prepared<'s>, String> {
        if let Some(misfit) = misfits(setup, Some(&bending_stress_pa)).first() {
            return Err(format!("{}: {}", misfit.key, misfit.problem));
        }
        let rode = other.map(|o| o.rode.as_ref().map(|rode| (o, rode)).map_err(String::clone)).transpose()?;
        let same = rode.filter(|(o, _)| (&o.setup.runners, &o.setup.ice) == (&setup.runners, &setup.ice));
        let ready = match same {
            Some((_, rode)) => Ready::on(self.track, setup, rode.tables.clone()),
            None => Ready::new(self.track, setup),
        };
        let ready = ready.map_err(|e| e.to_string())?;
        let planned = match rode {
            Some((_, rode)) => rode.planned.clone(),
            None => (self.plan)(&ready)?,
        };
        Prepared::new(ready, planned, self.skill.lag_s).map_err(|e| e.to_string())
    }

    /// Chooses among set-ups that stand in an order.
    pub(crate) fn chosen(&self, all: &[&Ridden], now: Option<usize>) -> Choice {
        let candidates: Vec<_> = all.iter().map(|r| r.candidate()).collect();
        choose(&candidates, now, self.most_lost)
    }

    /// Chooses among set-ups that have no order, such as pairs: the same rule, with all that are alike side by side,
    /// so that none of them is cut off by one that is out.
    pub(crate) fn chosen_of_a_bag(&self, all: &[&Ridden], now: Option<usize>) -> Choice {
        let first = self.chosen(all, now);
        let alike = |i: usize| {
            use crate::rides::choice::Standing::{Alike, Front};
            matches!(first.standings[i], Front | Alike { .. })
        };
        let mut order: Vec<usize> = (0..all.len()).collect();
        order.sort_by_key(|i| !alike(*i));
        let side_by_side: Vec<&Ridden> = order.iter().map(|i| all[*i]).collect();
        let there = now.and_then(|n| order.iter().position(|i| *i == n));
        let choice = self.chosen(&side_by_side, there);
        let back = |i: Option<usize>| i.map(|i| order[i]);
        Choice {
            standings: first.standings,
            front: back(choice.front),
            range: None,
            advised: back(choice.advised),
            stays: choice.stays,
        }
    }
}

/// Mean bow of both runners (mm).
pub fn mean_mm(bows: &[Bow; 2]) -> f64 {
    250.0 * bows.iter().map(|b| b.front_m + b.rear_m).sum::<f64>()
}

/// A set-up with other bows.
pub fn with_bows(setup: &Setup, bows: &[Bow; 2]) -> Setup {
    let mut other = setup.clone();
    [other.runners.left, other.runners.right] = *bows;
    other
}

/// Share of rides in which one of several set-ups is the fastest, ties shared, rides that all lose left to nobody.
///
/// Checked by: `exact_share_of_the_best_by_hand`.
pub(crate) fn share_best(all: &[&Ensemble], which: usize) -> Option<Figure> {
    let mine = all.get(which)?;
    let many = mine.rides.len();
    let share = |ride: usize| {
        let times: Vec<f64> = all.iter().filter_map(|e| e.rides.get(ride)).map(rank_s).collect();
        let best = times.iter().copied().fold(f64::INFINITY, f64::min);
        let won = best.is_finite() && rank_s(&mine.rides[ride]) == best;
        if won { 1.0 / times.iter().filter(|t| **t == best).count() as f64 } else { 0.0 }
    };
    let value = (0..many).map(share).sum::<f64>() / many.max(1) as f64;
    (many > 0).then(|| Figure { value, error: share_error(value, many as f64) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rides::choice::Standing;
    use crate::rides::ensemble::RideRow;
    use crate::rides::mistakes::Mistakes;

    #[test]
    fn exact_share_of_the_best_by_hand() {
        let of = |times: [f64; 4]| Ensemble {
            planned_time_s: None,
            rides: times
                .iter()
                .map(|t| RideRow {
                    finish_time_s: t.is_finite().then_some(*t),
                    touches: 0,
                    lip_touches: 0,
                    lost: None,
                })
                .collect(),
        };
        let lost = f64::INFINITY;
        let (a, b) = (of([1.0, 2.0, lost, lost]), of([1.0, 3.0, 5.0, lost]));
        // half of the tie and the second ride of four; half of the tie and the third
        assert_eq!(share_best(&[&a, &b], 0).map(|f| f.value), Some(0.375));
        assert_eq!(share_best(&[&a, &b], 1).map(|f| f.value), Some(0.375));
        assert_eq!(share_best(&[&a, &b], 2), None);
    }

    /// Rides with normal times: a mean (s), 0.2 s that two set-ups share, and a spread of its own (s) from `place`.
    fn normal(mean_s: f64, own_s: f64, place: usize, seed: u64, many: usize) -> Ensemble {
        let row = |ride| {
            let draw = Mistakes::draw(seed, ride, 2);
            let time_s = mean_s + 0.2 * draw.entry[0] + own_s * draw.corners[place][0];
            RideRow { finish_time_s: Some(time_s), touches: 0, lip_touches: 0, lost: None }
        };
        Ensemble { planned_time_s: None, rides: (0..many).map(row).collect() }
    }

    #[test]
    fn exact_values_of_a_choice_in_the_closed_normal_case() {
        let both = |seed, many| [normal(56.00, 0.1, 0, seed, many), normal(56.05, 0.3, 1, seed, many)];
        let all = both(3, 10_000);
        // mean m and deviation s: P90 is m + 1.2815516 s, the mean of the slowest tenth m + 1.7549833 s;
        // s is the root of 0.2^2 + 0.1^2 and of 0.2^2 + 0.3^2
        let closed = [[56.0, 56.286_564, 56.392_426], [56.05, 56.512_070, 56.682_768]];
        for (rides, [mean_s, p90_s, worst_s]) in all.iter().zip(closed) {
            let f = rides.figures();
            let told = [f.mean_finished_s, f.median_s, f.p90_s, f.worst_tenth_s].map(Option::unwrap);
            for (told, is_s) in told.into_iter().zip([mean_s, mean_s, p90_s, worst_s]) {
                // four of its own standard errors
                assert!((told.value - is_s).abs() < 4.0 * told.error, "{told:?} {is_s}");
            }
        }
        // the first is ahead with Phi(0.05 / sqrt(0.1^2 + 0.3^2)): what both share does not count
        let best = share_best(&[&all[0], &all[1]], 0).unwrap();
        assert!((best.value - 0.562_816).abs() < 4.0 * best.error, "{best:?}");
        let chosen = |all: &[Ensemble; 2]| {
            choose(
                &all.each_ref().map(|e| Candidate { rides: Some(e), numerical_s: 0.0, by_plan_s: 0.0 }),
                None,
                0.05,
            )
        };
        let many = chosen(&all);
        // 0.05 s behind; the standard error of a median of 1e4 differences is 1.2533 * 0.3162 / 100 s, four of them
        let Standing::Slower { behind_s } = many.standings[1] else { panic!("{many:?}") };
        assert!(many.front == Some(0) && (behind_s - 0.05).abs() < 0.016, "{many:?}");
        // sixty rides are told the other way round in less than 2.5 % of a hundred draws; four standard deviations more
        let is_wrong = |seed: &u64| {
            let first = chosen(&both(*seed, 60)).standings[0];
            matches!(first, Standing::Slower { .. } | Standing::LosesMore { .. })
        };
        let wrong = (100..200).filter(is_wrong).count();
        assert!(wrong <= 8, "{wrong} of 100");
    }
}
