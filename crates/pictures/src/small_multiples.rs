//! Many small panels of the same kind, all to the same scale: a quantity against a parameter, a panel for each
//! corner, or for each temperature.

use crate::chart::{
    INK, Picture, PictureError, SHADE, beside, both, centred, checked, on_sheet, range_of, refused, short,
};
use plotters::coord::Shift;
use plotters::prelude::*;

/// A line of a panel.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PanelLine {
    /// Its name, the same in every panel.
    pub label: String,
    /// Parameter and quantity, the parameter rising.
    pub points: Vec<(f64, f64)>,
    /// Lower and upper end of a bar at each point; empty without bars.
    pub bars: Vec<(f64, f64)>,
}

/// A panel.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Panel {
    /// What it is of.
    pub label: String,
    /// Its lines, the same number and order in every panel.
    pub lines: Vec<PanelLine>,
}

/// Words of the whole.
#[derive(Clone, Debug, PartialEq)]
pub struct PanelWords<'a> {
    /// Name of its files, without ending.
    pub name: &'a str,
    /// Title.
    pub title: &'a str,
    /// The parameter with its unit.
    pub parameter: &'a str,
    /// The quantity with its unit.
    pub quantity: &'a str,
}

/// Panels in a row, and width and height of a panel: the fewer there are, the larger.
fn layout(panels: usize) -> (usize, (u32, u32)) {
    match panels {
        0..=1 => (1, (560, 380)),
        2..=4 => (2, (440, 300)),
        _ => (5, (176, 130)),
    }
}

/// Height of the title, and of the legend with the words of the parameter.
const ROOM: (u32, u32) = (38, 48);

/// Panels row by row, all to the same scale.
///
/// # Errors
/// No point at all, or a value that is not finite.
pub fn small_multiples(words: &PanelWords<'_>, panels: &[Panel]) -> Result<Picture, PictureError> {
    let points = || panels.iter().flat_map(|p| &p.lines).flat_map(|l| l.points.iter().copied());
    if points().next().is_none() {
        return Err(PictureError::Empty { picture: words.name.into() });
    }
    for panel in panels {
        for line in &panel.lines {
            let column = format!("{}, {}", panel.label, line.label);
            let values: Vec<f64> = line.points.iter().flat_map(|p| [p.0, p.1]).collect();
            checked(words.name, &column, &values, values.len())?;
            if !line.bars.is_empty() {
                let ends: Vec<f64> = line.bars.iter().flat_map(|b| [b.0, b.1]).collect();
                checked(words.name, &format!("{column}, bars"), &ends, values.len())?;
            }
        }
    }
    let ends = panels.iter().flat_map(|p| &p.lines).flat_map(|l| l.bars.iter().flat_map(|b| [b.0, b.1]));
    let frame = (range_of(points().map(|p| p.0)), range_of(points().map(|p| p.1).chain(ends)));
    let (across, (wide, high)) = layout(panels.len());
    let rows = panels.len().div_ceil(across) as u32;
    let size = (across as u32 * wide + 50, ROOM.0 + rows * high + ROOM.1);
    both(words.name, size, |sheet| on_sheet!(sheet, |area, scale| draw(area, scale, words, panels, frame)))
}

type Frame = ((f64, f64), (f64, f64));

