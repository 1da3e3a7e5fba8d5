//! Rows and columns of a station file.

use file_faults::Place;

/// Columns in the order they are written; the last three may be missing in a file.
pub(crate) const COLUMNS: [&str; 7] =
    ["station_m", "elevation_m", "radius_m", "banking_deg", "trough_radius_m", "left_edge_m", "right_edge_m"];

/// A row as read: the value of each of [`COLUMNS`] where it could be read, and its place.
pub(crate) struct Row {
    pub(crate) line: usize,
    /// Values as the file has them, `None` where blank or faulty.
    pub(crate) values: [Option<f64>; 7],
}

/// What the header said.
pub(crate) struct Header {
    /// Field number (from 0) of each of [`COLUMNS`].
    pub(crate) field: [Option<usize>; 7],
    pub(crate) fields: usize,
}

impl Header {
    /// Place of a column of [`COLUMNS`] in a line.
    pub(crate) fn place(&self, file: &str, line: usize, column: usize) -> Place {
        let field = self.field[column].map(|i| i + 1);
        Place { column: field, key: Some(COLUMNS[column].to_owned()), ..Place::line(file, line) }
    }
}
