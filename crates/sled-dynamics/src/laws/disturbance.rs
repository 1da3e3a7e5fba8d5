//! What turns and pushes a sled although nobody steers: air, a head that moves, ruts and unevenness of the ice.
//!
//! ```text
//!   M(s) = M_rms sqrt(1/2) [ A(t(s)) + e R(s) ],    F(s) = 3 N/(N m) M_rms sqrt(1/2) [ A'(t(s)) + e R'(s) ]
//!   A = sqrt(2/n) sum sin(2 pi f_i t + a_i)         air and head:       f_i from 0.4 to 3 Hz;  A' with cos
//!   R = sqrt(2/n) sum sin(2 pi s/l_i + b_i)         ruts, unevenness:   l_i from 2 to 20 m;   R' with cos
//!   dt/ds = 1/v,  v = max(0.85 sqrt(2 g drop), 8 m/s)        nominal time, the same for every sled
//! ```
//!
//! | symbol | name | unit |
//! |---|---|---|
//! | M_rms | `moment_rms_n_m`, of the athlete's skill | N m |
//! | e | `rut_factor`, of the ice | - |
//! | s | station | m |
//! | n | [`WAVES`] of each kind | - |
//!
//! The field hangs on station, seed and number of the ride alone, so every set-up that is compared meets the same one.
//! The power goes into the ledger as `disturbance_j`.
//! *Valid for* a sled near the usual line. *Assumes* that half of the square of the moment comes from the ice at a
//! factor of one, that the better athlete finds the smoother ice and keeps the head still, and that side force goes
//! with moment. *Source*: assumed, all of it; sizes from drag that acts some centimetres beside the middle.
//! *Checked by* `exact_spread_and_bands_of_a_field`, `conserves_energy_with_disturbance`.

use numerics::turns::sin_cos_turns;
use track_geometry::track::Track;

/// Waves of each kind.
pub(crate) const WAVES: usize = 6;
/// Frequencies of air and head (Hz).
pub(crate) const AIR_HZ: [f64; 2] = [0.4, 3.0];
/// Wavelengths of ruts and unevenness (m).
pub(crate) const RUT_M: [f64; 2] = [2.0, 20.0];
/// Side force for each newton metre of yaw moment (N per N m), assumed.
pub(crate) const SIDE_PER_MOMENT_PER_M: f64 = 3.0;
/// Nominal speed over that of a fall without loss `[-]`, and the least of it (m/s), both assumed.
const NOMINAL_SHARE: f64 = 0.85;
const LEAST_NOMINAL_M_S: f64 = 8.0;
/// Spacing of the nominal time (m).
const SPACING_M: f64 = 2.0;

/// A time for every station that hangs on the track alone.
#[derive(Clone, Debug, PartialEq)]
pub struct NominalTime {
    /// Time (s) and time for a metre (s/m), every 2 m.
    rows: Vec<[f64; 2]>,
}

impl NominalTime {
    /// The nominal time of a track from its block.
    pub fn new(track: &Track) -> NominalTime {
        let elevation_m = |s: f64| track.surface.station(s).patch(0.0).elevation_m;
        let top_m = elevation_m(0.0);
        let many = (track.finish_m() / SPACING_M).ceil() as usize + 1;
        let mut time_s = 0.0;
        let mut rows: Vec<[f64; 2]> = Vec::with_capacity(many);
        for i in 0..many {
            let drop_m = (top_m - elevation_m((i as f64 * SPACING_M).min(track.finish_m()))).max(0.0);
            let fall_m_s = (2.0 * crate::laws::gravity::STANDARD_GRAVITY_M_S2 * drop_m).sqrt();
            let per_m = 1.0 / (NOMINAL_SHARE * fall_m_s).max(LEAST_NOMINAL_M_S);
            if let Some(last) = rows.last() {
                time_s += 0.5 * SPACING_M * (last[1] + per_m);
            }
            rows.push([time_s, per_m]);
        }
        NominalTime { rows }
    }

    /// The time at a station (s): a parabola in each interval, since the rate is a straight line there.
    #[inline]
    pub(crate) fn at_s(&self, station_m: f64) -> f64 {
        let place = (station_m / SPACING_M).max(0.0);
        let i = (place as usize).min(self.rows.len().saturating_sub(2));
        let (Some(a), Some(b)) = (self.rows.get(i), self.rows.get(i + 1)) else { return 0.0 };
        let x = place - i as f64;
        a[0] + SPACING_M * x * (a[1] + 0.5 * x * (b[1] - a[1]))
    }
}

