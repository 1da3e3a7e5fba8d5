//! A study: a base set-up on a track, and the cases that a design makes of them.

pub mod axes;
pub mod axis_keys;
pub mod case;
pub mod faults;
pub mod file;
pub mod levels;
pub(crate) mod panels;
pub mod references;
pub mod report;
pub mod shards;
pub mod sidecar;
pub mod slopes;
pub mod sweep;
pub mod sweep_pictures;
pub mod table;

use crate::study::axes::{Axis, Quantity, Value};
use crate::study::faults::{StudyFaults, StudyProblem};
use crate::study::file::{Design, StudyFile};
use crate::study::slopes::{SIDES, spoken_axes};
use numerics::points::{LatinHypercube, ScrambledSobol, grid_place, grid_size};
use numerics::sobol_indices::PairedPoints;
use sled_dynamics::laws::atmosphere::StandardAir;
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::keys;
use track_geometry::faults::Place;
use track_geometry::track::Track;

/// A study as checked.
#[derive(Clone, Debug)]
pub struct Study {
    /// The study as typed; its axes are those of the study.
    pub file: StudyFile,
    /// The track.
    pub track: Track,
    /// The base set-up, with the keys that are set for all cases.
    pub setup: Setup,
    /// Value of each axis in the base set-up, where it has one.
    pub base: Vec<Option<f64>>,
}

/// Why a case has no figures; in words.
pub type Reason = String;

impl Study {
    /// A study of a track and a set-up that were read for it.
    pub fn new(mut file: StudyFile, mut track: Track, mut setup: Setup) -> Result<Study, StudyFaults> {
        let mut faults = StudyFaults::default();
        for (quantity, value, place) in &file.set {
            let value = Value::Number(*value);
            if let Err(problem) = put(quantity, value, &mut setup, &mut track) {
                faults.add(place.clone(), problem);
            }
        }
        let place = Place { key: Some("axis".into()), ..Place::file("study") };
        if file.design == Design::Slopes && file.axes.is_empty() {
            file.axes = spoken_axes(file.model, &track, &setup);
            file.axis_places = vec![place; file.axes.len()];
        }
        let mut study = Study { file, track, setup, base: vec![] };
        let skill = study.base_skill();
        let base_of = |axis: &Axis| match &axis.quantity {
            Quantity::Skill(key) => Some((key.get)(&skill)),
            other => base_value(other, &study.track, &study.setup),
        };
        study.base = study.file.axes.iter().map(base_of).collect();
        let Study { file, track, setup, base } = study;
        for ((axis, place), base) in file.axes.iter().zip(&file.axis_places).zip(&base) {
            let key = axis.quantity.path();
            match (axis.levels.step(), base) {
                (Some(_), None) => faults.add(place.clone(), StudyProblem::NoBase { key }),
                (Some(step), Some(base)) => {
                    let Some((least, most)) = axis.quantity.limits() else { continue };
                    for value in
                        [base - step, base + step].into_iter().filter(|v| !(least..=most).contains(v))
                    {
                        let unit = axis.quantity.unit();
                        let problem = StudyProblem::OutOfLimits { key, value, least, most, unit };
                        faults.add(place.clone(), problem);
                    }
                }
                (None, _) => {
                    let value = axis.levels.quantile(0.5);
                    if let Err(problem) = put(&axis.quantity, value, &mut setup.clone(), &mut track.clone()) {
                        faults.add(place.clone(), problem);
                    }
                }
            }
        }
        if faults.0.is_empty() { Ok(Study { file, track, setup, base }) } else { Err(faults.sorted()) }
    }

    /// Number of cases.
    pub fn cases(&self) -> usize {
        let axes = &self.file.axes;
        match self.file.design {
            Design::Grid => {
                let lengths: Vec<usize> = axes.iter().filter_map(|a| a.levels.grid_length()).collect();
                grid_size(&lengths).unwrap_or(0)
            }
            Design::LatinHypercube { points } | Design::Sobol { points } => points,
            Design::Indices { points } => points * (axes.len() + 2),
            Design::Slopes => 1 + SIDES.len() * axes.len(),
        }
    }

    /// Values of the axes in a case.
    pub fn values(&self, case: usize) -> Vec<Value> {
        let (axes, seed) = (&self.file.axes, self.file.seed);
        let by_share = |point: Vec<f64>| -> Vec<Value> {
            axes.iter().zip(point).map(|(a, share)| a.levels.quantile(share)).collect()
        };
        match self.file.design {
            Design::Grid => {
                let lengths: Vec<usize> = axes.iter().filter_map(|a| a.levels.grid_length()).collect();
                let place = grid_place(case, &lengths);
                axes.iter().zip(place).map(|(a, i)| a.levels.at(i)).collect()
            }
            Design::LatinHypercube { points } => {
                by_share(LatinHypercube { points, seed }.point(case, axes.len()))
            }
            Design::Sobol { .. } => by_share(ScrambledSobol { seed }.point(case, axes.len())),
            Design::Indices { points: base_points } => {
                by_share(PairedPoints { base_points, inputs: axes.len(), seed }.point(case))
            }
            Design::Slopes => {
                let stepped = case.checked_sub(1).map(|i| (i / SIDES.len(), SIDES[i % SIDES.len()]));
                let value = |(i, axis): (usize, &Axis)| {
                    let side = stepped.filter(|(axis, _)| *axis == i).map_or(0.0, |(_, side)| side);
                    let step = axis.levels.step().unwrap_or(0.0);
                    Value::Number(self.base[i].unwrap_or(f64::NAN) + side * step)
                };
                axes.iter().enumerate().map(value).collect()
            }
        }
    }
}

/// Puts a value into the set-up.
pub(crate) fn put_setup(quantity: &Quantity, value: Value, setup: &mut Setup) -> Result<(), StudyProblem> {
    match quantity {
        Quantity::Setup(key) => {
            keys::set(setup, key.path, value.number()).map_err(|f| StudyProblem::Setup(f.problem))
        }
        _ => Ok(()),
    }
}

/// Puts a value into the set-up or the track.
pub(crate) fn put(
    quantity: &Quantity,
    value: Value,
    setup: &mut Setup,
    track: &mut Track,
) -> Result<(), StudyProblem> {
    match quantity {
        Quantity::Track(key) if key.path == "track.altitude_m" => track.data.altitude_m = value.number(),
        Quantity::Track(_) => track.data.latitude_rad = value.number().to_radians(),
        _ => return put_setup(quantity, value, setup),
    }
    Ok(())
}

/// Value of a quantity in a set-up, in the unit of its key; also of those that follow from others.
pub fn base_value(quantity: &Quantity, track: &Track, setup: &Setup) -> Option<f64> {
    match quantity {
        Quantity::Setup(key) => keys::get(setup, key.path).or_else(|| match key.path {
            "air.pressure_hpa" => Some(StandardAir::at_altitude_m(track.data.altitude_m).pressure_pa / 100.0),
            "push.top_sprint_speed_m_s" => {
                let constants = Constants::new(setup, &track.data);
                let friction = setup.ice.guided_friction;
                let launch = Launch::from_push(&setup.push, track, &constants, friction).ok()?;
                launch.sprint.map(|s| s.top_speed_m_s)
            }
            _ => None,
        }),
        Quantity::Track(key) if key.path == "track.altitude_m" => Some(track.data.altitude_m),
        Quantity::Track(_) => Some(track.data.latitude_rad.to_degrees()),
        Quantity::Skill(_) | Quantity::SkillLevel => None,
    }
}
