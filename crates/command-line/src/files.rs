//! Reading inputs and writing results. Results are written beside their place and renamed, all or none.

use crate::typed;
use ice_contact::runner::Bow;
use sha2::{Digest, Sha256};
use sled_dynamics::laws::on_runners::bending_stress_pa;
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::file::read_setup_with_beam;
use sled_dynamics::setup::write::write_setup;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use track_geometry::doubts::Doubt;
use track_geometry::toml_keys::nearest;
use track_geometry::track::Track;
use track_geometry::track_file::read_track;

/// The tracks that are built in: name, track.toml, stations.csv. The first is used when none is named.
pub const BUILT_IN: [[&str; 3]; 2] = [
    [
        "oskerdale",
        include_str!("../../../tracks/oskerdale/track.toml"),
        include_str!("../../../tracks/oskerdale/stations.csv"),
    ],
    [
        "quillmere",
        include_str!("../../../tracks/quillmere/track.toml"),
        include_str!("../../../tracks/quillmere/stations.csv"),
    ],
];
/// The set-up that is used when none is named.
const CLUBS_WOMAN: &str = include_str!("../../../examples/clubs-woman.toml");

/// A track as read.
pub struct ReadTrack {
    /// The track.
    pub track: Track,
    /// What is doubtful in it.
    pub doubts: Vec<Doubt>,
    /// SHA-256 of its two files.
    pub sha256: String,
}

/// Reads a text file.
pub fn read_text(path: &Path) -> Result<String, String> {
    let shown = path.display();
    if path.is_dir() {
        return Err(format!("{shown}: cannot be read: it is a folder; name a file"));
    }
    let bytes = fs::read(path).map_err(|e| match e.kind() {
        std::io::ErrorKind::NotFound => format!("{shown}: cannot be read: no such file{}", like_it(path)),
        _ => format!("{shown}: cannot be read: {e}"),
    })?;
    String::from_utf8(bytes).map_err(|e| {
        let what = match e.as_bytes() {
            [0x89, b'P', b'N', b'G', ..] | [0xff, 0xd8, ..] => "is a picture, not text".to_string(),
            [b'%', b'P', b'D', b'F', ..] => "is a PDF, not text".to_string(),
            [b'P', b'K', ..] => "is a spreadsheet or an archive; save the table as CSV (UTF-8)".to_string(),
            [0xff, 0xfe, ..] | [0xfe, 0xff, ..] => "is UTF-16 text; save it as UTF-8".to_string(),
            _ => format!("byte {} is not UTF-8 text; save the file as UTF-8", e.utf8_error().valid_up_to()),
        };
        format!("{shown}: {what}")
    })
}

/// Reads a table that a spreadsheet may have saved: its empty columns at the right and its empty rows are nobody's data.
pub fn read_table(path: &Path) -> Result<String, String> {
    read_text(path).map(|text| typed::without_empty_ends(&text))
}

/// A file in the same folder whose name a missing one may stand for.
fn like_it(path: &Path) -> String {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let Ok(entries) = fs::read_dir(folder) else {
        return format!("; there is no folder {} either", folder.display());
    };
    let names: Vec<String> = entries
        .filter_map(|e| e.ok().filter(|e| e.path().is_file())?.file_name().into_string().ok())
        .filter(|n| !n.starts_with('.'))
        .collect();
    let wanted = path.file_name().and_then(|n| n.to_str()).unwrap_or("");
    let known: Vec<&str> = names.iter().map(String::as_str).collect();
    nearest(wanted, &known)
        .map_or(String::new(), |n| format!("; nearest is {}", path.with_file_name(n).display()))
}

/// SHA-256 of texts in a row, hexadecimal.
pub fn sha256(texts: &[&str]) -> String {
    let mut hash = Sha256::new();
    for text in texts {
        hash.update(text.as_bytes());
    }
    hash.finalize().iter().map(|b| format!("{b:02x}")).collect()
}

/// The built-in track of this name, in whatever case.
fn built_in(name: &Path) -> Option<&'static [&'static str; 3]> {
    BUILT_IN.iter().find(|b| name.to_str().is_some_and(|n| n.eq_ignore_ascii_case(b[0])))
}

/// The track that a file beside `folder` names: a folder from there, or the name of a track that is built in.
pub fn track_beside(folder: &Path, name: &str) -> PathBuf {
    let place = folder.join(name);
    if !place.exists() && built_in(Path::new(name)).is_some() { name.into() } else { place }
}

