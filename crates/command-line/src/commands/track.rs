//! `sagitta track`: check, draw and build tracks.

use super::{Done, track_ridden};
use crate::files::{self, Output, ReadTrack, read_text};
use crate::words::{as_text, numbers, say};
use pictures::descent_plan::track_plan;
use pictures::track_drawing::{track_profile, track_sections};
use std::path::{Path, PathBuf};
use track_geometry::corner_list::{CornerList, read_corner_list};
use track_geometry::table_file::write_stations_csv;
use track_geometry::track_builder::build_track;
use track_geometry::track_file::write_track_toml;

/// Commands about tracks.
#[derive(clap::Subcommand)]
pub enum TrackCommand {
    /// Read a track, report every fault and doubt, and list its corners
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

/// What is said of a track.
struct Report {
    head: String,
    doubts: Vec<String>,
    design_speeds: String,
    warnings: Vec<String>,
}

impl Report {
    /// Of a track, and of its corner list where that is there.
    fn of(read: &ReadTrack, list: Option<&CornerList>) -> Result<Report, String> {
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
        let rows = data.corners.iter().map(|c| read.track.corner_cells(c));
        let header = ["corner", "hand", "entry m", "exit m", "angle deg", "least radius m"];
        let head = format!("{head}\n{}\n\n{}\n", data.source, numbers(&header, rows));
        let mut warnings = track_ridden::warnings(&read.track);
        let mut design_speeds = String::new();
        if let Some(list) = list {
            let (table, more) = track_ridden::design_speeds(&read.track, list, &as_text)?;
            design_speeds = format!(
                "design speeds beside the guided estimate, built-in set-up; proposed: what it rides at entry and exit, km/h\n\n{table}\n"
            );
            warnings.extend(more);
        }
        let doubts = read.doubts.iter().map(ToString::to_string).collect();
        Ok(Report { head, doubts, design_speeds, warnings })
    }

    fn print(&self) -> Done {
        say(&self.head)?;
        for d in &self.doubts {
            tell!("doubtful: {d}");
        }
        tell!("{} doubts", self.doubts.len());
        say(&self.design_speeds)?;
        for w in &self.warnings {
            tell!("warning: {w}");
        }
        Ok(0)
    }
}

fn corner_list(path: &Path) -> Result<CornerList, String> {
    let read = read_corner_list(&path.display().to_string(), &read_text(path)?);
    read.map_err(|f| format!("this corner list cannot be used\n{f}"))
}

fn check(folder: &Path) -> Done {
    let read = files::track(Some(folder))?;
    let path = folder.join("corner_list.toml");
    let list = path.exists().then(|| corner_list(&path)).transpose()?;
    Report::of(&read, list.as_ref())?.print()
}

fn draw(folder: &Path, out: &Path) -> Done {
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

/// What is built is read again and told of before anything is written.
fn build(path: &Path, out: &Path) -> Done {
    let list = corner_list(path)?;
    let data = build_track(&list).map_err(|mut found| {
        // a list that is built knows its own name and not that of its file
        for fault in &mut found.0 {
            fault.place.file = path.display().to_string();
        }
        format!("this corner list cannot be used\n{found}")
    })?;
    let names = ["track.toml", "stations.csv"];
    let texts = [write_track_toml(&data), write_stations_csv(&data.table)];
    let read = files::track_of(&names.map(String::from), &texts)
        .map_err(|why| format!("{}: nothing is written, since of what it builds {why}", path.display()))?;
    let beside = out.join("corner_list.toml").exists();
    let report = Report::of(&read, Some(&list).filter(|_| beside))?;
    let outputs: Vec<Output> =
        names.into_iter().zip(texts).map(|(name, text)| Output::new(name, text)).collect();
    files::write_all(out, &outputs)?;
    tell!("written to {}", out.display());
    report.print()
}
