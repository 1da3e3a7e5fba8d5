//! Sobol's indices: for each input a bar of what it does alone and one of all that it takes part in, each with the
//! interval that the points leave.

use crate::chart::{
    INK, Picture, PictureError, SHADE, beside, both, centred, checked, on_sheet, refused, short,
};
use plotters::prelude::*;

/// The indices of one input: value and the ends of its interval `[-]`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct IndexRow {
    /// Its name.
    pub label: String,
    /// By itself.
    pub first: [f64; 3],
    /// With all others.
    pub total: [f64; 3],
}

/// Width of the names, of the bars, height of a row, of the title and of the words below.
const SIZE: (u32, u32, u32, u32, u32) = (220, 420, 44, 40, 60);

/// Bars from 0 to 1, and beyond where an interval leads there.
///
/// # Errors
/// No row, or a value that is not finite.
pub fn index_bars(title: &str, rows: &[IndexRow]) -> Result<Picture, PictureError> {
    let name = "indices";
    if rows.is_empty() {
        return Err(PictureError::Empty { picture: name.into() });
    }
    let all: Vec<f64> = rows.iter().flat_map(|r| r.first.into_iter().chain(r.total)).collect();
    checked(name, "indices", &all, all.len())?;
    let low = all.iter().copied().fold(0.0, f64::min);
    let high = all.iter().copied().fold(1.0, f64::max);
    let (names, wide, row_high, head, foot) = SIZE;
    let size = (names + wide + 40, head + row_high * rows.len() as u32 + foot);
    both(name, size, |sheet| {
        on_sheet!(sheet, |area, scale| {
            let s = |v: u32| (v * scale) as i32;
            let x = |v: f64| s(names) + ((v - low) / (high - low) * f64::from(s(wide))).round() as i32;
            let font = ("sans-serif", 16 * scale).into_font();
            area.draw(&Text::new(title.to_string(), (s(14), s(10)), font)).map_err(refused)?;
            let bottom = s(head + row_high * rows.len() as u32);
            for v in [0.0, 0.25, 0.5, 0.75, 1.0] {
                area.draw(&PathElement::new(
                    vec![(x(v), s(head)), (x(v), bottom)],
                    SHADE.stroke_width(scale),
                ))
                .map_err(refused)?;
                area.draw(&centred(&short(v), (x(v), bottom + s(4)), 10 * scale)).map_err(refused)?;
            }
            for (n, row) in rows.iter().enumerate() {
                let top = s(head + row_high * n as u32);
                area.draw(&beside(&row.label, (s(14), top + s(row_high / 2)), 11 * scale))
                    .map_err(refused)?;
                for (i, [value, least, most]) in [row.first, row.total].into_iter().enumerate() {
                    let (y, ink) = (top + s(8 + 16 * i as u32), INK[[2, 1][i]]);
                    let bar = Rectangle::new([(x(0.0), y), (x(value), y + s(10))], ink.filled());
                    area.draw(&bar).map_err(refused)?;
                    let line = vec![(x(least), y + s(5)), (x(most), y + s(5))];
                    area.draw(&PathElement::new(line, BLACK.stroke_width(scale))).map_err(refused)?;
                    for end in [least, most] {
                        let cap = vec![(x(end), y + s(2)), (x(end), y + s(8))];
                        area.draw(&PathElement::new(cap, BLACK.stroke_width(scale))).map_err(refused)?;
                    }
                }
            }
            let words = ["alone (first order)", "with all others (total)"];
            for (i, words) in words.into_iter().enumerate() {
                let (left, y) = (s(names + 210 * i as u32), bottom + s(32));
                let key = Rectangle::new([(left, y), (left + s(14), y + s(10))], INK[[2, 1][i]].filled());
                area.draw(&key).map_err(refused)?;
                area.draw(&beside(words, (left + s(20), y + s(5)), 11 * scale)).map_err(refused)?;
            }
            area.draw(&beside("share of the variance [-]", (s(14), bottom + s(37)), 11 * scale))
                .map_err(refused)
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_bars_are_as_long_as_their_indices() {
        let row = |label: &str, first: f64, total: f64| IndexRow {
            label: label.into(),
            first: [first, first - 0.05, first + 0.05],
            total: [total, total - 0.05, total + 0.05],
        };
        let picture =
            index_bars("Indices (invented)", &[row("bow", 0.5, 0.75), row("mass", 0.25, 0.25)]).unwrap();
        // the scale is 420 wide, drawn at twice the size: 0.5 is 420 px, 0.75 is 630, 0.25 is 210
        for width in [420, 630, 210] {
            assert!(
                picture.svg.contains(&format!("width=\"{width}\" height=\"20\"")),
                "{width}\n{}",
                picture.svg
            );
        }
        for words in ["bow", "mass", "alone (first order)", "with all others (total)"] {
            assert!(picture.svg.contains(words), "{words}");
        }
    }

    #[test]
    fn refuses_nothing_and_numbers_that_are_none() {
        assert!(matches!(index_bars("t", &[]), Err(PictureError::Empty { .. })));
        let row = IndexRow { first: [f64::NAN, 0.0, 0.0], ..IndexRow::default() };
        assert!(matches!(index_bars("t", &[row]), Err(PictureError::NotFinite { .. })));
    }
}
