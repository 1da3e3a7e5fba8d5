//! `sagitta balance`: saddle and ballast to balance point, load share and static margin.

use super::Done;
use super::rules::RuleOptions;
use crate::files::{self, key_value};
use crate::number::within;
use crate::words::{CAUTION, every_fault, numbers, say};
use sled_bench::balance::{Balance, Mass, Supports, balance, ballast_position_m, ballast_to_limit_kg};
use sled_dynamics::analysis::bow_measures::static_margin_m;
use sled_dynamics::analysis::places::flat_place;
use sled_dynamics::setup::Setup;
use std::path::PathBuf;

/// Options of `balance`.
#[derive(clap::Args)]
pub struct Options {
    /// File of the set-up: masses and balance point as they are [default: the invented club's woman, built in]
    #[arg(long, value_name = "FILE")]
    setup: Option<PathBuf>,
    /// Set a key of the set-up (may be repeated); `sagitta keys` lists them
    #[arg(long = "set", value_name = "KEY=VALUE")]
    sets: Vec<String>,
    /// Move the saddle, and the athlete with it, forward by this much; negative moves back (mm)
    #[arg(long, value_name = "MM", default_value_t = 0.0, allow_hyphen_values = true, value_parser = within(-300.0, 300.0, "mm"))]
    saddle: f64,
    /// Ballast to add; negative takes off (kg)
    #[arg(long, value_name = "KG", default_value_t = 0.0, allow_hyphen_values = true, value_parser = within(-60.0, 60.0, "kg"))]
    ballast: f64,
    /// Where that ballast sits, ahead of the middle of the runners; behind is negative (mm)
    #[arg(long, value_name = "MM", default_value_t = 0.0, allow_hyphen_values = true, value_parser = within(-600.0, 600.0, "mm"))]
    at: f64,
    /// And to the left of the middle; right is negative (mm)
    #[arg(long, value_name = "MM", default_value_t = 0.0, allow_hyphen_values = true, value_parser = within(-300.0, 300.0, "mm"))]
    aside: f64,
    /// Mass limit of athlete and sled that you looked up in the rules in force (kg)
    #[arg(long, value_name = "KG", allow_hyphen_values = true, value_parser = within(30.0, 300.0, "kg"))]
    limit: Option<f64>,
    /// Mass to keep free below the limit, for snow and water at the weighing (kg)
    #[arg(long, value_name = "KG", default_value_t = 0.3, allow_hyphen_values = true, value_parser = within(0.0, 5.0, "kg"))]
    snow: f64,
    /// Balance point to reach with ballast up to the mass limit (mm)
    #[arg(long, value_name = "MM", requires = "limit", allow_hyphen_values = true, value_parser = within(-250.0, 250.0, "mm"))]
    wanted: Option<f64>,
    #[command(flatten)]
    rules: RuleOptions,
}

/// How well a balance point on a dowel is known (m).
const DOWEL_M: f64 = 5e-3;

