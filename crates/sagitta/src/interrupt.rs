//! Ctrl-C, and the request to end that a system sends: a command that has finished work to show is asked to stop and
//! shows it; any other ends at once, though never amid writing a folder.

use std::process::exit;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Exit status of a command that was interrupted, as shells have it.
pub const INTERRUPTED: u8 = 130;

static ASKED: AtomicBool = AtomicBool::new(false);
static HAS_SOMETHING: AtomicBool = AtomicBool::new(false);
static WRITING: Mutex<()> = Mutex::new(());

/// Watches for Ctrl-C from here on.
pub fn watch() {
    let told = ctrlc::set_handler(|| {
        let first = !ASKED.swap(true, Ordering::SeqCst);
        if first && HAS_SOMETHING.load(Ordering::SeqCst) {
            tell!("\nstopping; what is finished is kept. Ctrl-C again ends at once");
            return;
        }
        let _whole = writing();
        tell!("\ninterrupted");
        exit(i32::from(INTERRUPTED));
    });
    // without a handler Ctrl-C ends the program as it always did
    drop(told);
}

/// Says whether there is finished work to show, so that Ctrl-C asks instead of ending.
pub fn has_something(there_is: bool) {
    HAS_SOMETHING.store(there_is, Ordering::SeqCst);
}

/// Whether it was asked to stop.
pub fn asked() -> bool {
    ASKED.load(Ordering::SeqCst)
}

/// As long as this is held, Ctrl-C waits.
pub fn writing() -> MutexGuard<'static, ()> {
    WRITING.lock().unwrap_or_else(PoisonError::into_inner)
}
