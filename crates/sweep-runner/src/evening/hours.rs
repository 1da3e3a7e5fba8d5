//! What an hour at the sled is worth: one change at a time, the same mistakes, milliseconds for an hour.

use crate::evening::ridden::{Ridden, Tonight};
use crate::evening::scratches::{Scratch, rough_with_scratches_m};
use crate::rides::paired::{Paired, paired};
use sled_dynamics::riding::errors_of_ride::Skill;
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::keys::set;

/// Steps of polishing, each from where the one before ends: grit, the roughness it leaves (um), its hours (h). That finer
/// grits follow coarser ones is common practice, no source; what each leaves and how long it takes is assumed.
const GRITS: [(&str, f64, f64); 3] = [("P1000", 0.20, 2.0), ("P1500", 0.17, 2.0), ("P2500", 0.15, 2.5)];
/// Steps of taping: the share of the drag area saved in all (%), hours of the step (h), assumed.
const TAPINGS: [(f64, f64); 2] = [(2.0, 0.5), (3.0, 0.5)];
/// How far the saddle is moved (m).
const SADDLE_M: f64 = 0.010;
/// Ballast that is put on (kg).
const BALLAST_KG: f64 = 1.0;

/// How much sharper the edges of the groove become (m), assumed.
const GROOVE_M: f64 = 0.05e-3;
/// Steel that is polished off in an hour without a wave in it (m/h), assumed.
const TAKEN_OFF_M_PER_H: f64 = 20e-6;
/// Share by which an hour of video makes timing and line better `[-]`, opinion.
const LESS_BY_VIDEO: f64 = 0.05;
/// Share by which an hour more of sleep makes mistakes smaller `[-]`, opinion.
const LESS_BY_SLEEP: f64 = 0.05;
/// Changes that are ridden at most beside bow and pair.
pub(crate) const MOST_CHANGES: usize = 12;

/// Something that could be done tonight.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// What.
    pub what: String,
    /// Where its numbers are from.
    pub class: &'static str,
    /// How long it takes (h), assumed.
    pub hours: f64,
    /// Whether it may be advised, or only told.
    pub(crate) may_advise: bool,
    /// Whether the work ends at the advised set-up, so that the set-up beside it is the one of now.
    pub(crate) ends_at_base: bool,
    /// The change that must be done before, which this one is told against; none: the advised set-up.
    pub(crate) after: Option<String>,
    /// Why it is not done at all; none where it can be.
    pub(crate) refused: Option<String>,
}

/// What it is worth.
#[derive(Clone, Debug, PartialEq)]
pub struct Worth {
    /// What was changed.
    pub change: Change,
    /// Rides with the change less rides without; none where there are none.
    pub pair: Option<Paired>,
    /// Rides lost with the change, as a share `[-]`.
    pub lost: Option<f64>,
    /// Whether the rule of choice moves to it.
    pub told: bool,
    /// Why there is none, in words.
    pub refused: Option<String>,
}

impl Worth {
    /// Median gain (s), positive faster; none where it is lost or unknown.
    pub fn gain_s(&self) -> Option<f64> {
        self.pair.and_then(|p| p.median_s).map(|m| -m).filter(|g| g.is_finite())
    }

    /// Gain for an hour (s/h).
    pub fn per_hour_s(&self) -> Option<f64> {
        self.gain_s().map(|g| g / self.change.hours)
    }
}

