//! Checks of samples, tests and tables of the plausible set.

use super::bounds::*;
use super::table::{counts, header, kept_table, read_kept, row};
use super::tried::{Trial, Tried, bob_bow_m, bob_friction};
use super::*;
use ice_contact::free_shape::FreeShape;
use ice_contact::runner::{Bow, RunnerSpec};
use sled_dynamics::riding::errors_of_ride::SKILLS;
use sled_dynamics::setup::keys::get;

fn at(median_s: f64, sd_s: f64, lost: f64) -> AtBow {
    AtBow { median_s, sd_s: Some(sd_s), lost }
}

/// Medians over bow with the same spread and nothing lost.
fn over(medians_s: [f64; 5]) -> Vec<AtBow> {
    medians_s.map(|m| at(m, 0.2, 0.0)).to_vec()
}

#[test]
fn exact_samples_hang_on_seed_and_number_alone() {
    assert_eq!(Sample::of(3, 41), Sample::of(3, 41));
    assert_ne!(Sample::of(3, 41), Sample::of(4, 41));
    assert_ne!(Sample::of(3, 41), Sample::of(3, 42));
    let samples: Vec<Sample> = (0..256).map(|i| Sample::of(1, i)).collect();
    for (i, unknown) in UNKNOWNS.iter().enumerate() {
        let values = || samples.iter().map(|s| s.0[i]);
        assert!(values().all(|v| (unknown.low..=unknown.high).contains(&v)), "{}", unknown.name);
        // every quarter of the range by share holds a quarter of the points of a Sobol sequence; four digits
        // may push a few over a border
        let quarter = [0.25, 0.5, 0.75].map(|share| unknown.at(share));
        for q in 0..4 {
            let low = if q == 0 { f64::NEG_INFINITY } else { quarter[q - 1] };
            let high = if q == 3 { f64::INFINITY } else { quarter[q] };
            let many = values().filter(|v| *v >= low && *v < high).count();
            assert!((62..=66).contains(&many), "{} quarter {q}: {many} of 256", unknown.name);
        }
    }
}

#[test]
fn exact_middle_of_a_range_by_ratio_is_the_geometric_mean() {
    let edge = UNKNOWNS.iter().find(|u| u.name == "runners.groove_edge_radius_mm").unwrap();
    // sqrt(0.15 * 0.6) = 0.3 by hand
    assert_eq!((edge.at(0.0), edge.at(0.5)), (0.15, 0.3));
    let drag = UNKNOWNS.iter().find(|u| u.name == "air.drag_area_m2").unwrap();
    assert_eq!(drag.at(0.5), 0.0575);
}

#[test]
fn exact_a_sample_is_put_where_it_belongs() {
    let base = Setup::with_defaults("base");
    let sample = Sample::of(1, 7);
    let setup = sample.on(&base).unwrap();
    let value = |name: &str| {
        let i = UNKNOWNS.iter().position(|u| u.name == name).unwrap();
        sample.0[i]
    };
    for unknown in UNKNOWNS.iter().filter(|u| u.target == Target::Key) {
        let there = get(&setup, unknown.name).unwrap();
        // a unit there and back
        approx::assert_relative_eq!(there, value(unknown.name), max_relative = 1e-12);
    }
    let balance = get(&base, "sled.balance_point_mm").unwrap() + value("sled.balance_shift_mm");
    approx::assert_relative_eq!(get(&setup, "sled.balance_point_mm").unwrap(), balance, max_relative = 1e-12);
    // 14.7 + 0.6 * 5 MPa at the default of -5 degC, by hand
    let hardness = 17.7 * value("ice.hardness_factor");
    approx::assert_relative_eq!(get(&setup, "ice.hardness_mpa").unwrap(), hardness, max_relative = 1e-12);
    let elite = SKILLS[3];
    let skilled = sample.skilled(&elite);
    let (error, field) = (value("skill.error_factor"), value("skill.disturbance_factor"));
    assert_eq!((skilled.timing_s, skilled.sight_rad), (error * elite.timing_s, error * elite.sight_rad));
    assert_eq!(skilled.disturbance_n_m, field * elite.disturbance_n_m);
    // what is no error stays
    assert_eq!((skilled.lag_s, skilled.miss, skilled.start_s), (elite.lag_s, elite.miss, elite.start_s));
}

