//! How far a command is, on standard error: a bar on a terminal, elsewhere now and then a line.

use indicatif::{ProgressBar, ProgressStyle};
use std::io::IsTerminal;
use std::time::{Duration, Instant};

/// First line where there is no terminal; each next one after twice the time, at most [`LONGEST`].
const FIRST: Duration = Duration::from_secs(1);
const LONGEST: Duration = Duration::from_secs(60);

/// How far a command is.
pub struct Progress {
    bar: Option<ProgressBar>,
    what: &'static str,
    done: usize,
    of: usize,
    start: Instant,
    gap: Duration,
    next: Duration,
}

impl Progress {
    /// Of so many of these, for example cases.
    pub fn new(of: usize, what: &'static str) -> Progress {
        let bar = std::io::stderr().is_terminal().then(|| {
            let bar = ProgressBar::new(of as u64);
            let form = format!("{{bar:30}} {{pos}} of {{len}} {what}, {{per_sec}}, {{eta}} left");
            if let Ok(style) = ProgressStyle::with_template(&form) {
                bar.set_style(style);
            }
            bar
        });
        Progress { bar, what, done: 0, of, start: Instant::now(), gap: FIRST, next: FIRST }
    }

    /// So many more are done.
    pub fn done(&mut self, more: usize) {
        self.done += more;
        if let Some(bar) = &self.bar {
            bar.inc(more as u64);
            return;
        }
        let spent = self.start.elapsed();
        if spent >= self.next && self.done < self.of {
            let rate = self.done as f64 / spent.as_secs_f64();
            let left_s = (self.of - self.done) as f64 / rate;
            tell!("{} of {} {}, {rate:.1} a second, {left_s:.0} s left", self.done, self.of, self.what);
            self.gap = (2 * self.gap).min(LONGEST);
            self.next = spent + self.gap;
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}
