//! Faults: what makes a track file unusable, each with its place, what was read and what is allowed.

use file_faults::Place;

/// A fault with its place.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{}", file_faults::one_line(&format!("{}: {}", .place, .kind)))]
pub struct Fault {
    /// Where it was read.
    pub place: Place,
    /// What is wrong.
    pub kind: FaultKind,
}

/// All faults of an input, in the order they were found; never empty inside an `Err`.
#[derive(Clone, Debug, Default, PartialEq, thiserror::Error)]
#[error("{}", file_faults::lines(.0))]
pub struct Faults(pub Vec<Fault>);

impl Faults {
    /// Adds a fault.
    pub fn add(&mut self, place: Place, kind: FaultKind) {
        self.0.push(Fault { place, kind });
    }
}

/// What is wrong in a track file or a corner list.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FaultKind {
    /// Nothing but blanks.
    #[error("the file is empty; a header line and rows are needed")]
    EmptyFile,
    /// Columns are separated by semicolons.
    #[error("columns are separated by semicolons; separate them by commas and write decimals with a point")]
    SemicolonSeparator,
    /// A column that must be there is not.
    #[error("this column is missing; it must be in the header")]
    MissingColumn,
    /// A column nobody knows, with the nearest known name.
    #[error("unknown column{}", meant(.suggestion.as_ref()))]
    UnknownColumn {
        /// The known name it may have meant.
        suggestion: Option<String>,
    },
    /// A column given twice.
    #[error("this column is there twice; allowed: once")]
    RepeatedColumn,
    /// A line with too many or too few fields.
    #[error(
        "{got} fields, the header has {expected}; every line needs as many (a decimal comma splits a \
         number in two: write a point)"
    )]
    FieldCount {
        /// Fields in the line.
        got: usize,
        /// Fields in the header.
        expected: usize,
    },
    /// The bytes are no CSV.
    #[error("not readable as CSV: {message}")]
    Csv {
        /// What the CSV reader said.
        message: String,
    },
    /// Text where a number is needed.
    #[error("got \"{got}\"; allowed: a number")]
    NotANumber {
        /// What was read.
        got: String,
    },
    /// A number written with a decimal comma.
    #[error("got \"{got}\", a number with a decimal comma; write \"{}\"", .got.replace(',', "."))]
    DecimalComma {
        /// What was read.
        got: String,
    },
    /// NaN or infinite.
    #[error("got \"{got}\"; allowed: a finite number")]
    NotFinite {
        /// What was read.
        got: String,
    },
    /// A station not beyond the one before.
    #[error("got {got_m} m after {before_m} m; stations must increase")]
    StationsNotIncreasing {
        /// The station read (m).
        got_m: f64,
        /// The station of the row before (m).
        before_m: f64,
    },
    /// Fewer rows than a spline needs.
    #[error("{got} rows; at least {least} are needed")]
    TooFewRows {
        /// Rows read.
        got: usize,
        /// Rows needed.
        least: usize,
    },
    /// The drop to the next station is longer than the way to it.
    #[error(
        "elevation changes by {rise_m:.4} m over {step_m:.4} m of track; allowed: less than the way \
         (stations are lengths along the track)"
    )]
    TooSteep {
        /// Change of elevation (m).
        rise_m: f64,
        /// Step of station (m).
        step_m: f64,
    },
    /// The banking changes faster than ice can be laid.
    #[error("banking changes by {got_deg_per_m:.1} deg per metre; allowed: at most {most_deg_per_m}")]
    BankingJump {
        /// Change of banking over the step (deg/m).
        got_deg_per_m: f64,
        /// Most allowed (deg/m).
        most_deg_per_m: f64,
    },
    /// The right edge is not to the right of the left edge.
    #[error("left edge {left_m} m is not left of the right edge {right_m} m; left must be greater")]
    EdgesCross {
        /// Left edge (m).
        left_m: f64,
        /// Right edge (m).
        right_m: f64,
    },
    /// The reference line is outside the ice: left must be positive, right negative.
    #[error(
        "edges left {left_m} m, right {right_m} m leave the reference line off the ice; left must be \
         positive, right negative"
    )]
    LineOffTheIce {
        /// Left edge (m).
        left_m: f64,
        /// Right edge (m).
        right_m: f64,
    },
    /// A number outside its limits.
    #[error("got {got}; allowed: {allowed}")]
    OutOfRange {
        /// What was read.
        got: f64,
        /// What is allowed, in words.
        allowed: String,
    },
    /// The text is no TOML.
    #[error("not readable as TOML: {message}")]
    Toml {
        /// What the TOML reader said.
        message: String,
    },
    /// A key that must be there is not.
    #[error("this key is missing; it must be there")]
    MissingKey,
    /// A key nobody knows, with the nearest known name.
    #[error("unknown key{}", meant(.suggestion.as_ref()))]
    UnknownKey {
        /// The known name it may have meant.
        suggestion: Option<String>,
    },
    /// A value of another type.
    #[error("got {got}; allowed: {allowed}")]
    WrongType {
        /// Type that was read.
        got: String,
        /// Type that is allowed.
        allowed: String,
    },
    /// A name that another one of the list has.
    #[error("got \"{got}\" a second time; each needs a name of its own")]
    RepeatedName {
        /// The name.
        got: String,
    },
    /// A word that is none of the allowed words.
    #[error("got \"{got}\"; allowed: {allowed}")]
    NotAChoice {
        /// What was read.
        got: String,
        /// The allowed words.
        allowed: String,
    },
    /// Two keys of which only one may be there, or one of two that must be.
    #[error("exactly one of {keys} must be there")]
    EitherOr {
        /// The two keys.
        keys: String,
    },
    /// Fewer than two timing eyes.
    #[error("{got} timing eyes; at least 2 are needed (start and finish)")]
    TooFewEyes {
        /// Eyes read.
        got: usize,
    },
    /// A timing eye not beyond the one before.
    #[error("got {got_m} m after {before_m} m; eyes must stand in order of station")]
    EyesOutOfOrder {
        /// Its station (m).
        got_m: f64,
        /// Station of the eye before (m).
        before_m: f64,
    },
    /// A station outside the track.
    #[error("got {got_m} m; the track reaches from {first_m} to {last_m} m")]
    OutsideTrack {
        /// What was read (m).
        got_m: f64,
        /// First station (m).
        first_m: f64,
        /// Last station (m).
        last_m: f64,
    },
    /// A corner that ends before it begins.
    #[error("entry {entry_m} m, exit {exit_m} m; the exit must come after the entry")]
    CornerBackwards {
        /// Entry (m).
        entry_m: f64,
        /// Exit (m).
        exit_m: f64,
    },
    /// A corner that begins before the one before has ended.
    #[error("entry {entry_m} m, but the corner before ends at {before_exit_m} m; corners must not overlap")]
    CornersOverlap {
        /// Entry (m).
        entry_m: f64,
        /// Exit of the corner before (m).
        before_exit_m: f64,
    },
    /// A corner where the track does not turn.
    #[error(
        "the track turns by {angle_deg:.3} deg between entry and exit; a corner turns, so its hand can be \
         told"
    )]
    CornerDoesNotTurn {
        /// Angle turned between entry and exit (deg).
        angle_deg: f64,
    },
    /// The transitions alone turn further than the corner.
    #[error(
        "angle {angle_deg} deg, but the transitions alone turn {transitions_deg:.2} deg at this radius; \
         shorten them, or allow a greater angle or radius"
    )]
    TransitionsTooLong {
        /// Angle of the corner (deg).
        angle_deg: f64,
        /// Angle the transitions turn (deg).
        transitions_deg: f64,
    },
    /// The track steepens so fast that at the design speed the ice falls away.
    #[error(
        "at station {station_m:.1} m the track falls away from a sled at {design_speed_km_h:.1} km/h; \
         change the grade more slowly"
    )]
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
