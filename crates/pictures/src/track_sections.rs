//! Cross-sections of a track to one scale: reference line, walls and lips marked.

use crate::chart::{GREY, INK, Picture, PictureError, both, on_sheet, refused};
use plotters::coord::Shift;
use plotters::prelude::*;
use sled_dynamics::laws::walls::{Side, is_lip};
use track_geometry::station::Station;
use track_geometry::track::Track;

/// One drawing: a cross-section, and if need be another one behind it on the same reference line.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct SectionPlace {
    /// What it is.
    pub(crate) label: String,
    /// Station of the cross-section (m).
    pub(crate) station_m: f64,
    /// Station of a second one, drawn thin (m).
    pub(crate) behind_m: Option<f64>,
}

/// Shortest straight that gets a drawing of its own (m).
const LEAST_STRAIGHT_M: f64 = 12.0;
/// Cross-sections that differ by less than this in slope (rad), curvature (1/m) and edges (m) look the same.
const SAME: f64 = 0.01;
/// Drawings in a row.
const ACROSS: usize = 6;
/// Pixels of the sheet for a metre.
const PER_M: f64 = 30.0;

/// Cross-sections in the middle of each straight and each corner; behind that of a corner, thin, the one a
/// quarter of the corner after its entry, on the same reference line.
pub fn track_sections(track: &Track) -> Result<Picture, PictureError> {
    track_sections_at(track, &usual_places(track))
}

/// Straights and corners of a track in order of station; of straights with the same cross-section the first.
pub(crate) fn usual_places(track: &Track) -> Vec<SectionPlace> {
    let (mut from, last) = track.surface.range_m();
    let mut places = Vec::new();
    let mut known: Vec<[f64; 4]> = Vec::new();
    let mut straight = |from: f64, to: f64| {
        let station_m = 0.5 * (from + to);
        let at = track.surface.station(station_m);
        let shape = [at.slope[0], at.trough[0], at.left_edge[0], at.right_edge[0]];
        let same = |other: &[f64; 4]| other.iter().zip(shape).all(|(a, b)| (a - b).abs() < SAME);
        if to - from < LEAST_STRAIGHT_M || known.iter().any(same) {
            return None;
        }
        known.push(shape);
        Some(SectionPlace { label: "straight".into(), station_m, behind_m: None })
    };
    for c in &track.data.corners {
        places.extend(straight(from, c.entry_m));
        places.push(SectionPlace {
            label: format!("corner {}", c.name),
            station_m: 0.5 * (c.entry_m + c.exit_m),
            behind_m: Some(0.75 * c.entry_m + 0.25 * c.exit_m),
        });
        from = c.exit_m;
    }
    places.extend(straight(from, last));
    places
}

/// Cross-sections at chosen places.
///
/// # Errors
/// No places, or a station that is not a finite number; stations outside the track are moved to its ends.
pub(crate) fn track_sections_at(track: &Track, places: &[SectionPlace]) -> Result<Picture, PictureError> {
    let picture = || "sections".to_string();
    if places.is_empty() {
        return Err(PictureError::Empty { picture: picture() });
    }
    let finite = |p: &SectionPlace| p.station_m.is_finite() && p.behind_m.is_none_or(f64::is_finite);
    if let Some(row) = places.iter().position(|p| !finite(p)) {
        return Err(PictureError::NotFinite { picture: picture(), column: "station_m".into(), row });
    }
    let (first, last) = track.surface.range_m();
    let curves = |station_m: f64| Curve::of(&track.surface.station(station_m.clamp(first, last)));
    let cells: Vec<Cell> = places
        .iter()
        .map(|p| Cell {
            label: format!("{}, {:.0} m", p.label, p.station_m.clamp(first, last)),
            front: curves(p.station_m),
            behind: p.behind_m.map(curves),
        })
        .collect();
    let rows = cells.len().div_ceil(ACROSS);
    let height = cells.iter().map(|c| c.box_m()).map(|b| b[3] - b[2]).fold(1.0, f64::max);
    let each = (height * PER_M) as u32 + 46;
    let title = format!(
        "{}: cross-sections seen looking downhill, one scale. Square: wall, ring: lip, dot: reference line; \
         thin: a quarter into the corner",
        track.data.name
    );
    both("sections", (1100, 44 + each * rows as u32), |sheet| {
        on_sheet!(sheet, |area, scale| draw(area, scale, &title, &cells, rows))
    })
}

/// A cross-section as drawn: level and upright distance from the reference line (m), left to the left.
struct Curve {
    points: Vec<(f64, f64)>,
    /// Right and left edge, and whether it is a lip.
    edges: [((f64, f64), bool); 2],
}

impl Curve {
    fn of(at: &Station) -> Curve {
        // ice far out on a table without edges is not worth its paper
        let (right, left) = (at.right_edge[0].max(-6.0), at.left_edge[0].min(6.0));
        let point = |u: f64| {
            let p = at.patch::<f64>(u);
            (-p.offset.n, p.offset.b)
        };
        Curve {
            points: (0..=80).map(|i| point(right + (left - right) * f64::from(i) / 80.0)).collect(),
            edges: [(point(right), is_lip(at, Side::Right)), (point(left), is_lip(at, Side::Left))],
        }
    }
}