fn draw<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    words: &PanelWords<'_>,
    panels: &[Panel],
    frame: Frame,
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: u32| (v * scale) as i32;
    let font = ("sans-serif", 16 * scale).into_font();
    area.draw(&Text::new(words.title.to_string(), (s(14), s(10)), font)).map_err(refused)?;
    let (columns, (wide, high)) = layout(panels.len());
    for (n, panel) in panels.iter().enumerate() {
        let left = s(20 + wide * (n % columns) as u32);
        let top = s(ROOM.0 + high * (n / columns) as u32);
        draw_panel(area, ((left, top), (s(wide), s(high))), scale, panel, frame)?;
    }
    let rows = panels.len().div_ceil(columns) as u32;
    let foot = s(ROOM.0 + rows * high);
    let middle = s(columns as u32 * wide / 2);
    let across = format!("across: {}; up: {}", words.parameter, words.quantity);
    area.draw(&centred(&across, (middle, foot + s(2)), 12 * scale)).map_err(refused)?;
    let mut x = s(40);
    for (i, line) in panels.first().map_or(&[][..], |p| &p.lines).iter().enumerate() {
        if line.label.is_empty() {
            continue;
        }
        let y = foot + s(32);
        let ink = INK[i % INK.len()];
        area.draw(&PathElement::new(vec![(x, y), (x + s(24), y)], ink.stroke_width(2 * scale)))
            .map_err(refused)?;
        mark(area, (x + s(12), y), scale, i)?;
        area.draw(&beside(&line.label, (x + s(30), y), 11 * scale)).map_err(refused)?;
        x += s(50 + 7 * line.label.chars().count() as u32);
    }
    Ok(())
}

fn draw_panel<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    ((left, top), (wide, high)): ((i32, i32), (i32, i32)),
    scale: u32,
    panel: &Panel,
    ((x0, x1), (y0, y1)): Frame,
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: u32| (v * scale) as i32;
    // room for the numbers left and below, for the name above
    let (l, t) = (left + s(34), top + s(18));
    let (w, h) = (wide - s(46), high - s(40));
    area.draw(&Rectangle::new([(l, t), (l + w, t + h)], SHADE.stroke_width(scale))).map_err(refused)?;
    area.draw(&centred(&panel.label, (l + w / 2, top + s(3)), 12 * scale)).map_err(refused)?;
    let at = |(x, y): (f64, f64)| {
        let (a, b) = ((x - x0) / (x1 - x0), (y - y0) / (y1 - y0));
        (l + (a * f64::from(w)).round() as i32, t + h - (b * f64::from(h)).round() as i32)
    };
    for x in ticks(x0, x1) {
        area.draw(&centred(&short(x), (at((x, y0)).0, t + h + s(4)), 9 * scale)).map_err(refused)?;
    }
    for y in ticks(y0, y1) {
        let py = at((x0, y)).1;
        area.draw(&PathElement::new(vec![(l, py), (l + w, py)], SHADE.stroke_width(scale)))
            .map_err(refused)?;
        let text = short(y);
        let width = s(6 * text.chars().count() as u32);
        area.draw(&beside(&text, (l - width - s(3), py), 9 * scale)).map_err(refused)?;
    }
    if y0 < 0.0 && y1 > 0.0 {
        let zero = at((x0, 0.0)).1;
        area.draw(&PathElement::new(vec![(l, zero), (l + w, zero)], BLACK.stroke_width(scale)))
            .map_err(refused)?;
    }
    let lines = panel.lines.len() as i32;
    for (i, line) in panel.lines.iter().enumerate() {
        // lines side by side, so that their bars do not cover each other
        let aside = if line.bars.is_empty() { 0 } else { s(5) * (2 * i as i32 + 1 - lines) / 2 };
        for ((x, _), (low, high)) in line.points.iter().zip(&line.bars) {
            let style = INK[i % INK.len()].stroke_width(scale);
            let [a, b] = [*low, *high].map(|y| at((*x, y))).map(|(px, py)| (px + aside, py));
            area.draw(&PathElement::new(vec![a, b], style)).map_err(refused)?;
            for (px, py) in [a, b] {
                let cap = vec![(px - s(3), py), (px + s(3), py)];
                area.draw(&PathElement::new(cap, style)).map_err(refused)?;
            }
        }
        let at = |p: (f64, f64)| {
            let (px, py) = at(p);
            (px + aside, py)
        };
        let path: Vec<(i32, i32)> = line.points.iter().map(|p| at(*p)).collect();
        let ink = INK[i % INK.len()];
        area.draw(&PathElement::new(path.clone(), ink.stroke_width(3 * scale / 2))).map_err(refused)?;
        for place in path {
            mark(area, place, scale, i)?;
        }
    }
    Ok(())
}

