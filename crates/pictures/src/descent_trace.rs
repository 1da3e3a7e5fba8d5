//! What happens along a descent: speed, load, offset, height, slip, steering and contact over the station.

use crate::chart::{INK, Line, Panel, Picture, PictureError, both, on_sheet, stacked};
use sled_dynamics::descent::{Descent, Sample};
use track_geometry::track::Track;

/// A quantity over the station.
fn along(trace: &[Sample], of: impl Fn(&Sample) -> f64) -> Vec<(f64, f64)> {
    trace.iter().map(|s| (s.station_m, of(s))).collect()
}

/// Corners as name, entry and exit (m).
pub(crate) fn corners(track: &Track) -> Vec<(String, f64, f64)> {
    track.data.corners.iter().map(|c| (c.name.clone(), c.entry_m, c.exit_m)).collect()
}

/// The usual range, wider where the lines leave it: nothing is drawn outside its panel.
fn holding(usual: (f64, f64), lines: &[Line<'_>]) -> Option<(f64, f64)> {
    let values = lines.iter().flat_map(|l| l.points.iter().map(|p| p.1)).filter(|v| v.is_finite());
    Some(values.fold(usual, |(low, high), v| (low.min(v), high.max(v))))
}

/// Panels of one or more descents over the station.
pub fn descent_trace(track: &Track, descents: &[(&str, &Descent)]) -> Result<Picture, PictureError> {
    let drawn: Vec<_> = descents.iter().filter(|d| !d.1.trace.is_empty()).collect();
    let Some(first) = drawn.first() else {
        return Err(PictureError::Empty { picture: "descent".into() });
    };
    let several = drawn.len() > 1;
    let lines = |of: &dyn Fn(&Sample) -> f64| -> Vec<Line<'_>> {
        drawn
            .iter()
            .enumerate()
            .map(|(i, (label, d))| Line {
                label: if several { label } else { "" },
                points: along(&d.trace, of),
                colour: INK[i % INK.len()],
                width: if i == 0 { 2 } else { 1 },
            })
            .collect()
    };
    let ends = (first.1.trace[0].station_m, first.1.trace[first.1.trace.len() - 1].station_m);
    let mut offset = lines(&|s| s.offset_m);
    let edge = |left: bool| -> Vec<(f64, f64)> {
        first
            .1
            .trace
            .iter()
            .map(|s| {
                let at = track.surface.station(s.station_m);
                (s.station_m, if left { at.left_edge[0] } else { at.right_edge[0] })
            })
            .collect()
    };
    for left in [true, false] {
        let colour = INK[2];
        offset.push(Line {
            label: if left { "edges of the ice" } else { "" },
            points: edge(left),
            colour,
            width: 1,
        });
    }
    let mut panels = vec![
        Panel { label: "speed (km/h)", lines: lines(&|s| s.speed_m_s * 3.6), range: None },
        Panel { label: "load (g)", lines: lines(&|s| s.g_load), range: None },
        Panel { label: "offset, left + (m)", lines: offset, range: None },
        Panel { label: "height (m)", lines: lines(&|s| s.height_m), range: None },
    ];
    if drawn.iter().any(|d| d.1.trace.iter().any(|s| s.contact.touch_span_m[0] > 0.0)) {
        let slip = lines(&|s| s.slip_rad.to_degrees());
        let range = holding((-6.0, 6.0), &slip);
        panels.push(Panel { label: "slip (deg)", lines: slip, range });
        panels.push(Panel {
            label: "steer, right +",
            lines: lines(&|s| s.steer),
            range: Some((-1.05, 1.05)),
        });
        let pair = |of: &dyn Fn(&Sample, usize) -> f64| -> Vec<Line<'_>> {
            [("left runner", 0), ("right runner", 1)]
                .into_iter()
                .map(|(label, j)| Line {
                    label,
                    points: along(&first.1.trace, |s| of(s, j)),
                    colour: INK[j],
                    width: 2 - j as u32,
                })
                .collect()
        };
        let span = pair(&|s, j| s.contact.touch_span_m[j]);
        let range = holding((0.0, 0.85), &span);
        panels.push(Panel { label: "touch span (m)", lines: span, range });
        let mut outside = pair(&|s, j| s.contact.outside_screws[j]);
        let half = vec![(ends.0, 0.5), (ends.1, 0.5)];
        outside.push(Line { label: "bridging above", points: half, colour: INK[2], width: 1 });
        panels.push(Panel { label: "share outside screws", lines: outside, range: Some((0.0, 1.05)) });
    }
    let title =
        format!("{} on {}", drawn.iter().map(|d| d.0).collect::<Vec<_>>().join(", "), track.data.name);
    let size = (1100, 40 + 135 * panels.len() as u32);
    both("descent", size, |sheet| {
        on_sheet!(sheet, |area, scale| stacked(area, scale, &title, ends, &corners(track), &panels))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::descent_plan::{descent_plan, signed_plan};
    use sled_dynamics::equations::Constants;
    use sled_dynamics::guided::guided;
    use sled_dynamics::launch::Launch;
    use sled_dynamics::precision::{Detail, Precision};

    fn track() -> Track {
        let (toml, csv) = (
            include_str!("../../../tracks/quillmere/track.toml"),
            include_str!("../../../tracks/quillmere/stations.csv"),
        );
        Track::new(track_geometry::track_file::read_track("t", toml, "s", csv).unwrap().track).unwrap()
    }

    fn ridden(track: &Track, detail: Detail) -> Descent {
        let c = Constants {
            mass_kg: 118.0,
            yaw_inertia_kg_m2: 16.0,
            gravity_m_s2: 9.81,
            drag_kg_per_m: 0.036,
            wall_friction: 0.05,
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
    fn exact_range_holds_every_value() {
        let line = |points| Line { label: "", points, colour: INK[0], width: 1 };
        let lines = [line(vec![(0.0, 1.0), (1.0, -48.0)]), line(vec![(0.0, f64::NAN), (1.0, 2.0)])];
        assert_eq!(holding((-6.0, 6.0), &lines), Some((-48.0, 6.0)));
        assert_eq!(holding((-6.0, 6.0), &[]), Some((-6.0, 6.0)));
    }
}
