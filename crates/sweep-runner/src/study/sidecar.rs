//! What stands beside the table of a sweep: everything needed to make it again. Its schema is
//! `docs/sweep.schema.json`.

use crate::study::Study;
use crate::study::axes::Axis;
use crate::study::axis_keys::SKILL_KEYS;
use crate::study::file::{Design, PlanFor};
use crate::study::levels::Value;
use crate::study::levels::{CUT_SD, Levels};
use crate::study::report::figure_columns;
use crate::study::table::{Column, columns};
use serde::Serialize;
use serde_json::Value as Json;
use sled_dynamics::motion::precision::Precision;
use sled_dynamics::riding::errors_of_ride::SKILLS;
use sled_dynamics::setup::keys;
use std::collections::BTreeMap;

/// Hashes and names of what a sweep was computed from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct SweepInputs {
    /// SHA-256 of the study file, hexadecimal.
    pub study_sha256: String,
    /// Name of the track.
    pub track: String,
    /// SHA-256 of the track's two files, hexadecimal.
    pub track_sha256: String,
    /// Name of the set-up.
    pub setup: String,
    /// SHA-256 of the set-up's file, hexadecimal.
    pub setup_sha256: String,
    /// The study file, whole.
    pub study_text: String,
    /// The set-up's file, whole.
    pub setup_text: String,
}

/// Who made a table, and out of which file; all else is the same wherever it is made.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct MadeBy {
    /// The command as it was given.
    pub command: String,
    /// The study file as it was named; the track that the study names is beside it.
    pub study_file: String,
}

/// An axis, and how its values lie.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AxisRecord {
    /// Its key.
    pub(crate) key: &'static str,
    /// Unit of its values; empty without one.
    pub(crate) unit: &'static str,
    /// How they lie: list, range, normal, triangular or step.
    pub(crate) kind: &'static str,
    /// The numbers that say so, by name.
    pub(crate) numbers: BTreeMap<&'static str, f64>,
    /// The values of a list.
    pub(crate) values: Vec<String>,
}

impl AxisRecord {
    fn of(axis: &Axis) -> AxisRecord {
        let (kind, numbers, values): (_, Vec<(&'static str, f64)>, Vec<String>) = match &axis.levels {
            Levels::List(values) => ("list", vec![], values.iter().map(Value::to_string).collect()),
            Levels::Range { from, to, steps } => {
                let steps = steps.map(|n| ("steps", n as f64));
                ("range", [("from", *from), ("to", *to)].into_iter().chain(steps).collect(), vec![])
            }
            Levels::Normal { mean, sd } => {
                ("normal", vec![("mean", *mean), ("sd", *sd), ("cut_at_sd", CUT_SD)], vec![])
            }
            Levels::Triangular { from, mode, to } => {
                ("triangular", vec![("from", *from), ("mode", *mode), ("to", *to)], vec![])
            }
            Levels::Step(step) => ("step", vec![("step", *step)], vec![]),
        };
        let (key, unit) = (axis.quantity.path(), axis.quantity.unit());
        AxisRecord { key, unit, kind, numbers: numbers.into_iter().collect(), values }
    }
}

/// The sidecar of a table.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sidecar {
    /// Version of this form.
    pub form: u32,
    /// Version of the program.
    pub version: String,
    /// Name of the study.
    pub study: String,
    /// Seed of everything drawn at random.
    pub seed: u64,
    /// How a case is computed.
    pub model: &'static str,
    /// Which points.
    pub design: &'static str,
    /// Points of the design; null where the axes say it.
    pub points: Option<usize>,
    /// Number of cases of the whole study.
    pub cases: usize,
    /// Which share of the cases the table holds, "1/1" for all.
    pub shard: String,
    /// Rides of an athlete who makes mistakes, for each case; 0 is one ride without any.
    pub rides_per_case: usize,
    /// Level of skill of that athlete.
    pub skill: &'static str,
    /// Whose plan is ridden: "each-case" or "base".
    pub plan: &'static str,
    /// What the rides of a case are compared with.
    pub reference: &'static str,
    /// The axes.
    pub axes: Vec<AxisRecord>,
    /// Numbers of the base set-up, in the unit of their keys; a key that is not set is left out.
    pub base: BTreeMap<&'static str, f64>,
    /// Numbers of the base athlete's skill, in the unit of their keys.
    pub base_skill: BTreeMap<&'static str, f64>,
    /// Error allowed in one step of a descent, as a share of the scales of its state.
    pub tolerance: f64,
    /// Greatest step of a descent (m).
    pub greatest_step_m: f64,
    /// The columns of the table.
    pub columns: Vec<Column>,
    /// The columns of slopes.csv, indices.csv or choice.csv, where the design makes one.
    pub figure_columns: Vec<Column>,
    /// What it was computed from.
    pub inputs: SweepInputs,
    /// Who made it.
    pub made_by: MadeBy,
    /// SHA-256 of the finished table, hexadecimal; null as long as it is not finished.
    pub table_sha256: Option<String>,
}

/// What may differ between two sidecars of the same table.
const MAY_DIFFER: [&str; 2] = ["made_by", "table_sha256"];

/// The fields in which the sidecars of two tables differ so that the tables may, too; `None` where a text is none.
pub fn differences(a: &str, b: &str) -> Option<Vec<String>> {
    let read = |text: &str| match serde_json::from_str(text) {
        Ok(Json::Object(fields)) => Some(fields),
        _ => None,
    };
    let (a, b) = (read(a)?, read(b)?);
    let names: std::collections::BTreeSet<&String> = a.keys().chain(b.keys()).collect();
    let differ = names.into_iter().filter(|n| !MAY_DIFFER.contains(&n.as_str()) && a.get(*n) != b.get(*n));
    Some(differ.cloned().collect())
}

impl Sidecar {
    /// The sidecar of a shard's table that is not finished.
    pub fn new(study: &Study, shard: &str, version: &str, inputs: SweepInputs, made_by: MadeBy) -> Sidecar {
        let file = &study.file;
        let (precision, skill) = (Precision::default(), study.base_skill());
        let numbers = keys::keys().iter().filter(|k| k.number().is_some());
        Sidecar {
            form: 2,
            version: version.into(),
            study: file.name.clone(),
            seed: file.seed,
            model: file.model.name(),
            design: file.design.name(),
            points: match file.design {
                Design::LatinHypercube { points } | Design::Sobol { points } | Design::Indices { points } => {
                    Some(points)
                }
                Design::Grid | Design::Slopes => None,
            },
            cases: study.cases(),
            shard: shard.into(),
            rides_per_case: file.rides.per_case,
            skill: SKILLS.get(file.rides.level).map_or("", |s| s.name),
            plan: if file.rides.plan == PlanFor::Base { "base" } else { "each-case" },
            reference: study.against().words(),
            axes: file.axes.iter().map(AxisRecord::of).collect(),
            base: numbers.filter_map(|k| Some((k.path, keys::get(&study.setup, k.path)?))).collect(),
            base_skill: SKILL_KEYS.iter().map(|k| (k.path, (k.get)(&skill))).collect(),
            tolerance: precision.tolerance,
            greatest_step_m: precision.greatest_step_m,
            columns: columns(study),
            figure_columns: figure_columns(study),
            inputs,
            made_by,
            table_sha256: None,
        }
    }

    /// As JSON, its last line ended.
    pub fn json(&self) -> String {
        // text and whole numbers only: nothing here can fail to be written
        serde_json::to_string_pretty(self).unwrap_or_default() + "\n"
    }
}
