//! Checks of pairs and verdicts on ensembles made by hand.

use super::*;
use crate::rides::ensemble::RideRow;
use crate::rides::words::paired_words;
use sled_dynamics::motion::descent::Loss;

fn of(times: &[Option<f64>]) -> Ensemble {
    let row = |t: &Option<f64>| RideRow {
        finish_time_s: *t,
        touches: 0,
        lip_touches: 0,
        lost: t.is_none().then_some((100.0, Loss::Across)),
    };
    Ensemble { planned_time_s: None, rides: times.iter().map(row).collect() }
}

/// `n` rides of which those with a number below `lost` are lost; the others take `time_s`, a little more each.
fn many(n: usize, lost: usize, time_s: f64) -> Ensemble {
    let time = |i: usize| (i >= lost).then_some(time_s + 0.001 * i as f64);
    of(&(0..n).map(time).collect::<Vec<_>>())
}

#[test]
fn exact_pairs_by_hand() {
    let a = of(&[Some(10.0), Some(11.0), None, Some(9.0), None]);
    let b = of(&[Some(10.5), Some(11.0), Some(12.0), None, None]);
    let p = paired(&a, &b);
    // differences -0.5, 0, +infinity, -infinity, and 0 for the ride lost with both: the median is 0
    assert_eq!((p.pairs, p.median_s, p.band_s), (5, Some(0.0), None));
    assert_eq!((p.finished_pairs, p.mean_finished_s.unwrap().value), (2, -0.25));
    assert_eq!((p.lost, p.lost_alone), ([2, 2], [1, 1]));
    // wins 1, 1/2, 0, 1, 1/2
    approx::assert_abs_diff_eq!(p.first_faster.value, 0.6, epsilon = 1e-12);
    let q = paired(&b, &a);
    assert_eq!((q.median_s, q.mean_finished_s.unwrap().value), (Some(0.0), 0.25));
    approx::assert_abs_diff_eq!(q.first_faster.value, 0.4, epsilon = 1e-12);
}

#[test]
fn published_band_of_a_median() {
    // ranks of the two-sided 95 % band of a median in any table of the sign test, e.g. Conover, Practical
    // Nonparametric Statistics: 6 -> 1, 10 -> 2, 20 -> 6, 40 -> 14; five values give none
    let ranks = [5, 6, 10, 20, 40].map(|n| band_rank(n, TAIL));
    assert_eq!(ranks, [None, Some(1), Some(2), Some(6), Some(14)]);
    // differences 1, 2, ... 10: from the second to the ninth
    let a = of(&(1..=10).map(|i| Some(20.0 + f64::from(i))).collect::<Vec<_>>());
    let p = paired(&a, &of(&[Some(20.0); 10]));
    assert_eq!((p.median_s, p.band_s), (Some(5.5), Some((2.0, 9.0))));
    // the band covers the true median in 19 of 20 draws and more
    let mut inside = 0;
    for seed in 0..400 {
        let draw = crate::rides::mistakes::Mistakes::draw(seed, 5, 20);
        let a: Vec<Option<f64>> = draw.corners.iter().map(|c| Some(100.0 + c[0])).collect();
        let (low, high) = paired(&of(&a), &of(&[Some(100.0); 20])).band_s.unwrap();
        inside += usize::from(low <= 0.0 && 0.0 <= high);
    }
    // P(6 <= B <= 14) of twenty is 95.9 %: 383.4 +- 4.0 of 400, four standard deviations
    assert!((367..=399).contains(&inside), "{inside} of 400");
}

#[test]
fn exact_lost_rides_are_the_slower() {
    // where both finish the first is faster by 1 s, yet it is lost in six rides of ten: not faster, and its median
    // and the upper end of its band lie among lost rides
    let p = paired(&many(10, 6, 49.0), &many(10, 0, 50.0));
    assert_eq!((p.median_s, p.band_s), (Some(f64::INFINITY), Some((-1.0, f64::INFINITY))));
    assert_eq!((p.finished_pairs, p.lost), (4, [6, 0]));
    approx::assert_abs_diff_eq!(p.mean_finished_s.unwrap().value, -1.0, epsilon = 1e-12);
    // six of six beyond chance: 1/64 is less than 0.025
    assert_eq!(p.verdict(0.0), Verdict::LosesMore);
    assert_eq!(paired(&many(10, 0, 50.0), &many(10, 6, 49.0)).verdict(0.0), Verdict::LosesLess);
    // nine of ten lost: slower, whatever the tenth took
    assert_eq!(paired(&many(10, 9, 40.0), &many(10, 0, 50.0)).verdict(0.0), Verdict::Slower);
    // half lost with one, the other half with the other: nobody is faster
    let halves = |first: bool| of(&(0..10).map(|i| ((i < 5) == first).then_some(50.0)).collect::<Vec<_>>());
    let p = paired(&halves(true), &halves(false));
    assert_eq!((p.median_s, p.verdict(0.0)), (Some(0.0), Verdict::CannotTell));
}

