//! The command line of Sagitta.

fn main() {}
