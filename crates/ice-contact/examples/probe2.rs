use contact::*;
use ice_contact::*;
use rand::{RngExt, SeedableRng};
use runner::*;
use std::time::Instant;
use tables::*;
fn main() {
    let r = RunnerSpec::default();
    let ice = IceState::at_temperature(-5.0, 0.25);
    for b in [0.5e-3, 1.5e-3, 4e-3] {
        let t0 = Instant::now();
        let t = RunnerTable::build(&r, Bow::even(b), &ice).unwrap();
        println!("bow {b}: build {:.0} ms {:?}", t0.elapsed().as_secs_f64() * 1e3, t.built);
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(7);
        let mut s = ContactSolver::new(&r, Bow::even(b), &ice).unwrap();
        let mut errs: Vec<[f64; 5]> = vec![];
        for _ in 0..400 {
            let n = (rng.random_range(100f64.ln()..3500f64.ln())).exp();
            let k = rng.random_range(0.0..1.0 / 20.0);
            let x = rng.random_range(-0.12..0.12);
            let v = rng.random_range(5.0..38.0);
            s.solve(Demand { load_n: n, ice_curvature_per_m: k, centroid_m: x });
            let d = exact(&s, &r, Bow::even(b), &ice, v);
            let t = t.look::<f64>(n, k, x, v);
            let a = agg(&t, n);
            let e = agg(&d, n);
            errs.push([
                (a[0] - e[0]).abs(),
                (a[1] - e[1]).abs(),
                (a[2] / e[2] - 1.0).abs(),
                (a[3] - e[3]).abs(),
                (a[4] / e[4] - 1.0).abs(),
            ]);
        }
        for (i, name) in ["film mu", "plough mu", "lat stiffness rel", "grip centre m", "saturation rel"]
            .iter()
            .enumerate()
        {
            let mut c: Vec<f64> = errs.iter().map(|e| e[i]).collect();
            c.sort_by(f64::total_cmp);
            println!("  {name}: median {:.2e} p95 {:.2e} max {:.2e}", c[200], c[380], c[399]);
        }
        let t0 = Instant::now();
        let mut sum = 0.0;
        for i in 0..1_000_000 {
            let n = 500.0 + (i % 1000) as f64;
            sum += t.look::<f64>(n, 0.02, 0.01, 30.0).film_friction;
        }
        println!("  look {:.0} ns {sum}", t0.elapsed().as_secs_f64() * 1e3);
        let t0 = Instant::now();
        let mut sum = 0.0;
        type D = numerics::dual::Dual<8>;
        for i in 0..100_000 {
            let n = 500.0 + (i % 1000) as f64;
            sum += t
                .look::<D>(
                    D::variable(n, 0),
                    D::variable(0.02, 1),
                    D::variable(0.01, 2),
                    D::variable(30.0, 3),
                )
                .film_friction
                .re;
        }
        println!("  look dual8 {:.0} ns {sum}", t0.elapsed().as_secs_f64() * 1e4);
        for (n, k) in [(580.0, 0.0), (2320.0, 1.0 / 26.0)] {
            let t = t.look::<f64>(n, k, 0.0, 30.0);
            let a = agg(&t, n);
            println!(
                "  N {n}: mu {:.5} plough {:.5} C {:.2} margin {:.3} sat {:.3}",
                a[0], a[1], a[2], -a[3], a[4]
            );
        }
    }
}
fn agg(t: &Touch<f64>, n: f64) -> [f64; 5] {
    let c: f64 = t.points.iter().map(|p| p.load_n * p.stiffness).sum::<f64>();
    [
        t.film_friction,
        t.points.iter().map(|p| p.load_n * p.plough).sum::<f64>() / n,
        c / n,
        t.points.iter().map(|p| p.load_n * p.stiffness * p.at_m).sum::<f64>() / c,
        t.points.iter().map(|p| p.load_n * p.saturation).sum::<f64>() / n,
    ]
}
fn exact(s: &ContactSolver, r: &RunnerSpec, b: Bow, ice: &IceState, v: f64) -> Touch<f64> {
    tables::direct(s, r, b, ice, v).unwrap()
}
