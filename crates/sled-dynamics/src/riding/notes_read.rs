//! Reads notes: sentences and files, every fault at once with line and column.

use crate::riding::notes::{MOST_LATE_S, Note, Part, Unit, WORDS, Word, row_of};
use file_faults::FileFault;
use track_geometry::track::{Hand, Track};

/// A word and its column, from 1.
type Token = (usize, String);

/// Words of a line with their columns; numbers and units are told apart.
fn tokens(line: &str) -> Vec<Token> {
    let mut found: Vec<Token> = Vec::new();
    let mut last = ' ';
    for (i, c) in line.chars().enumerate() {
        if c.is_whitespace() || ",;:".contains(c) {
            last = ' ';
            continue;
        }
        let number = |c: char| c.is_ascii_digit() || c == '.' || c == '-';
        let joins = last != ' ' && (number(c) || !number(last));
        match found.last_mut().filter(|_| joins) {
            Some((_, word)) => word.push(c),
            None => found.push((i + 1, c.to_string())),
        }
        last = c;
    }
    found
}

/// Reads one note from a sentence that names the corner, such as "0.3 m late into corner 6".
pub fn read_phrase(from: &str, text: &str, track: &Track) -> Result<Note, Vec<FileFault>> {
    let words = tokens(text);
    let mut rest = words.clone();
    let place = words.iter().position(|t| t.1.eq_ignore_ascii_case("corner"));
    // "late out of 5": what stands behind the preposition, unless it is a size with its unit
    let bare = || {
        let name = |i: usize| {
            let of = words
                .get(i)
                .is_some_and(|t| ["in", "into", "at", "of"].contains(&t.1.to_lowercase().as_str()));
            let size = words.get(i + 2).is_some_and(|t| UNITS.contains(&t.1.to_lowercase().as_str()));
            of && !size
                && words
                    .get(i + 1)
                    .is_some_and(|t| track.data.corners.iter().any(|c| c.name.eq_ignore_ascii_case(&t.1)))
        };
        (0..words.len()).rev().find(|i| name(*i))
    };
    if place.is_none()
        && let Some(i) = bare()
    {
        let named = rest.remove(i + 1);
        return read_note(from, 0, Some(named), &rest, track);
    }
    let corner = place.and_then(|i| {
        let name = words.get(i + 1).cloned();
        rest.drain(i..(i + 2).min(words.len()));
        name
    });
    read_note(from, 0, corner, &rest, track)
}

/// Reads a file of notes: the corner first, then what, and a size.
pub fn read_notes(file: &str, text: &str, track: &Track) -> Result<Vec<Note>, Vec<FileFault>> {
    let (mut notes, mut faults): (Vec<Note>, Vec<FileFault>) = (vec![], vec![]);
    for (line, line_number) in text.trim_start_matches('\u{feff}').lines().zip(1..) {
        let before_comment = line.split('#').next().unwrap_or("");
        // a corner may have a name of several words: it ends at the comma
        let Some((named, words)) = divided(before_comment, track) else {
            if !before_comment.trim().is_empty() {
                let got = format!("\"{}\"", before_comment.trim());
                faults.push(FileFault::at(file, (line_number, 1), "note", got, AS_A_NOTE));
            }
            continue;
        };
        match read_note(file, line_number, named, &words, track) {
            Ok(note) => {
                let same = |n: &Note| {
                    n.corner == note.corner && kind(n.word) == kind(note.word) && n.word != Word::Toe
                };
                if notes.iter().any(same) {
                    let got = format!("a second note of this kind, {}", note.words(track));
                    faults.push(FileFault::at(file, (line_number, 1), "note", got, "one for each corner"));
                }
                notes.push(note);
            }
            Err(more) => faults.extend(more),
        }
    }
    if notes.is_empty() && faults.is_empty() {
        faults.push(FileFault::at(file, (1, 1), "note", "none", AS_A_NOTE));
    }
    faults.sort_by_key(|f| (f.place.line, f.place.column));
    if faults.is_empty() { Ok(notes) } else { Err(faults) }
}

