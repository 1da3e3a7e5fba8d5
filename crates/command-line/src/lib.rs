//! The command line of Sagitta: arguments, files, progress and exit status.
//!
//! Exit status 0: fine. 1: finished, but something failed or was missed, such as a descent that lost
//! control. 2: it could not be done, and says why; nothing was written. 130: interrupted, or nobody
//! left to read what is only printed; what was finished is shown.

// nothing is outside of a program: `pub` is its own crate here
#![allow(unreachable_pub)]
#![deny(clippy::print_stdout, clippy::print_stderr)]

#[macro_use]
mod words;

mod cache;
mod commands;
mod files;
mod interrupt;
mod number;
mod plan_store;
mod progress;
mod table_store;
mod typed;

use clap::{CommandFactory, Parser, Subcommand};
use std::process::ExitCode;

/// Simulates a skeleton descent: what bow, ice and line do to time and control.
#[derive(Parser)]
#[command(name = "sagitta", version = env!("SAGITTA_VERSION"), after_help = words::CAUTION)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// One descent: splits, speeds, loads, and where the energy went
    Descend(commands::descend::Options),
    /// Check, draw or build a track
    #[command(subcommand)]
    Track(commands::track::TrackCommand),
    /// The bow of the runners: read it, set it, and see what it does on the ice
    #[command(subcommand)]
    Bow(commands::bow::BowCommand),
    /// The pairs of a runner library: what is known of them, and what is only assumed
    Runners(commands::runners::Options),
    /// Balance point, load share and static margin from saddle and ballast
    Balance(commands::balance::Options),
    /// How the sled swings in each corner, and what to watch
    Corners(commands::corners::Options),
    /// Where a descent loses time against a reference, and which corner caused it
    Losses(commands::losses::Options),
    /// Compare set-ups, each with its own planned ride and the same mistakes
    Compare(commands::compare::Options),
    /// The evening before a race: which pair and bow, what the hours are worth, one page to carry
    Evening(commands::evening::Options),
    /// A week before travel: which bow to start from, which two pairs to take, what to measure
    Travel(commands::travel::Options),
    /// Plan a ride
    #[command(subcommand)]
    Ride(commands::ride::RideCommand),
    /// The cases of a study: many descents, a table, pictures
    Sweep(commands::sweep::Options),
    /// Samples of what nobody has measured, kept where they agree with what is published and practised
    Plausible(commands::plausible::Options),
    /// The sled bench in a browser on this machine: sliders, and what they do to time and control
    Page(commands::page::Options),
    /// What ice and air do to the time, and what start numbers cost
    Weather(commands::weather::Options),
    /// Runs, set-ups and notes in a file of your own, which a spreadsheet can open as well
    #[command(subcommand)]
    Notebook(commands::notebook::NotebookCommand),
    /// Calibrate the model to the runs of a timing sheet, and say whether to believe it
    Calibrate(commands::calibrate::Options),
    /// Trials of set-ups on the ice: what a number of runs can tell
    #[command(subcommand)]
    Trial(commands::trial::TrialCommand),
    /// Rides that could have produced the times of one run, and what they have in common
    Steering(commands::steering::Options),
    /// A log of accelerations and turning rate laid over the model
    Log(commands::log::Options),
    /// List the keys of a set-up with unit, limits, default and source
    Keys,
    /// A folder with an invented scenario, and five commands to begin with
    Demo(commands::demo::Options),
    /// Tab completion of commands and options for a shell
    Completions(commands::shell::CompletionOptions),
    /// Manual pages, one for each command
    Manual(commands::shell::ManualOptions),
}

/// Does what the arguments of the program ask for; the exit status.
pub fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => match number::refused_value(&error).or_else(|| typed::meant(&error)) {
            Some(why) => {
                tell!("sagitta: {why}");
                return ExitCode::from(2);
            }
            None => error.exit(),
        },
    };
    interrupt::watch();
    // an argument may be a path that is no text
    let words: Vec<String> = std::env::args_os().map(|a| a.to_string_lossy().into()).collect();
    if let Some(why) = typed::no_place(&words) {
        tell!("sagitta: {why}");
        return ExitCode::from(2);
    }
    if !matches!(arguments.command, Command::Page(_)) && !words.iter().any(|w| w.starts_with("--out")) {
        interrupt::only_printed();
    }
    // whoever wants plans made anew wants tables made anew, too
    if !words.iter().any(|w| w == "--no-stored-plans") {
        table_store::keep_tables();
    }
    let done = match arguments.command {
        Command::Descend(options) => commands::descend::descend(&options),
        Command::Track(command) => commands::track::track(&command),
        Command::Bow(command) => commands::bow::bow(&command),
        Command::Runners(options) => commands::runners::runners(&options),
        Command::Balance(options) => commands::balance::balance_command(&options),
        Command::Corners(options) => commands::corners::corners(&options),
        Command::Losses(options) => commands::losses::losses(&options),
        Command::Compare(options) => commands::compare::compare(&options),
        Command::Evening(options) => commands::evening::evening_command(&options),
        Command::Travel(options) => commands::travel::travel_command(&options),
        Command::Ride(command) => commands::ride::ride(&command),
        Command::Sweep(options) => commands::sweep::sweep(&options),
        Command::Plausible(options) => commands::plausible::plausible(&options),
        Command::Page(options) => commands::page::page_command(&options),
        Command::Weather(options) => commands::weather::weather_command(&options),
        Command::Notebook(command) => commands::notebook::notebook(&command),
        Command::Calibrate(options) => commands::calibrate::run::calibrate(&options),
        Command::Trial(command) => commands::trial::trial(&command),
        Command::Steering(options) => commands::steering::steering(&options),
        Command::Log(options) => commands::log::log(&options),
        Command::Keys => commands::keys::keys(),
        Command::Demo(options) => commands::demo::demo(&options),
        Command::Completions(options) => commands::shell::completions(&options, Arguments::command()),
        Command::Manual(options) => commands::shell::manual(&options, Arguments::command()),
    };
    match done {
        Ok(status) => ExitCode::from(status),
        Err(why) => {
            tell!("sagitta: {}", typed::folded(&why));
            ExitCode::from(2)
        }
    }
}
