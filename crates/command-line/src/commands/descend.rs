//! `sagitta descend`: one descent of one set-up.

use super::calibrated::{CalibrationOption, Used, at_points, time_words};
use super::rules::RuleOptions;
use super::{Done, ModelName, What, planned, refused, ridden, ridden_by};
use crate::files::{self, Output, ReadTrack};
use crate::plan_store::{PlanStore, setup_numbers_sha256};
use crate::words::{ABSOLUTE, CAUTION, numbers, say};
use pictures::descent_plan::descent_plan;
use pictures::descent_trace::descent_trace;
use sled_dynamics::analysis::safety::LIP_CAUTION;
use sled_dynamics::motion::descent::{Descent, LOSSES, Outcome};
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::ride_file::{RideFor, read_ride};
use sled_dynamics::setup::Setup;
use std::path::{Path, PathBuf};
use sweep_runner::plausible::points::Band;
use sweep_runner::records::summary::{Inputs, Summary, event_words};
use sweep_runner::records::trace_table::trace_csv;
use sweep_runner::rides::beside_steps::{PLAN_S, TABLES_S};
use sweep_runner::rides::case::{Case, Model, Who};
use sweep_runner::rides::cause::pieced_as_told;
use sweep_runner::rides::prepared::{Attempt, Prepared};

/// Spacing of the trace (m).
const TRACE_M: f64 = 0.5;

/// Options of `descend`.
#[derive(clap::Args)]
pub struct Options {
    #[command(flatten)]
    what: What,
    /// How the descent is computed
    #[arg(long, value_enum, default_value = "planned")]
    model: ModelName,
    /// Steer by a ride from this file: station_m, steer (-1 left to 1 right), toe_left, toe_right (0 to 1)
    #[arg(long, value_name = "FILE", conflicts_with = "model")]
    ride: Option<PathBuf>,
    /// Ride the planned ride with the mistakes noted in this file: CORNER, WHAT, SIZE on each line
    #[arg(long, value_name = "FILE", conflicts_with_all = ["model", "ride"])]
    notes: Option<PathBuf>,
    #[command(flatten)]
    calibration: CalibrationOption,
    /// Write pictures, trace.csv and summary.json into this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    rules: RuleOptions,
    /// Print the summary as JSON instead of tables
    #[arg(long)]
    json: bool,
}

