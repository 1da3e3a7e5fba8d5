//! A quantity against a parameter: mean, band and planned value, for several groups, and
//! below it, where known, the probability that control is lost.

use crate::chart::{INK, Picture, PictureError, beside, both, checked, on_sheet, range_of, refused};
use crate::panel::{Axes, below_title, mark, panel};
use plotters::coord::Shift;
use plotters::prelude::*;

/// One group of a curve: every column is as long as `parameter`, or empty where it may be.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BandGroup {
    /// Name of the group, for the legend.
    pub label: String,
    /// The parameter, in rising order, in the unit of its label.
    pub parameter: Vec<f64>,
    /// Mean of the quantity, in the unit of its label.
    pub mean: Vec<f64>,
    /// Lower edge of the band.
    pub low: Vec<f64>,
    /// Upper edge of the band.
    pub high: Vec<f64>,
    /// The planned ride without errors; may be empty.
    pub planned: Vec<f64>,
    /// Parameter and probability that control is lost `[-]`; may be empty, or have parameters that have no mean.
    pub lost_share: Vec<(f64, f64)>,
    /// From and to which parameter the quantity is flat: as good as the best within the errors.
    pub flat: Option<(f64, f64)>,
}

/// Words of a curve.
#[derive(Clone, Debug, PartialEq)]
pub struct BandWords<'a> {
    /// Name of its files, without ending.
    pub name: &'a str,
    /// Title.
    pub title: &'a str,
    /// The parameter with its unit.
    pub parameter: &'a str,
    /// The quantity with its unit.
    pub quantity: &'a str,
    /// What the band is, for example "10 to 90 %".
    pub band: &'a str,
}

/// The quantity against the parameter; a second panel where any group has `lost_share`.
pub fn curve_with_band(words: &BandWords<'_>, groups: &[BandGroup]) -> Result<Picture, PictureError> {
    if groups.iter().all(|g| g.parameter.is_empty()) {
        return Err(PictureError::Empty { picture: words.name.into() });
    }
    for group in groups {
        check(words.name, group)?;
    }
    let two = groups.iter().any(|g| !g.lost_share.is_empty());
    both(words.name, (900, if two { 660 } else { 460 }), |sheet| {
        on_sheet!(sheet, |area, scale| draw(area, scale, words, groups, two))
    })
}

fn check(picture: &str, group: &BandGroup) -> Result<(), PictureError> {
    let columns = [
        ("parameter", &group.parameter, false),
        ("mean", &group.mean, false),
        ("low", &group.low, false),
        ("high", &group.high, false),
        ("planned", &group.planned, true),
    ];
    let place = |column: &str| format!("group {}, column {column}", group.label);
    let lost: Vec<f64> = group.lost_share.iter().flat_map(|(x, share)| [*x, *share]).collect();
    checked(picture, &place("lost_share"), &lost, lost.len())?;
    if let Some((from, to)) = group.flat {
        checked(picture, &place("flat"), &[from, to], 2)?;
    }
    for (column, values, may_be_empty) in columns {
        if !(may_be_empty && values.is_empty()) {
            checked(picture, &place(column), values, group.parameter.len())?;
        }
    }
    Ok(())
}

/// Width of the legend right of the panels.
const LEGEND: u32 = 170;

fn draw<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    words: &BandWords<'_>,
    groups: &[BandGroup],
    two: bool,
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: u32| v * scale;
    let rest = below_title(area, scale, words.title)?;
    let (upper, lower) = if two {
        let (upper, lower) = rest.split_vertically(s(410));
        (upper, Some(lower))
    } else {
        (rest, None)
    };
    let columns = |g: &BandGroup| [&g.mean, &g.low, &g.high, &g.planned].map(Clone::clone).concat();
    let lost = groups.iter().flat_map(|g| g.lost_share.iter().map(|(x, _)| *x));
    let across = range_of(groups.iter().flat_map(|g| g.parameter.iter().copied()).chain(lost));
    let mut up = range_of(groups.iter().flat_map(columns));
    // room for the bars of the flat regions, one for each group
    let bars = groups.iter().filter(|g| g.flat.is_some()).count();
    up.0 -= 0.05 * bars as f64 * (up.1 - up.0);
    let axes = Axes {
        across,
        up,
        across_label: (!two).then_some(words.parameter),
        up_label: words.quantity,
        up_numbers: 8,
        legend: LEGEND,
    };
    draw_panel(&upper, scale, &axes, groups, false)?;
    legend(&upper, scale, words, groups)?;
    if let Some(lower) = lower {
        let top = groups.iter().flat_map(|g| &g.lost_share).fold(0.05_f64, |t, (_, share)| t.max(*share));
        let up = (-0.05 * top, 1.1 * top);
        let axes = Axes {
            across,
            up,
            across_label: Some(words.parameter),
            up_label: "P(control lost)",
            up_numbers: 5,
            legend: LEGEND,
        };
        draw_panel(&lower, scale, &axes, groups, true)?;
    }
    Ok(())
}

