//! The shape of bowed runners with the readings that it was fitted to, heights magnified.

use crate::chart::{GREY, INK, Picture, PictureError, beside, both, centred, checked, on_sheet, refused};
use plotters::coord::Shift;
use plotters::prelude::*;

/// One runner.
#[derive(Clone, Debug, PartialEq)]
pub struct RunnerShape {
    /// Which runner.
    pub label: String,
    /// Places along the runner, from the rear (m).
    pub places_m: Vec<f64>,
    /// How far the fitted runner stands towards the ice there (m).
    pub drop_m: Vec<f64>,
    /// Half the band of that (m).
    pub band_m: Vec<f64>,
    /// The same drop by what the set-up says (m); may be empty.
    pub said_m: Vec<f64>,
    /// Readings: place, drop, its error (m).
    pub readings_m: Vec<[f64; 3]>,
}

/// Runners below one another, all magnified alike; marks at the pins and bow screws (m from the middle).
///
/// # Errors
/// No runners, columns of other lengths, or a value that is not finite.
pub fn bow_shape(
    title: &str,
    shapes: &[RunnerShape],
    pin_m: f64,
    screw_m: f64,
) -> Result<Picture, PictureError> {
    const NAME: &str = "bow_shape";
    if shapes.is_empty() || shapes.iter().any(|s| s.places_m.len() < 2) {
        return Err(PictureError::Empty { picture: NAME.into() });
    }
    for s in shapes {
        let n = s.places_m.len();
        let column = |what: &str| format!("{what} of {}", s.label);
        checked(NAME, &column("places"), &s.places_m, n)?;
        checked(NAME, &column("drop"), &s.drop_m, n)?;
        checked(NAME, &column("band"), &s.band_m, n)?;
        if !s.said_m.is_empty() {
            checked(NAME, &column("set-up"), &s.said_m, n)?;
        }
        let flat: Vec<f64> = s.readings_m.iter().flatten().copied().collect();
        checked(NAME, &column("readings"), &flat, flat.len())?;
    }
    checked(NAME, "pin and screw", &[pin_m, screw_m], 2)?;
    let sheet = Shapes { title, shapes, marks_m: [-pin_m, -screw_m, screw_m, pin_m] };
    both(NAME, (WIDE as u32, (HEAD + TALL * shapes.len() as i32 + FOOT) as u32), |s| {
        on_sheet!(s, |area, scale| sheet.draw(area, scale as i32))
    })
}

const WIDE: i32 = 960;
const HEAD: i32 = 66;
const TALL: i32 = 250;
const FOOT: i32 = 64;
/// Where the runner begins and how long it is drawn.
const ALONG: [i32; 2] = [90, 780];

struct Shapes<'a> {
    title: &'a str,
    shapes: &'a [RunnerShape],
    marks_m: [f64; 4],
}

