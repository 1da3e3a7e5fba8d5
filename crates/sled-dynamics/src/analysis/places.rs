//! Places of a track where contact is looked at: flat ice at 1 g, and each corner at the load and ice curvature
//! that a guided descent meets there.

use crate::laws::state::{State, motion};
use crate::motion::descent::Descent;
use crate::motion::equations::Constants;
use track_geometry::track::Track;

/// Where contact is looked at.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Name: "1 g, flat ice" or a corner.
    pub name: String,
    /// Station (m).
    pub station_m: f64,
    /// Load over weight `[-]`.
    pub g_load: f64,
    /// Curvature of the ice along the path (1/m).
    pub ice_curvature_per_m: f64,
    /// Speed (m/s).
    pub speed_m_s: f64,
}

/// Flat ice at 1 g.
pub fn flat_place() -> Place {
    Place {
        name: "1 g, flat ice".into(),
        station_m: 0.0,
        g_load: 1.0,
        ice_curvature_per_m: 0.0,
        speed_m_s: 20.0,
    }
}

/// The places of a track: flat ice at 1 g, and the most loaded station of each corner of a guided descent.
pub fn places(track: &Track, constants: &Constants, guided: &Descent) -> Vec<Place> {
    let corners = track.data.corners.iter().filter_map(|c| {
        let inside = guided.trace.iter().filter(|s| c.entry_m <= s.station_m && s.station_m <= c.exit_m);
        let most = inside.max_by(|a, b| a.g_load.total_cmp(&b.g_load))?;
        let at = track.surface.station(most.station_m);
        let state = State {
            offset_m: 0.0,
            yaw_rad: 0.0,
            forward_m_s: most.speed_m_s,
            lateral_velocity_m_s: 0.0,
            yaw_rate_rad_s: 0.0,
        };
        let m = motion(&at, &at.patch(0.0), &state, constants.gravity_m_s2);
        Some(Place {
            name: format!("corner {}", c.name),
            station_m: most.station_m,
            g_load: most.g_load,
            ice_curvature_per_m: m.ice_curvature_per_m(),
            speed_m_s: most.speed_m_s,
        })
    });
    std::iter::once(flat_place()).chain(corners).collect()
}
