//! Packs the chart library, so that the program carries a third of it: the first of the two scripts of the plotly crate,
//! without its tag.

use flate2::Compression;
use flate2::write::DeflateEncoder;
use std::error::Error;
use std::io::Write;
use std::path::PathBuf;

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo::rerun-if-changed=build.rs");
    let both = plotly::Plot::offline_js_sources();
    let script = both.split_once('>').map_or("", |(_, rest)| rest);
    // the second tag stands on a line of its own; the library holds none
    let end = script.find("</script>\n").ok_or("the plotly crate writes its scripts in another way")?;
    let mut packed = DeflateEncoder::new(Vec::new(), Compression::best());
    packed.write_all(&script.as_bytes()[..end])?;
    let place = PathBuf::from(std::env::var("OUT_DIR")?).join("chart-library.deflate");
    Ok(std::fs::write(place, packed.finish()?)?)
}
