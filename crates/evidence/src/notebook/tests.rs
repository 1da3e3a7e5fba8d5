//! Checks of the notebook: nothing that stood there is lost, and spreadsheets read what is written.

use super::lines::{Addition, Fit};
use super::*;
use crate::sheet::read::read_sheet;

fn added(text: &str, cells: &[(&str, &str)]) -> String {
    let book = Notebook::read("book.csv", text).expect("a notebook");
    let mut addition = Addition::default();
    for (heading, cell) in cells {
        addition.put(heading, *cell);
    }
    match book.fit(text, &addition) {
        Fit::Append(more) => format!("{text}{more}"),
        Fit::Replace(whole) => whole,
    }
}

fn cells(text: &str) -> Vec<Vec<String>> {
    Notebook::read("book.csv", text).expect("a notebook").rows.into_iter().map(|r| r.cells).collect()
}

#[test]
fn exact_every_byte_that_stood_there_stays() {
    // a spreadsheet's own choice of marks, a column of the coach's own, a break inside quotes, a comment
    let text = "\u{feff}entry;wax;finish_s;notes\r\n1;\"red; \"\"hot\"\"\";56,29;\"two\r\nlines\"\r\n# mine\r\n\r\n2;;56,4;\r\n";
    let more = added(text, &[("finish_s", "55.12"), ("notes", "a; b"), ("entry", "3")]);
    assert_eq!(more, format!("{text}3;;55,12;\"a; b\"\r\n"));
    // a new column is a field more in every line, and no other byte moves
    let wide = added(text, &[("entry", "3"), ("runners.left.bow_front_mm", "3.5")]);
    let without = |t: &str| {
        t.replace(";runners.left.bow_front_mm", "").replace("\"two\r\nlines\";\r\n", "\"two\r\nlines\"\r\n")
    };
    assert_eq!(without(&wide), format!("{}3;;;;3,5\r\n", text.replace("2;;56,4;\r\n", "2;;56,4;;\r\n")));
    let all = cells(&wide);
    assert_eq!(all[0], ["1", "red; \"hot\"", "56,29", "two\r\nlines", ""]);
    assert_eq!(all[2], ["3", "", "", "", "3,5"]);
}

#[test]
fn exact_a_line_cut_short_is_ended_and_told() {
    let text = "entry,notes,written_utc\n1,well,2026-01-01T10:00:00Z\n2,\"high, in";
    let more = added(text, &[("entry", "2"), ("notes", "low"), ("written_utc", "x")]);
    assert_eq!(more, format!("{text}\"\n2,low,x\n"));
    let book = Notebook::read("book.csv", &more).expect("a notebook");
    assert_eq!((book.rows.len(), book.faults.len()), (2, 1));
    assert_eq!(
        book.faults[0].to_string(),
        "book.csv, line 3 (line): got 2 cells; allowed: 3 as in the headings; a line cut short is kept and not used"
    );
    // a spreadsheet that saves without a last line end cuts nothing
    let text = "entry,notes\n1,well";
    assert_eq!(added(text, &[("entry", "2")]), "entry,notes\n1,well\n2,\n");
}

#[test]
fn exact_numbers_of_entries_go_on_after_the_greatest() {
    let book = Notebook::read("b", "entry,run\n7,1\n,2\n3,3\n").expect("a notebook");
    assert_eq!((book.next(), book.name(&book.rows[1])), (8, "line 3".to_string()));
    assert_eq!(book.entry("3").map(|r| r.line), Some(4));
    assert_eq!(book.entry("line 3").map(|r| r.line), Some(3));
    let numbered = book.numbered(&Addition { cells: vec![("run".into(), "4".into())] }, "now");
    assert_eq!(numbered.get("Entry"), Some("8"));
    assert_eq!(numbered.cells.last(), Some(&(WRITTEN.to_string(), "now".to_string())));
}

#[test]
fn exact_runs_go_into_a_timing_sheet() {
    let text = "Entry;Date;Run;Set-up;wax;eye 3;finish s;ice c;notes\n1;20.01.2026;1;pair A;red;18,05;56,29;-6,0;\"tap; 10\"\n\
                2;20.01.2026;;pair A;;;;;sleds washed\n3;21.01.2026;1;pair A;;;0:56,40;-5;\n";
    let book = Notebook::read("b", text).expect("a notebook");
    let rows: Vec<&Row> = book.rows.iter().collect();
    // only the columns that a sheet knows, and of them only those that are there
    let sheet = read_sheet("s", &book.sheet(&rows)).expect("a sheet");
    assert_eq!((sheet.faults.len(), sheet.runs.len()), (0, 2));
    let run = &sheet.runs[0];
    assert_eq!((run.finish_s, run.splits_s[0], run.ice_c), (Some(56.29), Some(18.05), Some(-6.0)));
    assert_eq!((run.notes.as_str(), run.date), ("tap; 10", Some((2026, 1, 20))));
    assert_eq!(sheet.runs[1].finish_s, Some(56.4));
}

#[test]
fn exact_headings_come_once_and_an_empty_file_is_none() {
    let twice = Notebook::read("b", "entry,run,Run\n").expect_err("twice");
    assert!(twice.to_string().contains("column 3 (heading): got \"Run\" twice"), "{twice}");
    assert!(Notebook::read("b", "\n\n").is_err());
}
