//! The ground of every picture: a drawing area in memory, fonts, colours, checks of what is to be drawn.

use flate2::read::DeflateDecoder;
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{FontStyle, register_font};
use std::fmt;
use std::io::Read;
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
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PictureError {
    /// There is nothing to draw.
    #[error("picture {picture}: there is nothing to draw")]
    Empty {
        /// Name of the picture.
        picture: String,
    },
    /// A column is not as long as the column it belongs to.
    #[error("picture {picture}: {column} has {got} values, expected {expected}")]
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
    #[error("picture {picture}: {column}, row {row} is not a finite number")]
    NotFinite {
        /// Name of the picture.
        picture: String,
        /// Which column.
        column: String,
        /// Which row, from 0.
        row: usize,
    },
    /// The drawing library refused.
    #[error("a picture could not be drawn: {cause}")]
    Drawing {
        /// Its words.
        cause: String,
    },
}

/// Turns an error of the drawing library into ours.
pub(crate) fn refused(e: impl fmt::Display) -> PictureError {
    PictureError::Drawing { cause: e.to_string() }
}

/// Colours that the colour-blind can tell apart, dark enough to differ in grey as well
/// (Okabe and Ito, Color Universal Design, 2008).
pub(crate) const INK: [RGBColor; 7] = [
    RGBColor(0, 0, 0),
    RGBColor(213, 94, 0),
    RGBColor(0, 114, 178),
    RGBColor(0, 158, 115),
    RGBColor(204, 121, 167),
    RGBColor(230, 159, 0),
    RGBColor(86, 180, 233),
];
/// Shade behind a corner.
pub(crate) const SHADE: RGBColor = RGBColor(236, 236, 236);
/// Grey of what is not the descent: edges, limits.
pub(crate) const GREY: RGBColor = RGBColor(120, 120, 120);
/// Drawn pixels for one unit of length: coordinates are whole numbers, so both forms are drawn at this scale.
pub(crate) const SCALE: u32 = 2;

/// The font of all pictures, packed by `build.rs`.
const PACKED_FONT: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/font.deflate"));

fn fonts() -> Result<(), PictureError> {
    static DONE: OnceLock<bool> = OnceLock::new();
    let fine = *DONE.get_or_init(|| {
        let mut font = Vec::new();
        let unpacked = DeflateDecoder::new(PACKED_FONT).read_to_end(&mut font);
        // for as long as the program runs
        unpacked.is_ok() && register_font("sans-serif", FontStyle::Normal, font.leak()).is_ok()
    });
    if fine { Ok(()) } else { Err(refused("the built-in font cannot be read")) }
}

/// Draws the same picture as SVG and PNG, both at [`SCALE`]; the SVG shows it at `width` by `height`.
pub(crate) fn both(
    name: &str,
    (width, height): (u32, u32),
    draw: impl Fn(&Sheet<'_, '_>) -> Result<(), PictureError>,
) -> Result<Picture, PictureError> {
    fonts()?;
    let (w, h) = (SCALE * width, SCALE * height);
    let mut svg = String::new();
    {
        let area = SVGBackend::with_string(&mut svg, (w, h)).into_drawing_area();
        area.fill(&WHITE).map_err(refused)?;
        draw(&Sheet::Svg(&area))?;
        area.present().map_err(refused)?;
    }
    // XML knows no control characters, which a name may hold
    svg.retain(|c| !c.is_control() || c == '\n');
    // the first size is that of the sheet; the view box keeps the fine coordinates
    let fine = format!("width=\"{w}\" height=\"{h}\"");
    let svg = svg.replacen(&fine, &format!("width=\"{width}\" height=\"{height}\""), 1);
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
    /// The PNG.
    Png(&'a DrawingArea<BitMapBackend<'b>, Shift>),
}

/// Draws on whichever form a sheet is, with the scale of its lengths.
macro_rules! on_sheet {
    ($sheet:expr, |$area:ident, $scale:ident| $body:expr) => {{
        let $scale = $crate::chart::SCALE;
        match $sheet {
            $crate::chart::Sheet::Svg($area) => $body,
            $crate::chart::Sheet::Png($area) => $body,
        }
    }};
}
pub(crate) use on_sheet;

