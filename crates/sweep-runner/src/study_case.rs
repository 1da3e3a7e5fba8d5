//! One case of a study: its set-up, its plan, its descent without mistakes, and its rides with them.

use crate::axes::{Quantity, Value};
use crate::case::{Case, CaseError, Model, Who};
use crate::ensemble::{Ensemble, RIDES, one_ride};
use crate::planner::{PlanStatus, Planned};
use crate::prepared::{Attempt, Prepared, Ready};
use crate::study::{Reason, Study, put, put_setup};
use crate::study_file::{PlanFor, StudyModel};
use sled_dynamics::descent::Descent;
use sled_dynamics::errors_of_ride::{SKILLS, Skill};
use sled_dynamics::on_runners::bending_stress_pa;
use sled_dynamics::precision::{Detail, Precision};
use sled_dynamics::setup::Setup;
use sled_dynamics::setup_checks::misfits;
use track_geometry::track::Track;

/// Spacing of the trace that corners and loads are read from (m).
const TRACE_M: f64 = 0.5;
/// Most lags that the base set-up is planned for; a study of more starts from the plan of the base skill alone.
const MOST_LAGS: usize = 8;

/// What a case gave.
#[derive(Clone, Debug)]
pub struct Made {
    /// The descent without mistakes.
    pub descent: Descent,
    /// Rides of an athlete who makes mistakes, where the study asks for them.
    pub ensemble: Option<Ensemble>,
}

/// Plans of the base set-up, which the plans of the cases start from; the same whichever cases are computed.
#[derive(Clone, Debug, Default)]
pub struct BasePlans(Vec<(f64, Planned)>);

impl BasePlans {
    /// The plan for a lag.
    fn at(&self, lag_s: f64) -> Option<&Planned> {
        self.0.iter().find(|(lag, _)| *lag == lag_s).map(|(_, planned)| planned)
    }

    /// The plan for a lag, or that of the first.
    fn near(&self, lag_s: f64) -> Option<&Planned> {
        self.at(lag_s).or_else(|| self.0.first().map(|(_, planned)| planned))
    }
}

impl Study {
    /// The skill of the base set-up's athlete.
    pub fn base_skill(&self) -> Skill {
        let mut skill = SKILLS[self.file.rides.level.min(SKILLS.len() - 1)];
        for (quantity, value, _) in &self.file.set {
            if let Quantity::Skill(key) = quantity {
                (key.set)(&mut skill, *value);
            }
        }
        skill
    }

    /// The skill of a case's athlete: the level first, then its single numbers.
    fn skill(&self, values: &[Value]) -> Skill {
        let axes = || self.file.axes.iter().zip(values);
        let level = axes().find_map(|(a, v)| match (&a.quantity, v) {
            (Quantity::SkillLevel, Value::Level(i)) => SKILLS.get(*i),
            _ => None,
        });
        let mut skill = level.map_or_else(|| self.base_skill(), |level| *level);
        let set = self.file.set.iter().map(|(q, v, _)| (q, *v));
        for (quantity, value) in set.chain(axes().map(|(a, v)| (&a.quantity, v.number()))) {
            if let Quantity::Skill(key) = quantity {
                (key.set)(&mut skill, value);
            }
        }
        skill
    }

    /// Reaction lag that a case is planned and ridden with (s): with mistakes that of the skill.
    fn lag_s(&self, setup: &Setup, skill: &Skill) -> f64 {
        if self.file.rides.per_case > 0 { skill.lag_s } else { setup.pilot.lag_s }
    }

