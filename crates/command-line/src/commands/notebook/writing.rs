//! `sagitta notebook add`: an entry from what is said on the command line and from a set-up.

use super::kept::{keep, today};
use crate::commands::Done;
use crate::files::{self, key_value};
use crate::words::{every_fault, say};
use evidence::notebook::lines::Addition;
use evidence::notebook::{HEADINGS, Notebook, WRITTEN};
use evidence::sheet::read::read_sheet;
use sled_dynamics::setup::keys::{find, get};
use std::path::PathBuf;

/// Numbers of a set-up that a new notebook has columns for: what is changed at the bench.
pub const AT_THE_BENCH: [&str; 10] = [
    "runners.left.bow_front_mm",
    "runners.left.bow_rear_mm",
    "runners.right.bow_front_mm",
    "runners.right.bow_rear_mm",
    "sled.balance_point_mm",
    "sled.ballast_kg",
    "runners.roughness_um",
    "runners.groove_start_mm",
    "runners.groove_edge_radius_mm",
    "air.taping_factor",
];

/// Options of `notebook add`.
#[derive(clap::Args)]
pub struct Options {
    /// The notebook; created if there is none
    #[arg(value_name = "BOOK.csv")]
    book: PathBuf,
    /// Day, as 2026-01-17 [default: today by the clock, in UTC]
    #[arg(long, value_name = "DAY")]
    date: Option<String>,
    /// Time of day, as 9:40
    #[arg(long, value_name = "H:MM")]
    time_of_day: Option<String>,
    /// Track, by its name
    #[arg(long, value_name = "NAME")]
    track: Option<String>,
    /// Who rode
    #[arg(long, value_name = "NAME")]
    athlete: Option<String>,
    /// Number or name of the run
    #[arg(long, value_name = "RUN")]
    run: Option<String>,
    /// Set-up whose numbers are written down
    #[arg(long, value_name = "FILE")]
    setup: Option<PathBuf>,
    /// A number of the set-up (may be repeated); `sagitta keys` lists them
    #[arg(long = "set", value_name = "KEY=VALUE")]
    sets: Vec<String>,
    /// What the set-up is called [default: the name in its file]
    #[arg(long, value_name = "NAME")]
    set_up: Option<String>,
    /// The pair that is on
    #[arg(long, value_name = "NAME")]
    pair: Option<String>,
    /// Temperature of the ice (degC)
    #[arg(long, value_name = "C", allow_hyphen_values = true)]
    ice: Option<String>,
    /// Temperature of the air (degC)
    #[arg(long, value_name = "C", allow_hyphen_values = true)]
    air: Option<String>,
    /// Start time, first eye to second (s)
    #[arg(long, value_name = "S", allow_hyphen_values = true)]
    start: Option<String>,
    /// Finish from the first eye, as 55.12 or 0:55.12
    #[arg(long, value_name = "S", allow_hyphen_values = true)]
    finish: Option<String>,
    /// Any other column: an intermediate ("eye 3=18.05"), or one of your own; new ones are added
    #[arg(long, value_name = "HEADING=VALUE")]
    put: Vec<String>,
    /// What is to be remembered
    #[arg(long, value_name = "TEXT")]
    notes: Option<String>,
}

/// Writes an entry.
pub fn add(o: &Options) -> Done {
    let addition = entry(o)?;
    let headings: Vec<&str> =
        HEADINGS.iter().chain(&AT_THE_BENCH).copied().chain(["notes", WRITTEN]).collect();
    check(o, &addition)?;
    let kept = keep(&o.book, &headings, &addition)?;
    if !kept.new_columns.is_empty() {
        tell!("new columns: {}", kept.new_columns.join(", "));
    }
    say(&format!("entry {} is in {}\n", kept.entry, o.book.display()))?;
    Ok(0)
}

/// A number without the noise of its unit.
fn plain(value: f64) -> String {
    format!("{}", (1e9 * value).round() / 1e9)
}

