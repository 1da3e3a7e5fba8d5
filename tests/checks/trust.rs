//! The table of `docs/trust.md` that says how far to trust the program: published figures beside simulated ones.
//! Calibration rows were used to choose a number; validation rows were not. Misses stay, and are asserted.

use crate::cli::sagitta;
use crate::made::{setup, shipped};
use serde_json::Value;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::setup::Setup;
use sweep_runner::rides::case::{Case, Model};
use track_geometry::track::Track;

struct Row {
    quantity: &'static str,
    /// Least and greatest published value.
    published: [f64; 2],
    /// How far outside still counts as met; where it comes from stands beside each row.
    allowed: f64,
    source: &'static str,
    role: &'static str,
    /// Nothing where control was lost on the way.
    simulated: Option<f64>,
    digits: usize,
    /// Whether the simulated value is known to be met.
    met: bool,
}

impl Row {
    /// Signed distance of the simulated value from the published range, 0 inside it.
    fn difference(&self) -> Option<f64> {
        let [least, greatest] = self.published;
        self.simulated.map(|s| s - s.clamp(least, greatest))
    }
}

/// Time of the guided estimate (s).
fn guided_s(track: &Track, setup: &Setup) -> Option<f64> {
    let (precision, detail) = (Precision::default(), Detail::Bare);
    Case { track, setup, model: Model::Guided, precision, detail }.descent().unwrap().finish_time_s
}

/// The summary of a planned ride, by the program itself: it plans with optimisation.
fn planned(track: &str, setup: &str, set: &[&str]) -> Value {
    let (track, setup) = (format!("tracks/{track}"), format!("examples/{setup}.toml"));
    let ride = ["descend", "--json", "--model", "planned", "--track", &track, "--setup", &setup];
    let output = sagitta(&[&ride, set].concat()).output().unwrap();
    serde_json::from_slice(&output.stdout).unwrap()
}

