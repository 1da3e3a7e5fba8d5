//! Checks of the tables against direct solves and differences.

use super::*;
use numerics::dual::Dual;
use rand::{RngExt, SeedableRng};

fn table(bow_m: f64) -> (RunnerSpec, IceState, RunnerTable) {
    let (runner, ice) = (RunnerSpec::default(), IceState::at_temperature(-5.0, 0.25));
    let table = RunnerTable::build(&runner, Bow::even(bow_m), &ice).expect("solvable");
    (runner, ice, table)
}

/// Median, 95th percentile and greatest of some 400 values.
fn spread(mut v: Vec<f64>) -> [f64; 3] {
    assert!(v.len() > 340, "{}", v.len());
    v.sort_by(f64::total_cmp);
    [v[v.len() / 2], v[v.len() * 19 / 20], v[v.len() - 1]]
}

#[test]
fn order_tables_match_direct_solves() {
    let bow = Bow::even(4e-3);
    let (runner, ice, table) = table(4e-3);
    let seed = 3;
    println!("seed {seed}");
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(seed);
    let mut solver = ContactSolver::new(&runner, bow, &ice).expect("in range");
    let (mut film, mut plough, mut centre) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..400 {
        // half of a sled of 75-150 kg, 1-5 g at 25-40 m/s
        let v: f64 = rng.random_range(25.0..40.0);
        let g_load: f64 = rng.random_range(1.0..5.0);
        let demand = Demand {
            load_n: 9.81 * g_load * rng.random_range(37.0..75.0),
            ice_curvature_per_m: 9.81 * (g_load * g_load - 1.0).sqrt() / (v * v),
            centroid_m: rng.random_range(-0.12..0.12),
        };
        if !solver.solve(demand).is_balanced() {
            continue;
        }
        let n = demand.load_n;
        let got = table.look(n, demand.ice_curvature_per_m, demand.centroid_m, v);
        let exact = direct(&solver, &runner, bow, &ice, v).expect("in range");
        film.push((got.film_friction / exact.film_friction - 1.0).abs());
        let ploughing = |t: &Touch<f64>| t.points.iter().map(|p| p.load_n * p.plough).sum::<f64>() / n;
        plough.push((ploughing(&got) - ploughing(&exact)).abs());
        let centre_m = |t: &Touch<f64>| {
            let grip: f64 = t.points.iter().map(|p| p.load_n * p.stiffness).sum();
            t.points.iter().map(|p| p.load_n * p.stiffness * p.at_m).sum::<f64>() / grip
        };
        centre.push((centre_m(&got) - centre_m(&exact)).abs());
    }
    let [film, plough, centre] = [film, plough, centre].map(spread);
    println!("film {film:?} (share), plough {plough:?} (of the load), centre of grip {centre:?} m");
    // where patches part or join no smooth table of this size follows; the bounds are what was measured, with a
    // quarter more
    assert!(film[0] < 0.0044 && film[1] < 0.028 && film[2] < 0.082);
    assert!(plough[0] < 2.7e-6 && plough[1] < 1.5e-5 && plough[2] < 6.9e-5);
    assert!(centre[0] < 0.00071 && centre[1] < 0.0046 && centre[2] < 0.0153);
}

#[test]
fn exact_partials_are_those_of_the_interpolant() {
    let (_, _, table) = table(2e-3);
    let sum =
        |t: &Touch<f64>| t.film_friction + t.points.iter().map(|p| p.at_m + 1e-2 * p.stiffness).sum::<f64>();
    for at in [[580.0, 0.01, 0.02, 20.0], [2300.0, 0.04, -0.05, 33.0]] {
        let d: [Dual<4>; 4] = std::array::from_fn(|i| Dual::variable(at[i], i));
        let t = table.look(d[0], d[1], d[2], d[3]);
        let whole = t.points.iter().fold(t.film_friction, |s, p| s + p.at_m + p.stiffness * 1e-2);
        for i in 0..4 {
            let e = 2e-3 * at[i].abs();
            let look = |sign: f64| {
                let mut x = at;
                x[i] += sign * e;
                sum(&table.look(x[0], x[1], x[2], x[3]))
            };
            let central = (look(1.0) - look(-1.0)) / (2.0 * e);
            // single precision over the step, and its truncation
            approx::assert_relative_eq!(whole.du[i], central, max_relative = 5e-3, epsilon = 2e-4);
        }
    }
}

#[test]
fn exact_outside_the_range_the_edge_is_taken() {
    let (_, _, table) = table(4e-3);
    let inside = table.look(4500.0, 1.0 / 12.0, 0.25, 48.0);
    let outside = table.look(9000.0, 0.2, 0.4, 70.0);
    assert_eq!(inside.film_friction, outside.film_friction);
    // the load itself is not held
    approx::assert_relative_eq!(outside.points[0].load_n, 2.0 * inside.points[0].load_n, max_relative = 1e-9);
}
