//! How many cases a second, how well do two threads share them, does memory stay flat in the number of cases, and how
//! long do ten thousand rides of one set-up and many set-ups with plans take?
//!
//! Targets on two cores: efficiency 0.9; the same peak at 10,000 cases as at 1000; 10,000 executed rides of one set-up
//! 60 s; 500 set-ups with tables and warm plans 10 min. By default 24 of the 500 are computed;
//! `cargo bench -p timings --bench sweeps -- setups 500` computes all. Of `cases`, `rides` and `setups` those named are timed.
#![allow(missing_docs, clippy::unwrap_used)]

use std::time::{Duration, Instant};
use sweep_runner::rides::ensemble::{RIDES, rides};
use sweep_runner::rides::prepared::{Prepared, Ready};
use sweep_runner::study::Study;
use sweep_runner::study::file::read_study;
use sweep_runner::study::sweep::rows_in_order;
use sweep_runner::study::table::row;
use track_geometry::track::Track;

fn text(path: &str) -> String {
    std::fs::read_to_string(std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(path)).unwrap()
}

/// A study of the club's man on Quillmere.
fn study(model: &str, rest: &str) -> Study {
    let file = format!("name = \"bench\"\nmodel = \"{model}\"\nseed = 1\n{rest}");
    let (toml, csv) = ("tracks/quillmere/track.toml", "tracks/quillmere/stations.csv");
    let read = track_geometry::track_file::read_track(toml, &text(toml), csv, &text(csv)).unwrap();
    let name = "examples/clubs-man.toml";
    let setup = sled_dynamics::setup::file::read_setup(name, &text(name), &[]).unwrap();
    Study::new(read_study("bench", &file).unwrap(), Track::new(read.track).unwrap(), setup).unwrap()
}

/// This many points over mass and drag area.
fn masses_and_drags(model: &str, points: usize) -> Study {
    study(
        model,
        &format!(
            "[design]\nkind = \"latin-hypercube\"\npoints = {points}\n[[axis]]\nkey = \"athlete.mass_kg\"\nfrom = 60\n\
             to = 90\n[[axis]]\nkey = \"air.drag_area_m2\"\nfrom = 0.05\nto = 0.06\n[outputs]\ncorners = \"yes\"\n"
        ),
    )
}

/// Seconds for all rows with the base they start from, and their bytes.
fn timed(study: &Study, threads: usize) -> (f64, usize) {
    let cases: Vec<usize> = (0..study.cases()).collect();
    let (start, mut bytes) = (Instant::now(), 0);
    let base = study.base(&cases, &|_| ());
    let made = |case| row(study, case, &study.made(case, &base));
    let sink = |_, text: &str| {
        bytes += text.len();
        Ok::<(), ()>(())
    };
    rows_in_order(&cases, threads, made, |_| String::new(), || true, sink).unwrap();
    (start.elapsed().as_secs_f64(), bytes)
}

/// Greatest memory so far (MB), where the system tells.
fn peak() -> String {
    let read = || {
        let status = std::fs::read_to_string("/proc/self/status").ok()?;
        let line = status.lines().find(|l| l.starts_with("VmHWM:"))?;
        Some(line.split_whitespace().nth(1)?.parse::<f64>().ok()? / 1024.0)
    };
    read().map_or("unknown".into(), |mb: f64| format!("{mb:.1} MB"))
}

