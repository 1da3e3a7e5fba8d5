//! One descent: what is known of it afterwards.

use crate::laws::ice::ContactSample;
use crate::laws::walls::Side;

/// How a descent ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Outcome {
    /// Through the last eye.
    Finished,
    /// Control was lost: a result, not an error.
    ControlLost {
        /// Where (m).
        station_m: f64,
        /// How.
        cause: Loss,
    },
}

/// How control was lost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Loss {
    /// A touch threw the sled over its outer runner.
    Capsized(Side),
    /// The sled lay across its way: slip beyond 60 degrees.
    Across,
    /// The sled came to a halt, or the state could not be followed further.
    Halted,
    /// The centre of mass was beyond an edge for good.
    LeftTrack(Side),
    /// A runner was lifted by side force alone and did not come back.
    Lifted,
}

impl Loss {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Loss::Capsized(Side::Left) => "capsized at the left edge",
            Loss::Capsized(Side::Right) => "capsized at the right edge",
            Loss::Across => "across its way, slip beyond 60 degrees",
            Loss::Halted => "the sled came to a halt",
            Loss::LeftTrack(Side::Left) => "left the track over the left edge",
            Loss::LeftTrack(Side::Right) => "left the track over the right edge",
            Loss::Lifted => "a runner lifted and did not come back",
        }
    }
}

/// Something that happened on the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Event {
    /// Where it began (m).
    pub station_m: f64,
    /// When it began, from the block (s).
    pub time_s: f64,
    /// Where it ended (m); the same for an instant.
    pub until_m: f64,
    /// What.
    pub kind: EventKind,
}

/// What happened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum EventKind {
    /// The sled touched a wall.
    Wall {
        /// Which.
        side: Side,
        /// Impulse square to the wall (N s).
        impulse_n_s: f64,
        /// Energy lost in the touch (J).
        lost_j: f64,
    },
    /// The sled touched a lip: an edge steeper than 60 degrees where the touch began.
    Lip {
        /// Which.
        side: Side,
        /// Impulse square to the lip (N s).
        impulse_n_s: f64,
        /// Energy lost in the touch (J).
        lost_j: f64,
    },
    /// The slip passed 4 degrees until it came below again.
    Skid {
        /// Greatest slip, left positive (rad).
        greatest_slip_rad: f64,
        /// How long a toe was on the ice meanwhile (s).
        toe_s: f64,
    },
    /// The load of the whole sled fell to zero.
    Light,
    /// One runner carried nothing.
    RunnerLifted {
        /// Which.
        side: Side,
    },
}

impl EventKind {
    /// Side, impulse (N s) and energy lost (J) of a touch of a wall or a lip.
    pub fn touch(&self) -> Option<(Side, f64, f64)> {
        match *self {
            EventKind::Wall { side, impulse_n_s, lost_j } | EventKind::Lip { side, impulse_n_s, lost_j } => {
                Some((side, impulse_n_s, lost_j))
            }
            _ => None,
        }
    }
}

/// Time and speed at an eye.
#[derive(Clone, Debug, PartialEq)]
pub struct Split {
    /// Name of the eye.
    pub eye: String,
    /// Station (m).
    pub station_m: f64,
    /// Time since the first eye (s).
    pub split_time_s: f64,
    /// Numerical error of that time (s).
    pub numerical_error_s: f64,
    /// Speed (m/s).
    pub speed_m_s: f64,
}

/// Where the energy came from and went (J).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Energy {
    /// Fall from the block to the end.
    pub potential_j: f64,
    /// Work of the push, the leap included.
    pub push_j: f64,
    /// Kinetic energy at the end.
    pub kinetic_j: f64,
    /// Work that gusts, a moving head, ruts and unevenness did on the sled.
    pub disturbance_j: f64,
    /// Lost to air, glide, plough, skid, toe, walls (lips among them) and shaking.
    pub lost_j: [f64; LOSSES.len()],
}

/// Names of the ways to lose energy, in the order of [`Energy::lost_j`].
pub const LOSSES: [&str; 7] = ["air", "glide", "plough", "skid", "toe", "walls", "shaking"];

impl Energy {
    /// What the ledger does not account for (J).
    pub fn residual_j(&self) -> f64 {
        self.potential_j + self.push_j + self.disturbance_j - self.kinetic_j - self.lost_j.iter().sum::<f64>()
    }
}

/// The sled at one station of the trace.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sample {
    /// Station (m).
    pub station_m: f64,
    /// Time since the block (s).
    pub time_s: f64,
    /// Speed (m/s).
    pub speed_m_s: f64,
    /// Normal load over weight at standard gravity `[-]`.
    pub g_load: f64,
    /// Lateral coordinate, left positive (m).
    pub offset_m: f64,
    /// Height above the lowest ice of the cross-section (m).
    pub height_m: f64,
    /// Elevation (m).
    pub elevation_m: f64,
    /// Yaw from the coordinate line (rad).
    pub yaw_rad: f64,
    /// Slip angle: direction of the velocity from the sled's axis, left positive (rad).
    pub slip_rad: f64,
    /// Rate of turn (rad/s).
    pub yaw_rate_rad_s: f64,
    /// Steering the sled gets, -1 left to 1 right `[-]`.
    pub steer: f64,
    /// Energies lost so far: air, glide, plough, skid, toe, walls, shaking (J).
    pub lost_j: [f64; LOSSES.len()],
    /// What the runners do on the ice, where there are runners.
    pub contact: ContactSample,
}

/// One corner of a descent.
#[derive(Clone, Debug, PartialEq)]
pub struct CornerRide {
    /// Name of the corner.
    pub name: String,
    /// At its entry.
    pub entry: Sample,
    /// Where the sled is highest on the bank.
    pub highest: Sample,
    /// At its exit.
    pub exit: Sample,
    /// Greatest load over weight `[-]`.
    pub greatest_g_load: f64,
    /// Number of pressures: maxima of the load.
    pub pressures: usize,
}

/// One descent.
#[derive(Clone, Debug, PartialEq)]
pub struct Descent {
    /// How it ended.
    pub outcome: Outcome,
    /// First to last eye (s), if it finished.
    pub finish_time_s: Option<f64>,
    /// Numerical error of the finish time (s).
    pub numerical_error_s: f64,
    /// Eye by eye.
    pub splits: Vec<Split>,
    /// The ledger.
    pub energy: Energy,
    /// What happened.
    pub events: Vec<Event>,
    /// The trace, if asked for.
    pub trace: Vec<Sample>,
    /// Corner by corner, from the trace.
    pub corners: Vec<CornerRide>,
    /// Evaluations of the equations of motion.
    pub evaluations: usize,
}

impl Descent {
    /// Greatest speed of the trace (m/s).
    pub fn top_speed_m_s(&self) -> f64 {
        self.trace.iter().map(|s| s.speed_m_s).fold(0.0, f64::max)
    }

    /// Greatest load over weight of the trace `[-]`.
    pub fn greatest_g_load(&self) -> f64 {
        self.trace.iter().map(|s| s.g_load).fold(0.0, f64::max)
    }

    /// Touches of walls and lips.
    pub fn touches(&self) -> usize {
        self.events.iter().filter(|e| e.kind.touch().is_some()).count()
    }

    /// Touches of lips alone.
    pub fn lip_touches(&self) -> usize {
        self.events.iter().filter(|e| matches!(e.kind, EventKind::Lip { .. })).count()
    }
}