impl Shapes<'_> {
    fn tip_m(&self) -> f64 {
        let places = self.shapes.iter().flat_map(|s| &s.places_m).chain(&self.marks_m);
        places.fold(1e-3, |t: f64, x| t.max(x.abs()))
    }

    /// Least and greatest drop that is drawn (m).
    fn range_m(&self) -> [f64; 2] {
        let mut range = [0.0_f64, 5e-4];
        let mut see = |v: f64| range = [range[0].min(v), range[1].max(v)];
        for s in self.shapes {
            for (d, b) in s.drop_m.iter().zip(&s.band_m) {
                see(d - b);
                see(d + b);
            }
            s.said_m.iter().for_each(|d| see(*d));
            s.readings_m.iter().for_each(|[_, d, e]| {
                see(d - e);
                see(d + e);
            });
        }
        range
    }

    fn draw<B: DrawingBackend>(&self, area: &DrawingArea<B, Shift>, scale: i32) -> Result<(), PictureError>
    where
        B::ErrorType: 'static,
    {
        let s = |v: i32| v * scale;
        let size = |v: i32| (v * scale) as u32;
        let line = |points: Vec<(i32, i32)>, style: ShapeStyle| {
            area.draw(&PathElement::new(points, style)).map_err(refused)
        };
        area.draw(&Text::new(self.title.to_string(), (s(14), s(10)), ("sans-serif", size(16)).into_font()))
            .map_err(refused)?;
        let (tip, [least, most]) = (self.tip_m(), self.range_m());
        let per_m = f64::from(s(TALL - 60)) / (most - least);
        let along_per_m = f64::from(s(ALONG[1])) / (2.0 * tip);
        let place = |x: f64| s(ALONG[0]) + ((x + tip) * along_per_m).round() as i32;
        let times = per_m / along_per_m;
        let step_m = tick_m(most - least);
        self.legend(area, scale)?;
        for (i, shape) in self.shapes.iter().enumerate() {
            let top = s(HEAD + TALL * i as i32 + 30);
            let down = |d: f64| top + ((d - least) * per_m).round() as i32;
            area.draw(&beside(&shape.label, (s(14), top - s(18)), size(13))).map_err(refused)?;
            let mut tick = (least / step_m).ceil();
            while tick * step_m <= most {
                let y = down(tick * step_m);
                let faint = if tick == 0.0 {
                    GREY.stroke_width(size(1))
                } else {
                    BLACK.mix(0.12).stroke_width(size(1))
                };
                line(vec![(place(-tip), y), (place(tip), y)], faint)?;
                area.draw(&beside(&format!("{:.1}", 1e3 * tick * step_m + 0.0), (s(52), y), size(11)))
                    .map_err(refused)?;
                tick += 1.0;
            }
            for mark in self.marks_m {
                line(
                    vec![(place(mark), top), (place(mark), down(most))],
                    BLACK.mix(0.25).stroke_width(size(1)),
                )?;
            }
            let edge = |sign: f64| {
                let columns = shape.places_m.iter().zip(&shape.drop_m).zip(&shape.band_m);
                columns.map(move |((x, d), b)| (place(*x), down(d + sign * b))).collect::<Vec<_>>()
            };
            let ring: Vec<_> = edge(-1.0).into_iter().chain(edge(1.0).into_iter().rev()).collect();
            area.draw(&Polygon::new(ring, INK[2].mix(0.25).filled())).map_err(refused)?;
            line(edge(0.0), INK[2].stroke_width(size(2)))?;
            let said: Vec<_> =
                shape.places_m.iter().zip(&shape.said_m).map(|(x, d)| (place(*x), down(*d))).collect();
            // dashes: every other pair of places
            for pair in said.windows(2).step_by(2) {
                line(pair.to_vec(), INK[1].stroke_width(size(1)))?;
            }
            for [x, d, e] in &shape.readings_m {
                let (x, bar) = (place(*x), BLACK.stroke_width(size(1)));
                line(vec![(x, down(d - e)), (x, down(d + e))], bar)?;
                for end in [d - e, d + e] {
                    line(vec![(x - s(3), down(end)), (x + s(3), down(end))], bar)?;
                }
                area.draw(&Circle::new((x, down(*d)), s(3), BLACK.filled())).map_err(refused)?;
            }
        }
        let foot = s(HEAD + TALL * self.shapes.len() as i32);
        for (mark, text) in self.marks_m.into_iter().zip(["pin", "screw", "screw", "pin"]) {
            area.draw(&centred(&format!("{text} {:.0}", 1e3 * mark), (place(mark), foot + s(2)), size(10)))
                .map_err(refused)?;
        }
        for (x, text) in [(-tip, "rear"), (0.0, "along the runner (mm)"), (tip, "head")] {
            area.draw(&centred(text, (place(x), foot + s(20)), size(11))).map_err(refused)?;
        }
        let key = format!(
            "Drop of the runner towards the ice, downwards, in mm; drawn {times:.0} times as large as lengths along the runner."
        );
        area.draw(&beside(&key, (s(14), foot + s(50)), size(11))).map_err(refused)
    }

    fn legend<B: DrawingBackend>(&self, area: &DrawingArea<B, Shift>, scale: i32) -> Result<(), PictureError>
    where
        B::ErrorType: 'static,
    {
        let s = |v: i32| v * scale;
        let y = s(46);
        let say =
            |x: i32, text: &str| area.draw(&beside(text, (s(x + 36), y), 11 * scale as u32)).map_err(refused);
        let bar = |x: i32, style: ShapeStyle| {
            area.draw(&PathElement::new(vec![(s(x), y), (s(x + 30), y)], style)).map_err(refused)
        };
        bar(90, INK[2].mix(0.25).stroke_width(10 * scale as u32))?;
        bar(90, INK[2].stroke_width(2 * scale as u32))?;
        say(90, "fitted, with 95 % band")?;
        area.draw(&Circle::new((s(328), y), s(3), BLACK.filled())).map_err(refused)?;
        say(305, "reading with its error")?;
        if self.shapes.iter().any(|shape| !shape.said_m.is_empty()) {
            for part in [520, 532, 544] {
                let dash = vec![(s(part), y), (s(part + 7), y)];
                area.draw(&PathElement::new(dash, INK[1].stroke_width(scale as u32))).map_err(refused)?;
            }
            say(520, "as the set-up says")?;
        }
        Ok(())
    }
}

/// A round step with about five ticks (m).
fn tick_m(range_m: f64) -> f64 {
    let steps = [1e-4, 2e-4, 5e-4, 1e-3, 2e-3, 5e-3];
    steps.into_iter().find(|step| range_m / step <= 8.0).unwrap_or(1e-2)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shape(label: &str) -> RunnerShape {
        let places_m: Vec<f64> = (0..=20).map(|i| -0.42 + 0.042 * f64::from(i)).collect();
        let drop_m: Vec<f64> = places_m.iter().map(|x| 1e-3 * (1.0 - x * x / 0.13)).collect();
        RunnerShape {
            label: label.into(),
            band_m: vec![2e-5; places_m.len()],
            said_m: drop_m.clone(),
            readings_m: vec![[0.0, 1.01e-3, 3e-5], [0.2, 0.7e-3, 3e-5]],
            drop_m,
            places_m,
        }
    }

    #[test]
    fn exact_labels_scale_and_same_bytes_twice() {
        let shapes = [shape("left runner"), shape("right runner")];
        let picture = bow_shape("Bow (invented)", &shapes, 0.36, 0.2).unwrap();
        for words in
            ["left runner", "right runner", "screw 200", "pin -360", "95 % band", "times as large", "set-up"]
        {
            assert!(picture.svg.contains(words), "{words}");
        }
        assert!(!picture.svg.contains("NaN"));
        assert_eq!(picture.png[16..20], 1920_u32.to_be_bytes());
        assert_eq!(picture, bow_shape("Bow (invented)", &shapes, 0.36, 0.2).unwrap());
    }

    #[test]
    fn exact_faulty_shapes_are_told() {
        assert!(matches!(bow_shape("", &[], 0.36, 0.2), Err(PictureError::Empty { .. })));
        let mut short = shape("a");
        short.band_m.pop();
        let got = bow_shape("", &[short], 0.36, 0.2);
        assert!(matches!(got, Err(PictureError::Uneven { expected: 21, got: 20, .. })), "{got:?}");
        let mut bad = shape("a");
        bad.readings_m[1][2] = f64::NAN;
        let got = bow_shape("", &[bad], 0.36, 0.2);
        assert!(matches!(got, Err(PictureError::NotFinite { row: 5, .. })), "{got:?}");
    }
}
