//! What people typed, and what they may have meant: answered before anything is computed.

use clap::error::{ContextKind, ErrorKind};
use std::path::Path;

/// What is wrong with a command line that the argument parser's own words do not help with.
pub fn meant(error: &clap::Error) -> Option<String> {
    let told = |kind| error.get(kind).map(ToString::to_string);
    let argument = told(ContextKind::InvalidArg)?;
    match error.kind() {
        ErrorKind::UnknownArgument if argument.starts_with('=') => {
            Some(format!("\"{argument}\" stands alone: KEY=VALUE has no blanks around its \"=\"; for example --set ice.temperature_c=-8"))
        }
        ErrorKind::MissingRequiredArgument if argument == "<PLAN.toml>" => Some(
            "no plan is named; `sagitta evening --example` and `sagitta travel --example` print one to begin with".into(),
        ),
        _ => None,
    }
}

/// What stands in the way of the results: found out before the work, not after it.
pub fn no_place(words: &[String]) -> Option<String> {
    let (option, place) = words.iter().enumerate().find_map(|(i, word)| {
        ["--out", "--write"].iter().find_map(|option| match word.strip_prefix(option)?.strip_prefix('=') {
            Some(place) => Some((*option, place.to_string())),
            None => (word == option).then(|| Some((*option, words.get(i + 1)?.clone())))?,
        })
    })?;
    // these two write one file, all others a folder
    let one_file = option == "--write" || words.get(1).is_some_and(|command| command == "plausible");
    let path = Path::new(&place);
    if one_file && path.is_dir() {
        return Some(format!(
            "{option} {place}: cannot be written: a folder of that name is there; allowed: the name of a file"
        ));
    }
    let file = path.ancestors().skip(usize::from(one_file)).find(|p| p.is_file())?;
    let shown = file.display();
    Some(format!(
        "{option} {place}: cannot be written: {shown} is a file; allowed: a folder, made where there is none"
    ))
}

/// A table without what a spreadsheet adds: empty columns at the right, under an empty heading, and rows of separators
/// alone. Lines keep their numbers.
pub fn without_empty_ends(text: &str) -> String {
    let separators = [',', ';', '\t'];
    let head = text.lines().find(|l| !l.trim().is_empty() && !l.starts_with('#')).unwrap_or("").trim_end();
    let ending = separators.into_iter().find(|s| head.ends_with(*s));
    let empty = ending.map_or(0, |s| head.len() - head.trim_end_matches(s).len());
    let line = |line: &str| {
        let (body, end) = line.split_at(line.trim_end_matches(['\n', '\r']).len());
        if !body.is_empty() && body.chars().all(|c| separators.contains(&c)) {
            return end.to_string();
        }
        let cut =
            |body: String| ending.and_then(|s| body.strip_suffix(s).map(str::to_string)).unwrap_or(body);
        (0..empty).fold(body.to_string(), |body, _| cut(body)) + end
    };
    text.split_inclusive('\n').map(line).collect()
}

/// Letters of what is allowed from which on it is a long list.
const LONG: usize = 40;
/// Most faults that are told at once: who has more has another kind of file, or one mistake many times.
const MOST_FAULTS: usize = 12;

