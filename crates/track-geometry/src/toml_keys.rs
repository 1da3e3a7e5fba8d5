//! Reading keys of a TOML table one by one, so that every fault is found and has its line.

use crate::faults::{Fault, FaultKind, Faults};
use file_faults::Place;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A TOML text with its file name: turns byte offsets into lines and columns.
pub struct TomlText<'a> {
    file: &'a str,
    text: &'a str,
    /// Where each line begins, and whether it is plain ASCII: looked up for every value of a long list.
    lines: Vec<(usize, bool)>,
}

impl<'a> TomlText<'a> {
    /// A text and the name of its file, for messages.
    pub fn new(file: &'a str, text: &'a str) -> TomlText<'a> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let mut start = 0;
        let line = |line: &str| {
            start += line.len();
            (start - line.len(), line.is_ascii())
        };
        TomlText { file, text, lines: text.split_inclusive('\n').map(line).collect() }
    }

    /// The text as a table; what cannot be read is a fault.
    pub fn parse(&self, faults: &mut Faults) -> Spanned<DeTable<'a>> {
        if self.text.trim().is_empty() {
            faults.add(Place::file(self.file), FaultKind::EmptyFile);
        }
        let (table, errors) = DeTable::parse_recoverable(self.text);
        for e in errors {
            let place = e.span().map_or_else(|| Place::file(self.file), |s| self.place(s.start, None));
            faults.add(place, FaultKind::Toml { message: e.message().replace('\n', "; ") });
        }
        table
    }

    /// The place of a byte offset.
    pub(crate) fn place(&self, offset: usize, key: Option<&str>) -> Place {
        let line = self.lines.partition_point(|l| l.0 <= offset).max(1);
        let (start, ascii) = self.lines.get(line - 1).copied().unwrap_or((0, true));
        let before = self.text.get(start..offset).unwrap_or("");
        let column = if ascii { before.len() } else { before.chars().count() } + 1;
        Place {
            file: self.file.to_owned(),
            line: Some(line),
            column: Some(column),
            key: key.map(str::to_owned),
        }
    }
}

/// A value with the place it stands at.
#[derive(Clone, Debug)]
pub struct Placed<T> {
    /// The value.
    pub value: T,
    /// Where it stands.
    pub place: Place,
}

/// One table: keys are asked for by name; what was never asked for is an unknown key.
pub struct Keys<'t, 'a> {
    text: &'t TomlText<'a>,
    table: &'t DeTable<'a>,
    offset: usize,
    prefix: String,
    known: Vec<&'static str>,
}

impl<'t, 'a> Keys<'t, 'a> {
    /// The keys of a table; `prefix` is what its own name adds before theirs.
    pub fn new(text: &'t TomlText<'a>, table: &'t Spanned<DeTable<'a>>, prefix: &str) -> Keys<'t, 'a> {
        Keys {
            text,
            table: table.get_ref(),
            offset: table.span().start,
            prefix: prefix.to_owned(),
            known: Vec::new(),
        }
    }

    fn full(&self, key: &str) -> String {
        if self.prefix.is_empty() { key.to_owned() } else { format!("{}.{key}", self.prefix) }
    }

    /// The place of the table itself, naming a key.
    pub fn place(&self, key: &str) -> Place {
        self.text.place(self.offset, Some(&self.full(key)))
    }

    /// A value of whatever type, with its place.
    pub(crate) fn get(&mut self, key: &'static str) -> Option<(&'t DeValue<'a>, Place)> {
        self.known.push(key);
        let (_, value) = self.table.iter().find(|(k, _)| k.get_ref() == key)?;
        Some((value.get_ref(), self.text.place(value.span().start, Some(&self.full(key)))))
    }

    /// A number, whole or not, finite.
    pub fn number(&mut self, key: &'static str, faults: &mut Faults) -> Option<Placed<f64>> {
        let (value, place) = self.get(key)?;
        let digits = match value {
            DeValue::Float(x) => x.as_str().to_owned(),
            DeValue::Integer(x) if x.radix() == 10 => x.as_str().to_owned(),
            other => {
                faults.add(place, wrong_type(other, "a number"));
                return None;
            }
        };
        match digits.replace('_', "").parse::<f64>() {
            Ok(x) if x.is_finite() => Some(Placed { value: x, place }),
            Ok(_) => {
                faults.add(place, FaultKind::NotFinite { got: digits });
                None
            }
            Err(_) => {
                faults.add(place, FaultKind::NotANumber { got: digits });
                None
            }
        }
    }

