//! Ctrl-C, and the request to end that a system sends: a command that has finished work to show is asked to stop and
//! shows it; any other ends at once, though never amid writing a folder. Where all that comes is printed, a reader that
//! has gone is a wish to stop as well.

use crate::words::nobody_reads;
use std::process::exit;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Exit status of a command that was interrupted, as shells have it.
pub const INTERRUPTED: u8 = 130;

static ASKED: AtomicBool = AtomicBool::new(false);
static HAS_SOMETHING: AtomicBool = AtomicBool::new(false);
static ONLY_PRINTED: AtomicBool = AtomicBool::new(false);
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

/// Says that this command writes no file, so that without a reader nothing is left to compute for.
pub fn only_printed() {
    ONLY_PRINTED.store(true, Ordering::SeqCst);
}

/// Whether it was asked to stop, or nobody is left who reads.
pub fn asked() -> bool {
    if ONLY_PRINTED.load(Ordering::SeqCst) && nobody_reads() && !ASKED.swap(true, Ordering::SeqCst) {
        tell!("nobody reads the result any more; stopping");
    }
    ASKED.load(Ordering::SeqCst)
}

/// As long as this is held, Ctrl-C waits.
pub fn writing() -> MutexGuard<'static, ()> {
    WRITING.lock().unwrap_or_else(PoisonError::into_inner)
}
