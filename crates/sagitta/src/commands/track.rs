//! `sagitta track`: check, draw and build tracks.

use super::{Done, track_ridden};
use crate::files::{self, Output, read_text};
use crate::words::{as_text, numbers, say};
use pictures::descent_plan::track_plan;
use pictures::track_drawing::{track_profile, track_sections};
use std::path::PathBuf;
use track_geometry::corner_list::read_corner_list;
use track_geometry::table_file::write_stations_csv;
use track_geometry::track::Hand;
use track_geometry::track_builder::build_track;
use track_geometry::track_file::write_track_toml;

/// Commands about tracks.
#[derive(clap::Subcommand)]
pub enum TrackCommand {
    /// Read a track, tell every fault and every doubt, and list its corners
    Check {
        /// Folder of the track
        #[arg(value_name = "DIR")]
        track: PathBuf,
    },
    /// Draw the plan, the profile and cross-sections
    Draw {
        /// Folder of the track
        #[arg(value_name = "DIR")]
        track: PathBuf,
        /// Folder to write the pictures into
        #[arg(long, value_name = "DIR")]
        out: PathBuf,
    },
    /// Build a track from a corner list
    Build {
        /// The corner list (TOML)
        #[arg(value_name = "FILE")]
        corner_list: PathBuf,
        /// Folder to write track.toml and stations.csv into
        #[arg(long, value_name = "DIR")]
        out: PathBuf,
    },
}

/// Runs a command about tracks.
pub fn track(command: &TrackCommand) -> Done {
    match command {
        TrackCommand::Check { track } => check(track),
        TrackCommand::Draw { track, out } => draw(track, out),
        TrackCommand::Build { corner_list, out } => build(corner_list, out),
    }
}

fn check(folder: &std::path::Path) -> Done {
    let read = files::track(Some(folder))?;
    let data = &read.track.data;
    let (first, last) = read.track.surface.range_m();
    let drop = data.table.elevation_m[0] - data.table.elevation_m[data.table.len() - 1];
    let head = format!(
        "{}: {:.1} m long, drop {drop:.1} m, {} stations, {:?}",
        data.name,
        last - first,
        data.table.len(),
        data.quality
    );
    let rows = data.corners.iter().map(|c| {
        let (turn_rad, least_radius_m) = read.track.turn_of(c);
        vec![
            c.name.clone(),
            if c.hand == Hand::Left { "left".into() } else { "right".into() },
            format!("{:.1}", c.entry_m),
            format!("{:.1}", c.exit_m),
            format!("{:.1}", turn_rad.to_degrees()),
            format!("{least_radius_m:.1}"),
        ]
    });
    let corners = numbers(&["corner", "hand", "entry m", "exit m", "angle deg", "least radius m"], rows);
    say(&format!("{head}\n{}\n\n{corners}\n", data.source))?;
    for d in &read.doubts {
        tell!("doubtful: {d}");
    }
    tell!("{} doubts", read.doubts.len());
    let mut warnings = track_ridden::warnings(&read.track);
    let list = folder.join("corner_list.toml");
    if list.exists() {
        let name = list.display().to_string();
        let refused = |f| format!("this corner list cannot be used\n{f}");
        let list = read_corner_list(&name, &read_text(&list)?).map_err(refused)?;
        let (table, more) = track_ridden::design_speeds(&read.track, &list, &as_text)?;
        say(&format!(
            "design speeds beside the guided estimate, built-in set-up; proposed: what it rides at entry and exit, km/h\n\n{table}\n"
        ))?;
        warnings.extend(more);
    }
    for w in &warnings {
        tell!("warning: {w}");
    }
    Ok(0)
}

fn draw(folder: &std::path::Path, out: &std::path::Path) -> Done {
    let read = files::track(Some(folder))?;
    let drawn = [track_profile(&read.track), track_sections(&read.track), track_plan(&read.track)];
    let mut outputs = Vec::new();
    for picture in drawn {
        outputs.extend(Output::picture(&picture.map_err(|e| e.to_string())?));
    }
    files::write_all(out, &outputs)?;
    for d in &read.doubts {
        tell!("doubtful: {d}");
    }
    tell!("written to {}", out.display());
    Ok(0)
}

fn build(list: &std::path::Path, out: &std::path::Path) -> Done {
    let name = list.display().to_string();
    let refused = |f: track_geometry::faults::Faults| format!("this corner list cannot be used\n{f}");
    let data = read_corner_list(&name, &read_text(list)?).and_then(|l| build_track(&l)).map_err(refused)?;
    let outputs = [
        Output::new("track.toml", write_track_toml(&data)),
        Output::new("stations.csv", write_stations_csv(&data.table)),
    ];
    files::write_all(out, &outputs)?;
    tell!("written to {}", out.display());
    check(out)
}
