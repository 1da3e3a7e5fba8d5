//! Where a runner presses on the ice, drawn as ink: rows are corners, the runner lies along the bottom.

use crate::chart::{INK, Picture, PictureError, both, on_sheet, refused};
use plotters::coord::Shift;
use plotters::prelude::*;

/// The contact of both runners under one load.
#[derive(Clone, Debug, PartialEq)]
pub struct ContactRow {
    /// What it is: corner, load, radius of the ice.
    pub label: String,
    /// Points along the runner from the rear (m).
    pub points_m: Vec<f64>,
    /// Line load between the points, left and right runner (N/m).
    pub line_load_n_m: [Vec<f64>; 2],
}

/// Rows of contact; marks at the pins and bow screws (m from the middle).
pub fn contact_ink(
    title: &str,
    rows: &[ContactRow],
    pin_m: f64,
    screw_m: f64,
) -> Result<Picture, PictureError> {
    if rows.is_empty() || rows.iter().any(|r| r.points_m.len() < 2) {
        return Err(PictureError::Empty { picture: "contact".into() });
    }
    both("contact", (1100, 130 + 34 * rows.len() as u32), |sheet| {
        on_sheet!(sheet, |area, scale| draw(area, scale, title, rows, pin_m, screw_m))
    })
}

fn draw<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    title: &str,
    rows: &[ContactRow],
    pin_m: f64,
    screw_m: f64,
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: i32| v * scale as i32;
    let font = |size: u32| ("sans-serif", size * scale).into_font();
    area.draw(&Text::new(title.to_string(), (s(14), s(10)), font(15))).map_err(refused)?;
    let tip = rows[0].points_m.iter().fold(0.0_f64, |t, x| t.max(x.abs()));
    let bottom = s(62 + 34 * rows.len() as i32);
    for (j, name) in ["left runner", "right runner"].into_iter().enumerate() {
        let (x0, width) = (s(250 + 425 * j as i32), f64::from(s(385)));
        let place = |x: f64| x0 + ((x + tip) / (2.0 * tip) * width) as i32;
        area.draw(&Text::new(name, (place(0.0) - s(30), s(36)), font(12))).map_err(refused)?;
        for (mark, text) in
            [(-pin_m, "pin"), (-screw_m, "screw"), (0.0, "0"), (screw_m, "screw"), (pin_m, "pin")]
        {
            let x = place(mark);
            let style = BLACK.mix(0.3).stroke_width(scale);
            area.draw(&PathElement::new(vec![(x, s(56)), (x, bottom)], style)).map_err(refused)?;
            area.draw(&Text::new(text, (x - s(12), bottom + s(4)), font(10))).map_err(refused)?;
            area.draw(&Text::new(format!("{mark:+.2}"), (x - s(14), bottom + s(18)), font(10)))
                .map_err(refused)?;
        }
        area.draw(&Text::new("rear", (place(-tip), bottom + s(36)), font(10))).map_err(refused)?;
        area.draw(&Text::new("m from the middle", (place(0.0) - s(44), bottom + s(36)), font(10)))
            .map_err(refused)?;
        area.draw(&Text::new("head", (place(tip) - s(24), bottom + s(36)), font(10))).map_err(refused)?;
        for (i, row) in rows.iter().enumerate() {
            let y = s(62 + 34 * i as i32);
            let baseline = y + s(28);
            area.draw(&PathElement::new(
                vec![(place(-tip), baseline), (place(tip), baseline)],
                INK[2].stroke_width(scale),
            ))
            .map_err(refused)?;
            let loads = &row.line_load_n_m[j];
            let top = loads.iter().copied().fold(1e-9, f64::max);
            for (w, q) in row.points_m.windows(2).zip(loads) {
                if *q <= 0.0 {
                    continue;
                }
                // height and blackness grow with the root of the pressure, so that light touch is seen
                let share = (q / top).sqrt();
                let high = (f64::from(s(24)) * share).max(f64::from(scale)) as i32;
                let grey = (190.0 * (1.0 - share)) as u8;
                let right = place(w[1]).max(place(w[0]) + 1);
                let ink = RGBColor(grey, grey, grey).filled();
                area.draw(&Rectangle::new([(place(w[0]), baseline - high), (right, baseline)], ink))
                    .map_err(refused)?;
            }
        }
    }
    for (i, row) in rows.iter().enumerate() {
        let y = s(62 + 34 * i as i32) + s(12);
        area.draw(&Text::new(row.label.clone(), (s(14), y), font(12))).map_err(refused)?;
    }
    Ok(())
}
