//! Checks of the whole workspace, one binary.
