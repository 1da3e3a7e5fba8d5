//! Lines that are told apart by colour, by dash and by width, and their legend.

use crate::chart::{GREY, INK, PictureError, beside, refused};
use plotters::coord::Shift;
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;

/// Dash and gap of the lines of a picture, in turn; no dash is a solid line.
const DASHES: [(u32, u32); 4] = [(0, 0), (8, 4), (3, 3), (16, 4)];

/// A line over a horizontal axis.
pub(crate) struct Line<'a> {
    /// What it is, for the legend; empty for none.
    pub(crate) label: &'a str,
    /// Its points.
    pub(crate) points: Vec<(f64, f64)>,
    colour: RGBColor,
    width: u32,
    dash: (u32, u32),
}

impl<'a> Line<'a> {
    /// The `i`-th line of a panel. Seven colours and four dashes give 28 that differ.
    pub(crate) fn nth(i: usize, label: &'a str, points: Vec<(f64, f64)>) -> Line<'a> {
        let width = if i == 0 { 2 } else { 1 };
        Line { label, points, colour: INK[i % INK.len()], width, dash: DASHES[i % DASHES.len()] }
    }

    /// A thin grey line: an edge or a limit.
    pub(crate) fn limit(label: &'a str, points: Vec<(f64, f64)>) -> Line<'a> {
        Line { label, points, colour: GREY, width: 1, dash: (0, 0) }
    }

    /// Draws it on a chart.
    pub(crate) fn draw<B: DrawingBackend>(
        &self,
        chart: &mut ChartContext<'_, B, Cartesian2d<RangedCoordf64, RangedCoordf64>>,
        scale: u32,
    ) -> Result<(), PictureError>
    where
        B::ErrorType: 'static,
    {
        let points = self.points.iter().copied();
        let style = self.colour.stroke_width(self.width * scale);
        match self.dash {
            (0, _) => chart.draw_series(LineSeries::new(points, style)).map_err(refused)?,
            (dash, gap) => chart
                .draw_series(DashedLineSeries::new(points, dash * scale, gap * scale, style))
                .map_err(refused)?,
        };
        Ok(())
    }
}

/// Samples of the lines that have a label, below each other.
pub(crate) fn legend<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    (x, mut y): (i32, i32),
    lines: &[Line<'_>],
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: u32| (v * scale) as i32;
    let length = s(24);
    for line in lines.iter().filter(|l| !l.label.is_empty()) {
        let style = line.colour.stroke_width(line.width * scale);
        let (dash, gap) = if line.dash.0 == 0 { (length, 1) } else { (s(line.dash.0), s(line.dash.1)) };
        let mut from = 0;
        while from < length {
            let ends = vec![(x + from, y), (x + (from + dash).min(length), y)];
            area.draw(&PathElement::new(ends, style)).map_err(refused)?;
            from += dash + gap;
        }
        area.draw(&beside(line.label, (x + length + s(5), y), 10 * scale)).map_err(refused)?;
        y += s(14);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_28_lines_differ_without_their_width() {
        let looks: Vec<_> = (0..28).map(|i| Line::nth(i, "", vec![])).map(|l| (l.colour, l.dash)).collect();
        for (i, a) in looks.iter().enumerate() {
            assert!(!looks[..i].contains(a), "{i}");
        }
    }
}
