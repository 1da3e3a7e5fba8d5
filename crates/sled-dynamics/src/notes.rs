//! What people say of a ride, corner by corner, understood as pieces that go wrong.
//!
//! ```text
//!   # corner, what, size (may be left out)
//!   6, late, 0.3 m
//!   9, too much, 20 %
//!   11, tap left
//! ```
//!
//! The same words in a sentence, as in "0.3 m late into corner 6". Sizes that are not said are assumed, and told.

use crate::pieces::Piece;
use crate::sections::sections;
use crate::told_line::ToldPlace;
use std::fmt;
use track_geometry::track::{Hand, Track};

/// What is noted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Word {
    /// Steering came too late.
    Late,
    /// Steering came too early.
    Early,
    /// The line was too high on the bank.
    High,
    /// The line was too low on the bank.
    Low,
    /// Too much steering.
    TooMuch,
    /// Too little steering.
    TooLittle,
    /// A steer that was not made at all.
    Missed,
    /// A wall was just touched.
    Tap,
    /// A wall was hit.
    Wall,
    /// A toe on the ice.
    Toe,
}

/// Word, how it is said, size assumed where none is given, greatest size, unit.
const WORDS: [(Word, &str, f64, f64, Unit); 10] = [
    (Word::Late, "late", 2.0, 10.0, Unit::Metre),
    (Word::Early, "early", 2.0, 10.0, Unit::Metre),
    (Word::High, "high", 0.2, 1.0, Unit::Metre),
    (Word::Low, "low", 0.2, 1.0, Unit::Metre),
    (Word::TooMuch, "too much", 0.2, 1.0, Unit::Percent),
    (Word::TooLittle, "too little", 0.2, 1.0, Unit::Percent),
    (Word::Missed, "missed", 1.0, 1.0, Unit::Percent),
    (Word::Tap, "tap", 0.01, 0.1, Unit::Metre),
    (Word::Wall, "wall", 0.05, 0.1, Unit::Metre),
    (Word::Toe, "toe", 5.0, 50.0, Unit::Metre),
];

/// What a size is told in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Metres.
    Metre,
    /// Seconds, for what comes late or early.
    Second,
    /// Per cent of the steering.
    Percent,
}

/// Most that steering comes late or early (s).
const MOST_LATE_S: f64 = 0.5;

/// Which part of a corner.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// All of it; a place is its middle.
    All,
    /// Into it: up to the middle; a place is its entry.
    Entry,
    /// Out of it: from the middle on; a place is its exit.
    Exit,
}

/// One note.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Note {
    /// The corner, by its place in the track's list.
    pub corner: usize,
    /// What.
    pub word: Word,
    /// Which part of the corner.
    pub part: Part,
    /// How much: metres, seconds, or a share of the steering `[-]`.
    pub size: f64,
    /// What the size is told in.
    pub unit: Unit,
    /// Whether the size was said.
    pub said: bool,
    /// The side of a wall or a toe; where none was said, the outer wall and the inner toe.
    pub side: Hand,
    /// Whether the side was said.
    pub side_said: bool,
}

/// What is wrong with a note.
#[derive(Clone, Debug, PartialEq)]
pub struct NoteFault {
    /// The file, or where else the note comes from.
    pub file: String,
    /// Line, from 1; 0 in a sentence, which has none.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
    /// What was read and what is allowed.
    pub what: String,
}

impl fmt::Display for NoteFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if self.line > 0 {
            write!(f, ", line {}", self.line)?;
        }
        write!(f, ", column {}: {}", self.column, self.what)
    }
}

fn row_of(word: Word) -> (&'static str, f64, f64, Unit) {
    let (_, name, usual, most, unit) = WORDS[WORDS.iter().position(|w| w.0 == word).unwrap_or(0)];
    (name, usual, most, unit)
}

impl Note {
    /// The same note at another size.
    pub fn sized(self, size: f64) -> Note {
        Note { size, ..self }
    }

