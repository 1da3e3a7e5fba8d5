//! Where a runner presses on the ice, drawn as ink: rows are corners, the runner lies along the bottom.

use crate::chart::{INK, Picture, PictureError, both, centred, checked, on_sheet, refused};
use plotters::coord::Shift;
use plotters::prelude::*;

/// The contact of both runners under one load.
#[derive(Clone, Debug, PartialEq)]
pub struct ContactRow {
    /// What it is: corner, load, radius of the ice.
    pub label: String,
    /// Points along the runner from the rear (m).
    pub points_m: Vec<f64>,
    /// Line load between the points, left and right runner (N/m): one value less than points.
    pub line_load_n_m: [Vec<f64>; 2],
}

/// Rows of contact, all to one scale of line load; marks at the pins and bow screws (m from the middle).
///
/// # Errors
/// No rows, a row without points, columns of other lengths, or a value that is not finite.
pub fn contact_ink(
    title: &str,
    rows: &[ContactRow],
    pin_m: f64,
    screw_m: f64,
) -> Result<Picture, PictureError> {
    if rows.is_empty() || rows.iter().any(|r| r.points_m.len() < 2) {
        return Err(PictureError::Empty { picture: "contact".into() });
    }
    for row in rows {
        let n = row.points_m.len();
        checked("contact", &format!("points of {}", row.label), &row.points_m, n)?;
        for (side, loads) in ["left", "right"].iter().zip(&row.line_load_n_m) {
            checked("contact", &format!("{side} line load of {}", row.label), loads, n - 1)?;
        }
    }
    checked("contact", "pin and screw", &[pin_m, screw_m], 2)?;
    let sheet = Ink { title, rows, pin_m, screw_m };
    both("contact", (1100, 150 + ROW * rows.len() as u32), |s| {
        on_sheet!(s, |area, scale| sheet.draw(area, scale))
    })
}

/// Height of a row.
const ROW: u32 = 34;
/// Height of the greatest ink.
const TALL: f64 = 27.0;

struct Ink<'a> {
    title: &'a str,
    rows: &'a [ContactRow],
    pin_m: f64,
    screw_m: f64,
}

