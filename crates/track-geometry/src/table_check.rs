//! Limits of the rows of a station file.

use crate::faults::{FaultKind, Faults};
use crate::table_row::{Header, Row};

/// Fewest rows of a table; a quintic spline needs a few.
pub(crate) const LEAST_ROWS: usize = 4;
/// Least distance of two stations (m).
pub(crate) const LEAST_STEP_M: f64 = 0.001;
/// Faster change of banking is a fault (deg/m): 90 degrees within 3 m cannot be ice.
pub(crate) const MOST_BANKING_DEG_PER_M: f64 = 30.0;

/// Limits in words and as a test.
type Limit = (&'static str, fn(f64) -> bool);

/// The limits of each of the columns.
const LIMITS: [Limit; 7] = [
    ("-100,000 to 100,000 m", |x| x.abs() <= 1e5),
    ("-1000 to 10,000 m", |x| (-1e3..=1e4).contains(&x)),
    ("a radius of 1 m or more, + left, - right, or blank for a straight,", |x| x.abs() >= 1.0),
    ("-110 to 110 deg", |x| x.abs() <= 110.0),
    ("a trough radius of 0.3 m or more, without sign, or blank for flat ice,", |x| x >= 0.3),
    ("-50 to 50 m", |x| x.abs() <= 50.0),
    ("-50 to 50 m", |x| x.abs() <= 50.0),
];

/// A value outside the limits of its column, as a fault.
pub(crate) fn outside_limits(column: usize, got: f64) -> Option<FaultKind> {
    let (allowed, inside) = LIMITS[column];
    (!inside(got)).then(|| FaultKind::OutOfRange { got, allowed: allowed.to_owned() })
}

/// Adds every fault of rows and of neighbouring rows. Values with a fault of their own
/// are `None` here, so no fault follows from another.
pub(crate) fn check_rows(file: &str, header: &Header, rows: &[Row], faults: &mut Faults) {
    let mut before: Option<&Row> = None;
    for row in rows {
        let at = |column: usize| header.place(file, row.line, column);
        if let (Some(left_m), Some(right_m)) = (row.values[5], row.values[6]) {
            if left_m <= right_m {
                faults.add(at(5), FaultKind::EdgesCross { left_m, right_m });
            } else if left_m <= 0.0 || right_m >= 0.0 {
                let column = if left_m <= 0.0 { 5 } else { 6 };
                faults.add(at(column), FaultKind::LineOffTheIce { left_m, right_m });
            }
        }
        if let Some(before) = before {
            for (column, kind) in check_step(before, row) {
                faults.add(at(column), kind);
            }
        }
        before = Some(row);
    }
    if rows.len() < LEAST_ROWS {
        let place = file_faults::Place::file(file);
        faults.add(place, FaultKind::TooFewRows { got: rows.len(), least: LEAST_ROWS });
    }
}

/// Faults between two rows, with their column.
fn check_step(before: &Row, row: &Row) -> Vec<(usize, FaultKind)> {
    let mut out = Vec::new();
    let (Some(before_m), Some(got_m)) = (before.values[0], row.values[0]) else { return out };
    let step_m = got_m - before_m;
    if step_m < LEAST_STEP_M {
        return vec![(0, FaultKind::StationsNotIncreasing { got_m, before_m })];
    }
    if let (Some(z0), Some(z1)) = (before.values[1], row.values[1])
        && (z1 - z0).abs() >= step_m
    {
        out.push((1, FaultKind::TooSteep { rise_m: z1 - z0, step_m }));
    }
    if let (Some(b0), Some(b1)) = (before.values[3], row.values[3]) {
        let got_deg_per_m = (b1 - b0).abs() / step_m;
        if got_deg_per_m > MOST_BANKING_DEG_PER_M {
            out.push((3, FaultKind::BankingJump { got_deg_per_m, most_deg_per_m: MOST_BANKING_DEG_PER_M }));
        }
    }
    out
}
