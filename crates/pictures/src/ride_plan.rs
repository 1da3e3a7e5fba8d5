//! A planned ride: the line between the edges, the height on the bank and the steering over the station.

use crate::chart::{Picture, PictureError, both, checked, on_sheet};
use crate::line::Line;
use crate::stacked::{Panel, Way, finite, height_of, stacked};
use sled_dynamics::riding::planned_ride::Plan;
use track_geometry::station::Station;
use track_geometry::track::Track;

/// The plan over the station, corners named. `pressed` is the steering above which a shoulder and a knee press.
///
/// # Errors
/// A plan of fewer than two nodes, stations and states of different number, or a value that is not finite.
pub fn ride_plan(track: &Track, plan: &Plan, title: &str, pressed: f64) -> Result<Picture, PictureError> {
    let name = "ride-plan";
    if plan.station_m.len() < 2 {
        return Err(PictureError::Empty { picture: name.into() });
    }
    checked(name, "station", &plan.station_m, plan.states.len())?;
    let ends = (plan.station_m[0], plan.station_m[plan.station_m.len() - 1]);
    if !(ends.1 > ends.0) {
        return Err(PictureError::Empty { picture: name.into() });
    }
    let stations: Vec<Station> = plan.station_m.iter().map(|s| track.surface.station(*s)).collect();
    let along = |of: &dyn Fn(usize) -> f64| -> Vec<(f64, f64)> {
        plan.station_m.iter().enumerate().map(|(i, s)| (*s, of(i))).collect()
    };
    let level = |v: f64| vec![(ends.0, v), (ends.1, v)];
    let height = |i: usize| stations[i].height_m(plan.states[i][0]);
    let panels = vec![
        Panel {
            label: "offset, left + (m)",
            lines: vec![
                Line::nth(0, "planned line", along(&|i| plan.states[i][0])),
                Line::limit("edges of the ice", along(&|i| stations[i].left_edge[0])),
                Line::limit("", along(&|i| stations[i].right_edge[0])),
            ],
            range: None,
        },
        Panel {
            label: "height on the bank (m)",
            lines: vec![Line::nth(0, "planned line", along(&height))],
            range: None,
        },
        Panel {
            label: "steer, right + (-)",
            lines: vec![
                Line::nth(0, "steering", along(&|i| plan.states[i][5])),
                Line::limit("pressed beyond", level(pressed)),
                Line::limit("", level(-pressed)),
            ],
            range: Some((-1.05, 1.05)),
        },
    ];
    finite(name, &panels)?;
    let way = Way::of(track, ends);
    both(name, (1100, height_of(panels.len(), 190)), |sheet| {
        on_sheet!(sheet, |area, scale| stacked(area, scale, title, &way, &panels))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shipped::quillmere as track;

    fn plan(nodes: u32) -> Plan {
        let station_m: Vec<f64> = (0..nodes).map(|i| 20.0 + 2.0 * f64::from(i)).collect();
        let states = station_m.iter().map(|s| [0.3, 0.0, 20.0, 0.0, 0.0, (0.02 * s).sin(), 0.0]).collect();
        Plan { station_m, states, controls: vec![], gains: vec![] }
    }

    #[test]
    fn exact_picture_names_what_it_shows_and_is_the_same_twice() {
        let (track, plan) = (track(), plan(500));
        let a = ride_plan(&track, &plan, "a ride", 0.1).unwrap();
        assert_eq!(a, ride_plan(&track, &plan, "a ride", 0.1).unwrap());
        for word in ["a ride", "planned line", "edges of the ice", "steering", "station (m)", "eye 6"] {
            assert!(a.svg.contains(word), "{word}");
        }
        assert!(!a.svg.contains("NaN"));
    }

    #[test]
    fn exact_nothing_to_draw_and_bad_values_are_told() {
        let track = track();
        let draw = |p: &Plan| ride_plan(&track, p, "a ride", 0.1);
        assert!(matches!(draw(&plan(1)), Err(PictureError::Empty { .. })));
        let mut uneven = plan(9);
        uneven.states.pop();
        assert!(matches!(draw(&uneven), Err(PictureError::Uneven { .. })));
        let mut bad = plan(9);
        bad.states[4][5] = f64::NAN;
        assert!(matches!(draw(&bad), Err(PictureError::NotFinite { row: 4, .. })));
    }
}