/// Two to five round numbers inside a range.
pub(crate) fn ticks(low: f64, high: f64) -> Vec<f64> {
    let rough = (high - low).max(1e-9) / 3.0;
    let ten = 10f64.powf(rough.log10().floor());
    let step =
        [1.0, 2.0, 5.0, 10.0].map(|m| m * ten).into_iter().find(|s| *s >= 0.7 * rough).unwrap_or(rough);
    let (first, last) = ((low / step).ceil() as i64, (high / step).floor() as i64);
    (first..=last).map(|i| i as f64 * step).collect()
}

/// The mark of a line: its shape tells it apart without colour.
fn mark<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    at: (i32, i32),
    scale: u32,
    line: usize,
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let (ink, size) = (INK[line % INK.len()], (5 * scale / 2) as i32);
    match line % 4 {
        0 => area.draw(&Circle::new(at, size, ink.filled())),
        1 => area.draw(&TriangleMarker::new(at, size + scale as i32, ink.filled())),
        2 => area.draw(&Cross::new(at, size, ink.stroke_width(3 * scale / 2))),
        _ => area.draw(&Circle::new(at, size, ink.stroke_width(3 * scale / 2))),
    }
    .map_err(refused)
}

#[cfg(test)]
mod tests {
    use super::*;

    const WORDS: PanelWords<'_> = PanelWords {
        name: "corners",
        title: "Corners (invented)",
        parameter: "bow (mm)",
        quantity: "amplitude (m)",
    };

    fn panel(n: u32) -> Panel {
        let line = |label: &str, up: f64| PanelLine {
            label: label.into(),
            points: (0..6).map(|i| (f64::from(i), up + f64::from(n * i))).collect(),
            bars: vec![],
        };
        Panel { label: format!("corner {n}"), lines: vec![line("-4 degC", 0.0), line("-10 degC", 3.0)] }
    }

    #[test]
    fn exact_every_panel_and_line_is_named_and_bytes_are_the_same_twice() {
        let panels: Vec<Panel> = (1..=7).map(panel).collect();
        let picture = small_multiples(&WORDS, &panels).unwrap();
        for words in ["corner 1", "corner 7", "-4 degC", "-10 degC", "bow (mm)", "amplitude (m)"] {
            assert!(picture.svg.contains(words), "{words}");
        }
        // two rows of five panels: width and height stand at byte 16 of a PNG, twice the size
        assert_eq!(picture.png[16..24], [1860_u32.to_be_bytes(), 692_u32.to_be_bytes()].concat());
        assert_eq!(picture, small_multiples(&WORDS, &panels).unwrap());
    }

    #[test]
    fn exact_round_ticks() {
        let told = |low, high| ticks(low, high).into_iter().map(short).collect::<Vec<_>>().join(" ");
        assert_eq!(told(0.51, 2.49), "1 1.5 2");
        assert_eq!(told(0.06, 0.69), "0.2 0.4 0.6");
        assert_eq!(told(-11.0, -3.0), "-10 -8 -6 -4");
    }

    #[test]
    fn exact_faulty_input_is_told() {
        assert_eq!(small_multiples(&WORDS, &[]), Err(PictureError::Empty { picture: "corners".into() }));
        let mut bad = panel(1);
        bad.lines[0].points[2].1 = f64::NAN;
        assert!(matches!(small_multiples(&WORDS, &[bad]), Err(PictureError::NotFinite { row: 5, .. })));
        let mut short = panel(1);
        short.lines[0].bars = vec![(0.0, 1.0); 5];
        let got = small_multiples(&WORDS, &[short]);
        assert!(matches!(got, Err(PictureError::Uneven { expected: 12, got: 10, .. })), "{got:?}");
    }
}