/// How a line of notes is written.
const AS_A_NOTE: &str = "CORNER, WHAT, SIZE on each line, such as 3, late, 2 m";

/// The name of a corner, however it is told: by itself, as "corner 3" or "turn 3", as C3, with a point behind.
fn named<'t>(told: &str, track: &'t Track) -> Option<&'t str> {
    let known = |name: &str| {
        let same = |c: &&track_geometry::track::Corner| c.name.eq_ignore_ascii_case(name);
        track.data.corners.iter().find(same).map(|c| c.name.as_str())
    };
    let told = told.trim().trim_end_matches('.');
    let last = told.rsplit(' ').next().unwrap_or(told);
    let before = told[..told.len() - last.len()].trim().to_lowercase();
    let is_corner = ["", "corner", "turn", "curve"].contains(&before.as_str());
    let after_letter = last.strip_prefix(|c: char| c.is_ascii_alphabetic());
    known(told).or_else(|| is_corner.then(|| known(last).or_else(|| after_letter.and_then(known))).flatten())
}

/// The corner of a line of notes, where it names one, and the words behind it with their columns: divided by the comma,
/// else behind the first words that name a corner.
fn divided(line: &str, track: &Track) -> Option<(Option<Token>, Vec<Token>)> {
    if let Some((name, rest)) = line.split_once(',') {
        let shift = name.chars().count() + 1;
        let words = tokens(rest).into_iter().map(|(c, w)| (c + shift, w)).collect();
        let told = named(name, track).unwrap_or(name.trim()).to_string();
        return Some((Some((1, told)).filter(|n| !n.1.is_empty()), words));
    }
    let words = tokens(line);
    (1..=words.len().min(2)).find_map(|many| {
        let told: Vec<&str> = words[..many].iter().map(|w| w.1.as_str()).collect();
        let name = named(&told.join(" "), track)?.to_string();
        Some((Some((words[0].0, name)), words[many..].to_vec()))
    })
}

/// Words of one kind exclude each other in one corner.
fn kind(word: Word) -> usize {
    match word {
        Word::Late | Word::Early => 0,
        Word::TooMuch | Word::TooLittle | Word::Missed => 1,
        Word::High | Word::Low | Word::Tap | Word::Wall => 2,
        Word::Toe => 3,
        Word::Skid => 4,
    }
}

/// Words that say nothing by themselves.
const FILLING: [&str; 13] =
    ["in", "at", "of", "by", "the", "a", "on", "too", "with", "steering", "corner", "and", "middle"];

/// Units that a size may be told in.
const UNITS: [&str; 7] = ["m", "cm", "s", "ms", "%", "deg", "degrees"];

