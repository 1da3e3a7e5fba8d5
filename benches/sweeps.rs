//! How many cases a second, how well do two threads share them, does memory stay flat in the number of cases, and how
//! long do ten thousand rides of one set-up and many set-ups with plans take?
//!
//! Targets on two cores: efficiency 0.9; the same peak at 10,000 cases as at 1000; 10,000 executed rides of one set-up
//! 60 s; 500 set-ups with tables and warm plans 10 min. By default 24 of the 500 are computed;
//! `cargo bench -p timings --bench sweeps -- setups 500` computes all. Of `cases`, `rides` and `setups` those named are timed.
#![allow(missing_docs, clippy::unwrap_used)]

use sled_dynamics::riding::errors_of_ride::SKILLS;
use std::time::Instant;
use sweep_runner::rides::ensemble::{RIDES, rides};
use sweep_runner::rides::prepared::{Prepared, Ready};
use sweep_runner::study::Study;
use sweep_runner::study::file::read_study;
use sweep_runner::study::sweep::rows_in_order;
use sweep_runner::study::table::row;
use timings::{Times, row as told, setup, table, track, wanted};

/// A study of the club's man on Quillmere.
fn study(model: &str, rest: &str) -> Study {
    let file = format!("name = \"bench\"\nmodel = \"{model}\"\nseed = 1\n{rest}");
    Study::new(read_study("bench", &file).unwrap(), track("quillmere"), setup("clubs-man")).unwrap()
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

/// Seconds for all rows with the base they start from.
fn timed(study: &Study, threads: usize) -> f64 {
    let cases: Vec<usize> = (0..study.cases()).collect();
    let start = Instant::now();
    let base = study.base(&cases, &|_| ());
    let made = |case| row(study, case, &study.made(case, &base));
    rows_in_order(&cases, threads, made, |_| String::new(), || true, |_, _: &str| Ok::<(), ()>(())).unwrap();
    start.elapsed().as_secs_f64()
}

/// The same some times over.
fn takes(study: &Study, threads: usize, many: usize) -> Times {
    Times::of((0..many).map(|_| timed(study, threads)).collect())
}

/// Greatest memory so far, where the system tells.
fn peak() -> String {
    let read = || {
        let status = std::fs::read_to_string("/proc/self/status").ok()?;
        let line = status.lines().find(|l| l.starts_with("VmHWM:"))?;
        Some(line.split_whitespace().nth(1)?.parse::<f64>().ok()? / 1024.0)
    };
    read().map_or("peak unknown".into(), |mb: f64| format!("peak {mb:.0} MB"))
}

/// Cases of a model by one thread and by two.
fn cases(model: &str, many: usize) {
    let study = masses_and_drags(model, many);
    let [one, two] = [1, 2].map(|threads| takes(&study, threads, 5));
    for (threads, times) in [(1, &one), (2, &two)] {
        let a_second = many as f64 / times.median_s();
        told(&format!("{many} {model} cases, {threads} threads: {a_second:.1} a second, {}", peak()), times);
    }
    println!("\n{model}: two threads are {:.2} times as fast as one\n", one.median_s() / two.median_s());
}

/// Many set-ups, with bow and balance point that change tables and plans, 20 rides each; where the time goes, from a
/// few computed one after another, each with all cores.
fn setups(many: usize) {
    let points = |points: usize| {
        let axes = "[[axis]]\nkey = \"runners.bow_mm\"\nfrom = 0.6\nto = 3\n[[axis]]\n\
                    key = \"sled.balance_point_mm\"\nfrom = -8\nto = 8\n";
        let design = format!("[design]\nkind = \"latin-hypercube\"\npoints = {points}\n");
        study("planned", &format!("[rides]\nper_case = 20\nskill = \"elite\"\n{design}{axes}"))
    };
    let study = points(many);
    table(
        "How long do many set-ups with tables and warm plans take on two threads, and each part of one on all cores?",
    );
    let all = takes(&study, 2, 1);
    let minutes = 500.0 * all.median_s() / many as f64 / 60.0;
    told(&format!("{many} set-ups, 20 rides each: 500 would take {minutes:.1} min, {}", peak()), &all);
    // other points: the process remembers the tables of these
    let study = points(many + 1);
    let skill = study.base_skill();
    let near = Ready::new(&study.track, &study.setup).unwrap().plan(skill.lag_s, None).unwrap();
    let mut spent_s = [vec![], vec![], vec![]];
    for case in 0..many.min(6) {
        let mut setup = study.setup.clone();
        for (axis, value) in study.file.axes.iter().zip(study.values(case)) {
            sled_dynamics::setup::keys::set(&mut setup, axis.quantity.path(), value.number()).unwrap();
        }
        let clock = Instant::now();
        let ready = Ready::new(&study.track, &setup).unwrap();
        spent_s[0].push(clock.elapsed().as_secs_f64());
        let clock = Instant::now();
        let plan = ready.plan(skill.lag_s, Some(&near.plan)).unwrap();
        spent_s[1].push(clock.elapsed().as_secs_f64());
        let clock = Instant::now();
        if let Ok(prepared) = Prepared::new(ready, plan, skill.lag_s) {
            rides(&prepared, &skill, 1, 0..20, RIDES);
            spent_s[2].push(clock.elapsed().as_secs_f64());
        }
    }
    for (what, taken_s) in ["tables", "warm plan", "20 rides"].into_iter().zip(spent_s) {
        told(&format!("each set-up another: {what}"), &Times::of(taken_s));
    }
}

/// Ten thousand rides of one set-up.
fn many_rides() {
    let (track, setup) = (track("quillmere"), setup("clubs-man"));
    let skill = SKILLS[3];
    let ready = Ready::new(&track, &setup).unwrap();
    let plan = ready.plan(skill.lag_s, None).unwrap();
    let prepared = Prepared::new(ready, plan, skill.lag_s).unwrap();
    table("How long do ten thousand rides of one set-up take on all cores?");
    let clock = Instant::now();
    let made = rides(&prepared, &skill, 1, 0..10_000, RIDES);
    let times = Times::of(vec![clock.elapsed().as_secs_f64()]);
    let lost = made.iter().filter(|r| r.lost.is_some()).count();
    told(&format!("10000 rides, {lost} lost, {}", peak()), &times);
}

fn main() {
    if wanted("cases") {
        table("How many cases a second, how well do two threads share them, does memory stay flat?");
        cases("guided", 1000);
        table("Ten times as many, and cases that take longer?");
        cases("guided", 10_000);
        cases("first-pilot", 24);
    }
    if wanted("rides") {
        many_rides();
    }
    if wanted("setups") {
        setups(std::env::args().find_map(|a| a.parse().ok()).unwrap_or(24));
    }
}
