//! Pictures of tracks and descents.
//!
//! Invariant: nothing here computes physics.
