//! The station table as a CSV text: `stations.csv`.
//!
//! A line holds the station, the elevation, the plan radius (+ left, - right, blank =
//! straight), the banking (positive where the right side is high) and, if known, the
//! trough radius (blank = flat) and the edges. Commas separate, a point is the decimal mark.

use crate::decimals::exact_text;
use crate::faults::{FaultKind, Faults};
use crate::station_table::StationTable;
use crate::table_check::{check_rows, outside_limits};
use crate::table_row::{COLUMNS, Header, Row};
use crate::toml_keys::nearest;
use file_faults::Place;
use std::fmt::Write as _;

/// How many of [`COLUMNS`] must be there.
const NEEDED_COLUMNS: usize = 4;

/// Where the ice ends to both sides when a file has no edge columns (m). Assumed: about
/// half the width of an ice track on a straight. In corners the ice is wider, so a
/// descent on assumed edges sees walls too early.
pub(crate) const ASSUMED_EDGE_M: f64 = 0.7;

/// Reads a station table.
///
/// # Errors
/// All faults of the text at once, each with line and column.
pub fn read_stations_csv(file: &str, text: &str) -> Result<StationTable, Faults> {
    let mut faults = Faults::default();
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut lines = text.lines().enumerate().map(|(i, l)| (i + 1, l)).filter(|(_, l)| !l.trim().is_empty());
    let Some((header_line, first)) = lines.next() else {
        faults.add(Place::file(file), FaultKind::EmptyFile);
        return Err(faults);
    };
    if first.contains(';') {
        faults.add(Place::line(file, header_line), FaultKind::SemicolonSeparator);
        return Err(faults);
    }
    let Some(header) = read_header(file, header_line, first, &mut faults) else { return Err(faults) };
    let rows: Vec<Row> =
        lines.filter_map(|(line, text)| read_row(file, line, text, &header, &mut faults)).collect();
    check_rows(file, &header, &rows, &mut faults);
    if faults.0.is_empty() { Ok(table(&rows)) } else { Err(faults) }
}

/// The fields of one line; a quoted field may hold commas.
fn fields(file: &str, line: usize, text: &str, faults: &mut Faults) -> Option<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    match reader.records().next()? {
        Ok(record) => Some(record.iter().map(str::to_owned).collect()),
        Err(e) => {
            faults.add(Place::line(file, line), FaultKind::Csv { message: e.to_string() });
            None
        }
    }
}

fn read_header(file: &str, line: usize, text: &str, faults: &mut Faults) -> Option<Header> {
    let names = fields(file, line, text, faults)?;
    let mut header = Header { field: [None; 7], fields: names.len() };
    for (i, name) in names.iter().enumerate() {
        let place = Place::field(file, line, i + 1, name);
        match COLUMNS.iter().position(|c| c == name) {
            Some(c) if header.field[c].is_some() => faults.add(place, FaultKind::RepeatedColumn),
            Some(c) => header.field[c] = Some(i),
            None => {
                faults.add(place, FaultKind::UnknownColumn { suggestion: nearest(name, &COLUMNS) });
            }
        }
    }
    for (c, name) in COLUMNS.iter().enumerate().take(NEEDED_COLUMNS) {
        if header.field[c].is_none() {
            let place = Place { key: Some((*name).to_owned()), ..Place::line(file, line) };
            faults.add(place, FaultKind::MissingColumn);
        }
    }
    for (has, lacks) in [(5, 6), (6, 5)] {
        if header.field[has].is_some() && header.field[lacks].is_none() {
            let place = Place { key: Some(COLUMNS[lacks].to_owned()), ..Place::line(file, line) };
            faults.add(place, FaultKind::MissingColumn);
        }
    }
    Some(header)
}

fn read_row(file: &str, line: usize, text: &str, header: &Header, faults: &mut Faults) -> Option<Row> {
    let fields = fields(file, line, text, faults)?;
    if fields.len() != header.fields {
        let kind = FaultKind::FieldCount { got: fields.len(), expected: header.fields };
        faults.add(Place::line(file, line), kind);
        return None;
    }
    let mut row = Row { line, values: [None; 7] };
    for (c, value) in row.values.iter_mut().enumerate() {
        let Some(field) = header.field[c] else { continue };
        let may_be_blank = COLUMNS[c] == "radius_m" || COLUMNS[c] == "trough_radius_m";
        if fields[field].is_empty() && may_be_blank {
            continue;
        }
        let read = number(&fields[field]).and_then(|x| outside_limits(c, x).map_or(Ok(x), Err));
        match read {
            Ok(x) => *value = Some(x),
            Err(kind) => faults.add(header.place(file, line, c), kind),
        }
    }
    Some(row)
}

/// A finite number, or what is wrong with it.
fn number(text: &str) -> Result<f64, FaultKind> {
    match text.parse::<f64>() {
        Ok(x) if x.is_finite() => Ok(x),
        Ok(_) => Err(FaultKind::NotFinite { got: text.to_owned() }),
        Err(_) if text.replacen(',', ".", 1).parse::<f64>().is_ok() => {
            Err(FaultKind::DecimalComma { got: text.to_owned() })
        }
        Err(_) => Err(FaultKind::NotANumber { got: text.to_owned() }),
    }
}

fn table(rows: &[Row]) -> StationTable {
    let column = |c: usize, blank: f64, convert: fn(f64) -> f64| -> Vec<f64> {
        rows.iter().map(|r| r.values[c].map_or(blank, convert)).collect()
    };
    let same: fn(f64) -> f64 = |x| x;
    StationTable {
        station_m: column(0, 0.0, same),
        elevation_m: column(1, 0.0, same),
        plan_curvature_per_m: column(2, 0.0, f64::recip),
        banking_rad: column(3, 0.0, f64::to_radians),
        trough_curvature_per_m: column(4, 0.0, f64::recip),
        left_edge_m: column(5, ASSUMED_EDGE_M, same),
        right_edge_m: column(6, -ASSUMED_EDGE_M, same),
    }
}

/// The table as CSV. Reading it back gives exactly the same table, as long as its
/// curvatures are reciprocals of radii (those of any table that was read or built are).
pub fn write_stations_csv(table: &StationTable) -> String {
    let mut out = COLUMNS.join(",");
    out.push('\n');
    let radius = |k: f64| if k == 0.0 { String::new() } else { exact_text(k.recip(), k, f64::recip) };
    for i in 0..table.len() {
        let banking = table.banking_rad[i];
        // Writing to a String cannot fail.
        let _ = writeln!(
            out,
            "{},{},{},{},{},{},{}",
            table.station_m[i],
            table.elevation_m[i],
            radius(table.plan_curvature_per_m[i]),
            exact_text(banking.to_degrees(), banking, f64::to_radians),
            radius(table.trough_curvature_per_m[i]),
            table.left_edge_m[i],
            table.right_edge_m[i],
        );
    }
    out
}
