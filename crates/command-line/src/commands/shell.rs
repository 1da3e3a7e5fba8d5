//! `sagitta completions` and `sagitta manual`: what a shell and a reader of manual pages need.

use super::Done;
use crate::files::{Output, write_all};
use crate::words::say;
use clap::Command;
use clap_complete::Shell;
use std::path::PathBuf;

/// Options of `completions`.
#[derive(clap::Args)]
#[command(
    after_help = "Example: sagitta completions bash > ~/.local/share/bash-completion/completions/sagitta"
)]
pub struct CompletionOptions {
    /// Shell
    #[arg(value_enum)]
    shell: Shell,
}

/// Options of `manual`.
#[derive(clap::Args)]
#[command(after_help = "Example: sagitta manual --out ~/.local/share/man/man1")]
pub struct ManualOptions {
    /// Folder for the pages
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
}

/// Prints what completes commands and options in a shell.
pub fn completions(o: &CompletionOptions, mut command: Command) -> Done {
    let mut script = Vec::new();
    clap_complete::generate(o.shell, &mut command, "sagitta", &mut script);
    say(&String::from_utf8_lossy(&script))?;
    Ok(0)
}

/// Writes a page for the program and one for each command.
pub fn manual(o: &ManualOptions, mut command: Command) -> Done {
    // names of commands within commands are known from here on
    command.build();
    let (mut pages, mut left) = (vec![], vec![command]);
    while let Some(command) = left.pop() {
        left.extend(command.get_subcommands().filter(|c| c.get_name() != "help").cloned());
        let name = command.get_display_name().unwrap_or(command.get_name()).to_string();
        let mut page = Vec::new();
        clap_mangen::Man::new(command).render(&mut page).map_err(|e| format!("{name}: {e}"))?;
        pages.push(Output::new(&format!("{name}.1"), page));
    }
    write_all(&o.out, &pages)?;
    tell!("{} pages written to {}", pages.len(), o.out.display());
    Ok(0)
}
