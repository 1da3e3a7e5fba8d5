//! Forward-mode dual numbers, and the trait [`Real`] that lets one law be
//! evaluated on plain `f64` or on duals that carry partial derivatives.
//!
//! A law written over `T: Real` gives its value with `T = f64` at full speed,
//! and value and exact Jacobian with `T = Dual<N>`. Comparisons look at the
//! value only, so a branch takes the derivative of the side it is on.

use std::cmp::Ordering;
use std::fmt::Debug;
use std::ops::{Add, AddAssign, Div, Mul, MulAssign, Neg, Sub, SubAssign};

/// A number a law can be evaluated on: `f64`, or a [`Dual`].
pub trait Real:
    Copy
    + Debug
    + PartialOrd
    + From<f64>
    + Neg<Output = Self>
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
    + Div<f64, Output = Self>
    + AddAssign
    + SubAssign
    + MulAssign
{
    /// True for numbers that carry partial derivatives.
    const HAS_PARTIALS: bool;

    /// The value without its derivatives.
    fn value(self) -> f64;

    /// `self` mapped by a function whose value is `f` and derivative `df` there.
    fn chain(self, f: f64, df: f64) -> Self;

    /// A function of several arguments with value `f` and partials `df`.
    fn chain_all<const K: usize>(f: f64, df: [f64; K], args: [Self; K]) -> Self;

    /// Square root (argument > 0 where a derivative is wanted).
    fn sqrt(self) -> Self {
        let f = self.value().sqrt();
        self.chain(f, 0.5 / f)
    }
    /// Sine.
    fn sin(self) -> Self {
        let (s, c) = self.value().sin_cos();
        self.chain(s, c)
    }
    /// Cosine.
    fn cos(self) -> Self {
        let (s, c) = self.value().sin_cos();
        self.chain(c, -s)
    }
    /// Sine and cosine.
    fn sin_cos(self) -> (Self, Self) {
        let (s, c) = self.value().sin_cos();
        (self.chain(s, c), self.chain(c, -s))
    }
    /// Natural logarithm.
    fn ln(self) -> Self {
        let v = self.value();
        self.chain(v.ln(), 1.0 / v)
    }
    /// Exponential.
    fn exp(self) -> Self {
        let f = self.value().exp();
        self.chain(f, f)
    }
    /// Hyperbolic tangent.
    fn tanh(self) -> Self {
        let f = self.value().tanh();
        self.chain(f, 1.0 - f * f)
    }
    /// Inverse tangent.
    fn atan(self) -> Self {
        let v = self.value();
        self.chain(v.atan(), 1.0 / (1.0 + v * v))
    }
    /// Magnitude; the derivative at zero is taken from the right.
    fn abs(self) -> Self {
        if self.value() < 0.0 { -self } else { self }
    }
    /// The larger by value.
    fn max(self, other: Self) -> Self {
        if other > self { other } else { self }
    }
    /// The smaller by value.
    fn min(self, other: Self) -> Self {
        if other < self { other } else { self }
    }
    /// `self` squared.
    fn squared(self) -> Self {
        self * self
    }
}

impl Real for f64 {
    const HAS_PARTIALS: bool = false;

    #[inline]
    fn value(self) -> f64 {
        self
    }
    #[inline]
    fn chain(self, f: f64, _df: f64) -> f64 {
        f
    }
    #[inline]
    fn chain_all<const K: usize>(f: f64, _df: [f64; K], _args: [f64; K]) -> f64 {
        f
    }
}

/// A value with `N` partial derivatives.
#[derive(Clone, Copy, Debug)]
pub struct Dual<const N: usize> {
    /// The value.
    pub re: f64,
    /// The partial derivatives of the value.
    pub du: [f64; N],
}

impl<const N: usize> Dual<N> {
    /// The independent variable number `i` at `value`.
    pub fn variable(value: f64, i: usize) -> Self {
        let mut du = [0.0; N];
        du[i] = 1.0;
        Dual { re: value, du }
    }

    #[inline]
    fn scaled(self, re: f64, k: f64) -> Self {
        let mut du = self.du;
        for d in &mut du {
            *d *= k;
        }
        Dual { re, du }
    }

