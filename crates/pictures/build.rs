//! Packs the font of the drawings to half its size.

use flate2::Compression;
use flate2::write::DeflateEncoder;
use std::error::Error;
use std::io::Write;
use std::path::PathBuf;

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo::rerun-if-changed=build.rs");
    let mut packed = DeflateEncoder::new(Vec::new(), Compression::best());
    packed.write_all(dejavu::sans::regular())?;
    let place = PathBuf::from(std::env::var("OUT_DIR")?).join("font.deflate");
    Ok(std::fs::write(place, packed.finish()?)?)
}