fn draw_panel<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    axes: &Axes<'_>,
    groups: &[BandGroup],
    lost: bool,
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: u32| v * scale;
    let mut chart = panel(area, scale, axes)?;
    let (across, up) = (axes.across, axes.up);
    let pairs = |g: &BandGroup, values: &[f64]| -> Vec<(f64, f64)> {
        g.parameter.iter().copied().zip(values.iter().copied()).collect()
    };
    if !lost {
        for (i, g) in groups.iter().enumerate() {
            let (low, high) = (pairs(g, &g.low), pairs(g, &g.high));
            let ring: Vec<_> = low.iter().copied().chain(high.iter().rev().copied()).collect();
            let colour = INK[i % INK.len()];
            chart.draw_series([Polygon::new(ring, colour.mix(0.14).filled())]).map_err(refused)?;
            if let Some((from, to)) = g.flat {
                let n = groups[..i].iter().filter(|g| g.flat.is_some()).count() as f64;
                let (high, cap) = (up.0 + (0.03 + 0.04 * n) * (up.1 - up.0), 0.012 * (up.1 - up.0));
                let (from, to) = (from.clamp(across.0, across.1), to.clamp(across.0, across.1));
                let ends = [from, to].map(|x| vec![(x, high - cap), (x, high + cap)]);
                for bar in ends.into_iter().chain([vec![(from, high), (to, high)]]) {
                    chart
                        .draw_series(LineSeries::new(bar, colour.stroke_width(3 * scale)))
                        .map_err(refused)?;
                }
            }
            for edge in [low, high] {
                chart
                    .draw_series(LineSeries::new(edge, colour.mix(0.6).stroke_width(scale)))
                    .map_err(refused)?;
            }
        }
    }
    for (i, g) in groups.iter().enumerate() {
        let line = INK[i % INK.len()].stroke_width(2 * scale);
        let main = if lost { g.lost_share.clone() } else { pairs(g, &g.mean) };
        if !lost {
            let (dash, gap) = (s(6), s(4));
            chart
                .draw_series(DashedLineSeries::new(pairs(g, &g.planned), dash, gap, line))
                .map_err(refused)?;
        }
        chart.draw_series(LineSeries::new(main.iter().copied(), line)).map_err(refused)?;
        for point in main {
            mark(area, chart.backend_coord(&point), area.get_base_pixel(), scale, i)?;
        }
    }
    Ok(())
}