    /// The note with its size, in a few words.
    pub fn words(&self, track: &Track) -> String {
        let (name, ..) = row_of(self.word);
        let size = match self.unit {
            Unit::Metre => format!("{} m", self.size),
            Unit::Second => format!("{} s", self.size),
            Unit::Percent => format!("{:.0} %", 100.0 * self.size),
        };
        let side = match (self.word, self.side) {
            (Word::Tap | Word::Wall | Word::Toe, Hand::Left) => " left",
            (Word::Tap | Word::Wall | Word::Toe, Hand::Right) => " right",
            _ => "",
        };
        let part = ["", " into", " out of"][self.part as usize];
        format!("corner {}: {name}{part}{side}, {size}", track.data.corners[self.corner].name)
    }

    /// What the note is understood as.
    pub fn understood(&self, track: &Track) -> String {
        let (from_m, to_m) = self.stretch_m(track);
        let mut way = format!("station {from_m:.0} to {to_m:.0} m");
        let inner = track.data.corners[self.corner].hand;
        let hand = |h: Hand| if h == Hand::Left { "left" } else { "right" };
        let (size, unit) = (self.size, if self.unit == Unit::Second { "s" } else { "m" });
        let what = match self.word {
            Word::Late => format!("steering comes {size} {unit} behind the plan"),
            Word::Early => format!("steering comes {size} {unit} before the plan"),
            Word::TooMuch => format!("{:.0} % of the planned steering", 100.0 * (1.0 + size)),
            Word::TooLittle | Word::Missed => {
                format!("{:.0} % of the planned steering", 100.0 * (1.0 - size))
            }
            Word::Toe => {
                way = format!("station {:.0} to {:.0} m", self.place_m(track), self.place_m(track) + size);
                format!("the {} toe pressed", hand(self.side))
            }
            Word::High | Word::Low => {
                way = format!("station {:.0} m", self.place_m(track));
                let outward = (self.word == Word::High) == (inner == Hand::Right);
                let side = if outward { "left" } else { "right" };
                format!("planned anew {size} m to the {side} of the plan, along the ice")
            }
            Word::Tap | Word::Wall => {
                format!("planned anew to the {} wall and {size} m into it", hand(self.side))
            }
        };
        let mut assumed = if self.said { String::new() } else { " (size assumed)".into() };
        if !self.side_said {
            match self.word {
                Word::Tap | Word::Wall => {
                    assumed += &format!(
                        " (no side said: {} assumed, the outer one, where the corner throws)",
                        hand(self.side)
                    );
                }
                Word::Toe => {
                    assumed += &format!(
                        " (no side said: {} assumed, the inner one, which turns the sled in)",
                        hand(self.side)
                    );
                }
                _ => {}
            }
        }
        format!("{}: {what}, {way}{assumed}", self.words(track))
    }

    /// Where it goes wrong (m): the section of the corner, or its half before or behind the middle.
    pub fn stretch_m(&self, track: &Track) -> (f64, f64) {
        let corner = &track.data.corners[self.corner];
        let section = sections(track).into_iter().find(|s| s.corner == Some(self.corner));
        let (from_m, to_m) = section.map_or((corner.entry_m, corner.exit_m), |s| (s.from_m, s.to_m));
        let middle_m = 0.5 * (corner.entry_m + corner.exit_m);
        match self.part {
            Part::All => (from_m, to_m),
            Part::Entry => (from_m, middle_m),
            Part::Exit => (middle_m, to_m),
        }
    }

    /// The place that is meant (m); a toe in the whole corner is put down at its entry.
    pub fn place_m(&self, track: &Track) -> f64 {
        let corner = &track.data.corners[self.corner];
        match self.part {
            Part::All if self.word == Word::Toe => corner.entry_m,
            Part::All => 0.5 * (corner.entry_m + corner.exit_m),
            Part::Entry => corner.entry_m,
            Part::Exit => corner.exit_m,
        }
    }

