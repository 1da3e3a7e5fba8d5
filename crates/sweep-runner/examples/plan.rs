use sled_dynamics::{
    descend::*, equations::*, launch::*, on_runners::*, planned_ride::*, precision::*, setup_file::read_setup,
};
use std::time::Instant;
use sweep_runner::planner::*;
use track_geometry::{track::*, track_file::read_track};
fn main() {
    let r = |p: &str| std::fs::read_to_string(p).unwrap();
    let a: Vec<String> = std::env::args().collect();
    let tr = &a[1];
    let f = &a[2];
    let track = Track::new(
        read_track(
            "t",
            &r(&format!("tracks/{tr}/track.toml")),
            "s",
            &r(&format!("tracks/{tr}/stations.csv")),
        )
        .unwrap()
        .track,
    )
    .unwrap();
    let mut last: Option<Plan> = None;
    for bow in a[3].split(',') {
        let s = read_setup("x", &r(&format!("examples/{f}.toml")), &[("runners.bow_mm".into(), bow.into())])
            .unwrap();
        let c = Constants::new(&s, &track.data);
        let launch = Launch::from_push(&s.push, &track, &c, 0.009).unwrap();
        let ice = OnRunners::new(&s, runner_tables(&s).unwrap());
        let t0 = Instant::now();
        let p = plan_ride(&track, &c, &ice, &launch, s.pilot.lag_s, last.as_ref()).unwrap();
        let slip = p.plan.states.iter().map(|x| (x[3] / x[2]).abs()).fold(0.0, f64::max).to_degrees();
        let st = p.plan.states.iter().map(|x| x[6].abs()).fold(0.0, f64::max);
        println!(
            "{tr} {f} {bow}: {:?} help {:.4} sweeps {} in {:.2} s, slip {slip:.2} steer {st:.2}",
            p.status,
            p.help_m_s2,
            p.sweeps,
            t0.elapsed().as_secs_f64()
        );
        let ride = PlannedRide::new(&p.plan, s.pilot.lag_s).unwrap();
        let mut pc = c;
        for (name, fm, im, bm) in [
            ("exact", 1.0, 1.0, 0.0),
            ("mass+2%", 1.02, 1.0, 0.0),
            ("inertia+25%", 1.0, 1.25, 0.0),
            ("inertia-25%", 1.0, 0.75, 0.0),
            ("balance+2", 1.0, 1.0, 0.002),
            ("balance-2", 1.0, 1.0, -0.002),
        ] {
            pc.yaw_inertia_kg_m2 = c.yaw_inertia_kg_m2 * im;
            pc.mass_kg = c.mass_kg * fm;
            let mut s2 = s.clone();
            s2.sled.balance_point_m += bm;
            let ice2 = OnRunners::new(&s2, runner_tables(&s).unwrap());
            let course = Course { track: &track, constants: &pc, ice: &ice2, pilot: &ride };
            let t0 = Instant::now();
            let d = descend(&course, &launch, Entry::STRAIGHT, Precision::default(), Detail::Times);
            let ms = t0.elapsed().as_secs_f64() * 1e3;
            println!(
                "   {name}: {:?} {:?} err {:.1e} walls {} evals {} {ms:.1} ms skid {:.0} J plan {:.4} loss {:?}",
                d.outcome,
                d.finish_time_s,
                d.numerical_error_s,
                d.wall_touches(),
                d.evaluations,
                d.energy.lost_j[3],
                0.0,
                d.energy.lost_j.map(|x| x.round())
            );
        }
        last = Some(p.plan);
    }
}
