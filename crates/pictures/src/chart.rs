//! The ground of every picture: a drawing area in memory, fonts, colours, and panels with axes.

use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::{FontStyle, register_font};
use std::fmt;
use std::sync::OnceLock;

/// A picture in both forms.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// Name of its files, without ending.
    pub name: String,
    /// As SVG text.
    pub svg: String,
    /// As PNG bytes, twice the size.
    pub png: Vec<u8>,
}

/// Why a picture could not be drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum PictureError {
    /// There is nothing to draw.
    Empty {
        /// Name of the picture.
        picture: String,
    },
    /// A column is not as long as the column it belongs to.
    Uneven {
        /// Name of the picture.
        picture: String,
        /// Which column.
        column: String,
        /// How many values it should have.
        expected: usize,
        /// How many it has.
        got: usize,
    },
    /// A value is infinite or not a number.
    NotFinite {
        /// Name of the picture.
        picture: String,
        /// Which column.
        column: String,
        /// Which row, from 0.
        row: usize,
    },
    /// The drawing library refused.
    Drawing {
        /// Its words.
        cause: String,
    },
}

impl fmt::Display for PictureError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PictureError::Empty { picture } => write!(f, "picture {picture}: there is nothing to draw"),
            PictureError::Uneven { picture, column, expected, got } => {
                write!(f, "picture {picture}: {column} has {got} values, expected {expected}")
            }
            PictureError::NotFinite { picture, column, row } => {
                write!(f, "picture {picture}: {column}, row {row} is not a finite number")
            }
            PictureError::Drawing { cause } => write!(f, "a picture could not be drawn: {cause}"),
        }
    }
}

impl std::error::Error for PictureError {}

/// Turns an error of the drawing library into ours.
pub(crate) fn refused(e: impl fmt::Display) -> PictureError {
    PictureError::Drawing { cause: e.to_string() }
}

/// Colours that the colour-blind can tell apart, dark enough to differ in grey as well
/// (Okabe and Ito, Color Universal Design, 2008).
pub(crate) const INK: [RGBColor; 4] =
    [RGBColor(0, 0, 0), RGBColor(213, 94, 0), RGBColor(0, 114, 178), RGBColor(0, 158, 115)];
/// Shade behind a corner.
pub(crate) const SHADE: RGBColor = RGBColor(236, 236, 236);

fn fonts() -> Result<(), PictureError> {
    static DONE: OnceLock<bool> = OnceLock::new();
    let fine = *DONE.get_or_init(|| {
        let regular = dejavu::sans::regular();
        register_font("sans-serif", FontStyle::Normal, regular).is_ok()
            && register_font("sans-serif", FontStyle::Bold, dejavu::sans::bold()).is_ok()
    });
    if fine { Ok(()) } else { Err(refused("the built-in font cannot be read")) }
}

/// Draws the same picture as SVG and, at twice the size, as PNG. `draw` gets the scale.
pub(crate) fn both(
    name: &str,
    (width, height): (u32, u32),
    draw: impl Fn(&Sheet<'_, '_>) -> Result<(), PictureError>,
) -> Result<Picture, PictureError> {
    fonts()?;
    let mut svg = String::new();
    {
        let area = SVGBackend::with_string(&mut svg, (width, height)).into_drawing_area();
        area.fill(&WHITE).map_err(refused)?;
        draw(&Sheet::Svg(&area))?;
        area.present().map_err(refused)?;
    }
    let (w, h) = (2 * width, 2 * height);
    let mut pixels = vec![0; 3 * (w * h) as usize];
    {
        let area = BitMapBackend::with_buffer(&mut pixels, (w, h)).into_drawing_area();
        area.fill(&WHITE).map_err(refused)?;
        draw(&Sheet::Png(&area))?;
        area.present().map_err(refused)?;
    }
    Ok(Picture { name: name.into(), svg, png: png_bytes(&pixels, w, h)? })
}

fn png_bytes(pixels: &[u8], width: u32, height: u32) -> Result<Vec<u8>, PictureError> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.write_header().and_then(|mut w| w.write_image_data(pixels)).map_err(refused)?;
    Ok(bytes)
}

/// One of the two forms that are being drawn.
pub(crate) enum Sheet<'a, 'b> {
    /// The SVG.
    Svg(&'a DrawingArea<SVGBackend<'b>, Shift>),
    /// The PNG, at twice the size.
    Png(&'a DrawingArea<BitMapBackend<'b>, Shift>),
}

