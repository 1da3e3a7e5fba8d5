//! Faults: what makes a track file unusable, each with its place, what was read and what is allowed.

use std::fmt;

/// Where in a file something was read. Lines and columns count from 1.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// File name as the caller gave it.
    pub file: String,
    /// Line; `None` when the fault belongs to the whole file.
    pub line: Option<usize>,
    /// In CSV the number of the field, in TOML the character in the line.
    pub column: Option<usize>,
    /// Name of the CSV column or of the TOML key.
    pub key: Option<String>,
}

impl Place {
    /// A whole file.
    pub fn file(file: &str) -> Place {
        Place { file: file.to_owned(), line: None, column: None, key: None }
    }

    /// A line of a file.
    pub(crate) fn line(file: &str, line: usize) -> Place {
        Place { line: Some(line), ..Place::file(file) }
    }

    /// A named field or key of a line.
    pub(crate) fn field(file: &str, line: usize, column: usize, key: &str) -> Place {
        Place { column: Some(column), key: Some(key.to_owned()), ..Place::line(file, line) }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(line) = self.line {
            write!(f, ", line {line}")?;
        }
        if let Some(column) = self.column {
            write!(f, ", column {column}")?;
        }
        if let Some(key) = &self.key {
            write!(f, " ({key})")?;
        }
        Ok(())
    }
}

/// A fault with its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// Where it was read.
    pub place: Place,
    /// What is wrong.
    pub kind: FaultKind,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.kind)
    }
}

/// All faults of an input, in the order they were found; never empty inside an `Err`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Faults(pub Vec<Fault>);

impl Faults {
    /// Adds a fault.
    pub fn add(&mut self, place: Place, kind: FaultKind) {
        self.0.push(Fault { place, kind });
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, fault) in self.0.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{fault}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}

/// What is wrong in a track file or a corner list.
#[derive(Clone, Debug, PartialEq)]
pub enum FaultKind {
    /// Nothing but blanks.
    EmptyFile,
    /// Columns are separated by semicolons.
    SemicolonSeparator,
    /// A column that must be there is not.
    MissingColumn,
    /// A column nobody knows, with the nearest known name.
    UnknownColumn {
        /// The known name it may have meant.
        suggestion: Option<String>,
    },
    /// A column given twice.
    RepeatedColumn,
    /// A line with too many or too few fields.
    FieldCount {
        /// Fields in the line.
        got: usize,
        /// Fields in the header.
        expected: usize,
    },
    /// The bytes are no CSV.
    Csv {
        /// What the CSV reader said.
        message: String,
    },
    /// Text where a number is needed.
    NotANumber {
        /// What was read.
        got: String,
    },
    /// A number written with a decimal comma.
    DecimalComma {
        /// What was read.
        got: String,
    },
    /// NaN or infinite.
    NotFinite {
        /// What was read.
        got: String,
    },
    /// A station not beyond the one before.
    StationsNotIncreasing {
        /// The station read (m).
        got_m: f64,
        /// The station of the row before (m).
        before_m: f64,
    },
    /// Fewer rows than a spline needs.
    TooFewRows {
        /// Rows read.
        got: usize,
        /// Rows needed.
        least: usize,
    },
    /// The drop to the next station is longer than the way to it.
    TooSteep {
        /// Change of elevation (m).
        rise_m: f64,
        /// Step of station (m).
        step_m: f64,
    },
    /// The banking changes faster than ice can be laid.
    BankingJump {
        /// Change of banking over the step (deg/m).
        got_deg_per_m: f64,
        /// Most allowed (deg/m).
        most_deg_per_m: f64,
    },
    /// The right edge is not to the right of the left edge.
    EdgesCross {
        /// Left edge (m).
        left_m: f64,
        /// Right edge (m).
        right_m: f64,
    },
    /// The reference line is outside the ice: left must be positive, right negative.
    LineOffTheIce {
        /// Left edge (m).
        left_m: f64,
        /// Right edge (m).
        right_m: f64,
    },
    /// A number outside its limits.
    OutOfRange {
        /// What was read.
        got: f64,
        /// What is allowed, in words.
        allowed: String,
    },
    /// The text is no TOML.
    Toml {
        /// What the TOML reader said.
        message: String,
    },
    /// A key that must be there is not.
    MissingKey,
    /// A key nobody knows, with the nearest known name.
    UnknownKey {
        /// The known name it may have meant.
        suggestion: Option<String>,
    },
    /// A value of another type.
    WrongType {
        /// Type that was read.
        got: String,
        /// Type that is allowed.
        allowed: String,
    },
    /// A word that is none of the allowed words.
    NotAChoice {
        /// What was read.
        got: String,
        /// The allowed words.
        allowed: String,
    },
    /// Two keys of which only one may be there, or one of two that must be.
    EitherOr {
        /// The two keys.
        keys: String,
    },
    /// Fewer than two timing eyes.
    TooFewEyes {
        /// Eyes read.
        got: usize,
    },
    /// A timing eye not beyond the one before.
    EyesOutOfOrder {
        /// Its station (m).
        got_m: f64,
        /// Station of the eye before (m).
        before_m: f64,
    },
    /// A station outside the track.
    OutsideTrack {
        /// What was read (m).
        got_m: f64,
        /// First station (m).
        first_m: f64,
        /// Last station (m).
        last_m: f64,
    },
    /// A corner that ends before it begins.
    CornerBackwards {
        /// Entry (m).
        entry_m: f64,
        /// Exit (m).
        exit_m: f64,
    },
    /// A corner that begins before the one before has ended.
    CornersOverlap {
        /// Entry (m).
        entry_m: f64,
        /// Exit of the corner before (m).
        before_exit_m: f64,
    },
    /// A corner where the track does not turn.
    CornerDoesNotTurn {
        /// Angle turned between entry and exit (deg).
        angle_deg: f64,
    },
    /// The transitions alone turn further than the corner.
    TransitionsTooLong {
        /// Angle of the corner (deg).
        angle_deg: f64,
        /// Angle the transitions turn (deg).
        transitions_deg: f64,
    },
    /// The track steepens so fast that at the design speed the ice falls away.
    LightAtDesignSpeed {
        /// Station (m).
        station_m: f64,
        /// Design speed (km/h).
        design_speed_km_h: f64,
    },
}

