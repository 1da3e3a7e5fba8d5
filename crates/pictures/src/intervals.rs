//! Rows of intervals on one axis: what was believed before, what is known now, and what was measured.

use crate::chart::{
    GREY, INK, Picture, PictureError, SHADE, beside, both, centred, checked, on_sheet, range_of, refused,
    short,
};
use plotters::prelude::*;

/// One row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct IntervalRow {
    /// Its name.
    pub label: String,
    /// Middle and ends of the wide, pale interval: before; none where there is none.
    pub before: Option<[f64; 3]>,
    /// Middle and ends of the narrow, dark one: now.
    pub now: [f64; 3],
    /// A value of its own, marked by a cross.
    pub mark: Option<f64>,
    /// Words at the right.
    pub words: String,
}

/// Words of the picture.
#[derive(Clone, Debug, PartialEq)]
pub struct IntervalWords<'a> {
    /// Name of its files, without ending.
    pub name: &'a str,
    /// Title.
    pub title: &'a str,
    /// The axis with its unit.
    pub axis: &'a str,
    /// What the pale interval is.
    pub before: &'a str,
    /// What the dark one is.
    pub now: &'a str,
    /// What the cross is.
    pub mark: &'a str,
}

/// Widths of names, of the intervals and of the words; heights of a row, of the title and of the foot.
const SIZE: [u32; 6] = [190, 420, 250, 26, 44, 66];
/// About how many numbers stand at the axis.
const NUMBERS: f64 = 6.0;

/// Numbers at an axis: a round step.
pub(crate) fn round_numbers((low, high): (f64, f64)) -> Vec<f64> {
    let rough = (high - low) / NUMBERS;
    let ten = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].map(|m| m * ten).into_iter().find(|s| *s >= rough).unwrap_or(rough);
    let first = (low / step).ceil() as i64;
    (first..).map(|i| i as f64 * step).take_while(|v| *v <= high).collect()
}

/// Draws the rows below each other.
///
/// # Errors
/// No row, or a value that is not finite.
pub fn intervals(words: &IntervalWords<'_>, rows: &[IntervalRow]) -> Result<Picture, PictureError> {
    let of = |r: &IntervalRow| r.before.into_iter().flatten().chain(r.now).chain(r.mark).collect::<Vec<_>>();
    let all: Vec<f64> = rows.iter().flat_map(of).collect();
    if rows.is_empty() {
        return Err(PictureError::Empty { picture: words.name.into() });
    }
    checked(words.name, "intervals", &all, all.len())?;
    let across = range_of(all.iter().copied());
    let [names, wide, right, row_high, head, foot] = SIZE;
    let size = (names + wide + right, head + row_high * rows.len() as u32 + foot);
    both(words.name, size, |sheet| {
        on_sheet!(sheet, |area, scale| {
            let s = |v: u32| (v * scale) as i32;
            let x = |v: f64| {
                s(names) + ((v - across.0) / (across.1 - across.0) * f64::from(s(wide))).round() as i32
            };
            let font = ("sans-serif", 16 * scale).into_font();
            area.draw(&Text::new(words.title.to_string(), (s(14), s(10)), font)).map_err(refused)?;
            let bottom = s(head + row_high * rows.len() as u32);
            for v in round_numbers(across) {
                let line = vec![(x(v), s(head)), (x(v), bottom)];
                area.draw(&PathElement::new(line, SHADE.stroke_width(scale))).map_err(refused)?;
                area.draw(&centred(&short(v), (x(v), bottom + s(4)), 10 * scale)).map_err(refused)?;
            }
            let bar = |[_, low, high]: [f64; 3], y: i32, half: i32, ink: RGBColor| {
                Rectangle::new([(x(low), y - half), (x(high), y + half)], ink.filled())
            };
            for (n, row) in rows.iter().enumerate() {
                let y = s(head + row_high * n as u32 + row_high / 2);
                area.draw(&beside(&row.label, (s(14), y), 11 * scale)).map_err(refused)?;
                if let Some(before) = row.before {
                    area.draw(&bar(before, y, s(8), PALE)).map_err(refused)?;
                    let middle = vec![(x(before[0]), y - s(8)), (x(before[0]), y + s(8))];
                    area.draw(&PathElement::new(middle, GREY.stroke_width(scale))).map_err(refused)?;
                }
                area.draw(&bar(row.now, y, s(3), INK[2])).map_err(refused)?;
                area.draw(&Circle::new((x(row.now[0]), y), s(4), INK[2].filled())).map_err(refused)?;
                if let Some(mark) = row.mark {
                    area.draw(&Cross::new((x(mark), y), s(5), INK[1].stroke_width(2 * scale)))
                        .map_err(refused)?;
                }
                area.draw(&beside(&row.words, (s(names + wide + 14), y), 10 * scale)).map_err(refused)?;
            }
            area.draw(&centred(words.axis, (s(names + wide / 2), bottom + s(20)), 11 * scale))
                .map_err(refused)?;
            let y = bottom + s(50);
            let mut left = s(14);
            let keys = [
                (words.before, rows.iter().any(|r| r.before.is_some())),
                (words.now, true),
                (words.mark, rows.iter().any(|r| r.mark.is_some())),
            ];
            for (i, (text, there)) in keys.into_iter().enumerate() {
                if !there {
                    continue;
                }
                let middle = left + s(8);
                match i {
                    0 => area
                        .draw(&Rectangle::new([(left, y - s(6)), (left + s(16), y + s(6))], PALE.filled())),
                    1 => area
                        .draw(&Rectangle::new([(left, y - s(3)), (left + s(16), y + s(3))], INK[2].filled())),
                    _ => area.draw(&Cross::new((middle, y), s(5), INK[1].stroke_width(2 * scale))),
                }
                .map_err(refused)?;
                area.draw(&beside(text, (left + s(22), y), 11 * scale)).map_err(refused)?;
                // a letter of this font is about 0.6 of its size wide
                left += s(22 + 24 + (0.6 * 11.0 * text.chars().count() as f64) as u32);
            }
            Ok(())
        })
    })
}

