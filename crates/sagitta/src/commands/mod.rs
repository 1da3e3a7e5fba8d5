//! One file for each command.

pub mod bow;
pub mod descend;
pub mod keys;
pub mod track;

/// What a command ends with: its exit status, or why it could not be done.
pub type Done = Result<u8, String>;
