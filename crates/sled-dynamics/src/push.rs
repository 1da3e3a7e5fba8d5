//! The start: sprint, leap onto the sled, glide; and the sprint behind a start time.

use crate::setup::{Push, Sprint};
use crate::sprint::SprintLaw;

/// Range of top speeds to look in (m/s): slower and faster than anything on two legs.
const SLOWEST_M_S: f64 = 0.1;
const FASTEST_M_S: f64 = 100.0;
/// Halvings of the range; a double has 53 bits, and the range is three powers of ten.
const HALVINGS: usize = 64;

impl Push {
    /// Start time between two eyes (s) for a sprint, with leap and glide on a slope as even as its mean.
    ///
    /// ```text
    /// v(s_l)  = v_sprint(s_l) - dv
    /// v(s)^2  = v(s_l)^2 + 2 a (s - s_l)      t = t(s_l) + 2 (s - s_l) / (v(s_l) + v(s))      beyond s_l
    /// ```
    ///
    /// | symbol | argument | unit |
    /// |---|---|---|
    /// | `s_l`, dv | `load_station_m`, `load_loss_m_s` of the push | m, m/s |
    /// | a | `glide_m_s2`: acceleration while gliding, slope less friction and air | m/s2 |
    ///
    /// *Valid for* a start of even slope. *Assumes* constant acceleration of the glide, and that the sprint does
    /// not feel the leap before it. *Source*: kinematics; sprint as in [`SprintLaw`].
    /// *Checked by* `exact_start_time_in_parts`, `exact_sprint_behind_a_start_time`.
    pub fn start_time_s(&self, law: &SprintLaw, eyes_m: [f64; 2], glide_m_s2: f64) -> f64 {
        let [first_s, second_s] = eyes_m.map(|station_m| self.time_at_s(law, station_m, glide_m_s2));
        second_s - first_s
    }

    /// The sprint of this push: as given, or the one that makes the start time between two eyes, with the leap
    /// and an even glide between them as in [`Push::start_time_s`]. Not-a-number if no sprint does.
    pub fn sprint_law(&self, eyes_m: [f64; 2], glide_m_s2: f64) -> SprintLaw {
        let law = |top_speed_m_s| SprintLaw { top_speed_m_s, time_constant_s: self.time_constant_s };
        let wanted_s = match self.sprint {
            Sprint::TopSpeed(top_speed_m_s) => return law(top_speed_m_s),
            Sprint::StartTime(time_s) => time_s,
        };
        // Slower sprints take longer; one that stops in the leap takes for ever, and its time is not a number.
        let quick = |top_speed_m_s| self.start_time_s(&law(top_speed_m_s), eyes_m, glide_m_s2) <= wanted_s;
        let (mut slow, mut fast) = (SLOWEST_M_S, FASTEST_M_S);
        if quick(slow) || !quick(fast) {
            return law(f64::NAN);
        }
        for _ in 0..HALVINGS {
            let middle = 0.5 * (slow + fast);
            if quick(middle) { fast = middle } else { slow = middle }
        }
        // The range may have closed in on a sprint that stops in the leap instead of on the time.
        let misses = (self.start_time_s(&law(fast), eyes_m, glide_m_s2) - wanted_s).abs() > 1e-9 * wanted_s;
        law(if misses { f64::NAN } else { fast })
    }

    /// Time at a station since the first step (s).
    fn time_at_s(&self, law: &SprintLaw, station_m: f64, glide_m_s2: f64) -> f64 {
        let way_m = station_m - self.load_station_m;
        if way_m <= 0.0 {
            return law.time_at_s(station_m);
        }
        let loaded_m_s = law.speed_at_m_s(self.load_station_m) - self.load_loss_m_s;
        let here_m_s = (loaded_m_s * loaded_m_s + 2.0 * glide_m_s2 * way_m).sqrt();
        if loaded_m_s <= 0.0 {
            return f64::NAN;
        }
        law.time_at_s(self.load_station_m) + 2.0 * way_m / (loaded_m_s + here_m_s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LAW: SprintLaw = SprintLaw { top_speed_m_s: 11.0, time_constant_s: 1.3 };
    const EYES_M: [f64; 2] = [15.0, 65.0];

    fn push(sprint: Sprint) -> Push {
        Push { sprint, time_constant_s: 1.3, load_station_m: 35.0, load_loss_m_s: 0.1 }
    }

    #[test]
    fn exact_start_time_in_parts() {
        // The leap after the second eye: the sprint alone.
        let late = Push { load_station_m: 70.0, ..push(Sprint::TopSpeed(11.0)) };
        assert_eq!(late.start_time_s(&LAW, EYES_M, 1.0), LAW.time_between_s(15.0, 65.0));
        // An even glide without acceleration: 30 m at the speed left; rounding only.
        let even = push(Sprint::TopSpeed(11.0)).start_time_s(&LAW, EYES_M, 0.0);
        let by_hand = LAW.time_between_s(15.0, 35.0) + 30.0 / (LAW.speed_at_m_s(35.0) - 0.1);
        assert!((even - by_hand).abs() < 1e-13);
        // With acceleration: the speed grows by a t, so 30 = v t + a t^2/2; rounding only.
        let glide_s =
            push(Sprint::TopSpeed(11.0)).start_time_s(&LAW, EYES_M, 0.9) - LAW.time_between_s(15.0, 35.0);
        let way = (LAW.speed_at_m_s(35.0) - 0.1) * glide_s + 0.45 * glide_s * glide_s;
        assert!((way - 30.0).abs() < 1e-12);
    }

    #[test]
    fn exact_sprint_behind_a_start_time() {
        assert_eq!(push(Sprint::TopSpeed(11.0)).sprint_law(EYES_M, 0.9), LAW); // as given
        for glide_m_s2 in [-0.2, 0.0, 0.9] {
            for time_s in [4.59, 4.9, 5.29] {
                let push = push(Sprint::StartTime(time_s));
                let law = push.sprint_law(EYES_M, glide_m_s2);
                // The start time moves by about 0.5 s per m/s, so rounding of the speed stays rounding.
                assert!((push.start_time_s(&law, EYES_M, glide_m_s2) - time_s).abs() < 1e-13);
            }
        }
    }

    #[test]
    fn exact_impossible_starts_are_not_a_number() {
        for (time_s, glide) in [(1e-3, 0.9), (f64::NAN, 0.9), (4.9, f64::NAN), (1000.0, 0.9)] {
            assert!(
                push(Sprint::StartTime(time_s)).sprint_law(EYES_M, glide).top_speed_m_s.is_nan(),
                "{time_s}"
            );
        }
    }
}
