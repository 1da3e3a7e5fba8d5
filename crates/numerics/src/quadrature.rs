//! Gauss-Legendre quadrature on one interval.

/// Nodes and weights of the eight-point rule on (-1, 1), positive half.
/// Source: Abramowitz and Stegun, table 25.4 (1964).
const GAUSS_8: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_3),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_47),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_26),
];

/// Integral of `f` from `a` to `b`, exact for polynomials up to degree 15.
pub fn gauss_8(a: f64, b: f64, mut f: impl FnMut(f64) -> f64) -> f64 {
    let (middle, half) = (0.5 * (a + b), 0.5 * (b - a));
    let mut sum = 0.0;
    for (x, w) in GAUSS_8 {
        sum += w * (f(middle - half * x) + f(middle + half * x));
    }
    half * sum
}

#[cfg(test)]
mod tests {
    use super::gauss_8;

    #[test]
    fn exact_degree_fifteen() {
        // int_0^2 x^15 dx = 2^16/16, rounding only
        approx::assert_relative_eq!(gauss_8(0.0, 2.0, |x: f64| x.powi(15)), 4096.0, max_relative = 1e-13);
    }
}