/// The changes that can be tried on a set-up, with the set-up that each makes; a greatest mass (kg) where one is known.
pub(crate) fn changes(
    base: &Setup,
    most_mass_kg: Option<f64>,
    scratches: &[Scratch],
) -> Vec<(Change, Option<Setup>)> {
    let mut all = Vec::new();
    let mut add = |what: String, class, hours, may_advise, after, made: Result<Setup, String>| {
        let (setup, refused) = match made {
            Ok(setup) => (Some(setup), None),
            Err(why) => (None, Some(why)),
        };
        all.push((Change { what, class, hours, may_advise, ends_at_base: false, after, refused }, setup));
    };
    let with = |key: &str, value: f64| {
        let mut other = base.clone();
        set(&mut other, key, value).map(|()| other).map_err(|f| format!("{}: {}", f.key(), f.problem))
    };
    let rough_um = 1e6 * base.runners.both.roughness_m;
    let (mut from_um, mut before) = (rough_um, None);
    for (grit, to_um, hours) in GRITS {
        if from_um > to_um + 1e-9 {
            let what = format!("polish {from_um:.2} to {to_um:.2} um, {grit}");
            let made = with("runners.roughness_um", to_um);
            add(what.clone(), "assumed: roughness reached", hours, true, before, made);
            (from_um, before) = (to_um, Some(what));
        }
    }
    if before.is_none() {
        let (_, to_um, hours) = GRITS[GRITS.len() - 1];
        let (what, why) = (format!("polish to {to_um:.2} um"), "as smooth already".into());
        add(what, "assumed: roughness reached", hours, true, None, Err(why));
    }
    let mut before: Option<(String, f64)> = None;
    for (saved, hours) in TAPINGS {
        let what = match &before {
            None => format!("tape gaps, drag -{saved:.0} %"),
            Some((_, from)) => format!("tape finer, drag -{from:.0} to -{saved:.0} %"),
        };
        let made = with("air.taping_factor", base.air.taping_factor * (1.0 - 0.01 * saved));
        let after = before.replace((what.clone(), saved)).map(|(what, _)| what);
        add(what, "assumed: drag saved", hours, true, after, made);
    }
    for (way, sign) in [("forward", 1.0), ("back", -1.0)] {
        let s = &base.sled;
        let moved_m = s.balance_point_m + sign * SADDLE_M * s.athlete_mass_kg / s.mass_kg();
        let made = with("sled.balance_point_mm", 1e3 * moved_m);
        let what = format!("saddle {:.0} mm {way}", 1e3 * SADDLE_M);
        add(what, "computed from stated masses", 0.5, true, None, made);
    }
    let mass_kg = base.sled.mass_kg() + BALLAST_KG;
    let ballast = match most_mass_kg {
        Some(most) if mass_kg > most => Err(format!("no room: {mass_kg:.1} kg, limit {most:.1}")),
        _ => with("sled.ballast_kg", base.sled.ballast_kg + BALLAST_KG),
    };
    let class = if most_mass_kg.is_some() { "stated limit" } else { "limit not checked" };
    add(
        format!("ballast +{BALLAST_KG:.0} kg at the balance point"),
        class,
        0.3,
        most_mass_kg.is_some(),
        None,
        ballast,
    );
    let edge_m = base.runners.both.groove_edge_radius_m;
    let what = format!("groove edges {:.2} to {:.2} mm", 1e3 * edge_m, 1e3 * (edge_m - GROOVE_M));
    let sharper = with("runners.groove_edge_radius_mm", 1e3 * (edge_m - GROOVE_M));
    add(what, "assumed: edges reached; changes the grip, told only", 2.0, false, None, sharper);
    if !scratches.is_empty() {
        let scratched =
            with("runners.roughness_um", 1e6 * rough_with_scratches_m(rough_um * 1e-6, scratches));
        let deepest = scratches.iter().map(|s| s.depth_m).fold(0.0, f64::max);
        let named: Vec<String> = scratches.iter().map(Scratch::words).collect();
        let hours = 0.5 + deepest / TAKEN_OFF_M_PER_H;
        let class = "stated size, assumed law; across is worse by opinion, not in the model";
        add(
            format!("polish out the scratch {}", named.join("; ")),
            class,
            (10.0 * hours).round() / 10.0,
            true,
            None,
            scratched,
        );
        if let Some((change, _)) = all.last_mut() {
            change.ends_at_base = true;
        }
    }
    all
}

/// What the athlete can do tonight, with the mistakes that are left; how much less they are is opinion.
pub(crate) fn of_the_athlete(skill: &Skill) -> [(Change, Skill); 2] {
    let change = |what: &str, class| Change {
        what: what.into(),
        class,
        hours: 1.0,
        may_advise: false,
        ends_at_base: false,
        after: None,
        refused: None,
    };
    let (video, sleep) = (1.0 - LESS_BY_VIDEO, 1.0 - LESS_BY_SLEEP);
    let studied = Skill { timing_s: video * skill.timing_s, aim_m: video * skill.aim_m, ..*skill };
    let rested = Skill {
        timing_s: sleep * skill.timing_s,
        amount: sleep * skill.amount,
        miss: sleep * skill.miss,
        sight_m: sleep * skill.sight_m,
        sight_rad: sleep * skill.sight_rad,
        ..*skill
    };
    [
        (
            change("video study (opinion): timing, line 5 % better", "opinion: how much better; told only"),
            studied,
        ),
        (change("sleep (opinion): mistakes 5 % smaller", "opinion: how much smaller; told only"), rested),
    ]
}

/// One change beside the set-up without it.
pub(crate) fn worth(tonight: &Tonight<'_>, change: Change, base: &Ridden, changed: &Ridden) -> Worth {
    let choice = tonight.chosen(&[base, changed], Some(0));
    let pair = changed.rides().zip(base.rides()).map(|(c, b)| paired(c, b));
    Worth {
        told: change.may_advise && choice.advised == Some(1),
        lost: changed.rides().map(|e| e.figures().lost.value),
        refused: changed.rode.as_ref().err().cloned(),
        pair,
        change,
    }
}

