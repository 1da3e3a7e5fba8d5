//! The track from above, coloured by a quantity of the descent.

use crate::chart::{Picture, PictureError, both, on_sheet, range_of, refused};
use plotters::coord::Shift;
use plotters::prelude::*;
use sled_dynamics::descent::Descent;
use track_geometry::track::Track;

/// Dark to light, monotone in grey and safe for the colour-blind.
pub(crate) fn shade(share: f64) -> RGBColor {
    // from the perceptually uniform map of Smith and van der Walt (2015), at five places
    const STOPS: [(f64, f64, f64); 5] = [
        (68.0, 1.0, 84.0),
        (59.0, 82.0, 139.0),
        (33.0, 145.0, 140.0),
        (94.0, 201.0, 98.0),
        (233.0, 211.0, 37.0),
    ];
    let x = share.clamp(0.0, 1.0) * 4.0;
    let i = (x as usize).min(3);
    let t = x - i as f64;
    let (a, b) = (STOPS[i], STOPS[i + 1]);
    let mix = |a: f64, b: f64| (a + t * (b - a)).round() as u8;
    RGBColor(mix(a.0, b.0), mix(a.1, b.1), mix(a.2, b.2))
}

/// Blue below zero, pale grey at zero, orange above: `share` 0 to 1, zero at one half.
fn two_sided(share: f64) -> RGBColor {
    const ENDS: [(f64, f64, f64); 2] = [(0.0, 90.0, 160.0), (213.0, 94.0, 0.0)];
    let x = 2.0 * share.clamp(0.0, 1.0) - 1.0;
    let end = ENDS[usize::from(x > 0.0)];
    let mix = |to: f64| (215.0 + x.abs() * (to - 215.0)).round() as u8;
    RGBColor(mix(end.0), mix(end.1), mix(end.2))
}

/// How values become colours.
#[derive(Clone, Copy, PartialEq)]
enum Scale {
    /// From the least to the greatest.
    OneSided,
    /// Zero in the middle; values above zero are drawn wider, so that the sign shows in grey.
    TwoSided,
}

impl Scale {
    fn colour(self, share: f64) -> RGBColor {
        match self {
            Scale::OneSided => shade(share),
            Scale::TwoSided => two_sided(share),
        }
    }

    fn limits(self, points: &[(f64, f64, f64)]) -> (f64, f64) {
        let (low, high) =
            points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (l.min(p.2), h.max(p.2)));
        let far = low.abs().max(high.abs()).max(1e-12);
        if self == Scale::OneSided { (low, high) } else { (-far, far) }
    }
}

/// The plan of a descent, coloured by speed.
pub fn descent_plan(track: &Track, descent: &Descent) -> Result<Picture, PictureError> {
    let values: Vec<f64> = descent.trace.iter().map(|s| s.speed_m_s * 3.6).collect();
    coloured_plan(track, descent, &values, "speed (km/h)", "plan")
}

/// The plan of a track, coloured by its elevation.
pub fn track_plan(track: &Track) -> Result<Picture, PictureError> {
    let (first, last) = track.surface.range_m();
    let n = ((last - first) / 2.0).ceil().max(2.0) as usize;
    let points: Vec<(f64, f64, f64)> = (0..=n)
        .map(|i| {
            let p = track.surface.reference_line(first + (last - first) * i as f64 / n as f64);
            (p.x, p.y, p.z)
        })
        .collect();
    both("plan", (1000, 700), |sheet| {
        on_sheet!(sheet, |area, scale| draw(area, scale, track, &points, "elevation (m)", Scale::OneSided))
    })
}

/// The plan of a descent, coloured by a value for each sample of its trace.
pub fn coloured_plan(
    track: &Track,
    descent: &Descent,
    values: &[f64],
    label: &str,
    name: &str,
) -> Result<Picture, PictureError> {
    valued_plan(track, descent, values, label, name, Scale::OneSided)
}

/// The plan of a descent, coloured by a value with a sign for each sample of its trace, such as
/// time lost (positive, wide orange) or gained (negative, narrow blue) per metre.
pub fn signed_plan(
    track: &Track,
    descent: &Descent,
    values: &[f64],
    label: &str,
    name: &str,
) -> Result<Picture, PictureError> {
    valued_plan(track, descent, values, label, name, Scale::TwoSided)
}

