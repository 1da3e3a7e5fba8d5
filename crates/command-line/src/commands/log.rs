//! `sagitta log`: a log of accelerations and turning rate laid over the model.

mod compared;

use super::{Done, What, planned};
use crate::files::{self, Output, read_table};
use crate::words::{CAUTION, every_fault, numbers, say};
use compared::{Corner, Over, corners, marks, rise_g};
use evidence::alignment::{Laid, Pair, lay_over};
use evidence::motion_log::{MotionLog, read_log};
use pictures::log_laid_over::{LaidPanel, log_laid_over};
use sled_dynamics::motion::descent::{Descent, EventKind, Sample};
use sled_dynamics::motion::precision::{Detail, Precision};
use std::path::PathBuf;
use sweep_runner::rides::prepared::Attempt;
use track_geometry::track::Track;

/// Step of what is compared (s).
const STEP_S: f64 = 0.02;
/// Spacing of the model's trace (m).
const TRACE_M: f64 = 0.5;
/// Least correlation, of both quantities together, of a log that is of this track `[-]`: assumed.
const LEAST_MATCH: f64 = 1.7;

/// Options of `log`.
#[derive(clap::Args)]
#[command(after_help = "Example: sagitta log examples/log.csv --out log")]
pub struct Options {
    /// Log: CSV with `time_s`, `up_g` (accelerometer square to the sled's floor, 1 at rest) and `yaw_rate_deg_s` (left
    /// positive), or `time_ms`, `up_m_s2`, `yaw_rate_rad_s`; 10 samples a second or more
    #[arg(value_name = "LOG.csv")]
    log: PathBuf,
    #[command(flatten)]
    what: What,
    /// Write log.svg and log.png, the log over the model, into this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Reads, lays over, compares, prints and draws.
pub fn log(o: &Options) -> Done {
    let file = o.log.display().to_string();
    let log = read_log(&file, &read_table(&o.log)?).map_err(every_fault)?;
    let (track, setup) = o.what.read()?;
    let prepared = planned(&track, &setup.setup, &o.what.store())?;
    let descent = prepared.descent(&Attempt::perfect(), Precision::default(), Detail::Trace(TRACE_M));
    let track = &track.track;
    let clock_m = track.data.eyes.first().map_or(0.0, |e| e.station_m);
    let trace: Vec<Sample> = descent.trace.iter().copied().filter(|s| s.station_m >= clock_m).collect();
    let Some(first) = trace.first().filter(|_| descent.finish_time_s.is_some()) else {
        return Err("the planned ride does not reach the finish: there is nothing to lay the log over".into());
    };
    let time_s: Vec<f64> = trace.iter().map(|s| s.time_s - first.time_s).collect();
    let of = |of: &dyn Fn(&Sample) -> f64| trace.iter().map(of).collect::<Vec<f64>>();
    let model = Pair::even(&time_s, [&of(&|s| s.g_load), &of(&|s| s.yaw_rate_rad_s)], STEP_S);
    let own = Pair::even(&log.time_s, [&log.up_g, &log.yaw_rate_rad_s], STEP_S);
    let (laid, own, turned) = matched(&file, track, &own, &model)?;
    let over = Over { track, trace: &trace, time_s: &time_s, model: &model, log: &own, laid: &laid };
    let all = corners(&over);
    let text = told(&file, &log, &over, &all, &descent, turned);
    if let Some(out) = &o.out {
        let title = format!("{file} over the planned ride of {} on {}", setup.setup.name, track.data.name);
        let picture = log_laid_over(track, &title, &panels(&over)).map_err(|e| e.to_string())?;
        files::write_all(out, &Output::picture(&picture))?;
        tell!("written to {}", out.display());
    }
    say(&text)?;
    Ok(0)
}

/// The log laid over; turned round where it counts turning the other way; refused where it is of another track, or where
/// its columns stand in each other's place.
fn matched(file: &str, track: &Track, own: &Pair, model: &Pair) -> Result<(Laid, Pair, bool), String> {
    let short = || {
        format!(
            "{file}: the log covers too little of the descent; allowed: four fifths of {:.0} s or more",
            STEP_S * model.values.len() as f64
        )
    };
    let sum = |l: &Laid| l.correlation[0] + l.correlation[1].abs();
    let [straight, turned] = [false, true].map(|t| lay_over(own, model, t));
    let [straight, turned] = [straight.ok_or_else(short)?, turned.ok_or_else(short)?];
    let best = if sum(&turned) > sum(&straight) { turned } else { straight };
    if sum(&best) >= LEAST_MATCH && best.correlation[0] > 0.0 {
        if best.correlation[1] >= 0.0 {
            return Ok((best, own.clone(), false));
        }
        let values = own.values.iter().map(|v| [v[0], -v[1]]).collect();
        let own = Pair { values, ..own.clone() };
        let laid = lay_over(&own, model, false).ok_or_else(short)?;
        return Ok((laid, own, true));
    }
    let swapped = Pair { values: own.values.iter().map(|v| [v[1], v[0]]).collect(), ..own.clone() };
    if lay_over(&swapped, model, false).is_some_and(|l| sum(&l) >= LEAST_MATCH) {
        return Err(format!(
            "{file} (up, yaw_rate): got columns in each other's place; allowed: each below its own heading"
        ));
    }
    Err(format!(
        "{file}: got a log whose best match has correlations of {:.2} (up) and {:.2} (yaw rate) with the planned ride on {}; allowed: \
         {LEAST_MATCH} together or more. Is it of this track, whole, and is the sensor square to the sled?",
        best.correlation[0], best.correlation[1], track.data.name
    ))
}

fn told(
    file: &str,
    log: &MotionLog,
    over: &Over<'_>,
    all: &[Corner],
    descent: &Descent,
    turned: bool,
) -> String {
    let (laid, track) = (over.laid, over.track);
    let mut text = format!(
        "{file}: {} samples, {:.0} a second, laid over the planned ride on {}\n\n\
         first eye at {:.3} +-{:.3} s of the log's clock\n\
         a second of the model takes {:.4} +-{:.4} s of the log{}\n\
         match: up {:.3}, yaw rate {:.3} (correlation, 1 is perfect)\n\
         sensor against model: up {:+.3} g at a gain of {:.3}, yaw rate {:+.2} deg/s at a gain of {:.3}\n",
        log.time_s.len(),
        log.rate_hz,
        track.data.name,
        laid.log_s(0.0),
        laid.errors[0],
        laid.scale,
        laid.errors[1],
        if laid.scale > 1.0 + 2.0 * laid.errors[1] {
            ": the run was slower, or the logger's clock is fast"
        } else if laid.scale < 1.0 - 2.0 * laid.errors[1] {
            ": the run was faster, or the logger's clock is slow"
        } else {
            ""
        },
        laid.correlation[0],
        laid.correlation[1],
        laid.gain_and_bias[0][1],
        laid.gain_and_bias[0][0],
        laid.gain_and_bias[1][1].to_degrees(),
        laid.gain_and_bias[1][0],
    );
    if turned {
        text += "yaw rate: the log counts right turns as positive; turned round\n";
    }
    if !log.unused.is_empty() {
        text += &format!("read and not used: {}\n", log.unused.join(", "));
    }
    let row = |c: &Corner| {
        let pair = |[log, model]: [f64; 2], digits: usize| format!("{log:.digits$} / {model:.digits$}");
        vec![
            c.name.clone(),
            c.entry_s.map_or("-".into(), |[log, model]| format!("{log:.2} / {model:.2}")),
            c.lag_error_s.map_or("-".into(), |e| format!("{e:.3}")),
            c.speed_km_h.map_or("-".into(), |s| pair(s, 1)),
            pair(c.greatest_g, 1),
            format!("{} / {}", c.pressures[0], c.pressures[1]),
            pair(c.swing_deg_s, 1),
        ]
    };
    let header =
        ["corner", "entry s", "+- s", "speed to the next km/h", "greatest up g", "pressures", "swing deg/s"];
    text += &format!("\nlog / model\n{}\n", numbers(&header, all.iter().map(row)));
    text += &format!(
        "entry: seconds after the first eye, the log moved until it matches best around the corner; speed: from one corner's entry\n\
         to the next; pressures: peaks of the load that stand out by {:.2} g; swing: root mean square of the yaw rate beside its mean\n\
         over 0.8 s; the noise of the sensor is in that of the log.\n",
        rise_g(laid)
    );
    let marks = marks(over);
    text +=
        "\nmoments in which the log turns far otherwise than the model: skid, touch or a line of its own\n";
    if marks.is_empty() {
        text += "  none\n";
    }
    for m in &marks {
        text += &format!(
            "  {:.2} s after the first eye, {:.0} m{}: {:.2} s long, up to {:.0} deg/s beside the model\n",
            m.time_s,
            m.station_m,
            m.corner.as_ref().map_or(String::new(), |c| format!(", corner {c}")),
            m.long_s,
            m.most_deg_s
        );
    }
    let skids = descent.events.iter().filter(|e| matches!(e.kind, EventKind::Skid { .. })).count();
    text += &format!("skids of the model's planned ride (slip beyond 4 degrees): {skids}\n\n");
    text += "A log shows what the sled did, not why. The model's ride is planned without a mistake: what differs may be the line, the ice\n\
             or the set-up. Compare with a video before you change anything.\n";
    text + CAUTION + "\n"
}

/// Up, yaw rate and speed over the station, by the log and by the model.
fn panels<'a>(over: &Over<'_>) -> Vec<LaidPanel<'a>> {
    let smooth = [over.log.smoothed(0.1), over.model.smoothed(0.1)];
    let both = |k: usize, unit: f64| -> [Vec<(f64, f64)>; 2] {
        let (mut log, mut model) = (vec![], vec![]);
        for i in 0..over.model.values.len() {
            let t = over.model.time_s(i);
            let station_m = over.station_m(t);
            model.push((station_m, unit * smooth[1].values[i][k]));
            if let Some(v) = smooth[0].at(over.laid.log_s(t)) {
                log.push((station_m, unit * v[k]));
            }
        }
        [log, model]
    };
    let degrees = 180.0 / std::f64::consts::PI;
    let [up, up_model] = both(0, 1.0);
    let [yaw, yaw_model] = both(1, degrees);
    let mut panels = vec![
        LaidPanel { label: "up (g)", model: up_model, log: up },
        LaidPanel { label: "yaw rate, left + (deg/s)", model: yaw_model, log: yaw },
    ];
    let (mut log, mut model) = (vec![], vec![]);
    for (c, next) in corners(over).iter().zip(over.track.data.corners.iter().skip(1)) {
        let Some(corner) = over.track.data.corners.iter().find(|k| k.name == c.name) else { continue };
        let middle_m = 0.5 * (corner.entry_m + next.entry_m);
        if let Some([l, m]) = c.speed_km_h {
            log.push((middle_m, l));
            model.push((middle_m, m));
        }
    }
    if log.len() > 1 {
        panels.push(LaidPanel { label: "speed between entries (km/h)", model, log });
    }
    panels
}
