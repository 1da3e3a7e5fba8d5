//! A pair of a runner library on a set-up: what it changes, what its unknown numbers leave open.

use crate::bench::{says, told};
use crate::cli::sagitta;
use sled_dynamics::setup::file::read_setup;
use std::fs;

const LIBRARY: &str = "examples/runners.toml";

/// The set-up and the bands that `--put` writes.
fn put(library: &str, pair: &str, more: &[&str]) -> (String, String, String) {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    let arguments = [&["runners", library, "--put", pair, "--out", out], more].concat();
    let output = sagitta(&arguments).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let read = |name: &str| fs::read_to_string(folder.path().join(name)).unwrap();
    (String::from_utf8(output.stdout).unwrap(), read("setup.toml"), read("bands.csv"))
}

/// A column of a row of the bands.
fn figure(bands: &str, row: &str, column: &str) -> f64 {
    let place = bands.lines().next().unwrap().split(',').position(|h| h == column).unwrap();
    let line = bands.lines().find(|l| l.starts_with(row)).unwrap_or_else(|| panic!("{row} in\n{bands}"));
    line.split(',').nth(place).unwrap().parse().unwrap()
}

#[test]
fn exact_a_pair_on_a_set_up_is_its_record() {
    let (said, text, _) = put(LIBRARY, "A", &[]);
    let setup = read_setup("setup.toml", &text, &[]).unwrap();
    assert_eq!(setup.name, "Club's woman, pair A");
    let r = &setup.runners;
    // the numbers of the library, in metres
    approx::assert_abs_diff_eq!(r.both.diameter_m, 15.97e-3, epsilon = 1e-15);
    approx::assert_abs_diff_eq!(r.left_free_bow_m, 0.1e-3, epsilon = 1e-15);
    assert_eq!(r.right_free_bow_m, 0.0);
    // what is not known is taken as usual, and said
    approx::assert_abs_diff_eq!(r.both.groove_edge_radius_m, 0.3e-3, epsilon = 1e-15);
    says(&said, &["15.95 to 15.99", "(0.3)", "0.152 to 0.594", "not used"]);
    // of another pair the set-up knows nothing, even where it had a value
    let (said, text, _) = put(LIBRARY, "C", &["--set", "runners.roughness_um=1"]);
    let setup = read_setup("setup.toml", &text, &[]).unwrap();
    assert_eq!(setup.name, "Club's woman, pair C");
    approx::assert_abs_diff_eq!(setup.runners.both.roughness_m, 0.25e-6, epsilon = 1e-18);
    says(&said, &["roughness_um           1           (0.25)"]);
}

#[test]
fn exact_bands_are_the_swings_of_each_number_added() {
    let (said, _, bands) = put(LIBRARY, "C", &[]);
    for column in ["static_margin_mm", "touch_span_m", "friction_of_the_runners", "guided_time_s"] {
        let middle = figure(&bands, "as_taken", column);
        let (mut down, mut up) = (0.0_f64, 0.0_f64);
        let place = bands.lines().next().unwrap().split(',').position(|h| h == column).unwrap();
        let rows: Vec<(&str, f64)> = bands
            .lines()
            .skip(4)
            .map(|l| (l.split(',').next().unwrap(), l.split(',').nth(place).unwrap().parse().unwrap()))
            .collect();
        // six numbers enter, two ends each
        assert_eq!(rows.len(), 12, "{bands}");
        let mut most = ("", 0.0);
        for ends in rows.chunks(2) {
            let (low, high) = (middle.min(ends[0].1).min(ends[1].1), middle.max(ends[0].1).max(ends[1].1));
            down += (middle - low).powi(2);
            up += (high - middle).powi(2);
            if high - low > most.1 {
                most = (ends[0].0, high - low);
            }
        }
        // rounding
        approx::assert_relative_eq!(
            figure(&bands, "band95_from", column),
            middle - down.sqrt(),
            max_relative = 1e-9
        );
        approx::assert_relative_eq!(
            figure(&bands, "band95_to", column),
            middle + up.sqrt(),
            max_relative = 1e-9
        );
        let name = column.replace('_', " ").replace(" mm", "");
        let line = said.lines().find(|l| l.starts_with(&name) && l.contains("95 %")).unwrap();
        assert!(line.contains(&format!("{} moves it most", most.0)), "{line}");
    }
    // a rougher runner rubs more, a sharper edge too
    let friction = |row: &str| figure(&bands, row, "friction_of_the_runners");
    assert!(
        friction("roughness_um,0.1") < friction("as_taken")
            && friction("roughness_um,0.4") > friction("as_taken")
    );
}

