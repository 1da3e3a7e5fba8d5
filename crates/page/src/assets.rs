//! Files that go to the browser as they are: own style and script, and the chart library that the plotly crate
//! carries. All are in the program; nothing is fetched from anywhere.

use flate2::read::DeflateDecoder;
use std::io::Read;
use std::sync::OnceLock;

/// A file: its address, its type, its text.
pub(crate) struct Asset {
    /// Address.
    pub(crate) path: &'static str,
    /// Type.
    pub(crate) kind: &'static str,
    /// Text.
    pub(crate) text: &'static str,
}

const SCRIPT: &str = "text/javascript; charset=utf-8";

/// Own files.
pub(crate) const OWN: [Asset; 16] = [
    Asset { path: "/page.css", kind: "text/css; charset=utf-8", text: include_str!("assets/page.css") },
    Asset { path: "/page.js", kind: SCRIPT, text: include_str!("assets/page.js") },
    Asset { path: "/controls.js", kind: SCRIPT, text: include_str!("assets/controls.js") },
    Asset { path: "/charts.js", kind: SCRIPT, text: include_str!("assets/charts.js") },
    Asset { path: "/plan.js", kind: SCRIPT, text: include_str!("assets/plan.js") },
    Asset { path: "/ink.js", kind: SCRIPT, text: include_str!("assets/ink.js") },
    Asset { path: "/lost.js", kind: SCRIPT, text: include_str!("assets/lost.js") },
    Asset { path: "/ice.js", kind: SCRIPT, text: include_str!("assets/ice.js") },
    Asset { path: "/grid.js", kind: SCRIPT, text: include_str!("assets/grid.js") },
    Asset { path: "/track.js", kind: SCRIPT, text: include_str!("assets/track.js") },
    Asset { path: "/evening.js", kind: SCRIPT, text: include_str!("assets/evening.js") },
    Asset { path: "/evidence.js", kind: SCRIPT, text: include_str!("assets/evidence.js") },
    Asset { path: "/tested.js", kind: SCRIPT, text: include_str!("assets/tested.js") },
    Asset { path: "/line.js", kind: SCRIPT, text: include_str!("assets/line.js") },
    Asset { path: "/written.js", kind: SCRIPT, text: include_str!("assets/written.js") },
    Asset { path: "/answer.js", kind: SCRIPT, text: include_str!("assets/answer.js") },
];

/// Script that a written page has in the place of those that ask.
pub(crate) const WRITTEN: &str = "/written.js";

/// Text of an own file; empty where there is none of that address.
pub(crate) fn own(path: &str) -> &'static str {
    OWN.iter().find(|a| a.path == path).map_or("", |a| a.text)
}

/// Where the chart library is found.
pub(crate) const LIBRARY: &str = "/chart-library.js";

/// The chart library, packed by `build.rs`.
const PACKED: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/chart-library.deflate"));

/// The chart library; empty if it cannot be unpacked, which a test refuses.
pub(crate) fn library() -> &'static str {
    static TEXT: OnceLock<String> = OnceLock::new();
    TEXT.get_or_init(|| {
        let mut text = String::new();
        DeflateDecoder::new(PACKED).read_to_string(&mut text).map_or(String::new(), |_| text)
    })
}
