//! How the benchmarks measure and print: one row of a table for each question.
//!
//! A row is Markdown, so that what is printed is what stands in `benches/README.md`.

use std::hint::black_box;
use std::path::Path;
use std::time::{Duration, Instant};
use track_geometry::track::Track;

/// One number of a row takes at least this long to measure, so that the clock does not matter.
const LEAST_TAKE: Duration = Duration::from_millis(1);
/// Measuring goes on for about this long.
const BUDGET: Duration = Duration::from_secs(2);
/// Fewest and most numbers of a row.
const TAKES: [usize; 2] = [5, 200];

/// How long something took, over and over.
#[derive(Clone, Debug)]
pub struct Times {
    /// Seconds, in order.
    sorted_s: Vec<f64>,
}

impl Times {
    /// Of times in seconds that were taken elsewhere; at least one.
    pub fn of(mut taken_s: Vec<f64>) -> Times {
        taken_s.sort_by(f64::total_cmp);
        Times { sorted_s: taken_s }
    }

    /// Times `work`, once before the first number is taken, then for two seconds.
    pub fn measured<T>(mut work: impl FnMut() -> T) -> Times {
        let mut once = |many: u32| {
            let clock = Instant::now();
            for _ in 0..many {
                black_box(work());
            }
            clock.elapsed()
        };
        let mut many = 1;
        while once(many) < LEAST_TAKE {
            many *= 2;
        }
        let clock = Instant::now();
        let mut taken_s = Vec::new();
        while taken_s.len() < TAKES[0] || (taken_s.len() < TAKES[1] && clock.elapsed() < BUDGET) {
            taken_s.push(once(many).as_secs_f64() / f64::from(many));
        }
        Times::of(taken_s)
    }

    /// The value that a share of the times stays below (s).
    fn below_s(&self, share: f64) -> f64 {
        let last = self.sorted_s.len().saturating_sub(1);
        self.sorted_s.get((share * last as f64).round() as usize).copied().unwrap_or(f64::NAN)
    }

    /// The least (s).
    pub fn least_s(&self) -> f64 {
        self.below_s(0.0)
    }

    /// The median (s).
    pub fn median_s(&self) -> f64 {
        self.below_s(0.5)
    }
}

/// Seconds in a unit that reads well.
fn readable(s: f64) -> String {
    let [value, unit] = match s {
        s if s < 1e-6 => return format!("{:.1} ns", 1e9 * s),
        s if s < 1e-3 => [1e6 * s, 6.0],
        s if s < 1.0 => [1e3 * s, 3.0],
        s => [s, 0.0],
    };
    let digits = if value < 10.0 { 2 } else { 1 };
    format!(
        "{value:.digits$} {}",
        if unit == 6.0 {
            "us"
        } else if unit == 3.0 {
            "ms"
        } else {
            "s"
        }
    )
}

/// Prints the head of a table: what is asked.
pub fn table(question: &str) {
    println!("\n{question}\n\n| what | least | median | middle half | takes |\n|---|---|---|---|---|");
}

/// Prints a row.
pub fn row(what: &str, times: &Times) {
    let [least, low, median, high] = [0.0, 0.25, 0.5, 0.75].map(|share| readable(times.below_s(share)));
    println!("| {what} | {least} | {median} | {low} to {high} | {} |", times.sorted_s.len());
}

/// True where no part is named on the command line, or a part of this name.
pub fn wanted(part: &str) -> bool {
    let mut named = std::env::args().skip(1).filter(|a| !a.starts_with('-')).peekable();
    named.peek().is_none() || named.any(|a| a == part)
}

/// The text of a file of the repository.
///
/// # Panics
/// Where it cannot be read: a benchmark measures nothing then.
pub fn text(path: &str) -> String {
    let place = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(path);
    std::fs::read_to_string(&place).unwrap_or_else(|e| panic!("{}: {e}", place.display()))
}

/// A track of the repository.
///
/// # Panics
/// Where its files cannot be read.
pub fn track(folder: &str) -> Track {
    let (toml, csv) = (format!("tracks/{folder}/track.toml"), format!("tracks/{folder}/stations.csv"));
    let read = track_geometry::track_file::read_track(&toml, &text(&toml), &csv, &text(&csv));
    let made =
        read.map_err(|e| format!("{e:?}")).and_then(|r| Track::new(r.track).map_err(|e| e.to_string()));
    made.unwrap_or_else(|why| panic!("{folder}: {why}"))
}

/// A set-up of the examples.
///
/// # Panics
/// Where its file cannot be read.
pub fn setup(name: &str) -> sled_dynamics::setup::Setup {
    let file = format!("examples/{name}.toml");
    sled_dynamics::setup::file::read_setup(&file, &text(&file), &[])
        .unwrap_or_else(|e| panic!("{file}: {e:?}"))
}
