//! Checks of the contact solver against outside values and on random cases.

use crate::contact::{ContactSolver, Demand, Outcome};
use crate::foundation::Law;
use crate::patches::Contact;
use crate::rig::Rig;
use crate::runner::{Bow, IceState, RunnerSpec};
use rand::{RngExt, SeedableRng};

const EI: f64 = 643.398175455;

/// Rod on a Winkler foundation of 5e6 N/m2, loaded through one stiff mount in the middle.
fn on_springs(law: Law, radius_m: Option<f64>, half_length_m: f64, load_n: f64) -> ContactSolver {
    let n = (half_length_m / 0.01).round() as i32;
    let nodes = (-n..=n).map(|i| f64::from(i) * half_length_m / f64::from(n)).collect();
    let unbent = |x: f64| radius_m.map_or(0.0, |r| x * x / (2.0 * r));
    let mut rig = Rig::new(EI, nodes, &[(0.0, 1e7, 0.0)], unbent);
    rig.law = law;
    rig.coefficient.fill(5e6);
    let mut solver = ContactSolver::of_rig(rig);
    let demand = Demand { load_n, ice_curvature_per_m: 0.0, centroid_m: 0.0 };
    assert_eq!(solver.solve(demand), Outcome::Converged);
    solver
}

#[test]
fn exact_bowed_rod_on_winkler_foundation() {
    // one-sided foundation, solved by a general-purpose boundary value solver
    for (radius_m, load_n, half_mm, depth_um, moment) in [
        (20.0, 280.0, 116.229833, 364.589752, 6.073048),
        (20.0, 560.0, 142.160225, 602.650202, 14.769128),
        (40.0, 560.0, 168.840387, 516.999611, 17.360385),
        // the contact depends on the product of radius and load only
        (40.0, 280.0, 142.160225, 0.5 * 602.650202, 0.5 * 14.769128),
    ] {
        let solver = on_springs(Law::Linear, Some(radius_m), 0.3, load_n);
        let cells = solver.patch_behind(solver.share.len()).expect("touch");
        let (front, rear) = solver.edges_m(cells);
        // cubic elements of 10 mm and linear cells of 1 mm: errors of (h/L)^2 / 12
        approx::assert_relative_eq!(0.5e3 * (front - rear), half_mm, max_relative = 3e-5);
        let depth_m = solver.depth_m[solver.depth_m.len() / 2];
        approx::assert_relative_eq!(1e6 * depth_m, depth_um, max_relative = 3e-5);
        approx::assert_relative_eq!(solver.greatest_moment_n_m(), moment, max_relative = 2e-4);
    }
}

#[test]
fn exact_infinite_beam_on_winkler_foundation() {
    // Hetenyi, Beams on Elastic Foundation, 1946: y0 = P beta / 2k, M0 = P / 4 beta; the ends at
    // 1.5 m leave e^-10
    let solver = on_springs(Law::TwoSided, None, 1.5, 560.0);
    let depth_m = solver.depth_m[solver.depth_m.len() / 2];
    // elements of 10 mm and cells of 1 mm; ends
    approx::assert_relative_eq!(depth_m, 371.788176210e-6, max_relative = 1e-4);
    approx::assert_relative_eq!(solver.greatest_moment_n_m(), 21.087276309, max_relative = 2e-4);
}

fn random_cases(n: usize, top_bow_m: f64) -> (usize, f64) {
    let seed = 20_260;
    println!("seed {seed}");
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(seed);
    let runner = RunnerSpec::default();
    let (mut balanced, mut worst) = (0, 0.0_f64);
    for _ in 0..n {
        let bow = Bow { front_m: rng.random_range(0.0..top_bow_m), rear_m: rng.random_range(0.0..top_bow_m) };
        let hardness_pa = rng.random_range(8e6..30e6);
        let ice = IceState { hardness_pa, ..IceState::at_temperature(-5.0, 0.25) };
        let flat = rng.random_bool(0.2);
        let demand = Demand {
            load_n: rng.random_range(20f64.ln()..6000f64.ln()).exp(),
            ice_curvature_per_m: if flat { 0.0 } else { 1.0 / rng.random_range(12.0..200.0) },
            centroid_m: rng.random_range(-0.25..0.25),
        };
        let mut solver = ContactSolver::new(&runner, bow, &ice).expect("in range");
        let outcome = solver.solve(demand);
        if !outcome.is_balanced() {
            continue;
        }
        let contact = Contact::of(&solver, &runner);
        let load = (contact.load_n / demand.load_n - 1.0).abs();
        let error = load.max((contact.centroid_m - demand.centroid_m).abs());
        balanced += usize::from(error < 1e-5);
        worst = worst.max(error);
    }
    (balanced, worst)
}

#[test]
fn conserves_load_and_moment_on_random_cases() {
    let n = std::env::var("ICE_CONTACT_CASES").ok().and_then(|s| s.parse().ok()).unwrap_or(2000);
    for (top_bow_m, wanted) in [(5e-3, 0.999), (8e-3, 0.99)] {
        let (balanced, worst) = random_cases(n, top_bow_m);
        println!("bow to {top_bow_m}: {balanced} of {n}, worst {worst:.1e}");
        assert!(balanced as f64 >= wanted * n as f64);
    }
}

#[test]
fn published_more_load_or_less_bow_never_shortens_the_touch_on_flat_ice() {
    // common practice, no source; tolerance one cell of 2 mm
    let (runner, ice) = (RunnerSpec::default(), IceState::at_temperature(-5.0, 0.25));
    let span = |bow_m: f64, load_n: f64| -> f64 {
        let mut solver = ContactSolver::new(&runner, Bow::even(bow_m), &ice).expect("in range");
        let demand = Demand { load_n, ice_curvature_per_m: 0.0, centroid_m: 0.0 };
        assert!(solver.solve(demand).is_balanced());
        Contact::of(&solver, &runner).touch_span_m
    };
    let loads = [100.0, 300.0, 580.0, 1000.0, 2000.0, 4000.0];
    let bows = [8e-3, 6e-3, 4e-3, 3e-3, 2e-3, 1.5e-3, 1e-3, 0.5e-3];
    for bow in bows {
        for pair in loads.windows(2) {
            assert!(span(bow, pair[1]) > span(bow, pair[0]) - 2e-3, "bow {bow} load {pair:?}");
        }
    }
    for load in loads {
        for pair in bows.windows(2) {
            assert!(span(pair[1], load) > span(pair[0], load) - 2e-3, "load {load} bow {pair:?}");
        }
    }
}