fn read_note(
    file: &str,
    line: u64,
    corner: Option<Token>,
    words: &[Token],
    track: &Track,
) -> Result<Note, Vec<FileFault>> {
    let mut faults = Vec::new();
    let mut fault = |column: usize, key: &str, got: String, allowed: String| {
        faults.push(FileFault::at(file, (line, column), key, got, allowed));
    };
    let names = || {
        let names: Vec<&str> = track.data.corners.iter().map(|c| c.name.as_str()).collect();
        format!("the corners of {}: {}", track.data.name, names.join(", "))
    };
    let words_known = || WORDS.iter().map(|w| w.1).collect::<Vec<_>>().join(", ");
    let place = match &corner {
        None => {
            fault(1, "corner", "none".into(), names());
            None
        }
        Some((column, name)) => {
            let found = track.data.corners.iter().position(|c| c.name.eq_ignore_ascii_case(name));
            if found.is_none() {
                fault(*column, "corner", name.clone(), names());
            }
            found
        }
    };
    let mut what: Option<(usize, Word)> = None;
    let (mut number, mut unit, mut side) = (None, None, None);
    let mut part = Part::All;
    for (column, text) in words {
        let lower = text.to_lowercase().replace("skidded", "skid");
        let word = WORDS.iter().find(|w| w.1.split(' ').next_back() == Some(lower.as_str())).map(|w| w.0);
        match (word, lower.as_str()) {
            // "tap on the left wall" is one note
            (Some(Word::Wall), _) if what.is_some_and(|w: (usize, Word)| w.1 == Word::Tap) => {}
            (Some(word), _) if what.is_none() => what = Some((*column, word)),
            (Some(_), _) => {
                fault(
                    *column,
                    "what",
                    format!("a second word, {text}"),
                    "one word; write one note for each".into(),
                );
            }
            (None, "left") => side = Some(Hand::Left),
            (None, "right") => side = Some(Hand::Right),
            (None, "into" | "entry") => part = Part::Entry,
            (None, "out" | "exit") => part = Part::Exit,
            (None, "m") => unit = Some((*column, Unit::Metre, 1.0)),
            (None, "cm") => unit = Some((*column, Unit::Metre, 0.01)),
            (None, "s") => unit = Some((*column, Unit::Second, 1.0)),
            (None, "ms") => unit = Some((*column, Unit::Second, 1e-3)),
            (None, "%") => unit = Some((*column, Unit::Percent, 0.01)),
            (None, "deg" | "degrees") => unit = Some((*column, Unit::Degree, 1.0)),
            (None, other) => match other.parse::<f64>() {
                Ok(v) if number.is_none() && v.is_finite() => number = Some((*column, v)),
                // without a corner this may well be one
                Ok(_) if place.is_none() => {}
                Ok(_) => fault(*column, "size", format!("a second number, {text}"), "one number".into()),
                Err(_) if FILLING.contains(&other) => {}
                Err(_) => fault(*column, "what", format!("\"{text}\""), words_known()),
            },
        }
    }
    let Some((_, word)) = what else {
        if faults.is_empty() {
            faults.push(FileFault::at(file, (line, 1), "what", "nothing", words_known()));
        }
        return Err(faults);
    };
    // a size is judged once it is known of what
    let Some(corner) = place else { return Err(faults) };
    let (name, usual, most, own) = row_of(word);
    let timed = matches!(word, Word::Late | Word::Early);
    let spoken = match own {
        _ if timed => "m or s",
        Unit::Percent => "%",
        Unit::Degree => "deg",
        _ => "m",
    };
    if let Some((column, ..)) = unit.filter(|u| u.1 != own && !(timed && u.1 == Unit::Second)) {
        let allowed = format!("{spoken} for \"{name}\"");
        faults.push(FileFault::at(file, (line, column), "size", "another unit", allowed));
    }
    let plain = if own == Unit::Percent { 0.01 } else { 1.0 };
    let (unit, scale) = unit.map_or((own, plain), |u| (u.1, u.2));
    let most = if unit == Unit::Second { MOST_LATE_S } else { most };
    let size = number.map_or(usual, |(_, v)| v * scale);
    if let Some((column, v)) = number.filter(|_| !(size > 0.0 && size <= most * (1.0 + 1e-12))) {
        let in_unit = match own {
            _ if unit == Unit::Second => "s",
            Unit::Percent => "%",
            Unit::Degree => "deg",
            _ => "m",
        };
        let most = if own == Unit::Percent { most * 100.0 } else { most };
        let allowed = format!("above 0, at most {most} {in_unit} for \"{name}\"");
        faults.push(FileFault::at(file, (line, column), "size", v.to_string(), allowed));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let inner = track.data.corners[corner].hand;
    let usual_side = match (word, inner) {
        (Word::Tap | Word::Wall, Hand::Left) => Hand::Right,
        (Word::Tap | Word::Wall, Hand::Right) => Hand::Left,
        _ => inner,
    };
    let unit = if number.is_some() { unit } else { own };
    let (said, side_said) = (number.is_some(), side.is_some());
    Ok(Note { corner, word, part, size, unit, said, side: side.unwrap_or(usual_side), side_said })
}
