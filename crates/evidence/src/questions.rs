//! A list of questions that a trial could answer, from TOML; every fault of the text together.

use crate::decision::Belief;
use file_faults::{FileFault, line_and_column};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Where the belief about a question comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum Prior {
    /// A difference B less A as given.
    Given(Belief),
    /// To be asked of the simulator, with these two set-up files and keys that B changes.
    Simulated {
        /// File of set-up A; none for the one in use.
        a: Option<String>,
        /// File of set-up B; none for that of A.
        b: Option<String>,
        /// Keys of B, `KEY=VALUE`.
        b_sets: Vec<String>,
        /// Standard deviation of the difference (s), where it is given.
        sd_s: Option<f64>,
    },
}

/// One question.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// What is asked, for tables.
    pub name: String,
    /// What is believed before the trial.
    pub prior: Prior,
    /// Where that comes from, in words.
    pub source: String,
}

/// Keys of a question.
const KEYS: [&str; 7] = ["name", "difference_s", "difference_sd_s", "a", "b", "b_set", "source"];
/// Greatest difference that is believed (s).
const MOST_S: f64 = 10.0;

/// Standard deviation of a difference that the simulator tells (s), where none is given: as large as the difference,
/// and 0.02 s at least; assumed, since nobody has measured how well the simulator tells set-ups apart.
pub fn simulated_sd_s(difference_s: f64) -> f64 {
    difference_s.abs().max(0.02)
}

struct Reader<'a> {
    file: &'a str,
    text: &'a str,
    found: Vec<FileFault>,
}

/// Reads `[[question]]` tables: `name`, and either `difference_s` with `difference_sd_s`, or set-up files `a` and `b`
/// or keys `b_set` to ask the simulator with. Differences are B less A: negative where B is faster.
pub fn read_questions(file: &str, text: &str) -> Result<Vec<Question>, Vec<FileFault>> {
    let mut reader = Reader { file, text, found: vec![] };
    let table = match DeTable::parse(text) {
        Ok(table) => table,
        Err(error) => {
            let place = error.span().map_or(0, |s| s.start);
            reader.fault(place, "line", error.message(), "TOML, numbers with a decimal point");
            return Err(reader.found);
        }
    };
    let mut questions = vec![];
    for (key, value) in table.get_ref() {
        match value.get_ref() {
            DeValue::Array(list) if key.get_ref() == "question" => {
                for item in list {
                    match item.get_ref() {
                        DeValue::Table(table) => questions.extend(reader.question(item.span().start, table)),
                        _ => reader.fault(item.span().start, "question", "no table", "[[question]]"),
                    }
                }
            }
            _ => reader.fault(key.span().start, "key", key.get_ref(), "[[question]] and keys below it"),
        }
    }
    if questions.is_empty() && reader.found.is_empty() {
        reader.fault(0, "question", "no questions", "one [[question]] or more");
    }
    if reader.found.is_empty() { Ok(questions) } else { Err(reader.found) }
}

