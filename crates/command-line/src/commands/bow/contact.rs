//! `sagitta bow contact`: how the runners touch the ice at 1 g and in each corner of a track.

use crate::commands::{Done, What};
use crate::files::{self, Output};
use crate::words::{CAUTION, every_fault, numbers, say};
use file_faults::cell::csv_line;
use pictures::contact_ink::{ContactRow, contact_ink};
use sled_dynamics::analysis::bow_contact::{MOST_BOW_M, PlaceContact, bow_contact};
use sled_dynamics::analysis::places::{Place, places};
use sled_dynamics::laws::on_runners::{OnRunners, runner_tables};
use sled_dynamics::motion::equations::Constants;
use sled_dynamics::motion::guided::guided;
use sled_dynamics::motion::launch::Launch;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::setup::Setup;
use std::path::PathBuf;
use track_geometry::track::Track;

/// Options of `bow contact`.
#[derive(clap::Args)]
pub struct Options {
    #[command(flatten)]
    what: What,
    /// Write the picture and the table into this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Prints and draws the contact.
pub fn contact(o: &Options) -> Done {
    let (track, read) = o.what.read()?;
    let setup = read.setup;
    let constants = Constants::new(&setup, &track.track.data);
    let places = guided_places(&track.track, &setup)?;
    let on_runners = OnRunners::new(&setup, runner_tables(&setup).map_err(every_fault)?);
    let rows = bow_contact(&setup, &constants, &on_runners, &places).map_err(every_fault)?;
    let mut text = format!(
        "{} on {}: contact of the runners, loads and speeds of a guided descent\n\n{}\n\n\
         bridging: more than half of the load outside the bow screws. Left/right where they differ.\n{}",
        setup.name,
        track.track.data.name,
        numbers(&HEADER, rows.iter().map(row)),
        margins(&rows)
    );
    if rows.iter().any(|r| r.least_clear_bow_m.is_none()) {
        text += &format!("none: no even bow up to {:.0} mm clears this corner.\n", MOST_BOW_M * 1e3);
    }
    say(&format!("{text}\n{CAUTION}\n"))?;
    if let Some(out) = &o.out {
        let ink: Vec<ContactRow> = rows.iter().filter_map(ink_row).collect();
        let title = format!("{} on {}: where the runners press", setup.name, track.track.data.name);
        let r = &setup.runners.both;
        let picture = contact_ink(&title, &ink, r.pin_m, r.screw_m).map_err(|e| e.to_string())?;
        let mut csv = csv_line(&HEADER.map(|h| h.replace(' ', "_")));
        for r in &rows {
            csv += &csv_line(&row(r));
        }
        let mut outputs = Vec::from(Output::picture(&picture));
        outputs.push(Output::new("contact.csv", csv));
        files::write_all(out, &outputs)?;
        tell!("written to {}", out.display());
    }
    Ok(0)
}

/// How far the tables that descents go by are from the static margin.
fn margins(rows: &[PlaceContact]) -> String {
    let both = rows.iter().filter_map(|r| Some((r.static_margin_m?, r.table_static_margin_m?)));
    let far = both.map(|(solved_m, table_m)| (solved_m - table_m).abs()).fold(0.0, f64::max);
    format!(
        "static margin: solved at each place, as in `balance`, `bow target` and `bow window`. Descents and turn authority go \
         by tables, whose static margin is up to {:.0} mm off here: the centre of grip moves by centimetres where stretches \
         of contact join, and tables round that off.\n",
        1e3 * far
    )
}

/// Flat ice at 1 g and each corner, at loads and speeds of a guided descent.
pub fn guided_places(track: &Track, setup: &Setup) -> Result<Vec<Place>, String> {
    let constants = Constants::new(setup, &track.data);
    let friction = setup.ice.guided_friction;
    let launch = Launch::from_push(&setup.push, track, &constants, friction).map_err(|e| e.to_string())?;
    let detail = Detail::Trace(0.5);
    let descent = guided(track, &constants, &launch, friction, Precision::default(), detail);
    Ok(places(track, &constants, &descent))
}

const HEADER: [&str; 11] = [
    "place",
    "load g",
    "ice radius m",
    "touch span m",
    "groove share",
    "outside screws",
    "bridging",
    "greatest stress MPa",
    "static margin mm",
    "turn authority 1/km",
    "least clear bow mm",
];

fn row(r: &PlaceContact) -> Vec<String> {
    let each = |of: &dyn Fn(&ice_contact::patches::Contact) -> String| {
        let [left, right] = r.runners.each_ref().map(|c| c.as_ref().map_or("unsolved".into(), of));
        if left == right { left } else { format!("{left}/{right}") }
    };
    let curvature = r.place.ice_curvature_per_m;
    vec![
        r.place.name.clone(),
        format!("{:.2}", r.place.g_load),
        if curvature.abs() < 1e-6 { "flat".into() } else { format!("{:.1}", 1.0 / curvature) },
        each(&|c| format!("{:.3}", c.touch_span_m)),
        each(&|c| format!("{:.2}", c.groove_share)),
        each(&|c| format!("{:.2}", c.outside_share)),
        each(&|c| if c.is_bridging() { "yes".into() } else { "no".into() }),
        each(&|c| format!("{:.0}", c.greatest_stress_pa / 1e6)),
        r.static_margin_m.map_or("unsolved".into(), |m| format!("{:.0}", m * 1e3)),
        r.turn_authority_per_m.map_or("-".into(), |a| format!("{:.2}", a * 1e3)),
        r.least_clear_bow_m.map_or("none".into(), |b| format!("{:.1}", b * 1e3)),
    ]
}

fn ink_row(r: &PlaceContact) -> Option<ContactRow> {
    let [Some(left), Some(right)] = &r.runners else { return None };
    let radius = if r.place.ice_curvature_per_m.abs() < 1e-6 {
        "flat ice".to_string()
    } else {
        format!("ice radius {:.0} m", 1.0 / r.place.ice_curvature_per_m)
    };
    let name = if r.place.station_m == 0.0 { "straight".to_string() } else { r.place.name.clone() };
    Some(ContactRow {
        label: format!("{name}: {:.1} g, {radius}", r.place.g_load),
        points_m: left.points_m.clone(),
        line_load_n_m: [left.line_load_n_m.clone(), right.line_load_n_m.clone()],
    })
}
