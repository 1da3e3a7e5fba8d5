//! A log of a run laid over a descent of the model: panels below each other over the station.

use crate::chart::{Picture, PictureError, both, on_sheet};
use crate::line::Line;
use crate::stacked::{Panel, Way, finite, height_of, stacked};
use track_geometry::track::Track;

/// One quantity, by the model and by the log.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidPanel<'a> {
    /// Label of the vertical axis, with the unit.
    pub label: &'a str,
    /// Station (m) and value, by the model.
    pub model: Vec<(f64, f64)>,
    /// The same by the log, where the model's clock puts it.
    pub log: Vec<(f64, f64)>,
}

/// The picture.
///
/// # Errors
/// No point at all, or a value that is not finite.
pub fn log_laid_over(track: &Track, title: &str, panels: &[LaidPanel<'_>]) -> Result<Picture, PictureError> {
    let name = "log";
    let stations = || panels.iter().flat_map(|p| p.model.iter().chain(&p.log)).map(|p| p.0);
    let ends = (stations().fold(f64::INFINITY, f64::min), stations().fold(f64::NEG_INFINITY, f64::max));
    if !(ends.1 > ends.0) {
        return Err(PictureError::Empty { picture: name.into() });
    }
    let drawn: Vec<Panel<'_>> = panels
        .iter()
        .enumerate()
        .map(|(i, p)| {
            // the first panel names the lines
            let word = |w| if i == 0 { w } else { "" };
            let lines =
                vec![Line::nth(0, word("log"), p.log.clone()), Line::nth(1, word("model"), p.model.clone())];
            Panel { label: p.label, lines, range: None }
        })
        .collect();
    finite(name, &drawn)?;
    let way = Way::of(track, ends);
    both(name, (1100, height_of(drawn.len(), 170)), |sheet| {
        on_sheet!(sheet, |area, scale| stacked(area, scale, title, &way, &drawn))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shipped::quillmere;

    #[test]
    fn exact_both_lines_are_drawn_and_named() {
        let line =
            |up: f64| (0..50).map(|i| (20.0 * f64::from(i), up + f64::from(i % 7))).collect::<Vec<_>>();
        let panel = LaidPanel { label: "up (g)", model: line(0.0), log: line(0.5) };
        let picture = log_laid_over(&quillmere(), "a log", std::slice::from_ref(&panel)).unwrap();
        for word in ["a log", "up (g)", ">\nlog", ">\nmodel"] {
            assert!(picture.svg.contains(word), "missing {word}");
        }
        let broken = LaidPanel { log: vec![(0.0, f64::NAN)], ..panel };
        assert!(log_laid_over(&quillmere(), "a log", &[broken]).is_err());
        assert!(log_laid_over(&quillmere(), "a log", &[]).is_err());
    }
}
