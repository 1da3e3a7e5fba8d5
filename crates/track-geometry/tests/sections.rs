//! Cross-sections against closed forms: the lowest ice, heights above it, edges between two stations.

use numerics::spline::{Cubic, Knots};
use track_geometry::station_table::StationTable;
use track_geometry::surface::{Surface, SurfaceError};

/// A level straight of 40 m with the same section everywhere: slope to the left (rad), trough (1/m), edges at 2 and -1 m.
fn same(slope_rad: f64, trough_curvature_per_m: f64) -> StationTable {
    let column = |v: f64| vec![v; 5];
    StationTable {
        station_m: vec![0.0, 10.0, 20.0, 30.0, 40.0],
        elevation_m: column(100.0),
        plan_curvature_per_m: column(0.0),
        banking_rad: column(-slope_rad),
        trough_curvature_per_m: column(trough_curvature_per_m),
        left_edge_m: column(2.0),
        right_edge_m: column(-1.0),
    }
}

#[test]
fn exact_lowest_ice_of_a_section() {
    for (slope_rad, trough, lowest_m) in [
        // a trough is lowest where it is level, or at the edge before
        (0.1, 0.25, -0.4),
        (-0.3, 0.25, 1.2),
        (0.5, 0.25, -1.0),
        (-0.8, 0.25, 2.0),
        // flat ice at its lower edge, level ice at the line
        (0.2, 0.0, -1.0),
        (-0.2, 0.0, 2.0),
        (0.0, 0.0, 0.0),
    ] {
        let at = Surface::new(&same(slope_rad, trough)).unwrap().station(17.0);
        // rounding
        approx::assert_abs_diff_eq!(at.lowest_m(), lowest_m, epsilon = 1e-12);
        // an arc of radius 1/c, or a straight line
        let height = |u: f64| {
            if trough > 0.0 { -(slope_rad + trough * u).cos() / trough } else { u * slope_rad.sin() }
        };
        for u_m in [-1.0, 0.3, 2.0] {
            approx::assert_abs_diff_eq!(at.height_m(u_m), height(u_m) - height(lowest_m), epsilon = 1e-12);
        }
    }
}

#[test]
fn exact_an_edge_that_crosses_the_line_between_stations_is_refused() {
    // on its own side at every station; between two of them the spline swings over the line
    let mut table = same(0.0, 0.0);
    table.left_edge_m = vec![8.0, 0.6, 0.05, 2.0, 9.0];
    let found = Surface::new(&table);
    let Err(SurfaceError::EdgeAcross { column, station_m, got_m }) = found else { panic!("{found:?}") };
    assert_eq!(column, "left_edge_m");
    // where the same spline, looked at every millimetre, is least
    let knots = Knots::new(&table.station_m).unwrap();
    let edge = Cubic::new(&knots, &table.left_edge_m).unwrap();
    let i = knots.interval(station_m);
    let looked = (0..=10_000).map(|k| edge.jet(i, 1e-3 * f64::from(k))[0]);
    let least_m = looked.fold(f64::INFINITY, f64::min);
    assert!(least_m < 0.0 && (10.0..20.0).contains(&station_m), "{station_m} {least_m}");
    // half a millimetre from the least of a parabola
    approx::assert_abs_diff_eq!(got_m, least_m, epsilon = 1e-6);
    let mirrored = Surface::new(&table.mirrored());
    assert!(matches!(mirrored, Err(SurfaceError::EdgeAcross { column: "right_edge_m", .. })), "{mirrored:?}");
}
