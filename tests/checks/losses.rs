//! Losses in milliseconds at the finish: weights, removal and shares on the incline, sums on real rides, and
//! causes planted and taken away again.

use crate::made::{constants, even, track};
use crate::plan::scene;
use approx::assert_relative_eq;
use sled_dynamics::analysis::losses::{Losses, Ridden, losses, spacing_to_finish_m};
use sled_dynamics::analysis::sections::{Section, sections};
use sled_dynamics::laws::on_runners::{OnRunners, runner_tables};
use sled_dynamics::motion::descent::Descent;
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::guided::guided;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::motion::precision::{Detail, Pair, Precision};
use sled_dynamics::riding::pieces::Piece;
use sweep_runner::rides::cause::{against as against_of, causes};
use sweep_runner::rides::pieced::pieced;
use sweep_runner::rides::prepared::{Prepared, Ready};
use track_geometry::track::Track;

const TIGHT: Precision = Precision { pair: Pair::Fifth, tolerance: 1e-12, greatest_step_m: 1.0 };
// the incline of the closed form: g 9.81, m 115 kg, CdA 0.052 m2, rho 1.27 kg/m3, mu 0.0045
const MU: f64 = 0.0045;
const DRAG: f64 = 0.5 * 1.27 * 0.052;

fn incline() -> Track {
    track(even(1500.0, 10.0, 0.0798, 0.0), &[0.0, 1500.0])
}

struct Slide {
    descent: Descent,
    constants: Constants,
}

fn slide(track: &Track, mu: f64, drag: f64) -> Slide {
    let constants = constants(9.81, 115.0, drag);
    let detail = Detail::Trace(spacing_to_finish_m(track, 0.25));
    let descent = guided(track, &constants, &Launch::moving(0.0, 11.0), mu, TIGHT, detail);
    Slide { descent, constants }
}

fn against(track: &Track, a: &Slide, b: &Slide) -> Losses {
    let of = |s: &'static str, x: &Slide| {
        assert!(x.descent.finish_time_s.is_some(), "{s}");
    };
    of("descent", a);
    of("reference", b);
    let ridden = |x| -> Ridden<'_> {
        let x: &Slide = x;
        Ridden { descent: &x.descent, constants: &x.constants }
    };
    losses(track, ridden(a), ridden(b)).unwrap()
}

#[test]
fn exact_weights_on_the_incline() {
    let t = incline();
    let s = slide(&t, MU, DRAG);
    let l = against(&t, &s, &s);
    // w(s) = int_s^1500 exp(-2k(q-s)) v(q)^-3 dq of the closed form, evaluated independently
    for (station, weight) in [
        (0.0, 0.092_977_736_59),
        (300.0, 0.031_791_837_42),
        (1000.0, 0.008_722_770_1),
        (1400.0, 0.001_665_456_996),
    ] {
        let i = (0..l.station_m.len()).find(|&i| l.station_m[i] >= station - 1e-6).unwrap();
        // trapezoids of 0.25 m under a curve that falls by its own size in 10 m: (0.25/10)^2/12
        assert_relative_eq!(l.weight_s_kg_per_j[i], weight, max_relative = 5e-5);
    }
}

#[test]
fn exact_removal_on_the_incline() {
    let t = incline();
    let full = slide(&t, MU, DRAG);
    let gap = |mu, drag| against(&t, &full, &slide(&t, mu, drag));
    // T = 55.4326219149 s; without glide, without drag, without both: closed form, evaluated independently
    let whole = 55.432_621_914_873_1;
    let (glide, air, both) = (gap(0.0, DRAG), gap(MU, 0.0), gap(0.0, 0.0));
    for (losses, without) in [(&glide, 54.163_605_426_9), (&air, 50.571_519_307_5), (&both, 49.448_543_700_6)]
    {
        assert_relative_eq!(losses.gap_s, whole - without, max_relative = 1e-9);
        // the causes of the job sum to the difference of the times to 1e-6 s
        let sum: f64 = losses.by_cause_s().iter().sum();
        assert!((sum - losses.gap_s).abs() < 1e-6, "{sum} {}", losses.gap_s);
        assert!(losses.remainder_s.abs() < 1e-6, "{}", losses.remainder_s);
    }
    // what was taken away alone is the only cause: the other entries are rounding
    assert_relative_eq!(glide.by_cause_s()[1], whole - 54.163_605_426_9, max_relative = 1e-5);
    assert_relative_eq!(air.by_cause_s()[0], whole - 50.571_519_307_5, max_relative = 1e-5);
    // Shapley shares of the closed form; the means of both descents give nearly the same shares, of second order
    // in the gap: 1 %
    assert_relative_eq!(both.by_cause_s()[1], 1.195_996_047_46, max_relative = 0.01);
    assert_relative_eq!(both.by_cause_s()[0], 4.788_082_166_84, max_relative = 0.01);
}

#[test]
fn conserves_nothing_against_itself() {
    let t = incline();
    let s = slide(&t, MU, DRAG);
    let l = against(&t, &s, &s);
    // equal numbers subtract to exactly nothing
    assert!(l.gap_at_s.iter().chain(&l.lost_per_m_s).all(|v| *v == 0.0));
    assert!(l.sections.iter().all(|s| s.by_cause_s.iter().all(|v| *v == 0.0) && s.showed_s == 0.0));
    assert_eq!((l.gap_s, l.remainder_s), (0.0, 0.0));
}

