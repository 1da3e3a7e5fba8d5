//! The energy ledger, symmetry, steps and threads.