/// Prints the statics before and after.
pub fn balance_command(o: &Options) -> Done {
    let sets = o.sets.iter().map(|s| key_value(s)).collect::<Result<Vec<_>, _>>()?;
    let setup = files::setup(o.setup.as_deref(), &sets)?.setup;
    let rules = o.rules.read()?;
    // what is on the sled can come off, and no more
    let most_off_kg = setup.sled.ballast_kg;
    if o.ballast < -most_off_kg {
        return Err(format!(
            "--ballast {}: allowed -{most_off_kg} to 60 kg: no more is on the sled",
            o.ballast
        ));
    }
    let s = &setup.sled;
    let on =
        Supports { front_m: setup.runners.both.pin_m, rear_m: -setup.runners.both.pin_m, gauge_m: s.gauge_m };
    let now = Mass { mass_kg: s.mass_kg(), position_m: s.balance_point_m, aside_m: 0.0 };
    // a saddle moves the athlete: the same as the athlete's mass taken away behind and put back ahead
    let moved =
        Mass { position_m: s.balance_point_m + s.athlete_mass_kg * 1e-3 * o.saddle / s.mass_kg(), ..now };
    let before = balance(&[now], &on).map_err(every_fault)?;
    let mut after = before;
    if o.ballast >= 0.0 {
        let added = Mass { mass_kg: o.ballast, position_m: 1e-3 * o.at, aside_m: 1e-3 * o.aside };
        after = balance(&[moved, added], &on).map_err(every_fault)?;
    } else {
        let left_kg = s.mass_kg() + o.ballast;
        let without = |whole_m: f64, mm: f64| (s.mass_kg() * whole_m + o.ballast * 1e-3 * mm) / left_kg;
        let rest = Mass {
            mass_kg: left_kg,
            position_m: without(moved.position_m, o.at),
            aside_m: without(0.0, o.aside),
        };
        after = balance(&[rest], &on).map_err(every_fault).unwrap_or(after);
    }
    let mut text = format!("{}: balance on the dowel, level and at rest\n\n", setup.name);
    let header = [
        "",
        "mass kg",
        "balance point mm",
        "front %",
        "rear %",
        "left %",
        "right %",
        "static margin mm",
        "with 5 mm of doubt",
    ];
    let rows = [row("now", &setup, &before)?, row("then", &setup, &after)?];
    text += &format!("{}\n\n", numbers(&header, rows));
    text += "balance point ahead of the middle of the runners; load on scales under the pins; static margin at 1 g on flat \
             ice with the bow of the set-up, contact solved without tables (`bow contact` shows that of the tables, which \
             descents go by)\n";
    if after.balance_point_m.abs() > 0.25 {
        text += "this balance point is further out than any descent is computed for: 250 mm\n";
    }
    text += &to_the_limit(o, &after);
    // as it would then be weighed
    let mut then = setup.clone();
    then.sled.ballast_kg += o.ballast;
    text += &format!("{}\n", rules.mass_words(&then));
    say(&format!("{text}\n{CAUTION}\n"))?;
    Ok(0)
}

fn row(name: &str, setup: &Setup, b: &Balance) -> Result<Vec<String>, String> {
    let margin = |point_m: f64| -> Result<Option<f64>, String> {
        let mut there = setup.clone();
        there.sled.balance_point_m = point_m;
        there.sled.ballast_kg += b.mass_kg - setup.sled.mass_kg();
        static_margin_m(&there, &flat_place()).map_err(every_fault)
    };
    let mm = |m: Option<f64>| m.map_or("unsolved".to_string(), |m| format!("{:.0}", 1e3 * m));
    let x = b.balance_point_m;
    let ends = [margin(x - DOWEL_M)?, margin(x + DOWEL_M)?];
    let percent = |share: f64| format!("{:.1}", 100.0 * share);
    Ok(vec![
        name.to_string(),
        format!("{:.1}", b.mass_kg),
        format!("{:+.1}", 1e3 * x),
        percent(b.front_share),
        percent(1.0 - b.front_share),
        percent(b.left_share),
        percent(1.0 - b.left_share),
        mm(margin(x)?),
        format!("{} to {}", mm(ends[0]), mm(ends[1])),
    ])
}

fn to_the_limit(o: &Options, after: &Balance) -> String {
    let Some(limit_kg) = o.limit else { return String::new() };
    let room_kg = ballast_to_limit_kg(after.mass_kg, limit_kg, o.snow);
    let snow = format!("{} kg are kept free for snow", o.snow);
    if room_kg < 0.0 {
        return format!(
            "limit {limit_kg} kg as you say: {:.1} kg must come off ({snow}); not checked against any rule\n",
            -room_kg
        );
    }
    let mut text = format!(
        "limit {limit_kg} kg as you say: {room_kg:.1} kg of ballast may go on ({snow}); not checked against any rule\n"
    );
    if let Some(wanted_mm) = o.wanted {
        text += &match ballast_position_m(after, room_kg, 1e-3 * wanted_mm) {
            Some(place_m) if place_m.abs() <= 0.6 => format!(
                "to balance at {wanted_mm:+} mm it goes {:+.0} mm ahead of the middle\n",
                1e3 * place_m
            ),
            Some(place_m) => format!(
                "to balance at {wanted_mm:+} mm it would have to go {:+.0} mm ahead of the middle: off the sled; move the saddle\n",
                1e3 * place_m
            ),
            None => "no ballast may go on, so none can move the balance point\n".to_string(),
        };
    }
    text
}
