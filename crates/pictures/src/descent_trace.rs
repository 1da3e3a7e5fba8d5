//! What happens along a descent: speed, load, offset, height, slip, steering and contact over the station.

use crate::chart::{Picture, PictureError, both, checked, on_sheet};
use crate::line::Line;
use crate::stacked::{Panel, Way, finite, height_of, stacked};
use sled_dynamics::motion::descent::{Descent, Sample};
use track_geometry::station::Station;
use track_geometry::track::Track;

/// A quantity over the station.
fn along(trace: &[Sample], of: impl Fn(&Sample) -> f64) -> Vec<(f64, f64)> {
    trace.iter().map(|s| (s.station_m, of(s))).collect()
}

/// The usual range, wider where the lines leave it: nothing is drawn outside its panel.
fn holding(usual: (f64, f64), lines: &[Line<'_>]) -> Option<(f64, f64)> {
    let values = lines.iter().flat_map(|l| l.points.iter().map(|p| p.1)).filter(|v| v.is_finite());
    Some(values.fold(usual, |(low, high), v| (low.min(v), high.max(v))))
}

/// Panels of one or more descents over the station. With several, what the two runners do is drawn as the
/// greater of both.
pub fn descent_trace(track: &Track, descents: &[(&str, &Descent)]) -> Result<Picture, PictureError> {
    let drawn: Vec<_> = descents.iter().filter(|d| d.1.trace.len() > 1).collect();
    let Some(first) = drawn.first() else {
        return Err(PictureError::Empty { picture: "descent".into() });
    };
    let several = drawn.len() > 1;
    let lines = |of: &dyn Fn(&Sample) -> f64| -> Vec<Line<'_>> {
        drawn.iter().enumerate().map(|(i, d)| Line::nth(i, "", along(&d.1.trace, of))).collect()
    };
    // the first panel names the descents; the others use the same lines
    let mut speed = lines(&|s| s.speed_m_s * 3.6);
    if several {
        for (line, d) in speed.iter_mut().zip(&drawn) {
            line.label = d.0;
        }
    }
    for (label, d) in &drawn {
        let stations: Vec<f64> = d.trace.iter().map(|s| s.station_m).collect();
        checked("descent", &format!("station of {label}"), &stations, stations.len())?;
    }
    let stations = || drawn.iter().flat_map(|d| [d.1.trace[0], d.1.trace[d.1.trace.len() - 1]]);
    let ends = (
        stations().map(|s| s.station_m).fold(f64::INFINITY, f64::min),
        stations().map(|s| s.station_m).fold(f64::NEG_INFINITY, f64::max),
    );
    if !(ends.1 > ends.0) {
        return Err(PictureError::Empty { picture: "descent".into() });
    }
    let mut offset = lines(&|s| s.offset_m);
    let edge = |of: &dyn Fn(&Station) -> f64| -> Vec<(f64, f64)> {
        let (n, long) = ((ends.1 - ends.0).ceil(), ends.1 - ends.0);
        (0..=n as usize)
            .map(|i| ends.0 + long * i as f64 / n)
            .map(|s| (s, of(&track.surface.station(s))))
            .collect()
    };
    offset.push(Line::limit("edges of the ice", edge(&|at| at.left_edge[0])));
    offset.push(Line::limit("", edge(&|at| at.right_edge[0])));
    let mut panels = vec![
        Panel { label: "speed (km/h)", lines: speed, range: None },
        Panel { label: "load (g)", lines: lines(&|s| s.g_load), range: None },
        Panel { label: "offset, left + (m)", lines: offset, range: None },
        Panel { label: "height (m)", lines: lines(&|s| s.height_m), range: None },
    ];
    if drawn.iter().any(|d| d.1.trace.iter().any(|s| s.contact.touch_span_m[0] > 0.0)) {
        let slip = lines(&|s| s.slip_rad.to_degrees());
        let range = holding((-6.0, 6.0), &slip);
        panels.push(Panel { label: "slip (deg)", lines: slip, range });
        let range = Some((-1.05, 1.05));
        panels.push(Panel { label: "steer, right + (-)", lines: lines(&|s| s.steer), range });
        let of_runners = |of: &dyn Fn(&Sample) -> [f64; 2]| -> Vec<Line<'_>> {
            if several {
                return lines(&|s| of(s)[0].max(of(s)[1]));
            }
            let names = ["left runner", "right runner"];
            let of = |j: usize| along(&first.1.trace, |s| of(s)[j]);
            names.iter().enumerate().map(|(j, name)| Line::nth(j, name, of(j))).collect()
        };
        let span = of_runners(&|s| s.contact.touch_span_m);
        let range = holding((0.0, 0.85), &span);
        panels.push(Panel { label: "touch span (m)", lines: span, range });
        let mut outside = of_runners(&|s| s.contact.outside_screws);
        outside.push(Line::limit("bridging above", vec![(ends.0, 0.5), (ends.1, 0.5)]));
        panels.push(Panel { label: "outside screws (-)", lines: outside, range: Some((0.0, 1.05)) });
    }
    finite("descent", &panels)?;
    let names = if several { format!("{} descents", drawn.len()) } else { first.0.to_string() };
    let title = format!("{names} on {}", track.data.name);
    let way = Way::of(track, ends);
    both("descent", (1100, height_of(panels.len(), 132)), |sheet| {
        on_sheet!(sheet, |area, scale| stacked(area, scale, &title, &way, &panels))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::descent_plan::{descent_plan, signed_plan};
    use crate::shipped::quillmere as track;
    use sled_dynamics::motion::equations::Constants;
    use sled_dynamics::motion::guided::guided;
    use sled_dynamics::motion::launch::Launch;
    use sled_dynamics::motion::precision::{Detail, Precision};

    fn ridden(track: &Track, detail: Detail) -> Descent {
        let c = Constants {
            mass_kg: 118.0,
            yaw_inertia_kg_m2: 16.0,
            gravity_m_s2: 9.81,
            drag_kg_per_m: 0.036,
            wall_friction: 0.05,
            mass_height_m: 0.15,
            gauge_m: 0.36,
            air_yaw_n_m_s2_per_rad_m2: 0.0,
            shaking_n_s_per_m: 0.0,
        };
        guided(track, &c, &Launch::moving(15.0, 9.0), 0.009, Precision::default(), detail)
    }

    #[test]
    fn exact_pictures_hold_labels_and_are_the_same_twice() {
        let track = track();
        let d = ridden(&track, Detail::Trace(2.0));
        let a = descent_trace(&track, &[("guided", &d)]).unwrap();
        assert_eq!(a, descent_trace(&track, &[("guided", &d)]).unwrap());
        for word in ["speed (km/h)", "load (g)", "height (m)", "Quillmere"] {
            assert!(a.svg.contains(word), "{word}");
        }
        assert!(!a.svg.contains("NaN"));
        // PNG signature, and the width of 2200 in the header
        assert_eq!(&a.png[..8], b"\x89PNG\r\n\x1a\n");
        assert_eq!(a.png[16..20], 2200_u32.to_be_bytes());
        let plan = descent_plan(&track, &d).unwrap();
        assert!(plan.svg.contains("100 m") && plan.svg.contains("finish"));
    }

    #[test]
    fn exact_nothing_to_draw_is_told() {
        let track = track();
        let d = ridden(&track, Detail::Bare);
        assert!(matches!(descent_trace(&track, &[("bare", &d)]), Err(PictureError::Empty { .. })));
        assert!(matches!(descent_plan(&track, &d), Err(PictureError::Empty { .. })));
    }

    #[test]
    fn exact_signed_plan_holds_zero_in_the_middle_and_tells_faults() {
        let track = track();
        let d = ridden(&track, Detail::Trace(2.0));
        // from -1 to 3: the scale is to run from -3 to 3
        let n = d.trace.len();
        let mut values: Vec<f64> = (0..n).map(|i| -1.0 + 4.0 * i as f64 / (n - 1) as f64).collect();
        let draw = |values: &[f64]| signed_plan(&track, &d, values, "time lost (ms)", "gap");
        let picture = draw(&values).unwrap();
        for words in ["-3.00", "0.00", "3.00", "time lost (ms)"] {
            assert!(picture.svg.contains(words), "{words}");
        }
        assert!(!picture.svg.contains("NaN"));
        assert!(matches!(draw(&values[1..]), Err(PictureError::Uneven { .. })));
        values[5] = f64::NAN;
        assert!(matches!(draw(&values), Err(PictureError::NotFinite { row: 5, .. })));
    }

    #[test]
    fn exact_contact_shows_the_runners_and_several_descents_their_names() {
        let track = track();
        let mut d = ridden(&track, Detail::Trace(2.0));
        for s in &mut d.trace {
            s.contact.touch_span_m = [0.4, 0.5];
        }
        let one = descent_trace(&track, &[("pair A", &d)]).unwrap();
        for words in ["left runner", "right runner", "bridging above", "slip (deg)", "touch span (m)"] {
            assert!(one.svg.contains(words), "{words}");
        }
        let two = descent_trace(&track, &[("pair A", &d), ("pair B", &d)]).unwrap();
        assert!(two.svg.contains("pair B") && two.svg.contains("2 descents on Quillmere"));
        assert!(!two.svg.contains("left runner"));
    }

    #[test]
    fn exact_descent_that_ends_early_names_only_its_corners_and_values_are_checked() {
        let track = track();
        let mut d = ridden(&track, Detail::Trace(2.0));
        let last_eye = track.data.eyes.last().unwrap();
        let whole = descent_trace(&track, &[("whole", &d)]).unwrap();
        assert!(whole.svg.contains(&last_eye.name));
        d.trace.truncate(d.trace.len() / 2);
        let half = descent_trace(&track, &[("half", &d)]).unwrap();
        assert!(!half.svg.contains(&last_eye.name));
        // a descent that hardly moved is drawn on the whole track
        let mut still = d.clone();
        still.trace.truncate(2);
        still.trace[1] = still.trace[0];
        assert!(descent_plan(&track, &still).unwrap().svg.contains(&last_eye.name));
        assert!(matches!(descent_trace(&track, &[("still", &still)]), Err(PictureError::Empty { .. })));
        d.trace[7].height_m = f64::NAN;
        let got = descent_trace(&track, &[("half", &d)]);
        assert!(matches!(got, Err(PictureError::NotFinite { row: 7, .. })), "{got:?}");
        d.trace[3].station_m = f64::INFINITY;
        let got = descent_trace(&track, &[("half", &d)]);
        assert!(matches!(got, Err(PictureError::NotFinite { row: 3, .. })), "{got:?}");
    }

    #[test]
    fn exact_range_holds_every_value() {
        let line = |points| Line::nth(0, "", points);
        let lines = [line(vec![(0.0, 1.0), (1.0, -48.0)]), line(vec![(0.0, f64::NAN), (1.0, 2.0)])];
        assert_eq!(holding((-6.0, 6.0), &lines), Some((-48.0, 6.0)));
        assert_eq!(holding((-6.0, 6.0), &[]), Some((-6.0, 6.0)));
    }
}
