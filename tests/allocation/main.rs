//! No step of a descent allocates: a counting allocator sees the same number of allocations whatever the number of
//! steps. A binary of its own, since it replaces the allocator.
#![allow(clippy::unwrap_used, unsafe_code)]

use sled_dynamics::laws::ice::{Ice, Point};
use sled_dynamics::laws::on_runners::{OnRunners, runner_tables};
use sled_dynamics::motion::course::Course;
use sled_dynamics::motion::descend::descend;
use sled_dynamics::motion::entry::Entry;
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::guided::guided;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::motion::pilot::{FirstPilot, HandsOff, Steering};
use sled_dynamics::motion::precision::{Detail, Precision};
use std::alloc::{GlobalAlloc, Layout, System};
use std::sync::atomic::{AtomicUsize, Ordering};
use track_geometry::track::Track;

struct Counting;
static COUNT: AtomicUsize = AtomicUsize::new(0);

// SAFETY: every call goes to the system's allocator unchanged
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        COUNT.fetch_add(1, Ordering::Relaxed);
        unsafe { System.alloc(layout) }
    }
    unsafe fn dealloc(&self, place: *mut u8, layout: Layout) {
        unsafe { System.dealloc(place, layout) }
    }
}

#[global_allocator]
static ALLOCATOR: Counting = Counting;

/// Allocations during a call, and the evaluations it took.
fn counted(work: impl FnOnce() -> usize) -> (usize, usize) {
    let before = COUNT.load(Ordering::Relaxed);
    let evaluations = work();
    (COUNT.load(Ordering::Relaxed) - before, evaluations)
}

fn read(path: &str) -> String {
    std::fs::read_to_string(std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(path)).unwrap()
}

/// One test only: another thread's allocations would be counted too.
#[test]
fn exact_no_step_allocates() {
    let (toml, csv) =
        (read("tracks/tests/edge-free/track.toml"), read("tracks/tests/edge-free/stations.csv"));
    let track =
        Track::new(track_geometry::track_file::read_track("t", &toml, "s", &csv).unwrap().track).unwrap();
    let text = read("examples/clubs-man.toml");
    let setup = sled_dynamics::setup::file::read_setup("x", &text, &[]).unwrap();
    let c = Constants::new(&setup, &track.data);
    let launch = Launch::moving(15.0, 9.0);
    let precision = |tolerance: f64| Precision { tolerance, ..Precision::default() };

    fn full<I: Ice, P: Steering>(
        track: &Track,
        c: &Constants,
        (ice, pilot): (&I, &P),
        launch: &Launch,
        p: Precision,
    ) -> (usize, usize) {
        let course = Course { track, constants: c, ice, pilot };
        counted(|| descend(&course, launch, Entry::STRAIGHT, p, Detail::Bare).evaluations)
    }
    let point = Point { friction: 0.009 };
    let runners = OnRunners::new(&setup, runner_tables(&setup).unwrap());
    let pilot = FirstPilot::with_lag(0.15);
    let held = |p| counted(|| guided(&track, &c, &launch, 0.009, p, Detail::Bare).evaluations);
    let kinds = [
        ("guided", held(precision(1e-5)), held(precision(1e-11))),
        (
            "point",
            full(&track, &c, (&point, &HandsOff), &launch, precision(1e-5)),
            full(&track, &c, (&point, &HandsOff), &launch, precision(1e-11)),
        ),
        (
            "runners",
            full(&track, &c, (&runners, &pilot), &launch, precision(1e-5)),
            full(&track, &c, (&runners, &pilot), &launch, precision(1e-7)),
        ),
    ];
    for (kind, wide, tight) in kinds {
        println!("{kind}: {} allocations at {} and {} evaluations", wide.0, wide.1, tight.1);
        assert!(tight.1 > wide.1 + 600, "{kind}: {} and {} evaluations", wide.1, tight.1);
        assert_eq!(wide.0, tight.0, "{kind}: allocations");
    }
}
