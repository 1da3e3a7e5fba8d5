//! A bowed steel runner on the ice: beam, contact, friction, grip.
//!
//! Invariant: nothing here knows a track, a sled's motion or a file.
