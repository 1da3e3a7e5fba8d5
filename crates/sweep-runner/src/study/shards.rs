//! A share of the cases for each of several machines, and their tables made one again; also what an interrupted
//! table is worth.

use std::fmt;
use std::str::FromStr;

/// One share of several: every `of`-th case, beginning with the `nth`, from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shard {
    /// Which, from 1.
    pub nth: usize,
    /// Of how many.
    pub of: usize,
}

/// Most shards.
pub(crate) const MOST_SHARDS: usize = 10_000;

impl Shard {
    /// All cases.
    pub const WHOLE: Shard = Shard { nth: 1, of: 1 };

    /// Its cases, in order.
    pub fn cases(self, all: usize) -> Vec<usize> {
        (self.nth - 1..all).step_by(self.of).collect()
    }
}

impl FromStr for Shard {
    type Err = String;

    fn from_str(text: &str) -> Result<Shard, String> {
        let parts = text.split_once('/').and_then(|(n, of)| Some((n.parse().ok()?, of.parse().ok()?)));
        match parts {
            Some((nth, of)) if nth >= 1 && nth <= of && of <= MOST_SHARDS => Ok(Shard { nth, of }),
            _ => Err(format!(
                "got \"{text}\"; allowed: i/n with i from 1 to n and n up to {MOST_SHARDS}, for example 1/4"
            )),
        }
    }
}

impl fmt::Display for Shard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.nth, self.of)
    }
}

/// Number of the case that a line of a table is about.
fn case_of(line: &str) -> Option<usize> {
    line.split(',').next()?.parse().ok()
}

/// How much of an interrupted table can be kept: bytes, and rows. Lines are kept as long as they end, and are about
/// the cases in their order; the header must be whole.
pub fn kept(text: &str, header: &str, cases: &[usize]) -> (usize, usize) {
    let Some(rest) = text.strip_prefix(header) else { return (0, 0) };
    let (mut bytes, mut rows) = (header.len(), 0);
    for (line, case) in rest.split_inclusive('\n').zip(cases) {
        if !line.ends_with('\n') || case_of(line) != Some(*case) {
            break;
        }
        bytes += line.len();
        rows += 1;
    }
    (bytes, rows)
}

/// The first line of a finished table that is no row of it, from 1, and what is wrong with it.
pub fn damage(text: &str, header: &str, cases: &[usize]) -> Option<(usize, String)> {
    let Some(rest) = text.strip_prefix(header) else {
        return Some((1, "is not the header of this study".into()));
    };
    let fields = |line: &str| {
        let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(line.as_bytes());
        reader.records().next().and_then(Result::ok)
    };
    let wanted = fields(header).map_or(0, |f| f.len());
    let mut lines = rest.split_inclusive('\n');
    for (i, case) in cases.iter().enumerate() {
        let line = lines.next().unwrap_or("");
        let wrong = |what: String| Some((i + 2, what));
        if !line.ends_with('\n') {
            return wrong("is cut short or missing".into());
        }
        if case_of(line) != Some(*case) {
            return wrong(format!("is not the row of case {case}"));
        }
        let Some(read) = fields(line).filter(|f| f.len() == wanted) else {
            return wrong(format!("has not the {wanted} fields of the header"));
        };
        let number = |field: &str| field.parse::<f64>().ok().filter(|v| !v.is_finite());
        if let Some(v) = read.iter().find_map(number) {
            return wrong(format!("holds {v}, which no row does"));
        }
    }
    lines.next().map(|_| (cases.len() + 2, "is one more than there are cases".into()))
}

/// Why tables cannot be merged.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoMerge {
    /// Another header than the first table.
    #[error("table {} has another header than the first", .table + 1)]
    Header {
        /// Which table, from 0.
        table: usize,
    },
    /// Cases that no table has.
    #[error("{cases} cases are in no table, the first of them case {case}: that shard is not finished")]
    Missing {
        /// The first of them.
        case: usize,
        /// How many.
        cases: usize,
    },
    /// A case in two tables, or a line that is no row.
    #[error("table {}, line {line}: no row, or a case twice", .table + 1)]
    Line {
        /// Which table, from 0.
        table: usize,
        /// Which line, from 1.
        line: usize,
    },
}

