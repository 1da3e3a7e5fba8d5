//! A log against the model, corner by corner.

use evidence::alignment::{Laid, Pair, local_lag_s};
use sled_dynamics::motion::corners::PRESSURE_G;
use sled_dynamics::motion::descent::Sample;
use sled_dynamics::motion::extremes::turning_points;
use track_geometry::track::Track;

/// Way before and after a corner that a lag is found over (s).
const BESIDE_S: f64 = 0.5;
/// Both are smoothed over this before pressures are counted (s): assumed.
const SMOOTH_S: f64 = 0.2;
/// A swing is what is left of the yaw rate beside its mean over this (s): assumed.
const SWING_S: f64 = 0.8;
/// A moment is marked where the yaw rate differs by so many of its usual differences, by so much (rad/s), for so long (s):
/// assumed.
const MARK_TIMES: f64 = 4.0;
const MARK_RAD_S: f64 = 0.26;
const MARK_S: f64 = 0.1;

/// A log, laid over a ride.
pub struct Over<'a> {
    /// The track.
    pub track: &'a Track,
    /// The ride from the first eye on.
    pub trace: &'a [Sample],
    /// Its time since the first eye (s).
    pub time_s: &'a [f64],
    /// Load (g) and yaw rate (rad/s) of the ride, evenly over time.
    pub model: &'a Pair,
    /// Those of the log.
    pub log: &'a Pair,
    /// How they lie.
    pub laid: &'a Laid,
}

impl Over<'_> {
    /// Station of the model at a time since the first eye (m).
    pub fn station_m(&self, time_s: f64) -> f64 {
        let i = self.time_s.partition_point(|t| *t < time_s).clamp(1, self.time_s.len() - 1);
        let (a, b) = (self.time_s[i - 1], self.time_s[i]);
        let (from, to) = (self.trace[i - 1].station_m, self.trace[i].station_m);
        from + (to - from) * ((time_s - a) / (b - a)).clamp(0.0, 1.0)
    }

    fn time_at(&self, station_m: f64) -> f64 {
        let i = self.trace.partition_point(|s| s.station_m < station_m).clamp(1, self.trace.len() - 1);
        let (a, b) = (&self.trace[i - 1], &self.trace[i]);
        let part = ((station_m - a.station_m) / (b.station_m - a.station_m)).clamp(0.0, 1.0);
        self.time_s[i - 1] + part * (self.time_s[i] - self.time_s[i - 1])
    }
}

/// One corner; pairs are log and model.
pub struct Corner {
    /// Its name.
    pub name: String,
    /// Time of its entry since the first eye (s).
    pub entry_s: Option<[f64; 2]>,
    /// Standard error of the log's (s).
    pub lag_error_s: Option<f64>,
    /// Mean speed from its entry to that of the next (km/h).
    pub speed_km_h: Option<[f64; 2]>,
    /// Greatest acceleration upwards (g), smoothed alike.
    pub greatest_g: [f64; 2],
    /// Peaks of it.
    pub pressures: [usize; 2],
    /// Root mean square of the yaw rate beside its running mean (deg/s).
    pub swing_deg_s: [f64; 2],
}

/// How far a peak of the load must stand out (g): as in `corners`, and beyond the noise of the sensor.
pub fn rise_g(laid: &Laid) -> f64 {
    PRESSURE_G.max(4.0 * laid.left[0])
}

