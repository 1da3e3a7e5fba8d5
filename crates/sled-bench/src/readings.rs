//! Caliper readings, runner to guide, from CSV; every fault of the text together.

use file_faults::FileFault;
use ice_contact::runner::RunnerSpec;

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
    pub(crate) line: u64,
    /// Number of the field that holds the distance, from 1.
    pub(crate) column: usize,
    /// Runner.
    pub(crate) side: Side,
    /// With or without bow.
    pub(crate) state: State,
    /// Name of the point.
    pub point: String,
    /// Place along the runner from its middle, forward positive (m).
    pub position_m: f64,
    /// Distance runner to guide (m); it grows with bow.
    pub(crate) distance_m: f64,
    /// Standard error of the reading (m).
    pub(crate) error_m: f64,
}

/// What the reader may take for granted.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingRules {
    /// Points that need no place in the file: name and place (m).
    pub points: Vec<(String, f64)>,
    /// Readings beyond this from the middle are off the runner (m).
    pub(crate) tip_m: f64,
    /// State of the rows of a file without a column of that name.
    pub(crate) state: State,
    /// Whether rows with bow may stand in this file; a file of reference readings has none.
    pub(crate) bowed_allowed: bool,
    /// Whether rows without bow may stand in this file; with a file of its own for them there is one zero, not two.
    pub reference_allowed: bool,
    /// The user has said that small distances are millimetres.
    pub(crate) millimetres_confirmed: bool,
}

impl ReadingRules {
    /// Rules for a file of readings of a runner: its pins, screws and middle are known by name.
    pub fn of(runner: &RunnerSpec, millimetres_confirmed: bool) -> Self {
        ReadingRules {
            points: named_points(runner),
            tip_m: runner.tip_m,
            state: State::Bowed,
            bowed_allowed: true,
            reference_allowed: true,
            millimetres_confirmed,
        }
    }

    /// The same for a file of readings without bow.
    pub fn reference(self) -> Self {
        ReadingRules { state: State::Reference, bowed_allowed: false, reference_allowed: true, ..self }
    }
}

/// The points of a runner that need no place in a file.
pub fn named_points(runner: &RunnerSpec) -> Vec<(String, f64)> {
    let named = [
        ("front pin", runner.pin_m),
        ("front screw", runner.screw_m),
        ("middle", 0.0),
        ("rear screw", -runner.screw_m),
        ("rear pin", -runner.pin_m),
    ];
    named.map(|(name, x)| (name.to_string(), x)).to_vec()
}

/// All distances below this are suspected to be inches (mm): no caliper guide stands so near. Assumed.
pub(crate) const INCH_SUSPICION_MM: f64 = 4.0;
/// A place is marked on the runner to about this (mm). Assumed.
const PLACE_MM: f64 = 1.0;

const COLUMNS: [&str; 6] = ["runner", "state", "point", "position_mm", "distance_mm", "error_mm"];
/// Columns that a file can do without.
const OPTIONAL: [&str; 2] = ["state", "position_mm"];

/// Reads `runner,state,point,position_mm,distance_mm,error_mm`, columns in any order; every fault of the text at
/// once.
///
/// `runner` is left or right, `state` reference or bowed. `position_mm` may be left out for the points that the rules
/// name; a point of another name needs its place, and keeps it throughout the file.
pub fn parse_readings(file: &str, text: &str, rules: &ReadingRules) -> Result<Vec<Reading>, Vec<FileFault>> {
    let mut reader =
        Reader { file, rules, place: [None; 6], known: rules.points.clone(), uneven: vec![], found: vec![] };
    let mut table = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .comment(Some(b'#'))
        .flexible(true)
        .from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let header = table.headers().cloned().unwrap_or_default();
    if header.iter().all(str::is_empty) {
        reader.fault(
            (0, 0),
            "line",
            "an empty file",
            "a line of column names, then one line for each reading",
        );
        return Err(reader.found);
    }
    // the reader counts comments above the header to it
    let is_header = |l: &str| !l.trim().is_empty() && !l.starts_with('#');
    let line = 1 + text.lines().position(is_header).unwrap_or(0) as u64;
    if header.len() == 1 && header.iter().any(|h| h.contains(';')) {
        reader.fault(
            (line, 0),
            "line",
            "semicolons between the columns",
            "columns separated by commas, and numbers with a decimal point",
        );
        return Err(reader.found);
    }
    reader.twice(line, &header);
    reader.place = COLUMNS.map(|name| header.iter().position(|h| h == name));
    let missing = COLUMNS.iter().zip(reader.place).filter(|(key, p)| p.is_none() && !OPTIONAL.contains(key));
    for key in missing.map(|(key, _)| *key).collect::<Vec<_>>() {
        let allowed =
            "runner, point, distance_mm, error_mm, separated by commas; state and position_mm optional";
        reader.fault((line, 0), key, "no such column", allowed);
    }
    let mut readings = Vec::new();
    if reader.found.is_empty() {
        for row in table.records() {
            match row {
                Ok(row) => readings.extend(reader.reading(&row, header.len())),
                Err(error) => {
                    let line = error.position().map_or(0, csv::Position::line);
                    reader.fault((line, 0), "line", &error.to_string(), "a line of CSV");
                }
            }
        }
        reader.tell_fields(header.len());
        if readings.is_empty() && reader.found.is_empty() {
            reader.fault((0, 0), "line", "no readings", "one line for each reading");
        }
    }
    let greatest = readings.iter().max_by(|a, b| a.distance_m.total_cmp(&b.distance_m));
    if let Some(greatest) = greatest.filter(|r| 1e3 * r.distance_m < INCH_SUSPICION_MM)
        && !rules.millimetres_confirmed
    {
        let got = format!("{}, the greatest of all", 1e3 * greatest.distance_m);
        let asked = format!(
            "{INCH_SUSPICION_MM} mm or more for one reading at least; are these inches? Convert them, or say that they are \
             millimetres with --millimetres"
        );
        reader.fault((greatest.line, greatest.column), "distance_mm", &got, &asked);
    }
    if reader.found.is_empty() { Ok(readings) } else { Err(reader.found) }
}