fn entry(o: &Options) -> Result<Addition, String> {
    let mut all = Addition::default();
    all.put("date", o.date.clone().unwrap_or_else(today));
    if let Some(path) = &o.setup {
        let sets = o.sets.iter().map(|s| key_value(s)).collect::<Result<Vec<_>, _>>()?;
        let setup = files::setup(Some(path), &sets)?.setup;
        // what was set on the command line is another set-up than that of the file
        all.put("set_up", [std::slice::from_ref(&setup.name), &o.sets[..]].concat().join(", "));
        if let Some((_, pair)) = setup.name.rsplit_once(", pair ") {
            all.put("pair", pair);
        }
        all.put("mass_kg", plain(setup.sled.mass_kg()));
        for key in AT_THE_BENCH {
            if let Some(value) = get(&setup, key) {
                all.put(key, plain(value));
            }
        }
    }
    for text in &o.sets {
        let (path, value) = key_value(text)?;
        let key = find(&path).map_err(|p| format!("--set {text}: {p}"))?;
        let number = key.number().ok_or(format!("--set {text}: takes no number; name it by --set-up"))?;
        let read = value.parse::<f64>().map_err(|_| format!("--set {text}: allowed {}", key.allowed()))?;
        number.check(read).map_err(|p| format!("--set {text}: {p}"))?;
        // a shorthand stands for several columns
        match number.replaces {
            several if several.len() > 1 => several.iter().for_each(|k| all.put(k, plain(read))),
            _ => all.put(key.path, plain(read)),
        }
    }
    let said = [
        ("time_of_day", &o.time_of_day),
        ("track", &o.track),
        ("athlete", &o.athlete),
        ("run", &o.run),
        ("set_up", &o.set_up),
        ("pair", &o.pair),
        ("ice_c", &o.ice),
        ("air_c", &o.air),
        ("start_s", &o.start),
        ("finish_s", &o.finish),
    ];
    for (heading, text) in said {
        if let Some(text) = text {
            all.put(heading, text.trim());
        }
    }
    for text in &o.put {
        match text.split_once('=') {
            Some((heading, value)) if !heading.trim().is_empty() => all.put(heading.trim(), value.trim()),
            _ => {
                return Err(format!(
                    "--put {text}: read no HEADING=VALUE; for example --put \"eye 3=18.05\""
                ));
            }
        }
    }
    if let Some(notes) = &o.notes {
        all.put("notes", notes.trim());
    }
    if all.cells.len() == 1 {
        return Err("nothing to write down; say a run, a set-up or --notes".into());
    }
    Ok(all)
}

/// What a timing sheet would refuse is refused before it stands in the notebook.
fn check(o: &Options, addition: &Addition) -> Result<(), String> {
    let mut whole = addition.clone();
    // a sheet needs both; an entry may have neither
    for (heading, stand_in) in [("run", "1"), ("finish_s", "60")] {
        if whole.get(heading).is_none() {
            whole.put(heading, stand_in);
        }
    }
    let headings: Vec<&str> = whole.cells.iter().map(|(h, _)| h.as_str()).collect();
    let begun = Notebook::begun(&headings);
    let empty = Notebook::read("", &begun).map_err(|f| f.to_string())?;
    let text = match empty.fit(&begun, &whole) {
        evidence::notebook::lines::Fit::Append(more) => begun + &more,
        evidence::notebook::lines::Fit::Replace(text) => text,
    };
    let book = Notebook::read("", &text).map_err(|f| f.to_string())?;
    let sheet = book.sheet(&book.rows.iter().collect::<Vec<_>>());
    let name = format!("an entry for {}", o.book.display());
    let read = read_sheet(&name, &sheet).map_err(every_fault)?;
    let told: Vec<String> = read
        .faults
        .iter()
        .map(|f| format!("{}: got {}; allowed: {}", f.place.key.as_deref().unwrap_or(""), f.got, f.allowed))
        .collect();
    if told.is_empty() { Ok(()) } else { Err(format!("this entry cannot be written\n{}", told.join("\n"))) }
}