impl NominalTime {
    /// Nominal speed at a station (m/s).
    #[inline]
    pub fn speed_m_s(&self, station_m: f64) -> f64 {
        let i = ((station_m / SPACING_M).max(0.0) as usize).min(self.rows.len().saturating_sub(1));
        self.rows.get(i).map_or(LEAST_NOMINAL_M_S, |r| 1.0 / r[1])
    }
}

/// One sum of waves in `[-]`, with a root mean square of one.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Waves {
    /// Turns for each unit of the abscissa.
    turns: [f64; WAVES],
    /// Phase (turns).
    phase: [f64; WAVES],
}

impl Waves {
    /// Evenly over the logarithm of the band, each a little aside, with any phase.
    fn draw(least: f64, most: f64, uniform: &mut impl FnMut() -> f64) -> Waves {
        let ratio = most / least;
        let mut waves = Waves { turns: [0.0; WAVES], phase: [0.0; WAVES] };
        for i in 0..WAVES {
            let place = (i as f64 + uniform()) / WAVES as f64;
            waves.turns[i] = least * ratio.powf(place);
            waves.phase[i] = uniform();
        }
        waves
    }

    /// The sum, and the same a quarter of each wave ahead.
    #[inline]
    fn at(&self, x: f64) -> [f64; 2] {
        let (sin, cos) = sin_cos_turns::<WAVES>(std::array::from_fn(|i| self.turns[i] * x + self.phase[i]));
        let (sum, ahead): (f64, f64) = (sin.iter().sum(), cos.iter().sum());
        let size = (2.0 / WAVES as f64).sqrt();
        [size * sum, size * ahead]
    }
}

/// A course that comes out wrong, as the corner before let the sled go: it is turned, sled and way together.
///
/// ```text
///   psi' = psi_k/T (1 - cos(2 pi t/T)),   F = m v psi',   M = I psi''       from t = 0 to T, nominal time and speed
/// ```
///
/// with m and I of a usual sled ([`USUAL_MASS_KG`], [`USUAL_YAW_INERTIA_KG_M2`]), so that all set-ups meet the same.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kick {
    /// It ends at this station (m).
    pub until_m: f64,
    /// By how much the course is turned, left positive (rad).
    pub turn_rad: f64,
}

/// A usual sled with its athlete (kg, kg m2), for the size of a kick; assumed.
pub(crate) const USUAL_MASS_KG: f64 = 110.0;
/// See [`USUAL_MASS_KG`].
pub(crate) const USUAL_YAW_INERTIA_KG_M2: f64 = 14.5;
/// How long a kick takes (s), assumed.
pub const KICK_S: f64 = 0.4;

/// A field of side force and yaw moment along one ride.
#[derive(Clone, Debug, PartialEq)]
pub struct Disturbance {
    /// Air and head over time.
    air: Waves,
    /// Ruts and unevenness over the station.
    ruts: Waves,
    /// Root mean square of the yaw moment of air and head, and of the ice (N m).
    moments_rms_n_m: [f64; 2],
    /// Courses that come out wrong, in order.
    kicks: Vec<Kick>,
    /// Other waves from these stations on (m), in order.
    later: Vec<(f64, [Waves; 2])>,
}

impl Disturbance {
    /// A field for an athlete whose sled is disturbed by `moment_rms_n_m` on ice of factor one. `uniform` gives
    /// numbers from 0 to 1; the same numbers give the same field.
    pub fn draw(moment_rms_n_m: f64, rut_factor: f64, mut uniform: impl FnMut() -> f64) -> Disturbance {
        let half = moment_rms_n_m * std::f64::consts::FRAC_1_SQRT_2;
        let u = &mut uniform;
        Disturbance {
            air: Waves::draw(AIR_HZ[0], AIR_HZ[1], u),
            ruts: Waves::draw(1.0 / RUT_M[1], 1.0 / RUT_M[0], u),
            moments_rms_n_m: [half, half * rut_factor],
            kicks: Vec::new(),
            later: Vec::new(),
        }
    }

    /// The same up to a station (m), and the waves of another field from there on; the courses stay.
    pub fn then(mut self, from_m: f64, other: &Disturbance) -> Disturbance {
        self.later.push((from_m, [other.air, other.ruts]));
        self
    }