impl Reader<'_> {
    fn fault(&mut self, place: usize, key: &str, got: &str, allowed: &str) {
        let (line, column) = line_and_column(self.text, place);
        self.found.push(FileFault::at(self.file, (line, column), key, got, allowed));
    }

    fn question(&mut self, place: usize, table: &DeTable<'_>) -> Option<Question> {
        let known = self.found.len();
        for key in table.keys().filter(|k| !KEYS.contains(&k.get_ref().as_ref())) {
            self.fault(key.span().start, "key", key.get_ref(), &KEYS.join(", "));
        }
        let name = self.words(table, "name");
        if name.as_ref().is_none_or(String::is_empty) {
            self.fault(place, "name", "nothing", "what is asked, in quotes");
        }
        let difference_s = self.number(table, "difference_s", -MOST_S);
        let sd_s = self.number(table, "difference_sd_s", 0.0);
        let (a, b) = (self.words(table, "a"), self.words(table, "b"));
        let b_sets = self.list(table, "b_set");
        let asked = b.is_some() || !b_sets.is_empty();
        let prior = match (difference_s, asked) {
            (Some(mean_s), false) => {
                if sd_s.is_none() {
                    self.fault(place, "difference_sd_s", "nothing", "0 to 10 s, how sure the difference is");
                }
                Prior::Given(Belief { mean_s, sd_s: sd_s.unwrap_or(0.0) })
            }
            (None, true) => Prior::Simulated { a, b, b_sets, sd_s },
            (Some(_), true) => {
                let allowed = "either difference_s, or set-ups to ask the simulator with";
                self.fault(place, "difference_s", "both", allowed);
                return None;
            }
            (None, false) => {
                let allowed =
                    "difference_s with difference_sd_s, or a set-up file b, or b_set = [\"KEY=VALUE\"]";
                self.fault(place, "difference_s", "nothing", allowed);
                return None;
            }
        };
        let default = if asked { "simulator" } else { "assumed" };
        let source = self.words(table, "source").unwrap_or_else(|| default.into());
        (self.found.len() == known).then(|| Question { name: name.unwrap_or_default(), prior, source })
    }

    fn value<'t, 'd>(&self, table: &'t DeTable<'d>, key: &str) -> Option<&'t Spanned<DeValue<'d>>> {
        table.iter().find(|(k, _)| k.get_ref() == key).map(|(_, v)| v)
    }

    fn words(&mut self, table: &DeTable<'_>, key: &str) -> Option<String> {
        let value = self.value(table, key)?;
        match value.get_ref() {
            DeValue::String(text) => Some(text.to_string()),
            _ => {
                self.fault(value.span().start, key, "another type", "text in quotes");
                None
            }
        }
    }

    fn list(&mut self, table: &DeTable<'_>, key: &str) -> Vec<String> {
        let Some(value) = self.value(table, key) else { return vec![] };
        let DeValue::Array(items) = value.get_ref() else {
            self.fault(value.span().start, key, "another type", "a list of \"KEY=VALUE\"");
            return vec![];
        };
        let mut all = vec![];
        for item in items {
            match item.get_ref() {
                DeValue::String(text) if text.contains('=') => all.push(text.to_string()),
                _ => self.fault(item.span().start, key, "something else", "\"KEY=VALUE\""),
            }
        }
        all
    }

    fn number(&mut self, table: &DeTable<'_>, key: &str, least: f64) -> Option<f64> {
        let value = self.value(table, key)?;
        let (got, number) = match value.get_ref() {
            DeValue::Float(x) => (x.to_string(), x.as_str().replace('_', "").parse::<f64>().ok()),
            DeValue::Integer(n) => (n.to_string(), n.to_string().parse::<f64>().ok()),
            _ => ("another type".into(), None),
        };
        let fine = number.filter(|x| (least..=MOST_S).contains(x));
        if fine.is_none() {
            self.fault(value.span().start, key, &got, &format!("{least} to {MOST_S} s"));
        }
        fine
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_questions_are_read() {
        let text = "[[question]]\nname = \"bow\"\ndifference_s = -0.02\ndifference_sd_s = 0.05\n\
                    [[question]]\nname = \"two kilograms\"\nb_set = [\"sled.ballast_kg=3.5\"]\n";
        let found = read_questions("q.toml", text).unwrap();
        assert_eq!(found.len(), 2);
        assert_eq!(found[0].prior, Prior::Given(Belief { mean_s: -0.02, sd_s: 0.05 }));
        assert_eq!(found[1].source, "simulator");
        assert!(matches!(&found[1].prior, Prior::Simulated { b_sets, .. } if b_sets.len() == 1));
    }

    #[test]
    fn exact_every_fault_of_a_list_is_told() {
        let text = "[[question]]\nname = \"bow\"\ndifference_s = 200\ndifference_sd = 0.05\n\
                    [[question]]\ndifference_s = 0.1\ndifference_sd_s = 0.1\n";
        let told: Vec<String> =
            read_questions("q.toml", text).unwrap_err().iter().map(|f| f.to_string()).collect();
        let whole = told.join("\n");
        for part in [
            "q.toml, line 3, column 16 (difference_s): got 200; allowed: -10 to 10 s",
            "line 4, column 1 (key): got difference_sd; allowed: name,",
            "line 5, column 1 (name): got nothing",
        ] {
            assert!(whole.contains(part), "missing {part} in\n{whole}");
        }
    }
}
