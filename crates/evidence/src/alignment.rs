//! Two measured series laid over two computed ones: offset and scale of the clock by matching, and local lags.
//!
//! ```text
//!   t = t0 + k T        t by the log's clock, T computed time
//!   greatest of  r(up) + r(yaw rate),   r = correlation over the computed samples that the log covers
//! ```
//!
//! A correlation knows no bias and no gain, so that a sensor with either is laid over as well.

/// Two quantities, sampled evenly.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    /// Time of the first sample (s).
    pub from_s: f64,
    /// Step (s).
    pub step_s: f64,
    /// The two quantities at each sample.
    pub values: Vec<[f64; 2]>,
}

/// Scales that are tried: one part in twenty about one, assumed.
const MOST_SCALE: f64 = 0.05;
/// Both are smoothed by a mean over this (s) before they are laid over each other: assumed.
const SMOOTH_S: f64 = 0.2;
/// Step of the computed samples of the first search (s).
const COARSE_S: f64 = 0.1;
/// Share of the computed samples that a log must cover `[-]`: assumed.
const COVERED: f64 = 0.8;

impl Pair {
    /// Even samples from uneven ones, straight between them.
    pub fn even(time_s: &[f64], values: [&[f64]; 2], step_s: f64) -> Pair {
        let (first, last) = (time_s.first().copied().unwrap_or(0.0), time_s.last().copied().unwrap_or(0.0));
        let many = ((last - first) / step_s).floor() as usize + 1;
        let mut i = 0;
        let at = |k: usize| {
            let t = first + step_s * k as f64;
            while i + 2 < time_s.len() && time_s[i + 1] < t {
                i += 1;
            }
            if time_s.len() < 2 {
                return [0.0; 2];
            }
            let part = ((t - time_s[i]) / (time_s[i + 1] - time_s[i])).clamp(0.0, 1.0);
            values.map(|v| v[i] + part * (v[i + 1] - v[i]))
        };
        Pair { from_s: first, step_s, values: (0..many).map(at).collect() }
    }

    /// The quantities at a time, if it is covered.
    #[inline]
    pub fn at(&self, time_s: f64) -> Option<[f64; 2]> {
        let place = (time_s - self.from_s) / self.step_s;
        if place < 0.0 {
            return None;
        }
        let i = place as usize;
        let (a, b) = (self.values.get(i)?, self.values.get(i + 1)?);
        let part = place - i as f64;
        Some([a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1])])
    }

    /// Time of a sample (s).
    pub fn time_s(&self, i: usize) -> f64 {
        self.from_s + self.step_s * i as f64
    }

    /// Without its ends, where a mean knows one side only, or what was before and after (s).
    fn without_ends(&self, away_s: f64) -> Pair {
        let away = (away_s / self.step_s).ceil() as usize;
        let values = self.values.get(away..self.values.len().saturating_sub(away)).unwrap_or_default();
        Pair { from_s: self.time_s(away), step_s: self.step_s, values: values.to_vec() }
    }

    /// Every so many seconds one sample.
    fn thinned(&self, step_s: f64) -> Pair {
        let every = ((step_s / self.step_s).round() as usize).max(1);
        let values = self.values.iter().copied().step_by(every).collect();
        Pair { from_s: self.from_s, step_s: self.step_s * every as f64, values }
    }

    /// Smoothed by a mean over a window (s).
    pub fn smoothed(&self, window_s: f64) -> Pair {
        let half = (0.5 * window_s / self.step_s).round() as usize;
        let n = self.values.len();
        let mean = |i: usize| {
            let part = &self.values[i.saturating_sub(half)..(i + half + 1).min(n)];
            let sum = part.iter().fold([0.0; 2], |s, v| [s[0] + v[0], s[1] + v[1]]);
            sum.map(|s| s / part.len() as f64)
        };
        Pair { values: (0..n).map(mean).collect(), ..self.clone() }
    }
}

/// How a log lies over what was computed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Laid {
    /// Time by the log's clock at computed time 0 (s).
    pub(crate) offset_s: f64,
    /// Log's seconds for a computed one `[-]`.
    pub scale: f64,
    /// Standard errors of both.
    pub errors: [f64; 2],
    /// Correlation of each quantity `[-]`.
    pub correlation: [f64; 2],
    /// Gain and bias of each quantity: log = bias + gain times computed.
    pub gain_and_bias: [[f64; 2]; 2],
    /// Standard deviation of what is left of each, in its unit.
    pub left: [f64; 2],
}

