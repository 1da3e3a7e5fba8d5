//! The gap between two descents over the station, splits marked, and below it what each section costs at the
//! finish, by cause.

use crate::chart::{
    GREY, INK, Picture, PictureError, SHADE, beside, both, centred, checked, on_sheet, refused, short,
};
use crate::line::Line;
use crate::stacked::{Panel, Way, stacked};
use plotters::coord::Shift;
use plotters::prelude::*;
use sled_dynamics::analysis::losses::{CAUSE_NAMES, CAUSES, Losses};
use track_geometry::track::Track;

/// Height of the gap curve with the title, and of the bars.
const HIGH: [u32; 2] = [330, 300];
const WIDE: u32 = 1100;
/// Room left and right of the bars, as in the panel above.
const LEFT: u32 = 86;
const LEGEND: u32 = 140;
/// A cause that never passes this share of the greatest bar is drawn with the others `[-]`.
const SMALL: f64 = 0.03;

/// Colours of the causes: air, glide, plough, skid, toe, walls, shaking, longer line, climbed height, push.
const COLOURS: [RGBColor; CAUSES] = [
    INK[6],
    INK[2],
    INK[3],
    INK[1],
    INK[4],
    INK[0],
    RGBColor(90, 90, 90),
    INK[5],
    RGBColor(130, 90, 50),
    RGBColor(190, 190, 190),
];

/// Gap curve and bars, in milliseconds; above zero the descent is behind the reference.
///
/// # Errors
/// A trace of fewer than two stations, or a value that is not finite.
pub fn losses_along(title: &str, track: &Track, losses: &Losses) -> Result<Picture, PictureError> {
    let name = "losses";
    let n = losses.station_m.len();
    if n < 2 || losses.sections.is_empty() {
        return Err(PictureError::Empty { picture: name.into() });
    }
    checked(name, "station", &losses.station_m, n)?;
    checked(name, "gap", &losses.gap_at_s, n)?;
    for row in &losses.sections {
        checked(name, &format!("causes of {}", row.section.name), &row.by_cause_s, CAUSES)?;
    }
    both(name, (WIDE, HIGH[0] + HIGH[1]), |sheet| {
        on_sheet!(sheet, |area, scale| draw(area, scale, title, track, losses))
    })
}

/// A value with its sign to the nearest whole; nothing is 0 without one.
fn whole(v: f64) -> String {
    if v.abs() < 0.5 { "0".into() } else { format!("{v:+.0}") }
}

fn draw<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    title: &str,
    track: &Track,
    losses: &Losses,
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let (upper, lower) = area.split_vertically(HIGH[0] * scale);
    let ends = (losses.station_m[0], losses.station_m[losses.station_m.len() - 1]);
    let mut way = Way::of(track, (ends.0, ends.1 + 1e-6));
    way.ends = ends;
    for (name, at) in &mut way.eyes {
        let i = losses.station_m.partition_point(|s| s < at).min(losses.station_m.len() - 1);
        *name = format!("{name} {}", whole(1e3 * losses.gap_at_s[i]));
    }
    let points = losses.station_m.iter().zip(&losses.gap_at_s).map(|(s, g)| (*s, 1e3 * g)).collect();
    let zero = Line::limit("", vec![(ends.0, 0.0), (ends.1, 0.0)]);
    let panel = Panel {
        label: "behind the reference (ms)",
        lines: vec![Line::nth(0, "", points), zero],
        range: None,
    };
    stacked(&upper, scale, title, &way, &[panel])?;
    bars(&lower, scale, &way, losses)
}

