//! The height of the sled on the bank along each corner, with its pressures numbered.

use crate::chart::{INK, Picture, PictureError, beside, both, centred, checked, on_sheet, refused, short};
use crate::line::{Line, legend};
use plotters::coord::Shift;
use plotters::prelude::*;
use sled_dynamics::motion::descent::Descent;
use track_geometry::track::Track;

/// A place of a ride along a bank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct BankPoint {
    /// Station (m).
    pub(crate) station_m: f64,
    /// Height above the lowest ice of the cross-section (m).
    pub(crate) height_m: f64,
}

/// How high one descent rode in a corner.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct BankRide {
    /// Name of the descent, for the legend: the same in every corner.
    pub(crate) label: String,
    /// The way, in order of station; at least two points.
    pub(crate) points: Vec<BankPoint>,
    /// Where its pressures are, in order; numbered from 1.
    pub(crate) pressures: Vec<BankPoint>,
}

/// One corner of the picture.
#[derive(Clone, Debug, PartialEq)]
pub struct BankCorner {
    /// Name of the corner.
    pub name: String,
    /// Its rides, in the same order in every corner.
    pub(crate) rides: Vec<BankRide>,
}

/// The corners of a track as ridden, from the traces of descents. `pressures_m` gives the stations of the
/// pressures of a descent, by its place in `descents`; each is drawn at the sample nearest to it.
pub fn bank_corners(
    track: &Track,
    descents: &[(&str, &Descent)],
    pressures_m: impl Fn(usize) -> Vec<f64>,
) -> Vec<BankCorner> {
    let stations: Vec<Vec<f64>> = (0..descents.len()).map(pressures_m).collect();
    let ride = |i: usize, from_m: f64, to_m: f64| {
        let (label, descent) = descents[i];
        let inside = |s: f64| from_m <= s && s <= to_m;
        let trace = descent.trace.iter().filter(|s| inside(s.station_m));
        let points: Vec<BankPoint> =
            trace.map(|s| BankPoint { station_m: s.station_m, height_m: s.height_m }).collect();
        let nearest = |at: &f64| {
            let far = |p: &BankPoint| (p.station_m - at).abs();
            points.iter().min_by(|a, b| far(a).total_cmp(&far(b))).copied()
        };
        let pressures = stations[i].iter().filter(|s| inside(**s)).filter_map(nearest).collect();
        BankRide { label: label.into(), pressures, points }
    };
    let corner = |c: &track_geometry::track::Corner| BankCorner {
        name: c.name.clone(),
        rides: (0..descents.len())
            .map(|i| ride(i, c.entry_m, c.exit_m))
            .filter(|r| r.points.len() > 1)
            .collect(),
    };
    track.data.corners.iter().map(corner).filter(|c| !c.rides.is_empty()).collect()
}

/// Drawings in a row.
const ACROSS: usize = 4;
/// Height of a row.
const HIGH: u32 = 190;
/// Width of the legend right of the drawings.
const LEGEND: u32 = 140;

/// One small drawing for each corner, all to the same scale of height.
///
/// # Errors
/// No corners, a corner without rides, a ride of fewer than two points, or a value that is not finite.
pub fn height_along_bank(title: &str, corners: &[BankCorner]) -> Result<Picture, PictureError> {
    let name = "height";
    let thin = |c: &BankCorner| c.rides.is_empty() || c.rides.iter().any(|r| r.points.len() < 2);
    if corners.is_empty() || corners.iter().any(thin) {
        return Err(PictureError::Empty { picture: name.into() });
    }
    for corner in corners {
        for ride in &corner.rides {
            for (column, points) in [("points", &ride.points), ("pressures", &ride.pressures)] {
                let place = format!("{column} of {}, corner {}", ride.label, corner.name);
                let values: Vec<f64> = points.iter().map(|p| p.station_m).collect();
                checked(name, &place, &values, values.len())?;
                let values: Vec<f64> = points.iter().map(|p| p.height_m).collect();
                checked(name, &place, &values, values.len())?;
            }
        }
    }
    let rows = corners.len().div_ceil(ACROSS);
    both(name, (1100, 48 + HIGH * rows as u32), |sheet| {
        on_sheet!(sheet, |area, scale| draw(area, scale, title, corners, rows))
    })
}

/// Names of the rides in order of their first corner.
fn names(corners: &[BankCorner]) -> Vec<&str> {
    let mut names: Vec<&str> = Vec::new();
    for ride in corners.iter().flat_map(|c| &c.rides) {
        if !names.contains(&ride.label.as_str()) {
            names.push(&ride.label);
        }
    }
    names
}

