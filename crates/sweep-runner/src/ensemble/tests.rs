//! Checks of the figures of an ensemble on times given by hand.

use super::*;
use crate::mistakes::Mistakes;

fn of(times: &[Option<f64>]) -> Ensemble {
    let row = |t: &Option<f64>| RideRow {
        finish_time_s: *t,
        wall_touches: usize::from(t.is_none()),
        lost: t.is_none().then_some((100.0, Loss::Skidded)),
    };
    Ensemble { planned_time_s: None, rides: times.iter().map(row).collect() }
}

#[test]
fn exact_figures_by_hand() {
    let times: Vec<Option<f64>> = (1..=20).map(|i| Some(f64::from(i))).chain([None; 5]).collect();
    let f = of(&times).figures();
    // the numbers 1 to 20: mean 10.5, variance (20^2 - 1)/12 * 20/19 = 35; rounding
    approx::assert_abs_diff_eq!(f.mean_s.unwrap().value, 10.5, epsilon = 1e-12);
    approx::assert_abs_diff_eq!(f.sd_s.unwrap().value, 35.0_f64.sqrt(), epsilon = 1e-12);
    approx::assert_abs_diff_eq!(f.mean_s.unwrap().error, (35.0_f64 / 20.0).sqrt(), epsilon = 1e-12);
    // nine tenths of the way from the first to the twentieth: place 17.1 from zero
    approx::assert_abs_diff_eq!(f.p90_s.unwrap().value, 18.1, epsilon = 1e-12);
    approx::assert_abs_diff_eq!(f.worst_tenth_s.unwrap().value, 19.5, epsilon = 1e-12);
    approx::assert_abs_diff_eq!(f.lost.value, 0.2, epsilon = 1e-12);
    approx::assert_abs_diff_eq!(f.wall_touches.value, 0.2, epsilon = 1e-12);
}

#[test]
fn order_error_of_the_mean_covers_nineteen_times_in_twenty() {
    // 400 ensembles of 30 normal times; how often the mean lies within 1.96 errors of the truth
    let mut inside = 0;
    for seed in 0..400 {
        let times: Vec<Option<f64>> =
            Mistakes::draw(seed, 3, 8).corners.iter().flat_map(|c| c[..3].to_vec()).map(Some).collect();
        let m = of(&times).figures().mean_s.unwrap();
        inside += usize::from(m.value.abs() < 1.96 * m.error);
    }
    // with 24 times Student's law gives 93.7 %, that is 375 +- 5; four standard deviations
    assert!((355..=395).contains(&inside), "{inside} of 400");
}

#[test]
fn exact_mistakes_hang_on_seed_and_ride_alone() {
    assert_eq!(Mistakes::draw(7, 3, 14), Mistakes::draw(7, 3, 14));
    assert_ne!(Mistakes::draw(7, 3, 14), Mistakes::draw(7, 4, 14));
    assert_ne!(Mistakes::draw(7, 3, 14), Mistakes::draw(8, 3, 14));
    // fewer corners, the same mistakes in those that are left
    assert_eq!(Mistakes::draw(7, 3, 14).corners[..5], Mistakes::draw(7, 3, 5).corners[..]);
}
