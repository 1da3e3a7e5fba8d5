//! A track along its way: elevation, grade, curvature, banking and edges over the station.

use crate::chart::{Picture, PictureError, both, on_sheet};
use crate::line::Line;
use crate::stacked::{Panel, Way, finite, height_of, stacked};
use track_geometry::track::Track;

pub use crate::track_sections::track_sections;

/// The profile of a track: elevation, grade, curvature, banking over the station.
pub fn track_profile(track: &Track) -> Result<Picture, PictureError> {
    let (first, last) = track.surface.range_m();
    let n = (last - first).ceil() as usize;
    if n == 0 {
        return Err(PictureError::Empty { picture: "profile".into() });
    }
    let along = |of: &dyn Fn(f64) -> f64| -> Vec<(f64, f64)> {
        (0..=n)
            .map(|i| {
                let s = first + (last - first) * i as f64 / n as f64;
                (s, of(s))
            })
            .collect()
    };
    let at = |s: f64| track.surface.station(s);
    let one = |of: &dyn Fn(f64) -> f64| vec![Line::nth(0, "", along(of))];
    let edges = vec![
        Line::nth(1, "left edge", along(&|s| at(s).left_edge[0])),
        Line::nth(2, "right edge", along(&|s| at(s).right_edge[0])),
    ];
    let panels = [
        Panel { label: "elevation (m)", lines: one(&|s| at(s).elevation_m), range: None },
        Panel { label: "grade (%)", lines: one(&|s| 100.0 * at(s).sin_grade), range: None },
        Panel { label: "curvature (1/m)", lines: one(&|s| at(s).turning[0]), range: None },
        Panel { label: "banking (deg)", lines: one(&|s| -at(s).slope[0].to_degrees()), range: None },
        Panel { label: "edges (m)", lines: edges, range: None },
    ];
    finite("profile", &panels)?;
    let title = format!("{}: profile (left-hand turns positive)", track.data.name);
    let way = Way::of(track, (first, last));
    both("profile", (1100, height_of(panels.len(), 132)), |sheet| {
        on_sheet!(sheet, |area, scale| stacked(area, scale, &title, &way, &panels))
    })
}