fn draw<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    title: &str,
    corners: &[BankCorner],
    rows: usize,
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: u32| v * scale;
    let font = |size: u32| ("sans-serif", s(size)).into_font();
    let (head, rest) = area.split_vertically(s(40));
    head.draw(&Text::new(title.to_string(), (s(14) as i32, s(10) as i32), font(16))).map_err(refused)?;
    let (rest, side) = rest.split_horizontally(rest.dim_in_pixel().0 - s(LEGEND));
    let names = names(corners);
    let samples: Vec<Line<'_>> = names.iter().enumerate().map(|(i, n)| Line::nth(i, n, vec![])).collect();
    legend(&side, scale, (s(8) as i32, s(14) as i32), &samples)?;
    if corners.iter().any(|c| c.rides.iter().any(|r| !r.pressures.is_empty())) {
        let (x, y) = (s(20) as i32, s(20 + 14 * names.len() as u32) as i32);
        side.draw(&Circle::new((x, y), s(4), BLACK.filled())).map_err(refused)?;
        side.draw(&beside("pressures", (s(37) as i32, y), s(10))).map_err(refused)?;
    }
    let heights = corners.iter().flat_map(|c| &c.rides).flat_map(|r| &r.points).map(|p| p.height_m);
    let (low, high) = heights.fold((0.0_f64, 0.1_f64), |(l, h), v| (l.min(v), h.max(v)));
    // room for the numbers of the pressures
    let (low, high) = (low - 0.04 * (high - low), high + 0.22 * (high - low));
    for ((n, corner), cell) in corners.iter().enumerate().zip(rest.split_evenly((rows, ACROSS))) {
        let stations = corner.rides.iter().flat_map(|r| &r.points).map(|p| p.station_m);
        let (from, to) = stations.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        let to = to.max(from + 1.0);
        let mut chart = ChartBuilder::on(&cell)
            .margin_left(s(10))
            .margin_right(s(14))
            .margin_top(s(20))
            .margin_bottom(s(8))
            .set_label_area_size(LabelAreaPosition::Left, s(46))
            .set_label_area_size(LabelAreaPosition::Bottom, s(38))
            .build_cartesian_2d(from..to, low..high)
            .map_err(refused)?;
        chart
            .configure_mesh()
            .disable_x_mesh()
            .light_line_style(WHITE.mix(0.0))
            .bold_line_style(BLACK.mix(0.15).stroke_width(scale))
            .axis_style(BLACK.stroke_width(scale))
            .label_style(font(10))
            .axis_desc_style(font(11))
            .x_labels(4)
            .y_labels(5)
            .x_label_formatter(&|v| format!("{v:.0}"))
            .y_label_formatter(&|v| short(*v))
            .x_desc("station (m)")
            .y_desc(if n % ACROSS == 0 { "height (m)" } else { "" })
            .draw()
            .map_err(refused)?;
        let middle = (cell.dim_in_pixel().0 / 2) as i32;
        cell.draw(&centred(&format!("corner {}", corner.name), (middle, s(4) as i32), s(12)))
            .map_err(refused)?;
        let corner_of_cell = cell.get_base_pixel();
        for ride in &corner.rides {
            let i = names.iter().position(|l| *l == ride.label).unwrap_or(0);
            let points = ride.points.iter().map(|p| (p.station_m, p.height_m)).collect();
            Line::nth(i, "", points).draw(&mut chart, scale)?;
            for (number, p) in ride.pressures.iter().enumerate() {
                let (x, y) = chart.backend_coord(&(p.station_m, p.height_m));
                let (x, y) = (x - corner_of_cell.0, y - corner_of_cell.1);
                let ink = INK[i % INK.len()];
                cell.draw(&Circle::new((x, y), s(4), ink.filled())).map_err(refused)?;
                // the first ride has its numbers above, the others below
                let down = if i == 0 { -(s(17) as i32) } else { s(6) as i32 };
                cell.draw(&centred(&(number + 1).to_string(), (x, y + down), s(11))).map_err(refused)?;
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ride(label: &str, shift_m: f64) -> BankRide {
        let at = |i: u32| {
            let x = f64::from(i);
            BankPoint { station_m: 100.0 + x, height_m: shift_m + 1.5 * (0.1 * x).sin().abs() }
        };
        BankRide { label: label.into(), points: (0..60).map(at).collect(), pressures: vec![at(16), at(47)] }
    }

    #[test]
    fn exact_labels_numbers_and_same_bytes_twice() {
        let corner = |name: &str| BankCorner {
            name: name.into(),
            rides: vec![ride("bow 1 mm", 0.0), ride("bow 2 mm", 0.2)],
        };
        let corners = [corner("3"), corner("4"), corner("5"), corner("6"), corner("7")];
        let picture = height_along_bank("invented", &corners).unwrap();
        for words in ["corner 7", "bow 2 mm", "height (m)", "station (m)", "pressures"] {
            assert!(picture.svg.contains(words), "{words}");
        }
        assert!(!picture.svg.contains("NaN"));
        // two rows of 190 and a head of 48, drawn at twice the size
        assert_eq!(picture.png[16..24], [2200_u32.to_be_bytes(), 856_u32.to_be_bytes()].concat());
        assert_eq!(picture, height_along_bank("invented", &corners).unwrap());
    }

    #[test]
    fn exact_faulty_input_is_told() {
        assert!(matches!(height_along_bank("", &[]), Err(PictureError::Empty { .. })));
        let empty = BankCorner { name: "1".into(), rides: vec![] };
        assert!(matches!(height_along_bank("", &[empty]), Err(PictureError::Empty { .. })));
        let mut bad = ride("a", 0.0);
        bad.pressures[1].height_m = f64::NAN;
        let got = height_along_bank("", &[BankCorner { name: "1".into(), rides: vec![bad] }]);
        assert!(matches!(got, Err(PictureError::NotFinite { row: 1, .. })), "{got:?}");
    }
}