/// Range of values with a little room; with half their size where all are the same, so that numbers on an axis differ.
pub(crate) fn range_of(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for v in values.filter(|v| v.is_finite()) {
        (low, high) = (low.min(v), high.max(v));
    }
    if low > high {
        return (0.0, 1.0);
    }
    let size = low.abs().max(high.abs());
    let flat = high - low <= 1e-9 * size;
    let room = if flat { 0.5 * size.max(1e-9) } else { 0.05 * (high - low).max(1e-9 + 0.01 * size) };
    (low - room, high + room)
}

/// A number with no more digits than it needs: three decimals, or three digits where that is more.
pub(crate) fn short(v: f64) -> String {
    if v.abs() < 1e-9 {
        return "0".into();
    }
    let decimals = (2.0 - v.abs().log10().floor()).clamp(3.0, 12.0) as usize;
    let text = format!("{v:.decimals$}");
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}

/// Text whose middle is at the place, from `place` downwards.
pub(crate) fn centred(text: &str, place: (i32, i32), size: u32) -> Text<'static, (i32, i32), String> {
    let style = TextStyle::from(("sans-serif", size).into_font()).pos(Pos::new(HPos::Center, VPos::Top));
    Text::new(text.to_string(), place, style)
}

/// Text that begins right of the place, at its height.
pub(crate) fn beside(text: &str, place: (i32, i32), size: u32) -> Text<'static, (i32, i32), String> {
    let style = TextStyle::from(("sans-serif", size).into_font()).pos(Pos::new(HPos::Left, VPos::Center));
    Text::new(text.to_string(), place, style)
}

/// Whether a column has as many values as expected, all of them finite.
pub(crate) fn checked(
    picture: &str,
    column: &str,
    values: &[f64],
    expected: usize,
) -> Result<(), PictureError> {
    let got = values.len();
    if got != expected {
        return Err(PictureError::Uneven { picture: picture.into(), column: column.into(), expected, got });
    }
    match values.iter().position(|v| !v.is_finite()) {
        Some(row) => Err(PictureError::NotFinite { picture: picture.into(), column: column.into(), row }),
        None => Ok(()),
    }
}

/// Rows for labels centred at `middles` (px) so that none touches the one before it in its row; a label
/// that fits in none of `most` rows shares the last.
pub(crate) fn rows_for(labels: &[(i32, &str)], size: u32, most: usize) -> Vec<usize> {
    let mut ends = vec![i32::MIN; most.max(1)];
    labels
        .iter()
        .map(|(middle, text)| {
            // a letter of this font is about 0.6 of its size wide
            let half = (0.3 * f64::from(size) * text.chars().count() as f64).ceil() as i32;
            let row = ends.iter().position(|end| middle - half > *end).unwrap_or(ends.len() - 1);
            ends[row] = middle + half + size as i32 / 3;
            row
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_values_that_are_all_the_same_get_a_range() {
        assert_eq!(range_of([2.0, 2.0].into_iter()), (1.0, 3.0));
        assert_eq!(range_of([0.0, 10.0].into_iter()), (-0.5, 10.5));
    }

    #[test]
    fn exact_numbers_have_the_digits_they_need() {
        for (v, told) in [
            (0.0525, "0.0525"),
            (0.05, "0.05"),
            (-0.1 - 0.2, "-0.3"),
            (61.25, "61.25"),
            (1000.0, "1000"),
            (0.00012345, "0.000123"),
            (0.0, "0"),
        ] {
            assert_eq!(short(v), told);
        }
    }

    #[test]
    fn exact_labels_that_would_touch_go_into_the_next_row() {
        // ten letters of size 10 are about 60 wide: the second, 20 further, has no room beside the first
        let labels = [(100, "ten letter"), (120, "ten letter"), (180, "ten letter"), (185, "ten letter")];
        assert_eq!(rows_for(&labels, 10, 2), [0, 1, 0, 1]);
        assert_eq!(rows_for(&labels[..2], 10, 1), [0, 0]);
        assert!(rows_for(&[], 10, 2).is_empty());
    }

    #[test]
    fn exact_short_numbers() {
        assert_eq!(
            ["0", "0.5", "-2", "1.125"],
            [0.0, 0.5, -2.0, 1.125].map(short).each_ref().map(String::as_str)
        );
    }
}
