//! The station table: what is known of a track at each station, in SI units.

/// What is known of a track, station by station. All columns have the same length.
///
/// Signs: curvature is positive for a left-hand turn; banking is positive where the
/// right side of the ice is high; the lateral coordinate grows to the left.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StationTable {
    /// Arc length along the reference line, increasing downhill (m).
    pub station_m: Vec<f64>,
    /// Elevation of the reference line (m).
    pub elevation_m: Vec<f64>,
    /// Curvature of the reference line in plan, 1/radius; 0 on a straight (1/m).
    pub plan_curvature_per_m: Vec<f64>,
    /// Cross slope of the ice at the reference line, positive when the right side is high (rad).
    pub banking_rad: Vec<f64>,
    /// Curvature of the concave cross-section, 1/trough radius; 0 where flat (1/m).
    pub trough_curvature_per_m: Vec<f64>,
    /// Lateral coordinate where the ice ends on the left (m, positive).
    pub left_edge_m: Vec<f64>,
    /// Lateral coordinate where the ice ends on the right (m, negative).
    pub right_edge_m: Vec<f64>,
}

impl StationTable {
    /// Number of stations.
    pub fn len(&self) -> usize {
        self.station_m.len()
    }

    /// True when the table has no rows.
    pub fn is_empty(&self) -> bool {
        self.station_m.is_empty()
    }

    /// The same track seen in a mirror: left and right exchanged.
    pub fn mirrored(&self) -> StationTable {
        let neg = |v: &[f64]| v.iter().map(|x| -x).collect::<Vec<_>>();
        StationTable {
            plan_curvature_per_m: neg(&self.plan_curvature_per_m),
            banking_rad: neg(&self.banking_rad),
            left_edge_m: neg(&self.right_edge_m),
            right_edge_m: neg(&self.left_edge_m),
            ..self.clone()
        }
    }
}