struct Cell {
    label: String,
    front: Curve,
    behind: Option<Curve>,
}

impl Cell {
    /// Least and greatest level distance, least and greatest upright distance (m).
    fn box_m(&self) -> [f64; 4] {
        let far = [f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY];
        let points = self.front.points.iter().chain(self.behind.iter().flat_map(|c| &c.points));
        points.fold(far, |b, p| [b[0].min(p.0), b[1].max(p.0), b[2].min(p.1), b[3].max(p.1)])
    }
}

fn draw<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    title: &str,
    cells: &[Cell],
    rows: usize,
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: i32| v * scale as i32;
    let font = |size: u32| ("sans-serif", size * scale).into_font();
    let per_m = PER_M * f64::from(scale);
    let (head, rest) = area.split_vertically(36 * scale);
    head.draw(&Text::new(title.to_string(), (s(14), s(10)), font(13))).map_err(refused)?;
    let (rest, _) = rest.split_vertically(rest.dim_in_pixel().1 - 8 * scale);
    for (cell, paper) in cells.iter().zip(rest.split_evenly((rows, ACROSS))) {
        let (wide, high) = paper.dim_in_pixel();
        let [west, east, low, _] = cell.box_m();
        let place = |p: (f64, f64)| {
            let right = 0.5 * f64::from(wide) + (p.0 - 0.5 * (west + east)) * per_m;
            let down = f64::from(high) - f64::from(s(14)) - (p.1 - low) * per_m;
            (right.round() as i32, down.round() as i32)
        };
        if let Some(curve) = &cell.behind {
            let line: Vec<_> = curve.points.iter().map(|p| place(*p)).collect();
            paper.draw(&PathElement::new(line, GREY.stroke_width(scale))).map_err(refused)?;
        }
        let line: Vec<_> = cell.front.points.iter().map(|p| place(*p)).collect();
        paper.draw(&PathElement::new(line, BLACK.stroke_width(2 * scale))).map_err(refused)?;
        for (p, lip) in cell.front.edges {
            let ((x, y), r) = (place(p), s(4));
            if lip {
                paper.draw(&Circle::new((x, y), r, INK[1].stroke_width(2 * scale))).map_err(refused)?;
            } else {
                let square = [(x - r, y - r), (x + r, y + r)];
                paper.draw(&Rectangle::new(square, INK[1].filled())).map_err(refused)?;
            }
        }
        paper.draw(&Circle::new(place((0.0, 0.0)), s(3), INK[2].filled())).map_err(refused)?;
        paper.draw(&Text::new(cell.label.clone(), (s(14), s(2)), font(11))).map_err(refused)?;
    }
    let (x, y) = (s(940), s(12));
    let bar = vec![(x, y + s(6)), (x + per_m as i32, y + s(6))];
    head.draw(&PathElement::new(bar, BLACK.stroke_width(2 * scale))).map_err(refused)?;
    head.draw(&Text::new("1 m", (x + per_m as i32 + s(6), y), font(11))).map_err(refused)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shipped::oskerdale as track;
    use crate::track_drawing::track_profile;

    #[test]
    fn exact_every_corner_has_its_section_once_and_same_bytes_twice() {
        let track = track();
        let picture = track_sections(&track).unwrap();
        for c in &track.data.corners {
            let label = format!("corner {}, {:.0} m", c.name, 0.5 * (c.entry_m + c.exit_m));
            assert_eq!(picture.svg.matches(&label).count(), 1, "{label}");
        }
        assert!(picture.svg.contains("straight") && !picture.svg.contains("NaN"));
        assert_eq!(picture, track_sections(&track).unwrap());
    }

    #[test]
    fn exact_profile_names_quantities_with_units_and_every_eye() {
        let track = track();
        let picture = track_profile(&track).unwrap();
        for words in ["elevation (m)", "curvature (1/m)", "banking (deg)", "station (m)"] {
            assert!(picture.svg.contains(words), "{words}");
        }
        for e in &track.data.eyes {
            assert!(picture.svg.contains(&e.name), "{}", e.name);
        }
        assert!(!picture.svg.contains("NaN"));
        // shown at 1100, drawn at twice that
        assert!(picture.svg.starts_with("<svg width=\"1100\""));
        assert_eq!(picture.png[16..20], 2200_u32.to_be_bytes());
    }

    #[test]
    fn exact_places_that_cannot_be_drawn_are_told() {
        let track = track();
        assert!(matches!(track_sections_at(&track, &[]), Err(PictureError::Empty { .. })));
        let mut place = SectionPlace { label: "here".into(), station_m: f64::NAN, behind_m: None };
        let got = track_sections_at(&track, std::slice::from_ref(&place));
        assert!(matches!(got, Err(PictureError::NotFinite { row: 0, .. })), "{got:?}");
        place.station_m = 1e9;
        let last = format!("here, {:.0} m", track.surface.range_m().1);
        assert!(track_sections_at(&track, &[place]).unwrap().svg.contains(&last));
    }
}
