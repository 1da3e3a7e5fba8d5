//! Time and chance of losing control across the window of bow: rides with the same mistakes at each bow.

use crate::commands::calibrated::at_points_of_each;
use crate::commands::compare::skill;
use crate::commands::planned_at;
use crate::commands::unknowns::{at_sets, many_words};
use crate::files::ReadTrack;
use crate::number::within;
use crate::plan_store::PlanStore;
use ice_contact::runner::Bow;
use pictures::Picture;
use pictures::curve_with_band::{BandGroup, BandWords, curve_with_band};
use sled_dynamics::motion::precision::Detail;
use sled_dynamics::riding::errors_of_ride::Skill;
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::keys::get;
use sweep_runner::plausible::keyed::Set;
use sweep_runner::plausible::points::Axis;
use sweep_runner::rides::beside_steps::of_rides_of_bow_s;
use sweep_runner::rides::choice::{Candidate, Choice, choose};
use sweep_runner::rides::ensemble::{Ensemble, RIDES, ensemble};
use sweep_runner::rides::figures::Figure;
use sweep_runner::rides::paired::ALLOWED_LOST;
use sweep_runner::rides::planner::Planned;
use sweep_runner::rides::prepared::{Attempt, Prepared, Ready};

/// Whether and how the bows are ridden.
#[derive(clap::Args)]
pub struct Rides {
    /// Ride each bow of the table this often, with the same mistakes: time and chance of losing control (takes
    /// some seconds for each bow)
    #[arg(long, value_name = "N", allow_hyphen_values = true, value_parser = within(2_u32, 100_000, ""))]
    rides: Option<u32>,
    /// Skill of the athlete who rides: novice, club, national or elite
    #[arg(long, default_value = "national")]
    skill: String,
    /// Seed of the mistakes
    #[arg(long, default_value_t = 1, allow_hyphen_values = true, value_parser = within(0, u64::MAX, ""))]
    seed: u64,
}

/// What the rides with one bow say.
#[derive(Clone, Debug)]
pub struct Ridden {
    /// The rides and the numerical error of the planned time (s); none where no ride can be planned.
    pub rides: Option<(Ensemble, f64)>,
    /// The plan.
    pub planned: Option<Planned>,
    /// Median time of all rides (s), lost ones last.
    pub time_s: Option<Figure>,
    /// Share that loses control `[-]`.
    pub lost: Option<Figure>,
}

/// Half-width of a 95 % band over its standard error.
const BAND: f64 = 1.959964;

impl Rides {
    /// The skill, if bows are to be ridden.
    pub fn wanted(&self) -> Result<Option<Skill>, String> {
        let skill = skill(&self.skill)?;
        Ok(self.rides.map(|_| skill))
    }

    /// Rides one even bow; without figures where no ride can be planned.
    pub fn at(
        &self,
        (track, store): (&ReadTrack, &PlanStore),
        setup: &Setup,
        skill: &Skill,
        bow_m: f64,
    ) -> Ridden {
        let mut setup = setup.clone();
        [setup.runners.left, setup.runners.right] = [Bow::even(bow_m); 2];
        let rides = self.rides.unwrap_or(0) as usize;
        tell!("{} degC, bow {:.1} mm: planning and riding ...", setup.ice.temperature_c, 1e3 * bow_m);
        match planned_at(track, &setup, skill.lag_s, store) {
            Ok(prepared) => {
                let all = ensemble(&prepared, skill, self.seed, rides, RIDES);
                let figures = all.figures();
                let planned = prepared.descent(&Attempt::perfect(), RIDES, Detail::Times);
                Ridden {
                    rides: Some((all, planned.numerical_error_s)),
                    planned: Some(prepared.planned.clone()),
                    time_s: figures.median_s,
                    lost: Some(figures.lost),
                }
            }
            Err(_) => Ridden { rides: None, planned: None, time_s: None, lost: None },
        }
    }