fn meant(suggestion: Option<&String>) -> String {
    suggestion.map_or(String::new(), |s| format!("; did you mean `{s}`?"))
}

impl fmt::Display for FaultKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use FaultKind as K;
        match self {
            K::EmptyFile => write!(f, "the file is empty; a header line and rows are needed"),
            K::SemicolonSeparator => write!(
                f,
                "columns are separated by semicolons; separate them by commas and write decimals with a point"
            ),
            K::MissingColumn => write!(f, "this column is missing; it must be in the header"),
            K::UnknownColumn { suggestion } => write!(f, "unknown column{}", meant(suggestion.as_ref())),
            K::RepeatedColumn => write!(f, "this column is there twice; once is allowed"),
            K::FieldCount { got, expected } => write!(
                f,
                "{got} fields, the header has {expected}; every line needs as many (a decimal comma splits a \
                 number in two: write a point)"
            ),
            K::Csv { message } => write!(f, "not readable as CSV: {message}"),
            K::NotANumber { got } => write!(f, "got \"{got}\"; a number is allowed"),
            K::DecimalComma { got } => {
                write!(f, "got \"{got}\", a number with a decimal comma; write \"{}\"", got.replace(',', "."))
            }
            K::NotFinite { got } => write!(f, "got \"{got}\"; a finite number is allowed"),
            K::StationsNotIncreasing { got_m, before_m } => {
                write!(f, "got {got_m} m after {before_m} m; stations must increase")
            }
            K::TooFewRows { got, least } => write!(f, "{got} rows; at least {least} are needed"),
            K::TooSteep { rise_m, step_m } => write!(
                f,
                "elevation changes by {rise_m:.4} m over {step_m:.4} m of track; less than the way is allowed \
                 (stations are lengths along the track)"
            ),
            K::BankingJump { got_deg_per_m, most_deg_per_m } => write!(
                f,
                "banking changes by {got_deg_per_m:.1} deg per metre; at most {most_deg_per_m} is allowed"
            ),
            K::EdgesCross { left_m, right_m } => write!(
                f,
                "left edge {left_m} m is not left of the right edge {right_m} m; left must be greater"
            ),
            K::LineOffTheIce { left_m, right_m } => write!(
                f,
                "edges left {left_m} m, right {right_m} m leave the reference line off the ice; left must be \
                 positive, right negative"
            ),
            K::OutOfRange { got, allowed } => write!(f, "got {got}; {allowed} is allowed"),
            K::Toml { message } => write!(f, "not readable as TOML: {message}"),
            K::MissingKey => write!(f, "this key is missing; it must be there"),
            K::UnknownKey { suggestion } => write!(f, "unknown key{}", meant(suggestion.as_ref())),
            K::WrongType { got, allowed } => write!(f, "got {got}; {allowed} is allowed"),
            K::NotAChoice { got, allowed } => write!(f, "got \"{got}\"; allowed: {allowed}"),
            K::EitherOr { keys } => write!(f, "exactly one of {keys} must be there"),
            K::TooFewEyes { got } => {
                write!(f, "{got} timing eyes; at least 2 are needed (start and finish)")
            }
            K::EyesOutOfOrder { got_m, before_m } => {
                write!(f, "got {got_m} m after {before_m} m; eyes must stand in order of station")
            }
            K::OutsideTrack { got_m, first_m, last_m } => {
                write!(f, "got {got_m} m; the track reaches from {first_m} to {last_m} m")
            }
            K::CornerBackwards { entry_m, exit_m } => {
                write!(f, "entry {entry_m} m, exit {exit_m} m; the exit must come after the entry")
            }
            K::CornersOverlap { entry_m, before_exit_m } => write!(
                f,
                "entry {entry_m} m, but the corner before ends at {before_exit_m} m; corners must not overlap"
            ),
            K::CornerDoesNotTurn { angle_deg } => write!(
                f,
                "the track turns by {angle_deg:.3} deg between entry and exit; a corner turns, so its hand can be \
                 told"
            ),
            K::TransitionsTooLong { angle_deg, transitions_deg } => write!(
                f,
                "angle {angle_deg} deg, but the transitions alone turn {transitions_deg:.2} deg at this radius; \
                 shorten them, or allow a greater angle or radius"
            ),
            K::LightAtDesignSpeed { station_m, design_speed_km_h } => write!(
                f,
                "at station {station_m:.1} m the track falls away from a sled at {design_speed_km_h:.1} km/h; \
                 change the grade more slowly"
            ),
        }
    }
}
