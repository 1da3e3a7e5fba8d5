//! Checks of the figures of an ensemble on times given by hand.

use super::*;
use crate::rides::mistakes::Mistakes;
use sled_dynamics::motion::descent::Loss;

fn of(times: &[Option<f64>]) -> Ensemble {
    let row = |t: &Option<f64>| RideRow {
        finish_time_s: *t,
        touches: usize::from(t.is_none()),
        lip_touches: 0,
        lost: t.is_none().then_some((100.0, Loss::Across)),
    };
    Ensemble { planned_time_s: None, rides: times.iter().map(row).collect() }
}

#[test]
fn exact_figures_by_hand() {
    let times: Vec<Option<f64>> = (1..=20).map(|i| Some(f64::from(i))).chain([None; 5]).collect();
    let f = of(&times).figures();
    // the numbers 1 to 20: mean 10.5, variance (20^2 - 1)/12 * 20/19 = 35; rounding
    approx::assert_abs_diff_eq!(f.mean_finished_s.unwrap().value, 10.5, epsilon = 1e-12);
    approx::assert_abs_diff_eq!(f.sd_finished_s.unwrap().value, 35.0_f64.sqrt(), epsilon = 1e-12);
    approx::assert_abs_diff_eq!(f.mean_finished_s.unwrap().error, (35.0_f64 / 20.0).sqrt(), epsilon = 1e-12);
    // 25 rides, the last five lost: the median is the 13th, one in ten the 2.4th place from zero
    approx::assert_abs_diff_eq!(f.median_s.unwrap().value, 13.0, epsilon = 1e-12);
    approx::assert_abs_diff_eq!(f.p10_s.unwrap().value, 3.4, epsilon = 1e-12);
    assert!(f.p90_s.unwrap().is_lost() && f.worst_tenth_s.unwrap().is_lost());
    approx::assert_abs_diff_eq!(f.lost.value, 0.2, epsilon = 1e-12);
    approx::assert_abs_diff_eq!(f.touches.value, 0.2, epsilon = 1e-12);
}

#[test]
fn order_error_of_the_mean_covers_nineteen_times_in_twenty() {
    // 400 ensembles of 30 normal times; how often the mean lies within 1.96 errors of the truth
    let mut inside = 0;
    for seed in 0..400 {
        let times: Vec<Option<f64>> =
            Mistakes::draw(seed, 3, 8).corners.iter().flat_map(|c| c[..3].to_vec()).map(Some).collect();
        let m = of(&times).figures().mean_finished_s.unwrap();
        inside += usize::from(m.value.abs() < 1.96 * m.error);
    }
    // with 24 times Student's law gives 93.7 %, that is 375 +- 5; four standard deviations
    assert!((355..=395).contains(&inside), "{inside} of 400");
}

#[test]
fn exact_lost_rides_rank_last() {
    let rides = |finished: u32, lost: usize| {
        let times: Vec<Option<f64>> =
            (1..=finished).map(|i| Some(f64::from(i))).chain(vec![None; lost]).collect();
        of(&times).figures()
    };
    // 19 of 21: nine in ten is place 18 from zero, the 19th, which finished; its neighbour did not
    let f = rides(19, 2);
    assert_eq!(f.p90_s.unwrap().value, 19.0);
    // one more lost of 21, and it falls among them
    assert!(rides(18, 3).p90_s.unwrap().is_lost());
    // about half of the resamples have three lost rides and more: no finite error, and never NaN
    assert_eq!(f.p90_s.unwrap().error, f64::INFINITY);
    // a few lost rides do not touch the error of the median, but move its place: (1..=19 and two) to the 11th
    assert_eq!(f.median_s.unwrap().value, 11.0);
    assert!(f.median_s.unwrap().error.is_finite() && f.median_s.unwrap().error > 0.0);
    // half lost: between the last that finished and the first lost there is no time
    assert!(rides(10, 10).median_s.unwrap().is_lost());
    let all = rides(0, 4);
    assert!(all.median_s.unwrap().is_lost() && all.mean_finished_s.is_none());
    assert_eq!((all.median_s.unwrap().error, all.lost.value), (f64::INFINITY, 1.0));
    // nobody lost: one in ten of twenty is the mean of the slowest two
    assert_eq!(rides(20, 0).worst_tenth_s.unwrap().value, 19.5);
    assert!(rides(99, 1).worst_tenth_s.unwrap().is_lost());
}
