//! A track on paper: plan, height profile, curvature and banking, cross-sections.

use crate::chart::{INK, Picture, PictureError, both, on_sheet, range_of, refused};
use crate::stacked::{Line, Panel, Way, finite, height_of, stacked};
use plotters::coord::Shift;
use plotters::prelude::*;
use track_geometry::track::Track;

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

/// Cross-sections in the middle of each corner, and on the first straight, to one scale.
pub fn track_sections(track: &Track) -> Result<Picture, PictureError> {
    let (first, last) = track.surface.range_m();
    let mut places = vec![("start".to_string(), first + 0.02 * (last - first))];
    places.extend(
        track.data.corners.iter().map(|c| (format!("corner {}", c.name), 0.5 * (c.entry_m + c.exit_m))),
    );
    let rows = places.len().div_ceil(5);
    both("sections", (1100, 40 + 190 * rows as u32), |sheet| {
        on_sheet!(sheet, |area, scale| sections(area, scale, track, &places, rows))
    })
}

fn sections<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    track: &Track,
    places: &[(String, f64)],
    rows: usize,
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: i32| v * scale as i32;
    let font = |size: u32| ("sans-serif", size * scale).into_font();
    let (head, rest) = area.split_vertically(36 * scale);
    let title = format!(
        "{}: cross-sections seen from behind, one scale; dot: reference line; large dot: wall, small dot: lip",
        track.data.name
    );
    head.draw(&Text::new(title, (s(14), s(10)), font(14))).map_err(refused)?;
    for ((name, station), cell) in places.iter().zip(rest.split_evenly((rows, 5))) {
        let at = track.surface.station(*station);
        let (right, left) = (at.right_edge[0].max(-4.0), at.left_edge[0].min(4.0));
        let point = |u: f64| {
            let p = at.patch::<f64>(u);
            (p.offset.n, p.offset.b)
        };
        let points: Vec<(f64, f64)> =
            (0..=60).map(|i| point(right + (left - right) * f64::from(i) / 60.0)).collect();
        let (xs, ys) = (range_of(points.iter().map(|p| p.0)), range_of(points.iter().map(|p| p.1)));
        let (w, h) = cell.dim_in_pixel();
        let per_m = f64::from(34 * scale);
        // left of the track is left on paper when looking downhill
        let place = |p: (f64, f64)| {
            (
                (f64::from(w) / 2.0 - (p.0 - 0.5 * (xs.0 + xs.1)) * per_m) as i32,
                (f64::from(h) / 2.0 - (p.1 - 0.5 * (ys.0 + ys.1)) * per_m) as i32 + s(8),
            )
        };
        let line: Vec<_> = points.iter().map(|p| place(*p)).collect();
        cell.draw(&PathElement::new(line, BLACK.stroke_width(2 * scale))).map_err(refused)?;
        for (u, side) in
            [(right, sled_dynamics::walls::Side::Right), (left, sled_dynamics::walls::Side::Left)]
        {
            let size = if sled_dynamics::walls::is_lip(&at, side) { 2 } else { 5 };
            cell.draw(&Circle::new(place(point(u)), s(size), INK[1].filled())).map_err(refused)?;
        }
        cell.draw(&Circle::new(place((0.0, 0.0)), s(3), INK[2].filled())).map_err(refused)?;
        let label = format!("{name}, {station:.0} m");
        cell.draw(&Text::new(label, (s(10), s(4)), font(11))).map_err(refused)?;
        let bar = per_m as i32;
        let y = h as i32 - s(8);
        cell.draw(&PathElement::new(vec![(s(10), y), (s(10) + bar, y)], BLACK.stroke_width(scale)))
            .map_err(refused)?;
        cell.draw(&Text::new("1 m", (s(14) + bar, y - s(6)), font(10))).map_err(refused)?;
    }
    Ok(())
}