/// The planned ride of the club's man on Quillmere.
fn prepared() -> Prepared<'static> {
    let s = scene();
    let ice = OnRunners::new(&s.setup, runner_tables(&s.setup).unwrap());
    let ready = Ready { track: &s.track, setup: &s.setup, constants: s.constants, launch: s.launch, ice };
    Prepared::new(ready, s.planned.clone(), s.setup.pilot.lag_s).unwrap()
}

fn traced(p: &Prepared<'_>, pieces: &[Piece]) -> Descent {
    let detail = Detail::Trace(spacing_to_finish_m(p.ready.track, 0.5));
    pieced(p, pieces, Precision::default(), detail)
}

/// Small faults in every corner, and nothing more.
fn background(track: &Track) -> Vec<Piece> {
    let sections = sections(track);
    let corner = |s: &&Section| s.corner.is_some();
    let one = |(i, s): (usize, &Section)| {
        // an uneven pattern without chance
        let x = (i as f64 * 2.4).sin();
        Piece { aim_m: 0.02 * x, amount: 1.0 + 0.05 * x, ..Piece::between(s.from_m, s.to_m) }
    };
    sections.iter().filter(corner).enumerate().map(one).collect()
}

#[test]
fn conserves_the_gap_of_planned_rides() {
    let p = prepared();
    let reference = traced(&p, &[]);
    let itself = against_of(&p, &reference, &traced(&p, &[])).unwrap();
    assert!(itself.gap_at_s.iter().chain(&itself.lost_per_m_s).all(|v| *v == 0.0)); // the same numbers
    let toe = Piece { toes: [0.6, 0.6], ..Piece::between(300.0, 340.0) };
    let wide = Piece { aim_m: 0.5, ..Piece::between(700.0, 1000.0) };
    for pieces in [background(p.ready.track), vec![toe], vec![wide], vec![toe, wide]] {
        let d = traced(&p, &pieces);
        let l = against_of(&p, &d, &reference).unwrap();
        let sum: f64 = l.by_cause_s().iter().sum();
        println!("gap {:.6} s, remainder {:.3e} s", l.gap_s, l.remainder_s);
        // an identity of the trace: rounding only
        assert!((sum + l.remainder_s - l.gap_s).abs() < 1e-9, "{sum} {} {}", l.remainder_s, l.gap_s);
        // wanted: channels sum to the gap to 1e-6 s, remainder below 2 % of the gap; 7e-9 s were measured
        assert!(l.remainder_s.abs() < 2e-8 && l.remainder_s.abs() < 0.02 * l.gap_s.abs());
        let showed: f64 = l.sections.iter().map(|s| s.showed_s).sum();
        assert!((showed - l.gap_s).abs() < 1e-9); // a sum of differences
        assert!((l.gap_at_s[l.gap_at_s.len() - 1] - l.gap_s).abs() < 1e-12);
    }
}

#[test]
fn trade_removing_the_cause_recovers_the_loss_in_ten_corners() {
    let p = prepared();
    let track = p.ready.track;
    let reference = traced(&p, &[]);
    let small = background(track);
    let before_s = traced(&p, &small).finish_time_s.unwrap();
    let detail = Detail::Trace(spacing_to_finish_m(track, 0.5));
    for corner in 0..10 {
        // a foot down for a third of a second and a line that is off: what a person does in a corner that goes
        // wrong; twenty times what the small faults in the same corner cost, which go with it
        let section = sections(track).into_iter().find(|s| s.corner == Some(corner)).unwrap();
        let entry_m = track.data.corners[corner].entry_m;
        let mut pieces = small.clone();
        pieces.push(Piece { aim_m: 0.15, ..Piece::between(section.from_m, section.to_m) });
        pieces.push(Piece { toes: [1.0, 0.0], ..Piece::between(entry_m, entry_m + 8.0) });
        let d = traced(&p, &pieces);
        let planted_s = d.finish_time_s.unwrap() - before_s;
        let began = std::time::Instant::now();
        let found = causes(&p, &pieces, &reference, &d, (Precision::default(), detail));
        let took = began.elapsed();
        let dearest =
            found.caused.iter().max_by(|a, b| a.alone_s.unwrap().total_cmp(&b.alone_s.unwrap())).unwrap();
        let recovered_s = dearest.recovered_s.unwrap();
        println!(
            "corner {}: planted {:.2} ms, caused {:.2}, recovered {:.2}, beyond each alone {:.2}, took {took:?}",
            section.name,
            1e3 * planted_s,
            1e3 * dearest.alone_s.unwrap(),
            1e3 * recovered_s,
            1e3 * found.together_s.unwrap(),
        );
        assert_eq!(found.sections[dearest.section].corner, Some(corner));
        // promised: 95 % or more; no more than 105 %, or it would be another fault that is taken away
        assert!((0.95..1.05).contains(&(recovered_s / planted_s)), "{recovered_s} {planted_s}");
        // where it showed sums to what it caused
        let showed: f64 = dearest.showed_s.iter().sum();
        assert!((showed - dearest.alone_s.unwrap()).abs() < 1e-9);
    }
}
