//! The summary of a descent, as JSON. Its schema is `docs/summary.schema.json`.

use serde::Serialize;
use sled_dynamics::laws::walls::Side;
use sled_dynamics::motion::descent::{Descent, EventKind, LOSSES, Outcome};
use std::collections::BTreeMap;

const KM_H: f64 = 3.6;

/// What a descent was computed from.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Inputs {
    /// Version of the program.
    pub version: String,
    /// Name of the track.
    pub track: String,
    /// SHA-256 of the station table and the track's TOML, hexadecimal.
    pub track_sha256: String,
    /// Name of the set-up.
    pub setup: String,
    /// SHA-256 of the set-up's file, hexadecimal.
    pub setup_sha256: String,
    /// Keys set on the command line, as `key=value`.
    pub set: Vec<String>,
}

/// A split of the summary.
#[derive(Clone, Debug, Serialize)]
pub struct SplitRow {
    /// Name of the eye.
    pub eye: String,
    /// Station (m).
    pub station_m: f64,
    /// Time since the first eye (s).
    pub split_time_s: f64,
    /// Numerical error of that time (s).
    pub numerical_error_s: Option<f64>,
    /// Speed (km/h).
    pub speed_km_h: f64,
}

/// A corner of the summary.
#[derive(Clone, Debug, Serialize)]
pub struct CornerRow {
    /// Name of the corner.
    pub corner: String,
    /// Station of the entry (m).
    pub(crate) entry_m: f64,
    /// Station of the exit (m).
    pub(crate) exit_m: f64,
    /// Offset at the entry, left positive (m).
    pub(crate) entry_offset_m: f64,
    /// Height at the entry (m).
    pub entry_height_m: f64,
    /// Speed at the entry (km/h).
    pub entry_speed_km_h: f64,
    /// Station of the highest point (m).
    pub highest_station_m: f64,
    /// Height of the highest point (m).
    pub highest_height_m: f64,
    /// Offset at the exit, left positive (m).
    pub(crate) exit_offset_m: f64,
    /// Height at the exit (m).
    pub exit_height_m: f64,
    /// Speed at the exit (km/h).
    pub exit_speed_km_h: f64,
    /// Greatest load over weight `[-]`.
    pub greatest_g_load: f64,
    /// Number of pressures.
    pub pressures: usize,
}

/// An event of the summary.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct EventRow {
    /// What happened.
    pub(crate) event: String,
    /// Where it began (m).
    pub(crate) station_m: f64,
    /// Where it ended (m).
    pub(crate) until_m: f64,
    /// When, from the block (s).
    pub time_s: f64,
    /// Impulse on a wall (N s).
    pub(crate) impulse_n_s: Option<f64>,
    /// Energy lost to a wall (J).
    pub(crate) lost_j: Option<f64>,
}

/// The summary of a descent.
#[derive(Clone, Debug, Serialize)]
pub struct Summary {
    /// "finished" or "control lost".
    pub(crate) outcome: String,
    /// Where and how control was lost, in words.
    pub outcome_detail: Option<String>,
    /// How the descent was computed, in words.
    pub model: String,
    /// First to last eye (s).
    pub finish_time_s: Option<f64>,
    /// Numerical error of the finish time (s).
    pub(crate) numerical_error_s: Option<f64>,
    /// Finish time of the guided estimate (s).
    pub(crate) guided_estimate_s: Option<f64>,
    /// Eye by eye.
    pub splits: Vec<SplitRow>,
    /// Greatest speed (km/h).
    pub top_speed_km_h: f64,
    /// Greatest load over weight `[-]`.
    pub greatest_g_load: f64,
    /// The ledger (J).
    pub(crate) energy_j: BTreeMap<String, f64>,
    /// Corner by corner.
    pub corners: Vec<CornerRow>,
    /// What happened.
    pub(crate) events: Vec<EventRow>,
    /// Seed of what was drawn at random; a single descent draws nothing.
    pub(crate) seed: u64,
    /// What it was computed from.
    pub inputs: Inputs,
}

