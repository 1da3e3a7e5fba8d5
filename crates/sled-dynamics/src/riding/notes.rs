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

use crate::analysis::sections::sections;
use crate::riding::pieces::Piece;
use crate::riding::told_line::ToldPlace;
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
    /// The sled skidded: its nose went to one side of its way.
    Skid,
}

/// Word, how it is said, size assumed where none is given, greatest size, unit.
pub(crate) const WORDS: [(Word, &str, f64, f64, Unit); 11] = [
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
    (Word::Skid, "skid", 10.0, 30.0, Unit::Degree),
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
    /// Degrees of slip.
    Degree,
}

/// Most that steering comes late or early (s).
pub(crate) const MOST_LATE_S: f64 = 0.5;

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
    /// How much: metres, seconds, degrees, or a share of the steering `[-]`.
    pub size: f64,
    /// What the size is told in.
    pub unit: Unit,
    /// Whether the size was said.
    pub said: bool,
    /// The side of a wall or a toe, or that to which the nose goes in a skid; where none was said, the outer wall, the
    /// inner toe, the nose inwards.
    pub side: Hand,
    /// Whether the side was said.
    pub side_said: bool,
}

pub(crate) fn row_of(word: Word) -> (&'static str, f64, f64, Unit) {
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
            Unit::Degree => format!("{} deg", self.size),
        };
        let side = match (self.word, self.side) {
            (Word::Tap | Word::Wall | Word::Toe | Word::Skid, Hand::Left) => " left",
            (Word::Tap | Word::Wall | Word::Toe | Word::Skid, Hand::Right) => " right",
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
            Word::Skid => {
                way = format!("from station {:.0} m on", self.place_m(track));
                format!("a kick that turns the nose up to {size} deg to the {} of its way", hand(self.side))
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
                Word::Skid => {
                    assumed += &format!(
                        " (no side said: {} assumed, inwards, as a sled skids that turns too much)",
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

    /// The piece of the ride that goes wrong, at about this speed; a wall and a skid need the plan to be found, and are
    /// told by nothing here.
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
            Word::Tap | Word::Wall | Word::Skid => piece,
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
