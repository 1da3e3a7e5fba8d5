//! A study: a base set-up on a track, and the cases that a design makes of them.

pub mod against;
pub mod axes;
pub(crate) mod axis_keys;
pub mod case;
pub(crate) mod chosen;
pub mod faults;
pub mod file;
pub mod levels;
pub(crate) mod panels;
pub(crate) mod quantity_values;
pub(crate) mod references;
pub mod report;
pub(crate) mod ride_times;
pub mod shards;
pub mod sidecar;
pub mod slopes;
pub mod sweep;
pub mod sweep_pictures;
pub mod table;

use crate::study::axes::{Axis, Quantity};
use crate::study::faults::{StudyFaults, StudyProblem};
use crate::study::file::{Design, StudyFile};
use crate::study::levels::Value;
use crate::study::quantity_values::{base_value, put};
use crate::study::slopes::{SIDES, spoken_axes};
use file_faults::Place;
use numerics::points::{LatinHypercube, ScrambledSobol, grid_place, grid_size};
use numerics::sobol_indices::PairedPoints;
use sled_dynamics::setup::Setup;
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
    pub(crate) base: Vec<Option<f64>>,
}

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