    /// A number inside limits that are told in words.
    pub fn number_in(
        &mut self,
        key: &'static str,
        allowed: &str,
        inside: impl Fn(f64) -> bool,
        faults: &mut Faults,
    ) -> Option<Placed<f64>> {
        let n = self.number(key, faults)?;
        if inside(n.value) {
            return Some(n);
        }
        faults.add(n.place, FaultKind::OutOfRange { got: n.value, allowed: allowed.to_owned() });
        None
    }

    /// A text that is not blank.
    pub fn text(&mut self, key: &'static str, faults: &mut Faults) -> Option<Placed<String>> {
        let (value, place) = self.get(key)?;
        match value {
            // only where the data are from may take several lines
            DeValue::String(s) if s.contains(|c: char| c.is_control() && !(c == '\n' && key == "source")) => {
                let got = format!("{:?}", s.as_ref());
                faults.add(
                    place,
                    FaultKind::WrongType { got, allowed: "text on one line, no control characters".into() },
                );
                None
            }
            DeValue::String(s) if !s.trim().is_empty() => Some(Placed { value: s.to_string(), place }),
            DeValue::String(_) => {
                faults.add(
                    place,
                    FaultKind::WrongType { got: "a blank text".into(), allowed: "some text".into() },
                );
                None
            }
            other => {
                faults.add(place, wrong_type(other, "a text in quotes"));
                None
            }
        }
    }

    /// One of several words.
    pub fn choice<T: Copy>(
        &mut self,
        key: &'static str,
        words: &[(&str, T)],
        faults: &mut Faults,
    ) -> Option<T> {
        let word = self.text(key, faults)?;
        if let Some((_, t)) = words.iter().find(|(w, _)| *w == word.value) {
            return Some(*t);
        }
        let allowed = words.iter().map(|(w, _)| format!("\"{w}\"")).collect::<Vec<_>>().join(", ");
        faults.add(word.place, FaultKind::NotAChoice { got: word.value, allowed });
        None
    }

    /// A list whose items are numbers or texts.
    pub fn list(&mut self, key: &'static str, faults: &mut Faults) -> Option<Placed<Vec<Placed<Scalar>>>> {
        let (value, place) = self.get(key)?;
        let allowed = "a list of numbers or texts";
        let Some(array) = value.as_array() else {
            faults.add(place, wrong_type(value, allowed));
            return None;
        };
        let mut items = Vec::new();
        for item in array.iter() {
            let place = self.text.place(item.span().start, Some(&self.full(key)));
            match scalar(item.get_ref()) {
                Some(value) => items.push(Placed { value, place }),
                None => faults.add(place, wrong_type(item.get_ref(), allowed)),
            }
        }
        (items.len() == array.len()).then_some(Placed { value: items, place })
    }

    /// Every value of a table of values, tables inside it included: its path below this table, and what it is.
    pub fn leaves(&mut self, key: &'static str, faults: &mut Faults) -> Vec<(String, Placed<Scalar>)> {
        let Some((value, place)) = self.get(key) else { return Vec::new() };
        let Some(table) = value.as_table() else {
            faults.add(place, wrong_type(value, "a table"));
            return Vec::new();
        };
        let mut found = Vec::new();
        let mut waiting = vec![(String::new(), table)];
        while let Some((above, table)) = waiting.pop() {
            for (name, value) in table.iter() {
                let path = format!("{above}{}", name.get_ref());
                let place = self.text.place(name.span().start, Some(&format!("{}.{path}", self.full(key))));
                match (value.get_ref(), scalar(value.get_ref())) {
                    (DeValue::Table(below), _) => waiting.push((format!("{path}."), below)),
                    (_, Some(value)) => found.push((path, Placed { value, place })),
                    (other, None) => faults.add(place, wrong_type(other, "a number or a text")),
                }
            }
        }
        found
    }

    /// One table inside this one, to be read as keys of its own.
    pub fn table(&mut self, key: &'static str, faults: &mut Faults) -> Option<Keys<'t, 'a>> {
        self.known.push(key);
        let (_, value) = self.table.iter().find(|(k, _)| k.get_ref() == key)?;
        let offset = value.span().start;
        match value.get_ref() {
            DeValue::Table(table) => {
                Some(Keys { text: self.text, table, offset, prefix: self.full(key), known: Vec::new() })
            }
            other => {
                faults.add(self.text.place(offset, Some(&self.full(key))), wrong_type(other, "a table"));
                None
            }
        }
    }