#[test]
fn exact_bow_of_a_bob_runner_has_its_radius() {
    let runner = RunnerSpec { mount_stiffness_n_per_m: 1e9, ..RunnerSpec::default() };
    // rigid mounts, four points: a = (L/2 + d/3) d / R less d^2/2 / R with arm d = 0.16 m, half span 0.36 m:
    // slope at the screw 0.2/R, then a moment that falls to nothing over 0.16 m: (0.2 * 0.16 + 0.16^2/3)/40
    let by_hand_m = (0.2 * 0.16 + 0.16 * 0.16 / 3.0) / 40.0;
    // mounts of 1e9 N/m against a rod of 1e5 N/m
    approx::assert_relative_eq!(bob_bow_m(&runner).unwrap(), by_hand_m, max_relative = 1e-3);
    let soft = RunnerSpec::default();
    let shape = FreeShape::of(&soft, Bow::even(bob_bow_m(&soft).unwrap())).unwrap();
    approx::assert_relative_eq!(shape.rise_curvature_per_m(0.05).abs(), 0.025, max_relative = 1e-6); // linear
}

#[test]
fn exact_tests_of_the_elite() {
    // 0.2 s of 55 s is 0.36 %
    assert_eq!(missed_by_elite(&over([56.0, 55.2, 55.0, 55.1, 55.4])), None);
    assert_eq!(missed_by_elite(&[AtBow::NO_RIDE; 5]), Some(Test::EliteLost));
    let mut loses = over([56.0, 55.2, 55.0, 55.1, 55.4]);
    loses[2].lost = 2.0 / 24.0;
    assert_eq!(missed_by_elite(&loses), Some(Test::EliteLost));
    // what is lost beside the best bow is not asked
    let mut beside = over([56.0, 55.2, 55.0, 55.1, 55.4]);
    beside[4].lost = 0.5;
    assert_eq!(missed_by_elite(&beside), None);
    for sd_s in [0.05, 0.6] {
        // 0.09 % and 1.09 %
        assert_eq!(missed_by_elite(&[at(55.0, sd_s, 0.0)]), Some(Test::EliteSpread));
    }
    assert_eq!(missed_by_elite(&[AtBow { median_s: 55.0, sd_s: None, lost: 0.0 }]), Some(Test::EliteSpread));
}

#[test]
fn exact_tests_of_the_club() {
    let elite = over([55.0, 54.5, 54.2, 54.1, 54.4]);
    let good = over([56.0, 55.2, 55.0, 55.1, 55.4]);
    assert_eq!(missed_by_club(&elite, &good), None);
    // falls without end, and the other way round
    assert_eq!(missed_by_club(&elite, &over([56.0, 55.5, 55.3, 55.1, 55.0])), Some(Test::InnerBest));
    assert_eq!(missed_by_club(&elite, &over([55.0, 55.1, 55.3, 55.4, 55.6])), Some(Test::InnerBest));
    // one end 0.04 s slower only
    assert_eq!(missed_by_club(&elite, &over([56.0, 55.2, 55.0, 55.1, 55.04])), Some(Test::EndsSlower));
    assert_eq!(missed_by_club(&elite, &over([55.04, 55.2, 55.0, 55.1, 55.4])), Some(Test::EndsSlower));
    // an end among lost rides is slower than any time
    let mut lost_end = good.clone();
    lost_end[4] = AtBow { median_s: f64::INFINITY, sd_s: None, lost: 0.6 };
    assert_eq!(missed_by_club(&elite, &lost_end), None);
    let mut loses = good.clone();
    loses[2].lost = 3.0 / 24.0;
    assert_eq!(missed_by_club(&elite, &loses), Some(Test::ClubLost));
    // the club's best at 5.5 mm, the elite's at 2.5
    let early = over([55.0, 54.1, 54.2, 54.3, 54.4]);
    assert_eq!(missed_by_club(&early, &over([56.0, 55.5, 55.3, 55.0, 55.4])), Some(Test::OrderedBySkill));
}