/// Computes, prints and writes one descent.
pub fn descend(o: &Options) -> Done {
    let (track, mut read) = o.what.read()?;
    if o.calibration.is_named() && o.ride.is_some() {
        return Err(
            "--calibration: a ride from a file belongs to the set-up as it was; leave one of them out".into(),
        );
    }
    let used = o.calibration.put_on(&track, &mut read)?;
    let masses = o.rules.read()?.mass_words(&read.setup);
    let ride = match &o.ride {
        None => None,
        Some(path) => {
            let name = path.display().to_string();
            let text = files::read_text(path)?;
            let setup_sha256 = setup_numbers_sha256(&read.setup);
            let here = RideFor {
                track: &track.track.data.name,
                setup_sha256: &setup_sha256,
                finish_m: track.track.finish_m(),
            };
            Some(read_ride(&name, &text, &here).map_err(|f| refused("this ride", &f))?)
        }
    };
    let (detail, store) = (Detail::Trace(TRACE_M), o.what.store());
    let (precision, setup) = (Precision::default(), &read.setup);
    let by_table = ride.is_some();
    let (descent, label) = match (ride, &o.notes) {
        (Some(ride), _) => {
            let model = Model::Runners(Who::Ride(ride));
            let label = model.label();
            let case = Case { track: &track.track, setup, model, precision, detail };
            (case.descent().map_err(|e| e.to_string())?, label)
        }
        (None, Some(path)) => {
            (as_noted(path, &track, setup, detail, &store)?, "on runners, planned ride as noted")
        }
        (None, None) => ridden(&track, setup, o.model, detail, &store)?,
    };
    let estimate_s = ridden(&track, setup, ModelName::Guided, Detail::Bare, &store)?.0.finish_time_s;
    let inputs = Inputs {
        version: env!("SAGITTA_VERSION").into(),
        track: track.track.data.name.clone(),
        track_sha256: track.sha256.clone(),
        setup: read.setup.name.clone(),
        setup_sha256: read.sha256.clone(),
        set: o.what.sets.iter().cloned().chain(used.as_ref().map_or(vec![], Used::sets)).collect(),
    };
    let summary = Summary::new(&descent, label, estimate_s, inputs);
    let json = serde_json::to_string_pretty(&summary).map_err(|e| e.to_string())? + "\n";
    if let Some(out) = &o.out {
        let mut outputs = vec![
            Output::new("summary.json", json.clone()),
            Output::new("trace.csv", trace_csv(&descent.trace)),
        ];
        let label = format!("{} ({label})", read.setup.name);
        for picture in
            [descent_trace(&track.track, &[(&label, &descent)]), descent_plan(&track.track, &descent)]
        {
            outputs.extend(Output::picture(&picture.map_err(|e| e.to_string())?));
        }
        files::write_all(out, &outputs)?;
    }
    if o.json {
        say(&json)?;
    } else {
        // a ride from a table or by notes is on runners, whatever the model says
        let own = by_table || o.notes.is_some();
        let planned = !by_table && (o.notes.is_some() || o.model == ModelName::Planned);
        let of_a_point = matches!(o.model, ModelName::Guided | ModelName::Frictionless);
        let mut told = beside(own || !of_a_point, planned);
        if let Some((used, finish_s)) = used.as_ref().zip(descent.finish_time_s) {
            told = over_calibration(o, &track, setup, used, finish_s) + &told;
        }
        let words = used.as_ref().map_or("", |u| u.words.as_str());
        say(&report(&descent, &summary, words, &told, &masses))?;
    }
    for d in &track.doubts {
        tell!("doubtful: {d}");
    }
    if let Some(out) = &o.out {
        tell!("written to {}", out.display());
    }
    Ok(u8::from(descent.outcome != Outcome::Finished))
}

/// What a calibration leaves open of the finish.
fn over_calibration(o: &Options, track: &ReadTrack, setup: &Setup, used: &Used, finish_s: f64) -> String {
    let store = o.what.store();
    let on_runners = o.notes.is_some() || o.model == ModelName::Planned;
    let base = if on_runners { planned(track, setup, &store).ok() } else { None };
    let notes = o.notes.as_deref().and_then(|path| super::noted(path, &track.track).ok()).unwrap_or_default();
    let planned_s = |own: &Prepared<'_>, there: &Setup| {
        let ridden = ridden_by(own, there).ok()?;
        if notes.is_empty() {
            return ridden.descent(&Attempt::perfect(), Precision::default(), Detail::Bare).finish_time_s;
        }
        let pieces = super::noted_pieces(&ridden, &notes).ok()?;
        pieced_as_told(&ridden, &pieces, Precision::default(), Detail::Bare).ok()?.finish_time_s
    };
    let ends = at_points(used.axes(), |set| {
        let there = set.on(setup).ok()?;
        match &base {
            Some(own) => planned_s(own, &there),
            None => ridden(track, &there, o.model, Detail::Bare, &store).ok()?.0.finish_time_s,
        }
    });
    let over = used.calibration.over();
    let line = used.calibration.line_loss.map_or(String::new(), |[loss, sd]| {
        let (loss, sd) = (1e2 * loss, 1e2 * sd);
        format!("real lines of those runs took {loss:.2} ±{sd:.2} % longer than planned ones; that is not in these times\n")
    });
    time_words(&Band::new(finish_s, &ends), over) + &line
}

/// The planned ride with what is noted in a file; prints how the notes are understood.
fn as_noted(
    path: &Path,
    read: &ReadTrack,
    setup: &Setup,
    detail: Detail,
    store: &PlanStore,
) -> Result<Descent, String> {
    let track = &read.track;
    let notes = super::noted(path, track)?;
    for note in &notes {
        tell!("{}", note.understood(track));
    }
    let prepared = super::planned(read, setup, store)?;
    let pieces = super::noted_pieces(&prepared, &notes)?;
    let descent = pieced_as_told(&prepared, &pieces, Precision::default(), detail)
        .map_err(|why| format!("these notes cannot be ridden\n{why}"))?;
    tell!("{}", super::told_beside(&prepared, &pieces, &descent).trim_end());
    Ok(descent)
}

