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
    /// A wall was just touched.
    Tap,
    /// A wall was hit.
    Wall,
    /// A toe on the ice.
    Toe,
}

/// Word, how it is said, size assumed where none is given, greatest size, unit.
const WORDS: [(Word, &str, f64, f64, Unit); 9] = [
    (Word::Late, "late", 2.0, 10.0, Unit::Metre),
    (Word::Early, "early", 2.0, 10.0, Unit::Metre),
    (Word::High, "high", 0.2, 1.0, Unit::Metre),
    (Word::Low, "low", 0.2, 1.0, Unit::Metre),
    (Word::TooMuch, "too much", 0.2, 1.0, Unit::Percent),
    (Word::TooLittle, "too little", 0.2, 1.0, Unit::Percent),
    (Word::Tap, "tap", 0.3, 1.0, Unit::Metre),
    (Word::Wall, "wall", 0.6, 1.0, Unit::Metre),
    (Word::Toe, "toe", 5.0, 50.0, Unit::Metre),
];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Unit {
    Metre,
    Percent,
}

/// One note.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Note {
    /// The corner, by its place in the track's list.
    pub corner: usize,
    /// What.
    pub word: Word,
    /// How much: metres, or a share of the steering `[-]`.
    pub size: f64,
    /// Whether the size was said.
    pub said: bool,
    /// The side of a wall or a toe; the inner one where none was said.
    pub side: Hand,
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
        let (name, _, _, unit) = row_of(self.word);
        let size = match unit {
            Unit::Metre => format!("{} m", self.size),
            Unit::Percent => format!("{:.0} %", 100.0 * self.size),
        };
        let side = match (self.word, self.side) {
            (Word::Tap | Word::Wall | Word::Toe, Hand::Left) => " left",
            (Word::Tap | Word::Wall | Word::Toe, Hand::Right) => " right",
            _ => "",
        };
        format!("corner {}: {name}{side}, {size}", track.data.corners[self.corner].name)
    }

    /// What the note is understood as.
    pub fn understood(&self, track: &Track) -> String {
        let p = self.piece(track);
        let way = format!("station {:.0} to {:.0} m", p.from_m, p.to_m);
        let what = match self.word {
            Word::Late => format!("steering comes {} m behind the plan", self.size),
            Word::Early => format!("steering comes {} m before the plan", self.size),
            Word::TooMuch | Word::TooLittle => format!("{:.0} % of the planned steering", 100.0 * p.amount),
            Word::Toe => {
                format!("the {} toe pressed", if self.side == Hand::Left { "left" } else { "right" })
            }
            _ => {
                let side = if p.aim_m > 0.0 { "left" } else { "right" };
                format!("line aimed {} m to the {side} of the plan", self.size)
            }
        };
        let assumed = if self.said { "" } else { " (size assumed)" };
        format!("{}: {}, {way}{assumed}", self.words(track), what)
    }

    /// The piece of the ride that goes wrong.
    pub fn piece(&self, track: &Track) -> Piece {
        let corner = &track.data.corners[self.corner];
        let section = sections(track).into_iter().find(|s| s.corner == Some(self.corner));
        let (from_m, to_m) = section.map_or((corner.entry_m, corner.exit_m), |s| (s.from_m, s.to_m));
        let piece = Piece::between(from_m, to_m);
        // the high side of a left-hand corner is on the right
        let high = if corner.hand == Hand::Left { -1.0 } else { 1.0 };
        let side = if self.side == Hand::Left { 1.0 } else { -1.0 };
        match self.word {
            Word::Late => Piece { late_m: self.size, ..piece },
            Word::Early => Piece { late_m: -self.size, ..piece },
            Word::High => Piece { aim_m: high * self.size, ..piece },
            Word::Low => Piece { aim_m: -high * self.size, ..piece },
            Word::TooMuch => Piece { amount: 1.0 + self.size, ..piece },
            Word::TooLittle => Piece { amount: 1.0 - self.size, ..piece },
            Word::Tap | Word::Wall => Piece { aim_m: side * self.size, ..piece },
            Word::Toe => {
                let toes = if self.side == Hand::Left { [1.0, 0.0] } else { [0.0, 1.0] };
                let from_m = corner.entry_m;
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
        size: row_of(word).1,
        said: false,
        side: track.data.corners[corner].hand,
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
    let place = words.iter().position(|t| t.1.eq_ignore_ascii_case("corner"));
    let mut rest = words.clone();
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
        Word::TooMuch | Word::TooLittle => 1,
        Word::High | Word::Low | Word::Tap | Word::Wall => 2,
        Word::Toe => 3,
    }
}

/// Words that say nothing by themselves.
const FILLING: [&str; 16] = [
    "in", "into", "at", "of", "by", "the", "a", "on", "too", "with", "out", "steering", "corner", "m", "%",
    "and",
];

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
    for (column, text) in words {
        let lower = text.to_lowercase();
        let word = WORDS.iter().find(|w| w.1.split(' ').next_back() == Some(lower.as_str())).map(|w| w.0);
        match (word, lower.as_str()) {
            (Some(word), _) if what.is_none() => what = Some((*column, word)),
            (Some(_), _) => fault(*column, format!("read a second word, {text}; write one note for each")),
            (None, "left") => side = Some(Hand::Left),
            (None, "right") => side = Some(Hand::Right),
            (None, "m") => unit = Some((*column, Unit::Metre)),
            (None, "%") => unit = Some((*column, Unit::Percent)),
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
    let spoken = if own == Unit::Metre { "m" } else { "%" };
    if let Some((column, _)) = unit.filter(|u| u.1 != own) {
        faults.push(NoteFault {
            file: file.into(),
            line,
            column,
            what: format!("the size of \"{name}\" is in {spoken}"),
        });
    }
    let scale = if own == Unit::Metre { 1.0 } else { 100.0 };
    let size = number.map_or(usual, |(_, v)| v / scale);
    if let Some((column, v)) = number.filter(|_| !(size > 0.0 && size <= most)) {
        let what = format!("{name}: read {v}, allowed above 0, at most {} {spoken}", most * scale);
        faults.push(NoteFault { file: file.into(), line, column, what });
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let side = side.unwrap_or(track.data.corners[corner].hand);
    Ok(Note { corner, word, size, said: number.is_some(), side })
}
