//! The evening before a race, asked from the page: one at a time, told how far it is, and stopped when asked.

use crate::asked::{AskedSetup, LONGEST_SETUP};
use serde::Deserialize;
use serde_json::{Value, json};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// What is asked from the page.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AskedEvening {
    /// The set-up on the controls.
    pub here: AskedSetup,
    /// The plan, without files.
    pub plan: String,
    /// Caliper readings as typed; empty where the bow is that of the controls.
    pub readings: String,
    /// The same points without bow; empty where the guide is taken as straight.
    pub readings_without_bow: String,
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
pub type Evenings = dyn Fn(
        &EveningTexts,
        &(dyn Fn(usize, usize) + Sync),
        &(dyn Fn() -> bool + Sync),
    ) -> Result<EveningTold, String>
    + Send
    + Sync;

/// Reads caliper readings against a set-up: what they say in words, and a drawing as SVG.
pub type Readings = dyn Fn(&EveningTexts) -> Result<(String, String), String> + Send + Sync;

#[derive(Default)]
struct State {
    running: bool,
    done: (usize, usize),
    told: Option<Result<EveningTold, String>>,
}

/// The evening in hand.
#[derive(Default)]
pub struct Evening {
    state: Mutex<State>,
    stop: AtomicBool,
}

impl AskedEvening {
    /// The texts, once the lengths are checked and the set-up is one.
    pub fn texts(&self, setup: String) -> Result<EveningTexts, String> {
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

impl Evening {
    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Begins one; refused while another is in hand.
    pub fn begin(self: &Arc<Self>, evenings: Arc<Evenings>, texts: EveningTexts) -> Result<(), String> {
        {
            let mut state = self.state();
            if state.running {
                return Err("an evening is in hand: stop it first, or wait for it".into());
            }
            *state = State { running: true, done: (0, 0), told: None };
        }
        self.stop.store(false, Ordering::SeqCst);
        let own = Arc::clone(self);
        let work = move || {
            let done = |done: usize, of: usize| own.state().done = (done, of);
            let stop = || own.stop.load(Ordering::SeqCst);
            let told =
                std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| evenings(&texts, &done, &stop)));
            let mut state = own.state();
            state.running = false;
            state.told = Some(told.unwrap_or_else(|_| Err("this evening could not be computed".into())));
        };
        let begun = std::thread::Builder::new().name("evening".into()).spawn(work);
        begun.map(|_| ()).map_err(|e| {
            self.state().running = false;
            format!("no thread for the evening: {e}")
        })
    }

    /// Asks the one in hand to stop.
    pub fn stop(&self) {
        self.stop.store(true, Ordering::SeqCst);
    }

    /// How far it is, and what it came to.
    pub fn told(&self) -> Value {
        let state = self.state();
        let (report, error) = match &state.told {
            None => (None, None),
            Some(Ok(told)) => (Some(told.report.clone()), None),
            Some(Err(why)) => (None, Some(why.clone())),
        };
        json!({ "running": state.running, "done": state.done.0, "of": state.done.1, "report": report, "refused": error })
    }

    /// The sheet, once there is one.
    pub fn sheet(&self) -> Option<String> {
        self.state().told.as_ref()?.as_ref().ok().map(|told| told.sheet.clone())
    }
}
