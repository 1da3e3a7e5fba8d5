//! Pictures of a sweep in small panels: the finish time, and the time less that of the reference, a panel for each
//! temperature of the ice or for each value of the second axis.

use crate::study::against::Against;
use crate::study::sweep_pictures::Drawn;
use numerics::points::grid_place;
use pictures::small_multiples::{Panel, PanelLine, PanelWords, small_multiples};
use pictures::{Picture, PictureError};

/// Most panels, and most lines in one.
const MOST_PANELS: usize = 10;
const MOST_LINES: usize = 4;

/// A point of a line: its height, and the ends of its bar.
type Point = (f64, f64, f64);

impl Drawn<'_> {
    /// Which axis has a panel for each of its values: the temperature of the ice, or else the second.
    fn panel_axis(&self) -> Option<usize> {
        let ice = self.axes().iter().position(|a| a.quantity.path() == "ice.temperature_c");
        ice.filter(|i| *i > 0).or((self.axes().len() > 1).then_some(1))
    }

    /// Panels over the first axis with what `of` makes of each case.
    fn panels(&self, of: impl Fn(usize) -> Option<Point>) -> Vec<Panel> {
        let axis = self.panel_axis();
        // label of the panel, label of the line, points
        let mut panels: Vec<Panel> = Vec::new();
        for case in 0..self.times.len() {
            let place = grid_place(case, &self.lengths);
            let others: Vec<usize> = (1..place.len()).filter(|i| Some(*i) != axis).collect();
            let words = |i: &usize| self.words(&self.axes()[*i], place[*i], others.len());
            let label = axis.map_or(String::new(), |i| self.words(&self.axes()[i], place[i], 1));
            let line = others.iter().map(words).collect::<Vec<_>>().join(", ");
            let panel = match panels.iter().position(|p| p.label == label) {
                Some(i) => &mut panels[i],
                None => {
                    panels.push(Panel { label, lines: vec![] });
                    let last = panels.len() - 1;
                    &mut panels[last]
                }
            };
            let line = match panel.lines.iter().position(|l| l.label == line) {
                Some(i) => &mut panel.lines[i],
                None => {
                    panel.lines.push(PanelLine { label: line, ..PanelLine::default() });
                    let last = panel.lines.len() - 1;
                    &mut panel.lines[last]
                }
            };
            if let Some((up, low, high)) = of(case) {
                line.points.push((self.at(0, case), up));
                line.bars.push((low, high));
            }
        }
        for line in panels.iter_mut().flat_map(|p| &mut p.lines) {
            let mut both: Vec<_> = line.points.iter().copied().zip(line.bars.iter().copied()).collect();
            both.sort_by(|a, b| a.0.0.total_cmp(&b.0.0));
            (line.points, line.bars) = both.into_iter().unzip();
        }
        panels.retain(|p| p.lines.iter().any(|l| !l.points.is_empty()));
        panels.truncate(MOST_PANELS);
        panels.iter_mut().for_each(|p| p.lines.truncate(MOST_LINES));
        panels
    }

    fn drawn(
        &self,
        name: &str,
        title: &str,
        quantity: &str,
        panels: &[Panel],
    ) -> Result<Picture, PictureError> {
        let parameter = self.axes()[0].label();
        small_multiples(
            &PanelWords { name, title: &self.title(title), parameter: &parameter, quantity },
            panels,
        )
    }

    /// The finish time with its bar; none for a study of one axis, whose curve is all there is.
    pub(crate) fn time_panels(&self) -> Result<Option<Picture>, PictureError> {
        if self.axes().len() < 2 {
            return Ok(None);
        }
        let column = |name: &str| self.table.numbers(name);
        let rides = self.study.file.rides.per_case;
        let (panels, title, quantity) = if rides > 0 {
            let [up, low, high] = ["median_time_s", "p10_time_s", "p90_time_s"].map(column);
            let high = self.up_to_the_lost(&high);
            let of = |case: usize| Some((up[case]?, low[case]?, high[case]?));
            let title = format!("median of {rides} rides, lost ones last,");
            (self.panels(of), title, "finish time (s), bar from 10 to 90 %, to the top where lost")
        } else {
            let errors = column("numerical_error_s");
            let of = |case: usize| {
                let (time, error) = (self.times[case]?, errors[case].unwrap_or(0.0));
                Some((time, time - error, time + error))
            };
            (self.panels(of), "finish time".to_string(), "finish time (s), bar: numerical error")
        };
        if panels.is_empty() {
            return Ok(None);
        }
        self.drawn("finish_time_panels", &title, quantity, &panels).map(Some)
    }

    /// The time less that of the reference, ride by ride; none without rides.
    pub(crate) fn differences(&self) -> Result<Option<Picture>, PictureError> {
        let against = self.study.against();
        let names = ["difference_s", "difference_low_s", "difference_high_s"];
        let [up, low, high] = names.map(|name| self.table.numbers(name));
        let at = |column: &[Option<f64>], case: usize| column.get(case).copied().flatten();
        let panels = self.panels(|case| Some((at(&up, case)?, at(&low, case)?, at(&high, case)?)));
        if against == Against::Nothing || panels.is_empty() {
            return Ok(None);
        }
        let title = format!("less {}, ride by ride,", against.words());
        let quantity = "difference of time (s), bar: 95 %; where it crosses 0 the rides cannot tell, none where it falls among lost rides";
        self.drawn("difference", &title, quantity, &panels).map(Some)
    }
}
