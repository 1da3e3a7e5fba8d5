//! The window of bow: bridging in the corners above, static margin on the flat below, over the bow.

use crate::chart::{GREY, INK, Picture, PictureError, beside, both, checked, on_sheet, range_of, refused};
use crate::panel::{Axes, below_title, mark, panel};
use plotters::coord::Shift;
use plotters::prelude::*;

/// What one ice allows.
#[derive(Clone, Debug, PartialEq)]
pub struct IceWindow {
    /// Name of the ice, for the legend.
    pub label: String,
    /// Bow (mm), rising.
    pub bow_mm: Vec<f64>,
    /// Greatest share of the load outside the screws in any corner `[-]`.
    pub share: Vec<f64>,
    /// Static margin at 1 g on flat ice (mm).
    pub margin_mm: Vec<f64>,
    /// From and to which bow both limits are kept (mm).
    pub window_mm: Vec<[f64; 2]>,
}

/// The two limits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WindowLimits {
    /// Greatest share that is no bridging `[-]`.
    pub most_share: f64,
    /// Least static margin (mm).
    pub least_margin_mm: f64,
}

const NAME: &str = "bow_window";
/// Room for the legend right of the panels.
const LEGEND: u32 = 190;

/// Both measures over the bow, limits dashed, windows as bars along the bottom.
///
/// # Errors
/// No ice or no bow, columns of other lengths, or a value that is not finite.
pub fn bow_window(title: &str, ices: &[IceWindow], limits: &WindowLimits) -> Result<Picture, PictureError> {
    if ices.is_empty() || ices.iter().any(|i| i.bow_mm.len() < 2) {
        return Err(PictureError::Empty { picture: NAME.into() });
    }
    for ice in ices {
        let n = ice.bow_mm.len();
        for (what, values) in [("bow", &ice.bow_mm), ("share", &ice.share), ("margin", &ice.margin_mm)] {
            checked(NAME, &format!("{what} of {}", ice.label), values, n)?;
        }
        let ends: Vec<f64> = ice.window_mm.iter().flatten().copied().collect();
        checked(NAME, &format!("window of {}", ice.label), &ends, ends.len())?;
    }
    checked(NAME, "limits", &[limits.most_share, limits.least_margin_mm], 2)?;
    both(NAME, (900, 640), |sheet| on_sheet!(sheet, |area, scale| draw(area, scale, title, ices, limits)))
}

/// What one of the two panels shows.
struct Measure<'a> {
    label: &'a str,
    limit: f64,
    limit_label: String,
    values: &'a dyn Fn(&IceWindow) -> Vec<f64>,
    last: bool,
}

fn draw<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    title: &str,
    ices: &[IceWindow],
    limits: &WindowLimits,
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: u32| v * scale;
    let rest = below_title(area, scale, title)?;
    let (upper, lower) = rest.split_vertically(s(280));
    let bridging = Measure {
        label: "share outside the screws",
        limit: limits.most_share,
        limit_label: "bridging above".into(),
        values: &|i| i.share.clone(),
        last: false,
    };
    draw_panel(&upper, scale, ices, &bridging)?;
    let margin = Measure {
        label: "static margin (mm)",
        limit: limits.least_margin_mm,
        limit_label: format!("least margin {} mm", limits.least_margin_mm),
        values: &|i| i.margin_mm.clone(),
        last: true,
    };
    draw_panel(&lower, scale, ices, &margin)?;
    legend(&upper, scale, ices)
}

