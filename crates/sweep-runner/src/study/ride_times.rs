//! The times of rides in the table, which the rule of choice needs, and which studies keep them.

use crate::rides::ensemble::{Ensemble, RideRow};
use crate::study::Study;
use crate::study::file::Design;

/// The column of the times of all rides.
pub(crate) const TIMES: (&str, &str) = (
    "ride_times_s",
    "First to last eye, ride by ride in the order of their numbers, with spaces between; lost where control is lost",
);
/// A lost ride in that column.
const LOST: &str = "lost";
/// Fewest rides of a case that give a band.
const FEWEST_RIDES: usize = 6;
/// Most rides of a whole study whose times are kept: some 18 MB.
pub(crate) const MOST_RIDES: usize = 1_000_000;

impl Study {
    /// Place of the axis that is chosen: the one number of the set-up that a grid with rides varies.
    pub(crate) fn chosen_axis(&self) -> Option<usize> {
        let axes = &self.file.axes;
        let mut ours = axes.iter().enumerate().filter(|(_, a)| !a.quantity.is_condition());
        let (place, axis) = ours.next()?;
        let a_run = self.file.design == Design::Grid && axis.levels.grid_length() > Some(1);
        (a_run && ours.next().is_none() && self.file.rides.per_case >= FEWEST_RIDES).then_some(place)
    }

    /// True where the times of the rides are kept for a choice.
    pub(crate) fn keeps_times(&self) -> bool {
        self.chosen_axis().is_some() && self.cases().saturating_mul(self.file.rides.per_case) <= MOST_RIDES
    }
}

/// The times of all rides as a cell.
pub(crate) fn times_cell(rides: &Ensemble) -> String {
    let time = |r: &RideRow| r.finish_time_s.map_or(LOST.to_string(), |t| t.to_string());
    rides.rides.iter().map(time).collect::<Vec<_>>().join(" ")
}

/// The rides of such a cell; none where it is empty. The rule of choice asks for nothing but their times.
pub(crate) fn rides_of(cell: &str) -> Option<Ensemble> {
    let row = |t: &str| RideRow { finish_time_s: t.parse().ok(), touches: 0, lip_touches: 0, lost: None };
    let rides: Vec<RideRow> = cell.split_whitespace().map(row).collect();
    (!rides.is_empty()).then_some(Ensemble { planned_time_s: None, rides })
}
