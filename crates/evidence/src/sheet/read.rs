//! The reader of a timing sheet: headings, cells, and what the rows of one sheet owe each other.

use super::cells::{Mark, clock_h, day, mark_of, number, seconds};
use super::{Sheet, TimedRun};
use crate::table_text::{head_line, rows_of, without_mark};
use file_faults::FileFault;
use file_faults::cell::unguarded;

/// What a column holds.
#[derive(Clone, Debug, PartialEq)]
enum Column {
    Run,
    Athlete,
    Date,
    Clock,
    SetUp,
    Track,
    Ice,
    Air,
    Mass,
    Start,
    Split(usize),
    Finish,
    Trap,
    Notes,
}

/// Headings that a sheet may have, in words.
const HEADINGS: &str = "run, athlete, date, time_of_day, set_up, track, ice_c, air_c, mass_kg, start_s, any number of columns \
\"eye NAME\", finish_s, speed_trap_km_h, notes";

/// What a heading means: unit and case do not matter, but a unit that contradicts is refused.
fn column_of(heading: &str, eyes: &mut Vec<String>) -> Option<Column> {
    let plain = heading.trim().to_lowercase().replace(['_', '-'], " ").replace(['[', ']', '(', ')'], "");
    let without = |units: &[&str]| {
        let found = units.iter().find_map(|u| plain.strip_suffix(&format!(" {u}")));
        found.unwrap_or(&plain).trim().to_string()
    };
    if let Some(rest) = ["eye ", "split ", "intermediate "].iter().find_map(|p| plain.strip_prefix(p)) {
        let name = rest.trim_end_matches(" s").trim();
        if name.is_empty() || name.ends_with(" min") {
            return None;
        }
        eyes.push(format!("eye {name}"));
        return Some(Column::Split(eyes.len() - 1));
    }
    let time = without(&["s", "min:s"]);
    let degrees = without(&["c", "degc", "°c"]);
    let speed = without(&["km/h", "km h"]);
    match plain.as_str() {
        "run" | "run number" | "no" => return Some(Column::Run),
        "athlete" | "rider" => return Some(Column::Athlete),
        "date" | "day" => return Some(Column::Date),
        "time of day" | "clock" => return Some(Column::Clock),
        "setup" | "set up" | "sled set up" => return Some(Column::SetUp),
        "track" => return Some(Column::Track),
        "notes" | "note" | "remarks" => return Some(Column::Notes),
        _ => {}
    }
    match (time.as_str(), degrees.as_str(), speed.as_str()) {
        ("start" | "start time", _, _) => Some(Column::Start),
        ("finish" | "finish time", _, _) => Some(Column::Finish),
        (_, "ice" | "ice temperature", _) => Some(Column::Ice),
        (_, "air" | "air temperature", _) => Some(Column::Air),
        _ if ["mass kg", "total mass kg"].contains(&plain.as_str()) => Some(Column::Mass),
        (_, _, "speed trap" | "trap" | "speed") => Some(Column::Trap),
        _ => None,
    }
}

struct Reader<'a> {
    file: &'a str,
    columns: Vec<(Column, String)>,
    eyes: usize,
    /// Decimal mark of the sheet and where it was first met.
    mark: Option<(Mark, u64)>,
    found: Vec<FileFault>,
}

