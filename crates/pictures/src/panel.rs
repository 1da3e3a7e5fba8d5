//! A panel of a picture: a curve's axes, with room for a legend at the right, and marks that tell groups apart without
//! colour.

use crate::chart::{INK, PictureError, refused, short};
use plotters::coord::Shift;
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;

/// What stands at the axes.
pub(crate) struct Axes<'a> {
    /// From and to, along.
    pub(crate) across: (f64, f64),
    /// From and to, upwards.
    pub(crate) up: (f64, f64),
    /// Words of the axis along; none where a panel below has them.
    pub(crate) across_label: Option<&'a str>,
    /// Words of the axis upwards.
    pub(crate) up_label: &'a str,
    /// About how many numbers upwards.
    pub(crate) up_numbers: usize,
    /// Room for the legend right of the panel.
    pub(crate) legend: u32,
}

/// A chart of two plain axes.
pub(crate) type Chart<'a, B> = ChartContext<'a, B, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

/// Draws the title and gives the rest of the sheet.
pub(crate) fn below_title<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    title: &str,
) -> Result<DrawingArea<B, Shift>, PictureError>
where
    B::ErrorType: 'static,
{
    let (head, rest) = area.split_vertically(34 * scale);
    let place = (14 * scale as i32, 10 * scale as i32);
    let font = ("sans-serif", 16 * scale).into_font();
    head.draw(&Text::new(title.to_string(), place, font)).map_err(refused)?;
    Ok(rest)
}

/// Draws the axes of a panel.
pub(crate) fn panel<'a, B: DrawingBackend>(
    area: &'a DrawingArea<B, Shift>,
    scale: u32,
    axes: &Axes<'_>,
) -> Result<Chart<'a, B>, PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: u32| v * scale;
    let font = |size: u32| ("sans-serif", s(size)).into_font();
    let (across, up) = (axes.across, axes.up);
    let mut chart = ChartBuilder::on(area)
        .margin_left(s(16))
        .margin_right(s(axes.legend))
        .margin_top(s(8))
        .margin_bottom(s(8))
        .set_label_area_size(LabelAreaPosition::Left, s(72))
        .set_label_area_size(LabelAreaPosition::Bottom, s(if axes.across_label.is_some() { 42 } else { 20 }))
        .build_cartesian_2d(across.0..across.1, up.0..up.1)
        .map_err(refused)?;
    let mut mesh = chart.configure_mesh();
    mesh.light_line_style(WHITE.mix(0.0))
        .bold_line_style(BLACK.mix(0.12).stroke_width(scale))
        .axis_style(BLACK.stroke_width(scale))
        .label_style(font(11))
        .axis_desc_style(font(12))
        .x_labels(9)
        .y_labels(axes.up_numbers)
        .x_label_formatter(&|v| short(*v))
        .y_label_formatter(&|v| short(*v))
        .y_desc(axes.up_label);
    if let Some(words) = axes.across_label {
        mesh.x_desc(words);
    }
    mesh.draw().map_err(refused)?;
    Ok(chart)
}

/// The mark of a group at a place of the sheet; `base` is where the area begins on it.
pub(crate) fn mark<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    (x, y): (i32, i32),
    (x0, y0): (i32, i32),
    scale: u32,
    group: usize,
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let (at, size) = ((x - x0, y - y0), 4 * scale as i32);
    let ink = INK[group % INK.len()];
    match group % 4 {
        0 => area.draw(&Circle::new(at, size, ink.filled())),
        1 => area.draw(&TriangleMarker::new(at, size + scale as i32, ink.filled())),
        2 => area.draw(&Cross::new(at, size, ink.stroke_width(2 * scale))),
        _ => area.draw(&Circle::new(at, size, ink.stroke_width(2 * scale))),
    }
    .map_err(refused)
}
