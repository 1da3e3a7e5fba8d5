//! The geometry against closed forms and independently computed values.

use crate::made::{even, track};
use approx::{assert_abs_diff_eq, assert_relative_eq};
use track_geometry::surface::Surface;

#[test]
fn published_fresnel_integrals() {
    // Abramowitz and Stegun, table 7.7, to more digits by mpmath: a clothoid of curvature pi s
    // ends at (C(s), S(s)); its heading is pi s^2/2
    for (s, c, f) in [
        (0.5, 0.492_344_225_871_446, 0.064_732_432_859_999_3),
        (1.0, 0.779_893_400_376_823, 0.438_259_147_390_355),
        (2.0, 0.488_253_406_075_341, 0.343_415_678_363_698),
    ] {
        let mut table = even(2.0, 0.25, 0.0, 0.0);
        table.plan_curvature_per_m = table.station_m.iter().map(|s| std::f64::consts::PI * s).collect();
        let end = Surface::new(&table).unwrap().reference_line(s);
        assert_abs_diff_eq!(end.x, c, epsilon = 1e-13); // quadrature to rounding
        assert_abs_diff_eq!(end.y, f, epsilon = 1e-13);
    }
}

#[test]
fn exact_clothoid() {
    // 0 to 1/25 over 30 m, evaluated independently
    let mut table = even(30.0, 2.0, 0.0, 0.0);
    table.plan_curvature_per_m = table.station_m.iter().map(|s| s / 750.0).collect();
    let surface = Surface::new(&table).unwrap();
    let end = surface.reference_line(30.0);
    assert_abs_diff_eq!(end.x, 28.937_851_194_3, epsilon = 1e-10); // the digits printed
    assert_abs_diff_eq!(end.y, 5.847_470_493_6, epsilon = 1e-10);
    assert_abs_diff_eq!(surface.heading_rad(30.0), 0.6, epsilon = 1e-13);
}

/// How far the end of clothoid 30, arc 20 (R 25), clothoid 30 is from the end that was evaluated
/// independently (m), with stations `step_m` apart.
fn clothoid_arc_clothoid_miss_m(step_m: f64) -> f64 {
    let mut table = even(80.0, step_m, 0.0, 0.0);
    let curvature = |s: f64| s.min(80.0 - s).min(30.0) / 750.0;
    table.plan_curvature_per_m = table.station_m.iter().map(|s| curvature(*s)).collect();
    let surface = Surface::new(&table).unwrap();
    assert_abs_diff_eq!(surface.heading_rad(80.0), 2.0, epsilon = 3e-4 * step_m * step_m);
    let end = surface.reference_line(80.0);
    (end.x - 32.732_727_251_4).hypot(end.y - 50.978_202_270_4)
}

#[test]
fn order_clothoid_arc_clothoid() {
    // the spline rounds the two kinks of the curvature: the miss falls with the square of the spacing
    // and is below a millimetre from stations a quarter of a metre apart
    let (coarse, fine) = (clothoid_arc_clothoid_miss_m(0.5), clothoid_arc_clothoid_miss_m(0.25));
    assert!(fine < 1e-3, "{fine} m");
    assert!(coarse / fine > 3.5 && coarse / fine < 4.5, "{coarse} m, {fine} m");
}

#[test]
fn exact_helix() {
    // curvature 0.04, torsion 0.01: radius k/(k^2+t^2), 100 m turn sqrt(k^2+t^2) 100, rise t/sqrt(..) 100.
    // A line of constant grade and plan radius is that helix
    let (k, torsion): (f64, f64) = (0.04, 0.01);
    let w = k.hypot(torsion);
    let grade = -(torsion / w).asin();
    let surface = Surface::new(&even(100.0, 5.0, grade, w * w / k)).unwrap();
    assert_relative_eq!(1.0 / (w * w / k), 23.529_411_764_706, max_relative = 1e-13);
    assert_abs_diff_eq!(surface.heading_rad(100.0), 4.123_105_625_618, epsilon = 1e-11);
    assert_abs_diff_eq!(surface.reference_line(100.0).z, 24.253_562_503_633, epsilon = 1e-11);
    // the chord of a helix: 2 r sin(turn/2) in plan
    let end = surface.reference_line(100.0);
    let chord = 2.0 * 23.529_411_764_706 * (4.123_105_625_618_f64 / 2.0).sin();
    assert_abs_diff_eq!(end.x.hypot(end.y), chord, epsilon = 1e-10);
}