#[test]
fn trade_better_knowledge_makes_a_narrower_band() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("mine.csv");
    fs::write(
        &file,
        "pair,roughness_um,roughness_error_um,free_bow_left_mm,free_bow_left_error_mm,groove_start_mm,\
         groove_start_error_mm\nknown,0.25,0.01,0,0.02,0,2\nnot,,,,,,\n",
    )
    .unwrap();
    let width = |pair: &str, column: &str| {
        let (_, _, bands) = put(file.to_str().unwrap(), pair, &[]);
        figure(&bands, "band95_to", column) - figure(&bands, "band95_from", column)
    };
    for column in ["guided_time_s", "static_margin_mm"] {
        assert!(width("known", column) < 0.8 * width("not", column), "{column}");
    }
}

#[test]
fn exact_a_free_bow_of_the_set_up_enters_contact_and_margin() {
    use ice_contact::contact::{ContactSolver, Demand};
    use ice_contact::patches::Contact;
    use sled_dynamics::analysis::bow_measures::own_measure;
    use sled_dynamics::analysis::places::flat_place;
    use sled_dynamics::laws::on_runners::ice_state;
    let given = |text: &str| read_setup("x.toml", text, &[]).unwrap();
    let bent = given("[runners.left]\nfree_bow_mm = 0.4\n[runners.right]\nfree_bow_mm = 0.4\n");
    let straight = given("");
    let got = own_measure(&bent, &flat_place()).unwrap().unwrap();
    // a straight runner on ice that is rounded by 2 b / pin^2
    let mut solver =
        ContactSolver::new(&straight.runners.both, straight.runners.left, &ice_state(&straight.ice)).unwrap();
    let demand = Demand {
        load_n: 0.5 * 9.80665 * straight.sled.mass_kg(),
        ice_curvature_per_m: -2.0 * 0.4e-3 / 0.36_f64.powi(2),
        centroid_m: straight.sled.balance_point_m,
    };
    assert!(solver.solve(demand).is_balanced());
    let wanted = Contact::of(&solver, &straight.runners.both);
    // the solver ends within 1e-6 of the load, from another start
    approx::assert_abs_diff_eq!(got.touch_span_m, wanted.touch_span_m, epsilon = 1e-5);
    approx::assert_abs_diff_eq!(got.outside_share, wanted.outside_share, epsilon = 1e-4);
    assert!(got.touch_span_m < own_measure(&straight, &flat_place()).unwrap().unwrap().touch_span_m);
}

#[test]
fn cli_pairs_that_cannot_be_put_on_are_refused() {
    let (status, result, said, written) = told(&["runners", LIBRARY, "--put", "D"]);
    assert_eq!((status, result.as_str(), written), (Some(2), "", false));
    says(&said, &["--put D: examples/runners.toml has no such pair; allowed: A, B, C"]);
    let (status, _, said, written) = told(&["runners", LIBRARY, "--set", "runners.bow_mm=2"]);
    assert_eq!((status, written), (Some(2), false));
    says(&said, &["--set go with --put"]);
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("mine.csv");
    fs::write(&file, "pair,groove_start_mm,groove_edge_radius_mm\nlong,700,0.3\n").unwrap();
    let (status, result, said, written) = told(&["runners", file.to_str().unwrap(), "--put", "long"]);
    assert_eq!((status, result.as_str(), written), (Some(2), "", false));
    says(&said, &["pair long cannot be put on", "runners.groove_start_mm", "700", "420"]);
}
