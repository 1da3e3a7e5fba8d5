//! From the text of a set-up file and `--set` overrides to a checked set-up, or every fault at once.

use crate::setup::checks::{BendingStress, misfits};
use crate::setup::faults::{Fault, Faults, Problem};
use crate::setup::key::Kind;
use crate::setup::keys::{find, keys};
use crate::setup::table::CONSTANT_FRICTION;
use crate::setup::toml_text::entries_of_file;
use crate::setup::values::{Entry, Given, given_by_option};
use crate::setup::{Friction, Setup};
use file_faults::Place;

/// Reads a set-up. `file_name` is for messages, and its stem is the name of a set-up without one; `sets` are
/// keys and values of `--set KEY=VALUE`, which go before the file; the last of equal keys counts.
pub fn read_setup(file_name: &str, text: &str, sets: &[(String, String)]) -> Result<Setup, Faults> {
    read_setup_with_beam(file_name, text, sets, None)
}

/// Reads a set-up as [`read_setup`] does, and checks the bow against the yield stress where a beam is at hand.
pub fn read_setup_with_beam(
    file_name: &str,
    text: &str,
    sets: &[(String, String)],
    stress: Option<BendingStress<'_>>,
) -> Result<Setup, Faults> {
    let mut faults = Vec::new();
    let mut entries = entries_of_file(file_name, text, &mut faults);
    override_entries(&mut entries, sets, &mut faults);
    let mut setup = Setup::with_defaults(stem(file_name));
    for key in keys() {
        if let Some(entry) = entries.iter().find(|entry| entry.key.path == key.path) {
            apply(&mut setup, entry);
        }
    }
    choose_friction(&mut setup, &entries, &mut faults);
    exclude(&entries, &mut faults);
    let at_fault: Vec<String> = faults.iter().map(|fault| fault.key().to_owned()).collect();
    for misfit in misfits(&setup, stress) {
        if misfit.keys.iter().any(|&key| at_fault.iter().any(|f| f == key)) {
            continue; // its value is not the one that was meant
        }
        let entry = misfit.keys.iter().find_map(|&path| entries.iter().find(|entry| entry.key.path == path));
        let place = entry.map_or(Place::file(file_name), |entry| entry.place.clone());
        faults.push(Fault { place: place.named(misfit.key), problem: misfit.problem });
    }
    if faults.is_empty() {
        return Ok(setup);
    }
    // lines of the file, the file as a whole, options
    faults.sort_by_key(|Fault { place, .. }| {
        (place.line.is_none(), place.line, place.column, place.file != file_name)
    });
    Err(Faults(faults))
}

/// Puts `--set` values in the place of those of the file.
fn override_entries(entries: &mut Vec<Entry>, sets: &[(String, String)], faults: &mut Vec<Fault>) {
    for (path, value) in sets {
        let path = path.trim();
        let place = Place::file(&format!("--set {path}={value}")).named(path);
        let given = find(path).and_then(|key| given_by_option(key, value).map(|given| (key, given)));
        match given {
            Ok((key, given)) => {
                let replaces = key.number().map_or(&[][..], |number| number.replaces);
                entries.retain(|entry| {
                    let by_option = entry.place.line.is_none();
                    entry.key.path != key.path
                        && (!replaces.contains(&entry.key.path) || by_option && !key.is_shorthand())
                });
                entries.push(Entry { key, place, given });
            }
            Err(problem) => faults.push(Fault { place, problem }),
        }
    }
}

/// Puts one value into the set-up; friction has its own turn.
fn apply(setup: &mut Setup, entry: &Entry) {
    match (&entry.key.kind, &entry.given) {
        (Kind::Number(number), Given::Number(value)) if entry.key.path != "ice.constant_friction" => {
            (number.set)(setup, number.unit.to_si(*value));
        }
        (Kind::Name, Given::Text(name)) => setup.name.clone_from(name),
        _ => {}
    }
}

/// Friction by the choice. The other two may stand in the file unused, as long as the choice is written there.
fn choose_friction(setup: &mut Setup, entries: &[Entry], faults: &mut Vec<Fault>) {
    let entry = |path| entries.iter().find(|entry| entry.key.path == path);
    let (constant, table) = (entry("ice.constant_friction"), entry("ice.friction_table"));
    let choice = entry("ice.friction");
    let chosen = match choice.map(|entry| &entry.given) {
        Some(Given::Text(text)) => text.as_str(),
        _ => "film",
    };
    let choice_at_fault = faults.iter().any(|fault| fault.key() == "ice.friction");
    for (unused, needed) in [(constant, "constant"), (table, "table")] {
        let Some(unused) = unused else { continue };
        let by_option = unused.place.line.is_none();
        if chosen != needed && !choice_at_fault && (by_option || choice.is_none()) {
            let problem = Problem::NoEffect { other: "ice.friction", needed };
            faults.push(Fault { place: unused.place.clone(), problem });
        }
    }
    setup.ice.friction = match (chosen, constant.map(|e| &e.given), table.map(|e| &e.given)) {
        ("constant", Some(Given::Number(value)), _) => Friction::Constant(*value),
        ("constant", ..) => Friction::Constant(CONSTANT_FRICTION),
        ("table", _, Some(Given::Rows(rows))) => Friction::Table(rows.clone()),
        _ => Friction::Film,
    };
    let table_at_fault = faults.iter().any(|fault| fault.key() == "ice.friction_table");
    if let Some(choice) = choice
        && chosen == "table"
        && table.is_none()
        && !table_at_fault
    {
        let problem = Problem::Needs { read: "table", other: "ice.friction_table" };
        faults.push(Fault { place: choice.place.clone(), problem });
    }
}

/// Start time and top speed say the same; both are too many.
fn exclude(entries: &[Entry], faults: &mut Vec<Fault>) {
    let entry = |path| entries.iter().find(|entry| entry.key.path == path);
    if let (Some(_), Some(second)) = (entry("push.start_time_s"), entry("push.top_sprint_speed_m_s")) {
        let problem = Problem::BothGiven { other: "push.start_time_s" };
        faults.push(Fault { place: second.place.clone(), problem });
    }
}

/// File name without folders and ending.
fn stem(file_name: &str) -> &str {
    let name = file_name.rsplit(['/', '\\']).next().unwrap_or(file_name);
    let stem = name.strip_suffix(".toml").unwrap_or(name);
    if stem.is_empty() { "set-up" } else { stem }
}
