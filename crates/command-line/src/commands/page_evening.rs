//! The evening and the caliper for the page: texts typed there, laid into a folder for as long as they are read.

use super::bow::caliper::Calipers;
use super::bow::read;
use super::evening;
use super::page_folder::Folder;
use crate::files;
use crate::plan_store::PlanStore;
use page::evening::{EveningTexts, EveningTold};
use std::fs;
use std::path::Path;
use sweep_runner::evening::plan_file::read_plan_file;

/// Files of an evening's texts.
const SETUP: &str = "setup.toml";
const READINGS: &str = "readings.csv";
const WITHOUT: &str = "readings-without-bow.csv";

/// A plan that the page begins with.
pub const PLAN: &str = "\
# Bow and set-up are those of the controls; readings below go before them.
# bows_mm = [2.5, 3.0, 3.5, 4.0]   # bows that are tried; left out: 2.5 to 5.5 mm by 0.5
skill = \"club\"                     # novice, club, national or elite
rides = 120                        # rides of each set-up, all with the same mistakes
seed = 1                           # seed of the mistakes
hours = 2                          # hours at the sled tonight
most_lost_percent = 5              # a set-up that loses control more often is out

[ice]                              # forecast for the race
temperature_c = -6
# spread_k = 3                     # how far the ice may be from it

[air]
temperature_c = -4
humidity_percent = 80
# temperature_spread_k = 3         # how far each may be from its forecast
# humidity_spread_percent = 10
# pressure_spread_hpa = 5

# [rules]                          # a limit that you looked up in the rules in force
# most_mass_kg = 102
# edition = \"looked up by the coach\"
";

/// The texts of an evening as files.
fn laid(texts: &EveningTexts) -> Result<Folder, String> {
    let mut files = vec![(SETUP, texts.setup.as_str())];
    for (name, text) in [(READINGS, &texts.readings), (WITHOUT, &texts.readings_without_bow)] {
        files.extend(text.as_deref().map(|t| (name, t)));
    }
    Folder::with(&files)
}

/// The plan with the files of the folder; one that names files of its own is refused.
fn plan(texts: &EveningTexts, track: Option<&Path>) -> Result<String, String> {
    let typed =
        read_plan_file("the plan", &texts.plan).map_err(|f| format!("this plan cannot be used\n{f}"))?;
    let files = [&typed.track, &typed.setup, &typed.library, &typed.readings, &typed.readings_without_bow];
    if files.iter().any(|f| f.is_some()) {
        return Err("the plan of the page names no files: track and set-up are those of the page, readings are typed; \
                    `sagitta evening PLAN.toml` takes files"
            .into());
    }
    let mut lines = format!("setup = \"{SETUP}\"\n");
    if let Some(track) = track {
        let whole = fs::canonicalize(track).map_err(|e| format!("{}: {e}", track.display()))?;
        // a TOML string in quotes has its own backslashes
        lines += &format!("track = {:?}\n", whole.display().to_string());
    }
    for (key, name, text) in [
        ("readings", READINGS, &texts.readings),
        ("readings_without_bow", WITHOUT, &texts.readings_without_bow),
    ] {
        if text.is_some() {
            lines += &format!("{key} = \"{name}\"\n");
        }
    }
    Ok(lines + &texts.plan)
}

/// An evening of the page.
pub fn evening(
    texts: &EveningTexts,
    track: Option<&Path>,
    store: &PlanStore,
    done: &(dyn Fn(usize, usize) + Sync),
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<EveningTold, String> {
    let text = plan(texts, track)?;
    let folder = laid(texts)?;
    let told = evening::answered(folder.path(), &text, store, stop, done);
    told.map(|(report, sheet)| EveningTold { report, sheet }).map_err(|why| folder.plain(&why))
}

/// Caliper readings of the page: what `bow read` says of them, and its drawing.
pub fn readings(texts: &EveningTexts) -> Result<(String, String), String> {
    if texts.readings.is_none() {
        return Err("no readings: runner, point, distance_mm and error_mm on each line".into());
    }
    let folder = laid(texts)?;
    let reference = texts.readings_without_bow.as_ref().map(|_| folder.path().join(WITHOUT));
    let read = || -> Result<(String, String), String> {
        let setup = files::setup(Some(&folder.path().join(SETUP)), &[])?.setup;
        let calipers = Calipers { reference, millimetres: false };
        let pair = calipers.fit(&folder.path().join(READINGS), &setup)?;
        Ok((read::told(READINGS, &setup, &pair)?.0, read::drawn(&setup, &pair)?.svg))
    };
    read().map_err(|why| folder.plain(&why))
}
