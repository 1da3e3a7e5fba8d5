//! What a corner caused, and where it showed: a row for each corner in which something went wrong.

use crate::chart::{Picture, PictureError, beside, both, centred, checked, on_sheet, refused};
use crate::descent_plan::two_sided;
use plotters::coord::Shift;
use plotters::prelude::*;

/// One row of the matrix.
#[derive(Clone, Debug, PartialEq)]
pub struct CauseRow {
    /// Where it was made: one of the columns, or other words for a row of another kind.
    pub name: String,
    /// Where it showed, a value for each column (ms).
    pub showed_ms: Vec<f64>,
}

impl CauseRow {
    fn name_in_words(&self, columns: &[String]) -> String {
        if columns.contains(&self.name) { format!("corner {}", self.name) } else { self.name.clone() }
    }
}

/// Milliseconds in few digits; nothing below a tenth.
fn told(v: f64) -> String {
    match v.abs() {
        a if a < 0.1 => String::new(),
        a if a < 9.95 => format!("{v:+.1}"),
        _ => format!("{v:+.0}"),
    }
}

const CELL: (u32, u32) = (56, 30);
const LEFT: u32 = 130;
const TOP: u32 = 84;
const SUM: u32 = 80;

/// Rows: where the fault was made. Columns: where the time showed on the clock. All in milliseconds, lost above zero.
///
/// # Errors
/// No rows or columns, a row of another length, or a value that is not finite.
pub fn cause_matrix(title: &str, columns: &[String], rows: &[CauseRow]) -> Result<Picture, PictureError> {
    let name = "causes";
    if rows.is_empty() || columns.is_empty() {
        return Err(PictureError::Empty { picture: name.into() });
    }
    for row in rows {
        checked(name, &format!("row {}", row.name), &row.showed_ms, columns.len())?;
    }
    let wide = LEFT + CELL.0 * columns.len() as u32 + SUM + 20;
    let high = TOP + CELL.1 * rows.len() as u32 + 46;
    both(name, (wide.max(620), high), |sheet| {
        on_sheet!(sheet, |area, scale| draw(area, scale, title, columns, rows))
    })
}

fn draw<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    scale: u32,
    title: &str,
    columns: &[String],
    rows: &[CauseRow],
) -> Result<(), PictureError>
where
    B::ErrorType: 'static,
{
    let s = |v: u32| (v * scale) as i32;
    let size = |v: u32| v * scale;
    let say = |text: &str, x: i32, y: i32, points: u32| {
        area.draw(&beside(text, (x, y), size(points))).map_err(refused)
    };
    say(title, s(14), s(18), 15)?;
    say("showed on the clock in", s(LEFT), s(48), 12)?;
    say("made in", s(14), s(70), 12)?;
    let middle = |i: usize| s(LEFT + CELL.0 * i as u32 + CELL.0 / 2);
    for (i, name) in columns.iter().enumerate() {
        area.draw(&centred(name, (middle(i), s(64)), size(11))).map_err(refused)?;
    }
    let sum_x = s(LEFT + CELL.0 * columns.len() as u32 + SUM / 2);
    area.draw(&centred("finish", (sum_x, s(64)), size(12))).map_err(refused)?;
    let most = rows.iter().flat_map(|r| &r.showed_ms).fold(1e-9_f64, |m, v| m.max(v.abs()));
    for (j, row) in rows.iter().enumerate() {
        let y = s(TOP + CELL.1 * j as u32);
        let text_y = y + s(8);
        say(&row.name_in_words(columns), s(14), y + s(CELL.1 / 2), 12)?;
        for (i, v) in row.showed_ms.iter().enumerate() {
            let x = s(LEFT + CELL.0 * i as u32);
            let cell = [(x, y), (x + s(CELL.0), y + s(CELL.1))];
            let share = 0.5 + 0.5 * v / most;
            // what rounds to nothing stays white
            let colour = if told(*v).is_empty() { WHITE } else { two_sided(share) };
            area.draw(&Rectangle::new(cell, colour.filled())).map_err(refused)?;
            area.draw(&Rectangle::new(cell, BLACK.mix(0.2).stroke_width(scale))).map_err(refused)?;
            area.draw(&centred(&told(*v), (middle(i), text_y), size(11))).map_err(refused)?;
        }
        let sum: f64 = row.showed_ms.iter().sum();
        area.draw(&centred(&told(sum), (sum_x, text_y), size(13))).map_err(refused)?;
    }
    // the corner's own column, if it has one, is framed
    for (j, row) in rows.iter().enumerate() {
        if let Some(i) = columns.iter().position(|c| *c == row.name) {
            let (x, y) = (s(LEFT + CELL.0 * i as u32), s(TOP + CELL.1 * j as u32));
            let frame = [(x, y), (x + s(CELL.0), y + s(CELL.1))];
            area.draw(&Rectangle::new(frame, BLACK.stroke_width(2 * scale))).map_err(refused)?;
        }
    }
    let foot = s(TOP + CELL.1 * rows.len() as u32 + 20);
    say(
        "milliseconds, + lost (orange), - gained (blue); framed: the corner itself; empty: below a tenth",
        s(14),
        foot,
        11,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_labels_and_faulty_input() {
        let columns = ["start", "1", "2"].map(String::from);
        let row = CauseRow { name: "1".into(), showed_ms: vec![0.0, 12.0, -30.4] };
        let picture = cause_matrix("invented", &columns, std::slice::from_ref(&row)).unwrap();
        for words in ["corner 1", "+12", "-30", "-18", "showed on the clock in"] {
            assert!(picture.svg.contains(words), "{words}");
        }
        let short = CauseRow { name: "1".into(), showed_ms: vec![0.0] };
        let fault = cause_matrix("", &columns, &[short]);
        assert!(matches!(fault, Err(PictureError::Uneven { expected: 3, got: 1, .. })));
        assert!(matches!(cause_matrix("", &columns, &[]), Err(PictureError::Empty { .. })));
        let bad = CauseRow { showed_ms: vec![0.0, f64::NAN, 0.0], ..row };
        assert!(matches!(cause_matrix("", &columns, &[bad]), Err(PictureError::NotFinite { row: 1, .. })));
    }
}