    /// Rides one even bow with the numbers of a set, its ride found from the one without.
    fn at_point(&self, track: &ReadTrack, setup: &Setup, skill: &Skill, own: &Ridden, set: &Set) -> Ridden {
        let none = Ridden { rides: None, planned: None, time_s: None, lost: None };
        let skill = set.skilled(skill);
        let (Ok(there), Some(near)) = (set.on(setup), &own.planned) else { return none };
        let rode = || {
            let ready = Ready::new(&track.track, &there).ok()?;
            let planned = ready.plan(skill.lag_s, Some(&near.plan)).ok()?;
            let prepared = Prepared::new(ready, planned, skill.lag_s).ok()?;
            let all = ensemble(&prepared, &skill, self.seed, self.rides.unwrap_or(0) as usize, RIDES);
            Some((all, own.rides.as_ref().map_or(0.0, |r| r.1)))
        };
        Ridden { rides: rode(), ..none }
    }

    /// Bow that is advised with the numbers of a set (mm); none where none is.
    fn advised_at(
        &self,
        (track, setup): (&ReadTrack, &Setup),
        skill: &Skill,
        rows: &[(f64, &Ridden)],
        set: &Set,
    ) -> Option<f64> {
        let there: Vec<(f64, Ridden)> = rows
            .iter()
            .map(|(bow_mm, own)| {
                let mut setup = setup.clone();
                [setup.runners.left, setup.runners.right] = [Bow::even(1e-3 * bow_mm); 2];
                (*bow_mm, self.at_point(track, &setup, skill, own, set))
            })
            .collect();
        let all: Vec<(f64, &Ridden)> = there.iter().map(|(b, r)| (*b, r)).collect();
        chosen(&all, get(setup, "runners.bow_mm")).advised.map(|i| rows[i].0)
    }

    /// What is advised in each of the sets, bow by bow.
    pub fn over_sets(
        &self,
        place: (&ReadTrack, &Setup),
        skill: &Skill,
        rows: &[(f64, &Ridden)],
        sets: &[Set],
    ) -> String {
        let all = at_sets(sets, |set| self.advised_at(place, skill, rows, set));
        let shares: Vec<String> = rows
            .iter()
            .map(|(bow_mm, _)| (all.iter().filter(|a| **a == Some(*bow_mm)).count(), *bow_mm))
            .filter(|(many, _)| *many > 0)
            .map(|(many, bow_mm)| format!("{bow_mm:.1} mm in {many}"))
            .chain(match all.iter().filter(|a| a.is_none()).count() {
                0 => None,
                none => Some(format!("none in {none}")),
            })
            .collect();
        format!("  over {}: advised are {}\n", many_words(&sets[..all.len()]), shares.join(", "))
    }

    /// What is advised at the points of what is not known, bow by bow: rows of bow (mm) and rides, and the bow on now.
    pub fn over_points(
        &self,
        track: &ReadTrack,
        setup: &Setup,
        skill: &Skill,
        rows: &[(f64, &Ridden)],
        axes: &[Axis],
        over: &str,
    ) -> String {
        let points =
            at_points_of_each(axes, "points", |set| self.advised_at((track, setup), skill, rows, set));
        let mut all: Vec<Option<f64>> = points.into_iter().flatten().collect();
        let many = all.len();
        let now = chosen(rows, get(setup, "runners.bow_mm")).advised.map(|i| rows[i].0);
        let same = all.iter().filter(|a| **a == now).count();
        all.sort_by(|a, b| a.unwrap_or(f64::INFINITY).total_cmp(&b.unwrap_or(f64::INFINITY)));
        all.dedup();
        let named = |a: &Option<f64>| a.map_or("none".to_string(), |mm| format!("{mm:.1} mm"));
        let each: Vec<String> = all.iter().map(named).collect();
        match same {
            _ if many == 0 => String::new(),
            n if n == many => format!("  over {over}, {many} points: the same advice at each\n"),
            n => format!(
                "  over {over}, {many} points: the same advice at {n}; advised are {}: the rides settle no more than that\n",
                each.join(", ")
            ),
        }
    }

