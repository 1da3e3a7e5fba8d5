//! What stands beside the table of a sweep: everything needed to make it again. Its schema is
//! `docs/sweep.schema.json`.

use crate::study::Study;
use crate::study::file::{Design, PlanFor};
use crate::study::table::{Column, columns};
use serde::Serialize;
use sled_dynamics::riding::errors_of_ride::SKILLS;

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
    /// The columns of the table.
    pub columns: Vec<Column>,
    /// What it was computed from.
    pub inputs: SweepInputs,
}

impl Sidecar {
    /// The sidecar of a shard's table.
    pub fn new(study: &Study, shard: &str, version: &str, inputs: SweepInputs) -> Sidecar {
        let file = &study.file;
        Sidecar {
            form: 1,
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
            columns: columns(study),
            inputs,
        }
    }

    /// As JSON, its last line ended.
    pub fn json(&self) -> String {
        // text and whole numbers only: nothing here can fail to be written
        serde_json::to_string_pretty(self).unwrap_or_default() + "\n"
    }
}