/// Tables of shards as one, its rows in the order of the cases.
pub fn merged(tables: &[String], cases: usize) -> Result<String, NoMerge> {
    let Some(first) = tables.first() else { return Err(NoMerge::Missing { case: 0, cases }) };
    let header = first.split_inclusive('\n').next().unwrap_or("");
    let mut lines: Vec<Option<&str>> = vec![None; cases];
    for (table, text) in tables.iter().enumerate() {
        let rest = text.strip_prefix(header).ok_or(NoMerge::Header { table })?;
        for (i, line) in rest.split_inclusive('\n').enumerate() {
            let fault = NoMerge::Line { table, line: i + 2 };
            // a last line that does not end belongs to a table that is not finished
            if !line.ends_with('\n') {
                continue;
            }
            let place = case_of(line).and_then(|case| lines.get_mut(case)).ok_or(fault.clone())?;
            if place.replace(line).is_some() {
                return Err(fault);
            }
        }
    }
    let missing = lines.iter().filter(|l| l.is_none()).count();
    if let Some(case) = lines.iter().position(Option::is_none) {
        return Err(NoMerge::Missing { case, cases: missing });
    }
    Ok(header.to_string() + &lines.into_iter().flatten().collect::<String>())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_shards_share_all_cases() {
        let mut all: Vec<usize> = (1..=4).flat_map(|nth| Shard { nth, of: 4 }.cases(10)).collect();
        all.sort_unstable();
        assert_eq!(all, (0..10).collect::<Vec<_>>());
        assert_eq!("2/4".parse(), Ok(Shard { nth: 2, of: 4 }));
        for wrong in ["0/4", "5/4", "a/4", "4", "1/0", "-1/3", "1/99999"] {
            assert!(wrong.parse::<Shard>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn exact_what_is_kept_of_an_interrupted_table() {
        let cases = [1, 3, 5];
        assert_eq!(kept("case,x\n1,a\n3,b\n", "case,x\n", &cases), (15, 2));
        assert_eq!(kept("case,x\n1,a\n3,b", "case,x\n", &cases), (11, 1));
        assert_eq!(kept("case,x\n1,a\n5,b\n", "case,x\n", &cases), (11, 1));
        assert_eq!(kept("case", "case,x\n", &cases), (0, 0));
        assert_eq!(kept("", "case,x\n", &cases), (0, 0));
    }

    #[test]
    fn exact_the_damaged_line_of_a_table_is_found() {
        let (head, cases) = ("case,x_s,why\n", [1, 3]);
        let told = |rows: &str| damage(&format!("{head}{rows}"), head, &cases);
        assert_eq!(told("1,54.2,\n3,55.1,\"a, b\"\n"), None);
        let damaged = [
            ("1,54.2,\n3,NaN,\n", 3, "NaN"),
            ("1,54.2\n3,55.1,\n", 2, "3 fields"),
            ("1,54.2,\n2,55.1,\n", 3, "case 3"),
            ("1,54.2,\n3,55.1,", 3, "cut short"),
            ("1,54.2,\n", 3, "missing"),
            ("1,54.2,\n3,55.1,\n5,1,\n", 4, "one more"),
        ];
        for (rows, line, words) in damaged {
            let (at, what) = told(rows).expect("damaged");
            assert!(at == line && what.contains(words), "{rows:?}: line {at} {what}");
        }
        assert_eq!(damage("other\n", head, &cases).map(|d| d.0), Some(1));
    }

    #[test]
    fn exact_merged_tables_are_the_whole() {
        let parts = ["case,x\n0,a\n2,c\n".to_string(), "case,x\n1,b\n".to_string()];
        assert_eq!(merged(&parts, 3).unwrap(), "case,x\n0,a\n1,b\n2,c\n");
        assert_eq!(merged(&parts, 5), Err(NoMerge::Missing { case: 3, cases: 2 }));
        assert_eq!(merged(&parts[..1], 3), Err(NoMerge::Missing { case: 1, cases: 1 }));
        let twice = [parts[0].clone(), parts[0].clone()];
        assert_eq!(merged(&twice, 3), Err(NoMerge::Line { table: 1, line: 2 }));
        let other = [parts[0].clone(), "case,y\n1,b\n".to_string()];
        assert_eq!(merged(&other, 3), Err(NoMerge::Header { table: 1 }));
    }
}
