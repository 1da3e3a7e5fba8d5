//! tmp
use crate::ddp::backward::{Law, Weights, sweep};
use crate::ddp::{Expansion, FinalExpansion, Limits};
#[test]
fn speed() {
    const K: usize = 1450;
    let mut s = 1u64;
    let mut r = || { s = s.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407); (s >> 33) as f64 / 2f64.powi(31) - 0.5 };
    let mut es = Vec::new();
    for _ in 0..K {
        let mut e = Expansion::<8, 3>::ZERO;
        for i in 0..8 { for j in 0..8 { e.a[i][j] = 0.05 * r() + if i == j { 1.0 } else { 0.0 }; } for j in 0..3 { e.b[i][j] = r(); } e.cost_xx[i][i] = 1.0; e.cost_x[i] = r(); }
        for i in 0..3 { e.cost_uu[i][i] = 1.0; e.cost_u[i] = r(); }
        es.push(e);
    }
    let mut xx = [[0.0; 8]; 8];
    for i in 0..8 { xx[i][i] = 1.0; }
    let last = FinalExpansion { cost_x: [0.0; 8], cost_xx: xx };
    let gaps = vec![[0.01; 8]; K];
    for (name, room) in [("none", Limits::NONE), ("wide", Limits { lower: [-100.0; 3], upper: [100.0; 3] }), ("tight", Limits { lower: [-0.05; 3], upper: [0.05; 3] })] {
        for w in [0.0, 1e-3] {
            let rooms = vec![room; K];
            let mut laws = vec![Law::ZERO; K];
            let mut p = vec![[0.0; 8]; K];
            let mut best = f64::INFINITY;
            for _ in 0..200 {
                let t = std::time::Instant::now();
                sweep(&es, &last, &gaps, &rooms, Weights { state: w, control: w }, &mut laws, &mut p).unwrap();
                best = best.min(t.elapsed().as_secs_f64());
            }
            println!("SPEED {name} {w} {:.3} us/node", best / K as f64 * 1e6);
        }
    }
}
