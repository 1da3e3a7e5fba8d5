//! Points drawn at random, a panel for each input: the output against that input. What rises or falls through the
//! cloud is what the input does; the width of the cloud is what the others do.

use crate::chart::{
    GREY, INK, Picture, PictureError, SHADE, beside, both, centred, checked, on_sheet, range_of, refused,
    short,
};
use crate::small_multiples::ticks;
use plotters::coord::Shift;
use plotters::prelude::*;

/// One input of the points.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ScatterInput {
    /// Its name with the unit.
    pub label: String,
    /// Its value at each point.
    pub values: Vec<f64>,
}

/// Words of the whole.
#[derive(Clone, Debug, PartialEq)]
pub struct ScatterWords<'a> {
    /// Name of its files, without ending.
    pub name: &'a str,
    /// Title.
    pub title: &'a str,
    /// The output with its unit.
    pub quantity: &'a str,
    /// What a point without an output is.
    pub without: &'a str,
}

/// Most panels in a row.
const ACROSS: usize = 3;
/// Width and height of a panel.
const PANEL: (u32, u32) = (300, 230);
/// Height of the title and of the words below.
const ROOM: (u32, u32) = (38, 34);

/// Panels of points; a point without an output is a grey cross at the top.
///
/// # Errors
/// No input, no output at all, a column of another length, or a value that is not finite.
pub fn scatter(
    words: &ScatterWords<'_>,
    inputs: &[ScatterInput],
    outputs: &[Option<f64>],
) -> Result<Picture, PictureError> {
    let known: Vec<f64> = outputs.iter().flatten().copied().collect();
    if inputs.is_empty() || known.is_empty() {
        return Err(PictureError::Empty { picture: words.name.into() });
    }
    checked(words.name, words.quantity, &known, known.len())?;
    for input in inputs {
        checked(words.name, &input.label, &input.values, outputs.len())?;
    }
    let up = range_of(known.into_iter());
    let across = inputs.len().min(ACROSS);
    let rows = inputs.len().div_ceil(ACROSS) as u32;
    let size = (across as u32 * PANEL.0 + 60, ROOM.0 + rows * PANEL.1 + ROOM.1);
    both(words.name, size, |sheet| {
        on_sheet!(sheet, |area, scale| {
            let s = |v: u32| (v * scale) as i32;
            let font = ("sans-serif", 16 * scale).into_font();
            area.draw(&Text::new(words.title.to_string(), (s(14), s(10)), font)).map_err(refused)?;
            for (n, input) in inputs.iter().enumerate() {
                let left = s(30 + PANEL.0 * (n % ACROSS) as u32);
                let top = s(ROOM.0 + PANEL.1 * (n / ACROSS) as u32);
                panel(area, (left, top), scale, input, outputs, up)?;
            }
            let lost = outputs.iter().filter(|o| o.is_none()).count();
            let without = if lost > 0 {
                format!("; crosses at the top: {lost} {}", words.without)
            } else {
                String::new()
            };
            let foot = format!("up: {}{without}", words.quantity);
            area.draw(&centred(&foot, (s(size.0 / 2), s(ROOM.0 + rows * PANEL.1 + 8)), 12 * scale))
                .map_err(refused)
        })
    })
}

fn panel<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    (left, top): (i32, i32),
    scale: u32,
    input: &ScatterInput,
    outputs: &[Option<f64>],
    (y0, y1): (f64, f64),
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: u32| (v * scale) as i32;
    let (l, t, w, h) = (left + s(40), top + s(6), s(PANEL.0 - 60), s(PANEL.1 - 50));
    let (x0, x1) = range_of(input.values.iter().copied());
    area.draw(&Rectangle::new([(l, t), (l + w, t + h)], SHADE.stroke_width(scale))).map_err(refused)?;
    let at = |x: f64, y: f64| {
        let (a, b) = ((x - x0) / (x1 - x0), (y - y0) / (y1 - y0));
        (l + (a * f64::from(w)).round() as i32, t + h - (b * f64::from(h)).round() as i32)
    };
    for x in ticks(x0, x1) {
        area.draw(&centred(&short(x), (at(x, y0).0, t + h + s(4)), 9 * scale)).map_err(refused)?;
    }
    for y in ticks(y0, y1) {
        let py = at(x0, y).1;
        area.draw(&PathElement::new(vec![(l, py), (l + w, py)], SHADE.stroke_width(scale)))
            .map_err(refused)?;
        let text = short(y);
        let width = s(6 * text.chars().count() as u32);
        area.draw(&beside(&text, (l - width - s(3), py), 9 * scale)).map_err(refused)?;
    }
    area.draw(&centred(&input.label, (l + w / 2, t + h + s(20)), 12 * scale)).map_err(refused)?;
    for (x, y) in input.values.iter().zip(outputs) {
        match y {
            Some(y) => area.draw(&Circle::new(at(*x, *y), s(2), INK[2].filled())),
            None => area.draw(&Cross::new((at(*x, y0).0, t + s(4)), s(3), GREY.stroke_width(scale))),
        }
        .map_err(refused)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const WORDS: ScatterWords<'_> = ScatterWords {
        name: "finish_time_points",
        title: "Points (invented)",
        quantity: "finish time (s)",
        without: "cases that lost control",
    };

    #[test]
    fn exact_every_point_is_drawn_and_named() {
        let inputs: Vec<ScatterInput> = ["bow (mm)", "ice (degC)", "mass (kg)", "push (m/s)"]
            .iter()
            .map(|label| ScatterInput { label: (*label).into(), values: (0..9).map(f64::from).collect() })
            .collect();
        let outputs: Vec<Option<f64>> =
            (0..9).map(|i| (i != 4).then_some(55.0 + f64::from(i) * 0.1)).collect();
        let picture = scatter(&WORDS, &inputs, &outputs).unwrap();
        for words in ["bow (mm)", "push (m/s)", "finish time (s)", "1 cases that lost control"] {
            assert!(picture.svg.contains(words), "{words}");
        }
        // eight points in each of four panels
        assert_eq!(picture.svg.matches("<circle").count(), 32);
        assert_eq!(picture, scatter(&WORDS, &inputs, &outputs).unwrap());
    }

    #[test]
    fn exact_a_name_with_control_characters_leaves_the_picture_valid() {
        let input = ScatterInput { label: "bow\u{1b}[2J\u{7} (mm)".into(), values: vec![1.0, 2.0] };
        let words = ScatterWords { title: "red\u{1b}[31m\r", ..WORDS };
        let svg = scatter(&words, &[input], &[Some(1.0), Some(2.0)]).unwrap().svg;
        // XML 1.0 allows tab and line end of the control characters
        assert!(svg.contains("bow") && svg.contains("red"));
        assert!(!svg.contains(|c: char| c.is_control() && c != '\n' && c != '\t'), "{svg}");
    }

    #[test]
    fn refuses_nothing_to_draw_and_columns_of_another_length() {
        let input = ScatterInput { label: "bow (mm)".into(), values: vec![1.0, 2.0] };
        let empty = Err(PictureError::Empty { picture: "finish_time_points".into() });
        assert_eq!(scatter(&WORDS, std::slice::from_ref(&input), &[None, None]), empty);
        assert_eq!(scatter(&WORDS, &[], &[Some(1.0)]), empty);
        assert!(matches!(scatter(&WORDS, &[input], &[Some(1.0)]), Err(PictureError::Uneven { .. })));
    }
}
