//! Losses in milliseconds at the finish: weights, removal and shares on the incline, sums on real rides, and
//! causes planted and taken away again.

use crate::made::{constants, even, track};
use approx::assert_relative_eq;
use sled_dynamics::descent::Descent;
use sled_dynamics::equations::Constants;
use sled_dynamics::guided::guided;
use sled_dynamics::launch::Launch;
use sled_dynamics::losses::{Losses, Ridden, losses, spacing_to_finish_m};
use sled_dynamics::precision::{Detail, Precision};
use track_geometry::track::Track;

const TIGHT: Precision = Precision { tolerance: 1e-12, greatest_step_m: 1.0 };
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
    // in the gap: 5 %
    println!("glide {}, air {}", both.by_cause_s()[1], both.by_cause_s()[0]);
    assert_relative_eq!(both.by_cause_s()[1], 1.195_996_047_46, max_relative = 0.05);
    assert_relative_eq!(both.by_cause_s()[0], 4.788_082_166_84, max_relative = 0.05);
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
