//! The table of the README that says how far to trust the program: published figures beside simulated ones.
//! Calibration rows were used to choose a number; validation rows were not. Misses stay, and are asserted.

use crate::made::{setup, shipped};
use sled_dynamics::descent::Descent;
use sled_dynamics::precision::{Detail, Precision};
use sled_dynamics::setup::Setup;
use sweep_runner::case::{Case, Model, Who};
use track_geometry::track::Track;

struct Row {
    quantity: &'static str,
    published: &'static str,
    source: &'static str,
    role: &'static str,
    simulated: f64,
    digits: usize,
    window: [f64; 2],
    /// Whether the simulated value is known to lie inside the published window.
    met: bool,
}

fn ride(track: &Track, setup: &Setup, model: Model) -> Descent {
    let case = Case { track, setup, model, precision: Precision::default(), detail: Detail::Trace(1.0) };
    case.descent().unwrap()
}

fn rows() -> Vec<Row> {
    let (oskerdale, quillmere) = (shipped("oskerdale"), shipped("quillmere"));
    let (woman, man) = (setup("clubs-woman", &[]), setup("clubs-man", &[]));
    let pilot = || Model::Runners(Who::FirstPilot);
    let fast = ride(&oskerdale, &woman, pilot());
    let (hers, his) = (ride(&quillmere, &woman, pilot()), ride(&quillmere, &man, pilot()));
    let time = |d: &Descent| d.finish_time_s.unwrap();
    let eyes = &oskerdale.data.eyes;
    let (first, last) = (eyes[0].station_m, oskerdale.finish_m());
    let mean = (last - first) / time(&fast);
    let z = |s: f64| oskerdale.surface.station(s).elevation_m;
    let fall_speed = (2.0 * 9.81 * (z(first) - z(last))).sqrt();
    let lost: f64 = fast.energy.lost_j.iter().sum();
    let ice: f64 = fast.energy.lost_j[1..4].iter().sum();
    let less = setup("clubs-woman", &[("air.drag_area_m2", &(woman.air.drag_area_m2 * 0.895).to_string())]);
    let change = |track: &Track, model: Model| {
        100.0 * (time(&ride(track, &less, model.clone())) / time(&ride(track, &woman, model)) - 1.0)
    };
    vec![
        Row {
            quantity: "time for 10.5 % less drag area, Quillmere (%)",
            published: "-1.00",
            source: "China Sport Science 43(8) 2023",
            role: "calibration",
            simulated: change(&quillmere, pilot()),
            digits: 2,
            window: [-1.2, -0.8],
            met: false,
        },
        Row {
            quantity: "the same, guided, Oskerdale (%)",
            published: "-1.00",
            source: "China Sport Science 43(8) 2023",
            role: "calibration",
            simulated: change(&oskerdale, Model::Guided),
            digits: 2,
            window: [-1.2, -0.8],
            met: true,
        },
        Row {
            quantity: "share of the lost energy that the runners take (%)",
            published: "30-50 (about 40)",
            source: "University of Southampton 2017; Seymour-Pierce et al. 2017",
            role: "validation",
            simulated: 100.0 * ice / lost,
            digits: 0,
            window: [30.0, 50.0],
            met: true,
        },
        Row {
            quantity: "mean speed between the first and last eye, Oskerdale (m/s)",
            published: "26.5-27.9, best times",
            source: "four tracks, as below; 23-28 taken as the window of a club athlete (assumed)",
            role: "validation",
            simulated: mean,
            digits: 1,
            window: [23.0, 28.0],
            met: true,
        },
        Row {
            quantity: "mean speed over sqrt(2 g drop), Oskerdale",
            published: "0.51-0.60",
            source: "four tracks, best times and drops, IBSF through secondary pages",
            role: "validation",
            simulated: mean / fall_speed,
            digits: 3,
            window: [0.51, 0.60],
            met: true,
        },
        Row {
            quantity: "greatest over mean speed, Oskerdale",
            published: "1.21-1.46",
            source: "two tracks, as above",
            role: "validation",
            simulated: fast.top_speed_m_s() / mean,
            digits: 2,
            window: [1.21, 1.46],
            met: true,
        },
        Row {
            quantity: "women's over men's time, Quillmere",
            published: "1.022-1.029",
            source: "two tracks, best times, IBSF and Alberta Skeleton Association",
            role: "validation",
            simulated: time(&hers) / time(&his),
            digits: 3,
            window: [1.0215, 1.0295],
            met: true,
        },
        Row {
            quantity: "greatest load, Oskerdale (g)",
            published: "5.1",
            source: "one track, press 2025, through secondary pages",
            role: "validation",
            simulated: fast.greatest_g_load(),
            digits: 1,
            window: [5.05, 5.15],
            met: false,
        },
    ]
}

fn table(rows: &[Row]) -> String {
    let mut text = String::from(
        "| quantity | published | simulated | inside? | role | source |\n|---|---|---|---|---|---|\n",
    );
    for r in rows {
        let inside = r.window[0] <= r.simulated && r.simulated <= r.window[1];
        assert_eq!(inside, r.met, "{}: {}", r.quantity, r.simulated);
        let inside = if inside { "yes" } else { "no" };
        text += &format!(
            "| {} | {} | {:.*} | {} | {} | {} |\n",
            r.quantity, r.published, r.digits, r.simulated, inside, r.role, r.source
        );
    }
    text
}

#[test]
fn published_figures_stand_in_the_readme_as_simulated() {
    let readme = include_str!("../../README.md");
    let (_, rest) = readme.split_once("<!-- trust:begin -->\n").expect("the README has the table");
    let (told, _) = rest.split_once("<!-- trust:end -->").expect("the README ends the table");
    let made = table(&rows());
    assert_eq!(told, made, "the table of the README should be\n{made}");
}
