use ice_contact::contact::*;
use ice_contact::patches::*;
use ice_contact::runner::*;
fn main() {
    let ice = IceState::at_temperature(-5.0, 0.25);
    let r = RunnerSpec::default();
    for b in [0.5e-3, 1e-3, 2e-3, 4e-3] {
        for (n, k) in [(580.0, 0.0), (2320.0, 1.0 / 26.0)] {
            let mut s = ContactSolver::new(&r, Bow::even(b), &ice).unwrap();
            let o = s.solve(Demand { load_n: n, ice_curvature_per_m: k, centroid_m: 0.0 });
            let c = Contact::of(&s, &r);
            println!(
                "bow {b} N {n} {o:?} steps {} span {:.3} leff {:.3} groove {:.3} outside {:.3} load {:.6} xbar {:.2e} screw {:?} stress {:.1} clear {:.2e} patches {:?}",
                s.steps,
                c.touch_span_m,
                c.effective_length_m,
                c.groove_share,
                c.outside_share,
                c.load_n,
                c.centroid_m,
                c.screw_forces_n,
                c.greatest_stress_pa / 1e6,
                c.least_clearance_m,
                c.patches
                    .iter()
                    .map(|p| format!(
                        "{:.3}..{:.3} d {:.1}um at {:.3} {:.0}N",
                        p.first_touch_m,
                        p.last_touch_m,
                        p.greatest_depth_m * 1e6,
                        p.deepest_m,
                        p.load_n
                    ))
                    .collect::<Vec<_>>()
            );
        }
    }
}