impl Laid {
    /// Log's time at a computed one (s).
    pub fn log_s(&self, computed_s: f64) -> f64 {
        self.offset_s + self.scale * computed_s
    }
}

/// Correlations at one offset and scale; none where the log covers too little.
fn correlations(log: &Pair, computed: &Pair, offset_s: f64, scale: f64) -> Option<[f64; 2]> {
    let (mut n, mut s) = (0.0, [[0.0f64; 5]; 2]);
    for (i, c) in computed.values.iter().enumerate() {
        let Some(l) = log.at(offset_s + scale * computed.time_s(i)) else { continue };
        n += 1.0;
        for k in 0..2 {
            let (x, y) = (c[k], l[k]);
            for (sum, value) in s[k].iter_mut().zip([x, y, x * x, y * y, x * y]) {
                *sum += value;
            }
        }
    }
    if n < COVERED * computed.values.len() as f64 {
        return None;
    }
    Some(s.map(|[x, y, xx, yy, xy]| {
        let (cov, vx, vy) = (xy - x * y / n, xx - x * x / n, yy - y * y / n);
        if vx > 0.0 && vy > 0.0 { cov / (vx * vy).sqrt() } else { 0.0 }
    }))
}

/// Lays a log over what was computed. With `turned` the second quantity of the log counts the other way round.
///
/// Errors are those of a straight fit with the residual's own spread, fewer samples counting where it goes on from one to
/// the next (lag-one correlation). *Source*: Gauss and Newton; effective samples of a first-order process, textbook.
/// *Assumes* one scale for the whole run. *Checked by* `exact_planted_clock_is_found`.
pub fn lay_over(log: &Pair, computed: &Pair, turned: bool) -> Option<Laid> {
    let sign = if turned { -1.0 } else { 1.0 };
    // both alike: what lies straight between two samples of a log is smoother than they are, and would match better
    let (log, computed) = (&log.smoothed(SMOOTH_S), &computed.smoothed(SMOOTH_S).without_ends(SMOOTH_S));
    let of = |computed: &Pair, offset: f64, scale: f64| {
        correlations(log, computed, offset, scale).map_or(f64::NEG_INFINITY, |r| r[0] + sign * r[1])
    };
    let score = |offset: f64, scale: f64| of(computed, offset, scale);
    let thin = computed.thinned(COARSE_S);
    let long_s = computed.time_s(computed.values.len().checked_sub(1)?) - computed.from_s;
    let log_s = log.time_s(log.values.len().checked_sub(1)?) - log.from_s;
    let from = log.from_s - computed.from_s - (1.0 - COVERED) * long_s - MOST_SCALE * long_s;
    let many = ((log_s - long_s + 2.0 * (1.0 - COVERED + MOST_SCALE) * long_s) / 0.1).max(1.0) as usize;
    let mut best = (f64::NEG_INFINITY, 0.0, 1.0);
    for j in -10..=10 {
        let scale = 1.0 + 0.1 * MOST_SCALE * f64::from(j);
        for i in 0..=many {
            let offset = from + 0.1 * i as f64;
            let s = of(&thin, offset, scale);
            if s > best.0 {
                best = (s, offset, scale);
            }
        }
    }
    best.0 = score(best.1, best.2);
    if best.0 == f64::NEG_INFINITY {
        return None;
    }
    // offset and scale pull against each other: both are moved about the middle of the run
    let middle = computed.from_s + 0.5 * long_s;
    let (mut step_s, mut step) = (0.1, 0.1 * MOST_SCALE);
    while step_s > 1e-5 {
        let mut moved = false;
        for (ds, dk) in [(step_s, 0.0), (-step_s, 0.0), (0.0, step), (0.0, -step)] {
            let (scale, offset) = (best.2 + dk, best.1 + ds - dk * middle);
            let s = score(offset, scale);
            if s > best.0 {
                best = (s, offset, scale);
                moved = true;
            }
        }
        if !moved {
            step_s *= 0.5;
            step *= 0.5;
        }
    }
    laid(log, computed, best.1, best.2)
}

/// Computed time, computed values, those of the log, and slopes of the computed ones.
type Both = (f64, [f64; 2], [f64; 2], [f64; 2]);

