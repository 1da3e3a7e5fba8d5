//! `sagitta corners`: how the sled swings in each corner, and what is to be watched.

use super::{Done, ModelName, What, ridden};
use crate::files::{self, Output};
use crate::words::{ABSOLUTE, CAUTION, numbers, say};
use pictures::height_along_bank::{bank_corners, height_along_bank};
use sled_dynamics::analysis::oscillation::{Swing, swings};
use sled_dynamics::analysis::safety::{Flags, LIP_CAUTION, flags};
use sled_dynamics::laws::walls::Side;
use sled_dynamics::motion::descent::{Descent, Outcome};
use sled_dynamics::motion::precision::Detail;
use std::path::PathBuf;
use track_geometry::track::Track;

/// Spacing of the trace that swings are read from (m): 5 to 10 ms; the turning points lie between the samples.
const TRACE_M: f64 = 0.25;

/// Options of `corners`.
#[derive(clap::Args)]
pub struct Options {
    #[command(flatten)]
    what: What,
    /// How the descent is computed
    #[arg(long, value_enum, default_value = "planned")]
    model: ModelName,
    /// Write the picture of the heights along the banks into this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Prints how the sled swings.
pub fn corners(o: &Options) -> Done {
    let (track, read) = o.what.read()?;
    let (descent, label) = ridden(&track, &read.setup, o.model, Detail::Trace(TRACE_M), &o.what.store())?;
    let track = &track.track;
    let found = swings(track, &descent.trace);
    let flagged = flags(track, &descent.trace, &descent.events);
    if let Some(out) = &o.out {
        let stations: Vec<f64> = found.iter().flat_map(|s| s.pressures.iter().map(|p| p.station_m)).collect();
        let corners = bank_corners(track, &[("this descent", &descent)], |_| stations.clone());
        let title = format!("{} on {}: height on the bank ({label})", read.setup.name, track.data.name);
        let picture = height_along_bank(&title, &corners).map_err(|e| e.to_string())?;
        files::write_all(out, &Output::picture(&picture))?;
        tell!("written to {}", out.display());
    }
    let head = format!("{} on {}\n{label}\n\n", read.setup.name, track.data.name);
    say(&(head + &report(track, &descent, &found, &flagged)))?;
    Ok(u8::from(descent.outcome != Outcome::Finished))
}

fn told(v: Option<f64>, digits: usize) -> String {
    v.map_or("-".into(), |v| format!("{v:.digits$}"))
}

fn report(track: &Track, d: &Descent, found: &[Swing], flagged: &[Flags]) -> String {
    let rows = found.iter().map(|s| {
        let at: Vec<String> =
            s.pressures.iter().map(|p| format!("{:.0} ({:.2})", p.station_m, p.height_m)).collect();
        let exit = s.exit.map_or("-".into(), |e| {
            let how = if e.rising_m_s > 0.0 { "rising" } else { "falling" };
            format!("{how} {:.1}", e.rising_m_s.abs())
        });
        let phase = s.exit.and_then(|e| e.phase_rad).map(|p| p / std::f64::consts::TAU);
        let decay = s.damping.map_or("-".into(), |d| d.decay.words().to_string());
        vec![
            s.corner.clone(),
            s.pressures.len().to_string(),
            if at.is_empty() { "-".into() } else { at.join(", ") },
            told(s.amplitude_m, 2),
            told(s.damping.map(|d| d.damping_ratio), 2),
            decay,
            told(s.wavelength_m, 0),
            told(s.natural_wavelength_m, 0),
            exit,
            told(phase, 2),
            if s.outside_screws > 0.5 { "yes".into() } else { "no".into() },
        ]
    });
    let header = [
        "corner",
        "pressures",
        "at m (height m)",
        "amplitude m",
        "damping",
        "decay",
        "wavelength m",
        "free swing m",
        "exit m/s",
        "exit phase",
        "bridging",
    ];
    let mut text = numbers(&header, rows) + "\n\n";
    text += "pressures: maxima of the load; amplitude, damping, decay and wavelength of the height between its turning points;\n\
             free swing: way of a small swing under the mean load; exit: up or down the bank where the curve has opened to\n\
             half, and how many swings after the last pressure\n\n";
    let rows = flagged.iter().map(|f| {
        let n = &f.nearest;
        let side = if n.side == Side::Left { "left" } else { "right" };
        let edge = if n.lip { "lip" } else { "wall" };
        let impulses = |all: &[f64]| -> String {
            let all: Vec<String> = all.iter().map(|i| format!("{i:.0}")).collect();
            if all.is_empty() { "-".into() } else { all.join(", ") }
        };
        vec![
            f.section.name.clone(),
            format!("{:.2}", f.greatest_g_load),
            format!("{:.2}", f.above_s[0]),
            format!("{:.2}", f.above_s[1]),
            format!("{:.2}", f.above_s[2]),
            format!("{:.2}", n.clear_m),
            format!("{side} {edge} at {:.0}", n.station_m),
            if f.light_m > 0.0 { format!("{:.1}", f.light_m) } else { "-".into() },
            impulses(&f.walls_n_s),
            impulses(&f.lips_n_s),
        ]
    });
    let header = [
        "section",
        "greatest g",
        "s above 3 g",
        "s above 4 g",
        "s above 5 g",
        "clear m",
        "of",
        "light m",
        "walls N s",
        "lips N s",
    ];
    text += &numbers(&header, rows);
    text += "\n\n";
    if let Outcome::ControlLost { station_m, cause } = d.outcome {
        let corner = track
            .corner_at(station_m)
            .map_or(String::new(), |i| format!(" (corner {})", track.data.corners[i].name));
        text += &format!("control lost at station {station_m:.1} m{corner}: {}\n", cause.words());
    }
    if d.lip_touches() > 0 {
        text += &format!("{LIP_CAUTION}\n");
    }
    text += &format!("{ABSOLUTE}\n{CAUTION}\n");
    text
}
