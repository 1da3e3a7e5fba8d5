//! Work that takes longer than a request: one piece at a time, told how far it is, and stopped when asked.

use serde_json::{Value, json};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

struct State<T> {
    running: bool,
    done: (usize, usize),
    told: Option<Result<T, String>>,
}

/// The work in hand, and what the last one came to.
pub struct Job<T> {
    what: &'static str,
    state: Mutex<State<T>>,
    stop: AtomicBool,
}

/// How a piece of work tells how many steps are done of how many.
pub type Done<'a> = &'a (dyn Fn(usize, usize) + Sync);
/// How a piece of work asks whether to stop.
pub type Stop<'a> = &'a (dyn Fn() -> bool + Sync);

impl<T: Send + 'static> Job<T> {
    /// Nothing in hand yet; `what` is what the work is called, with its article.
    pub fn new(what: &'static str) -> Job<T> {
        let state = State { running: false, done: (0, 0), told: None };
        Job { what, state: Mutex::new(state), stop: AtomicBool::new(false) }
    }

    fn state(&self) -> MutexGuard<'_, State<T>> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Begins a piece of work; refused while another is in hand.
    pub fn begin(
        self: &Arc<Self>,
        work: impl FnOnce(Done<'_>, Stop<'_>) -> Result<T, String> + Send + 'static,
    ) -> Result<(), String> {
        {
            let mut state = self.state();
            if state.running {
                return Err(format!("{} is in hand: stop it first, or wait for it", self.what));
            }
            *state = State { running: true, done: (0, 0), told: None };
        }
        self.stop.store(false, Ordering::SeqCst);
        let own = Arc::clone(self);
        let run = move || {
            let done = |done: usize, of: usize| own.state().done = (done, of);
            let stop = || own.stop.load(Ordering::SeqCst);
            // one that fails must not leave the job in hand
            let told = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| work(&done, &stop)));
            let mut state = own.state();
            state.running = false;
            state.told = Some(told.unwrap_or_else(|_| Err(format!("{} could not be computed", own.what))));
        };
        let begun = std::thread::Builder::new().name("work".into()).spawn(run);
        begun.map(|_| ()).map_err(|e| {
            self.state().running = false;
            format!("no thread for this: {e}")
        })
    }

    /// Asks the work in hand to stop.
    pub fn stop(&self) {
        self.stop.store(true, Ordering::SeqCst);
    }

    /// Looks at what the last work came to.
    pub fn look<U>(&self, look: impl FnOnce(&T) -> U) -> Option<U> {
        self.state().told.as_ref()?.as_ref().ok().map(look)
    }

    /// How far it is, what it came to under a name, or why it was refused.
    pub fn told(&self, name: &str, tell: impl FnOnce(&T) -> Value) -> Value {
        let state = self.state();
        let (value, why) = match &state.told {
            None => (Value::Null, None),
            Some(Ok(told)) => (tell(told), None),
            Some(Err(why)) => (Value::Null, Some(why)),
        };
        json!({ "running": state.running, "done": state.done.0, "of": state.done.1, name: value, "refused": why })
    }
}
