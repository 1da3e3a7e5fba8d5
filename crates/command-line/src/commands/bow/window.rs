//! `sagitta bow window`: which bows neither bridge in the corners nor lose their static margin on the flat.

use super::contact::guided_places;
use super::wanted::{measured, stretches};
use super::window_over::{Asked, MOST_SHARE, corner, stretches_of, window_over, window_over_sets};
use super::window_rides::{self, Ridden, Rides, advice, cells};
use crate::commands::calibrated::{CalibrationOption, UNMEASURED, UnmeasuredOption};
use crate::commands::unknowns::UnknownsOption;
use crate::commands::{Done, What};
use crate::files::{self, Output};
use crate::interrupt::{self, INTERRUPTED};
use crate::number::within;
use crate::words::{CAUTION, every_fault, numbers, say};
use ice_contact::runner::Bow;
use pictures::bow_window::{IceWindow, WindowLimits, bow_window};
use sled_bench::passing::Stretch;
use sled_dynamics::analysis::bow_contact::MOST_BOW_M;
use sled_dynamics::analysis::bow_measures::{BowMeasure, bow_measures};
use sled_dynamics::analysis::places::Place;
use sled_dynamics::setup::Setup;
use std::path::PathBuf;
use sweep_runner::plausible::chosen::{OF_CONTACT, OF_RIDES};
use sweep_runner::plausible::points::axes_of;