/// Name of an event in words.
pub fn event_words(kind: &EventKind) -> String {
    let side = |s: &Side| if *s == Side::Left { "left" } else { "right" };
    match kind {
        EventKind::Wall { side: s, .. } => format!("{} wall", side(s)),
        EventKind::Lip { side: s, .. } => format!("{} lip", side(s)),
        EventKind::Skid { greatest_slip_rad, toe_s } => {
            let toe = if *toe_s > 0.0 { format!(", toe {toe_s:.1} s") } else { String::new() };
            format!("skid to {:.0} deg{toe}", greatest_slip_rad.abs().to_degrees())
        }
        EventKind::Light => "sled light".into(),
        EventKind::RunnerLifted { side: s } => format!("{} runner lifted", side(s)),
    }
}

/// A number that is not finite is left out.
fn known(v: f64) -> Option<f64> {
    v.is_finite().then_some(v)
}

impl Summary {
    /// The summary of a descent.
    pub fn new(d: &Descent, model: &str, guided_estimate_s: Option<f64>, inputs: Inputs) -> Summary {
        let e = &d.energy;
        let mut energy_j: BTreeMap<String, f64> = [
            ("potential", e.potential_j),
            ("push", e.push_j),
            ("kinetic", e.kinetic_j),
            ("residual", e.residual_j()),
        ]
        .map(|(k, v)| (k.to_string(), v))
        .into();
        energy_j.extend(LOSSES.iter().zip(e.lost_j).map(|(k, v)| ((*k).to_string(), v)));
        let (outcome, outcome_detail) = match d.outcome {
            Outcome::Finished => ("finished", None),
            Outcome::ControlLost { station_m, cause } => {
                ("control lost", Some(format!("at station {station_m:.1} m: {}", cause.words())))
            }
        };
        Summary {
            outcome: outcome.into(),
            outcome_detail,
            model: model.into(),
            finish_time_s: d.finish_time_s,
            numerical_error_s: known(d.numerical_error_s),
            guided_estimate_s,
            splits: d
                .splits
                .iter()
                .map(|s| SplitRow {
                    eye: s.eye.clone(),
                    station_m: s.station_m,
                    split_time_s: s.split_time_s,
                    numerical_error_s: known(s.numerical_error_s),
                    speed_km_h: s.speed_m_s * KM_H,
                })
                .collect(),
            top_speed_km_h: d.top_speed_m_s() * KM_H,
            greatest_g_load: d.greatest_g_load(),
            energy_j,
            corners: d
                .corners
                .iter()
                .map(|c| CornerRow {
                    corner: c.name.clone(),
                    entry_m: c.entry.station_m,
                    exit_m: c.exit.station_m,
                    entry_offset_m: c.entry.offset_m,
                    entry_height_m: c.entry.height_m,
                    entry_speed_km_h: c.entry.speed_m_s * KM_H,
                    highest_station_m: c.highest.station_m,
                    highest_height_m: c.highest.height_m,
                    exit_offset_m: c.exit.offset_m,
                    exit_height_m: c.exit.height_m,
                    exit_speed_km_h: c.exit.speed_m_s * KM_H,
                    greatest_g_load: c.greatest_g_load,
                    pressures: c.pressures,
                })
                .collect(),
            events: d
                .events
                .iter()
                .map(|e| {
                    let (impulse_n_s, lost_j) =
                        e.kind.touch().map(|(_, impulse_n_s, lost_j)| (impulse_n_s, lost_j)).unzip();
                    EventRow {
                        event: event_words(&e.kind),
                        station_m: e.station_m,
                        until_m: e.until_m,
                        time_s: e.time_s,
                        impulse_n_s,
                        lost_j,
                    }
                })
                .collect(),
            seed: 0,
            inputs,
        }
    }
}