    #[inline]
    fn blend(self, a: f64, other: Self, b: f64, re: f64) -> Self {
        let mut du = [0.0; N];
        for i in 0..N {
            du[i] = a * self.du[i] + b * other.du[i];
        }
        Dual { re, du }
    }
}

impl<const N: usize> From<f64> for Dual<N> {
    #[inline]
    fn from(value: f64) -> Self {
        Dual { re: value, du: [0.0; N] }
    }
}

impl<const N: usize> PartialEq for Dual<N> {
    fn eq(&self, other: &Self) -> bool {
        self.re == other.re
    }
}

impl<const N: usize> PartialOrd for Dual<N> {
    #[inline]
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        self.re.partial_cmp(&other.re)
    }
}

impl<const N: usize> Real for Dual<N> {
    const HAS_PARTIALS: bool = true;

    #[inline]
    fn value(self) -> f64 {
        self.re
    }
    #[inline]
    fn chain(self, f: f64, df: f64) -> Self {
        self.scaled(f, df)
    }
    #[inline]
    fn chain_all<const K: usize>(f: f64, df: [f64; K], args: [Self; K]) -> Self {
        let mut du = [0.0; N];
        for (d, a) in df.iter().zip(&args) {
            for i in 0..N {
                du[i] += d * a.du[i];
            }
        }
        Dual { re: f, du }
    }
}

impl<const N: usize> Neg for Dual<N> {
    type Output = Self;
    #[inline]
    fn neg(self) -> Self {
        self.scaled(-self.re, -1.0)
    }
}
impl<const N: usize> Add for Dual<N> {
    type Output = Self;
    #[inline]
    fn add(self, o: Self) -> Self {
        self.blend(1.0, o, 1.0, self.re + o.re)
    }
}
impl<const N: usize> Sub for Dual<N> {
    type Output = Self;
    #[inline]
    fn sub(self, o: Self) -> Self {
        self.blend(1.0, o, -1.0, self.re - o.re)
    }
}
impl<const N: usize> Mul for Dual<N> {
    type Output = Self;
    #[inline]
    fn mul(self, o: Self) -> Self {
        self.blend(o.re, o, self.re, self.re * o.re)
    }
}
impl<const N: usize> Div for Dual<N> {
    type Output = Self;
    #[inline]
    fn div(self, o: Self) -> Self {
        let q = self.re / o.re;
        self.blend(1.0 / o.re, o, -q / o.re, q)
    }
}
impl<const N: usize> Add<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn add(self, o: f64) -> Self {
        Dual { re: self.re + o, du: self.du }
    }
}
impl<const N: usize> Sub<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn sub(self, o: f64) -> Self {
        Dual { re: self.re - o, du: self.du }
    }
}
impl<const N: usize> Mul<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn mul(self, o: f64) -> Self {
        self.scaled(self.re * o, o)
    }
}
impl<const N: usize> Div<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn div(self, o: f64) -> Self {
        self.scaled(self.re / o, 1.0 / o)
    }
}
impl<const N: usize> AddAssign for Dual<N> {
    #[inline]
    fn add_assign(&mut self, o: Self) {
        *self = *self + o;
    }
}
impl<const N: usize> SubAssign for Dual<N> {
    #[inline]
    fn sub_assign(&mut self, o: Self) {
        *self = *self - o;
    }
}
impl<const N: usize> MulAssign for Dual<N> {
    #[inline]
    fn mul_assign(&mut self, o: Self) {
        *self = *self * o;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn law<T: Real>(x: T, y: T) -> T {
        (x * y).sin() / (y.squared() + 1.0).sqrt() - x.exp().ln().tanh() + (x / y).atan() * 0.5
    }

    #[test]
    fn exact_dual_matches_central_difference() {
        let (x, y, e) = (0.7, 1.3, 1e-6);
        let d: Dual<2> = law(Dual::variable(x, 0), Dual::variable(y, 1));
        // central difference: truncation 1e-12, cancellation 1e-10
        let fx = (law(x + e, y) - law(x - e, y)) / (2.0 * e);
        let fy = (law(x, y + e) - law(x, y - e)) / (2.0 * e);
        approx::assert_abs_diff_eq!(d.re, law(x, y), epsilon = 1e-15);
        approx::assert_abs_diff_eq!(d.du[0], fx, epsilon = 1e-9);
        approx::assert_abs_diff_eq!(d.du[1], fy, epsilon = 1e-9);
    }
}