fn legend<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    words: &BandWords<'_>,
    groups: &[BandGroup],
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: i32| v * scale as i32;
    let x = area.dim_in_pixel().0 as i32 - s(LEGEND as i32 - 12);
    let mut y = s(20);
    let mut say = |text: &str, style: ShapeStyle, dashed: bool| -> Result<i32, PictureError> {
        let parts = if dashed { vec![(0, 8), (13, 21), (26, 30)] } else { vec![(0, 30)] };
        for (a, b) in parts {
            area.draw(&PathElement::new(vec![(x + s(a), y), (x + s(b), y)], style)).map_err(refused)?;
        }
        area.draw(&beside(text, (x + s(36), y), 11 * scale)).map_err(refused)?;
        y += s(20);
        Ok(y - s(20))
    };
    for (i, g) in groups.iter().enumerate() {
        let at = say(&g.label, INK[i % INK.len()].stroke_width(2 * scale), false)?;
        mark(area, (x + s(15), at), (0, 0), scale, i)?;
    }
    say(&format!("band: {}", words.band), BLACK.mix(0.2).stroke_width(10 * scale), false)?;
    if groups.iter().any(|g| g.flat.is_some()) {
        say("flat: not told from best", BLACK.stroke_width(3 * scale), false)?;
    }
    if groups.iter().any(|g| !g.planned.is_empty()) {
        say("planned ride", BLACK.stroke_width(2 * scale), true)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const WORDS: BandWords<'_> = BandWords {
        name: "bow_sweep",
        title: "Finish time against bow (invented)",
        parameter: "bow (mm)",
        quantity: "finish time (s)",
        band: "10 to 90 %",
    };

    fn group(label: &str, shift: f64) -> BandGroup {
        let parameter: Vec<f64> = (0..9).map(|i| 1.0 + 0.25 * f64::from(i)).collect();
        let of = |add: f64| parameter.iter().map(|b| 55.0 + add + 0.08 * (b - 2.0).powi(2)).collect();
        BandGroup {
            label: label.into(),
            mean: of(shift),
            low: of(shift - 0.08),
            high: of(shift + 0.12),
            planned: of(shift - 0.1),
            lost_share: parameter.iter().map(|b| (*b, 0.01 * b * b)).collect(),
            flat: Some((1.5, 2.5)),
            parameter,
        }
    }

    #[test]
    fn exact_labels_size_and_same_bytes_twice() {
        let groups = [group("pair A", 0.0), group("pair B", 0.2)];
        let picture = curve_with_band(&WORDS, &groups).unwrap();
        let said = [
            "pair A",
            "pair B",
            "bow (mm)",
            "finish time (s)",
            "P(control lost)",
            "band: 10 to 90 %",
            "flat: not told",
        ];
        for words in said {
            assert!(picture.svg.contains(words), "{words}");
        }
        assert!(!picture.svg.contains("NaN"));
        assert_eq!(&picture.png[..8], b"\x89PNG\r\n\x1a\n");
        // width and height stand at byte 16 of a PNG: twice 900 by 660
        assert_eq!(picture.png[16..24], [1800_u32.to_be_bytes(), 1320_u32.to_be_bytes()].concat());
        assert_eq!(picture, curve_with_band(&WORDS, &groups).unwrap());
    }

    #[test]
    fn exact_zero_at_an_axis_has_no_sign() {
        // from no ride lost on: the axis begins a little below zero, and its steps add up beside it
        let lost_share =
            [0.0, 0.0, 0.01, 0.0166, 0.0266, 0.03, 0.05].map(|share| (100.0 * share + 1.0, share));
        let one = BandGroup { lost_share: lost_share.to_vec(), ..group("pair A", 0.0) };
        let picture = curve_with_band(&WORDS, &[one]).unwrap();
        assert!(picture.svg.lines().any(|l| l.trim() == "0"), "an axis with a zero");
        assert!(!picture.svg.lines().any(|l| l.trim().trim_end_matches('0') == "-0."));
    }

    #[test]
    fn exact_no_second_panel_or_planned_line_without_data() {
        let one = BandGroup { planned: vec![], lost_share: vec![], ..group("pair A", 0.0) };
        let picture = curve_with_band(&WORDS, &[one]).unwrap();
        assert!(!picture.svg.contains("P(control lost)") && !picture.svg.contains("planned ride"));
    }

    #[test]
    fn exact_faulty_input_is_told() {
        let empty = curve_with_band(&WORDS, &[]);
        assert_eq!(empty, Err(PictureError::Empty { picture: "bow_sweep".into() }));
        let mut short = group("pair A", 0.0);
        short.low.pop();
        let fault = curve_with_band(&WORDS, &[short]);
        assert!(matches!(fault, Err(PictureError::Uneven { expected: 9, got: 8, .. })), "{fault:?}");
        let mut bad = group("pair A", 0.0);
        bad.mean[3] = f64::NAN;
        let fault = curve_with_band(&WORDS, &[bad]);
        assert!(matches!(fault, Err(PictureError::NotFinite { row: 3, .. })), "{fault:?}");
    }
}
