//! Plans kept from run to run in the cache of the user. What is read back is what would be planned, bit for bit,
//! and nothing here is ever an error: a plan that cannot be read is made anew, one that cannot be kept is not.
//!
//! A plan lies under a SHA-256 of all it depends on: the program, the track's two files, every number of the
//! set-up, the lag. Only plans made from nothing are kept; one made from that of a neighbour depends on it.

use crate::cache::{folder, program, write_whole};
use crate::files::sha256;
use sled_dynamics::setup::Setup;
use std::fs;
use std::path::PathBuf;
use sweep_runner::rides::plan_bytes::{plan_bytes, read_plan};
use sweep_runner::rides::planner::Planned;

/// Where plans are kept; nowhere if there is no cache, or none is wanted.
pub struct PlanStore(Option<PathBuf>);

impl PlanStore {
    /// The cache of the user.
    pub fn of_user() -> PlanStore {
        PlanStore(folder("plans"))
    }

    /// Keeps nothing.
    pub fn none() -> PlanStore {
        PlanStore(None)
    }

    /// The plan for this track, set-up and lag, read or else made and kept.
    pub fn plan<E>(
        &self,
        track_sha256: &str,
        setup: &Setup,
        lag_s: f64,
        make: impl FnOnce() -> Result<Planned, E>,
    ) -> Result<Planned, E> {
        let Some(folder) = &self.0 else { return make() };
        let place = folder.join(format!("{}.plan", key(track_sha256, setup, lag_s)));
        if let Some(kept) = fs::read(&place).ok().and_then(|bytes| read_plan(&bytes)) {
            return Ok(kept);
        }
        let planned = make()?;
        if let Some(bytes) = plan_bytes(&planned) {
            write_whole(&place, &bytes);
        }
        Ok(planned)
    }
}

/// What a plan depends on, as a SHA-256.
fn key(track_sha256: &str, setup: &Setup, lag_s: f64) -> String {
    sha256(&[&program(), "\n", track_sha256, "\n", &numbers_of(setup), "\n", &lag_s.to_bits().to_string()])
}

/// Every number of a set-up but the lag, which is no number of the sled; written so that each differs from every
/// other number.
fn numbers_of(setup: &Setup) -> String {
    let mut bare = setup.clone();
    bare.name.clear();
    bare.pilot.lag_s = 0.0;
    format!("{bare:?}")
}

/// SHA-256 of the numbers of a set-up, whatever it is called and however it is written.
pub fn setup_numbers_sha256(setup: &Setup) -> String {
    sha256(&[&numbers_of(setup)])
}
