//! Text in a cell of CSV that a spreadsheet takes as text, and nothing else.

use std::borrow::Cow;

/// A spreadsheet takes what begins with one of these as a formula.
const FORMULA: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];

/// Whether a spreadsheet would reckon with this text, which is no number.
fn is_formula(text: &str) -> bool {
    text.len() > 1 && text.starts_with(FORMULA) && text.replacen(',', ".", 1).parse::<f64>().is_err()
}

/// The text with an apostrophe before what would be a formula; numbers stay as they are.
pub fn guarded(text: &str) -> Cow<'_, str> {
    if is_formula(text) { Cow::Owned(format!("'{text}")) } else { Cow::Borrowed(text) }
}

/// The text without the apostrophe of [`guarded`].
pub fn unguarded(text: &str) -> &str {
    text.strip_prefix('\'').filter(|rest| is_formula(rest)).unwrap_or(text)
}

/// One line of CSV, its end included: guarded, quoted where it must be, without line breaks inside; a first cell that
/// begins with `#` is no comment.
///
/// ```
/// let cells = ["#1", "=1+1", "-0.5", "a, b"];
/// assert_eq!(file_faults::cell::csv_line(&cells), "\"#1\",'=1+1,-0.5,\"a, b\"\n");
/// ```
pub fn csv_line<S: AsRef<str>>(cells: &[S]) -> String {
    let cell = |text: &str| {
        let text = guarded(text).replace(['\n', '\r'], " ");
        let marks = text.contains([',', '"']) || text.starts_with('#') || text != text.trim();
        if marks { format!("\"{}\"", text.replace('"', "\"\"")) } else { text }
    };
    cells.iter().map(|c| cell(c.as_ref())).collect::<Vec<_>>().join(",") + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_formulas_are_guarded_and_numbers_are_not() {
        for text in ["=1+1", "+SUM(A1)", "-2+3", "@A1", "- bought used", "\tx"] {
            assert_eq!(guarded(text), format!("'{text}"));
            assert_eq!(unguarded(&guarded(text)), text);
        }
        for text in ["-0.5", "+0.037", "-5,2", "-", "", "A", "'twas", "-1e-3"] {
            assert_eq!(guarded(text), text);
            assert_eq!(unguarded(text), text);
        }
    }
}