/// Gains, biases, residuals and errors at an offset and a scale.
fn laid(log: &Pair, computed: &Pair, offset_s: f64, scale: f64) -> Option<Laid> {
    let correlation = correlations(log, computed, offset_s, scale)?;
    let pairs: Vec<Both> = (1..computed.values.len().saturating_sub(1))
        .filter_map(|i| {
            let t = computed.time_s(i);
            let slope = [0, 1]
                .map(|k| (computed.values[i + 1][k] - computed.values[i - 1][k]) / (2.0 * computed.step_s));
            Some((t, computed.values[i], log.at(offset_s + scale * t)?, slope))
        })
        .collect();
    let n = pairs.len() as f64;
    let (mut gain_and_bias, mut left, mut normal) = ([[0.0; 2]; 2], [0.0; 2], [[0.0f64; 2]; 2]);
    for k in 0..2 {
        let mean = |of: &dyn Fn(&Both) -> f64| pairs.iter().map(of).sum::<f64>() / n;
        let (x, y) = (mean(&|p| p.1[k]), mean(&|p| p.2[k]));
        let (xx, xy) = (mean(&|p| (p.1[k] - x).powi(2)), mean(&|p| (p.1[k] - x) * (p.2[k] - y)));
        let gain = xy / xx;
        gain_and_bias[k] = [gain, y - gain * x];
        let off: Vec<f64> = pairs.iter().map(|p| p.2[k] - y - gain * (p.1[k] - x)).collect();
        let variance = off.iter().map(|r| r * r).sum::<f64>() / (n - 4.0);
        left[k] = variance.sqrt();
        let next = off.windows(2).map(|w| w[0] * w[1]).sum::<f64>() / off.iter().map(|r| r * r).sum::<f64>();
        let rho = next.clamp(0.0, 0.99);
        let counts = (1.0 - rho) / (1.0 + rho);
        for p in &pairs {
            // a later clock shifts the log by its slope
            let d = [gain * p.3[k] / scale, gain * p.3[k] * p.0 / scale];
            for a in 0..2 {
                for b in 0..2 {
                    normal[a][b] += counts * d[a] * d[b] / variance;
                }
            }
        }
    }
    let determinant = normal[0][0] * normal[1][1] - normal[0][1] * normal[1][0];
    let errors = [(normal[1][1] / determinant).sqrt(), (normal[0][0] / determinant).sqrt()];
    Some(Laid { offset_s, scale, errors, correlation, gain_and_bias, left })
}