/// Reads a sheet. Faults of the headings leave nothing to read and are returned as an error; faults of rows stand in
/// [`Sheet::faults`] beside the good rows.
pub fn read_sheet(file: &str, text: &str) -> Result<Sheet, Vec<FileFault>> {
    let text = without_mark(text);
    let mut reader = Reader { file, columns: vec![], eyes: 0, mark: None, found: vec![] };
    let mut table = rows_of(text);
    let header = table.headers().cloned().unwrap_or_default();
    let head_line = head_line(text);
    if header.iter().all(str::is_empty) {
        reader.fault((0, 0), "line", "an empty file", "a line of headings, then one line for each run");
        return Err(reader.found);
    }
    let mut eyes = vec![];
    for (c, heading) in header.iter().enumerate() {
        match column_of(heading, &mut eyes) {
            None => reader.fault((head_line, c + 1), "heading", heading, HEADINGS),
            Some(column) => {
                let twice = reader.columns.iter().any(|(k, _)| *k == column)
                    || matches!(column, Column::Split(k) if eyes[..k].contains(&eyes[k]));
                if twice {
                    reader.fault((head_line, c + 1), heading, "a second column", "one column of this name");
                }
                reader.columns.push((column, heading.to_string()));
            }
        }
    }
    for (needed, name) in [(Column::Run, "run"), (Column::Finish, "finish_s")] {
        if !reader.columns.iter().any(|(c, _)| *c == needed) && reader.found.is_empty() {
            reader.fault((head_line, 0), name, "no such column", HEADINGS);
        }
    }
    if !reader.found.is_empty() {
        return Err(reader.found);
    }
    reader.eyes = eyes.len();
    let columns = (0..eyes.len()).map(|k| reader.place(&Column::Split(k))).collect();
    let mut sheet = Sheet { eyes, headings: (head_line, columns), ..Sheet::default() };
    for row in table.records() {
        let Ok(row) = row else {
            reader.fault((0, 0), "line", "no line of CSV", "text parted as in the headings");
            continue;
        };
        let before = reader.found.len();
        let (run, track) = reader.run(&row, header.len());
        if let (Some(track), Some(known)) = (&track, &sheet.track)
            && track != known
        {
            reader.fault(
                (run.line, reader.place(&Column::Track)),
                "track",
                track,
                &format!("{known}, as above"),
            );
        }
        reader.doubled(&run, &sheet);
        if reader.found.len() == before {
            sheet.track = sheet.track.or(track);
            sheet.runs.push(run);
        }
    }
    if sheet.runs.is_empty() && reader.found.is_empty() {
        reader.fault((0, 0), "line", "no runs", "one line for each run");
    }
    reader.far_from_the_others(&mut sheet);
    sheet.faults = reader.found;
    Ok(sheet)
}

/// A finish this far from the median of the sheet is no ride on the same track `[-]`: assumed.
const FAR: f64 = 0.3;

