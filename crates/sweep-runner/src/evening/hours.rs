//! What an hour at the sled is worth: one change at a time, the same mistakes, milliseconds for an hour.

use crate::evening::ridden::{Ridden, Tonight};
use crate::evening::scratches::{Scratch, rough_with_scratches_m};
use crate::rides::paired::{Paired, paired};
use sled_dynamics::riding::errors_of_ride::Skill;
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::keys::set;

/// Roughness that polishing ends at (um), assumed.
pub(crate) const RACE_POLISH_UM: f64 = 0.20;
/// Share of the drag area that good taping saves `[-]`, assumed.
const TAPED: f64 = 0.02;
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
pub(crate) const MOST_CHANGES: usize = 9;

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
    let mut add = |what: String, class, hours, may_advise, made: Result<Setup, String>| {
        let (setup, refused) = match made {
            Ok(setup) => (Some(setup), None),
            Err(why) => (None, Some(why)),
        };
        all.push((Change { what, class, hours, may_advise, ends_at_base: false, refused }, setup));
    };
    let with = |key: &str, value: f64| {
        let mut other = base.clone();
        set(&mut other, key, value).map(|()| other).map_err(|f| format!("{}: {}", f.key(), f.problem))
    };
    let rough_um = 1e6 * base.runners.both.roughness_m;
    let polish = if rough_um > RACE_POLISH_UM + 1e-9 {
        with("runners.roughness_um", RACE_POLISH_UM)
    } else {
        Err("as smooth already".into())
    };
    let what = format!("polish {rough_um:.2} to {RACE_POLISH_UM:.2} um");
    add(what, "assumed: roughness reached", 2.0, true, polish);
    let tape = with("air.taping_factor", base.air.taping_factor * (1.0 - TAPED));
    add(format!("tape gaps, drag -{:.0} %", 100.0 * TAPED), "assumed: drag saved", 0.5, true, tape);
    for (way, sign) in [("forward", 1.0), ("back", -1.0)] {
        let s = &base.sled;
        let moved_m = s.balance_point_m + sign * SADDLE_M * s.athlete_mass_kg / s.mass_kg();
        let made = with("sled.balance_point_mm", 1e3 * moved_m);
        let what = format!("saddle {:.0} mm {way}", 1e3 * SADDLE_M);
        add(what, "computed from stated masses", 0.5, true, made);
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
        ballast,
    );
    let edge_m = base.runners.both.groove_edge_radius_m;
    let what = format!("groove edges {:.2} to {:.2} mm", 1e3 * edge_m, 1e3 * (edge_m - GROOVE_M));
    let sharper = with("runners.groove_edge_radius_mm", 1e3 * (edge_m - GROOVE_M));
    add(what, "assumed: edges reached; changes the grip, told only", 2.0, false, sharper);
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

/// Which of them fill the hours: the best for an hour first, each only if the rule moves to it and it fits.
///
/// Checked by: `exact_hours_are_filled_by_the_best`.
pub fn schedule(worths: &[Worth], hours: f64) -> Vec<usize> {
    let mut order: Vec<usize> = (0..worths.len()).filter(|i| worths[*i].told).collect();
    let rank = |i: &usize| worths[*i].per_hour_s().unwrap_or(f64::NEG_INFINITY);
    order.sort_by(|a, b| rank(b).total_cmp(&rank(a)));
    let mut left = hours;
    order.retain(|i| {
        let fits = worths[*i].change.hours <= left + 1e-9;
        if fits {
            left -= worths[*i].change.hours;
        }
        fits
    });
    order
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
}