/// What was before.
const PALE: RGBColor = RGBColor(205, 205, 205);

#[cfg(test)]
mod tests {
    use super::*;

    const WORDS: IntervalWords<'_> = IntervalWords {
        name: "intervals",
        title: "Invented",
        axis: "s",
        before: "before",
        now: "now",
        mark: "timed",
    };

    #[test]
    fn exact_bars_are_as_long_as_their_intervals() {
        let row = |before: Option<[f64; 3]>, now: [f64; 3]| IntervalRow {
            label: "friction".into(),
            before,
            now,
            mark: None,
            words: "w".into(),
        };
        let rows = [row(Some([0.0, -2.0, 2.0]), [0.5, -1.0, 1.0]), row(None, [0.0, -0.5, 0.5])];
        let svg = intervals(&WORDS, &rows).unwrap().svg;
        // from -2.2 to 2.2 on 840 px: 4 are 764, 2 are 382, 1 is 191 (rounding of an end: 1)
        for (width, height) in [(764, 32), (382, 12), (191, 12)] {
            let there =
                (width - 1..=width + 1).any(|w| svg.contains(&format!("width=\"{w}\" height=\"{height}\"")));
            assert!(there, "{width}\n{svg}");
        }
        assert!(svg.contains("before") && svg.contains("now") && !svg.contains("timed"));
    }

    #[test]
    fn exact_numbers_at_an_axis_are_round() {
        assert_eq!(round_numbers((-2.2, 2.2)), [-2.0, -1.0, 0.0, 1.0, 2.0]);
        let near: Vec<f64> = round_numbers((56.03, 57.3)).iter().map(|v| (v * 10.0).round() / 10.0).collect();
        assert_eq!(near, [56.5, 57.0]);
    }

    #[test]
    fn refuses_nothing_and_numbers_that_are_none() {
        assert!(matches!(intervals(&WORDS, &[]), Err(PictureError::Empty { .. })));
        let row = IntervalRow { now: [f64::NAN, 0.0, 0.0], ..IntervalRow::default() };
        assert!(matches!(intervals(&WORDS, &[row]), Err(PictureError::NotFinite { .. })));
    }
}