fn valued_plan(
    track: &Track,
    descent: &Descent,
    values: &[f64],
    label: &str,
    name: &str,
    colours: Scale,
) -> Result<Picture, PictureError> {
    let (expected, got) = (descent.trace.len(), values.len());
    if expected < 2 {
        return Err(PictureError::Empty { picture: name.into() });
    }
    if got != expected {
        return Err(PictureError::Uneven { picture: name.into(), column: label.into(), expected, got });
    }
    if let Some(row) = values.iter().position(|v| !v.is_finite()) {
        return Err(PictureError::NotFinite { picture: name.into(), column: label.into(), row });
    }
    let points: Vec<(f64, f64, f64)> = descent
        .trace
        .iter()
        .zip(values)
        .enumerate()
        // every fourth sample is fine enough; the last one ends the line
        .filter(|(i, _)| i % 4 == 0 || i + 1 == expected)
        .map(|(_, (s, v))| {
            let p = track.surface.position(s.station_m, s.offset_m);
            (p.x, p.y, *v)
        })
        .collect();
    both(name, (1000, 700), |sheet| {
        on_sheet!(sheet, |area, scale| draw(area, scale, track, &points, label, colours))
    })
}

fn draw<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    track: &Track,
    points: &[(f64, f64, f64)],
    label: &str,
    colours: Scale,
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: i32| v * scale as i32;
    let font = |size: u32| ("sans-serif", size * scale).into_font();
    let (width, height) = area.dim_in_pixel();
    let (xs, ys) = (range_of(points.iter().map(|p| p.0)), range_of(points.iter().map(|p| p.1)));
    let (low, high) = colours.limits(points);
    let (left, top) = (f64::from(s(50)), f64::from(s(60)));
    let (room_x, room_y) = (f64::from(width) - 2.0 * left - f64::from(s(110)), f64::from(height) - 2.0 * top);
    // equal scales on both axes
    let per_m = (room_x / (xs.1 - xs.0)).min(room_y / (ys.1 - ys.0));
    let at = |x: f64, y: f64| {
        (
            (left + (x - xs.0) * per_m).round() as i32,
            (f64::from(height) - top - (y - ys.0) * per_m).round() as i32,
        )
    };
    let title = format!("{}: {label}", track.data.name);
    area.draw(&Text::new(title, (s(14), s(12)), font(16))).map_err(refused)?;
    for w in points.windows(2) {
        let colour = colours.colour((w[0].2 - low) / (high - low).max(1e-12));
        let width = match colours {
            Scale::OneSided => 5,
            Scale::TwoSided if w[0].2 > 0.0 => 7,
            Scale::TwoSided => 3,
        };
        let style = colour.stroke_width(width * scale);
        area.draw(&PathElement::new(vec![at(w[0].0, w[0].1), at(w[1].0, w[1].1)], style)).map_err(refused)?;
    }
    for c in &track.data.corners {
        let middle = 0.5 * (c.entry_m + c.exit_m);
        let frame = track.surface.frame(middle);
        // outside of the corner
        let side = if track.surface.station(middle).turning[0] > 0.0 { -1.0 } else { 1.0 };
        let p = track.surface.reference_line(middle) + frame[1] * (side * 18.0 * f64::from(scale) / per_m);
        let (x, y) = at(p.x, p.y);
        area.draw(&Text::new(c.name.clone(), (x - s(5), y - s(7)), font(13))).map_err(refused)?;
    }
    for e in &track.data.eyes {
        let p = track.surface.reference_line(e.station_m);
        let (x, y) = at(p.x, p.y);
        area.draw(&Circle::new((x, y), s(4), BLACK.stroke_width(scale))).map_err(refused)?;
        let place = (x + s(4), y - s(18));
        area.draw(&Text::new(e.name.clone(), place, font(10))).map_err(refused)?;
    }
    // scale bar and colour bar
    let bar = (100.0 * per_m).round() as i32;
    let (x0, y0) = (s(50), height as i32 - s(24));
    area.draw(&PathElement::new(vec![(x0, y0), (x0 + bar, y0)], BLACK.stroke_width(2 * scale)))
        .map_err(refused)?;
    area.draw(&Text::new("100 m", (x0 + bar + s(6), y0 - s(6)), font(11))).map_err(refused)?;
    let (bx, by, bh) = (width as i32 - s(110), s(70), height as i32 - s(160));
    let steps = 60;
    for i in 0..steps {
        let (a, b) = (by + bh * (steps - 1 - i) / steps, by + bh * (steps - i) / steps);
        let colour = colours.colour(f64::from(i) / f64::from(steps - 1));
        area.draw(&Rectangle::new([(bx, a), (bx + s(18), b)], colour.filled())).map_err(refused)?;
    }
    for i in 0..=4 {
        let v = low + (high - low) * f64::from(i) / 4.0;
        let digits = if high - low < 10.0 { 2 } else { 0 };
        let y = by + bh * (4 - i) / 4;
        area.draw(&Text::new(format!("{v:.digits$}"), (bx + s(24), y - s(6)), font(11))).map_err(refused)?;
    }
    area.draw(&Text::new(label.to_string(), (bx - s(10), by - s(22)), font(11))).map_err(refused)
}
