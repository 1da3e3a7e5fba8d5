//! What stands in a cell: times as 55.12 or 0:55.12, decimal point or comma, days, times of day.

/// Which mark parts whole and decimal digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Mark {
    /// 55.12
    Point,
    /// 55,12
    Comma,
}

/// The decimal mark that a cell uses, if any.
pub(crate) fn mark_of(text: &str) -> Option<Mark> {
    match (text.contains('.'), text.contains(',')) {
        (true, false) => Some(Mark::Point),
        (false, true) => Some(Mark::Comma),
        _ => None,
    }
}

/// A number with either decimal mark, digits and nothing else.
pub(crate) fn number(text: &str) -> Option<f64> {
    let plain = text.replace(',', ".");
    let digits = plain.strip_prefix(['-', '+']).unwrap_or(&plain);
    let fine = digits.chars().all(|c| c.is_ascii_digit() || c == '.')
        && digits.matches('.').count() <= 1
        && digits.chars().any(|c| c.is_ascii_digit());
    fine.then(|| plain.parse().ok()).flatten()
}

/// Seconds, written as 55.12 or as minutes and seconds, 0:55.12.
pub(crate) fn seconds(text: &str) -> Option<f64> {
    match text.split_once(':') {
        None => number(text).filter(|s| *s >= 0.0),
        Some((minutes, seconds)) => {
            let whole =
                minutes.len() <= 2 && !minutes.is_empty() && minutes.chars().all(|c| c.is_ascii_digit());
            let two = seconds.split(['.', ',']).next().is_some_and(|s| s.len() == 2);
            let (m, s) = (minutes.parse::<f64>().ok()?, number(seconds)?);
            (whole && two && (0.0..60.0).contains(&s)).then_some(60.0 * m + s)
        }
    }
}

/// A time of day, 9:40 or 09:40:15, in hours.
pub(crate) fn clock_h(text: &str) -> Option<f64> {
    let parts: Vec<&str> = text.split(':').collect();
    let of = |k: usize, most: u32| -> Option<f64> {
        let part = parts.get(k)?;
        (part.len() <= 2).then(|| part.parse::<u32>().ok()).flatten().filter(|v| *v <= most).map(f64::from)
    };
    match parts.len() {
        2 => Some(of(0, 23)? + of(1, 59)? / 60.0),
        3 => Some(of(0, 23)? + of(1, 59)? / 60.0 + of(2, 59)? / 3600.0),
        _ => None,
    }
}

/// A day, 2026-01-17 or 17.01.2026, as year, month, day.
pub(crate) fn day(text: &str) -> Option<(u32, u32, u32)> {
    let parts = |mark: char| -> Option<Vec<u32>> { text.split(mark).map(|p| p.parse().ok()).collect() };
    let (y, m, d) = if text.contains('-') {
        let p = parts('-').filter(|p| p.len() == 3)?;
        (p[0], p[1], p[2])
    } else {
        let p = parts('.').filter(|p| p.len() == 3)?;
        (p[2], p[1], p[0])
    };
    ((1900..2200).contains(&y) && (1..=12).contains(&m) && (1..=31).contains(&d)).then_some((y, m, d))
}
