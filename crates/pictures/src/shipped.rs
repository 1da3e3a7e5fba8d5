//! The shipped tracks, for the tests of pictures.

use track_geometry::track::Track;
use track_geometry::track_file::read_track;

fn read(toml: &str, csv: &str) -> Track {
    Track::new(read_track("track.toml", toml, "stations.csv", csv).unwrap().track).unwrap()
}

/// Oskerdale.
pub(crate) fn oskerdale() -> Track {
    read(
        include_str!("../../../tracks/oskerdale/track.toml"),
        include_str!("../../../tracks/oskerdale/stations.csv"),
    )
}

/// Quillmere.
pub(crate) fn quillmere() -> Track {
    read(
        include_str!("../../../tracks/quillmere/track.toml"),
        include_str!("../../../tracks/quillmere/stations.csv"),
    )
}