#[test]
fn exact_never_faster_by_losing_more() {
    let slow = |lost| many(100, lost, 50.0);
    let fast = |lost| many(100, lost, 49.0);
    let said = |a: &Ensemble, b: &Ensemble| (paired(a, b).verdict(0.0), paired(b, a).verdict(0.0));
    // a second faster, and none lost; a few lost with both; more lost, yet with the slower one
    assert_eq!(said(&fast(0), &slow(0)), (Verdict::Faster, Verdict::Slower));
    assert_eq!(said(&fast(8), &slow(8)), (Verdict::Faster, Verdict::Slower));
    assert_eq!(said(&fast(8), &slow(30)), (Verdict::Faster, Verdict::Slower));
    // five of a hundred more are not beyond chance (1/32) and within what is allowed
    assert_eq!(said(&fast(5), &slow(0)), (Verdict::Faster, Verdict::Slower));
    // six are beyond chance (1/64)
    assert_eq!(said(&fast(6), &slow(0)), (Verdict::LosesMore, Verdict::LosesLess));
    // one more than the other is no matter of chance, but more than 5 % of all: it is not called faster
    assert_eq!(said(&fast(9), &slow(8)), (Verdict::CannotTell, Verdict::CannotTell));
    // the times tell nothing, the losses do
    assert_eq!(said(&slow(12), &slow(0)), (Verdict::LosesMore, Verdict::LosesLess));
    // in words nothing is called faster that loses more than is allowed, however many the other loses
    let words = |a: &Ensemble, b: &Ensemble| {
        let p = paired(a, b);
        (p.verdict_words(p.verdict(0.0)), paired_words(&p, 0.0, ["a", "b"]).said)
    };
    assert_eq!(words(&fast(5), &slow(5)), ("faster", "a is faster".into()));
    let ahead =
        |name: &str| format!("{name} is ahead, yet it loses more than 5 % of its rides: not called faster");
    assert_eq!(words(&fast(6), &slow(6)), ("ahead, loses too many", ahead("a")));
    assert_eq!(words(&fast(8), &slow(30)), ("ahead, loses too many", ahead("a")));
    assert_eq!(words(&slow(6), &fast(6)), ("slower", ahead("b")));
}

#[test]
fn exact_verdicts_turn_round() {
    let slow = of(&[11.0, 11.1, 11.2, 11.1, 11.0, 11.2].map(Some));
    let fast = of(&[10.0, 10.1, 10.1, 10.0, 10.0, 10.0].map(Some));
    let (a, b) = (paired(&slow, &fast), paired(&fast, &slow));
    assert_eq!((a.verdict(0.0), b.verdict(0.0)), (Verdict::Slower, Verdict::Faster));
    assert_eq!(a.median_s.unwrap(), -b.median_s.unwrap());
    // an error of a second and more hides a difference of a second; one that is not known hides nothing
    assert_eq!(a.verdict(1.2), Verdict::CannotTell);
    assert_eq!(a.verdict(f64::INFINITY), Verdict::Slower);
    let one = of(&[Some(1.0), None]);
    let same = paired(&one, &one);
    assert_eq!((same.verdict(0.1), same.pairs, same.finished_pairs), (Verdict::Same, 2, 1));
    assert_eq!((same.first_faster.value, same.first_faster.error), (0.5, 0.0));
    let few = paired(&of(&[Some(1.0); 5]), &of(&[Some(2.0); 5]));
    assert_eq!((few.band_s, few.verdict(0.0)), (None, Verdict::CannotTell));
    let none = paired(&of(&[]), &of(&[]));
    assert_eq!((none.median_s, none.verdict(0.0)), (None, Verdict::CannotTell));
}

#[test]
fn exact_band_among_many_is_wider() {
    // ten differences 1, 2 .. 10 s: P(B < 2) = 11/1024 = 0.0107 lies between 0.025 and 0.025/3
    let (a, b) = (of(&(1..11).map(|i| Some(50.0 + f64::from(i))).collect::<Vec<_>>()), of(&[Some(50.0); 10]));
    assert_eq!(paired(&a, &b).band_s, Some((2.0, 9.0)));
    assert_eq!(paired_among(&a, &b, 2).band_s, Some((2.0, 9.0)));
    assert_eq!(paired_among(&a, &b, 3).band_s, Some((1.0, 10.0)));
    // P(B < 1) = 1/1024 is more than 0.025/26
    assert_eq!(paired_among(&a, &b, 26).band_s, None);
}