/// Draws on whichever form a sheet is, with the scale of its lengths.
macro_rules! on_sheet {
    ($sheet:expr, |$area:ident, $scale:ident| $body:expr) => {
        match $sheet {
            $crate::chart::Sheet::Svg($area) => {
                let $scale: u32 = 1;
                $body
            }
            $crate::chart::Sheet::Png($area) => {
                let $scale: u32 = 2;
                $body
            }
        }
    };
}
pub(crate) use on_sheet;

/// A line of a panel.
pub(crate) struct Line<'a> {
    /// What it is, for the legend; empty for none.
    pub(crate) label: &'a str,
    /// Its points.
    pub(crate) points: Vec<(f64, f64)>,
    /// Its colour.
    pub(crate) colour: RGBColor,
    /// Its width.
    pub(crate) width: u32,
}

/// A panel: quantity over the station, corners shaded and named.
pub(crate) struct Panel<'a> {
    /// Label of the vertical axis, with the unit.
    pub(crate) label: &'a str,
    /// Lines.
    pub(crate) lines: Vec<Line<'a>>,
    /// Range of the vertical axis, if it is not to follow the lines.
    pub(crate) range: Option<(f64, f64)>,
}

/// Range of values with a little room.
pub(crate) fn range_of(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for v in values.filter(|v| v.is_finite()) {
        (low, high) = (low.min(v), high.max(v));
    }
    if low > high {
        return (0.0, 1.0);
    }
    let room = 0.05 * (high - low).max(1e-9 + 0.01 * high.abs());
    (low - room, high + room)
}

/// Width of the legend right of the panels.
const LEGEND: u32 = 128;

/// A number with no more digits than it needs.
fn short(v: f64) -> String {
    if v.abs() < 1e-9 {
        return "0".into();
    }
    let text = format!("{v:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}

/// Panels below each other over the station (m).
pub(crate) fn stacked<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    title: &str,
    stations: (f64, f64),
    corners: &[(String, f64, f64)],
    panels: &[Panel<'_>],
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: u32| v * scale;
    let font = |size: u32| ("sans-serif", s(size)).into_font();
    let (head, rest) = area.split_vertically(s(34));
    head.draw(&Text::new(title.to_string(), (s(14) as i32, s(10) as i32), font(16))).map_err(refused)?;
    for (i, (panel, area)) in panels.iter().zip(rest.split_evenly((panels.len(), 1))).enumerate() {
        let last = i + 1 == panels.len();
        let values = panel.lines.iter().flat_map(|l| l.points.iter().map(|p| p.1));
        let (low, mut high) = panel.range.unwrap_or_else(|| range_of(values));
        if i == 0 {
            // room for the names of the corners
            high += 0.18 * (high - low);
        }
        let mut chart = ChartBuilder::on(&area)
            .margin_left(s(16))
            .margin_right(s(LEGEND))
            .margin_top(s(6))
            .set_label_area_size(LabelAreaPosition::Left, s(70))
            .set_label_area_size(LabelAreaPosition::Bottom, s(if last { 40 } else { 16 }))
            .build_cartesian_2d(stations.0..stations.1, low..high)
            .map_err(refused)?;
        chart
            .draw_series(
                corners.iter().map(|(_, a, b)| Rectangle::new([(*a, low), (*b, high)], SHADE.filled())),
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
        if i == 0 {
            let at = high - 0.04 * (high - low);
            chart
                .draw_series(
                    corners.iter().map(|(n, a, b)| Text::new(n.clone(), (0.5 * (a + b) - 4.0, at), font(11))),
                )
                .map_err(refused)?;
        }
        for line in &panel.lines {
            let style = line.colour.stroke_width(line.width * scale);
            chart.draw_series(LineSeries::new(line.points.iter().copied(), style)).map_err(refused)?;
        }
        // the legend stands right of the panel, off the data
        let x = area.dim_in_pixel().0 as i32 - s(LEGEND - 8) as i32;
        for (n, line) in panel.lines.iter().filter(|l| !l.label.is_empty()).enumerate() {
            let y = s(24 + 16 * n as u32) as i32;
            let style = line.colour.stroke_width(line.width * scale);
            area.draw(&PathElement::new(vec![(x, y), (x + s(18) as i32, y)], style)).map_err(refused)?;
            let place = (x + s(23) as i32, y - s(6) as i32);
            area.draw(&Text::new(line.label.to_string(), place, font(10))).map_err(refused)?;
        }
    }
    Ok(())
}