fn rows() -> Vec<Row> {
    let oskerdale = shipped("oskerdale");
    let woman = setup("clubs-woman", &[]);
    let fast = planned("oskerdale", "clubs-woman", &[]);
    let hers = planned("quillmere", "clubs-woman", &[]);
    let man = planned("oskerdale", "clubs-man", &[]);
    let his = planned("quillmere", "clubs-man", &[]);
    let number = |v: &Value, place: &str| v.pointer(place).and_then(Value::as_f64).unwrap();
    let time = |v: &Value| number(v, "/finish_time_s");
    let eyes = &oskerdale.data.eyes;
    let (first, last) = (eyes[0].station_m, oskerdale.finish_m());
    let mean = (last - first) / time(&fast);
    let z = |s: f64| oskerdale.surface.station(s).elevation_m;
    let fall_speed = (2.0 * 9.81 * (z(first) - z(last))).sqrt();
    let energy =
        |names: &[&str]| -> f64 { names.iter().map(|n| number(&fast, &format!("/energy_j/{n}"))).sum() };
    let lost = energy(&["air", "glide", "plough", "skid", "toe", "walls", "shaking"]);
    let ice = energy(&["glide", "plough", "skid", "shaking"]);
    let less_m2 = (woman.air.drag_area_m2 * 0.895).to_string();
    let less_set = setup("clubs-woman", &[("air.drag_area_m2", &less_m2)]);
    let guided_change =
        100.0 * (guided_s(&oskerdale, &less_set).unwrap() / guided_s(&oskerdale, &woman).unwrap() - 1.0);
    // nothing where control is lost
    let change = |track: &str, athlete: &str, as_set: &Value| {
        let setup = setup(athlete, &[]);
        let set = format!("air.drag_area_m2={}", setup.air.drag_area_m2 * 0.895);
        let faster = planned(track, athlete, &["--set", &set]);
        faster["finish_time_s"].as_f64().map(|t| 100.0 * (t / time(as_set) - 1.0))
    };
    let best = "best times and drops of four tracks, IBSF (secondary) and Alberta Skeleton Association";
    let less = |quantity, simulated| Row {
        quantity,
        published: [-1.0, -1.0],
        // another track and another athlete: a fifth, assumed
        allowed: 0.2,
        source: "China Sport Science 43(8) 2023",
        role: "calibration",
        simulated,
        digits: 2,
        met: true,
    };
    vec![
        less("time for 10.5 % less drag area, guided, Oskerdale (%)", Some(guided_change)),
        less("the same, planned ride, Oskerdale (%)", change("oskerdale", "clubs-woman", &fast)),
        less("the same, planned ride, Quillmere (%)", change("quillmere", "clubs-woman", &hers)),
        less("the same, planned ride of the man, Oskerdale (%)", change("oskerdale", "clubs-man", &man)),
        less("the same, planned ride of the man, Quillmere (%)", change("quillmere", "clubs-man", &his)),
        Row {
            quantity: "share of the lost energy that ice and shaking take, Oskerdale (%)",
            published: [40.0, 50.0],
            // "about 40" is read as to the nearest ten
            allowed: 5.0,
            source: "University of Southampton 2017; Seymour-Pierce et al. 2017",
            // the law of shaking was added to meet it
            role: "calibration",
            simulated: Some(100.0 * ice / lost),
            digits: 0,
            met: false,
        },
        Row {
            quantity: "mean speed between the first and last eye, Oskerdale (m/s)",
            published: [26.5, 27.9],
            // the last digit of the published figures
            allowed: 0.05,
            source: best,
            role: "validation",
            simulated: Some(mean),
            digits: 1,
            met: false,
        },
        Row {
            quantity: "mean speed over sqrt(2 g drop), Oskerdale",
            published: [0.51, 0.60],
            // the sources differ on the drop, and the range is as wide as they differ
            allowed: 0.0,
            source: best,
            role: "validation",
            simulated: Some(mean / fall_speed),
            digits: 3,
            met: true,
        },
        Row {
            quantity: "greatest over mean speed, Oskerdale",
            published: [1.21, 1.46],
            // the last digit of the published figures
            allowed: 0.005,
            source: "two tracks, IBSF and press 2025 (secondary)",
            role: "validation",
            simulated: Some(number(&fast, "/top_speed_km_h") / 3.6 / mean),
            digits: 2,
            met: true,
        },
        Row {
            quantity: "women's over men's time, Quillmere",
            // 56.93/55.72 and 51.46/50.02
            published: [1.0217, 1.0288],
            // the last digit of the published times moves the ratio by 0.0003
            allowed: 0.0003,
            source: "best times of two tracks, IBSF (secondary) and Alberta Skeleton Association",
            role: "validation",
            simulated: Some(time(&hers) / time(&his)),
            digits: 4,
            met: false,
        },
        Row {
            quantity: "greatest load, Oskerdale (g)",
            published: [5.1, 5.1],
            // the last digit of the published figure
            allowed: 0.05,
            source: "one track, press 2025 (secondary)",
            role: "validation",
            simulated: Some(number(&fast, "/greatest_g_load")),
            digits: 1,
            met: false,
        },
    ]
}

fn table(rows: &[Row]) -> String {
    let mut text = String::from(
        "| quantity | published | simulated | difference | allowed | met | role | source |\n|---|---|---|---|---|---|---|---|\n",
    );
    for r in rows {
        let (d, difference) = (r.digits, r.difference());
        let met = difference.is_some_and(|x| x.abs() <= r.allowed);
        assert_eq!(met, r.met, "{}: {:?}", r.quantity, r.simulated);
        let [least, greatest] = r.published;
        let published =
            if least == greatest { format!("{least:.d$}") } else { format!("{least:.d$} to {greatest:.d$}") };
        let simulated = r.simulated.map_or("control lost".into(), |x| format!("{x:.d$}"));
        let difference = match difference {
            None => "-".into(),
            Some(0.0) => "inside".into(),
            // rounded to nothing it has no sign
            Some(x) => format!("{x:+.d$}").replace(&format!("-{:.d$}", 0.0), &format!("+{:.d$}", 0.0)),
        };
        text += &format!(
            "| {} | {published} | {simulated} | {difference} | {} | {} | {} | {} |\n",
            r.quantity,
            r.allowed,
            if met { "yes" } else { "no" },
            r.role,
            r.source
        );
    }
    text
}

#[test]
fn published_figures_stand_in_the_table_as_simulated() {
    let page = include_str!("../../docs/trust.md");
    let (_, rest) = page.split_once("<!-- trust:begin -->\n").expect("the page has the table");
    let (told, _) = rest.split_once("<!-- trust:end -->").expect("the page ends the table");
    let made = table(&rows());
    assert_eq!(told, made, "the table of the page should be\n{made}");
}