impl Reader<'_> {
    fn fault(&mut self, (line, column): (u64, usize), key: &str, got: &str, allowed: &str) {
        let got = if got.is_empty() { "nothing" } else { got };
        self.found.push(FileFault::at(self.file, (line, column), key, got, allowed));
    }

    fn place(&self, wanted: &Column) -> usize {
        self.columns.iter().position(|(c, _)| c == wanted).map_or(0, |c| c + 1)
    }

    /// Takes out finishes that no ride on the same track can have: mostly a slip of the pen.
    fn far_from_the_others(&mut self, sheet: &mut Sheet) {
        let mut all: Vec<f64> = sheet.runs.iter().filter_map(|r| r.finish_s).collect();
        all.sort_by(f64::total_cmp);
        let Some(median_s) = all.get(all.len() / 2).copied() else { return };
        let column = self.place(&Column::Finish);
        let far = |r: &TimedRun| r.finish_s.is_some_and(|t| (t / median_s - 1.0).abs() > FAR);
        for run in sheet.runs.iter().filter(|r| far(r)) {
            let got = format!("{:.2} s", run.finish_s.unwrap_or(median_s));
            let allowed = format!("within {:.0} % of {median_s:.2} s, as most runs", 1e2 * FAR);
            self.fault((run.line, column), "finish", &got, &allowed);
        }
        sheet.runs.retain(|r| !far(r));
    }

    /// The same run twice, by day and name or by all its times.
    fn doubled(&mut self, run: &TimedRun, sheet: &Sheet) {
        let same_name = |r: &&TimedRun| r.name == run.name && r.date == run.date && r.athlete == run.athlete;
        if let Some(first) = sheet.runs.iter().find(same_name) {
            let allowed = format!("a run once; line {} has this run already", first.line);
            self.fault((run.line, self.place(&Column::Run)), "run", &run.name, &allowed);
            return;
        }
        let timed = run.splits_s.iter().flatten().count() >= 2 && run.finish_s.is_some();
        let same_times = |r: &&TimedRun| {
            (&r.splits_s, r.finish_s, r.start_s) == (&run.splits_s, run.finish_s, run.start_s)
        };
        if let Some(first) = sheet.runs.iter().filter(|_| timed).find(same_times) {
            let allowed = format!("its own times; these are those of line {} to the digit", first.line);
            self.fault((run.line, 0), "line", "the times of another run", &allowed);
        }
    }

    fn run(&mut self, row: &csv::StringRecord, fields: usize) -> (TimedRun, Option<String>) {
        let line = row.position().map_or(0, csv::Position::line);
        let mut run = TimedRun { line, splits_s: vec![None; self.eyes], ..TimedRun::default() };
        let mut track = None;
        if row.len() != fields {
            let got = format!("{} fields", row.len());
            let allowed =
                format!("{fields} as in the headings; with decimal commas part the fields by semicolons");
            self.fault((line, 0), "line", &got, &allowed);
            return (run, track);
        }
        let columns = self.columns.clone();
        for (c, (column, heading)) in columns.iter().enumerate() {
            let text = unguarded(row.get(c).unwrap_or(""));
            let at = (line, c + 1);
            if text.is_empty() || text == "-" {
                if *column == Column::Run {
                    self.fault(at, heading, text, "the number or name of the run");
                }
                continue;
            }
            match column {
                Column::Run => run.name = text.into(),
                Column::Athlete => run.athlete = Some(text.into()),
                Column::SetUp => run.set_up = Some(text.into()),
                Column::Notes => run.notes = text.into(),
                Column::Track => track = Some(text.to_string()),
                Column::Date => {
                    run.date = day(text);
                    if run.date.is_none() {
                        self.fault(at, heading, text, "a day as 2026-01-17 or 17.01.2026");
                    }
                }
                Column::Clock => {
                    run.clock_h = clock_h(text);
                    if run.clock_h.is_none() {
                        self.fault(at, heading, text, "a time of day as 9:40 or 09:40:15");
                    }
                }
                Column::Ice => run.ice_c = self.value(at, heading, text, -40.0, 0.0, "degC", number),
                Column::Air => run.air_c = self.value(at, heading, text, -40.0, 30.0, "degC", number),
                Column::Mass => {
                    run.mass_kg =
                        self.value(at, heading, text, 50.0, 300.0, "kg, athlete and sled together", number);
                }
                Column::Start => run.start_s = self.value(at, heading, text, 2.0, 15.0, "s", seconds),
                Column::Split(k) => {
                    run.splits_s[*k] =
                        self.value(at, heading, text, 2.0, 180.0, "s from the first eye", seconds);
                }
                Column::Finish => {
                    run.finish_s =
                        self.value(at, heading, text, 20.0, 180.0, "s from the first eye", seconds);
                }
                Column::Trap => {
                    run.trap_m_s =
                        self.value(at, heading, text, 20.0, 160.0, "km/h", number).map(|v| v / 3.6);
                }
            }
        }
        self.in_order(&run, &columns);
        (run, track)
    }

    /// A cell with a number, inside its limits and with the decimal mark of the sheet.
    #[allow(clippy::too_many_arguments)] // what a fault tells
    fn value(
        &mut self,
        at: (u64, usize),
        heading: &str,
        text: &str,
        least: f64,
        most: f64,
        unit: &str,
        read: fn(&str) -> Option<f64>,
    ) -> Option<f64> {
        if let Some(mark) = mark_of(text) {
            let (first, line) = *self.mark.get_or_insert((mark, at.0));
            if first != mark {
                let name = if first == Mark::Point { "point" } else { "comma" };
                let allowed = format!("a decimal {name} as in line {line}: one mark for the whole sheet");
                self.fault(at, heading, text, &allowed);
                return None;
            }
        }
        let value = read(text).filter(|v| (least..=most).contains(v));
        if value.is_none() {
            let forms = if unit.starts_with('s') { ", written 55.12 or 0:55.12" } else { "" };
            self.fault(at, heading, text, &format!("{least} to {most} {unit}{forms}"));
        }
        value
    }

    /// Times grow from the start over the intermediates, in the order of the columns, to the finish.
    fn in_order(&mut self, run: &TimedRun, columns: &[(Column, String)]) {
        let timed = columns.iter().enumerate().filter_map(|(c, (column, heading))| {
            let (rank, value) = match column {
                Column::Start => (0, run.start_s),
                Column::Split(k) => (1 + k, run.splits_s[*k]),
                Column::Finish => (usize::MAX, run.finish_s),
                _ => return None,
            };
            Some((rank, c, heading.clone(), value?))
        });
        let mut all: Vec<(usize, usize, String, f64)> = timed.collect();
        all.sort_by_key(|t| t.0);
        for pair in all.windows(2) {
            let ((_, _, before, early), (_, c, heading, late)) = (&pair[0], &pair[1]);
            if late <= early {
                let allowed = format!(
                    "more than {early} s of {before}: times count from the first eye; are columns swapped?"
                );
                self.fault((run.line, c + 1), heading, &format!("{late} s"), &allowed);
            }
        }
    }
}