fn bars<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    way: &Way,
    losses: &Losses,
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: u32| v * scale;
    let up = |v: &[f64; CAUSES]| 1e3 * v.iter().filter(|v| **v > 0.0).sum::<f64>();
    let down = |v: &[f64; CAUSES]| 1e3 * v.iter().filter(|v| **v < 0.0).sum::<f64>();
    let high = losses.sections.iter().map(|r| up(&r.by_cause_s)).fold(1e-3, f64::max);
    let low = losses.sections.iter().map(|r| down(&r.by_cause_s)).fold(0.0, f64::min);
    let least = SMALL * high.max(-low);
    let large: Vec<usize> = (0..CAUSES)
        .filter(|&c| losses.sections.iter().any(|r| 1e3 * r.by_cause_s[c].abs() > least))
        .collect();
    let room = 0.16 * (high - low);
    let mut chart = ChartBuilder::on(area)
        .margin_left(s(16))
        .margin_right(s(LEGEND))
        .margin_top(s(10))
        .margin_bottom(s(8))
        .set_label_area_size(LabelAreaPosition::Left, s(LEFT - 16))
        .set_label_area_size(LabelAreaPosition::Bottom, s(34))
        .build_cartesian_2d(way.ends.0..way.ends.1, low - room..high + room)
        .map_err(refused)?;
    let shades = way
        .corners
        .iter()
        .map(|(_, a, b)| Rectangle::new([(*a, low - room), (*b, high + room)], SHADE.filled()));
    chart.draw_series(shades).map_err(refused)?;
    chart
        .configure_mesh()
        .disable_x_mesh()
        .light_line_style(WHITE.mix(0.0))
        .bold_line_style(BLACK.mix(0.15).stroke_width(scale))
        .axis_style(BLACK.stroke_width(scale))
        .label_style(("sans-serif", s(11)).into_font())
        .axis_desc_style(("sans-serif", s(12)).into_font())
        .x_labels(0)
        .y_labels(6)
        .y_label_formatter(&|v| short(*v))
        .y_desc("lost here, at the finish (ms)")
        .x_desc("section: a corner with half of the straights beside it; sum of its causes above")
        .draw()
        .map_err(refused)?;
    let base = area.get_base_pixel();
    for row in &losses.sections {
        let inset = 0.12 * (row.section.to_m - row.section.from_m);
        let (a, b) = (row.section.from_m + inset, row.section.to_m - inset);
        let (mut top, mut bottom) = (0.0, 0.0);
        let mut piece = |v: f64, colour: RGBColor| -> Result<(), PictureError> {
            let from = if v > 0.0 { &mut top } else { &mut bottom };
            let ends = [(a, *from), (b, *from + v)];
            *from += v;
            chart.draw_series([Rectangle::new(ends, colour.filled())]).map_err(refused)?;
            chart.draw_series([Rectangle::new(ends, WHITE.stroke_width(scale))]).map_err(refused)?;
            Ok(())
        };
        for &cause in &large {
            piece(1e3 * row.by_cause_s[cause], COLOURS[cause])?;
        }
        let small = |sign: f64| -> f64 {
            (0..CAUSES)
                .filter(|c| !large.contains(c))
                .map(|c| 1e3 * row.by_cause_s[c])
                .filter(|v| v * sign > 0.0)
                .sum()
        };
        for v in [small(1.0), small(-1.0)] {
            piece(v, GREY)?;
        }
        let middle = 0.5 * (a + b);
        let (x, y) = chart.backend_coord(&(middle, top));
        let text = whole(1e3 * row.total_s());
        area.draw(&centred(&text, (x - base.0, y - base.1 - s(14) as i32), s(10))).map_err(refused)?;
        let (x, y) = chart.backend_coord(&(middle, low - room));
        area.draw(&centred(&row.section.name, (x - base.0, y - base.1 + s(4) as i32), s(10)))
            .map_err(refused)?;
    }
    let zero = [(way.ends.0, 0.0), (way.ends.1, 0.0)];
    chart.draw_series(LineSeries::new(zero, BLACK.stroke_width(scale))).map_err(refused)?;
    let x = (area.dim_in_pixel().0 - s(LEGEND - 8)) as i32;
    let mut y = s(20) as i32;
    let sums = losses.by_cause_s();
    let named = large.iter().map(|&c| (format!("{} {}", CAUSE_NAMES[c], whole(1e3 * sums[c])), COLOURS[c]));
    let rest = (large.len() < CAUSES).then(|| ("other".to_string(), GREY));
    for (text, colour) in named.chain(rest) {
        let h = s(5) as i32;
        area.draw(&Rectangle::new([(x, y - h), (x + 2 * h, y + h)], colour.filled())).map_err(refused)?;
        area.draw(&beside(&text, (x + 3 * h, y), s(10))).map_err(refused)?;
        y += s(16) as i32;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use sled_dynamics::analysis::losses::SectionLoss;
    use sled_dynamics::analysis::sections::Section;
    use track_geometry::station_table::StationTable;
    use track_geometry::track::{DataQuality, Eye, TrackData};

    fn track() -> Track {
        let same = |v: f64| vec![v; 11];
        let station_m: Vec<f64> = (0..11).map(|i| f64::from(i) * 10.0).collect();
        let data = TrackData {
            name: "made".into(),
            altitude_m: 0.0,
            latitude_rad: 0.8,
            source: "invented".into(),
            quality: DataQuality::Invented,
            eyes: vec![Eye { name: "eye 2".into(), station_m: 50.0 }],
            corners: vec![],
            table: StationTable {
                elevation_m: station_m.iter().map(|s| -0.1 * s).collect(),
                plan_curvature_per_m: same(0.0),
                banking_rad: same(0.0),
                trough_curvature_per_m: same(0.0),
                left_edge_m: same(1.0),
                right_edge_m: same(-1.0),
                station_m,
            },
        };
        Track::new(data).unwrap()
    }

    fn told() -> Losses {
        let section = |name: &str, from_m, to_m, air, skid| SectionLoss {
            section: Section { name: name.into(), corner: None, from_m, to_m },
            by_cause_s: [air, 0.0, 0.0, skid, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
            showed_s: air + skid,
        };
        Losses {
            gap_s: 0.05,
            sections: vec![
                section("start", 0.0, 60.0, 0.03, -0.004),
                section("finish", 60.0, 100.0, 0.0, 0.024),
            ],
            remainder_s: 0.0,
            station_m: vec![0.0, 50.0, 100.0],
            gap_at_s: vec![0.0, 0.02, 0.05],
            lost_per_m_s: vec![0.0; 3],
            weight_s_kg_per_j: vec![0.0; 3],
        }
    }

    #[test]
    fn exact_labels_and_same_bytes_twice() {
        let picture = losses_along("invented", &track(), &told()).unwrap();
        // the split with the gap there, the sums of sections and causes, causes without a loss left out
        for words in ["eye 2 +20", "+26", "+24", "air +30", "skid +20", "behind the reference (ms)"] {
            assert!(picture.svg.contains(words), "{words}");
        }
        assert!(!picture.svg.contains("NaN") && !picture.svg.contains("walls"));
        assert_eq!(picture, losses_along("invented", &track(), &told()).unwrap());
    }

    #[test]
    fn exact_faulty_input_is_told() {
        let empty = Losses { sections: vec![], ..told() };
        assert!(matches!(losses_along("", &track(), &empty), Err(PictureError::Empty { .. })));
        let short = Losses { gap_at_s: vec![0.0], ..told() };
        let fault = losses_along("", &track(), &short);
        assert!(matches!(fault, Err(PictureError::Uneven { expected: 3, got: 1, .. })), "{fault:?}");
        let mut bad = told();
        bad.sections[1].by_cause_s[2] = f64::NAN;
        assert!(matches!(losses_along("", &track(), &bad), Err(PictureError::NotFinite { row: 2, .. })));
    }
}