    /// The piece of the ride that goes wrong, at about this speed; a wall needs the plan to be found, and is told
    /// by nothing here.
    pub fn piece(&self, track: &Track, speed_m_s: f64) -> Piece {
        let (from_m, to_m) = self.stretch_m(track);
        let piece = Piece::between(from_m, to_m);
        // the high side of a left-hand corner is on the right
        let high = if track.data.corners[self.corner].hand == Hand::Left { -1.0 } else { 1.0 };
        let late_m = if self.unit == Unit::Second { self.size * speed_m_s } else { self.size };
        let told = |aside_m: f64| {
            let place = ToldPlace { station_m: self.place_m(track), aside_m, wall: None };
            Piece { told: Some(place), ..piece }
        };
        match self.word {
            Word::Late => Piece { late_m, ..piece },
            Word::Early => Piece { late_m: -late_m, ..piece },
            Word::High => told(high * self.size),
            Word::Low => told(-high * self.size),
            Word::TooMuch => Piece { amount: 1.0 + self.size, ..piece },
            Word::TooLittle | Word::Missed => Piece { amount: 1.0 - self.size, ..piece },
            Word::Tap | Word::Wall => piece,
            Word::Toe => {
                let toes = if self.side == Hand::Left { [1.0, 0.0] } else { [0.0, 1.0] };
                let from_m = self.place_m(track);
                Piece { toes, of_m: from_m, from_m, to_m: from_m + self.size, ..piece }
            }
        }
    }
}

/// The usual faults in every corner, at their assumed sizes.
pub fn usual_notes(track: &Track) -> Vec<Note> {
    let words = [Word::Late, Word::Early, Word::High, Word::Low, Word::TooMuch, Word::TooLittle];
    let one = |(corner, word)| Note {
        corner,
        word,
        part: Part::All,
        size: row_of(word).1,
        unit: row_of(word).3,
        said: false,
        side: track.data.corners[corner].hand,
        side_said: false,
    };
    (0..track.data.corners.len()).flat_map(|c| words.map(|w| (c, w))).map(one).collect()
}

