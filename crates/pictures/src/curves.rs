//! Plain curves over one axis, with thin lines for limits.

use crate::chart::{Picture, PictureError, both, checked, on_sheet, range_of, refused};
use crate::line::{Line, legend};
use crate::panel::{Axes, below_title, panel};
use plotters::coord::Shift;
use plotters::prelude::*;

/// One curve.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Curve {
    /// Its name.
    pub label: String,
    /// Its points.
    pub points: Vec<(f64, f64)>,
}

/// Words of the picture.
#[derive(Clone, Debug, PartialEq)]
pub struct CurveWords<'a> {
    /// Name of its files, without ending.
    pub name: &'a str,
    /// Title.
    pub title: &'a str,
    /// The axis along, with its unit.
    pub across: &'a str,
    /// The axis upwards, with its unit.
    pub up: &'a str,
}

/// Room for the legend.
const LEGEND: u32 = 230;

/// Draws the curves; limits are thin and grey.
///
/// # Errors
/// No curve, or a value that is not finite.
pub fn curves(words: &CurveWords<'_>, curves: &[Curve], limits: &[Curve]) -> Result<Picture, PictureError> {
    if curves.iter().all(|c| c.points.is_empty()) {
        return Err(PictureError::Empty { picture: words.name.into() });
    }
    for curve in curves.iter().chain(limits) {
        let all: Vec<f64> = curve.points.iter().flat_map(|(x, y)| [*x, *y]).collect();
        checked(words.name, &curve.label, &all, all.len())?;
    }
    both(words.name, (900, 460), |sheet| {
        on_sheet!(sheet, |area, scale| draw(area, scale, words, curves, limits))
    })
}

fn draw<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    words: &CurveWords<'_>,
    curves: &[Curve],
    limits: &[Curve],
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let rest = below_title(area, scale, words.title)?;
    let points = || curves.iter().chain(limits).flat_map(|c| &c.points);
    let axes = Axes {
        across: range_of(points().map(|p| p.0)),
        up: range_of(points().map(|p| p.1)),
        across_label: Some(words.across),
        up_label: words.up,
        up_numbers: 8,
        legend: LEGEND,
    };
    let mut chart = panel(&rest, scale, &axes)?;
    let thin = limits.iter().map(|c| Line::limit(&c.label, c.points.clone()));
    let lines: Vec<Line<'_>> = curves
        .iter()
        .enumerate()
        .map(|(i, c)| Line::nth(i, &c.label, c.points.clone()))
        .chain(thin)
        .collect();
    for line in &lines {
        line.draw(&mut chart, scale)?;
    }
    let (width, _) = rest.dim_in_pixel();
    let place = (width as i32 - ((LEGEND - 14) * scale) as i32, 24 * scale as i32);
    legend(&rest, scale, place, &lines).map_err(refused)
}

#[cfg(test)]
mod tests {
    use super::*;

    const WORDS: CurveWords<'_> = CurveWords { name: "c", title: "Invented", across: "x", up: "y" };

    #[test]
    fn exact_curves_and_limits_have_their_names() {
        let curve = |label: &str| Curve { label: label.into(), points: vec![(0.0, 0.0), (1.0, 1.0)] };
        let svg = curves(&WORDS, &[curve("three pairs")], &[curve("80 %")]).unwrap().svg;
        assert!(svg.contains("three pairs") && svg.contains("80 %"));
        assert!(matches!(curves(&WORDS, &[], &[curve("l")]), Err(PictureError::Empty { .. })));
        let nan = Curve { label: "n".into(), points: vec![(0.0, f64::NAN)] };
        assert!(matches!(curves(&WORDS, &[nan], &[]), Err(PictureError::NotFinite { .. })));
    }
}
