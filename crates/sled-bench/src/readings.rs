//! Caliper readings, runner to guide, from CSV; every fault of the text together.

use crate::faults::ReadingFault;

/// Which runner of the sled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Left, seen in the direction of travel.
    Left,
    /// Right.
    Right,
}

/// Whether the bow was in when the reading was taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Screws backed off: the runner without bow.
    Reference,
    /// Screws as they are ridden.
    Bowed,
}

/// One caliper reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Line in the file, from 1.
    pub line: u64,
    /// Runner.
    pub side: Side,
    /// With or without bow.
    pub state: State,
    /// Name of the point.
    pub point: String,
    /// Place along the runner from its middle, forward positive (m).
    pub position_m: f64,
    /// Distance runner to guide (m); it grows with bow.
    pub distance_m: f64,
    /// Standard error of the reading (m).
    pub error_m: f64,
}

/// What the reader may take for granted.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingRules {
    /// Named points and their places (m); empty allows any name.
    pub points: Vec<(String, f64)>,
    /// Readings beyond this from the middle are off the runner (m).
    pub tip_m: f64,
    /// The user has said that small distances are millimetres.
    pub millimetres_confirmed: bool,
}

/// All distances below this are suspected to be inches (mm): no caliper guide stands so near. Assumed.
pub const INCH_SUSPICION_MM: f64 = 4.0;

const COLUMNS: [&str; 6] = ["runner", "state", "point", "position_mm", "distance_mm", "error_mm"];

