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
pub(crate) struct Job<T> {
    what: &'static str,
    state: Mutex<State<T>>,
    stop: AtomicBool,
}

/// How a piece of work tells how many steps are done of how many.
pub(crate) type Done<'a> = &'a (dyn Fn(usize, usize) + Sync);
/// How a piece of work asks whether to stop.
pub(crate) type Stop<'a> = &'a (dyn Fn() -> bool + Sync);

impl<T: Send + 'static> Job<T> {
    /// Nothing in hand yet; `what` is what the work is called, with its article.
    pub(crate) fn new(what: &'static str) -> Job<T> {
        let state = State { running: false, done: (0, 0), told: None };
        Job { what, state: Mutex::new(state), stop: AtomicBool::new(false) }
    }

    fn state(&self) -> MutexGuard<'_, State<T>> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Begins a piece of work; refused while another is in hand.
    pub(crate) fn begin(
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
    pub(crate) fn stop(&self) {
        self.stop.store(true, Ordering::SeqCst);
    }

    /// Looks at what the last work came to.
    pub(crate) fn look<U>(&self, look: impl FnOnce(&T) -> U) -> Option<U> {
        self.state().told.as_ref()?.as_ref().ok().map(look)
    }

    /// How far it is, what it came to under a name, or why it was refused.
    pub(crate) fn told(&self, name: &str, tell: impl FnOnce(&T) -> Value) -> Value {
        let state = self.state();
        let (value, why) = match &state.told {
            None => (Value::Null, None),
            Some(Ok(told)) => (tell(told), None),
            Some(Err(why)) => (Value::Null, Some(why)),
        };
        json!({ "running": state.running, "done": state.done.0, "of": state.done.1, name: value, "refused": why })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc::channel;
    use std::time::{Duration, Instant};

    fn waited(job: &Arc<Job<u32>>) -> Value {
        let until = Instant::now() + Duration::from_secs(20);
        loop {
            let told = job.told("told", |n| json!(n));
            if told["running"] == false || Instant::now() > until {
                return told;
            }
            std::thread::sleep(Duration::from_millis(2));
        }
    }

    #[test]
    fn exact_one_piece_of_work_at_a_time() {
        let job = Arc::new(Job::new("a sum"));
        let (go, wait) = channel::<()>();
        job.begin(move |done, _| {
            done(1, 2);
            wait.recv().map(|()| 7).map_err(|e| e.to_string())
        })
        .unwrap();
        let second = job.begin(|_, _| Ok(8)).unwrap_err();
        assert_eq!(second, "a sum is in hand: stop it first, or wait for it");
        go.send(()).unwrap();
        let told = waited(&job);
        assert_eq!((&told["told"], &told["done"], &told["refused"]), (&json!(7), &json!(1), &Value::Null));
        // stopped, refused, failed: the next can begin each time
        job.begin(|_, stop| {
            while !stop() {
                std::thread::yield_now();
            }
            Err("stopped".into())
        })
        .unwrap();
        job.stop();
        assert_eq!(waited(&job)["refused"], "stopped");
        job.begin(|_, _| panic!("on purpose")).unwrap();
        assert_eq!(waited(&job)["refused"], "a sum could not be computed");
        job.begin(|_, _| Ok(9)).unwrap();
        assert_eq!(waited(&job)["told"], 9);
        assert_eq!(job.look(|n| *n), Some(9));
    }
}
