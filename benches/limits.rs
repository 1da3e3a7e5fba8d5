//! What can one core of this machine do, compiled as the program is (no instructions beyond x86-64 or aarch64)? The
//! least that the arithmetic and the data of a right-hand side would need; see `benches/README.md`.
#![allow(missing_docs)]

use std::hint::black_box;
use timings::Times;

/// Sums side by side: enough that none waits for another.
const LANES: usize = 24;

/// Multiplies and adds in independent lanes; two operations a lane and turn.
#[inline(never)]
fn side_by_side(turns: usize) -> [f64; LANES] {
    let (mut sums, factor, more) = ([1.0_f64; LANES], black_box(0.999_999), black_box(1e-6));
    for _ in 0..turns {
        for sum in &mut sums {
            *sum = *sum * factor + more;
        }
    }
    sums
}

/// The same one after another.
#[inline(never)]
fn one_by_one(turns: usize) -> f64 {
    let (mut sum, factor, more) = (1.0_f64, black_box(0.999_999), black_box(1e-6));
    for _ in 0..turns {
        sum = sum * factor + more;
    }
    sum
}

/// Reads single-precision numbers in rows of 32, as a look into a table does.
#[inline(never)]
fn read(rows: &[[f32; 32]]) -> [f32; 32] {
    let mut sums = [0.0; 32];
    for row in rows {
        for (sum, value) in sums.iter_mut().zip(row) {
            *sum += value;
        }
    }
    sums
}

fn main() {
    let turns = 100_000;
    let told = |what: &str, each: f64, unit: &str, times: &Times| {
        let [most, median] = [times.least_s(), times.median_s()].map(|s| each / s * 1e-9);
        println!("{what}: {most:.1} {unit} at the fastest, {median:.1} at the median\n");
    };
    println!("\nWhat can one core do?\n");
    let flops = (2 * LANES * turns) as f64;
    told("arithmetic side by side", flops, "Gflop/s", &Times::measured(|| side_by_side(black_box(turns))));
    told(
        "arithmetic one by one",
        (2 * turns) as f64,
        "Gflop/s",
        &Times::measured(|| one_by_one(black_box(turns))),
    );
    // the second is as large as the tables of two runners
    for (what, rows) in [("reading 16 kB", 128), ("reading 1.2 MB", 9600)] {
        let data = vec![[1.0_f32; 32]; rows];
        told(what, (rows * 128) as f64, "GB/s", &Times::measured(|| read(black_box(&data))));
    }
}