/// Reads `runner,state,point,position_mm,distance_mm,error_mm`, columns in any order.
///
/// `runner` is left or right, `state` reference or bowed; without that column all are bowed.
pub fn parse_readings(
    file: &str,
    text: &str,
    rules: &ReadingRules,
) -> Result<Vec<Reading>, Vec<ReadingFault>> {
    let mut found = Vec::new();
    let mut fault = |line: u64, column: usize, key: &'static str, got: &str, allowed: &str| {
        let (got, allowed) = (got.to_owned(), allowed.to_owned());
        found.push(ReadingFault { file: file.to_owned(), line, column, key, got, allowed });
    };
    let mut table = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .comment(Some(b'#'))
        .flexible(true)
        .from_reader(text.as_bytes());
    let header = table.headers().cloned().unwrap_or_default();
    let place = COLUMNS.map(|name| header.iter().position(|h| h == name));
    for (key, place) in COLUMNS.iter().zip(place) {
        if place.is_none() && *key != "state" {
            fault(
                1,
                0,
                key,
                "no such column",
                "runner, point, position_mm, distance_mm, error_mm; state optional",
            );
        }
    }
    let mut readings = Vec::new();
    for row in table.records() {
        let row = match row {
            Ok(row) => row,
            Err(error) => {
                let line = error.position().map_or(0, csv::Position::line);
                fault(line, 0, "line", &error.to_string(), "a line of CSV");
                continue;
            }
        };
        let line = row.position().map_or(0, csv::Position::line);
        let text = |k: usize| place[k].and_then(|c| row.get(c)).unwrap_or("");
        let column = |k: usize| place[k].map_or(0, |c| c + 1);
        let side = match text(0) {
            "left" => Some(Side::Left),
            "right" => Some(Side::Right),
            other => {
                fault(line, column(0), "runner", other, "left or right");
                None
            }
        };
        let state = match text(1) {
            "reference" => Some(State::Reference),
            "bowed" => Some(State::Bowed),
            "" if place[1].is_none() => Some(State::Bowed),
            other => {
                fault(line, column(1), "state", other, "reference or bowed");
                None
            }
        };
        let known = rules.points.iter().find(|p| p.0 == text(2));
        if known.is_none() && !rules.points.is_empty() {
            let names: Vec<_> = rules.points.iter().map(|p| p.0.as_str()).collect();
            fault(line, column(2), "point", text(2), &names.join(", "));
        }
        let mut number = |k: usize, least: f64, greatest: f64| {
            let value = text(k).parse::<f64>().ok().filter(|v| (least..=greatest).contains(v));
            if value.is_none() {
                fault(line, column(k), COLUMNS[k], text(k), &format!("{least} to {greatest} mm"));
            }
            value
        };
        let tip_mm = 1e3 * rules.tip_m;
        let position = match known {
            Some(point) if text(3).is_empty() => Some(1e3 * point.1),
            _ => number(3, -tip_mm, tip_mm),
        };
        let (distance, error) = (number(4, 0.0, 500.0), number(5, 1e-3, 5.0));
        if let (Some(known), Some(position)) = (known, position) {
            // a place is marked on the runner to about a millimetre
            if (1e3 * known.1 - position).abs() > 1.0 {
                let allowed = format!("{} mm, where this point is known to be", 1e3 * known.1);
                fault(line, column(3), "position_mm", text(3), &allowed);
            }
        }
        if let (Some(side), Some(state), Some(x), Some(d), Some(e)) = (side, state, position, distance, error)
        {
            readings.push(Reading {
                line,
                side,
                state,
                point: text(2).to_owned(),
                position_m: 1e-3 * x,
                distance_m: 1e-3 * d,
                error_m: 1e-3 * e,
            });
        }
    }
    let greatest_mm = readings.iter().fold(0.0, |top: f64, r| top.max(1e3 * r.distance_m));
    if !readings.is_empty() && greatest_mm < INCH_SUSPICION_MM && !rules.millimetres_confirmed {
        fault(
            0,
            0,
            "distance_mm",
            &format!("at most {greatest_mm}"),
            "are these inches? confirm millimetres, or convert",
        );
    }
    if found.is_empty() { Ok(readings) } else { Err(found) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rules() -> ReadingRules {
        let points = vec![("mid".to_owned(), 0.0), ("front".to_owned(), 0.2)];
        ReadingRules { points, tip_m: 0.42, millimetres_confirmed: false }
    }

    #[test]
    fn exact_readings_are_read() {
        let text = "runner,point,position_mm,distance_mm,error_mm\nleft,front,,41.5,0.02\n";
        let got = parse_readings("a.csv", text, &rules()).expect("good");
        assert_eq!((got[0].side, got[0].state, got[0].line), (Side::Left, State::Bowed, 2));
        // rounding
        approx::assert_abs_diff_eq!(got[0].distance_m, 0.0415, epsilon = 1e-15);
        approx::assert_abs_diff_eq!(got[0].position_m, 0.2, epsilon = 1e-15);
    }

    #[test]
    fn exact_every_fault_at_once_with_its_place() {
        let text = "runner,state,point,position_mm,distance_mm,error_mm\n\
            middle,bowed,mid,0,40,0.02\nleft,wet,mid,0,40,0.02\nleft,bowed,nose,0,40,0.02\n\
            left,bowed,mid,900,40,0.02\nleft,bowed,mid,0,-40,0.02\nleft,bowed,mid,0,40,nan\n\
            left,bowed,front,100,40,0.02\n";
        let found = parse_readings("a.csv", text, &rules()).expect_err("bad");
        let got: Vec<_> = found.iter().map(|f| (f.line, f.column, f.key)).collect();
        let wanted = [
            (2, 1, "runner"),
            (3, 2, "state"),
            (4, 3, "point"),
            (5, 4, "position_mm"),
            (6, 5, "distance_mm"),
            (7, 6, "error_mm"),
            (8, 4, "position_mm"),
        ];
        assert_eq!(got, wanted);
        assert_eq!(found[4].got, "-40");
    }

    #[test]
    fn exact_inches_are_asked_about() {
        let text = "runner,point,position_mm,distance_mm,error_mm\nleft,mid,0,1.57,0.02\n";
        let found = parse_readings("a.csv", text, &rules()).expect_err("suspected");
        assert!(found[0].allowed.contains("inches"));
        let confirmed = ReadingRules { millimetres_confirmed: true, ..rules() };
        assert!(parse_readings("a.csv", text, &confirmed).is_ok());
    }
}
