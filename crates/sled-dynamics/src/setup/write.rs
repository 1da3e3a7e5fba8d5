//! A set-up as a commented file that a coach can edit.

use crate::setup::key::{Key, Kind, Number};
use crate::setup::keys::keys;
use crate::setup::{Friction, Setup};
use std::fmt::Write;

/// Longest comment on one line (bytes).
const LONGEST_COMMENT: usize = 100;

/// Writes a set-up with a line of comment for each key. Reading the text gives the same set-up, to the last bit
/// if it came from a file or was set by key.
pub fn write_setup(setup: &Setup) -> String {
    let mut text = String::new();
    let mut table = "";
    for key in keys().iter().filter(|key| !key.is_shorthand()) {
        if key.table() != table {
            table = key.table();
            line(&mut text, format_args!("\n[{table}]"));
        }
        let (doc, note) = (key.doc, note(key));
        let gap = if doc.len() + note.len() > LONGEST_COMMENT { "\n#   " } else { " " };
        line(&mut text, format_args!("# {doc}{gap}({note})"));
        match value(setup, key) {
            Some(value) => line(&mut text, format_args!("{} = {value}", key.name())),
            None => line(&mut text, format_args!("# {} =", key.name())),
        }
    }
    text
}

/// Writing to a string cannot fail.
fn line(text: &mut String, args: std::fmt::Arguments<'_>) {
    let _ = text.write_fmt(args);
    text.push('\n');
}

/// What is allowed, the default, and how well that is founded.
fn note(key: &Key) -> String {
    match &key.kind {
        Kind::Number(Number { default: Some(default), .. }) => {
            format!("{}; default {default}, {}", key.allowed(), key.source)
        }
        Kind::Number(_) => format!("{}; {}", key.allowed(), key.source),
        Kind::FrictionChoice => format!("{}; default \"film\"", key.allowed()),
        Kind::Name | Kind::FrictionTable => key.allowed(),
    }
}

/// Value of a key in TOML, if the set-up has one.
fn value(setup: &Setup, key: &Key) -> Option<String> {
    match (&key.kind, &setup.ice.friction) {
        (Kind::Number(number), _) => (number.get)(setup).map(|si| number.unit.of_si(si).to_string()),
        (Kind::Name, _) => Some(quoted(&setup.name)),
        (Kind::FrictionChoice, Friction::Film) => Some(quoted("film")),
        (Kind::FrictionChoice, Friction::Constant(_)) => Some(quoted("constant")),
        (Kind::FrictionChoice, Friction::Table(_)) => Some(quoted("table")),
        (Kind::FrictionTable, Friction::Table(rows)) => {
            let rows: Vec<String> = rows.iter().map(|(speed, mu)| format!("[{speed}, {mu}]")).collect();
            Some(format!("[{}]", rows.join(", ")))
        }
        (Kind::FrictionTable, _) => None,
    }
}

/// A text as TOML writes it between double quotes.
fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            c if c.is_control() => {
                let _ = write!(quoted, "\\u{:04X}", u32::from(c));
            }
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}
