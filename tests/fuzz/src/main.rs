//! Coverage-guided fuzzing of every reader of the program: no panic, no number that is none, every fault with its
//! place. Which reader is asked stands in the environment as `READER`; `run.py` beside this folder goes through all.
#![no_main]

mod readers;

use libfuzzer_sys::fuzz_target;
use readers::{FILE, READERS, Read, Reader};
use std::sync::OnceLock;

/// The reader that is asked.
fn asked() -> &'static Reader {
    static ASKED: OnceLock<&Reader> = OnceLock::new();
    ASKED.get_or_init(|| {
        let name = std::env::var("READER").unwrap_or_default();
        let names = READERS.iter().map(|r| r.0).collect::<Vec<_>>().join(", ");
        READERS.iter().find(|r| r.0 == name).unwrap_or_else(|| panic!("READER={name}; allowed: {names}"))
    })
}

/// The first word of a printed value that is no number, outside of its texts.
fn no_number(value: &str) -> Option<&str> {
    let (mut quoted, mut escaped) = (false, false);
    let mut bare = String::with_capacity(value.len());
    for c in value.chars() {
        match (quoted, escaped, c) {
            (true, true, _) => escaped = false,
            (true, false, '\\') => escaped = true,
            (_, _, '"') => quoted = !quoted,
            (false, ..) => bare.push(c),
            _ => {}
        }
    }
    let words = || bare.split(|c: char| !(c.is_alphanumeric() || c == '_'));
    ["NaN", "inf"].into_iter().find(|none| words().any(|w| w == *none))
}

fuzz_target!(|bytes: &[u8]| {
    let read: Read = (asked().1)(bytes);
    match read {
        Read::Value(value) => {
            if let Some(none) = no_number(&value) {
                panic!("{none} in {value}");
            }
        }
        Read::Faults(faults) => {
            assert!(!faults.is_empty(), "refused without a word");
            for fault in faults {
                assert!(fault.contains(FILE), "no place: {fault}");
            }
        }
        Read::Refused => {}
    }
});
