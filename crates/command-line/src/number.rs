//! Numbers on the command line, refused by value and limit.

use clap::error::{ContextKind, ErrorKind};
use std::error::Error;
use std::fmt::Display;
use std::str::FromStr;

/// Reads a number from `least` to `most` of a unit.
pub fn within<T>(
    least: T,
    most: T,
    unit: &'static str,
) -> impl Fn(&str) -> Result<T, String> + Clone + Send + Sync + 'static
where
    T: FromStr + PartialOrd + Display + Copy + Send + Sync + 'static,
{
    move |text| {
        let read = text.trim().parse::<T>().ok().filter(|v| (least..=most).contains(v));
        read.ok_or_else(|| {
            let whole = "0.5".parse::<T>().is_err();
            let digits = text.trim().trim_start_matches(['-', '+']).chars().all(|c| c.is_ascii_digit());
            let how = match () {
                _ if whole && !digits => ", a whole number in digits",
                _ if text.contains(',') => ", with a decimal point",
                _ if !whole && text.trim().parse::<f64>().is_err() => ", the number alone",
                _ => "",
            };
            format!("allowed {} {unit}", format_args!("{least} to {most}")).trim_end().to_string() + how
        })
    }
}

/// What is wrong with a value on the command line, in the words of every other fault; `None` where the argument
/// parser's own words say it.
pub fn refused_value(error: &clap::Error) -> Option<String> {
    if error.kind() != ErrorKind::ValueValidation {
        return None;
    }
    let told = |kind| error.get(kind).map(ToString::to_string);
    let option = told(ContextKind::InvalidArg)?;
    let option = option.split_whitespace().next()?.to_string();
    Some(format!("{option} {}: {}", told(ContextKind::InvalidValue)?, error.source()?))
}