/// Many set-ups, with bow and balance point that change tables and plans, 20 rides each; where the time goes, from a
/// few computed one after another, each with all cores.
fn setups(many: usize) {
    let study = study(
        "planned",
        &format!(
            "[rides]\nper_case = 20\nskill = \"elite\"\n[design]\nkind = \"latin-hypercube\"\npoints = {many}\n\
             [[axis]]\nkey = \"runners.bow_mm\"\nfrom = 0.6\nto = 3\n[[axis]]\nkey = \"sled.balance_point_mm\"\n\
             from = -8\nto = 8\n"
        ),
    );
    let (s, _) = timed(&study, 2);
    let each = s / many as f64;
    println!(
        "planned: {many} set-ups, 2 threads: {s:.0} s, {each:.2} s each, 500 of them {:.1} min, peak {}",
        500.0 * each / 60.0,
        peak()
    );
    let skill = study.base_skill();
    let near = Ready::new(&study.track, &study.setup).unwrap().plan(skill.lag_s, None).unwrap();
    let mut spent = [Duration::ZERO; 3];
    let looked = many.min(6);
    for case in 0..looked {
        let mut setup = study.setup.clone();
        for (axis, value) in study.file.axes.iter().zip(study.values(case)) {
            sled_dynamics::setup::keys::set(&mut setup, axis.quantity.path(), value.number()).unwrap();
        }
        let clock = Instant::now();
        let ready = Ready::new(&study.track, &setup).unwrap();
        spent[0] += clock.elapsed();
        let clock = Instant::now();
        let plan = ready.plan(skill.lag_s, Some(&near.plan)).unwrap();
        spent[1] += clock.elapsed();
        let clock = Instant::now();
        if let Ok(prepared) = Prepared::new(ready, plan, skill.lag_s) {
            rides(&prepared, &skill, 1, 0..20, RIDES);
        }
        spent[2] += clock.elapsed();
    }
    let [tables, plan, rides] = spent.map(|s| s / looked as u32);
    println!(
        "  each alone, mean of {looked}: tables {tables:.2?}, warm plan {plan:.2?}, 20 rides {rides:.2?}"
    );
}

/// Ten thousand rides of one set-up: a study of one case, its reference beside it.
fn many_rides() {
    let skill = "elite";
    let study = study(
        "planned",
        &format!(
            "[rides]\nper_case = 10000\nskill = \"{skill}\"\n[design]\nkind = \"grid\"\n[[axis]]\nkey = \"runners.bow_mm\"\n\
             list = [1.2]\n"
        ),
    );
    let ready = Ready::new(&study.track, &study.setup).unwrap();
    let skill = study.base_skill();
    let plan = ready.plan(skill.lag_s, None).unwrap();
    let prepared = Prepared::new(ready, plan, skill.lag_s).unwrap();
    let clock = Instant::now();
    let made = rides(&prepared, &skill, 1, 0..10_000, RIDES);
    let (s, lost) = (clock.elapsed().as_secs_f64(), made.iter().filter(|r| r.lost.is_some()).count());
    println!("planned: 10000 executed rides of one set-up {s:.1} s, {lost} lost, peak {}", peak());
    let (s, _) = timed(&study, 2);
    println!(
        "planned: the same as a study of one case with its reference, plans and tables {s:.1} s, peak {}",
        peak()
    );
}

fn main() {
    let asked: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with("--")).collect();
    let wanted = |part: &str| asked.is_empty() || asked.iter().any(|a| a == part);
    let told = |cases: usize, model: &str, threads: usize| {
        let (s, bytes) = timed(&masses_and_drags(model, cases), threads);
        println!(
            "{model}: {cases} cases, {threads} threads: {s:.2} s, {:.1} a second, {bytes} bytes, peak {}",
            cases as f64 / s,
            peak()
        );
        s
    };
    if wanted("cases") {
        told(1000, "guided", 2);
        told(10_000, "guided", 2);
        let (one, two) = (told(2000, "guided", 1), told(2000, "guided", 2));
        println!("guided: parallel efficiency at two threads {:.2}", one / (2.0 * two));
        let (one, two) = (told(24, "first-pilot", 1), told(24, "first-pilot", 2));
        println!("first-pilot: parallel efficiency at two threads {:.2}", one / (2.0 * two));
    }
    if wanted("rides") {
        many_rides();
    }
    if wanted("setups") {
        setups(asked.iter().find_map(|a| a.parse().ok()).unwrap_or(24));
    }
}