/// Options of `bow window`.
#[derive(clap::Args)]
pub struct Options {
    #[command(flatten)]
    what: What,
    /// Ice temperatures to look at [default: that of the set-up]
    #[arg(long, value_name = "DEGC,...", value_delimiter = ',', allow_hyphen_values = true, value_parser = within(-40.0, 0.0, "degC"))]
    ice_temperatures: Vec<f64>,
    /// Only these corners, for example the tightest [default: all]
    #[arg(long, value_name = "CORNER,...", value_delimiter = ',')]
    corners: Vec<String>,
    /// Least static margin at 1 g on flat ice: the default is six times the 5 mm to which a balance point is known
    #[arg(long, value_name = "MM", default_value_t = 30.0, allow_hyphen_values = true, value_parser = within(0.0, 300.0, "mm"))]
    least_margin: f64,
    #[command(flatten)]
    rides: Rides,
    #[command(flatten)]
    calibration: CalibrationOption,
    #[command(flatten)]
    unmeasured: UnmeasuredOption,
    #[command(flatten)]
    unknowns: UnknownsOption,
    /// Write the pictures and the table into this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Steps of the bows of the table and of the picture (m).
const STEP_M: f64 = 0.5e-3;
const FINE_STEP_M: f64 = 0.25e-3;

/// One bow on one ice.
struct Row {
    bow_m: f64,
    static_margin_m: f64,
    /// Greatest share outside the screws, and the corner it is in.
    share: f64,
    corner: String,
    /// Rides with this bow, where it was ridden.
    ridden: Option<Ridden>,
}

impl Row {
    /// Whether the row stands in the printed table.
    fn is_shown(&self) -> bool {
        let steps = self.bow_m / STEP_M;
        (steps - steps.round()).abs() < 1e-6
    }
}

/// What one ice allows.
struct OnIce {
    temperature_c: f64,
    rows: Vec<Row>,
    clear: Vec<Stretch>,
    stable: Vec<Stretch>,
    window: Vec<Stretch>,
    /// Corners that bridge at the greatest bow that keeps its margin.
    left_bridging: Vec<String>,
    /// What is not known does to it, in words.
    over: String,
}

/// Prints and draws the window of bow.
pub fn window(o: &Options) -> Done {
    let (track, mut read) = o.what.read()?;
    let mut used = o.calibration.put_on(&track, &mut read)?;
    let sets = o.unknowns.sets()?.unwrap_or_default();
    let setup = read.setup;
    let temperatures_c = temperatures(o, &setup)?;
    let mut places = guided_places(&track.track, &setup)?;
    let flat = places.remove(0);
    let names: Vec<String> = places.iter().map(|p| corner(p).to_string()).collect();
    if let Some(unknown) = o.corners.iter().find(|c| !names.contains(c)) {
        return Err(format!("--corners {unknown}: no such corner; allowed: {}", names.join(", ")));
    }
    places.retain(|p| o.corners.is_empty() || o.corners.iter().any(|c| c == corner(p)));
    if places.is_empty() {
        return Err(format!("{}: the track has no corners", track.track.data.name));
    }
    let (mut skill, store) = (o.rides.wanted()?, o.what.store());
    if let Some((used, level)) = used.as_mut().zip(skill.as_mut()) {
        *level = used.skilled(level);
    }
    let mut ices: Vec<OnIce> = temperatures_c
        .iter()
        .map(|&t| on_ice(&setup, t, &flat, &places, 1e-3 * o.least_margin))
        .collect::<Result<_, _>>()?;
    interrupt::has_something(skill.is_some());
    for ice in &mut ices {
        let mut setup = setup.clone();
        setup.ice.temperature_c = ice.temperature_c;
        for row in ice.rows.iter_mut().filter(|r| r.is_shown()) {
            if interrupt::asked() {
                break;
            }
            row.ridden = skill.as_ref().map(|skill| o.rides.at((&track, &store), &setup, skill, row.bow_m));
        }
    }
    let asked = Asked { track: &track.track, corners: &o.corners, least_margin_m: 1e-3 * o.least_margin };
    for ice in &mut ices {
        let mut setup = setup.clone();
        setup.ice.temperature_c = ice.temperature_c;
        // what the contact knows is asked of the window, what rides know of the rides
        let of_contact = o.unmeasured.unmeasured.then(|| axes_of(&OF_CONTACT));
        let of_rides = o.unmeasured.axes(&track.track, &[&setup], used.as_ref(), &OF_RIDES);
        let unmeasured = of_contact.zip(of_rides).map(|(c, r)| (c, r, UNMEASURED));
        let calibrated = used.as_ref().map(|u| {
            let of_rides = skill.as_ref().map_or(vec![], |level| u.axes_of_rides(level));
            (u.axes().to_vec(), of_rides, u.calibration.over())
        });
        for (of_window, axes, over) in calibrated.into_iter().chain(unmeasured) {
            ice.over += &window_over(&asked, &setup, &ice.window, &of_window, over);
            let axes = &axes;
            let ridden: Vec<_> =
                ice.rows.iter().filter_map(|r| Some((1e3 * r.bow_m, r.ridden.as_ref()?))).collect();
            if let Some(skill) = skill.as_ref().filter(|_| !ridden.is_empty()) {
                ice.over += &o.rides.over_points(&track, &setup, skill, &ridden, axes, over);
            }
        }
        if !sets.is_empty() {
            ice.over += &window_over_sets(&asked, &setup, &sets);
            let ridden: Vec<_> =
                ice.rows.iter().filter_map(|r| Some((1e3 * r.bow_m, r.ridden.as_ref()?))).collect();
            if let Some(skill) = skill.as_ref().filter(|_| !ridden.is_empty()) {
                ice.over += &o.rides.over_sets((&track, &setup), skill, &ridden, &sets);
            }
        }
    }
    interrupt::has_something(false);
    if interrupt::asked() {
        say("interrupted: bows without a time were not ridden\n\n")?;
    }
    let with = used.as_ref().map_or("", |u| &u.words);
    say(&report(o, &setup, (&track.track.data.name, with), &ices))?;
    if let Some(out) = &o.out {
        files::write_all(out, &outputs(o, &setup, &track.track.data.name, &ices)?)?;
        tell!("written to {}", out.display());
    }
    if interrupt::asked() {
        return Ok(INTERRUPTED);
    }
    Ok(u8::from(ices.iter().any(|ice| ice.window.is_empty())))
}

fn temperatures(o: &Options, setup: &Setup) -> Result<Vec<f64>, String> {
    if o.ice_temperatures.is_empty() {
        return Ok(vec![setup.ice.temperature_c]);
    }
    if setup.ice.hardness_pa.is_some() {
        let why = "the set-up states ice.hardness_mpa, which then depends on no temperature; take it out";
        return Err(format!("--ice-temperatures: {why}"));
    }
    Ok(o.ice_temperatures.clone())
}

fn on_ice(
    setup: &Setup,
    temperature_c: f64,
    flat: &Place,
    corners: &[Place],
    least_margin_m: f64,
) -> Result<OnIce, String> {
    let mut setup = setup.clone();
    setup.ice.temperature_c = temperature_c;
    let setup = &setup;
    // the greatest share; none if one of the corners cannot be solved
    let worst = |bow_m: f64| -> Option<(f64, String)> {
        let all: Option<Vec<BowMeasure>> =
            bow_measures(setup, Bow::even(bow_m), corners).ok()?.into_iter().collect();
        let shares =
            all?.into_iter().map(|m| m.outside_share).zip(corners.iter().map(|p| corner(p).to_string()));
        shares.max_by(|a, b| a.0.total_cmp(&b.0))
    };
    bow_measures(setup, Bow::even(0.0), &[]).map_err(every_fault)?;
    let margin = |b: f64| measured(setup, b, flat).map(|m| m.static_margin_m);
    let (clear, stable, window) = stretches_of(setup, &|b| worst(b).map(|w| w.0), &margin, least_margin_m);
    let looks = (MOST_BOW_M / FINE_STEP_M).round() as usize;
    let rows = (0..=looks).filter_map(|i| {
        let bow_m = i as f64 * FINE_STEP_M;
        let (share, corner) = worst(bow_m)?;
        Some(Row { bow_m, static_margin_m: margin(bow_m)?, share, corner, ridden: None })
    });
    let rows = rows.collect();
    let left_bridging = match stable.last() {
        Some(last) => {
            let there = bow_measures(setup, Bow::even(last.to_m), corners).map_err(every_fault)?;
            let bridges = |(p, m): (&Place, &Option<BowMeasure>)| {
                m.is_none_or(|m| m.outside_share > MOST_SHARE).then(|| corner(p).to_string())
            };
            corners.iter().zip(&there).filter_map(bridges).collect()
        }
        None => Vec::new(),
    };
    Ok(OnIce { temperature_c, rows, clear, stable, window, left_bridging, over: String::new() })
}

const HEADER: [&str; 8] = [
    "ice degC",
    "bow mm",
    "static margin mm",
    "greatest share outside",
    "in corner",
    "in the window",
    "time s",
    "P(control lost)",
];
/// Columns that are there without rides.
const WITHOUT_RIDES: usize = 6;

fn row(ice: &OnIce, r: &Row, columns: usize) -> Vec<String> {
    let inside = ice.window.iter().any(|s| s.from_m <= r.bow_m && r.bow_m <= s.to_m);
    let mut cells_of_row = vec![
        format!("{}", ice.temperature_c),
        format!("{:.1}", 1e3 * r.bow_m),
        format!("{:.0}", 1e3 * r.static_margin_m),
        format!("{:.2}", r.share),
        r.corner.clone(),
        if inside { "yes" } else { "no" }.to_string(),
    ];
    cells_of_row.extend(cells(r.ridden.as_ref()));
    cells_of_row.truncate(columns);
    cells_of_row
}

fn columns(ices: &[OnIce]) -> usize {
    let ridden = ices.iter().flat_map(|i| &i.rows).any(|r| r.ridden.is_some());
    if ridden { HEADER.len() } else { WITHOUT_RIDES }
}

fn report(o: &Options, setup: &Setup, (track, with): (&str, &str), ices: &[OnIce]) -> String {
    let which = if o.corners.is_empty() {
        "any corner".to_string()
    } else {
        format!("corner {}", o.corners.join(", "))
    };
    let mut text = format!(
        "{} on {track}: even bows that bridge in no corner looked at ({which}) and keep a static margin of {} mm at 1 g on \
         flat ice\nloads and speeds of a guided descent; bridging: more than half of the load outside the bow screws; \
         contact solved without tables (`bow contact` shows the margin of the tables, which descents go by)\n{with}\n",
        setup.name, o.least_margin
    );
    let columns = columns(ices);
    let table = ices
        .iter()
        .flat_map(|ice| ice.rows.iter().filter(|r| r.is_shown()).map(move |r| row(ice, r, columns)));
    text += &format!("{}\n\n", numbers(&HEADER[..columns], table));
    if columns > WITHOUT_RIDES {
        text += &o.rides.words();
    }
    for ice in ices {
        let ridden: Vec<_> =
            ice.rows.iter().filter_map(|r| Some((1e3 * r.bow_m, r.ridden.as_ref()?))).collect();
        if !ridden.is_empty() {
            let now_mm = sled_dynamics::setup::keys::get(setup, "runners.bow_mm");
            text += &format!("{} degC, by the rides: {}", ice.temperature_c, advice(&ridden, now_mm));
        }
        text += &format!(
            "{} degC: no bridging with {}; margin kept with {}\n",
            ice.temperature_c,
            stretches(&ice.clear),
            stretches(&ice.stable)
        );
        text += &match (ice.window.is_empty(), ice.stable.last()) {
            (false, _) => format!("  window: {}\n", stretches(&ice.window)),
            (true, None) => "  there is no such window: no bow keeps the margin\n".to_string(),
            (true, Some(last)) => format!(
                "  there is no such window; with {:.1} mm, the most that keeps the margin, the runners bridge in corner {}\n",
                1e3 * last.to_m,
                ice.left_bridging.join(", ")
            ),
        };
        text += &ice.over;
    }
    format!("{text}\n{CAUTION}\n")
}

fn outputs(o: &Options, setup: &Setup, track: &str, ices: &[OnIce]) -> Result<Vec<Output>, String> {
    let drawn: Vec<IceWindow> = ices
        .iter()
        .map(|ice| IceWindow {
            label: format!("ice {} degC", ice.temperature_c),
            bow_mm: ice.rows.iter().map(|r| 1e3 * r.bow_m).collect(),
            share: ice.rows.iter().map(|r| r.share).collect(),
            margin_mm: ice.rows.iter().map(|r| 1e3 * r.static_margin_m).collect(),
            window_mm: ice.window.iter().map(|s| [1e3 * s.from_m, 1e3 * s.to_m]).collect(),
        })
        .collect();
    let title = format!("{} on {track}: window of bow", setup.name);
    let limits = WindowLimits { most_share: MOST_SHARE, least_margin_mm: o.least_margin };
    let picture = bow_window(&title, &drawn, &limits).map_err(|e| e.to_string())?;
    let columns = columns(ices);
    let header = HEADER[..columns].join(",").replace(' ', "_");
    let rows =
        ices.iter().flat_map(|ice| ice.rows.iter().map(move |r| row(ice, r, columns).join(",") + "\n"));
    let mut outputs = Vec::from(Output::picture(&picture));
    outputs.push(Output::new("window.csv", header + "\n" + &rows.collect::<String>()));
    let of_ice = |(ice, drawn): (&OnIce, &IceWindow)| {
        let rows = ice.rows.iter().filter_map(|r| Some((1e3 * r.bow_m, r.ridden.clone()?)));
        (drawn.label.clone(), rows.collect())
    };
    let ridden: Vec<_> = ices.iter().zip(&drawn).map(of_ice).collect();
    let title = format!("{} on {track}: rides across the bow", setup.name);
    if let Some(picture) = window_rides::picture(&title, &ridden)? {
        outputs.extend(Output::picture(&picture));
    }
    Ok(outputs)
}
