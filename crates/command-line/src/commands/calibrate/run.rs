//! The command: fitted, checked, drawn, written and printed.

use super::{Options, drawn, report, with_found, written};
use crate::commands::Done;
use crate::files;
use crate::words::say;

/// Reads, fits, checks, prints and writes.
pub fn calibrate(o: &Options) -> Done {
    with_found(o, |found, sheet, aside| {
        if let Some(out) = &o.out {
            let mut outputs = written::outputs(found, &found.layout)?;
            outputs.extend(drawn::outputs(found)?);
            files::write_all(out, &outputs)?;
            tell!("written to {}", out.display());
        }
        say(&report::told(found, sheet, aside, o))?;
        Ok(u8::from(!found.fits()))
    })
}