    /// The same with courses that come out wrong, in order of station.
    pub fn with_kicks(self, kicks: Vec<Kick>) -> Disturbance {
        Disturbance { kicks, ..self }
    }

    /// Side force (N) and yaw moment (N m) of the kick at a station, if there is one.
    #[inline]
    fn kick(&self, time: &NominalTime, station_m: f64) -> [f64; 2] {
        let i = self.kicks.partition_point(|k| k.until_m <= station_m);
        let Some(kick) = self.kicks.get(i) else { return [0.0; 2] };
        let t = time.at_s(station_m) - time.at_s(kick.until_m) + KICK_S;
        if t <= 0.0 {
            return [0.0; 2];
        }
        let w = std::f64::consts::TAU / KICK_S;
        let (sin, cos) = (w * t).sin_cos();
        let rate = kick.turn_rad / KICK_S;
        let speed_m_s = time.speed_m_s(station_m);
        [USUAL_MASS_KG * speed_m_s * rate * (1.0 - cos), USUAL_YAW_INERTIA_KG_M2 * rate * w * sin]
    }

    /// Side force, left positive (N), and yaw moment, to the left positive (N m), at a station.
    #[inline]
    pub fn at(&self, time: &NominalTime, station_m: f64) -> [f64; 2] {
        let [from_athlete, from_ice] = self.moments_rms_n_m;
        let [air, ruts] = match self.later.partition_point(|l| l.0 <= station_m) {
            0 => [self.air, self.ruts],
            i => self.later[i - 1].1,
        };
        let (air, ruts) = (air.at(time.at_s(station_m)), ruts.at(station_m));
        let sum = |i: usize| from_athlete * air[i] + from_ice * ruts[i];
        let [side_n, moment_n_m] = self.kick(time, station_m);
        [SIDE_PER_MOMENT_PER_M * sum(1) + side_n, sum(0) + moment_n_m]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers from 0 to 1 by a multiplicative generator (Lehmer, modulus 2^31 - 1, factor 16807).
    fn numbers(mut seed: u64) -> impl FnMut() -> f64 {
        move || {
            seed = seed * 16807 % 0x7fff_ffff;
            seed as f64 / f64::from(0x7fff_ffff)
        }
    }

    /// Time that is a tenth of the station.
    fn even() -> NominalTime {
        NominalTime { rows: (0..20_001).map(|i| [0.2 * f64::from(i), 0.1]).collect() }
    }

    /// Mean square of the part of a series below and above a wavelength (m), by a Fourier sum.
    fn parts(series: &[f64], spacing_m: f64, split_m: f64) -> [f64; 2] {
        let n = series.len();
        let mut parts = [0.0; 2];
        for k in 1..n / 2 {
            let (mut re, mut im) = (0.0, 0.0);
            for (i, v) in series.iter().enumerate() {
                let angle = std::f64::consts::TAU * ((k * i) % n) as f64 / n as f64;
                re += v * angle.cos();
                im += v * angle.sin();
            }
            let wavelength_m = n as f64 * spacing_m / k as f64;
            let power = 2.0 * (re * re + im * im) / (n * n) as f64;
            parts[usize::from(wavelength_m < split_m)] += power;
        }
        parts
    }

    #[test]
    fn exact_a_kick_turns_the_course() {
        let field = Disturbance::draw(0.0, 1.0, numbers(3)).with_kicks(vec![
            Kick { until_m: 50.0, turn_rad: 0.01 },
            Kick { until_m: 90.0, turn_rad: -0.02 },
        ]);
        let time = even();
        // ten metres a second: a kick takes four metres; side impulse m v psi, and no moment is left over
        let (mut impulse, mut moment) = ([0.0; 2], [0.0; 2]);
        for i in 0..100_000 {
            let s = f64::from(i) * 1e-3;
            let [side_n, yaw_n_m] = field.at(&time, s);
            let which = usize::from(s > 70.0);
            impulse[which] += side_n * 1e-4;
            moment[which] += yaw_n_m * 1e-4;
            let inside = (46.0..50.0).contains(&s) || (86.0..90.0).contains(&s);
            assert!(inside || (side_n == 0.0 && yaw_n_m == 0.0), "{s}");
        }
        // the sum over 4000 steps of a smooth pulse
        assert!((impulse[0] - 110.0 * 10.0 * 0.01).abs() < 1e-2, "{impulse:?}");
        assert!((impulse[1] + 110.0 * 10.0 * 0.02).abs() < 1e-2, "{impulse:?}");
        assert!(moment.iter().all(|m| m.abs() < 1e-3), "{moment:?}");
        // most after a quarter of the 0.4 s: I psi_k 2 pi/T^2 = 14.5 x 0.01 x 39.27 by hand
        approx::assert_relative_eq!(field.at(&time, 47.0)[1], 5.694, max_relative = 1e-3);
    }

    #[test]
    fn exact_spread_and_bands_of_a_field() {
        let time = even();
        for (seed, rms, factor) in [(11, 0.7, 1.0), (12, 3.0, 1.0), (13, 1.5, 2.0)] {
            let field = Disturbance::draw(rms, factor, numbers(seed));
            let many = 40_000;
            let mut squares = [0.0; 2];
            for i in 0..many {
                let at = field.at(&time, f64::from(i));
                squares[0] += at[0] * at[0] / f64::from(many);
                squares[1] += at[1] * at[1] / f64::from(many);
            }
            // half of the square from the athlete, half times the factor squared from the ice
            let wanted = rms * (0.5 + 0.5 * factor * factor).sqrt();
            // 40 km hold a thousand and more of the longest waves: cross terms below 1 %
            approx::assert_relative_eq!(squares[1].sqrt(), wanted, max_relative = 0.01);
            let force = squares[0].sqrt();
            // 3 N for a newton metre, as the law says
            approx::assert_relative_eq!(force, 3.0 * wanted, max_relative = 0.01);
        }
    }

    #[test]
    fn exact_bands_of_ruts_and_air() {
        // the nominal speed is 10 m/s: 0.4 to 3 Hz are 25 to 3.3 m
        let time = even();
        let series = |field: &Disturbance| -> Vec<f64> {
            (0..2048).map(|i| field.at(&time, 0.5 * f64::from(i))[1]).collect()
        };
        let whole = Disturbance::draw(1.0, 1.0, numbers(5));
        let air = Disturbance { moments_rms_n_m: [1.0, 0.0], ..whole.clone() };
        let ruts = Disturbance { moments_rms_n_m: [0.0, 1.0], ..whole };
        // no window: up to a few per cent leak over the edge of a band that is widened by a tenth
        for (field, least_m, most_m) in [(air, 3.3, 25.0), (ruts, 2.0, 20.0)] {
            let of = series(&field);
            let [longer, _] = parts(&of, 0.5, 1.1 * most_m);
            let [_, shorter] = parts(&of, 0.5, least_m / 1.1);
            assert!(longer < 0.05 && shorter < 0.05, "{longer} {shorter} of 1");
            let [long, short] = parts(&of, 0.5, (least_m * most_m).sqrt());
            // three of the six waves on each side of the middle of the band
            assert!((long - 0.5).abs() < 0.1 && (short - 0.5).abs() < 0.1, "{long} {short}");
        }
    }

    #[test]
    fn exact_nominal_time_of_level_ice() {
        use track_geometry::station_table::StationTable;
        use track_geometry::track::{DataQuality, Eye, TrackData};
        let column = |v: f64| vec![v; 5];
        let table = StationTable {
            station_m: vec![0.0, 20.0, 40.0, 60.0, 80.0],
            elevation_m: column(0.0),
            plan_curvature_per_m: column(0.0),
            banking_rad: column(0.0),
            trough_curvature_per_m: column(0.0),
            left_edge_m: column(1.0),
            right_edge_m: column(-1.0),
        };
        let eyes = [0.0, 80.0].map(|station_m| Eye { name: format!("{station_m} m"), station_m }).to_vec();
        let data = TrackData {
            name: "level".into(),
            altitude_m: 0.0,
            latitude_rad: 0.8,
            source: "invented".into(),
            quality: DataQuality::Invented,
            eyes,
            corners: vec![],
            table,
        };
        let time = NominalTime::new(&Track::new(data).unwrap());
        // nothing falls: 8 m/s all the way; rounding
        for s in [0.0, 1.0, 40.0, 77.7] {
            approx::assert_abs_diff_eq!(time.at_s(s), s / 8.0, epsilon = 1e-12);
            approx::assert_abs_diff_eq!(time.speed_m_s(s), 8.0, epsilon = 1e-12);
        }
    }
}
