//! The shortest decimal text that is read back as exactly the same value.

/// Decimal text of `x` that `read` turns into exactly `value`; `x` is about what must be
/// written (a radius for a curvature, degrees for radians). Tries few digits first, so
/// what came from a file goes back as it was. Where no number is read back as `value`
/// (1/x does not reach every number), the text of `x` itself, one unit in the last place off.
pub(crate) fn exact_text(x: f64, value: f64, read: impl Fn(f64) -> f64) -> String {
    let reads_back = |x: f64| read(x) == value;
    for digits in 0..=12 {
        let text = format!("{x:.digits$}");
        if text.parse::<f64>().is_ok_and(reads_back) {
            return text;
        }
    }
    let near = [x, x.next_up(), x.next_down(), x.next_up().next_up(), x.next_down().next_down()];
    near.into_iter().find(|n| reads_back(*n)).unwrap_or(x).to_string()
}

#[cfg(test)]
mod tests {
    use super::exact_text;

    #[test]
    fn exact_text_of_what_a_file_held_comes_back() {
        for text in ["25", "-18.5", "33.123456", "1234567.125", "0.000001"] {
            let x: f64 = text.parse().expect("a number");
            assert_eq!(exact_text(1.0 / (1.0 / x), 1.0 / x, |r| 1.0 / r), text);
            assert_eq!(exact_text(x.to_radians().to_degrees(), x.to_radians(), f64::to_radians), text);
        }
    }
}
