use ice_contact::contact::*;
use ice_contact::runner::*;
use rand::{RngExt, SeedableRng};
use std::time::Instant;
fn main() {
    let top: f64 = std::env::args().nth(1).map_or(5e-3, |s| s.parse().unwrap());
    let n: usize = std::env::args().nth(2).map_or(5000, |s| s.parse().unwrap());
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(7);
    let (mut ok, mut un, mut bad) = (0, 0, 0);
    let mut steps = 0;
    let mut ups = 0;
    let mut worst = vec![];
    let mut t = 0.0;
    let mut tmax: f64 = 0.0;
    for _ in 0..n {
        let bow = Bow { front_m: rng.random_range(0.0..top), rear_m: rng.random_range(0.0..top) };
        let ice =
            IceState { temperature_c: -5.0, hardness_pa: rng.random_range(8e6..30e6), recovered_share: 0.25 };
        let k = if rng.random_bool(0.2) { 0.0 } else { rng.random_range(0.0..1.0 / 12.0) };
        let d = Demand {
            load_n: (rng.random_range(20f64.ln()..6000f64.ln())).exp(),
            ice_curvature_per_m: k,
            centroid_m: rng.random_range(-0.25..0.25),
        };
        let mut s = ContactSolver::new(&RunnerSpec::default(), bow, &ice).unwrap();
        let t0 = Instant::now();
        let o = s.solve(d);
        let dt = t0.elapsed().as_secs_f64();
        t += dt;
        tmax = tmax.max(dt);
        steps += s.steps;
        ups += s.updates;
        match o {
            Outcome::Converged => ok += 1,
            Outcome::ShareUnsettled { moving } => {
                un += 1;
                worst.push((moving, s.steps, bow, d));
            }
            _ => {
                bad += 1;
                if bad < 10 {
                    println!("{o:?} {} {} {bow:?} {d:?}", s.steps, s.updates);
                }
            }
        }
    }
    println!(
        "ok {ok} unsettled {un} bad {bad} of {n}; steps {:.1} updates {:.1}; mean {:.1} us max {:.0} us",
        steps as f64 / n as f64,
        ups as f64 / n as f64,
        t / n as f64 * 1e6,
        tmax * 1e6
    );
    worst.sort_by(|a, b| b.0.total_cmp(&a.0));
    for w in worst.iter().take(5) {
        println!("{w:?}");
    }
    let m: Vec<f64> = worst.iter().map(|w| w.0).collect();
    if !m.is_empty() {
        println!("median moving {}", m[m.len() / 2]);
    }
}
