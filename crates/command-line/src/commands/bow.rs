//! `sagitta bow`: what the bow of the runners is, what to turn, and what it does on the ice.

pub(in crate::commands) mod caliper;
mod contact;
pub(in crate::commands) mod drawing;
pub(in crate::commands) mod read;
pub(in crate::commands) mod target;
mod wanted;
mod window;
mod window_over;
mod window_rides;

use super::Done;

/// Commands about bow.
#[derive(clap::Subcommand)]
pub enum BowCommand {
    /// From caliper readings to the bow of each screw, with its error
    Read(read::Options),
    /// What to turn for a wanted bow, and what the caliper must read then
    Target(target::Options),
    /// Which bows neither bridge in the corners nor lose their static margin on the flat
    Window(window::Options),
    /// How both runners touch the ice at 1 g on the flat and in each corner of a track
    Contact(contact::Options),
}

/// Runs a command about bow.
pub fn bow(command: &BowCommand) -> Done {
    match command {
        BowCommand::Read(options) => read::read(options),
        BowCommand::Target(options) => target::target(options),
        BowCommand::Window(options) => window::window(options),
        BowCommand::Contact(options) => contact::contact(options),
    }
}
