//! The program. It is a crate of its own since the last step of a release build takes the level of this crate for
//! all code: it is built for speed, the command line for size.

use std::process::ExitCode;

fn main() -> ExitCode {
    command_line::run()
}
