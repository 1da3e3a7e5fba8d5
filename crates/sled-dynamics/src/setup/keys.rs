//! How a key of a set-up is found by its name, read and set.

use crate::setup::Setup;
use crate::setup::faults::{Fault, Problem};
use crate::setup::key::Key;
use crate::setup::table::KEYS;

pub use crate::setup::values::LONGEST_NAME;

/// Every key, in the order of a written set-up.
pub fn keys() -> &'static [Key] {
    KEYS
}

/// The key with a path.
pub fn find(path: &str) -> Result<&'static Key, Problem> {
    KEYS.iter().find(|key| key.path == path).ok_or_else(|| Problem::UnknownKey { nearest: nearest(path) })
}

/// Value of a key that takes a number, in the unit of the file; none where the set-up does without, or for any
/// other key.
pub fn get(setup: &Setup, path: &str) -> Option<f64> {
    let number = find(path).ok()?.number()?;
    (number.get)(setup).map(|si| number.unit.of_si(si))
}

/// Sets a key that takes a number, value in the unit of the file. Whether the numbers of a set-up fit together
/// is another question: see `setup_checks`.
pub fn set(setup: &mut Setup, path: &str, value: f64) -> Result<(), Fault> {
    let fault = |problem| Fault { place: file_faults::Place::file("value set").named(path), problem };
    let key = find(path).map_err(fault)?;
    let Some(number) = key.number() else {
        return Err(fault(Problem::WrongType { read: format!("the number {value}"), allowed: "text" }));
    };
    number.check(value).map_err(fault)?;
    if key.path == "ice.constant_friction" && (number.get)(setup).is_none() {
        return Err(fault(Problem::NoEffect { other: "ice.friction", needed: "constant" }));
    }
    (number.set)(setup, number.unit.to_si(value));
    Ok(())
}

/// Whether a path is a table of a set-up.
pub(crate) fn is_table(path: &str) -> bool {
    KEYS.iter()
        .any(|key| key.table() == path || key.table().strip_prefix(path).is_some_and(|r| r.starts_with('.')))
}

/// Keys that had another name before, and the name they have now.
const RENAMED: [(&str, &str); 1] = [("sled.frame_twist_n_m_per_rad", "sled.torsional_stiffness_n_m_per_rad")];

/// The key or table nearest to a path that is neither; the new name of one that was renamed.
pub(crate) fn nearest(path: &str) -> Option<String> {
    if let Some((_, now)) = RENAMED.iter().find(|(before, _)| *before == path) {
        return Some((*now).to_string());
    }
    let path: String = path.chars().take(80).collect();
    let (tables, leaf) = path.rsplit_once('.').unwrap_or(("", &path));
    let distance = |known: &str| {
        let (known_tables, known_leaf) = known.rsplit_once('.').unwrap_or(("", known));
        let goes_on =
            |begun: &str, whole: &str| whole.strip_prefix(begun).is_some_and(|r| r.starts_with('_'));
        // "left.bow" for runners.left.bow_front_mm: a part of the tables, and the beginning of the key
        let in_tables = tables.is_empty() || known_tables.split('.').any(|t| t == tables);
        if known_leaf == leaf || goes_on(&path, known) {
            1
        } else if in_tables && leaf.len() > 2 && goes_on(leaf, known_leaf) {
            2
        } else {
            edits(&path, known)
        }
    };
    let tables = KEYS.iter().map(Key::table).filter(|table| !table.is_empty());
    let (edits, known) = KEYS
        .iter()
        .map(|key| key.path)
        .chain(tables)
        .map(|known| (distance(known), known))
        .min_by_key(|c| c.0)?;
    (edits <= (path.chars().count() / 3).max(2)).then(|| known.to_string())
}

/// Least number of letters to insert, delete or change (Levenshtein).
fn edits(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let change = diagonal + usize::from(x != *y);
            diagonal = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}