/// All corners that the log covers.
pub fn corners(over: &Over<'_>) -> Vec<Corner> {
    let (laid, model) = (over.laid, over.model);
    let smooth = [over.log.smoothed(SMOOTH_S), model.smoothed(SMOOTH_S)];
    let slow = [over.log.smoothed(SWING_S), model.smoothed(SWING_S)];
    let lags: Vec<Option<(f64, f64)>> = over
        .track
        .data
        .corners
        .iter()
        .map(|c| {
            let (from, to) = (over.time_at(c.entry_m) - BESIDE_S, over.time_at(c.exit_m) + BESIDE_S);
            local_lag_s(&smooth[0], &smooth[1], laid, from, to, SMOOTH_S)
        })
        .collect();
    let rise = rise_g(laid);
    let [gain, bias] = laid.gain_and_bias[0];
    over.track
        .data
        .corners
        .iter()
        .zip(&lags)
        .enumerate()
        .map(|(i, (c, lag))| {
            let (from, to) = (over.time_at(c.entry_m), over.time_at(c.exit_m));
            let shift = lag.map_or(0.0, |l| l.0);
            let first = (from / model.step_s).ceil() as usize;
            let last = ((to / model.step_s) as usize).min(model.values.len().saturating_sub(1));
            let times: Vec<f64> = (first..=last).map(|k| model.time_s(k)).collect();
            let of = |which: usize, k: usize, slow: &[Pair; 2]| -> Vec<f64> {
                let at = |t: &f64| {
                    let place = if which == 0 { laid.log_s(*t) + shift } else { *t };
                    slow[which].at(place).map(|v| v[k])
                };
                times.iter().filter_map(at).collect()
            };
            let up = [of(0, 0, &smooth).iter().map(|v| (v - bias) / gain).collect(), of(1, 0, &smooth)];
            let swing = [0, 1].map(|which| {
                let (fast, mean) = (of(which, 1, &smooth), of(which, 1, &slow));
                let squares: f64 = fast.iter().zip(&mean).map(|(a, b)| (a - b).powi(2)).sum();
                (squares / fast.len().max(1) as f64).sqrt().to_degrees()
            });
            let log_s = |t: f64, lag: f64| laid.log_s(t) + lag - laid.log_s(0.0);
            let next = over.track.data.corners.get(i + 1).zip(lags.get(i + 1).copied().flatten());
            let speed_km_h = next.zip(*lag).map(|((n, (next_lag, _)), (lag, _))| {
                let (way, until) = (n.entry_m - c.entry_m, over.time_at(n.entry_m));
                [way / (log_s(until, next_lag) - log_s(from, lag)), way / (until - from)].map(|v| 3.6 * v)
            });
            Corner {
                name: c.name.clone(),
                entry_s: lag.map(|(lag, _)| [log_s(from, lag), from]),
                lag_error_s: lag.map(|l| l.1),
                speed_km_h,
                greatest_g: up.clone().map(|u: Vec<f64>| u.into_iter().fold(f64::NEG_INFINITY, f64::max)),
                pressures: up.map(|u| turning_points(&u, rise).iter().filter(|p| p.1).count()),
                swing_deg_s: swing,
            }
        })
        .collect()
}

/// A moment in which log and model turn differently.
pub struct Mark {
    /// Time since the first eye (s).
    pub time_s: f64,
    /// Station of the model then (m).
    pub station_m: f64,
    /// The corner, if it is one.
    pub corner: Option<String>,
    /// How long (s).
    pub long_s: f64,
    /// Greatest difference (deg/s).
    pub most_deg_s: f64,
}

/// Moments in which the yaw rate of the log is far from that of the model.
pub fn marks(over: &Over<'_>) -> Vec<Mark> {
    let (laid, model) = (over.laid, over.model);
    let smooth = [over.log.smoothed(SMOOTH_S), model.smoothed(SMOOTH_S)];
    let [gain, bias] = laid.gain_and_bias[1];
    let off: Vec<f64> = (0..model.values.len())
        .map(|i| {
            let log = smooth[0].at(laid.log_s(model.time_s(i)));
            log.map_or(0.0, |v| v[1] - bias - gain * smooth[1].values[i][1])
        })
        .collect();
    let mut sizes: Vec<f64> = off.iter().map(|v| v.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    // the median of sizes over that of a normal spread
    let usual = sizes.get(sizes.len() / 2).copied().unwrap_or(0.0) / 0.6745;
    let limit = MARK_RAD_S.max(MARK_TIMES * usual);
    let mut found: Vec<Mark> = vec![];
    let mut i = 0;
    while i < off.len() {
        let many = off[i..].iter().take_while(|v| v.abs() > limit).count();
        let long_s = many as f64 * model.step_s;
        if long_s >= MARK_S {
            let time_s = model.time_s(i);
            let station_m = over.station_m(time_s);
            let corner = over.track.data.corners.iter().find(|c| (c.entry_m..=c.exit_m).contains(&station_m));
            let most = off[i..i + many].iter().fold(0.0f64, |m, v| m.max(v.abs()));
            found.push(Mark {
                time_s,
                station_m,
                corner: corner.map(|c| c.name.clone()),
                long_s,
                most_deg_s: most.to_degrees(),
            });
        }
        i += many.max(1);
    }
    found
}