/// Which of them fill the hours: the best for an hour first, each only if the rule moves to it, it fits, and what must be
/// done before it is done.
///
/// Checked by: `exact_hours_are_filled_by_the_best`, `exact_a_further_step_follows_the_one_before`.
pub fn schedule(worths: &[Worth], hours: f64) -> Vec<usize> {
    let (mut order, mut left): (Vec<usize>, f64) = (vec![], hours);
    let rank = |i: usize| worths[i].per_hour_s().unwrap_or(f64::NEG_INFINITY);
    loop {
        let done = |what: &String| order.iter().any(|i: &usize| worths[*i].change.what == *what);
        let open = |i: &usize| {
            let Worth { change, told, .. } = &worths[*i];
            let fits = change.hours <= left + 1e-9;
            *told && fits && !order.contains(i) && change.after.as_ref().is_none_or(done)
        };
        // of equal ones the first
        let best = (0..worths.len()).rev().filter(open).max_by(|a, b| rank(*a).total_cmp(&rank(*b)));
        let Some(best) = best else { return order };
        left -= worths[best].change.hours;
        order.push(best);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rides::figures::Figure;

    fn one(what: &str, hours: f64, gain_s: f64, told: bool) -> Worth {
        let pair = Paired {
            pairs: 60,
            median_s: Some(-gain_s),
            band_s: None,
            finished_pairs: 60,
            mean_finished_s: None,
            lost: [0, 0],
            lost_alone: [0, 0],
            first_faster: Figure { value: 0.0, error: 0.0 },
        };
        let change = Change {
            what: what.into(),
            class: "assumed",
            hours,
            may_advise: true,
            ends_at_base: false,
            after: None,
            refused: None,
        };
        Worth { change, pair: Some(pair), lost: Some(0.0), told, refused: None }
    }

    #[test]
    fn exact_hours_are_filled_by_the_best() {
        // 20, 100, 60 and 400 ms an hour; the last is not told
        let all = [
            one("polish", 2.0, 0.04, true),
            one("tape", 0.5, 0.05, true),
            one("bow", 0.5, 0.03, true),
            one("saddle", 0.1, 0.04, false),
        ];
        assert_eq!(schedule(&all, 3.0), [1, 2, 0]);
        // two hours do not hold the polish besides
        assert_eq!(schedule(&all, 2.0), [1, 2]);
        assert_eq!(schedule(&all, 0.4), [0; 0]);
    }

    #[test]
    fn exact_a_further_step_follows_the_one_before() {
        let next = |what: &str, after: &str, hours, gain_s, told| {
            let mut worth = one(what, hours, gain_s, told);
            worth.change.after = Some(after.into());
            worth
        };
        // 60, 30 and 10 ms an hour one after another; 40 and, though only after it, 200 ms an hour
        let all = [
            next("finest", "finer", 2.0, 0.02, true),
            next("finer", "fine", 2.0, 0.06, true),
            one("fine", 2.0, 0.12, true),
            next("tape again", "tape", 0.5, 0.10, true),
            one("tape", 0.5, 0.02, true),
        ];
        assert_eq!(schedule(&all, 9.0), [2, 4, 3, 1, 0]);
        // 3 h hold the first step and both tapes; 1 h holds no polish at all, so none of its further steps
        assert_eq!(schedule(&all, 3.0), [2, 4, 3]);
        assert_eq!(schedule(&all, 1.0), [4, 3]);
        // a short further step is not taken where the step before is not told
        let cut = [one("fine", 2.0, 0.0, false), next("finer", "fine", 0.5, 0.5, true)];
        assert_eq!(schedule(&cut, 9.0), [0; 0]);
    }

    #[test]
    fn exact_each_step_begins_where_the_one_before_ends() {
        let steps = |rough_um: f64| {
            let mut base = sled_dynamics::setup::file::read_setup("s", "", &[]).unwrap();
            base.runners.both.roughness_m = 1e-6 * rough_um;
            let polish = changes(&base, None, &[]).into_iter().filter(|(c, _)| c.what.starts_with("polish"));
            polish
                .map(|(c, s)| (c.what, c.after, s.map(|s| (1e9 * s.runners.both.roughness_m).round())))
                .collect::<Vec<_>>()
        };
        let [first, second, third] = [
            "polish 0.25 to 0.20 um, P1000".to_string(),
            "polish 0.20 to 0.17 um, P1500".to_string(),
            "polish 0.17 to 0.15 um, P2500".to_string(),
        ];
        let wanted = vec![
            (first.clone(), None, Some(200.0)),
            (second.clone(), Some(first), Some(170.0)),
            (third.clone(), Some(second), Some(150.0)),
        ];
        assert_eq!(steps(0.25), wanted);
        // smoother runners begin further on; the smoothest have nothing to gain
        let one_left = "polish 0.16 to 0.15 um, P2500".to_string();
        assert_eq!(steps(0.16), [(one_left, None, Some(150.0))]);
        assert_eq!(steps(0.15), [("polish to 0.15 um".to_string(), None, None)]);
    }
}
