//! One value of a set-up file or of `--set`: read by the kind of its key, and held against its limits.

use crate::setup::faults::Problem;
use crate::setup::key::{FRICTIONS, Key, Kind};
use file_faults::Place;
use toml::de::DeValue;

/// A value as given, in the unit of the file.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Given {
    Number(f64),
    Text(String),
    Rows(Vec<(f64, f64)>),
}

/// A key that was given a good value, and where.
pub(crate) struct Entry {
    pub(crate) key: &'static Key,
    pub(crate) place: Place,
    pub(crate) given: Given,
}

/// Greatest length of a name (characters).
pub const LONGEST_NAME: usize = 80;
/// Fewest rows of a friction table.
const FEWEST_ROWS: usize = 2;
/// What a row of a friction table may be.
const ROW: &str = "speed 0 to 60 m/s, higher than the row before, and coefficient 0 to 0.5";
/// What a key of each kind takes.
const A_NUMBER: &str = "a number without quotes";
const A_TEXT: &str = "text in quotes";
const A_TABLE: &str = "rows of two numbers, [[speed in m/s, coefficient], ...]";

/// A value of the file.
pub(crate) fn given_by_file(key: &Key, value: &DeValue<'_>) -> Result<Given, Problem> {
    let wrong = |allowed| Problem::WrongType { read: described(value), allowed };
    match &key.kind {
        Kind::Number(number) => {
            if let DeValue::String(text) = value
                && let Some(problem) = decimal_comma(text)
            {
                return Err(problem);
            }
            let value = number_of(value).ok_or_else(|| wrong(A_NUMBER))?;
            number.check(value).map(|()| Given::Number(value))
        }
        Kind::Name => value.as_str().ok_or_else(|| wrong(A_TEXT)).and_then(name),
        Kind::FrictionChoice => value.as_str().ok_or_else(|| wrong(A_TEXT)).and_then(choice),
        Kind::FrictionTable => rows_of(value).ok_or_else(|| wrong(A_TABLE)).and_then(rows),
    }
}

/// A value of `--set`, as typed.
pub(crate) fn given_by_option(key: &Key, text: &str) -> Result<Given, Problem> {
    let text = text.trim();
    let wrong = |allowed| Problem::WrongType { read: format!("\"{text}\""), allowed };
    match &key.kind {
        Kind::Number(number) => {
            let value = text.parse::<f64>().map_err(|_| decimal_comma(text).unwrap_or(wrong("a number")))?;
            number.check(value).map(|()| Given::Number(value))
        }
        Kind::Name => name(text),
        Kind::FrictionChoice => choice(text),
        Kind::FrictionTable => {
            let value = DeValue::parse(text).map_err(|_| wrong(A_TABLE))?;
            rows_of(value.get_ref()).ok_or_else(|| wrong(A_TABLE)).and_then(rows)
        }
    }
}

/// The fault of a number with a decimal comma, if it is one.
pub(crate) fn decimal_comma(text: &str) -> Option<Problem> {
    let text = text.trim();
    let point = text.replacen(',', ".", 1);
    let is_number = point != text && point.parse::<f64>().is_ok();
    is_number.then(|| Problem::DecimalComma { read: text.to_string(), point })
}

fn name(text: &str) -> Result<Given, Problem> {
    let text = text.trim();
    if text.is_empty() || text.chars().count() > LONGEST_NAME || text.chars().any(char::is_control) {
        return Err(Problem::BadName { read: text.to_string(), longest: LONGEST_NAME });
    }
    Ok(Given::Text(text.to_string()))
}

fn choice(text: &str) -> Result<Given, Problem> {
    if FRICTIONS.contains(&text) {
        return Ok(Given::Text(text.to_string()));
    }
    Err(Problem::NotAChoice { read: text.to_string(), allowed: FRICTIONS })
}

fn rows(rows: Vec<(f64, f64)>) -> Result<Given, Problem> {
    if rows.len() < FEWEST_ROWS {
        return Err(Problem::TooFewRows { rows: rows.len(), least: FEWEST_ROWS });
    }
    let mut before = f64::NEG_INFINITY;
    for (i, &(speed, coefficient)) in rows.iter().enumerate() {
        let good = speed > before && (0.0..=60.0).contains(&speed) && (0.0..=0.5).contains(&coefficient);
        if !good {
            return Err(Problem::BadRow { row: i + 1, read: (speed, coefficient), allowed: ROW });
        }
        before = speed;
    }
    Ok(Given::Rows(rows))
}

fn rows_of(value: &DeValue<'_>) -> Option<Vec<(f64, f64)>> {
    value
        .as_array()?
        .iter()
        .map(|row| {
            let row = row.get_ref().as_array()?;
            match (row.len(), row.first(), row.get(1)) {
                (2, Some(a), Some(b)) => Some((number_of(a.get_ref())?, number_of(b.get_ref())?)),
                _ => None,
            }
        })
        .collect()
}

fn number_of(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Float(float) => float.as_str().parse().ok(),
        DeValue::Integer(integer) if integer.radix() == 10 => integer.as_str().parse().ok(),
        _ => None,
    }
}

/// A value as written, with its type.
pub(crate) fn described(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("the text \"{}\"", text.chars().take(60).collect::<String>()),
        DeValue::Integer(integer) => format!("the number {integer}"),
        DeValue::Float(float) => format!("the number {float}"),
        DeValue::Boolean(value) => format!("the switch {value}"),
        DeValue::Datetime(date) => format!("the date {date}"),
        DeValue::Array(array) => format!("a list of {}", array.len()),
        DeValue::Table(_) => "a table".to_string(),
    }
}
