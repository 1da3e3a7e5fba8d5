//! Runner records in files: CSV, one line a pair, and TOML, one `[[pair]]` a pair; both ways without loss.

use crate::runner_record::{KEYS, Quantity, RunnerRecord};
use file_faults::cell::{guarded, unguarded};
use file_faults::{FileFault, line_and_column};
use std::fmt::Write;
use toml::de::{DeTable, DeValue};

/// Keys of a record that are words.
const WORDS: [&str; 3] = ["pair", "scratches", "history"];
/// Longest text of a record (characters).
const LONGEST: usize = 500;

/// One value of a record as written: key, text, line, column.
struct Field {
    key: String,
    text: String,
    line: u64,
    column: usize,
}

/// Every key in the order of a written file.
fn all_keys() -> Vec<&'static str> {
    let numbers = KEYS.iter().flat_map(|k| [k.key, k.error_key]);
    [WORDS[0]].into_iter().chain(numbers).chain([WORDS[1], WORDS[2]]).collect()
}

struct Reader<'a> {
    file: &'a str,
    found: Vec<FileFault>,
    records: Vec<RunnerRecord>,
}

impl Reader<'_> {
    fn fault(&mut self, line: u64, column: usize, key: &'static str, got: &str, allowed: &str) {
        self.found.push(FileFault::at(self.file, (line, column), key, got, allowed));
    }

    fn done(mut self) -> Result<Vec<RunnerRecord>, Vec<FileFault>> {
        if self.records.is_empty() && self.found.is_empty() {
            self.fault(0, 0, "pair", "no pairs", "one record or more");
        }
        if self.found.is_empty() { Ok(self.records) } else { Err(self.found) }
    }

    fn record(&mut self, line: u64, fields: &[Field]) {
        let mut record = RunnerRecord::default();
        for f in fields {
            let word = match f.key.as_str() {
                "pair" => Some(&mut record.pair),
                "scratches" => Some(&mut record.scratches),
                "history" => Some(&mut record.history),
                _ => None,
            };
            if let Some(word) = word {
                if f.text.chars().count() > LONGEST {
                    let got = format!("{} characters", f.text.chars().count());
                    let allowed = format!("at most {LONGEST} characters");
                    let key = WORDS.into_iter().find(|w| *w == f.key).unwrap_or(WORDS[0]);
                    self.fault(f.line, f.column, key, &got, &allowed);
                }
                let lines = f.key != WORDS[0];
                if f.text.contains(|c: char| c.is_control() && !(lines && c == '\n')) {
                    let key = WORDS.into_iter().find(|w| *w == f.key).unwrap_or(WORDS[0]);
                    self.fault(
                        f.line,
                        f.column,
                        key,
                        &format!("{:?}", f.text),
                        "text without control characters",
                    );
                }
                word.clone_from(&f.text);
                continue;
            }
            let Some((i, key)) =
                KEYS.iter().enumerate().find(|(_, k)| f.key == k.key || f.key == k.error_key)
            else {
                self.fault(f.line, f.column, "key", &f.key, &all_keys().join(", "));
                continue;
            };
            if f.text.is_empty() {
                continue; // not known
            }
            let is_error = f.key == key.error_key;
            let (name, least, most) = if is_error {
                (key.error_key, 0.0, key.most - key.least)
            } else {
                (key.key, key.least, key.most)
            };
            match f.text.parse::<f64>().ok().filter(|v| (least..=most).contains(v)) {
                Some(v) if is_error => record.numbers[i].error = Some(v),
                Some(v) => record.numbers[i].value = Some(v),
                None => {
                    let allowed =
                        format!("{least} to {most} with a decimal point, or nothing where it is not known");
                    self.fault(f.line, f.column, name, &f.text, &allowed);
                }
            }
        }
        let place = fields.iter().find(|f| f.key == "pair").map_or((line, 0), |f| (f.line, f.column));
        if record.pair.trim().is_empty() {
            self.fault(place.0, place.1, "pair", "no name", "a name");
        } else if self.records.iter().any(|r| r.pair == record.pair) {
            self.fault(place.0, place.1, "pair", &record.pair, "a name that no other pair of the file has");
        }
        self.records.push(record);
    }
}

