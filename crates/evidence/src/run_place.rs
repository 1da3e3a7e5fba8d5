//! Where a run stands in its day, and how far start and ice may move a finish where runs do not say.

use crate::sheet::TimedRun;

/// Standard deviation of the drift of the ice (s per run): assumed.
pub(crate) const DRIFT_SD_S: f64 = 0.02;
/// Standard deviation of what a second of start time is worth at the finish (s per s): assumed, so wide that two runs tell.
pub(crate) const START_SD_S_PER_S: f64 = 3.0;
/// Standard deviation of what a degree of ice is worth at the finish (s per degC): assumed.
pub(crate) const ICE_SD_S_PER_C: f64 = 0.2;

/// Place of each run in its day, from 0, counted in runs: by the time of day where every run has one, else by the number
/// of the run of its athlete.
pub(crate) fn places_in_day(runs: &[&TimedRun]) -> Vec<f64> {
    let number = |i: usize| {
        let same = |r: &&&TimedRun| r.date == runs[i].date && r.athlete == runs[i].athlete;
        runs[..i].iter().filter(same).count() as f64
    };
    let clocks: Option<Vec<f64>> = runs.iter().map(|r| r.clock_h).collect();
    let Some(clocks) = clocks else { return (0..runs.len()).map(number).collect() };
    let first = |i: usize| {
        let day = (0..runs.len()).filter(|j| runs[*j].date == runs[i].date);
        day.map(|j| clocks[j]).fold(f64::INFINITY, f64::min)
    };
    // the usual time between two runs of one athlete
    let mut gaps: Vec<f64> = vec![];
    for i in 0..runs.len() {
        let same = |j: &usize| runs[*j].date == runs[i].date && runs[*j].athlete == runs[i].athlete;
        let next = (0..runs.len()).filter(same).map(|j| clocks[j] - clocks[i]).filter(|gap| *gap > 0.0);
        gaps.extend(Some(next.fold(f64::INFINITY, f64::min)).filter(|gap| gap.is_finite()));
    }
    gaps.sort_by(f64::total_cmp);
    let Some(gap) = gaps.get(gaps.len() / 2) else { return (0..runs.len()).map(number).collect() };
    (0..runs.len()).map(|i| (clocks[i] - first(i)) / gap).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_places_count_runs_or_follow_the_clock() {
        let run = |day, clock_h| TimedRun { date: Some((2026, 1, day)), clock_h, ..TimedRun::default() };
        let plain = [run(1, None), run(1, None), run(2, None)];
        assert_eq!(places_in_day(&plain.iter().collect::<Vec<_>>()), [0.0, 1.0, 0.0]);
        // half an hour is the usual gap; the third run comes an hour after the second
        let clocks = [9.0, 9.5, 10.5, 11.0].map(|h| run(1, Some(h)));
        assert_eq!(places_in_day(&clocks.iter().collect::<Vec<_>>()), [0.0, 1.0, 3.0, 4.0]);
    }
}
