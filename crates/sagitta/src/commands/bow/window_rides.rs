//! Time and chance of losing control across the window of bow: rides with the same mistakes at each bow.

use crate::commands::compare::skill;
use crate::commands::planned_at;
use crate::files::ReadTrack;
use crate::number::within;
use crate::plan_store::PlanStore;
use ice_contact::runner::Bow;
use pictures::Picture;
use pictures::curve_with_band::{BandGroup, BandWords, curve_with_band};
use sled_dynamics::motion::precision::Detail;
use sled_dynamics::riding::errors_of_ride::Skill;
use sled_dynamics::setup::Setup;
use sweep_runner::rides::choice::{Candidate, choose};
use sweep_runner::rides::ensemble::{Ensemble, RIDES, ensemble};
use sweep_runner::rides::figures::Figure;
use sweep_runner::rides::paired::ALLOWED_LOST;
use sweep_runner::rides::prepared::Attempt;

/// Whether and how the bows are ridden.
#[derive(clap::Args)]
pub struct Rides {
    /// Ride each bow of the table this often, with the same mistakes: time and chance of losing control (takes seconds a bow)
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
        eprintln!("{} degC, bow {:.1} mm: planning and riding ...", setup.ice.temperature_c, 1e3 * bow_m);
        match planned_at(track, &setup, skill.lag_s, store) {
            Ok(prepared) => {
                let all = ensemble(&prepared, skill, self.seed, rides, RIDES);
                let figures = all.figures();
                let planned = prepared.descent(&Attempt::perfect(), RIDES, Detail::Times);
                Ridden {
                    rides: Some((all, planned.numerical_error_s)),
                    time_s: figures.median_s,
                    lost: Some(figures.lost),
                }
            }
            Err(_) => Ridden { rides: None, time_s: None, lost: None },
        }
    }

    /// What the columns say, in a sentence.
    pub fn words(&self) -> String {
        format!(
            "time and P(control lost): {} rides by a {} with the same mistakes at each bow, seed {}; 95 % sampling bands; \
             time: median of all rides, those that lose control last\n",
            self.rides.unwrap_or(0),
            self.skill,
            self.seed
        )
    }
}

/// What the rides of one ice say, by the rule of choice: bow (mm) and rides, bow by bow, and the bow that is on now (mm), where it is even.
pub fn advice(rows: &[(f64, &Ridden)], now_mm: Option<f64>) -> String {
    let candidates: Vec<Candidate<'_>> = rows
        .iter()
        .map(|(_, r)| Candidate {
            rides: r.rides.as_ref().map(|(rides, _)| rides),
            numerical_s: r.rides.as_ref().map_or(0.0, |(_, error_s)| *error_s),
        })
        .collect();
    let now = now_mm.and_then(|now| rows.iter().position(|(bow_mm, _)| (bow_mm - now).abs() < 1e-6));
    let names: Vec<String> = rows.iter().map(|(bow_mm, _)| format!("{bow_mm:.1} mm")).collect();
    choose(&candidates, now, ALLOWED_LOST).words(&names, ALLOWED_LOST)
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
