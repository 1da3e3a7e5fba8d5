//! How many instructions does the work take? A count hardly hangs on what else a machine does, so that a loss of
//! speed shows on a noisy one.
//!
//! `cargo bench -p timings --bench counts` compares with `benches/counts.txt` and fails where a count has grown by more
//! than 5 %; `... -- --pin` writes that file anew. Needs valgrind; without it nothing is compared, and it says so.
//! Plan and tables are made natively first, then this program counts itself part by part.
#![allow(missing_docs, clippy::unwrap_used)]

use ice_contact::contact::{ContactSolver, Demand};
use ice_contact::kept_tables::{TableStore, keep_tables_in};
use ice_contact::runner::{Bow, IceState, RunnerSpec};
use sled_dynamics::motion::equations::{STATES, Vector, along_the_station};
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::errors_of_ride::SKILLS;
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};
use sweep_runner::rides::ensemble::{RIDES, rides};
use sweep_runner::rides::plan_bytes::{plan_bytes, read_plan};
use sweep_runner::rides::prepared::{Attempt, Prepared, Ready};
use timings::{setup, text, track, wanted};

/// What is counted, and in what.
const PARTS: [(&str, &str); 4] = [
    ("rates", "one right-hand side, mean along the planned ride"),
    ("contacts", "50 contacts of one runner"),
    ("descent", "one planned descent, bare"),
    ("ride", "one ride with mistakes"),
];
/// A count may grow by this share `[-]`: compilers place and unroll a little differently.
const MAY_GROW: f64 = 0.05;
/// Lag of the athlete (s).
const LAG_S: f64 = 0.15;

/// What was made natively lies here.
fn folder() -> PathBuf {
    Path::new(env!("CARGO_TARGET_TMPDIR")).join("counts")
}

fn plan_file() -> PathBuf {
    folder().join("plan")
}

/// The one table of the set-up, whose runners are alike.
struct OneTable;

impl TableStore for OneTable {
    fn kept(&self, _: &str) -> Option<Vec<u8>> {
        std::fs::read(folder().join("table")).ok()
    }

    fn keep(&self, _: &str, bytes: &[u8]) {
        std::fs::write(folder().join("table"), bytes).unwrap();
    }
}

/// The only calls whose instructions are counted.
#[inline(never)]
fn counted_here<T>(work: impl FnOnce() -> T) -> T {
    black_box(work())
}

/// Does a part of the work; what it needs is ready before the counting begins. How often it was done.
fn part(name: &str) -> usize {
    if name == "contacts" {
        let ice = IceState::at_temperature(-5.0, 0.25);
        let mut solver = ContactSolver::new(&RunnerSpec::default(), Bow::even(3.5e-3), &ice).unwrap();
        let demands: Vec<Demand> = (0..50)
            .map(|i| Demand {
                load_n: [300.0, 600.0, 1100.0, 1900.0, 2600.0][i % 5],
                ice_curvature_per_m: [0.0, 0.01, 0.02, 0.035, 0.05][i / 5 % 5],
                centroid_m: [-0.03, 0.04][i / 25],
            })
            .collect();
        let found = counted_here(|| demands.iter().filter(|d| solver.solve(**d).is_balanced()).count());
        assert!(found > 40, "{found} contacts of 50 were found");
        return 1;
    }
    let (track, setup) = (track("oskerdale"), setup("clubs-woman"));
    let ready = Ready::new(&track, &setup).unwrap();
    let planned = read_plan(&std::fs::read(plan_file()).unwrap()).unwrap();
    let prepared = Prepared::new(ready, planned, LAG_S).unwrap();
    let (ready, elite) = (&prepared.ready, SKILLS[3]);
    match name {
        "rates" => {
            let plan = &prepared.planned.plan;
            let there: Vec<(f64, Vector)> = plan
                .station_m
                .iter()
                .zip(&plan.states)
                .map(|(station_m, state)| {
                    let mut y = [0.0; STATES];
                    y[1..=7].copy_from_slice(&state[..7]);
                    (*station_m, y)
                })
                .collect();
            counted_here(|| {
                for (station_m, y) in &there {
                    let at = track.surface.station(*station_m);
                    black_box(along_the_station(&ready.constants, &ready.ice, &prepared.ride, &at, y));
                }
            });
            there.len()
        }
        "descent" => {
            let ride = || prepared.descent(&Attempt::perfect(), Precision::default(), Detail::Bare);
            assert!(ride().finish_time_s.is_some());
            counted_here(ride);
            1
        }
        _ => {
            // on a thread of the pool, which has one: rides are shared among its threads
            rayon::join(
                || (),
                || {
                    // what all rides of a plan need is made by the first
                    rides(&prepared, &elite, 1, 0..1, RIDES);
                    let ridden = counted_here(|| rides(&prepared, &elite, 1, 1..2, RIDES));
                    assert!(ridden[0].finish_time_s.is_some());
                },
            );
            1
        }
    }
}

