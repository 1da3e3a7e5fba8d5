//! Pairs of a runner library, to be put on the set-up of the controls.

use crate::asked::AskedFile;
use serde::Serialize;

/// A pair of a library.
#[derive(Clone, Debug, Serialize)]
pub struct PairTold {
    /// Its name.
    pub name: String,
    /// What it sets: keys of a set-up, and values.
    pub sets: Vec<(String, String)>,
    /// What of that is not measured, in words; empty where all is.
    pub unknown: String,
}

/// Reads a library.
pub(crate) type Pairs = dyn Fn(&AskedFile) -> Result<Vec<PairTold>, String> + Send + Sync;
