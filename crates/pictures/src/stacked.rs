//! Panels below each other over the station: corners shaded and named, eyes marked, legends beside the data.

use crate::chart::{PictureError, SHADE, centred, range_of, refused, rows_for, short};
use crate::line::{Line, legend};
use plotters::coord::Shift;
use plotters::prelude::*;
use track_geometry::track::Track;

/// Room left of the panels, with the label of the axis.
const LEFT: u32 = 86;
/// Width of the legend right of the panels.
const LEGEND: u32 = 140;

/// The way that all panels lie over.
pub(crate) struct Way {
    /// First and last station (m).
    pub(crate) ends: (f64, f64),
    /// Corners as name, entry and exit (m).
    pub(crate) corners: Vec<(String, f64, f64)>,
    /// Eyes as name and station (m).
    pub(crate) eyes: Vec<(String, f64)>,
}

impl Way {
    /// What of a track lies between two stations (m).
    pub(crate) fn of(track: &Track, ends: (f64, f64)) -> Way {
        let corners = track.data.corners.iter().filter(|c| c.exit_m > ends.0 && c.entry_m < ends.1);
        let eyes = track.data.eyes.iter().filter(|e| ends.0 <= e.station_m && e.station_m <= ends.1);
        Way {
            ends,
            corners: corners.map(|c| (c.name.clone(), c.entry_m.max(ends.0), c.exit_m.min(ends.1))).collect(),
            eyes: eyes.map(|e| (e.name.clone(), e.station_m)).collect(),
        }
    }
}

/// A panel: a quantity over the station.
pub(crate) struct Panel<'a> {
    /// Label of the vertical axis, with the unit.
    pub(crate) label: &'a str,
    /// Lines.
    pub(crate) lines: Vec<Line<'a>>,
    /// Range of the vertical axis, if it is not to follow the lines.
    pub(crate) range: Option<(f64, f64)>,
}

/// Height of a picture of so many panels, `each` high.
pub(crate) fn height_of(panels: usize, each: u32) -> u32 {
    90 + each * panels as u32
}

/// Whether every value to be drawn is finite.
pub(crate) fn finite(picture: &str, panels: &[Panel<'_>]) -> Result<(), PictureError> {
    for panel in panels {
        for line in &panel.lines {
            if let Some(row) = line.points.iter().position(|p| !p.0.is_finite() || !p.1.is_finite()) {
                let column = format!("{} {}", panel.label, line.label).trim_end().to_string();
                return Err(PictureError::NotFinite { picture: picture.into(), column, row });
            }
        }
    }
    Ok(())
}

/// Panels below each other.
pub(crate) fn stacked<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    title: &str,
    way: &Way,
    panels: &[Panel<'_>],
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: u32| (v * scale) as i32;
    let (width, height) = area.dim_in_pixel();
    let room = f64::from(width) - f64::from(s(LEFT + LEGEND));
    let across = |station: f64| s(LEFT) + (room * (station - way.ends.0) / (way.ends.1 - way.ends.0)) as i32;
    area.draw(&Text::new(title.to_string(), (s(14), s(10)), ("sans-serif", s(16)).into_font()))
        .map_err(refused)?;

    // names of the eyes above the first panel, in two rows where they are close
    let eyes: Vec<(i32, &str)> = way.eyes.iter().map(|e| (across(e.1), e.0.as_str())).collect();
    for ((x, name), row) in eyes.iter().zip(rows_for(&eyes, 10 * scale, 2)) {
        let y = s(42) - s(12) * (row as i32 - 1);
        area.draw(&centred(name, (*x, y - s(12)), 10 * scale)).map_err(refused)?;
    }
    let corners: Vec<(i32, &str)> =
        way.corners.iter().map(|c| (across(0.5 * (c.1 + c.2)), c.0.as_str())).collect();
    let corner_rows = rows_for(&corners, 11 * scale, 2);

    let (top, foot) = (s(56), s(26));
    let each = (height as i32 - top - foot) / panels.len().max(1) as i32;
    let cuts: Vec<i32> = (0..panels.len() as i32).map(|i| top + i * each).collect();
    let areas = area.split_by_breakpoints([0_i32; 0], cuts);
    for (i, (panel, area)) in panels.iter().zip(areas.iter().skip(1)).enumerate() {
        let named = if i == 0 { corner_rows.iter().max().map_or(0, |r| r + 1) } else { 0 };
        one_panel(area, scale, way, panel, named, i + 1 == panels.len())?;
        if i == 0 {
            for ((x, name), row) in corners.iter().zip(&corner_rows) {
                area.draw(&centred(name, (*x, s(9 + 13 * *row as u32)), 11 * scale)).map_err(refused)?;
            }
        }
        // the legend stands right of the panel, off the data
        legend(area, scale, (width as i32 - s(LEGEND - 8), s(14)), &panel.lines)?;
    }
    Ok(())
}

fn one_panel<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    way: &Way,
    panel: &Panel<'_>,
    rows_of_names: usize,
    last: bool,
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: u32| v * scale;
    let font = |size: u32| ("sans-serif", s(size)).into_font();
    let values = panel.lines.iter().flat_map(|l| l.points.iter().map(|p| p.1));
    let (low, mut high) = panel.range.unwrap_or_else(|| range_of(values));
    // room for the names of the corners
    high += 0.16 * rows_of_names as f64 * (high - low);
    let mut chart = ChartBuilder::on(area)
        .margin_left(s(16))
        .margin_right(s(LEGEND))
        .margin_top(s(6))
        .set_label_area_size(LabelAreaPosition::Left, s(LEFT - 16))
        .set_label_area_size(LabelAreaPosition::Bottom, s(if last { 40 } else { 14 }))
        .build_cartesian_2d(way.ends.0..way.ends.1, low..high)
        .map_err(refused)?;
    chart
        .draw_series(
            way.corners.iter().map(|(_, a, b)| Rectangle::new([(*a, low), (*b, high)], SHADE.filled())),
        )
        .map_err(refused)?;
    let mut mesh = chart.configure_mesh();
    mesh.disable_x_mesh()
        .light_line_style(WHITE.mix(0.0))
        .bold_line_style(BLACK.mix(0.15).stroke_width(scale))
        .axis_style(BLACK.stroke_width(scale))
        .label_style(font(11))
        .axis_desc_style(font(12))
        .y_labels(5)
        .x_label_formatter(&|v| format!("{v:.0}"))
        .y_label_formatter(&|v| short(*v))
        .x_labels(if last { 16 } else { 0 })
        .y_desc(panel.label);
    if last {
        mesh.x_desc("station (m)");
    }
    mesh.draw().map_err(refused)?;
    for (_, at) in &way.eyes {
        let up = [(*at, low), (*at, high)];
        chart
            .draw_series(DashedLineSeries::new(up, s(2), s(3), BLACK.mix(0.5).stroke_width(scale)))
            .map_err(refused)?;
    }
    for line in &panel.lines {
        line.draw(&mut chart, scale)?;
    }
    Ok(())
}
