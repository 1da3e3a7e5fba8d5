//! The evening before a race, asked from the page.

use crate::asked::{AskedSetup, LONGEST_SETUP};
use serde::Deserialize;

/// What is asked from the page.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct AskedEvening {
    /// The set-up on the controls.
    pub(crate) here: AskedSetup,
    /// The plan, without files.
    pub(crate) plan: String,
    /// Caliper readings as typed; empty where the bow is that of the controls.
    pub(crate) readings: String,
    /// The same points without bow; empty where the guide is taken as straight.
    pub(crate) readings_without_bow: String,
}

/// The texts that an evening goes by.
pub struct EveningTexts {
    /// The set-up as a file.
    pub setup: String,
    /// The plan, without files.
    pub plan: String,
    /// Caliper readings.
    pub readings: Option<String>,
    /// Readings without bow.
    pub readings_without_bow: Option<String>,
}

/// What an evening comes to.
pub struct EveningTold {
    /// The short report.
    pub report: String,
    /// The sheet for the bag, a page of its own.
    pub sheet: String,
}

/// Answers an evening; told how many set-ups are done of how many, and asked whether to stop.
pub(crate) type Evenings = dyn Fn(
        &EveningTexts,
        &(dyn Fn(usize, usize) + Sync),
        &(dyn Fn() -> bool + Sync),
    ) -> Result<EveningTold, String>
    + Send
    + Sync;

/// Reads caliper readings against a set-up: what they say in words, and a drawing as SVG.
pub(crate) type Readings = dyn Fn(&EveningTexts) -> Result<(String, String), String> + Send + Sync;

impl AskedEvening {
    /// The texts, once the lengths are checked and the set-up is one.
    pub(crate) fn texts(&self, setup: String) -> Result<EveningTexts, String> {
        for (what, text) in [
            ("plan", &self.plan),
            ("readings", &self.readings),
            ("readings without bow", &self.readings_without_bow),
        ] {
            if text.len() > LONGEST_SETUP {
                return Err(format!("{what}: {} bytes; allowed are {LONGEST_SETUP}", text.len()));
            }
        }
        let some = |text: &String| Some(text.clone()).filter(|t| !t.trim().is_empty());
        Ok(EveningTexts {
            setup,
            plan: self.plan.clone(),
            readings: some(&self.readings),
            readings_without_bow: some(&self.readings_without_bow),
        })
    }
}
