//! What is told and drawn once the table of a sweep is whole.

use super::Done;
use crate::files::{self, Output};
use crate::words::{ABSOLUTE, CAUTION, numbers, say};
use std::path::Path;
use sweep_runner::study::Study;
use sweep_runner::study::report::{Report, report};
use sweep_runner::study::table::SweepTable;

/// Tells a whole table, with what a calibration sets and what is not known does to it, and draws it into a folder if
/// there is one. Status 1 if a case failed.
pub fn results(study: &Study, table: &str, out: Option<&Path>, (with, over): (&str, &str)) -> Done {
    let table =
        SweepTable::read(table).ok_or("sweep.csv is no table any more; something else wrote to it")?;
    let Report { head, columns, rows, notes, figures, failed } = report(study, &table);
    let mut outputs = Vec::new();
    outputs.extend(figures.map(|(name, text)| Output::new(name, text)));
    if study.file.pictures && out.is_some() {
        for picture in
            sweep_runner::study::sweep_pictures::pictures(study, &table).map_err(|e| e.to_string())?
        {
            outputs.extend(Output::picture(&picture));
        }
    }
    if let Some(out) = out {
        files::write_all(out, &outputs)?;
    }
    let names: Vec<&str> = columns.iter().map(String::as_str).collect();
    let notes: String = notes.iter().map(|n| format!("{n}\n")).collect();
    let over = if over.is_empty() { String::new() } else { format!("\n{over}\n") };
    say(&format!("{head}\n{with}\n{}\n\n{notes}{over}{ABSOLUTE}\n{CAUTION}\n", numbers(&names, rows)))?;
    if let Some(out) = out {
        tell!("written to {}", out.display());
    }
    Ok(u8::from(failed > 0))
}