#[test]
fn exact_bounds_hold_their_ends_and_no_nan() {
    assert!(ICE_SHARE.holds(0.33) && ICE_SHARE.holds(0.52));
    assert!(!ICE_SHARE.holds(0.3299) && !ICE_SHARE.holds(0.5201) && !ICE_SHARE.holds(f64::NAN));
    // 1.00 % less time for 10.5 % less drag, as published, is let pass
    assert!(DRAG_ELASTICITY.holds(libm::log(0.99) / libm::log(1.0 - LESS_DRAG)));
}

#[test]
fn exact_tables_come_back_as_they_went() {
    let trial = Trial { pairs: &[], over_bow: 0, rides: 24, seed: 5, beyond_misses: false };
    let mut all = header(&trial);
    for number in 0..6 {
        let mut tried = Tried::begun(number, Sample::of(5, number), &trial);
        tried.bob_friction = Some(0.004);
        if number % 2 == 0 {
            (tried.missed, tried.why) = (vec![Test::BobFriction, Test::Planned], "corner 5, \"exit\"".into());
        }
        all += &row(&trial, "abc", &tried);
    }
    let kept = read_kept("kept.csv", &kept_table(&all)).unwrap();
    assert_eq!(kept.iter().map(|k| k.number).collect::<Vec<_>>(), [1, 3, 5]);
    for k in &kept {
        assert_eq!((k.seed, &k.sample), (5, &Sample::of(5, k.number)));
    }
    let (missed, many) = counts(&all);
    assert_eq!(many, 3);
    assert_eq!(
        missed.iter().filter(|m| m.1 > 0).collect::<Vec<_>>(),
        [&(Test::BobFriction, 3), &(Test::Planned, 3)]
    );
}

#[test]
fn exact_every_fault_of_a_kept_table_is_told() {
    let trial = Trial { pairs: &[], over_bow: 0, rides: 24, seed: 5, beyond_misses: false };
    let all = header(&trial) + &row(&trial, "abc", &Tried::begun(0, Sample::of(5, 0), &trial));
    let good = kept_table(&all);
    let drag = Sample::of(5, 0).0.last().unwrap().to_string();
    let bad = good.replace(&format!(",{drag}\n"), ",0.3\n").replace("\n0,5,", "\nx,5,");
    let faults = read_kept("kept.csv", &bad).unwrap_err();
    let told: Vec<_> = faults.iter().map(ToString::to_string).collect();
    let wanted = [
        "kept.csv, line 2 (sample): got no number or no seed; allowed: both, as whole numbers",
        "kept.csv, line 2, column 19 (air.drag_area_m2): got \"0.3\"; allowed: 0.045 to 0.07",
    ];
    assert_eq!(told, wanted);
    let other = good.replace("ice.wave_mm", "ice.wave_cm");
    assert_eq!(read_kept("kept.csv", &other).unwrap_err().len(), 1);
}

#[test]
fn published_shipped_samples_meet_the_friction_of_a_bob_runner() {
    // the cheapest of their tests, asked again: Poirier 2011b
    let kept = read_kept("plausible.csv", include_str!("../../../../examples/plausible.csv")).unwrap();
    assert!(kept.len() >= 30, "{}", kept.len());
    let text = include_str!("../../../../examples/clubs-woman.toml");
    let base = sled_dynamics::setup::file::read_setup("clubs-woman.toml", text, &[]).unwrap();
    for k in &kept {
        assert_eq!(k.sample, Sample::of(k.seed, k.number), "{}", k.number);
        let friction = bob_friction(&k.sample.on(&base).unwrap()).unwrap();
        assert!(BOB_FRICTION.holds(friction), "sample {}: {friction}", k.number);
    }
}
