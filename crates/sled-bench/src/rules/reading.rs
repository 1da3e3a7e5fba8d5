//! Rules from TOML, every fault of the text together.

use super::{Basis, KEYS, LIMITS, Season};
use file_faults::{FileFault, line_and_column};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Keys of a season that are words.
const WORDS: [&str; 5] = ["name", "edition", "source", "basis", "looked_through"];
/// Tables of a season.
const CLASSES: [&str; 3] = ["women", "men", "all"];

struct Reader<'a> {
    file: &'a str,
    text: &'a str,
    found: Vec<FileFault>,
}

/// Reads `[[season]]` tables, in the order of the file.
pub fn read_rules(file: &str, text: &str) -> Result<Vec<Season>, Vec<FileFault>> {
    let mut reader = Reader { file, text, found: vec![] };
    let table = match DeTable::parse(text) {
        Ok(table) => table,
        Err(error) => {
            let place = error.span().map_or(0, |s| s.start);
            reader.fault(place, "line", error.message(), "TOML, numbers with a decimal point");
            return Err(reader.found);
        }
    };
    let mut seasons: Vec<Season> = vec![];
    for (key, value) in table.get_ref() {
        match value.get_ref() {
            DeValue::Array(list) if key.get_ref() == "season" => {
                for item in list {
                    let place = item.span().start;
                    match item.get_ref() {
                        DeValue::Table(table) => {
                            let season = reader.season(place, table);
                            if seasons.iter().any(|s| s.name == season.name) {
                                reader.fault(place, "name", &season.name, "a name that no other season has");
                            }
                            seasons.push(season);
                        }
                        _ => reader.fault(place, "season", "no table", "[[season]]"),
                    }
                }
            }
            _ => reader.fault(key.span().start, "key", key.get_ref(), "[[season]] and keys below it"),
        }
    }
    if seasons.is_empty() && reader.found.is_empty() {
        reader.fault(0, "season", "no season", "one [[season]] or more");
    }
    if reader.found.is_empty() { Ok(seasons) } else { Err(reader.found) }
}

impl Reader<'_> {
    fn fault(&mut self, place: usize, key: &str, got: &str, allowed: &str) {
        let (line, column) = line_and_column(self.text, place);
        self.found.push(FileFault::at(self.file, (line, column), key, got, allowed));
    }

    fn season(&mut self, place: usize, table: &DeTable<'_>) -> Season {
        let (mut words, mut margin_kg) = ([const { String::new() }; 5], 0.3);
        let mut limits = [[None; LIMITS]; 3];
        for (key, value) in table {
            let (name, at) = (key.get_ref().as_ref(), value.span().start);
            if let Some(i) = WORDS.iter().position(|w| *w == name) {
                match value.get_ref() {
                    DeValue::String(text) => words[i] = text.to_string(),
                    _ => self.fault(at, name, "no text", "a text in quotes"),
                }
            } else if let Some(i) = CLASSES.iter().position(|c| *c == name) {
                match value.get_ref() {
                    DeValue::Table(table) => limits[i] = self.limits(table),
                    _ => self.fault(
                        at,
                        name,
                        "no table",
                        "limits below [season.women], [season.men], [season.all]",
                    ),
                }
            } else if name == "margin_kg" {
                margin_kg = self.number(name, value, [0.0, 5.0], "kg").unwrap_or(margin_kg);
            } else {
                let all = [&WORDS[..], &["margin_kg"], &CLASSES[..]].concat().join(", ");
                self.fault(key.span().start, "key", name, &all);
            }
        }
        let [name, edition, source, basis, looked_through] = words;
        for (key, text) in [("name", &name), ("edition", &edition), ("source", &source)] {
            if text.trim().is_empty() {
                self.fault(place, key, "nothing", "words: what is not said cannot be relied on");
            }
        }
        let day = |c: (usize, char)| if c.0 == 4 || c.0 == 7 { c.1 == '-' } else { c.1.is_ascii_digit() };
        if looked_through.len() != 10 || !looked_through.chars().enumerate().all(day) {
            self.fault(place, "looked_through", &looked_through, "a day as 2026-11-27");
        }
        let basis = match basis.as_str() {
            "looked up" => Basis::LookedUp,
            "secondary" => Basis::Secondary,
            "from memory" => Basis::FromMemory,
            other => {
                self.fault(place, "basis", other, "\"looked up\", \"secondary\", \"from memory\"");
                Basis::FromMemory
            }
        };
        let [women, men, all] = limits;
        let of = |class: [Option<f64>; LIMITS]| std::array::from_fn(|i| class[i].or(all[i]));
        Season { name, edition, source, basis, looked_through, margin_kg, women: of(women), men: of(men) }
    }

    fn limits(&mut self, table: &DeTable<'_>) -> [Option<f64>; LIMITS] {
        let mut all = [None; LIMITS];
        for (key, value) in table {
            let name = key.get_ref().as_ref();
            match KEYS.iter().position(|k| k.key == name) {
                Some(i) => all[i] = self.number(name, value, KEYS[i].within, KEYS[i].unit),
                None => {
                    let known: Vec<&str> = KEYS.iter().map(|k| k.key).collect();
                    self.fault(key.span().start, "key", name, &known.join(", "));
                }
            }
        }
        all
    }

    fn number(
        &mut self,
        key: &str,
        value: &Spanned<DeValue<'_>>,
        [least, most]: [f64; 2],
        unit: &str,
    ) -> Option<f64> {
        let text = match value.get_ref() {
            DeValue::Integer(n) => n.to_string(),
            DeValue::Float(n) => n.to_string(),
            _ => String::from("no number"),
        };
        let read = text.parse::<f64>().ok().filter(|v| (least..=most).contains(v));
        if read.is_none() {
            self.fault(value.span().start, key, &text, &format!("{least} to {most} {unit}"));
        }
        read
    }
}