/// Why nothing is read in the place of a track.
fn no_track(folder: &Path) -> Option<String> {
    let shown = folder.display();
    if folder.is_file() {
        let also = match folder.file_name().and_then(|n| n.to_str()) {
            Some("track.toml" | "stations.csv") => "name the folder that it is in".to_string(),
            _ => format!("a corner list becomes a track by `sagitta track build {shown} --out DIR`"),
        };
        return Some(format!(
            "{shown}: is a file; a track is a folder with track.toml and stations.csv; {also}"
        ));
    }
    let names = BUILT_IN.map(|b| b[0]).join(" or ");
    (!folder.join("track.toml").exists() && !folder.join("stations.csv").exists()).then(|| {
        format!("{shown}: no track is there; allowed: a folder with track.toml and stations.csv, or {names}, built in")
    })
}

/// Reads the track in a folder, or one that is built in: that of this name, where no such folder is there.
pub fn track(folder: Option<&Path>) -> Result<ReadTrack, String> {
    let by_name = folder.map_or(Some(&BUILT_IN[0]), |f| built_in(f).filter(|_| !f.exists()));
    let (names, texts) = match (by_name, folder) {
        (Some([name, words, table]), _) => {
            let names = ["track.toml", "stations.csv"].map(|n| format!("tracks/{name}/{n}"));
            (names, [words.to_string(), table.to_string()])
        }
        (None, folder) => {
            let folder = folder.unwrap_or(Path::new(""));
            if let Some(why) = no_track(folder) {
                return Err(why);
            }
            let paths = [folder.join("track.toml"), folder.join("stations.csv")];
            let names = paths.clone().map(|p| p.display().to_string());
            (names, [read_text(&paths[0])?, read_table(&paths[1])?])
        }
    };
    track_of(&names, &texts)
}

/// The track in the texts of its two files.
pub fn track_of(names: &[String; 2], texts: &[String; 2]) -> Result<ReadTrack, String> {
    let read = read_track(&names[0], &texts[0], &names[1], &texts[1])
        .map_err(|f| format!("this track cannot be used\n{f}"))?;
    let track =
        Track::new(read.track).map_err(|e| format!("this track cannot be used\n{}: {e}", names[1]))?;
    Ok(ReadTrack { track, doubts: read.doubts, sha256: sha256(&[&texts[0], &texts[1]]) })
}

/// A set-up as read, with its file.
pub struct ReadSetup {
    /// The set-up.
    pub setup: Setup,
    /// Its file, whole.
    pub text: String,
    /// SHA-256 of the file.
    pub sha256: String,
}

/// Splits `KEY=VALUE`.
pub fn key_value(text: &str) -> Result<(String, String), String> {
    match text.split_once('=') {
        Some((key, value)) if !key.trim().is_empty() => Ok((key.trim().into(), value.trim().into())),
        _ => Err(format!("--set {text}: read no KEY=VALUE; for example --set ice.temperature_c=-8")),
    }
}

/// Name and text of a set-up's file, or of the one that is built in.
pub fn setup_text(file: Option<&Path>) -> Result<(String, String), String> {
    Ok(match file {
        Some(path) => (path.display().to_string(), read_text(path)?),
        None => ("examples/clubs-woman.toml".to_string(), CLUBS_WOMAN.to_string()),
    })
}

/// Reads a set-up, or the one that is built in, with keys set on the command line.
pub fn setup(file: Option<&Path>, sets: &[(String, String)]) -> Result<ReadSetup, String> {
    let (name, text) = setup_text(file)?;
    if file.is_some() && says_nothing(&text) {
        tell!(
            "{name}: says nothing of a set-up, so that every number is the default; `sagitta keys` lists them"
        );
    }
    let read = setup_of(&name, text, sets)?;
    let of = |bow: Bow| [bow.front_m, bow.rear_m];
    let bows = [read.setup.runners.left, read.setup.runners.right].map(of).concat();
    if let Some(doubt) = bows.into_iter().find_map(|bow_m| in_metres(1e3 * bow_m)) {
        tell!("bow of {name}: {doubt}");
    }
    Ok(read)
}

/// Bows below this are none that a caliper could read, and are what bows in metres look like (mm).
const IN_METRES_MM: f64 = 0.01;

/// What is odd about a bow, in mm, that looks like one in metres.
pub fn in_metres(bow_mm: f64) -> Option<String> {
    (bow_mm > 0.0 && bow_mm < IN_METRES_MM).then(|| {
        // from metres, and free of the binary rest
        let meant_mm = (1e6 * bow_mm).round() / 1e3;
        let bow_mm = (1e6 * bow_mm).round() / 1e6;
        format!("{bow_mm} mm is less than a caliper reads; bow is in millimetres, and {bow_mm} m is written {meant_mm}")
    })
}

