//! One file for each command.

pub mod bow;
pub mod descend;
pub mod keys;
pub mod sweep;
mod sweep_results;
pub mod track;

use crate::files::{self, ReadSetup, ReadTrack};
use std::path::PathBuf;

/// What is computed: a track, a set-up, and keys set on the command line.
#[derive(clap::Args)]
pub struct What {
    /// Folder of the track [default: the invented track Oskerdale, built in]
    #[arg(long, value_name = "DIR")]
    track: Option<PathBuf>,
    /// File of the set-up [default: the invented club's woman, built in]
    #[arg(long, value_name = "FILE")]
    setup: Option<PathBuf>,
    /// Set a key of the set-up, as often as wanted; `sagitta keys` lists them
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub sets: Vec<String>,
}

impl What {
    /// Reads track and set-up.
    pub fn read(&self) -> Result<(ReadTrack, ReadSetup), String> {
        let track = files::track(self.track.as_deref())?;
        let sets = self.sets.iter().map(|s| files::key_value(s)).collect::<Result<Vec<_>, _>>()?;
        Ok((track, files::setup(self.setup.as_deref(), &sets)?))
    }
}

/// What a command ends with: its exit status, or why it could not be done.
pub type Done = Result<u8, String>;