impl Ink<'_> {
    /// Half the length to be shown (m).
    fn tip_m(&self) -> f64 {
        let points = self.rows.iter().flat_map(|r| &r.points_m).chain([&self.pin_m, &self.screw_m]);
        points.fold(1e-3_f64, |t, x| t.max(x.abs()))
    }

    /// Greatest line load of all rows (N/m).
    fn top_n_m(&self) -> f64 {
        self.rows.iter().flat_map(|r| r.line_load_n_m.iter().flatten()).fold(1e-9_f64, |t, q| t.max(*q))
    }

    fn draw<B: DrawingBackend>(&self, area: &DrawingArea<B, Shift>, scale: u32) -> Result<(), PictureError>
    where
        B::ErrorType: 'static,
    {
        let s = |v: i32| v * scale as i32;
        let font = |size: u32| ("sans-serif", size * scale).into_font();
        area.draw(&Text::new(self.title.to_string(), (s(14), s(10)), font(15))).map_err(refused)?;
        let (tip, top) = (self.tip_m(), self.top_n_m());
        let bottom = s(62 + (ROW as i32) * self.rows.len() as i32);
        let row_y = |i: usize| s(62 + (ROW * i as u32) as i32);
        for (j, name) in ["left runner", "right runner"].into_iter().enumerate() {
            let (x0, width) = (s(250 + 425 * j as i32), f64::from(s(385)));
            let place = |x: f64| x0 + ((x + tip) / (2.0 * tip) * width).round() as i32;
            let say = |text: &str, x: f64, down: i32| {
                area.draw(&centred(text, (place(x), down), 10 * scale)).map_err(refused)
            };
            area.draw(&centred(name, (place(0.0), s(36)), 12 * scale)).map_err(refused)?;
            for (mark, text) in [
                (-self.pin_m, "pin"),
                (-self.screw_m, "screw"),
                (0.0, "middle"),
                (self.screw_m, "screw"),
                (self.pin_m, "pin"),
            ] {
                let up = vec![(place(mark), s(56)), (place(mark), bottom)];
                area.draw(&PathElement::new(up, BLACK.mix(0.3).stroke_width(scale))).map_err(refused)?;
                say(text, mark, bottom + s(4))?;
                say(&format!("{mark:.2}"), mark, bottom + s(18))?;
            }
            say("rear", -tip, bottom + s(36))?;
            say("along the runner (m)", 0.0, bottom + s(36))?;
            say("head", tip, bottom + s(36))?;
            for (i, row) in self.rows.iter().enumerate() {
                let base = row_y(i) + s(28);
                let ice = vec![(place(-tip), base), (place(tip), base)];
                area.draw(&PathElement::new(ice, INK[2].stroke_width(scale))).map_err(refused)?;
                for (w, q) in row.points_m.windows(2).zip(&row.line_load_n_m[j]) {
                    if *q <= 0.0 {
                        continue;
                    }
                    // height and blackness grow with the root of the load, so that light touch is seen
                    let share = (q / top).sqrt();
                    let high = (TALL * f64::from(scale) * share).max(f64::from(scale)).round() as i32;
                    let grey = (190.0 * (1.0 - share)) as u8;
                    let right = place(w[1]).max(place(w[0]) + 1);
                    let ink = RGBColor(grey, grey, grey).filled();
                    area.draw(&Rectangle::new([(place(w[0]), base - high), (right, base)], ink))
                        .map_err(refused)?;
                }
            }
        }
        for (i, row) in self.rows.iter().enumerate() {
            area.draw(&Text::new(row.label.clone(), (s(14), row_y(i) + s(12)), font(12))).map_err(refused)?;
        }
        let key = format!(
            "Height and blackness of the ink: root of the line load, one scale for all rows; the tallest is \
             {:.1} N/mm.",
            top / 1e3
        );
        area.draw(&Text::new(key, (s(14), bottom + s(60)), font(11))).map_err(refused)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(label: &str, load_n_m: f64) -> ContactRow {
        let points_m: Vec<f64> = (0..=40).map(|i| -0.4 + 0.02 * f64::from(i)).collect();
        let loads: Vec<f64> = (0..40).map(|i| if i % 10 < 3 { load_n_m } else { 0.0 }).collect();
        ContactRow { label: label.into(), points_m, line_load_n_m: [loads.clone(), loads] }
    }

    #[test]
    fn exact_labels_marks_and_same_bytes_twice() {
        let rows = [row("straight: 1.0 g, flat ice", 4000.0), row("corner 1: 4.0 g, ice radius 26 m", 16e3)];
        let picture = contact_ink("invented pair", &rows, 0.36, 0.2).unwrap();
        for words in ["left runner", "ice radius 26 m", "screw", "pin", "-0.36", "16.0 N/mm"] {
            assert!(picture.svg.contains(words), "{words}");
        }
        assert!(!picture.svg.contains("NaN"));
        assert_eq!(picture.png[16..20], 2200_u32.to_be_bytes());
        assert_eq!(picture, contact_ink("invented pair", &rows, 0.36, 0.2).unwrap());
    }

    #[test]
    fn exact_faulty_rows_are_told() {
        assert!(matches!(contact_ink("", &[], 0.36, 0.2), Err(PictureError::Empty { .. })));
        let mut short = row("a", 1.0);
        short.line_load_n_m[1].pop();
        let got = contact_ink("", &[short], 0.36, 0.2);
        assert!(matches!(got, Err(PictureError::Uneven { expected: 40, got: 39, .. })), "{got:?}");
        let mut bad = row("a", 1.0);
        bad.points_m[2] = f64::INFINITY;
        let got = contact_ink("", &[bad], 0.36, 0.2);
        assert!(matches!(got, Err(PictureError::NotFinite { row: 2, .. })), "{got:?}");
        let got = contact_ink("", &[row("a", 1.0)], f64::NAN, 0.2);
        assert!(matches!(got, Err(PictureError::NotFinite { row: 0, .. })), "{got:?}");
    }
}