/// What the times may be off by beside the steps; nothing of that where no runners are ridden.
fn beside(on_runners: bool, planned: bool) -> String {
    if !on_runners {
        return String::new();
    }
    let (tables, plan) = (1e3 * TABLES_S, 1e3 * PLAN_S);
    let plan = if planned { format!(", a plan from another start by {plan:.0} ms") } else { String::new() };
    format!("tables of the runners may move a time by {tables:.0} ms{plan} (as measured on the example)\n")
}

fn report(d: &Descent, s: &Summary, with: &str, beside: &str, masses: &str) -> String {
    let mut text = format!("{} on {}\n{}\n{with}\n", s.inputs.setup, s.inputs.track, s.model);
    let error = |e: Option<f64>| e.map_or("unknown".into(), |e| format!("{:.4}", e * 1e3));
    let rows = s.splits.iter().map(|r| {
        vec![
            r.eye.clone(),
            format!("{:.0}", r.station_m),
            format!("{:.3}", r.split_time_s),
            error(r.numerical_error_s),
            format!("{:.1}", r.speed_km_h),
        ]
    });
    text += &numbers(&["eye", "station m", "time s", "error of steps ms", "speed km/h"], rows);
    text += "\n\n";
    match (d.finish_time_s, &s.outcome_detail) {
        (Some(t), _) => text += &format!("finish {t:.3} s"),
        (None, why) => text += &format!("control lost {}", why.clone().unwrap_or_default()),
    }
    text += &format!(", top speed {:.1} km/h, greatest load {:.2} g\n", s.top_speed_km_h, s.greatest_g_load);
    text += &format!("{beside}\n");

    let total = d.energy.potential_j + d.energy.push_j;
    let share = |j: f64| vec![format!("{:.1}", j / 1e3), format!("{:.1}", 100.0 * j / total)];
    let row = |name: &str, j: f64| [vec![name.to_string()], share(j)].concat();
    let mut rows = vec![
        row("fall", d.energy.potential_j),
        row("push", d.energy.push_j),
        row("speed left", d.energy.kinetic_j),
    ];
    rows.extend(LOSSES.iter().zip(d.energy.lost_j).map(|(name, j)| row(name, j)));
    text += &numbers(&["energy", "kJ", "%"], rows);
    // a level track has no fall to count from
    let fall_j = d.energy.potential_j;
    let of = if fall_j.abs() < 1.0 { (total, "fall and push") } else { (fall_j, "the fall") };
    text += &format!("\nnot accounted for: {:.1e} of {}\n\n", d.energy.residual_j() / of.0, of.1);

    let rows = s.corners.iter().map(|c| {
        vec![
            c.corner.clone(),
            format!("{:.1}", c.entry_speed_km_h),
            format!("{:.2}", c.entry_height_m),
            format!("{:.2}", c.highest_height_m),
            format!("{:.0}", c.highest_station_m),
            format!("{:.2}", c.exit_height_m),
            format!("{:.1}", c.exit_speed_km_h),
            format!("{:.2}", c.greatest_g_load),
            c.pressures.to_string(),
        ]
    });
    let header = [
        "corner",
        "entry km/h",
        "entry height m",
        "highest m",
        "at station m",
        "exit height m",
        "exit km/h",
        "greatest g",
        "pressures",
    ];
    text += &numbers(&header, rows);
    text += "\n\n";
    if d.events.is_empty() {
        text += "no events\n";
    }
    for e in &d.events {
        text += &format!("{:.1} to {:.1} m: {}\n", e.station_m, e.until_m, event_words(&e.kind));
    }
    text += "\n";
    if d.lip_touches() > 0 {
        text += &format!("{LIP_CAUTION}\n");
    }
    text += &format!("{masses}\n{ABSOLUTE}\n{CAUTION}\n");
    text
}