/// Lag of the log behind the laid clock around a stretch of computed time (s), with its standard error; `None` where the
/// log does not cover it. Both are smoothed by a mean over `window_s`, of which each counts as one sample.
pub fn local_lag_s(
    log: &Pair,
    computed: &Pair,
    laid: &Laid,
    from_s: f64,
    to_s: f64,
    window_s: f64,
) -> Option<(f64, f64)> {
    let first = ((from_s - computed.from_s) / computed.step_s).ceil().max(1.0) as usize;
    let last = ((to_s - computed.from_s) / computed.step_s) as usize;
    let inside: Vec<usize> = (first..last.min(computed.values.len().saturating_sub(1))).collect();
    if inside.len() < 8 {
        return None;
    }
    let cost = |lag: f64| -> Option<f64> {
        let mut sum = 0.0;
        for i in &inside {
            let l = log.at(laid.log_s(computed.time_s(*i)) + lag)?;
            for k in 0..2 {
                let [gain, bias] = laid.gain_and_bias[k];
                sum += ((l[k] - bias - gain * computed.values[*i][k]) / laid.left[k]).powi(2);
            }
        }
        Some(sum)
    };
    let tried = (-60..=60).filter_map(|j| Some((cost(0.01 * f64::from(j))?, 0.01 * f64::from(j))));
    let (least, lag) = tried.min_by(|a, b| a.0.total_cmp(&b.0))?;
    // the top of a parabola through the neighbours
    let [before, after] = [-0.01, 0.01].map(|d| cost(lag + d).unwrap_or(least));
    let bend = before - 2.0 * least + after;
    let fine = if bend > 0.0 { (0.5 * 0.01 * (before - after) / bend).clamp(-0.01, 0.01) } else { 0.0 };
    let alike = (window_s / computed.step_s).max(1.0);
    let freedom = (2 * inside.len() - 1) as f64;
    // sum of squares over its freedom: how far the ride differs here beyond the spread of the whole
    let worse = (least / freedom).max(1.0);
    let error = if bend > 0.0 { (2.0 * 1e-4 / bend * worse * alike).sqrt() } else { f64::INFINITY };
    Some((lag + fine, error))
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;
    use rand_distr::{Distribution, StandardNormal};

    /// Two wandering curves.
    fn curves(t: f64) -> [f64; 2] {
        let up = 2.0 + (0.9 * t).sin() + 0.7 * (2.3 * t + 1.0).sin() + 0.4 * (0.31 * t * t * 0.05).cos();
        [up, 0.8 * (0.55 * t).sin() + 0.3 * (1.7 * t + 0.4).cos()]
    }

    fn computed() -> Pair {
        Pair { from_s: 0.0, step_s: 0.02, values: (0..2500).map(|i| curves(0.02 * f64::from(i))).collect() }
    }

    #[test]
    fn exact_planted_clock_is_found() {
        let mut random = ChaCha8Rng::seed_from_u64(5);
        let mut draw = || -> f64 { StandardNormal.sample(&mut random) };
        let (mut off, mut scaled) = (0, 0);
        for case in 0..12 {
            let (offset, scale) = (3.0 + 1.37 * f64::from(case), 0.985 + 0.003 * f64::from(case));
            let time_s: Vec<f64> = (0..1600).map(|i| 0.05 * f64::from(i)).collect();
            // a biased sensor with a gain, at rest before and behind the run
            let at = |t: f64| {
                let own = (t - offset) / scale;
                if (0.0..=49.98).contains(&own) { curves(own) } else { [1.0, 0.0] }
            };
            let up: Vec<f64> = time_s.iter().map(|t| 0.1 + 1.03 * at(*t)[0] + 0.1 * draw()).collect();
            let yaw: Vec<f64> = time_s.iter().map(|t| 0.02 + at(*t)[1] + 0.05 * draw()).collect();
            let log = Pair::even(&time_s, [&up, &yaw], 0.02);
            let found = lay_over(&log, &computed(), false).unwrap();
            // three standard errors, as it says of itself
            off += usize::from((found.offset_s - offset).abs() > 3.0 * found.errors[0]);
            scaled += usize::from((found.scale - scale).abs() > 3.0 * found.errors[1]);
            assert!(found.errors[0] < 0.03 && found.errors[1] < 1e-3, "{found:?}");
            // gain and bias within 0.05: 1600 samples of 0.1
            approx::assert_abs_diff_eq!(found.gain_and_bias[0][0], 1.03, epsilon = 0.05);
            let smooth = [log.smoothed(0.2), computed().smoothed(0.2)];
            let (lag, error) = local_lag_s(&smooth[0], &smooth[1], &found, 10.0, 14.0, 0.2).unwrap();
            assert!(lag.abs() < 4.0 * error + 3.0 * found.errors[0], "{lag} {error}");
        }
        // seeds are fixed; by chance one in 370 each
        assert_eq!((off, scaled), (0, 0));
    }

    #[test]
    fn exact_what_does_not_belong_together_does_not_match() {
        let other: Vec<f64> = (0..1600).map(|i| (0.013 * f64::from(i) * f64::from(i) * 0.05).sin()).collect();
        let time_s: Vec<f64> = (0..1600).map(|i| 0.05 * f64::from(i)).collect();
        let log = Pair::even(&time_s, [&other, &other], 0.02);
        let found = lay_over(&log, &computed(), false).unwrap();
        assert!(found.correlation.iter().sum::<f64>() < 1.0, "{found:?}");
    }

    #[test]
    fn exact_a_planted_lag_is_found_between_the_trials() {
        let laid = Laid {
            offset_s: 0.0,
            scale: 1.0,
            errors: [0.0; 2],
            correlation: [1.0; 2],
            gain_and_bias: [[1.1, 0.3], [0.9, -0.2]],
            left: [0.1; 2],
        };
        // lags are tried every 10 ms
        for planted in [0.0132, -0.0467, 0.031] {
            let sensed = |t: f64| {
                let v = curves(t - planted);
                [0.3 + 1.1 * v[0], 0.9 * v[1] - 0.2]
            };
            let values = (0..20_000).map(|i| sensed(0.003 * f64::from(i))).collect();
            let log = Pair { from_s: 0.0, step_s: 0.003, values };
            // what was computed begins at 5 s
            let values = (0..1000).map(|i| curves(5.0 + 0.02 * f64::from(i))).collect();
            let later = Pair { from_s: 5.0, step_s: 0.02, values };
            let (lag, error) = local_lag_s(&log, &later, &laid, 10.0, 14.0, 0.2).unwrap();
            // straight lines between samples 3 ms apart, and a parabola through costs that are nearly one
            approx::assert_abs_diff_eq!(lag, planted, epsilon = 2e-4);
            assert!(error > 1e-3 && error < 0.05, "{error}");
        }
    }
}