struct Reader<'a> {
    file: &'a str,
    rules: &'a ReadingRules,
    /// Where each of [`COLUMNS`] stands.
    place: [Option<usize>; 6],
    /// Points met so far, and those of the rules.
    known: Vec<(String, f64)>,
    /// Lines with other fields than the header, and how many.
    uneven: Vec<(u64, usize)>,
    found: Vec<FileFault>,
}

impl Reader<'_> {
    fn fault(&mut self, (line, column): (u64, usize), key: &'static str, got: &str, allowed: &str) {
        let got = if got.is_empty() { "nothing" } else { got };
        self.found.push(FileFault::at(self.file, (line, column), key, got, allowed));
    }

    /// Columns that stand twice: which one is meant is not guessed.
    fn twice(&mut self, line: u64, header: &csv::StringRecord) {
        for key in COLUMNS {
            let mut places = header.iter().enumerate().filter(|(_, name)| *name == key);
            if let (Some((first, _)), Some((second, _))) = (places.next(), places.next()) {
                let allowed = format!("one column of this name; column {} has it already", first + 1);
                self.fault((line, second + 1), key, "a second column", &allowed);
            }
        }
    }

    /// Lines with other fields than the header: what is wrong with all of them alike is told once.
    fn tell_fields(&mut self, fields: usize) {
        let uneven = std::mem::take(&mut self.uneven);
        for (i, (line, got)) in uneven.iter().enumerate() {
            if uneven[..i].iter().any(|u| u.1 == *got) {
                continue;
            }
            let alike = uneven[i + 1..].iter().filter(|u| u.1 == *got).count();
            let also = if alike > 0 { format!(", and so in {alike} more lines") } else { String::new() };
            let allowed = format!("{fields} as in the header; numbers have a decimal point, never a comma");
            self.fault((*line, 0), "line", &format!("{got} fields{also}"), &allowed);
        }
    }

    fn reading(&mut self, row: &csv::StringRecord, fields: usize) -> Option<Reading> {
        let line = row.position().map_or(0, csv::Position::line);
        if row.len() != fields {
            self.uneven.push((line, row.len()));
            return None;
        }
        let text = |k: usize| self.place[k].and_then(|c| row.get(c)).unwrap_or("").to_string();
        let texts: [String; 6] = std::array::from_fn(text);
        let at = |k: usize, place: &[Option<usize>; 6]| (line, place[k].map_or(0, |c| c + 1));
        let side = match texts[0].as_str() {
            "left" => Some(Side::Left),
            "right" => Some(Side::Right),
            other => {
                self.fault(at(0, &self.place), COLUMNS[0], other, "left or right");
                None
            }
        };
        let state = match texts[1].as_str() {
            "reference" if self.rules.reference_allowed => Some(State::Reference),
            "bowed" if self.rules.bowed_allowed => Some(State::Bowed),
            "" if self.place[1].is_none() => Some(self.rules.state),
            other => {
                let allowed = match (self.rules.bowed_allowed, self.rules.reference_allowed) {
                    (true, true) => "reference or bowed",
                    (true, false) => "bowed; the readings without bow are in the file of --reference",
                    _ => "reference",
                };
                self.fault(at(1, &self.place), COLUMNS[1], other, allowed);
                None
            }
        };
        let position = self.position_mm(&texts, at(2, &self.place), at(3, &self.place));
        let distance = self.number(4, &texts[4], at(4, &self.place), 0.0, 500.0);
        let error = self.number(5, &texts[5], at(5, &self.place), 1e-3, 5.0);
        Some(Reading {
            line,
            column: at(4, &self.place).1,
            side: side?,
            state: state?,
            point: texts[2].clone(),
            position_m: 1e-3 * position?,
            distance_m: 1e-3 * distance?,
            error_m: 1e-3 * error?,
        })
    }

    fn position_mm(&mut self, texts: &[String; 6], point: (u64, usize), place: (u64, usize)) -> Option<f64> {
        let known_mm = self.known.iter().find(|p| p.0 == texts[2]).map(|p| 1e3 * p.1);
        match (known_mm, texts[3].is_empty()) {
            (Some(known), true) => Some(known),
            (None, true) => {
                let names: Vec<_> = self.known.iter().map(|p| p.0.as_str()).collect();
                let allowed = format!("{}, or another name with its position_mm", names.join(", "));
                self.fault(point, COLUMNS[2], &texts[2], &allowed);
                None
            }
            (known, false) => {
                let tip_mm = 1e3 * self.rules.tip_m;
                let got = self.number(3, &texts[3], place, -tip_mm, tip_mm)?;
                match known {
                    Some(known) if (known - got).abs() > PLACE_MM => {
                        let allowed = format!("{known} mm, where this point is known to be, or another name");
                        self.fault(place, COLUMNS[3], &texts[3], &allowed);
                    }
                    Some(_) => {}
                    None => self.known.push((texts[2].clone(), 1e-3 * got)),
                }
                Some(got)
            }
        }
    }

    fn number(&mut self, k: usize, text: &str, at: (u64, usize), least: f64, greatest: f64) -> Option<f64> {
        let value = text.parse::<f64>().ok().filter(|v| (least..=greatest).contains(v));
        if value.is_none() {
            self.fault(at, COLUMNS[k], text, &format!("{least} to {greatest} mm, with a decimal point"));
        }
        value
    }
}

#[cfg(test)]
mod tests;