/// Reads pairs from CSV; an empty field is not known. Every fault at once.
pub fn read_runners_csv(file: &str, text: &str) -> Result<Vec<RunnerRecord>, Vec<FileFault>> {
    let mut reader = Reader { file, found: Vec::new(), records: Vec::new() };
    let mut table = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let header = table.headers().cloned().unwrap_or_default();
    let keys = all_keys();
    for (column, name) in header.iter().enumerate() {
        if !keys.contains(&name) {
            reader.fault(1, column + 1, "key", name, &keys.join(", "));
        }
        if let Some(first) = header.iter().take(column).position(|h| h == name) {
            let allowed = format!("one column of this name; column {} has it already", first + 1);
            reader.fault(1, column + 1, "key", name, &allowed);
        }
    }
    if !header.iter().any(|h| h == "pair") {
        reader.fault(1, 0, "pair", "no such column", "a column with the names of the pairs");
    }
    if !reader.found.is_empty() {
        return Err(reader.found);
    }
    for row in table.records() {
        match row {
            Ok(row) => {
                let line = row.position().map_or(0, csv::Position::line);
                let fields: Vec<Field> = header
                    .iter()
                    .zip(row.iter())
                    .enumerate()
                    .map(|(c, (key, text))| Field {
                        key: key.into(),
                        text: unguarded(text).into(),
                        line,
                        column: c + 1,
                    })
                    .collect();
                reader.record(line, &fields);
            }
            Err(error) => {
                let line = error.position().map_or(0, csv::Position::line);
                reader.fault(line, 0, "line", &error.to_string(), "as many fields as the header has");
            }
        }
    }
    reader.done()
}

/// Reads pairs from TOML; a key that is left out is not known. Every fault at once.
pub fn read_runners_toml(file: &str, text: &str) -> Result<Vec<RunnerRecord>, Vec<FileFault>> {
    let mut reader = Reader { file, found: Vec::new(), records: Vec::new() };
    let at = |start: usize| line_and_column(text, start);
    let table = match DeTable::parse(text) {
        Ok(table) => table,
        Err(error) => {
            let (line, column) = error.span().map_or((0, 0), |s| at(s.start));
            reader.fault(line, column, "line", error.message(), "TOML, numbers with a decimal point");
            return Err(reader.found);
        }
    };
    for (key, value) in table.get_ref() {
        let (line, column) = at(key.span().start);
        match value.get_ref() {
            DeValue::Array(pairs) if key.get_ref() == "pair" => {
                for pair in pairs {
                    let (line, column) = at(pair.span().start);
                    match pair.get_ref() {
                        DeValue::Table(pair) => {
                            let fields = reader.fields(pair, &at);
                            reader.record(line, &fields);
                        }
                        _ => reader.fault(line, column, "pair", "no table", "[[pair]] with keys below it"),
                    }
                }
            }
            _ => reader.fault(line, column, "key", key.get_ref(), "[[pair]]"),
        }
    }
    reader.done()
}

impl Reader<'_> {
    fn fields(&mut self, pair: &DeTable<'_>, at: &dyn Fn(usize) -> (u64, usize)) -> Vec<Field> {
        let mut fields = Vec::new();
        for (key, value) in pair {
            let name = if key.get_ref() == "name" { "pair" } else { key.get_ref().as_ref() };
            let (line, column) = at(value.span().start);
            let words = WORDS.contains(&name);
            let text = match value.get_ref() {
                DeValue::String(text) if words => text.to_string(),
                DeValue::Integer(n) if !words => n.to_string(),
                DeValue::Float(x) if !words => x.to_string(),
                _ => {
                    let allowed = if words { "text in quotes" } else { "a number without quotes" };
                    let shown = all_keys().into_iter().find(|k| *k == name).unwrap_or("key");
                    self.fault(line, column, shown, "another type", allowed);
                    continue;
                }
            };
            fields.push(Field { key: name.to_string(), text, line, column });
        }
        fields
    }
}

/// Writes pairs as CSV.
pub fn write_runners_csv(records: &[RunnerRecord]) -> String {
    // what begins with `#` is quoted, so that it is no comment
    let mut table = csv::WriterBuilder::new().comment(Some(b'#')).from_writer(Vec::new());
    // writing into memory cannot fail
    let _ = table.write_record(all_keys());
    for r in records {
        let number = |v: Option<f64>| v.map_or(String::new(), |v| v.to_string());
        let numbers = r.numbers.iter().flat_map(|q| [number(q.value), number(q.error)]);
        let words = |text: &str| guarded(text).into_owned();
        let row = [words(&r.pair)].into_iter().chain(numbers).chain([words(&r.scratches), words(&r.history)]);
        let _ = table.write_record(row);
    }
    String::from_utf8(table.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// Writes pairs as TOML, with what each number is.
pub fn write_runners_toml(records: &[RunnerRecord]) -> String {
    let quoted = |text: &str| toml::Value::String(text.to_string()).to_string();
    let mut text = String::new();
    for r in records {
        // writing into a string cannot fail
        let _ = writeln!(text, "[[pair]]\nname = {}", quoted(&r.pair));
        for (Quantity { value, error }, key) in r.numbers.iter().zip(&KEYS) {
            let _ = match value {
                Some(v) => writeln!(text, "{} = {v} # {}", key.key, key.doc),
                None => writeln!(text, "# {} = # not known: {}", key.key, key.doc),
            };
            if let Some(e) = error {
                let _ = writeln!(text, "{} = {e}", key.error_key);
            }
        }
        for (key, words) in [("scratches", &r.scratches), ("history", &r.history)] {
            if !words.is_empty() {
                let _ = writeln!(text, "{key} = {}", quoted(words));
            }
        }
        text.push('\n');
    }
    text
}

#[cfg(test)]
mod tests;
