//! `sagitta demo`: a folder with an invented scenario, and five commands to begin with.

use super::Done;
use crate::files::{BUILT_IN, Output, write_all};
use crate::words::{CAUTION, say};
use std::path::{Path, PathBuf};

/// Options of `demo`.
#[derive(clap::Args)]
#[command(after_help = "Example: sagitta demo --out demo")]
pub struct Options {
    /// Folder for the scenario; one that holds files is left alone
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
}

/// Files of the repository's examples, by their names.
macro_rules! examples {
    ($($name:literal),+) => { [$(($name, include_str!(concat!("../../../../examples/", $name)))),+] };
}

const EXAMPLES: [(&str, &str); 16] = examples!(
    "clubs-woman.toml",
    "clubs-man.toml",
    "notes.txt",
    "readings.csv",
    "readings-without-bow.csv",
    "runners.toml",
    "rules.toml",
    "evening.toml",
    "travel.toml",
    "questions.toml",
    "which-bow.toml",
    "what-a-step-is-worth.toml",
    "week-sheet.csv",
    "steering-sheet.csv",
    "team-sheet.csv",
    "log.csv"
);

/// What to ask next: about how long it takes on two cores, and the question.
const NEXT: [(&str, &str); 5] = [
    (
        "sagitta descend --setup examples/clubs-woman.toml",
        "one descent, its times and where the energy went (3 s)",
    ),
    (
        "sagitta losses --notes examples/notes.txt --track tracks/quillmere",
        "where a ride lost its time (10 s)",
    ),
    (
        "sagitta compare --variant runners.bow_mm=2 --track tracks/quillmere --rides 40",
        "would another bow be faster, and as safe? (10 s)",
    ),
    ("sagitta sweep examples/what-a-step-is-worth.toml", "what one step of each number is worth (3 s)"),
    ("sagitta evening examples/evening.toml --out evening", "what to set tonight, on one page (2 minutes)"),
];

/// Writes the scenario and prints what to ask next.
pub fn demo(o: &Options) -> Done {
    let filled = |folder: &Path| folder.read_dir().is_ok_and(|mut files| files.next().is_some());
    if filled(&o.out) {
        return Err(format!(
            "{}: holds files already; allowed: a folder that is empty or not there",
            o.out.display()
        ));
    }
    let outputs = EXAMPLES.map(|(name, text)| Output::new(name, text));
    write_all(&o.out.join("examples"), &outputs)?;
    for [name, words, table] in BUILT_IN {
        let outputs = [Output::new("track.toml", words), Output::new("stations.csv", table)];
        write_all(&o.out.join("tracks").join(name), &outputs)?;
    }
    let mut text = format!(
        "written to {}: two tracks, two sleds, runners, readings, notes, plans and timing sheets, all invented\n\n\
         next, from that folder:\n",
        o.out.display()
    );
    for (command, question) in NEXT {
        text += &format!("  {command}\n      {question}\n");
    }
    say(&format!("{text}\n{CAUTION}\n"))?;
    Ok(0)
}
