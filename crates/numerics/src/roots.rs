//! A root of one function on a bracket.

/// A root of `f` between `a` and `b`, where the signs differ, to within `width`
/// (Brent's method: Brent, *Algorithms for Minimization without Derivatives*, 1973).
/// `None` when the signs at the ends agree or a value is not a number.
pub fn brent(mut a: f64, mut b: f64, width: f64, mut f: impl FnMut(f64) -> f64) -> Option<f64> {
    let (mut fa, mut fb) = (f(a), f(b));
    if fa == 0.0 {
        return Some(a);
    }
    if fb == 0.0 {
        return Some(b);
    }
    if !(fa * fb < 0.0) {
        return None;
    }
    let (mut c, mut fc) = (a, fa);
    let mut step = b - a;
    let mut before = step;
    for _ in 0..200 {
        if fb * fc > 0.0 {
            (c, fc) = (a, fa);
            step = b - a;
            before = step;
        }
        if fc.abs() < fb.abs() {
            (a, b, c) = (b, c, b);
            (fa, fb, fc) = (fb, fc, fb);
        }
        let tolerance = 2.0 * f64::EPSILON * b.abs() + 0.5 * width;
        let half = 0.5 * (c - b);
        if half.abs() <= tolerance || fb == 0.0 {
            return Some(b);
        }
        if before.abs() >= tolerance && fa.abs() > fb.abs() {
            let s = fb / fa;
            let (mut p, mut q) = if a == c {
                (2.0 * half * s, 1.0 - s)
            } else {
                let (q, r) = (fa / fc, fb / fc);
                (s * (2.0 * half * q * (q - r) - (b - a) * (r - 1.0)), (q - 1.0) * (r - 1.0) * (s - 1.0))
            };
            if p > 0.0 {
                q = -q;
            }
            p = p.abs();
            if 2.0 * p < (3.0 * half * q - (tolerance * q).abs()).min((before * q).abs()) {
                before = step;
                step = p / q;
            } else {
                step = half;
                before = step;
            }
        } else {
            step = half;
            before = step;
        }
        (a, fa) = (b, fb);
        b += if step.abs() > tolerance { step } else { tolerance.copysign(half) };
        fb = f(b);
        if fb.is_nan() {
            return None;
        }
    }
    Some(b)
}

#[cfg(test)]
mod tests {
    use super::brent;

    #[test]
    fn exact_roots() {
        let r = brent(0.0, 2.0, 1e-14, |x| x * x - 2.0).unwrap();
        approx::assert_abs_diff_eq!(r, 2.0_f64.sqrt(), epsilon = 1e-13); // the width asked for, and rounding
        // the fixed point of the cosine, Dottie's number (OEIS A003957)
        let r = brent(0.0, 1.0, 1e-14, |x: f64| x.cos() - x).unwrap();
        approx::assert_abs_diff_eq!(r, 0.739_085_133_215_160_6, epsilon = 1e-13);
        assert_eq!(brent(0.0, 1.0, 1e-9, |x| x + 1.0), None);
    }
}