/// The set-up in the text of a file, with keys set on the command line.
pub fn setup_of(name: &str, text: String, sets: &[(String, String)]) -> Result<ReadSetup, String> {
    let setup = read_setup_with_beam(name, &text, sets, Some(&bending_stress_pa))
        .map_err(|f| format!("this set-up cannot be used\n{f}"))?;
    Ok(ReadSetup { setup, sha256: sha256(&[&text]), text })
}

/// Whether no line of a set-up gives a key beside its name.
fn says_nothing(text: &str) -> bool {
    let named = |line: &str| line.split('=').next().is_some_and(|key| key.trim() == "name");
    let mut lines = text.trim_start_matches('\u{feff}').lines().map(str::trim);
    lines.all(|l| l.is_empty() || l.starts_with(['#', '[']) || named(l))
}

/// A file to be written.
pub struct Output {
    /// Its name in the folder.
    pub name: String,
    /// Its content.
    pub content: Vec<u8>,
}

impl Output {
    /// A file with this name and content.
    pub fn new(name: &str, content: impl Into<Vec<u8>>) -> Output {
        Output { name: name.into(), content: content.into() }
    }
}

impl Output {
    /// The two files of a picture.
    pub fn picture(p: &pictures::Picture) -> [Output; 2] {
        [
            Output::new(&format!("{}.svg", p.name), p.svg.clone()),
            Output::new(&format!("{}.png", p.name), p.png.clone()),
        ]
    }
}

/// A set-up as a file, read again: what the program would refuse is not written.
pub fn setup_output(name: &str, setup: &Setup) -> Result<Output, String> {
    let text = write_setup(setup);
    setup_of(name, text.clone(), &[]).map_err(|why| format!("nothing is written: {why}"))?;
    Ok(Output::new(name, text))
}

/// Writes a file that waits for its name. What a run that was killed left in its place, or somebody else put there, goes
/// and is not followed.
pub fn write_new(path: &Path, content: &[u8]) -> std::io::Result<fs::File> {
    let _ = fs::remove_file(path);
    let mut file = fs::OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(content)?;
    Ok(file)
}

/// Removes what a run that was killed left waiting for one of these names (`.NAME.PID.part`). Only for who has the
/// folder alone: a part of another run that still writes would look the same.
fn clear_parts(folder: &Path, outputs: &[Output]) {
    for entry in fs::read_dir(folder).into_iter().flatten().filter_map(Result::ok) {
        let file = entry.file_name();
        let of = file.to_str().and_then(|f| f.strip_prefix('.')?.strip_suffix(".part")?.rsplit_once('.'));
        if of.is_some_and(|(name, run)| run.parse::<u32>().is_ok() && outputs.iter().any(|o| o.name == name))
        {
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// Writes all files into a folder, made if need be: first beside their places, then renamed.
pub fn write_all(folder: &Path, outputs: &[Output]) -> Result<(), String> {
    let fail = |path: &Path, e: std::io::Error| format!("{}: cannot be written: {e}", path.display());
    let _whole = crate::interrupt::writing();
    fs::create_dir_all(folder).map_err(|e| fail(folder, e))?;
    // a folder in the place of a file is the one thing that a rename into our own folder meets
    for path in outputs.iter().map(|o| folder.join(&o.name)) {
        if path.is_dir() {
            return Err(format!("{}: cannot be written: a folder of that name is there", path.display()));
        }
    }
    // commands that write into the same folder go one after another; a system without such locks goes on
    let folder_in_turn = fs::File::open(folder).ok();
    if folder_in_turn.as_ref().is_some_and(|f| f.lock().is_ok()) {
        clear_parts(folder, outputs);
    }
    let waiting = |o: &Output| folder.join(format!(".{}.{}.part", o.name, std::process::id()));
    let clear = || {
        for output in outputs {
            let _ = fs::remove_file(waiting(output));
        }
    };
    for output in outputs {
        if let Err(e) = write_new(&waiting(output), &output.content) {
            clear();
            return Err(fail(&folder.join(&output.name), e));
        }
    }
    for output in outputs {
        let path = folder.join(&output.name);
        if let Err(e) = fs::rename(waiting(output), &path) {
            clear();
            return Err(fail(&path, e));
        }
    }
    Ok(())
}
