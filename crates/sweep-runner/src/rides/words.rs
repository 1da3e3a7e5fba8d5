//! Figures and pairs of rides in words, the same wherever they are told.

use crate::rides::figures::Figure;
use crate::rides::paired::{ALLOWED_LOST, Paired, Verdict};

/// A figure with its sampling error; lost rides are slower than any time.
pub fn figure(f: Option<Figure>, digits: usize) -> String {
    f.map_or("-".into(), |f| {
        if f.is_lost() {
            "lost".into()
        } else if f.error.is_infinite() {
            format!("{:.digits$} to lost", f.value)
        } else {
            format!("{:.digits$} ±{:.digits$}", f.value, f.error)
        }
    })
}

/// What the pairs of rides say of two set-ups, in words.
#[derive(Clone, Debug, PartialEq)]
pub struct PairedWords {
    /// Median of the differences.
    pub median: String,
    /// Its band.
    pub band: String,
    /// The verdict.
    pub said: String,
    /// Share of rides in which the first is ahead (per cent).
    pub ahead: String,
}

/// The words for two set-ups of these names, numerical error of both times (s) taken into account.
pub fn paired_words(p: &Paired, numerical_s: f64, [first, second]: [&str; 2]) -> PairedWords {
    let difference = |s: f64| match s {
        f64::INFINITY => format!("lost with {first}"),
        f64::NEG_INFINITY => format!("lost with {second}"),
        _ => format!("{s:+.3} s"),
    };
    let allowed = 100.0 * ALLOWED_LOST;
    let ahead = |place: usize, name: &str| match p.is_out(place) {
        true => {
            format!("{name} is ahead, yet it loses more than {allowed} % of its rides: not called faster")
        }
        false => format!("{name} is faster"),
    };
    let said = match p.verdict(numerical_s) {
        Verdict::Same => "the same in every ride".to_string(),
        Verdict::CannotTell => match [p.loses_too_many(0), p.loses_too_many(1)] {
            [true, _] => format!("cannot tell: {first} loses more rides, and more than {allowed} % of all"),
            [_, true] => format!("cannot tell: {second} loses more rides, and more than {allowed} % of all"),
            _ => "cannot tell".to_string(),
        },
        Verdict::Faster => ahead(0, first),
        Verdict::Slower => ahead(1, second),
        Verdict::LosesMore => format!("{first} loses control more often: not called faster"),
        Verdict::LosesLess => format!("{second} loses control more often: not called faster"),
    };
    let faster = Figure { value: 100.0 * p.first_faster.value, error: 100.0 * p.first_faster.error };
    PairedWords {
        median: p.median_s.map_or("-".to_string(), difference),
        band: p.band_s.map_or("no band below six rides".to_string(), |(low, high)| {
            format!("95 % band {} to {}", difference(low), difference(high))
        }),
        said,
        ahead: figure(Some(faster), 0),
    }
}
