//! How long do the contact of one runner, the tables of a set-up and one look into them take?
//! Targets: one solve 0.3 ms on one core, the tables of a set-up 300 ms on all.
#![allow(missing_docs, clippy::unwrap_used)]

use ice_contact::contact::{ContactSolver, Demand};
use ice_contact::runner::{Bow, IceState, RunnerSpec};
use ice_contact::tables::RunnerTable;
use std::hint::black_box;
use timings::{Times, row, table};

fn main() {
    let (ice, runner) = (IceState::at_temperature(-5.0, 0.25), RunnerSpec::default());
    let built = |bow_mm: f64| RunnerTable::build(&runner, Bow::even(bow_mm * 1e-3), &ice).unwrap();

    table("How long does the contact of one runner take, from nothing, on one core?");
    for bow_mm in [1.0, 2.0, 4.0] {
        let mut solver = ContactSolver::new(&runner, Bow::even(bow_mm * 1e-3), &ice).unwrap();
        let demand = Demand { load_n: 2320.0, ice_curvature_per_m: 1.0 / 26.0, centroid_m: 0.02 };
        row(
            &format!("one contact, {bow_mm} mm of bow"),
            &Times::measured(|| solver.solve(black_box(demand)).is_balanced()),
        );
    }

    table("How long do the tables of a set-up take, on all cores?");
    for bow_mm in [1.0, 4.0] {
        row(&format!("a pair alike, {bow_mm} mm of bow"), &Times::measured(|| built(bow_mm)));
    }
    row("two different runners", &Times::measured(|| [built(1.0), built(2.0)]));

    table("How long does one look into a table take, on one core?");
    let table = built(1.0);
    let look = || table.look(black_box(580.0), black_box(0.02), black_box(0.01), black_box(30.0));
    row("one look", &Times::measured(look));
}