    /// The tables of an array of tables, each to be read as keys of its own.
    pub fn tables(&mut self, key: &'static str, faults: &mut Faults) -> Vec<Keys<'t, 'a>> {
        let Some((value, place)) = self.get(key) else { return Vec::new() };
        let Some(array) = value.as_array() else {
            faults.add(place, wrong_type(value, &format!("tables, each under [[{key}]],")));
            return Vec::new();
        };
        let mut out = Vec::new();
        for item in array.iter() {
            let offset = item.span().start;
            match item.get_ref() {
                DeValue::Table(table) => out.push(Keys {
                    text: self.text,
                    table,
                    offset,
                    prefix: self.full(key),
                    known: Vec::new(),
                }),
                other => {
                    faults.add(self.text.place(offset, Some(&self.full(key))), wrong_type(other, "a table"))
                }
            }
        }
        out
    }

    /// True when the key is there, of whatever type.
    pub fn has(&mut self, key: &'static str) -> bool {
        self.get(key).is_some()
    }

    /// A value that must be there: its absence is a fault unless reading it gave one already.
    pub fn required<T>(
        &mut self,
        key: &'static str,
        faults: &mut Faults,
        read: impl FnOnce(&mut Self, &'static str, &mut Faults) -> Option<T>,
    ) -> Option<T> {
        let got = read(self, key, faults);
        if got.is_none() && !self.has(key) {
            faults.add(self.place(key), FaultKind::MissingKey);
        }
        got
    }

    /// Every key that was never asked for is a fault, with the nearest known name.
    pub fn finish(self, faults: &mut Faults) {
        let mut unknown: Vec<Fault> = Vec::new();
        for (key, _) in self.table.iter() {
            if !self.known.iter().any(|k| k == key.get_ref()) {
                unknown.push(Fault {
                    place: self.text.place(key.span().start, Some(&self.full(key.get_ref()))),
                    kind: FaultKind::UnknownKey { suggestion: nearest(key.get_ref(), &self.known) },
                });
            }
        }
        unknown.sort_by_key(|f| (f.place.line, f.place.column));
        faults.0.extend(unknown);
    }
}

/// A number or a text.
#[derive(Clone, Debug, PartialEq)]
pub enum Scalar {
    /// A number, finite.
    Number(f64),
    /// A text.
    Text(String),
}

fn scalar(value: &DeValue<'_>) -> Option<Scalar> {
    let number = |digits: &str| digits.replace('_', "").parse::<f64>().ok().filter(|x| x.is_finite());
    match value {
        DeValue::Float(x) => number(x.as_str()).map(Scalar::Number),
        DeValue::Integer(x) if x.radix() == 10 => number(x.as_str()).map(Scalar::Number),
        DeValue::String(s) => Some(Scalar::Text(s.to_string())),
        _ => None,
    }
}

fn wrong_type(got: &DeValue<'_>, allowed: &str) -> FaultKind {
    let shown = match got {
        DeValue::String(s) => format!("the text \"{s}\""),
        DeValue::Integer(i) => format!("the number {}", i.as_str()),
        DeValue::Float(x) => format!("the number {}", x.as_str()),
        other => format!("a value of type {}", other.type_str()),
    };
    FaultKind::WrongType { got: shown, allowed: allowed.to_owned() }
}

/// The known name nearest to a misspelt one, if any is near: at most two letters and a
/// third of the word may differ, or one begins with the other.
pub fn nearest(got: &str, known: &[&str]) -> Option<String> {
    let got = got.to_lowercase();
    let close = |name: &str| {
        let d = letters_apart(&got, name);
        let begins = got.len() >= 3 && (name.starts_with(&got) || got.starts_with(name));
        let near = d <= 2.max(name.len() / 3) && d < name.len();
        (near || begins).then_some(d)
    };
    known.iter().filter_map(|n| close(n).map(|d| (d, *n))).min().map(|(_, n)| n.to_owned())
}

/// Edit distance (Levenshtein 1966): insertions, deletions and changes from one word to the other.
fn letters_apart(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let next = (diagonal + usize::from(ca != *cb)).min(row[j] + 1).min(row[j + 1] + 1);
            diagonal = row[j + 1];
            row[j + 1] = next;
        }
    }
    row[b.len()]
}
