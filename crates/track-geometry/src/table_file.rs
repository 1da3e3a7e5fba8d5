//! The station table as a CSV text: `stations.csv`.

use crate::decimals::exact_text;
use crate::station_table::StationTable;
use std::fmt::Write as _;

/// Columns in the order they are written; the last three may be missing in a file.
pub const COLUMNS: [&str; 7] =
    ["station_m", "elevation_m", "radius_m", "banking_deg", "trough_radius_m", "left_edge_m", "right_edge_m"];

/// The table as CSV. Reading it back gives exactly the same table, as long as its
/// curvatures are reciprocals of radii (those of any table that was read or built are).
pub fn write_stations_csv(table: &StationTable) -> String {
    let mut out = COLUMNS.join(",");
    out.push('\n');
    let radius = |k: f64| if k == 0.0 { String::new() } else { exact_text(1.0 / k, k, |r| 1.0 / r) };
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
