//! The table of a sweep: a row for each case, units in the header.

use crate::axes::Value;
use crate::study::{Reason, Study};
use serde::Serialize;
use sled_dynamics::descent::{Descent, Outcome};

const KM_H: f64 = 3.6;

/// A column of the table.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Column {
    /// Its name in the header; a unit stands at its end.
    pub name: String,
    /// What it holds.
    pub meaning: String,
}

/// The columns of every table before those of its axes.
const FIRST: [(&str, &str); 1] = [("case", "Number of the case, from 0")];
/// The columns of every table after those of its axes.
const FIGURES: [(&str, &str); 7] = [
    ("outcome", "finished, control lost, or failed: no descent could be computed"),
    ("finish_time_s", "First to last eye; empty without a finish"),
    ("numerical_error_s", "Bound of the numerical error of that time; empty where it hangs on the step"),
    ("top_speed_km_h", "Greatest speed"),
    ("greatest_g_load", "Greatest normal load over weight at 9.80665 m/s2"),
    ("wall_touches", "How often a wall was touched"),
    ("lost_at_m", "Station where control was lost; empty for a finish"),
];
/// The columns of each corner.
const CORNER: [(&str, &str); 4] = [
    ("pressures", "how many times the load rose to a peak inside"),
    ("greatest_g_load", "greatest load over weight"),
    ("amplitude_m", "half of the width of the path across the ice"),
    ("exit_height_m", "height at the exit"),
];
/// The last column.
const LAST: (&str, &str) = ("reason", "Why a case failed or where control was lost, in words");

/// The columns of a study's table.
pub fn columns(study: &Study) -> Vec<Column> {
    let column = |(name, meaning): (&str, &str)| Column { name: name.into(), meaning: meaning.into() };
    let mut all: Vec<Column> = FIRST.map(column).into();
    all.extend(study.file.axes.iter().map(|a| column((a.quantity.path(), a.quantity.doc()))));
    all.extend(FIGURES.map(column));
    if study.file.corners {
        for corner in &study.track.data.corners {
            let name = corner.name.replace([' ', ','], "_");
            let of = |(figure, meaning): (&str, &str)| Column {
                name: format!("corner_{name}_{figure}"),
                meaning: format!("Corner {}: {meaning}", corner.name),
            };
            all.extend(CORNER.map(of));
        }
    }
    all.push(column(LAST));
    all
}

/// One line of CSV, its end included; quoted where it must be, without line breaks inside.
pub fn csv_line<S: AsRef<str>>(fields: &[S]) -> String {
    let quoted = |field: &str| {
        let field = field.replace(['\n', '\r'], " ");
        if field.contains([',', '"']) { format!("\"{}\"", field.replace('"', "\"\"")) } else { field }
    };
    fields.iter().map(|f| quoted(f.as_ref())).collect::<Vec<_>>().join(",") + "\n"
}

/// The header.
pub fn header(study: &Study) -> String {
    csv_line(&columns(study).into_iter().map(|c| c.name).collect::<Vec<_>>())
}

/// The row of a case.
pub fn row(study: &Study, case: usize, made: &Result<Descent, Reason>) -> String {
    let mut fields = vec![case.to_string()];
    fields.extend(study.values(case).iter().map(Value::to_string));
    let corners = if study.file.corners { study.track.data.corners.len() } else { 0 };
    match made {
        Ok(d) => figures(d, corners, &mut fields),
        Err(reason) => {
            fields.push("failed".into());
            fields.extend(vec![String::new(); FIGURES.len() - 1 + CORNER.len() * corners]);
            fields.push(reason.clone());
        }
    }
    csv_line(&fields)
}

/// A number as a cell; empty where it is none.
fn cell(v: Option<f64>) -> String {
    v.filter(|v| v.is_finite()).map_or(String::new(), |v| v.to_string())
}

fn figures(d: &Descent, corners: usize, fields: &mut Vec<String>) {
    let (outcome, lost_m, reason) = match d.outcome {
        Outcome::Finished => ("finished", None, String::new()),
        Outcome::ControlLost { station_m, cause } => {
            ("control lost", Some(station_m), cause.words().to_string())
        }
    };
    let finished = d.finish_time_s.is_some();
    fields.extend([
        outcome.to_string(),
        cell(d.finish_time_s),
        cell(Some(d.numerical_error_s).filter(|_| finished)),
        cell(Some(d.top_speed_m_s() * KM_H)),
        cell(Some(d.greatest_g_load())),
        d.wall_touches().to_string(),
        cell(lost_m),
    ]);
    // corners that the sled did not come through whole are empty
    for i in 0..corners {
        let Some(c) = d.corners.get(i) else {
            fields.extend(vec![String::new(); CORNER.len()]);
            continue;
        };
        let inside =
            d.trace.iter().filter(|s| s.station_m >= c.entry.station_m && s.station_m <= c.exit.station_m);
        let (low, high) = inside
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), s| (l.min(s.offset_m), h.max(s.offset_m)));
        fields.extend([
            c.pressures.to_string(),
            cell(Some(c.greatest_g_load)),
            cell(Some(0.5 * (high - low))),
            cell(Some(c.exit.height_m)),
        ]);
    }
    fields.push(reason);
}

/// A table as read back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SweepTable {
    /// Names of the columns.
    pub header: Vec<String>,
    /// Rows, each as long as the header.
    pub rows: Vec<Vec<String>>,
}

impl SweepTable {
    /// Reads the text of a table; none if it is no table.
    pub fn read(text: &str) -> Option<SweepTable> {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let header = reader.headers().ok()?.iter().map(String::from).collect();
        let rows = reader.records().map(|r| r.map(|r| r.iter().map(String::from).collect()));
        Some(SweepTable { header, rows: rows.collect::<Result<_, _>>().ok()? })
    }

    /// Place of a column.
    fn place(&self, name: &str) -> Option<usize> {
        self.header.iter().position(|h| h == name)
    }

    /// A column as text; empty if there is none.
    pub fn texts(&self, name: &str) -> Vec<&str> {
        let Some(i) = self.place(name) else { return Vec::new() };
        self.rows.iter().map(|r| r.get(i).map_or("", String::as_str)).collect()
    }

    /// A column as numbers; none where a cell is empty or is no number.
    pub fn numbers(&self, name: &str) -> Vec<Option<f64>> {
        self.texts(name).into_iter().map(|t| t.parse().ok()).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_a_line_is_one_line_and_comes_back() {
        let fields = ["1", "a,b", "he said \"no\"", "two\nlines", ""];
        let line = csv_line(&fields);
        assert_eq!(line.matches('\n').count(), 1);
        let table = SweepTable::read(&format!("v,w,x,y,z\n{line}")).unwrap();
        assert_eq!(table.rows[0], ["1", "a,b", "he said \"no\"", "two lines", ""]);
        assert_eq!((table.numbers("v"), table.numbers("z")), (vec![Some(1.0)], vec![None]));
        assert!(table.texts("nobody").is_empty());
        assert!(SweepTable::read("a,b\n1\n").is_none());
    }
}
