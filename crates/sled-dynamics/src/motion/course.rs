//! What a descent needs: track, sled, ice, and who steers.

use crate::motion::equations::Constants;
use track_geometry::track::Track;

/// Everything a descent needs.
#[derive(Clone, Copy, Debug)]
pub struct Course<'a, I, P> {
    /// The track.
    pub track: &'a Track,
    /// Masses, gravity, air.
    pub constants: &'a Constants,
    /// Forces of the ice.
    pub ice: &'a I,
    /// Who steers.
    pub pilot: &'a P,
}
