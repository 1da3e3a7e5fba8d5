//! A log of a run: acceleration and turning rate over time, from CSV; every fault of the text together.

use crate::sheet::cells::number;
use crate::table_text::{head_line, rows_of, without_mark};
use file_faults::FileFault;

/// Standard gravity (m/s2), for headings in g.
const STANDARD_GRAVITY_M_S2: f64 = 9.806_65;
/// Least samples a second that tell a corner's pressures apart: assumed.
pub(crate) const LEAST_RATE_HZ: f64 = 10.0;
/// Most faults that are told one by one.
const MOST_FAULTS: usize = 20;

/// A log, at the times at which it was written.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct MotionLog {
    /// Time by the logger's clock (s), rising.
    pub time_s: Vec<f64>,
    /// Acceleration upwards from the sled (g), as an accelerometer tells it: 1 at rest on level ice.
    pub up_g: Vec<f64>,
    /// Rate of turn about that axis, left positive (rad/s).
    pub yaw_rate_rad_s: Vec<f64>,
    /// Samples a second, from the middle of the steps of time (Hz).
    pub rate_hz: f64,
    /// Headings that were read and not used.
    pub unused: Vec<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Column {
    Time,
    Up,
    YawRate,
    Unused,
}

/// What a heading means: name with unit, what it holds, factor to its SI unit (or g), least and most in the heading's unit.
const HEADINGS: [(&str, Column, f64, f64, f64); 10] = [
    ("time_s", Column::Time, 1.0, 0.0, 1e6),
    ("time_ms", Column::Time, 1e-3, 0.0, 1e9),
    ("up_g", Column::Up, 1.0, -20.0, 20.0),
    ("up_m_s2", Column::Up, 1.0 / STANDARD_GRAVITY_M_S2, -200.0, 200.0),
    ("yaw_rate_deg_s", Column::YawRate, std::f64::consts::PI / 180.0, -1000.0, 1000.0),
    ("yaw_rate_rad_s", Column::YawRate, 1.0, -20.0, 20.0),
    ("forward_g", Column::Unused, 1.0, -20.0, 20.0),
    ("forward_m_s2", Column::Unused, 1.0, -200.0, 200.0),
    ("left_g", Column::Unused, 1.0, -20.0, 20.0),
    ("left_m_s2", Column::Unused, 1.0, -200.0, 200.0),
];

fn allowed_headings() -> String {
    HEADINGS.map(|h| h.0).join(", ")
}

/// Reads a log: columns `time_s` (or `time_ms`), `up_g` (or `up_m_s2`) and `yaw_rate_deg_s` (or `yaw_rate_rad_s`); forward
/// and left are read and not used.
pub fn read_log(file: &str, text: &str) -> Result<MotionLog, Vec<FileFault>> {
    let mut faults: Vec<FileFault> = vec![];
    let mut fault = |line: u64, column: usize, key: &str, got: &str, allowed: String| {
        let got = if got.is_empty() { "nothing" } else { got };
        faults.push(FileFault::at(file, (line, column), key, got, allowed));
    };
    let text = without_mark(text);
    let mut table = rows_of(text);
    let header = table.headers().cloned().unwrap_or_default();
    let head_line = head_line(text);
    let mut columns = vec![];
    for (c, heading) in header.iter().enumerate() {
        let plain = heading.to_lowercase();
        match HEADINGS.iter().find(|h| h.0 == plain) {
            None => {
                fault(head_line, c + 1, "heading", heading, format!("{}, unit and all", allowed_headings()));
            }
            Some(h) => {
                let twice = h.1 != Column::Unused
                    && columns.iter().any(|k: &&(&str, Column, f64, f64, f64)| k.1 == h.1);
                if twice {
                    fault(head_line, c + 1, heading, "a second column of its kind", "one".into());
                }
                columns.push(h);
            }
        }
    }
    for (column, name) in
        [(Column::Time, "time_s"), (Column::Up, "up_g"), (Column::YawRate, "yaw_rate_deg_s")]
    {
        if !columns.iter().any(|h| h.1 == column) {
            fault(head_line, 0, name, "no such column", allowed_headings());
        }
    }
    let mut log = MotionLog::default();
    if faults.is_empty() {
        log.unused = columns.iter().filter(|h| h.1 == Column::Unused).map(|h| h.0.to_string()).collect();
        rows(&mut table, &columns, &mut log, file, &mut faults);
    }
    if faults.is_empty() { Ok(log) } else { Err(faults) }
}

