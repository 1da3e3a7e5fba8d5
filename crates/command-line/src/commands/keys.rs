//! `sagitta keys`: every key of a set-up.

use super::Done;
use crate::words::{say, table};
use sled_dynamics::setup::key::Kind;
use sled_dynamics::setup::keys::keys as all;

/// Prints the keys.
pub fn keys() -> Done {
    let rows = all().iter().map(|k| {
        let default = match &k.kind {
            Kind::Number(n) => n.default.map_or("-".into(), |d| format!("{d} {}", n.unit.symbol())),
            _ => "-".into(),
        };
        vec![
            k.path.to_string(),
            default.trim().to_string(),
            k.allowed(),
            k.source.to_string(),
            k.doc.to_string(),
        ]
    });
    say(&(table(&["key", "default", "allowed", "source", "meaning"], rows) + "\n"))?;
    Ok(0)
}
