//! `sagitta notebook`: runs, set-ups, conditions and notes in a plain file that a spreadsheet opens as well.

mod differences;
mod kept;
mod writing;

use super::Done;
use crate::files::{self, Output, read_text};
use crate::words::{every_fault, numbers, say};
use evidence::notebook::{Notebook, Row};
use evidence::sheet::read::read_sheet;
use sled_dynamics::setup::keys::set;
use sled_dynamics::setup::write::write_setup;
use std::path::PathBuf;

/// The notebook.
#[derive(clap::Subcommand)]
pub enum NotebookCommand {
    /// Write an entry: a run, a set-up, a note; the file is created if there is none
    Add(Box<writing::Options>),
    /// The entries, a line each
    List(ListOptions),
    /// What differs between two entries, in words
    Diff(DiffOptions),
    /// The runs as a timing sheet for `calibrate` and `trial analyse`, or the set-up of an entry
    Export(ExportOptions),
}

/// Which entries.
#[derive(clap::Args)]
struct Only {
    /// The notebook
    #[arg(value_name = "BOOK.csv")]
    book: PathBuf,
    /// Only entries of this track
    #[arg(long, value_name = "NAME")]
    track: Option<String>,
    /// Only entries of this athlete
    #[arg(long, value_name = "NAME")]
    athlete: Option<String>,
    /// Only entries with this set-up
    #[arg(long, value_name = "NAME")]
    set_up: Option<String>,
    /// Only entries with this pair
    #[arg(long, value_name = "NAME")]
    pair: Option<String>,
}

/// Options of `notebook list`.
#[derive(clap::Args)]
pub struct ListOptions {
    #[command(flatten)]
    only: Only,
}

/// Options of `notebook diff`.
#[derive(clap::Args)]
pub struct DiffOptions {
    /// The notebook
    #[arg(value_name = "BOOK.csv")]
    book: PathBuf,
    /// The earlier entry: its number, or "line 7" where it has none
    #[arg(value_name = "ENTRY")]
    before: String,
    /// The later entry
    #[arg(value_name = "ENTRY")]
    after: String,
}

/// Options of `notebook export`.
#[derive(clap::Args)]
pub struct ExportOptions {
    #[command(flatten)]
    only: Only,
    /// Instead of runs: the set-up of this entry, its numbers put on --base
    #[arg(long, value_name = "ENTRY")]
    entry: Option<String>,
    /// Set-up that holds what the notebook does not say [default: the invented club's woman, built in]
    #[arg(long, value_name = "FILE", requires = "entry")]
    base: Option<PathBuf>,
    /// Write sheet.csv, or setup.toml, into this folder instead of printing it
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Does what is asked.
pub fn notebook(command: &NotebookCommand) -> Done {
    match command {
        NotebookCommand::Add(o) => writing::add(o),
        NotebookCommand::List(o) => list(o),
        NotebookCommand::Diff(o) => diff(o),
        NotebookCommand::Export(o) => export(o),
    }
}

/// A notebook from its file.
pub fn read_book(path: &std::path::Path) -> Result<Notebook, String> {
    let name = path.display().to_string();
    Notebook::read(&name, &read_text(path)?).map_err(|f| format!("this notebook cannot be used\n{f}"))
}

impl Only {
    /// The notebook, told of lines that are no entries.
    fn read(&self) -> Result<Notebook, String> {
        let book = read_book(&self.book)?;
        if !book.faults.is_empty() {
            tell!("lines that are no entries:\n{}", every_fault(book.faults.clone()));
        }
        Ok(book)
    }

    fn rows<'b>(&self, book: &'b Notebook) -> Vec<&'b Row> {
        let wanted = [
            ("track", &self.track),
            ("athlete", &self.athlete),
            ("set_up", &self.set_up),
            ("pair", &self.pair),
        ];
        let fits = |row: &&Row| {
            wanted.iter().all(|(heading, name)| {
                name.as_ref().is_none_or(|n| {
                    book.cell(row, heading).is_some_and(|c| c.to_lowercase() == n.trim().to_lowercase())
                })
            })
        };
        book.rows.iter().filter(fits).collect()
    }
}

/// Columns of the list: heading in the notebook, heading on the screen.
const LISTED: [[&str; 2]; 9] = [
    ["date", "date"],
    ["track", "track"],
    ["athlete", "athlete"],
    ["run", "run"],
    ["set_up", "set-up"],
    ["ice_c", "ice degC"],
    ["start_s", "start s"],
    ["finish_s", "finish s"],
    ["notes", "notes"],
];

fn list(o: &ListOptions) -> Done {
    let book = o.only.read()?;
    let rows = o.only.rows(&book);
    // a column that holds nothing is not shown
    let shown: Vec<&[&str; 2]> =
        LISTED.iter().filter(|[h, _]| rows.iter().any(|r| book.cell(r, h).is_some())).collect();
    let header: Vec<&str> = ["entry"].into_iter().chain(shown.iter().map(|s| s[1])).collect();
    let cells = rows.iter().map(|r| {
        let rest = shown.iter().map(|[h, _]| book.cell(r, h).unwrap_or("-").to_string());
        [book.name(r)].into_iter().chain(rest).collect()
    });
    say(&format!("{}\n{} of {} entries\n", numbers(&header, cells), rows.len(), book.rows.len()))?;
    Ok(u8::from(!book.faults.is_empty()))
}

fn entry<'b>(book: &'b Notebook, path: &std::path::Path, name: &str) -> Result<&'b Row, String> {
    book.entry(name).ok_or_else(|| {
        let all: Vec<String> = book.rows.iter().map(|r| book.name(r)).collect();
        format!("{}: no entry {name}; there are {}", path.display(), all.join(", "))
    })
}

fn diff(o: &DiffOptions) -> Done {
    let book = read_book(&o.book)?;
    let [before, after] = [entry(&book, &o.book, &o.before)?, entry(&book, &o.book, &o.after)?];
    say(&differences::told(&book, before, after))?;
    Ok(0)
}

fn export(o: &ExportOptions) -> Done {
    let book = o.only.read()?;
    let (name, text) = match &o.entry {
        Some(name) => {
            let row = entry(&book, &o.only.book, name)?;
            let mut setup = files::setup(o.base.as_deref(), &[])?.setup;
            for (key, value) in differences::settings(&book, row) {
                set(&mut setup, key, value)
                    .map_err(|f| format!("entry {name}: {}: {}", f.key(), f.problem))?;
            }
            setup.name = book.cell(row, "set_up").unwrap_or(&setup.name).to_string();
            ("setup.toml", write_setup(&setup))
        }
        None => {
            let rows = o.only.rows(&book);
            if !rows.iter().any(|r| book.is_run(r)) {
                return Err("no entry here has a run and a finish: there is no timing sheet to write".into());
            }
            let sheet = book.sheet(&rows);
            let read = read_sheet("the sheet of these entries", &sheet).map_err(every_fault)?;
            if !read.faults.is_empty() {
                // whoever reads the sheet is told again, line by line of the sheet
                tell!("a timing sheet must not have:\n{}", every_fault(read.faults));
            }
            ("sheet.csv", sheet)
        }
    };
    match &o.out {
        Some(out) => {
            files::write_all(out, &[Output::new(name, text)])?;
            tell!("written to {}", out.display());
        }
        None => say(&text)?,
    }
    Ok(u8::from(!book.faults.is_empty()))
}