fn rows(
    table: &mut csv::Reader<&[u8]>,
    columns: &[&(&str, Column, f64, f64, f64)],
    log: &mut MotionLog,
    file: &str,
    faults: &mut Vec<FileFault>,
) {
    let mut fault = |line: u64, column: usize, key: &str, got: &str, allowed: String| {
        let got = if got.is_empty() { "nothing" } else { got };
        faults.push(FileFault::at(file, (line, column), key, got, allowed));
        faults.len() >= MOST_FAULTS
    };
    for row in table.records() {
        let Ok(row) = row else { continue };
        let line = row.position().map_or(0, csv::Position::line);
        if row.len() != columns.len() {
            let got = format!("{} fields", row.len());
            let allowed = format!("{} as in the headings", columns.len());
            if fault(line, 0, "line", &got, allowed) {
                return;
            }
            continue;
        }
        for (c, (name, column, factor, least, most)) in columns.iter().enumerate() {
            let text = row.get(c).unwrap_or("");
            let Some(value) = number(text).filter(|v| (*least..=*most).contains(v)) else {
                if fault(line, c + 1, name, text, format!("a number from {least} to {most}")) {
                    return;
                }
                continue;
            };
            let value = value * factor;
            match column {
                Column::Time => {
                    if let Some(before) = log.time_s.last().filter(|t| value <= **t) {
                        let allowed = format!("later than {before} s of the line before");
                        if fault(line, c + 1, name, text, allowed) {
                            return;
                        }
                    }
                    log.time_s.push(value);
                }
                Column::Up => log.up_g.push(value),
                Column::YawRate => log.yaw_rate_rad_s.push(value),
                Column::Unused => {}
            }
        }
    }
    let mut steps: Vec<f64> = log.time_s.windows(2).map(|w| w[1] - w[0]).collect();
    steps.sort_by(f64::total_cmp);
    let step_s = steps.get(steps.len() / 2).copied().unwrap_or(f64::INFINITY);
    log.rate_hz = 1.0 / step_s;
    let long_s = log.time_s.last().zip(log.time_s.first()).map_or(0.0, |(b, a)| b - a);
    if long_s < 10.0 {
        fault(0, 0, "time", &format!("{long_s:.1} s"), "a run of 10 s or more".into());
    } else if log.rate_hz < LEAST_RATE_HZ {
        let got = format!("{:.1} samples a second", log.rate_hz);
        fault(0, 0, "time", &got, format!("{LEAST_RATE_HZ} or more"));
    } else if let Some(gap) = log.time_s.windows(2).position(|w| w[1] - w[0] > 1.0) {
        let got = format!("no sample from {} to {} s", log.time_s[gap], log.time_s[gap + 1]);
        fault(0, 0, "time", &got, "no gap longer than 1 s".into());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(head: &str, row: impl Fn(usize) -> String) -> String {
        (0..400).fold(format!("{head}\n"), |text, i| text + &row(i) + "\n")
    }

    fn told(text: &str) -> String {
        read_log("log.csv", text).unwrap_err().iter().map(|f| f.to_string() + "\n").collect()
    }

    #[test]
    fn exact_units_of_the_headings() {
        let si = lines("time_s,up_g,yaw_rate_rad_s", |i| format!("{},2,0.5", 0.05 * i as f64));
        let other = lines("time_ms;up_m_s2;yaw_rate_deg_s;left_g", |i| {
            format!("{};19,6133;28,64788975654116;0", 50 * i)
        });
        let (a, b) = (read_log("a", &si).unwrap(), read_log("b", &other).unwrap());
        approx::assert_abs_diff_eq!(a.rate_hz, 20.0, epsilon = 1e-9); // rounding
        for (x, y) in [(&a.up_g, &b.up_g), (&a.yaw_rate_rad_s, &b.yaw_rate_rad_s), (&a.time_s, &b.time_s)] {
            approx::assert_abs_diff_eq!(x[7], y[7], epsilon = 1e-12); // rounding
        }
        assert_eq!(b.unused, ["left_g"]);
    }

    #[test]
    fn exact_every_fault_of_a_log_is_told_with_its_place() {
        let found = told("time_s,up,yaw_rate_deg_s\n0,1,0\n");
        assert!(
            found.contains("line 1, column 2 (heading): got up; allowed: time_s, time_ms, up_g"),
            "{found}"
        );
        assert!(found.contains("(up_g): got no such column"), "{found}");
        let good = |i: usize| format!("{},1,0", 0.05 * i as f64);
        let found = told(&lines("time_s,up_g,yaw_rate_deg_s", |i| match i {
            3 => "0.15,fast,0".into(),
            5 => "0.20,1,0".into(),
            8 => "0.40,1".into(),
            9 => "0.45,1,5000".into(),
            _ => good(i),
        }));
        for part in [
            "line 5, column 2 (up_g): got fast; allowed: a number from -20 to 20",
            "line 7, column 1 (time_s): got 0.20; allowed: later than 0.2 s of the line before",
            "line 10 (line): got 2 fields; allowed: 3 as in the headings",
            "line 11, column 3 (yaw_rate_deg_s): got 5000; allowed: a number from -1000 to 1000",
        ] {
            assert!(found.contains(part), "missing {part} in\n{found}");
        }
        let slow = lines("time_s,up_g,yaw_rate_deg_s", |i| format!("{},1,0", 0.2 * i as f64));
        assert!(told(&slow).contains("got 5.0 samples a second; allowed: 10 or more"));
    }
}