/// Words of a line with their columns, from 1; numbers and units are told apart.
fn tokens(line: &str) -> Vec<(usize, String)> {
    let mut found: Vec<(usize, String)> = Vec::new();
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
pub fn read_phrase(from: &str, text: &str, track: &Track) -> Result<Note, Vec<NoteFault>> {
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
pub fn read_notes(file: &str, text: &str, track: &Track) -> Result<Vec<Note>, Vec<NoteFault>> {
    let (mut notes, mut faults): (Vec<Note>, Vec<NoteFault>) = (vec![], vec![]);
    for (i, line) in text.trim_start_matches('\u{feff}').lines().enumerate() {
        let before_comment = line.split('#').next().unwrap_or("");
        // a corner may have a name of several words: it ends at the comma
        let Some((name, rest)) = before_comment.split_once(',') else {
            if !before_comment.trim().is_empty() {
                let what = format!("read \"{}\", allowed is CORNER, WHAT, SIZE", before_comment.trim());
                faults.push(NoteFault { file: file.into(), line: i + 1, column: 1, what });
            }
            continue;
        };
        let shift = name.chars().count() + 1;
        let words: Vec<_> = tokens(rest).into_iter().map(|(c, w)| (c + shift, w)).collect();
        let named = Some((1, name.trim().to_string())).filter(|n| !n.1.is_empty());
        match read_note(file, i + 1, named, &words, track) {
            Ok(note) => {
                let same = |n: &Note| {
                    n.corner == note.corner && kind(n.word) == kind(note.word) && n.word != Word::Toe
                };
                if notes.iter().any(same) {
                    let what = format!("a second note of this kind: {}", note.words(track));
                    faults.push(NoteFault { file: file.into(), line: i + 1, column: 1, what });
                }
                notes.push(note);
            }
            Err(more) => faults.extend(more),
        }
    }
    if notes.is_empty() && faults.is_empty() {
        let what = "there is no note; allowed is CORNER, WHAT, SIZE on each line".into();
        faults.push(NoteFault { file: file.into(), line: 1, column: 1, what });
    }
    faults.sort_by_key(|f| (f.line, f.column));
    if faults.is_empty() { Ok(notes) } else { Err(faults) }
}

/// Words of one kind exclude each other in one corner.
fn kind(word: Word) -> usize {
    match word {
        Word::Late | Word::Early => 0,
        Word::TooMuch | Word::TooLittle | Word::Missed => 1,
        Word::High | Word::Low | Word::Tap | Word::Wall => 2,
        Word::Toe => 3,
    }
}

/// Words that say nothing by themselves.
const FILLING: [&str; 13] =
    ["in", "at", "of", "by", "the", "a", "on", "too", "with", "steering", "corner", "and", "middle"];

/// Units that a size may be told in.
const UNITS: [&str; 5] = ["m", "cm", "s", "ms", "%"];

fn read_note(
    file: &str,
    line: usize,
    corner: Option<(usize, String)>,
    words: &[(usize, String)],
    track: &Track,
) -> Result<Note, Vec<NoteFault>> {
    let mut faults = Vec::new();
    let mut fault =
        |column: usize, what: String| faults.push(NoteFault { file: file.into(), line, column, what });
    let names = || track.data.corners.iter().map(|c| c.name.as_str()).collect::<Vec<_>>().join(", ");
    let place = match &corner {
        None => {
            fault(1, format!("no corner is named; the corners of {} are {}", track.data.name, names()));
            None
        }
        Some((column, name)) => {
            let found = track.data.corners.iter().position(|c| c.name.eq_ignore_ascii_case(name));
            if found.is_none() {
                fault(
                    *column,
                    format!("read corner {name}, the corners of {} are {}", track.data.name, names()),
                );
            }
            found
        }
    };
    let mut what: Option<(usize, Word)> = None;
    let (mut number, mut unit, mut side) = (None, None, None);
    let mut part = Part::All;
    for (column, text) in words {
        let lower = text.to_lowercase();
        let word = WORDS.iter().find(|w| w.1.split(' ').next_back() == Some(lower.as_str())).map(|w| w.0);
        match (word, lower.as_str()) {
            // "tap on the left wall" is one note
            (Some(Word::Wall), _) if what.is_some_and(|w: (usize, Word)| w.1 == Word::Tap) => {}
            (Some(word), _) if what.is_none() => what = Some((*column, word)),
            (Some(_), _) => fault(*column, format!("read a second word, {text}; write one note for each")),
            (None, "left") => side = Some(Hand::Left),
            (None, "right") => side = Some(Hand::Right),
            (None, "into" | "entry") => part = Part::Entry,
            (None, "out" | "exit") => part = Part::Exit,
            (None, "m") => unit = Some((*column, Unit::Metre, 1.0)),
            (None, "cm") => unit = Some((*column, Unit::Metre, 0.01)),
            (None, "s") => unit = Some((*column, Unit::Second, 1.0)),
            (None, "ms") => unit = Some((*column, Unit::Second, 1e-3)),
            (None, "%") => unit = Some((*column, Unit::Percent, 0.01)),
            (None, other) => match other.parse::<f64>() {
                Ok(v) if number.is_none() && v.is_finite() => number = Some((*column, v)),
                // without a corner this may well be one
                Ok(_) if place.is_none() => {}
                Ok(_) => fault(*column, format!("read a second number, {text}")),
                Err(_) if FILLING.contains(&other) => {}
                Err(_) => {
                    let known: Vec<&str> = WORDS.iter().map(|w| w.1).collect();
                    fault(*column, format!("read \"{text}\", allowed are {}", known.join(", ")));
                }
            },
        }
    }
    let Some((_, word)) = what else {
        if faults.is_empty() {
            let known: Vec<&str> = WORDS.iter().map(|w| w.1).collect();
            let what = format!("nothing is said of the corner; allowed are {}", known.join(", "));
            faults.push(NoteFault { file: file.into(), line, column: 1, what });
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
        _ => "m",
    };
    if let Some((column, ..)) = unit.filter(|u| u.1 != own && !(timed && u.1 == Unit::Second)) {
        faults.push(NoteFault {
            file: file.into(),
            line,
            column,
            what: format!("the size of \"{name}\" is in {spoken}"),
        });
    }
    let plain = if own == Unit::Percent { 0.01 } else { 1.0 };
    let (unit, scale) = unit.map_or((own, plain), |u| (u.1, u.2));
    let most = if unit == Unit::Second { MOST_LATE_S } else { most };
    let size = number.map_or(usual, |(_, v)| v * scale);
    if let Some((column, v)) = number.filter(|_| !(size > 0.0 && size <= most * (1.0 + 1e-12))) {
        let in_unit = if unit == Unit::Second {
            "s"
        } else if own == Unit::Percent {
            "%"
        } else {
            "m"
        };
        let most = if own == Unit::Percent { most * 100.0 } else { most };
        let what = format!("{name}: read {v}, allowed above 0, at most {most} {in_unit}");
        faults.push(NoteFault { file: file.into(), line, column, what });
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