#[test]
fn exact_derivatives_of_a_wild_surface() {
    // every first and second derivative against central differences of positions in space
    let mut table = even(60.0, 3.0, 0.0, 0.0);
    let wave = |a: f64, b: f64, s: f64| a * (b * s).sin();
    let column = |f: &dyn Fn(f64) -> f64| table.station_m.iter().map(|s| f(*s)).collect::<Vec<_>>();
    let (z, k, bank, trough) = (
        column(&|s| -0.1 * s + wave(0.4, 0.2, s)),
        column(&|s| 0.02 + wave(0.03, 0.15, s)),
        column(&|s| wave(1.1, 0.12, s)),
        column(&|s| 0.3 + wave(0.15, 0.1, s)),
    );
    (table.elevation_m, table.plan_curvature_per_m) = (z, k);
    (table.banking_rad, table.trough_curvature_per_m) = (bank, trough);
    let surface = Surface::new(&table).unwrap();
    let h = 2e-4;
    for (s, u) in [(10.3, 0.4), (22.22, -1.7), (40.1, 2.2), (31.7, 0.0)] {
        let r = |ds: f64, du: f64| surface.position(s + ds * h, u + du * h);
        let frame = surface.frame(s);
        let patch = surface.station(s).patch::<f64>(u);
        let space =
            |v: track_geometry::station::Vector<f64>| frame[0] * v.t + frame[1] * v.n + frame[2] * v.b;
        let o = r(0.0, 0.0);
        let rows = [
            (space(patch.r_s), (r(1.0, 0.0) - r(-1.0, 0.0)) / (2.0 * h), 1e-7),
            (space(patch.r_u), (r(0.0, 1.0) - r(0.0, -1.0)) / (2.0 * h), 1e-7),
            (space(patch.r_ss), (r(1.0, 0.0) + r(-1.0, 0.0) - 2.0 * o) / (h * h), 3e-6),
            (space(patch.r_uu), (r(0.0, 1.0) + r(0.0, -1.0) - 2.0 * o) / (h * h), 3e-6),
            (
                space(patch.r_su),
                (r(1.0, 1.0) - r(1.0, -1.0) - r(-1.0, 1.0) + r(-1.0, -1.0)) / (4.0 * h * h),
                3e-6,
            ),
        ];
        for (i, (exact, difference, epsilon)) in rows.into_iter().enumerate() {
            // truncation h^2 and rounding 1e-14/h^2 of the differences
            assert!(
                (exact - difference).norm() < epsilon,
                "{i} at {s}, {u}: {}",
                (exact - difference).norm()
            );
        }
    }
}

#[test]
fn exact_forms_of_a_torus() {
    // torus of centreline radius R and tube radius r, at angle phi outwards: E = ((R + r sin phi)/R)^2,
    // normal curvatures sin(phi)/(R + r sin phi) along and 1/r across, F = M = 0 (any textbook)
    let (radius, tube, phi): (f64, f64, f64) = (25.0, 2.2, 0.9);
    let mut table = even(60.0, 5.0, 0.0, 1.0 / radius);
    table.trough_curvature_per_m = vec![1.0 / tube; table.len()];
    let surface = Surface::new(&table).unwrap();
    let forms = surface.forms(31.0, -tube * phi);
    let around = radius + tube * phi.sin();
    assert_relative_eq!(forms.first[0], (around / radius).powi(2), max_relative = 1e-12);
    assert_abs_diff_eq!(forms.first[1], 0.0, epsilon = 1e-12);
    assert_relative_eq!(forms.normal_curvature_per_m(1.0, 0.0), phi.sin() / around, max_relative = 1e-12);
    assert_relative_eq!(forms.normal_curvature_per_m(0.0, 1.0), 1.0 / tube, max_relative = 1e-12);
    assert_relative_eq!(forms.geodesic_curvature_per_m, phi.cos() / around, max_relative = 1e-12);
}

#[test]
fn exact_nearest_point() {
    let mut table = even(60.0, 5.0, 0.08, 0.03);
    table.trough_curvature_per_m = vec![0.4; table.len()];
    let t = track(table, &[0.0, 60.0]);
    let frame = t.surface.frame(33.3);
    let normal = t.surface.station(33.3).patch::<f64>(-0.7).normal();
    let above = t.surface.position(33.3, -0.7)
        + (frame[0] * normal.t + frame[1] * normal.n + frame[2] * normal.b) * 0.5;
    let (s, u) = t.surface.nearest(&above, 30.0).unwrap();
    assert_abs_diff_eq!(s, 33.3, epsilon = 1e-9); // Newton to rounding
    assert_abs_diff_eq!(u, -0.7, epsilon = 1e-9);
}
