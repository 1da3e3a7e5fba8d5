//! The track from above, coloured by a quantity of the descent.

use crate::chart::{GREY, Picture, PictureError, both, centred, checked, on_sheet, range_of, refused};
use plotters::coord::Shift;
use plotters::prelude::*;
use sled_dynamics::motion::descent::Descent;
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
pub(crate) fn two_sided(share: f64) -> RGBColor {
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
    let points = reference_line(track);
    both("plan", Layout::of(&points).sheet(), |sheet| {
        on_sheet!(sheet, |area, scale| draw(area, scale, track, &points, "elevation (m)", Scale::OneSided))
    })
}

/// The reference line every two metres: x, y and elevation.
fn reference_line(track: &Track) -> Vec<(f64, f64, f64)> {
    let (first, last) = track.surface.range_m();
    let n = ((last - first) / 2.0).ceil().max(2.0) as usize;
    let at = |i: usize| track.surface.reference_line(first + (last - first) * i as f64 / n as f64);
    (0..=n).map(at).map(|p| (p.x, p.y, p.z)).collect()
}

/// The plan of a descent, coloured by a value for each sample of its trace.
pub(crate) fn coloured_plan(
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
    let expected = descent.trace.len();
    if expected < 2 {
        return Err(PictureError::Empty { picture: name.into() });
    }
    checked(name, label, values, expected)?;
    if let Some(row) = descent.trace.iter().position(|s| !(s.station_m + s.offset_m).is_finite()) {
        return Err(PictureError::NotFinite {
            picture: name.into(),
            column: "station and offset".into(),
            row,
        });
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
    both(name, Layout::of(&reference_line(track)).sheet(), |sheet| {
        on_sheet!(sheet, |area, scale| draw(area, scale, track, &points, label, colours))
    })
}

/// How the plan lies on its sheet: equal scales on both axes, the sheet as large as the track asks for.
struct Layout {
    left_m: f64,
    low_m: f64,
    wide_m: f64,
    high_m: f64,
    /// Pixels of the sheet for a metre.
    per_m: f64,
}

/// Room left, above, right and below the plan.
const ROOM: [f64; 4] = [60.0, 60.0, 190.0, 60.0];

impl Layout {
    fn of(points: &[(f64, f64, f64)]) -> Layout {
        let (xs, ys) = (range_of(points.iter().map(|p| p.0)), range_of(points.iter().map(|p| p.1)));
        let (wide_m, high_m) = (xs.1 - xs.0, ys.1 - ys.0);
        let per_m = (900.0 / wide_m).min(640.0 / high_m);
        Layout { left_m: xs.0, low_m: ys.0, wide_m, high_m, per_m }
    }

    fn sheet(&self) -> (u32, u32) {
        let wide = self.wide_m * self.per_m + ROOM[0] + ROOM[2];
        let high = self.high_m * self.per_m + ROOM[1] + ROOM[3];
        (wide.max(500.0) as u32, high.max(400.0) as u32)
    }

    fn place(&self, x: f64, y: f64, scale: u32) -> (i32, i32) {
        let right = ROOM[0] + (x - self.left_m) * self.per_m;
        let down = ROOM[1] + (self.low_m + self.high_m - y) * self.per_m;
        let whole = |v: f64| (v * f64::from(scale)).round() as i32;
        (whole(right), whole(down))
    }
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
    let (low, high) = colours.limits(points);
    // the whole track lies below, so that a descent that ended early shows where
    let whole = reference_line(track);
    let layout = Layout::of(&whole);
    let per_m = layout.per_m;
    let at = |x: f64, y: f64| layout.place(x, y, scale);
    let title = format!("{}: {label}", track.data.name);
    area.draw(&Text::new(title, (s(14), s(12)), font(16))).map_err(refused)?;
    let line: Vec<_> = whole.iter().map(|p| at(p.0, p.1)).collect();
    area.draw(&PathElement::new(line, GREY.stroke_width(scale))).map_err(refused)?;
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
    // a place so many pixels of the sheet beside the line, left positive
    let beside = |station: f64, aside: f64| {
        let p = track.surface.reference_line(station) + track.surface.frame(station)[1] * (aside / per_m);
        at(p.x, p.y)
    };
    // names stand on the outside of a corner
    let outside = |station: f64| if track.surface.station(station).turning[0] > 0.0 { -1.0 } else { 1.0 };
    for c in &track.data.corners {
        let middle = 0.5 * (c.entry_m + c.exit_m);
        let (x, y) = beside(middle, outside(middle) * (14.0 + 4.0 * c.name.chars().count() as f64));
        area.draw(&centred(&c.name, (x, y - s(7)), 13 * scale)).map_err(refused)?;
    }
    for (i, e) in track.data.eyes.iter().enumerate() {
        area.draw(&Circle::new(beside(e.station_m, 0.0), s(4), BLACK.stroke_width(scale)))
            .map_err(refused)?;
        // beside the line, far enough for the width of the name where the line is steep on paper
        let across = track.surface.frame(e.station_m)[1];
        let half = 3.0 * e.name.chars().count() as f64;
        // in a corner on its inside, away from the name of the corner
        let corner = track.corner_at(e.station_m).and_then(|c| track.data.corners.get(c));
        let side = match corner {
            Some(c) => -outside(0.5 * (c.entry_m + c.exit_m)),
            None if i % 2 == 0 => 1.0,
            None => -1.0,
        };
        let (x, y) = beside(e.station_m, side * (13.0 + half * across.x.abs()));
        area.draw(&centred(&e.name, (x, y - s(5)), 10 * scale)).map_err(refused)?;
    }
    // scale bar and colour bar
    let bar = (100.0 * per_m * f64::from(scale)).round() as i32;
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
