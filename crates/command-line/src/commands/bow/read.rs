//! `sagitta bow read`: from caliper readings to the bow of each screw.

use super::caliper::{Calipers, name, warnings, zero};
use crate::commands::Done;
use crate::files::{self, Output, key_value};
use crate::words::{CAUTION, every_fault, numbers, say, table};
use file_faults::cell::csv_line;
use ice_contact::runner::Bow;
use pictures::Picture;
use pictures::bow_shape::{RunnerShape, bow_shape};
use sled_bench::bow_fit::{BowFit, MOST_ADVANCE_M, Zone};
use sled_bench::pair_fit::PairFit;
use sled_bench::unit_shape::UnitShape;
use sled_dynamics::setup::Setup;
use std::path::PathBuf;

/// Options of `bow read`.
#[derive(clap::Args)]
pub struct Options {
    /// Caliper distances: runner, point, distance_mm, error_mm, and where needed position_mm and state (bowed, reference)
    #[arg(value_name = "READINGS.csv")]
    readings: PathBuf,
    #[command(flatten)]
    calipers: Calipers,
    /// File of the set-up [default: the invented club's woman, built in]
    #[arg(long, value_name = "FILE")]
    setup: Option<PathBuf>,
    /// Set a key of the set-up (may be repeated); `sagitta keys` lists them
    #[arg(long = "set", value_name = "KEY=VALUE")]
    sets: Vec<String>,
    /// Write the picture, the tables and the set-up with the bow that was read into this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Half-width of a 95 % band over its standard error.
const BAND: f64 = 1.959964;

/// Prints and draws the fitted bow.
pub fn read(o: &Options) -> Done {
    let sets = o.sets.iter().map(|s| key_value(s)).collect::<Result<Vec<_>, _>>()?;
    let setup = files::setup(o.setup.as_deref(), &sets)?.setup;
    let pair = o.calipers.fit(&o.readings, &setup)?;
    let (text, serious) = told(&o.readings.display().to_string(), &setup, &pair)?;
    say(&format!("{text}\n{CAUTION}\n"))?;
    if let Some(out) = &o.out {
        let fits: Vec<&BowFit> = pair.fits.iter().flatten().collect();
        let screws: Vec<_> = fits.iter().flat_map(|fit| screw_rows(fit, &setup)).collect();
        let points: Vec<_> = fits.iter().flat_map(|fit| point_rows(fit)).collect();
        let mut outputs = Vec::from(Output::picture(&drawn(&setup, &pair)?));
        outputs.push(Output::new("bow.csv", csv(&SCREWS, &screws)));
        outputs.push(Output::new("points.csv", csv(&POINTS, &points)));
        match with_bows(&setup, &pair) {
            _ if serious => tell!("no setup.toml: the readings are in doubt"),
            Some(set) => outputs.push(files::setup_output("setup.toml", &set)?),
            None => tell!("no setup.toml: a set-up has bows from 0 to {:.0} mm", 1e3 * MOST_ADVANCE_M),
        }
        files::write_all(out, &outputs)?;
        tell!("written to {}", out.display());
    }
    Ok(u8::from(serious))
}

/// The bow that was read, drawn.
pub fn drawn(setup: &Setup, pair: &PairFit) -> Result<Picture, String> {
    let title = format!("Bow of {}", setup.name);
    let fits = pair.fits.iter().flatten();
    let shapes = fits.map(|fit| shape(fit, setup)).collect::<Result<Vec<_>, _>>()?;
    let r = &setup.runners.both;
    bow_shape(&title, &shapes, r.pin_m, r.screw_m).map_err(|e| e.to_string())
}

/// The bow that was read from a file of this name, in words, and whether the readings are in doubt.
pub fn told(file: &str, setup: &Setup, pair: &PairFit) -> Result<(String, bool), String> {
    let fits: Vec<&BowFit> = pair.fits.iter().flatten().collect();
    let screws: Vec<_> = fits.iter().flat_map(|fit| screw_rows(fit, setup)).collect();
    let points: Vec<_> = fits.iter().flat_map(|fit| point_rows(fit)).collect();
    let mut text = format!("{file}: bow of the runners of {}\n", setup.name);
    for fit in &fits {
        text += &format!("{}\n", zero(fit, setup));
    }
    text += &format!("\n{}\n\n{}\n", numbers(&SCREWS, screws), differences(pair));
    text += "\n";
    for fit in &fits {
        text += &middle(fit, setup)?;
    }
    let zones = fits.iter().flat_map(|fit| fit.zones.iter().map(|z| zone_row(fit, z)));
    text += &format!(
        "\n{}\n",
        table(&["runner", "stretch", "from mm", "to mm", "radius m", "95 % band m"], zones)
    );
    text += &format!("\n{}\n\n", numbers(&POINTS, points));
    for fit in &fits {
        if let Some(p) = fit.chi_square_probability.filter(|p| *p >= 0.01) {
            let side = name(fit.side);
            text += &format!("{side}: the readings scatter as their errors say (chance of more: {p:.2})\n");
        }
    }
    let (words, serious) = warnings(pair);
    for word in words {
        text += &format!("{word}\n");
    }
    Ok((text, serious))
}

const SCREWS: [&str; 7] =
    ["runner", "screw", "bow mm", "error mm", "95 % from mm", "95 % to mm", "set-up says mm"];
const POINTS: [&str; 9] = [
    "runner",
    "point",
    "place mm",
    "reading mm",
    "drop mm",
    "fitted mm",
    "residual mm",
    "error mm",
    "times its error",
];

fn csv(header: &[&str], rows: &[Vec<String>]) -> String {
    let name = |h: &&str| h.replace("95 % ", "band95_").replace([' ', '-'], "_");
    let header: Vec<String> = header.iter().map(name).collect();
    csv_line(&header) + &rows.iter().map(|r| csv_line(r)).collect::<String>()
}

fn screw_rows(fit: &BowFit, setup: &Setup) -> [Vec<String>; 2] {
    let r = &setup.runners;
    let said = if name(fit.side) == "left" { r.left } else { r.right };
    let errors = fit.errors_m();
    let row = |i: usize, screw: &str, bow_m: f64, said_m: f64| {
        let (bow, error) = (1e3 * bow_m, 1e3 * errors[i]);
        let mut cells = vec![name(fit.side).to_string(), screw.to_string()];
        cells.extend([bow, error].map(|v| format!("{v:.3}")));
        cells.extend([bow - BAND * error, bow + BAND * error, 1e3 * said_m].map(|v| format!("{v:.2}")));
        cells
    };
    [row(0, "front", fit.bow.front_m, said.front_m), row(1, "rear", fit.bow.rear_m, said.rear_m)]
}

fn differences(pair: &PairFit) -> String {
    let Some(both) = pair.differences else {
        return "one runner alone: nothing to compare".to_string();
    };
    let row = |(screw, d): (&str, &sled_bench::pair_fit::Difference)| {
        let words = if d.differs() { "differs" } else { "same within its error" };
        vec![
            screw.to_string(),
            format!("{:+.3}", 1e3 * d.difference_m),
            format!("{:.3}", 1e3 * d.error_m),
            words.to_string(),
        ]
    };
    table(
        &["left less right", "mm", "error mm", "left and right"],
        ["front", "rear"].into_iter().zip(&both).map(row),
    )
}

/// How far the middle stands below the pins, for those who speak of bow that way.
fn middle(fit: &BowFit, setup: &Setup) -> Result<String, String> {
    let unit = UnitShape::of(&setup.runners.both).map_err(every_fault)?;
    let [drop_m, error_m] = unit.middle_below_pins_m(fit.bow, &fit.covariance_m2);
    Ok(format!(
        "{}: the screws push the middle {:.2} +- {:.2} mm below the line through the pins\n",
        name(fit.side),
        1e3 * drop_m,
        1e3 * error_m
    ))
}

/// The set-up with the bows that were read; none where a set-up may not have them.
fn with_bows(setup: &Setup, pair: &PairFit) -> Option<Setup> {
    let mut set = setup.clone();
    for (fit, bow) in pair.fits.iter().zip([&mut set.runners.left, &mut set.runners.right]) {
        let Some(fit) = fit else { continue };
        let errors = fit.errors_m();
        let advances = [fit.bow.front_m, fit.bow.rear_m];
        if (0..2).any(|i| !(-3.0 * errors[i]..=MOST_ADVANCE_M).contains(&advances[i])) {
            return None;
        }
        // to a micrometre; what stands behind straight by less than its error is straight
        let [front_m, rear_m] = advances.map(|a| 1e-6 * (1e6 * a).round().max(0.0));
        *bow = Bow { front_m, rear_m };
    }
    Some(set)
}

/// No rod is told apart from a straight one by a longer radius (m): 8 um over half a metre.
const STRAIGHT_M: f64 = 1e4;

fn zone_row(fit: &BowFit, z: &Zone) -> Vec<String> {
    let (k, e) = (z.curvature_per_m, BAND * z.curvature_error_per_m);
    let (radius, band) = if k.abs() <= e {
        // the greatest curvature that the band allows bounds the radius
        (
            "straight within its error".to_string(),
            format!("above {:.0}", (1.0 / (k.abs() + e)).min(STRAIGHT_M)),
        )
    } else {
        let ends = [1.0 / (k.abs() + e), 1.0 / (k.abs() - e)];
        let hollow = if k < 0.0 { " (hollow)" } else { "" };
        let longest = if ends[1] < STRAIGHT_M { format!("to {:.1}", ends[1]) } else { "and more".into() };
        (format!("{:.1}{hollow}", 1.0 / k.abs()), format!("{:.1} {longest}", ends[0]))
    };
    let mm = |v: f64| format!("{:.0}", 1e3 * v);
    vec![name(fit.side).into(), z.name.into(), mm(z.from_m), mm(z.to_m), radius, band]
}

fn point_rows(fit: &BowFit) -> Vec<Vec<String>> {
    let row = |d: &sled_bench::bow_fit::MeasuredDrop| {
        let mut cells =
            vec![name(fit.side).to_string(), d.point.clone(), format!("{:.0}", 1e3 * d.position_m)];
        cells.push(format!("{:.2}", 1e3 * d.reading_m));
        cells.extend([d.drop_m, d.fitted_m].map(|v| format!("{:.3}", 1e3 * v)));
        cells.push(format!("{:+.3}", 1e3 * d.residual_m()));
        cells.push(format!("{:.3}", 1e3 * d.error_m));
        cells.push(format!("{:+.1}", d.residual_m() / d.error_m));
        cells
    };
    fit.drops.iter().map(row).collect()
}

fn shape(fit: &BowFit, setup: &Setup) -> Result<RunnerShape, String> {
    let [left, right] = setup.runners.pair();
    let (r, said) =
        if name(fit.side) == "left" { (&left, setup.runners.left) } else { (&right, setup.runners.right) };
    let unit = UnitShape::of(r).map_err(every_fault)?;
    let places_m: Vec<f64> = (0..=80).map(|i| r.tip_m * (f64::from(i) / 40.0 - 1.0)).collect();
    Ok(RunnerShape {
        label: format!("{} runner", name(fit.side)),
        drop_m: places_m.iter().map(|&x| unit.drop_m(fit.bow, x)).collect(),
        band_m: places_m.iter().map(|&x| BAND * unit.drop_error_m(&fit.covariance_m2, x)).collect(),
        said_m: places_m.iter().map(|&x| unit.drop_m(said, x)).collect(),
        readings_m: fit.drops.iter().map(|d| [d.position_m, d.drop_m, d.error_m]).collect(),
        places_m,
    })
}
