//! One case of a study: its set-up, its plan, its descent without mistakes, and its rides with them.

use crate::rides::case::{Case, Model, Who};
use crate::rides::ensemble::{Ensemble, RIDES, rides};
use crate::rides::paired::{Paired, Verdict};
use crate::rides::planner::{PlanStatus, Planned};
use crate::rides::prepared::CaseError;
use crate::rides::prepared::{Attempt, Prepared, Ready};
use crate::study::Study;
use crate::study::against::{Against, Reason, Reference};
use crate::study::axes::Quantity;
use crate::study::file::{PlanFor, StudyModel};
use crate::study::levels::Value;
use crate::study::quantity_values::{put, put_setup};
use sled_dynamics::laws::on_runners::bending_stress_pa;
use sled_dynamics::motion::descent::Descent;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::errors_of_ride::{SKILLS, Skill};
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::checks::misfits;
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
    /// What those rides say against the reference.
    pub(crate) told_apart: Option<(Paired, Verdict)>,
    /// How the plan came out, where one is ridden.
    pub plan: Option<PlanQuality>,
}

/// How the plan of a case came out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanQuality {
    /// What is left of the virtual help (m/s2, root mean square).
    pub(crate) help_m_s2: f64,
    /// Sweeps of the planner.
    pub(crate) sweeps: usize,
}

/// What all cases start from and are compared with; what a case gives is the same whichever others are computed.
#[derive(Clone, Debug)]
pub struct Base {
    /// Plans of the base set-up by lag (s), which the plans of the cases start from.
    pub(crate) plans: Vec<(f64, Planned)>,
    /// What the cases are compared with.
    pub(crate) against: Against,
    /// Rides of the base set-up.
    pub(crate) references: Vec<Reference>,
}

impl Base {
    /// Nothing: enough for models that plan nothing.
    pub const NONE: Base = Base { plans: vec![], against: Against::Nothing, references: vec![] };

    /// The plan for a lag.
    fn at(&self, lag_s: f64) -> Option<&Planned> {
        self.plans.iter().find(|(lag, _)| *lag == lag_s).map(|(_, planned)| planned)
    }

    /// The plan for a lag, or that of the first.
    fn near(&self, lag_s: f64) -> Option<&Planned> {
        self.at(lag_s).or_else(|| self.plans.first().map(|(_, planned)| planned))
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

    /// Plans of the base set-up, one for each lag of the study.
    pub(crate) fn base_plans(&self, tell: &dyn Fn(&str)) -> Vec<(f64, Planned)> {
        let Ok(ready) = Ready::new(&self.track, &self.setup) else { return vec![] };
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
        let many = lags.len();
        for (i, lag_s) in lags.into_iter().enumerate() {
            tell(&format!("planning the base set-up, {} of {many} lags", i + 1));
            let neighbour = plans.first().map(|(_, p)| &p.plan);
            if let Ok(planned) = ready.plan(lag_s, neighbour)
                && planned.status == PlanStatus::Found
            {
                plans.push((lag_s, planned));
            }
        }
        plans
    }

    /// The base set-up with the values of those axes that are taken, ridden.
    pub(crate) fn ridden_with(
        &self,
        values: &[Value],
        taken: impl Fn(&Quantity) -> bool,
        base: &Base,
    ) -> Result<Made, Reason> {
        let mut setup = self.setup.clone();
        // the track is copied only where it is varied
        let on_track = self.file.axes.iter().any(|a| matches!(a.quantity, Quantity::Track(_)));
        let mut other = on_track.then(|| self.track.clone());
        let axes = self.file.axes.iter().zip(values).zip(&self.base);
        for ((axis, value), base) in axes.filter(|((axis, _), _)| taken(&axis.quantity)) {
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
        self.ridden(track, &setup, &self.skill(values), base).map_err(|e| e.to_string())
    }

    fn ridden(&self, track: &Track, setup: &Setup, skill: &Skill, base: &Base) -> Result<Made, CaseError> {
        let (precision, detail) = (Precision::default(), Detail::Trace(TRACE_M));
        let model = match self.file.model {
            StudyModel::Guided => Model::Guided,
            StudyModel::FirstPilot => Model::Runners(Who::FirstPilot),
            StudyModel::Planned => {
                let prepared = self.prepared(track, setup, skill, base)?;
                let descent = prepared.descent(&Attempt::perfect(), precision, detail);
                let (seed, many) = (self.file.seed, self.file.rides.per_case);
                let ensemble = (many > 0).then(|| Ensemble {
                    planned_time_s: descent.finish_time_s,
                    rides: rides(&prepared, skill, seed, 0..many, RIDES),
                });
                let plan = &prepared.planned;
                let plan = Some(PlanQuality { help_m_s2: plan.help_m_s2, sweeps: plan.sweeps });
                return Ok(Made { descent, ensemble, told_apart: None, plan });
            }
        };
        let descent = Case { track, setup, model, precision, detail }.descent()?;
        Ok(Made { descent, ensemble: None, told_apart: None, plan: None })
    }

    fn prepared<'a>(
        &self,
        track: &'a Track,
        setup: &'a Setup,
        skill: &Skill,
        base: &Base,
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
