//! A ride from a file: a table of station, steering and toes, read with every fault at once.
//!
//! ```text
//!   # track: Oskerdale
//!   # setup: SHA-256 of the set-up's numbers, if it was planned for one
//!   station_m,steer,toe_left,toe_right
//!   35,0,0,0
//! ```

use crate::motion::pilot::Ride;
use file_faults::FileFault;

/// The columns, in any order; the toes may be left out.
pub(crate) const COLUMNS: [&str; 4] = ["station_m", "steer", "toe_left", "toe_right"];

/// What a ride is for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RideFor<'a> {
    /// Name of the track.
    pub track: &'a str,
    /// SHA-256 of the set-up's numbers, hexadecimal.
    pub setup_sha256: &'a str,
    /// Station of the last eye (m).
    pub finish_m: f64,
}

/// A ride as text; reads back to the same rows.
pub fn write_ride(made_for: &RideFor<'_>, rows: &[(f64, f64, f64, f64)]) -> String {
    let RideFor { track, setup_sha256, .. } = made_for;
    let mut text = format!("# track: {track}\n# setup: {setup_sha256}\n{}\n", COLUMNS.join(","));
    for (s, steer, left, right) in rows {
        text.push_str(&format!("{s},{steer},{left},{right}\n"));
    }
    text
}

/// Reads a ride for a track and a set-up; one that names neither fits any.
pub fn read_ride(file: &str, text: &str, here: &RideFor<'_>) -> Result<Ride, Vec<FileFault>> {
    let RideFor { track, setup_sha256, finish_m } = *here;
    let mut faults = Vec::new();
    let mut fault = |at: (u64, usize), key: &str, got: String, allowed: String| {
        faults.push(FileFault::at(file, at, key, got, allowed));
    };
    let mut columns: Option<[Option<usize>; 4]> = None;
    let mut rows: Vec<(f64, f64, f64, f64)> = Vec::new();
    for (number, line) in text.trim_start_matches('\u{feff}').lines().zip(1..).map(|(l, i)| (i, l.trim())) {
        if let Some(comment) = line.strip_prefix('#') {
            if let Some(name) = comment.trim().strip_prefix("track:").map(str::trim)
                && name != track
            {
                fault((number, 0), "track", name.into(), format!("{track}, the track that is ridden here"));
            }
            if let Some(sum) = comment.trim().strip_prefix("setup:").map(str::trim)
                && sum != setup_sha256
            {
                let short = |s: &str| s.chars().take(12).collect::<String>();
                fault(
                    (number, 0),
                    "setup",
                    format!("another set-up, whose numbers have SHA-256 {}...", short(sum)),
                    format!(
                        "{}..., the set-up that is ridden here: plan a ride for it, or leave out the line",
                        short(setup_sha256)
                    ),
                );
            }
            continue;
        }
        if line.is_empty() {
            continue;
        }
        if line.contains(';') {
            let (got, allowed) = ("semicolons between the fields", "commas, with decimal points");
            fault((number, 0), "line", got.into(), allowed.into());
            continue;
        }
        let fields: Vec<&str> = line.split(',').map(str::trim).collect();
        let Some(places) = columns else {
            let places = COLUMNS.map(|c| fields.iter().position(|f| *f == c));
            for (unknown, column) in fields.iter().zip(1..).filter(|f| !COLUMNS.contains(f.0)) {
                fault((number, column), "heading", (*unknown).into(), COLUMNS.join(", "));
            }
            for missing in COLUMNS.iter().zip(places).take(2).filter(|c| c.1.is_none()) {
                fault((number, 0), missing.0, "no such column".into(), "this column".into());
            }
            columns = Some(places);
            continue;
        };
        let mut value = |i: usize, least: f64, greatest: f64| -> f64 {
            let Some(place) = places[i] else { return 0.0 };
            let field = fields.get(place).copied().unwrap_or("");
            match field.parse::<f64>() {
                Ok(v) if v >= least && v <= greatest => v,
                Ok(v) => {
                    let allowed = format!("{least} to {greatest}");
                    fault((number, place + 1), COLUMNS[i], v.to_string(), allowed);
                    0.0
                }
                Err(_) => {
                    fault((number, place + 1), COLUMNS[i], format!("\"{field}\""), "a number".into());
                    0.0
                }
            }
        };
        let row =
            (value(0, 0.0, finish_m + 100.0), value(1, -1.0, 1.0), value(2, 0.0, 1.0), value(3, 0.0, 1.0));
        if let Some(last) = rows.last().filter(|last| row.0 <= last.0) {
            let got = format!("{} after {}", row.0, last.0);
            fault((number, 0), "station_m", got, "stations that increase".into());
        }
        rows.push(row);
    }
    if rows.is_empty() {
        fault((0, 0), "rows", "none".into(), "a header and one row or more".into());
    }
    match Ride::new(&rows) {
        Some(ride) if faults.is_empty() => Ok(ride),
        _ => Err(faults),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HERE: RideFor<'static> =
        RideFor { track: "Oskerdale", setup_sha256: "0123456789abcdef", finish_m: 1446.0 };

    #[test]
    fn exact_round_trip() {
        let rows = [(35.0, 0.0, 0.0, 0.0), (70.5, -0.25, 0.0, 0.5), (90.0, 1.0, 0.0, 0.0)];
        let text = write_ride(&HERE, &rows);
        let ride = read_ride("r.csv", &text, &HERE).unwrap();
        assert_eq!(Ride::new(&rows).unwrap(), ride);
    }

    #[test]
    fn exact_a_ride_for_another_set_up_is_refused_and_one_for_none_is_not() {
        let text = write_ride(&HERE, &[(35.0, 0.0, 0.0, 0.0)]);
        let other = RideFor { setup_sha256: "ffeeddccbbaa9988", ..HERE };
        let faults = read_ride("r.csv", &text, &other).unwrap_err();
        assert_eq!((faults.len(), faults[0].place.line), (1, Some(2)));
        let said = faults[0].to_string();
        assert!(
            said.contains("another set-up")
                && said.contains("0123456789ab...")
                && said.contains("ffeeddccbbaa...")
        );
        let without: String =
            text.lines().filter(|l| !l.contains("setup:")).map(|l| format!("{l}\n")).collect();
        assert!(read_ride("r.csv", &without, &other).is_ok());
    }

    #[test]
    fn exact_every_fault_at_once_with_its_line() {
        let text = "# track: Quillmere\nstation_m,steer,knee\n35,0\n30,1.5\nx,0\n";
        let faults = read_ride("r.csv", text, &HERE).unwrap_err();
        let told: Vec<String> = faults.iter().map(ToString::to_string).collect();
        let wanted = [
            "r.csv, line 1 (track): got Quillmere; allowed: Oskerdale, the track that is ridden here",
            "r.csv, line 2, column 3 (heading): got knee; allowed: station_m, steer, toe_left, toe_right",
            "r.csv, line 4, column 2 (steer): got 1.5; allowed: -1 to 1",
            "r.csv, line 4 (station_m): got 30 after 35; allowed: stations that increase",
            "r.csv, line 5, column 1 (station_m): got \"x\"; allowed: a number",
            "r.csv, line 5 (station_m): got 0 after 30; allowed: stations that increase",
        ];
        assert_eq!(told, wanted);
        assert!(read_ride("r.csv", "", &HERE).is_err());
    }
}