/// Instructions of a part.
fn count(name: &str) -> Result<u64, String> {
    let out = folder().join(format!("{name}.out"));
    let ran = Command::new("valgrind")
        .args(["--tool=callgrind", "--toggle-collect=*counted_here*"])
        .arg(format!("--callgrind-out-file={}", out.display()))
        .arg(std::env::current_exe().map_err(|e| e.to_string())?)
        .args(["inside", name])
        .env("RAYON_NUM_THREADS", "1")
        .output()
        .map_err(|e| e.to_string())?;
    let said = String::from_utf8_lossy(&ran.stdout);
    let times = said.trim().parse::<u64>().ok().filter(|_| ran.status.success());
    let times = times.ok_or_else(|| format!("{name}: {}", String::from_utf8_lossy(&ran.stderr)))?;
    let told = std::fs::read_to_string(&out).map_err(|e| e.to_string())?;
    let total = told.lines().find_map(|l| l.strip_prefix("totals: ")?.trim().parse::<u64>().ok());
    total.filter(|t| *t > 0).map(|t| t / times).ok_or_else(|| format!("{name}: nothing was counted"))
}

fn main() -> ExitCode {
    let asked: Vec<String> = std::env::args().skip(1).collect();
    if let [inside, name] = &asked[..]
        && inside == "inside"
    {
        keep_tables_in(Box::new(OneTable));
        println!("{}", part(name));
        return ExitCode::SUCCESS;
    }
    if Command::new("valgrind").arg("--version").output().is_err() {
        println!("nothing was counted: valgrind is not installed");
        return ExitCode::SUCCESS;
    }
    let _ = std::fs::remove_dir_all(folder());
    std::fs::create_dir_all(folder()).unwrap();
    keep_tables_in(Box::new(OneTable));
    let (track, setup) = (track("oskerdale"), setup("clubs-woman"));
    let planned = Ready::new(&track, &setup).unwrap().plan(LAG_S, None).unwrap();
    std::fs::write(plan_file(), plan_bytes(&planned).unwrap()).unwrap();
    let (pins, pinning) = (text("benches/counts.txt"), asked.iter().any(|a| a == "--pin"));
    let pin = |name: &str| pins.lines().find_map(|l| l.strip_prefix(name)?.trim().parse::<u64>().ok());
    let (mut fine, mut new) = (true, String::new());
    println!("\n| what | instructions | pinned | change |\n|---|---|---|---|");
    for (name, what) in PARTS.into_iter().filter(|p| pinning || wanted(p.0)) {
        let counted = match count(name) {
            Ok(counted) => counted,
            Err(why) => {
                println!("{why}");
                return ExitCode::FAILURE;
            }
        };
        new += &format!("{name} {counted}\n");
        let pinned = pin(name).unwrap_or(0);
        let change = counted as f64 / pinned as f64 - 1.0;
        // a pin that is missing is a count that has grown
        let grown = !(change <= MAY_GROW);
        fine &= !grown;
        let verdict = if grown { ": grown by more than allowed" } else { "" };
        println!("| {what} | {counted} | {pinned} | {:+.1} %{verdict} |", 100.0 * change);
    }
    if pinning {
        std::fs::write(Path::new(env!("CARGO_MANIFEST_DIR")).join("counts.txt"), new).unwrap();
        println!("\npinned anew");
    }
    if fine || pinning { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