fn draw_panel<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    ices: &[IceWindow],
    p: &Measure<'_>,
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: u32| v * scale;
    let across = range_of(ices.iter().flat_map(|i| i.bow_mm.iter().copied()));
    let mut up = range_of(ices.iter().flat_map(|i| (p.values)(i)).chain([p.limit]));
    let high = up.1 - up.0;
    if p.last {
        // room for the bars of the windows
        up.0 -= 0.07 * high * ices.len() as f64;
    }
    let across_label = p.last.then_some("bow at all four screws (mm)");
    let axes = Axes { across, up, across_label, up_label: p.label, up_numbers: 7, legend: LEGEND };
    let mut chart = panel(area, scale, &axes)?;
    let limit = vec![(across.0, p.limit), (across.1, p.limit)];
    let dashes = DashedLineSeries::new(limit, s(6), s(4), GREY.stroke_width(2 * scale));
    chart.draw_series(dashes).map_err(refused)?;
    let (x0, y0) = area.get_base_pixel();
    let (x, y) = chart.backend_coord(&(across.1, p.limit));
    area.draw(&beside(&p.limit_label, (x - x0 + s(6) as i32, y - y0), s(11))).map_err(refused)?;
    for (i, ice) in ices.iter().enumerate() {
        let ink = INK[i % INK.len()];
        for [from, to] in &ice.window_mm {
            let ring = vec![(*from, up.0), (*to, up.0), (*to, up.1), (*from, up.1)];
            chart.draw_series([Polygon::new(ring, ink.mix(0.08).filled())]).map_err(refused)?;
            if p.last {
                let at = up.0 + (0.035 + 0.06 * i as f64) * high;
                let bar = LineSeries::new([(*from, at), (*to, at)], ink.stroke_width(6 * scale));
                chart.draw_series(bar).map_err(refused)?;
            }
        }
        let values = (p.values)(ice);
        let points = ice.bow_mm.iter().copied().zip(values.iter().copied());
        chart.draw_series(LineSeries::new(points.clone(), ink.stroke_width(2 * scale))).map_err(refused)?;
        // marks tell the ices apart without colour
        for point in points.step_by(4) {
            mark(area, chart.backend_coord(&point), (x0, y0), scale, i)?;
        }
    }
    Ok(())
}

fn legend<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    ices: &[IceWindow],
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: i32| v * scale as i32;
    let x = area.dim_in_pixel().0 as i32 - s(LEGEND as i32 - 14);
    for (i, ice) in ices.iter().enumerate() {
        let (y, ink) = (s(20 + 40 * i as i32), INK[i % INK.len()]);
        area.draw(&PathElement::new(vec![(x, y), (x + s(30), y)], ink.stroke_width(2 * scale)))
            .map_err(refused)?;
        mark(area, (x + s(15), y), (0, 0), scale, i)?;
        area.draw(&beside(&ice.label, (x + s(36), y), 11 * scale)).map_err(refused)?;
        let said = if ice.window_mm.is_empty() {
            "no window".to_string()
        } else {
            let parts: Vec<String> = ice.window_mm.iter().map(|[a, b]| format!("{a:.2} to {b:.2}")).collect();
            format!("window {} mm", parts.join(", "))
        };
        area.draw(&beside(&said, (x + s(36), y + s(16)), 10 * scale)).map_err(refused)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIMITS: WindowLimits = WindowLimits { most_share: 0.5, least_margin_mm: 30.0 };

    fn ice(label: &str, window_mm: Vec<[f64; 2]>) -> IceWindow {
        let bow_mm: Vec<f64> = (0..=20).map(|i| 0.4 * f64::from(i)).collect();
        IceWindow {
            label: label.into(),
            share: bow_mm.iter().map(|b| (1.2 - 0.2 * b).max(0.0)).collect(),
            margin_mm: bow_mm.iter().map(|b| 150.0 - 30.0 * b).collect(),
            bow_mm,
            window_mm,
        }
    }

    #[test]
    fn exact_labels_windows_and_same_bytes_twice() {
        let ices = [ice("ice -4 degC", vec![[3.5, 4.0]]), ice("ice -10 degC", vec![])];
        let picture = bow_window("Window (invented)", &ices, &LIMITS).unwrap();
        for words in
            ["ice -4 degC", "window 3.50 to 4.00 mm", "no window", "least margin 30 mm", "bridging above"]
        {
            assert!(picture.svg.contains(words), "{words}");
        }
        assert!(!picture.svg.contains("NaN"));
        assert_eq!(picture.png[16..20], 1800_u32.to_be_bytes());
        assert_eq!(picture, bow_window("Window (invented)", &ices, &LIMITS).unwrap());
    }

    #[test]
    fn exact_faulty_windows_are_told() {
        assert!(matches!(bow_window("", &[], &LIMITS), Err(PictureError::Empty { .. })));
        let mut short = ice("a", vec![]);
        short.share.pop();
        let got = bow_window("", &[short], &LIMITS);
        assert!(matches!(got, Err(PictureError::Uneven { expected: 21, got: 20, .. })), "{got:?}");
        let bad = ice("a", vec![[f64::NAN, 1.0]]);
        let got = bow_window("", &[bad], &LIMITS);
        assert!(matches!(got, Err(PictureError::NotFinite { row: 0, .. })), "{got:?}");
    }
}
