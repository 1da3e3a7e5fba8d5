//! A value at each of a few named places, a line for each series: residuals section by section.

use crate::chart::{
    GREY, INK, Picture, PictureError, SHADE, beside, both, centred, on_sheet, range_of, refused, short,
};
use crate::intervals::round_numbers;
use plotters::prelude::*;

/// One series.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Series {
    /// Its name.
    pub label: String,
    /// Its value at each place; none where there is none.
    pub values: Vec<Option<f64>>,
    /// Places whose value is marked as far out.
    pub far: Vec<usize>,
}

/// Words of the picture.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaceWords<'a> {
    /// Name of its files, without ending.
    pub name: &'a str,
    /// Title.
    pub title: &'a str,
    /// The value with its unit.
    pub value: &'a str,
    /// What a ring is.
    pub far: &'a str,
}

/// Left margin, width of a place, legend, title, height, foot.
const SIZE: [u32; 6] = [80, 90, 120, 44, 300, 70];

/// Draws the series over their places.
///
/// # Errors
/// No place or series, a series that is not as long as there are places, or a value that is not finite.
pub fn by_place(
    words: &PlaceWords<'_>,
    places: &[String],
    series: &[Series],
) -> Result<Picture, PictureError> {
    let picture = || words.name.to_string();
    if places.is_empty() || series.iter().all(|s| s.values.iter().flatten().next().is_none()) {
        return Err(PictureError::Empty { picture: picture() });
    }
    for one in series {
        if one.values.len() != places.len() {
            let (expected, got) = (places.len(), one.values.len());
            return Err(PictureError::Uneven {
                picture: picture(),
                column: one.label.clone(),
                expected,
                got,
            });
        }
        if let Some(row) = one.values.iter().position(|v| v.is_some_and(|v| !v.is_finite())) {
            return Err(PictureError::NotFinite { picture: picture(), column: one.label.clone(), row });
        }
    }
    let up = range_of(series.iter().flat_map(|s| s.values.iter().flatten().copied()).chain([0.0]));
    let [left, place, right, head, high, foot] = SIZE;
    let wide = place * places.len() as u32;
    both(words.name, ((left + wide + right).max(620), head + high + foot), |sheet| {
        on_sheet!(sheet, |area, scale| {
            let s = |v: u32| (v * scale) as i32;
            let x = |i: usize| s(left + place * i as u32 + place / 2);
            let y =
                |v: f64| s(head + high) - ((v - up.0) / (up.1 - up.0) * f64::from(s(high))).round() as i32;
            let font = ("sans-serif", 16 * scale).into_font();
            area.draw(&Text::new(words.title.to_string(), (s(14), s(10)), font)).map_err(refused)?;
            for v in round_numbers(up) {
                let ink = if v == 0.0 { GREY } else { SHADE };
                let line = vec![(s(left), y(v)), (s(left + wide), y(v))];
                area.draw(&PathElement::new(line, ink.stroke_width(scale))).map_err(refused)?;
                area.draw(&beside(&short(v), (s(left - 42), y(v)), 10 * scale)).map_err(refused)?;
            }
            for (i, name) in places.iter().enumerate() {
                area.draw(&centred(name, (x(i), s(head + high + 6)), 10 * scale)).map_err(refused)?;
            }
            for (n, one) in series.iter().enumerate() {
                let ink = INK[n % INK.len()];
                let points = one.values.iter().enumerate().filter_map(|(i, v)| Some((x(i), y((*v)?))));
                let points: Vec<(i32, i32)> = points.collect();
                area.draw(&PathElement::new(points.clone(), ink.stroke_width(scale))).map_err(refused)?;
                for at in points {
                    area.draw(&Circle::new(at, s(3), ink.filled())).map_err(refused)?;
                }
                for i in &one.far {
                    let Some(v) = one.values.get(*i).copied().flatten() else { continue };
                    area.draw(&Circle::new((x(*i), y(v)), s(9), INK[1].stroke_width(2 * scale)))
                        .map_err(refused)?;
                }
                let (from, at) = (s(left + wide + 10), s(head + 10 + 16 * n as u32));
                let key = vec![(from, at), (from + s(20), at)];
                area.draw(&PathElement::new(key, ink.stroke_width(2 * scale))).map_err(refused)?;
                area.draw(&beside(&one.label, (from + s(26), at), 10 * scale)).map_err(refused)?;
            }
            let foot = s(head + high + 40);
            area.draw(&beside(words.value, (s(14), foot), 11 * scale)).map_err(refused)?;
            if series.iter().any(|s| !s.far.is_empty()) {
                area.draw(&Circle::new((s(23), foot + s(18)), s(7), INK[1].stroke_width(2 * scale)))
                    .map_err(refused)?;
                area.draw(&beside(words.far, (s(38), foot + s(18)), 11 * scale)).map_err(refused)?;
            }
            Ok(())
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const WORDS: PlaceWords<'_> =
        PlaceWords { name: "r", title: "Invented", value: "s slower", far: "far out" };

    #[test]
    fn exact_what_is_far_out_is_ringed_and_what_is_missing_left_out() {
        let places: Vec<String> = ["a", "b", "c"].map(String::from).to_vec();
        let one = |values: [Option<f64>; 3], far: Vec<usize>| Series {
            label: "run".into(),
            values: values.to_vec(),
            far,
        };
        let series =
            [one([Some(0.0), None, Some(0.1)], vec![]), one([Some(0.0), Some(1.0), Some(0.0)], vec![1])];
        let svg = by_place(&WORDS, &places, &series).unwrap().svg;
        // two and three points, one ring and the one that explains it
        assert_eq!((svg.matches("<circle").count(), svg.matches("r=\"18\"").count()), (7, 1));
        assert!(svg.contains("far out") && svg.contains("s slower"));
        let svg = by_place(&WORDS, &places, &series[..1]).unwrap().svg;
        assert!(!svg.contains("far out"));
    }

    #[test]
    fn refuses_what_does_not_fit() {
        let places = vec!["a".to_string()];
        let of = |values| Series { label: "run".into(), values, far: vec![] };
        assert!(matches!(by_place(&WORDS, &places, &[of(vec![None])]), Err(PictureError::Empty { .. })));
        let uneven = by_place(&WORDS, &places, &[of(vec![Some(0.0), Some(1.0)])]);
        assert!(matches!(uneven, Err(PictureError::Uneven { .. })));
        let nan = by_place(&WORDS, &places, &[of(vec![Some(f64::NAN)])]);
        assert!(matches!(nan, Err(PictureError::NotFinite { .. })));
    }
}