    /// What the columns say, in a sentence.
    pub fn words(&self) -> String {
        format!(
            "time and P(control lost): {} rides of the level {} with the same mistakes at each bow, seed {}; 95 % sampling bands; \
             time: median of all rides, those that lose control last\n",
            self.rides.unwrap_or(0),
            self.skill,
            self.seed
        )
    }
}

/// What the rule of choice says of rides over bow (mm) with the bow that is on now (mm).
fn chosen(rows: &[(f64, &Ridden)], now_mm: Option<f64>) -> Choice {
    let candidates: Vec<Candidate<'_>> = rows
        .iter()
        .map(|(bow_mm, r)| Candidate {
            rides: r.rides.as_ref().map(|(rides, _)| rides),
            numerical_s: r.rides.as_ref().map_or(0.0, |(_, error_s)| *error_s),
            by_plan_s: of_rides_of_bow_s(1e-3 * bow_mm),
        })
        .collect();
    let now = now_mm.and_then(|now| rows.iter().position(|(bow_mm, _)| (bow_mm - now).abs() < 1e-6));
    choose(&candidates, now, ALLOWED_LOST)
}

/// What the rides of one ice say, by the rule of choice: bow (mm) and rides, bow by bow, and the bow that is on now (mm), where it is even.
pub fn advice(rows: &[(f64, &Ridden)], now_mm: Option<f64>) -> String {
    let names: Vec<String> = rows.iter().map(|(bow_mm, _)| format!("{bow_mm:.1} mm")).collect();
    chosen(rows, now_mm).words_in_order(&names, ALLOWED_LOST)
}

/// Cells of time and chance.
pub fn cells(ridden: Option<&Ridden>) -> [String; 2] {
    let cell = |figure: Option<Figure>, digits: usize| {
        figure.map_or("no ride".to_string(), |f| match (f.is_lost(), f.error.is_finite()) {
            (true, _) => "lost".to_string(),
            (_, false) => format!("{:.digits$} to lost", f.value),
            _ => format!("{:.digits$} +- {:.digits$}", f.value, BAND * f.error),
        })
    };
    // a chance lies between nothing and all
    let chance = |f: Figure| {
        let [low, high] = [-BAND, BAND].map(|b| (f.value + b * f.error).clamp(0.0, 1.0));
        format!("{:.2} ({low:.2} to {high:.2})", f.value)
    };
    ridden.map_or([String::new(), String::new()], |r| {
        [cell(r.time_s, 3), r.lost.map_or("no ride".to_string(), chance)]
    })
}

/// Rides of one ice: its name, and bow (mm) with what was ridden.
pub type OfIce = (String, Vec<(f64, Ridden)>);

/// Time and chance over the bow.
pub fn picture(title: &str, ices: &[OfIce]) -> Result<Option<Picture>, String> {
    let group = |(label, rows): &OfIce| {
        let known = rows.iter().filter_map(|(bow, r)| Some((*bow, r.time_s?, r.lost?)));
        // bows whose median or its error falls among lost rides have their chance alone
        let all: Vec<(f64, Figure, Figure)> = known.collect();
        let known: Vec<_> = all.iter().filter(|k| k.1.error.is_finite()).collect();
        BandGroup {
            label: label.clone(),
            parameter: known.iter().map(|k| k.0).collect(),
            mean: known.iter().map(|k| k.1.value).collect(),
            low: known.iter().map(|k| k.1.value - BAND * k.1.error).collect(),
            high: known.iter().map(|k| k.1.value + BAND * k.1.error).collect(),
            planned: Vec::new(),
            lost_share: all.iter().map(|k| (k.0, k.2.value)).collect(),
            flat: None,
        }
    };
    let groups: Vec<BandGroup> = ices.iter().map(group).filter(|g| !g.parameter.is_empty()).collect();
    if groups.is_empty() {
        return Ok(None);
    }
    let words = BandWords {
        name: "bow_rides",
        title,
        parameter: "bow at all four screws (mm)",
        quantity: "median time, lost rides last (s)",
        band: "95 % of the median",
    };
    curve_with_band(&words, &groups).map(Some).map_err(|e| e.to_string())
}