    /// Plans the base set-up once for each lag of the study; none for a model that plans nothing.
    pub fn base_plans(&self) -> BasePlans {
        if self.file.model != StudyModel::Planned {
            return BasePlans::default();
        }
        let Ok(ready) = Ready::new(&self.track, &self.setup) else { return BasePlans::default() };
        let mut lags = vec![self.lag_s(&self.setup, &self.base_skill())];
        if self.file.rides.per_case > 0 {
            for case in 0..self.cases() {
                let lag_s = self.skill(&self.values(case)).lag_s;
                if !lags.contains(&lag_s) {
                    lags.push(lag_s);
                }
                if lags.len() > MOST_LAGS {
                    lags.truncate(1);
                    break;
                }
            }
        }
        let mut plans: Vec<(f64, Planned)> = Vec::new();
        for lag_s in lags {
            let neighbour = plans.first().map(|(_, p)| &p.plan);
            if let Ok(planned) = ready.plan(lag_s, neighbour)
                && planned.status == PlanStatus::Found
            {
                plans.push((lag_s, planned));
            }
        }
        BasePlans(plans)
    }

    /// What a case gives, or why it gives nothing.
    pub fn made(&self, case: usize, base: &BasePlans) -> Result<Made, Reason> {
        let values = self.values(case);
        let mut setup = self.setup.clone();
        // the track is copied only where it is varied
        let on_track = self.file.axes.iter().any(|a| matches!(a.quantity, Quantity::Track(_)));
        let mut other = on_track.then(|| self.track.clone());
        for ((axis, value), base) in self.file.axes.iter().zip(&values).zip(&self.base) {
            // a step of nothing leaves the set-up as it is, however it says it
            if axis.levels.step().is_some() && Some(value.number()) == *base {
                continue;
            }
            let done = match other.as_mut() {
                Some(track) => put(&axis.quantity, *value, &mut setup, track),
                None => put_setup(&axis.quantity, *value, &mut setup),
            };
            done.map_err(|problem| format!("{}: {problem}", axis.quantity.path()))?;
        }
        if let Some(misfit) = misfits(&setup, Some(&bending_stress_pa)).first() {
            return Err(format!("{}: {}", misfit.key, misfit.problem));
        }
        let track = other.as_ref().unwrap_or(&self.track);
        self.ridden(track, &setup, &self.skill(&values), base).map_err(|e| e.to_string())
    }

    fn ridden(
        &self,
        track: &Track,
        setup: &Setup,
        skill: &Skill,
        base: &BasePlans,
    ) -> Result<Made, CaseError> {
        let (precision, detail) = (Precision::default(), Detail::Trace(TRACE_M));
        let model = match self.file.model {
            StudyModel::Guided => Model::Guided,
            StudyModel::FirstPilot => Model::Runners(Who::FirstPilot),
            StudyModel::Planned => {
                let prepared = self.prepared(track, setup, skill, base)?;
                let descent = prepared.descent(&Attempt::perfect(), precision, detail);
                let rides = self.file.rides.per_case;
                // the cases are what runs in parallel
                let ride = |i| one_ride(&prepared, skill, self.file.seed, i, RIDES);
                let ensemble = (rides > 0).then(|| Ensemble {
                    planned_time_s: descent.finish_time_s,
                    rides: (0..rides).map(ride).collect(),
                });
                return Ok(Made { descent, ensemble });
            }
        };
        let descent = Case { track, setup, model, precision, detail }.descent()?;
        Ok(Made { descent, ensemble: None })
    }

    fn prepared<'a>(
        &self,
        track: &'a Track,
        setup: &'a Setup,
        skill: &Skill,
        base: &BasePlans,
    ) -> Result<Prepared<'a>, CaseError> {
        let lag_s = self.lag_s(setup, skill);
        let near = base.near(lag_s).map(|p| &p.plan);
        let ready = Ready::new(track, setup)?;
        let planned = match (self.file.rides.plan, base.at(lag_s)) {
            (PlanFor::EachCase, _) => ready.plan(lag_s, near)?,
            (PlanFor::Base, Some(planned)) => planned.clone(),
            (PlanFor::Base, None) => Ready::new(&self.track, &self.setup)?.plan(lag_s, near)?,
        };
        Prepared::new(ready, planned, lag_s)
    }
}
