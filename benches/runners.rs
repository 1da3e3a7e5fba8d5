//! How long do the contact of one runner, the tables of a set-up and one look into them take on one core?
//! Targets: one solve 0.3 ms, the tables of a set-up 300 ms.
#![allow(missing_docs, clippy::unwrap_used)]

use divan::{Bencher, black_box};
use ice_contact::contact::{ContactSolver, Demand};
use ice_contact::runner::{Bow, IceState, RunnerSpec};
use ice_contact::tables::RunnerTable;

fn main() {
    divan::main();
}

#[divan::bench(args = [1.0, 2.0, 4.0])]
fn one_solve_from_nothing(bencher: Bencher<'_, '_>, bow_mm: f64) {
    let ice = IceState::at_temperature(-5.0, 0.25);
    let mut solver = ContactSolver::new(&RunnerSpec::default(), Bow::even(bow_mm * 1e-3), &ice).unwrap();
    let demand = Demand { load_n: 2320.0, ice_curvature_per_m: 1.0 / 26.0, centroid_m: 0.02 };
    bencher.bench_local(move || solver.solve(black_box(demand)));
}

#[divan::bench(args = [1.0, 4.0], sample_count = 5)]
fn tables_of_a_pair_alike(bow_mm: f64) -> RunnerTable {
    let ice = IceState::at_temperature(-5.0, 0.25);
    RunnerTable::build(&RunnerSpec::default(), Bow::even(bow_mm * 1e-3), &ice).unwrap()
}

#[divan::bench(sample_count = 5)]
fn tables_of_two_different_runners() -> [RunnerTable; 2] {
    let ice = IceState::at_temperature(-5.0, 0.25);
    [1e-3, 2e-3].map(|bow_m| RunnerTable::build(&RunnerSpec::default(), Bow::even(bow_m), &ice).unwrap())
}

#[divan::bench]
fn one_look(bencher: Bencher<'_, '_>) {
    let ice = IceState::at_temperature(-5.0, 0.25);
    let table = RunnerTable::build(&RunnerSpec::default(), Bow::even(1e-3), &ice).unwrap();
    bencher.bench(|| table.look(black_box(580.0), black_box(0.02), black_box(0.01), black_box(30.0)));
}