/// Faults as they are told: what is wrong with many lines alike is told once, a long list of what is allowed likewise.
pub fn folded(why: &str) -> String {
    // a line, how often it comes again, how many others of its kind follow
    let mut told: Vec<(String, usize, usize)> = Vec::new();
    let mut kinds: Vec<([&str; 3], usize, usize)> = Vec::new();
    let (mut last, mut allowed, mut left_out) = (None, "", 0);
    for line in why.lines() {
        // what is left of a fault without its place: key, what was read, what is allowed
        let fault = line.split_once(", line ").map(|(file, rest)| {
            let rest = rest.trim_start_matches(|c: char| c.is_ascii_digit());
            let rest = rest.strip_prefix(", column ").unwrap_or(rest);
            (file, rest.trim_start_matches(|c: char| c.is_ascii_digit()))
        });
        if fault.is_some() && fault == last {
            if let Some((_, more, _)) = told.last_mut() {
                *more += 1;
            }
            continue;
        }
        last = fault;
        let tail = line.rsplit_once("; allowed: ").map_or("", |(_, tail)| tail);
        if fault.is_some() && told.len() >= MOST_FAULTS {
            left_out += 1;
            continue;
        }
        // the same column or key, other values: three show what is wrong
        let key = fault.and_then(|(file, rest)| Some([file, rest.split_once("): got ")?.0, tail]));
        let key = key.filter(|_| !tail.is_empty());
        if let Some(of) = key.and_then(|k| kinds.iter_mut().find(|(known, ..)| *known == k)) {
            of.1 += 1;
            if of.1 > 3 {
                if let Some((_, _, more)) = told.get_mut(of.2) {
                    *more += 1;
                }
                continue;
            }
            of.2 = told.len();
        } else if let Some(k) = key {
            kinds.push((k, 1, told.len()));
        }
        let again = fault.is_some() && tail.len() > LONG && tail == allowed;
        allowed = tail;
        let head = line.strip_suffix(tail).filter(|_| again);
        told.push((head.map_or(line.to_string(), |head| format!("{head}as above")), 0, 0));
    }
    let more = |(line, more, others): (String, usize, usize)| match (more, others) {
        (0, 0) => line,
        (1, 0) => format!("{line} (and so in 1 more line)"),
        (_, 0) => format!("{line} (and so in {more} more lines)"),
        _ => format!("{line} (and {} more of this kind)", more + others),
    };
    let mut lines: Vec<String> = told.into_iter().map(more).collect();
    if left_out > 0 {
        lines.insert(MOST_FAULTS.min(lines.len()), format!("and {left_out} more faults"));
    }
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::{folded, without_empty_ends};

    #[test]
    fn exact_what_a_spreadsheet_adds_at_the_ends_goes_and_no_cell_does() {
        let saved = "# mine\r\nrun,finish,notes,,\r\n1,55.61,,,\r\n2,55.42,high,,\r\n,,,,\r\n";
        assert_eq!(
            without_empty_ends(saved),
            "# mine\r\nrun,finish,notes\r\n1,55.61,\r\n2,55.42,high\r\n\r\n"
        );
        // a cell under no heading stays, and is a fault of the reader
        assert_eq!(without_empty_ends("a;b;\n1;2;x\n"), "a;b\n1;2;x\n");
        for whole in ["a,b\n1,\n,2\n", "\u{feff}a,b\n1,2", ""] {
            assert_eq!(without_empty_ends(whole), whole);
        }
    }

    #[test]
    fn exact_faults_alike_are_told_once_and_nothing_else_is_touched() {
        let plain = "sagitta: a.toml: no such file\nrows without a fault: 7\n  and a line of words";
        assert_eq!(folded(plain), plain);
        let list = "run, athlete, date, time_of_day, set_up, track";
        let alike = format!(
            "a.csv, line 1, column 1 (heading): got x; allowed: {list}\na.csv, line 1, column 2 (heading): got y; allowed: \
             {list}\na.csv, line 4, column 2 (day): got 3/12; allowed: a day\na.csv, line 5, column 2 (day): got 3/12; \
             allowed: a day\na.csv, line 6, column 2 (day): got 4/12; allowed: a day\na.csv, line 6, column 3 (time): got 4/12; allowed: a day\nlast"
        );
        assert_eq!(
            folded(&alike),
            format!(
                "a.csv, line 1, column 1 (heading): got x; allowed: {list}\na.csv, line 1, column 2 (heading): got y; allowed: \
                 as above\na.csv, line 4, column 2 (day): got 3/12; allowed: a day (and so in 1 more line)\na.csv, line 6, \
                 column 2 (day): got 4/12; allowed: a day\na.csv, line 6, column 3 (time): got 4/12; allowed: a day\nlast"
            )
        );
        // many values of one column, and many columns
        let many = |key: &dyn Fn(usize) -> String| -> String {
            (1..=40).map(|i| format!("a.csv, line {i} ({}): got {i}; allowed: 0\n", key(i))).collect()
        };
        let told = folded(&many(&|_| "x".into()));
        assert_eq!(told.lines().count(), 3);
        assert!(told.ends_with("a.csv, line 3 (x): got 3; allowed: 0 (and 37 more of this kind)"), "{told}");
        let told = folded(&many(&|i| format!("x{i}")));
        assert_eq!(told.lines().count(), 13);
        assert!(told.ends_with("and 28 more faults"), "{told}");
    }
}
