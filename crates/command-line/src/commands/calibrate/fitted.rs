//! What is fitted, and the model: the levelled guided estimate, line losses by section, an entry speed for each run.

use super::edge::{EDGE, EdgeCurve, RADII_MM};
use evidence::calibration::{Measured, Predict, Prior, Question, Unknown};
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::keys::get;
use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;
use sweep_runner::rides::level_losses::LevelLosses;
use sweep_runner::rides::levelled::{Conditions, Levelled, Levels, SectionTime};
use track_geometry::track::Track;

/// What `--fit` may name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum Parameter {
    /// Level of the runner friction
    Friction,
    /// Drag area of athlete and sled
    Drag,
    /// Radius of the groove's edges
    Edge,
}

impl Parameter {
    /// The key of a set-up that it stands for.
    pub fn key(self) -> &'static str {
        match self {
            Parameter::Friction => "ice.friction_factor",
            Parameter::Drag => "air.drag_area_m2",
            Parameter::Edge => EDGE,
        }
    }

    /// In words, with its unit.
    pub fn words(self) -> &'static str {
        match self {
            Parameter::Friction => "friction factor",
            Parameter::Drag => "drag area m2",
            Parameter::Edge => "edge radius mm",
        }
    }

    /// In one word.
    pub fn word(self) -> &'static str {
        match self {
            Parameter::Friction => "friction",
            Parameter::Drag => "drag",
            Parameter::Edge => "edge radius",
        }
    }

    /// Digits to print.
    pub fn digits(self) -> usize {
        match self {
            Parameter::Friction | Parameter::Edge => 3,
            Parameter::Drag => 4,
        }
    }

    /// Its value in a set-up; that of runners without a groove is no number.
    pub fn of(self, setup: &Setup) -> f64 {
        get(setup, self.key()).unwrap_or(f64::NAN)
    }

    /// Between which values the estimate has been checked.
    pub fn checked(self, setup: &Setup) -> [f64; 2] {
        let own = self.of(setup);
        match self {
            Parameter::Friction | Parameter::Drag => {
                [-1.0, 1.0].map(|side| own * (1.0 + side * CHECKED_WITHIN))
            }
            Parameter::Edge => [RADII_MM[0], RADII_MM[3]],
        }
    }

    /// Prior standard deviation and where it is from.
    fn prior(self, setup: &Setup) -> (f64, &'static str) {
        match self {
            Parameter::Friction => (0.30 * setup.ice.friction_factor, "set-up, +-30 % assumed"),
            Parameter::Drag => (
                0.007,
                "set-up; 0.007 m2 is the spread of small to large athletes, 0.045 to 0.07 m2, assumed",
            ),
            Parameter::Edge => (
                EDGE_SD * self.of(setup),
                "set-up; +-40 % is the spread of sharp to worn edges, 0.15 to 0.6 mm by ratio as in the plausible set, assumed",
            ),
        }
    }

    /// Half the width of its difference quotient.
    fn step(self) -> f64 {
        match self {
            Parameter::Friction => 0.01,
            Parameter::Drag => 0.0005,
            Parameter::Edge => 0.005,
        }
    }
}

/// Prior standard deviation of an edge radius over that of the set-up `[-]`: that of its logarithm, even from 0.15 to
/// 0.6 mm, is ln 4/sqrt 12.
const EDGE_SD: f64 = 0.40;
/// Change of friction or drag beyond which the levelled estimate has not been checked `[-]`.
pub const CHECKED_WITHIN: f64 = 0.3;
/// Prior of the loss of a real line over the planned one on the whole way, as a share of the time `[-]`: assumed.
pub const LINE_SD: f64 = 0.003;
/// Prior of what a section has beyond that `[-]`: assumed.
pub const SECTION_SD: f64 = 0.002;
/// Prior of an entry speed around that of the set-up (m/s): assumed, wide; the start time informs it.
const ENTRY_SD_M_S: f64 = 1.5;
/// Eyes that the start takes: line losses begin behind them.
const START_EYES: usize = 2;

/// One run of the sheet, ready to be fitted.
pub struct Timed {
    /// What is known beside its times.
    pub conditions: Conditions,
    /// Entry speed by its own start time, or the set-up's (m/s).
    pub entry_m_s: f64,
    /// Start time, if it has one (s).
    pub start_s: Option<f64>,
    /// Notes of the sheet.
    pub notes: String,
    /// Eye of the track for each of its values; a speed trap has one, too.
    pub eyes: Vec<usize>,
    /// Its values.
    pub measured: Measured,
}

/// Which unknown stands where.
#[derive(Clone, Debug)]
pub struct Layout {
    /// What is fitted.
    pub parameters: Vec<Parameter>,
    /// Names of the sections that have a line loss of their own; none in least squares.
    pub sections: Vec<String>,
}

impl Layout {
    /// Place of the line loss of the whole way; those of the sections follow.
    pub fn line(&self) -> Option<usize> {
        (!self.sections.is_empty()).then_some(self.parameters.len())
    }

    /// Place of the entry speed of a run.
    pub fn entry(&self, run: usize) -> usize {
        let line = if self.sections.is_empty() { 0 } else { 1 + self.sections.len() };
        self.parameters.len() + line + run
    }

    /// The same without line losses.
    pub fn plain(&self) -> Layout {
        Layout { sections: vec![], ..self.clone() }
    }
}

type Known = HashMap<(usize, [u64; 3]), Option<Rc<Vec<SectionTime>>>>;

/// The model of all runs on a track.
pub struct Course<'a> {
    /// The track, perhaps with more eyes.
    pub track: &'a Track,
    /// Its estimate.
    pub levelled: &'a Levelled,
    /// The set-up.
    pub setup: &'a Setup,
    /// The runs.
    pub runs: &'a [Timed],
    /// What a level of skill loses, where one was told.
    pub losses: Option<&'a LevelLosses>,
    /// What an edge radius does, where one is fitted.
    pub edge: Option<&'a EdgeCurve>,
    known: RefCell<Known>,
}

impl<'a> Course<'a> {
    /// A model of these runs.
    pub fn new(track: &'a Track, levelled: &'a Levelled, setup: &'a Setup, runs: &'a [Timed]) -> Course<'a> {
        Course { track, levelled, setup, runs, losses: None, edge: None, known: RefCell::default() }
    }

    /// The same with what a level of skill loses.
    pub fn losing(self, losses: Option<&'a LevelLosses>) -> Course<'a> {
        Course { losses, ..self }
    }

    /// The same with what an edge radius does.
    pub fn with_edge(self, edge: Option<&'a EdgeCurve>) -> Course<'a> {
        Course { edge, ..self }
    }

    /// Prior standard deviation of the line loss on the whole way `[-]`: athletes of the level differ by so much.
    pub fn line_sd(&self) -> f64 {
        self.losses.map(|l| l.share_differs).filter(|sd| *sd > 0.0).unwrap_or(LINE_SD)
    }

    /// Value of a parameter at these unknowns.
    pub fn value(&self, layout: &Layout, x: &[f64], wanted: Parameter) -> f64 {
        let place = layout.parameters.iter().position(|p| *p == wanted);
        place.map_or(wanted.of(self.setup), |i| x[i])
    }

    fn sections(&self, layout: &Layout, run: usize, x: &[f64]) -> Option<Rc<Vec<SectionTime>>> {
        let levels = Levels {
            friction_factor: self.value(layout, x, Parameter::Friction),
            drag_area_m2: self.value(layout, x, Parameter::Drag),
            entry_speed_m_s: x[layout.entry(run)],
        };
        let bits = [levels.friction_factor, levels.drag_area_m2, levels.entry_speed_m_s].map(f64::to_bits);
        if let Some(found) = self.known.borrow().get(&(run, bits)) {
            return found.clone();
        }
        let conditions = &self.runs[run].conditions;
        let found = self.levelled.sections(self.track, conditions, &levels).map(Rc::new);
        self.known.borrow_mut().insert((run, bits), found.clone());
        found
    }

    /// Times since the first eye (s) and speeds (m/s) of a run at every eye of the track.
    pub fn at_eyes(&self, layout: &Layout, run: usize, x: &[f64]) -> Option<Vec<[f64; 2]>> {
        let parts = self.sections(layout, run, x)?;
        let mut time_s = 0.0;
        let lost = self.losses.map_or(vec![], LevelLosses::shares);
        // athletes differ in all sections together, most where most is lost
        let along: Vec<f64> = match self.losses.filter(|l| l.share_differs > 0.0) {
            Some(l) => l.differs.iter().map(|d| d / l.share_differs).collect(),
            None => vec![1.0; self.levelled.time_factors().len() + 1],
        };
        let edge_mm = self.value(layout, x, Parameter::Edge);
        let friction = self.value(layout, x, Parameter::Friction) / Parameter::Friction.of(self.setup);
        let all = parts.iter().zip(&self.track.data.eyes).map(|(part, eye)| {
            let section = self.levelled.section(eye.station_m);
            let of_edge = self.edge.map_or([1.0; 2], |edge| edge.at(section, edge_mm, friction));
            let of_line = match layout.line() {
                Some(line) if section >= START_EYES => {
                    along[section] * x[line] + x[line + 1 + section - START_EYES]
                }
                _ => 0.0,
            };
            let of_level = lost.get(section).copied().unwrap_or(0.0);
            time_s += part.time_s * of_edge[0] * (1.0 + of_level + of_line);
            [time_s, part.speed_m_s * of_edge[1]]
        });
        Some(all.collect())
    }

    /// The values of a run that were measured, as the model says.
    pub fn values(&self, layout: &Layout, run: usize, x: &[f64]) -> Option<Vec<f64>> {
        let all = self.at_eyes(layout, run, x)?;
        let timed = &self.runs[run];
        let value = |(i, eye): (usize, &usize)| {
            all.get(*eye).map(|[time_s, speed]| if i < timed.measured.times { *time_s } else { *speed })
        };
        timed.eyes.iter().enumerate().map(value).collect()
    }

    /// The unknowns, with or without their priors.
    pub fn unknowns(&self, layout: &Layout, entry_m_s: f64, with_priors: bool) -> Vec<Unknown> {
        let prior = |mean, sd| with_priors.then_some(Prior { mean, sd });
        let mut all: Vec<Unknown> = vec![];
        for p in &layout.parameters {
            let mean = p.of(self.setup);
            let (sd, source) = p.prior(self.setup);
            let (name, source) = (p.words().to_string(), source.to_string());
            all.push(Unknown {
                name,
                source,
                prior: prior(mean, sd),
                start: mean,
                step: p.step(),
                run: None,
            });
        }
        if layout.line().is_some() {
            let names = std::iter::once(("line loss, whole way".to_string(), self.line_sd()));
            let each = layout.sections.iter().map(|s| (format!("line loss, to {s}"), SECTION_SD));
            for (name, sd) in names.chain(each) {
                let source = "of the planned ride's time; assumed".to_string();
                all.push(Unknown { name, source, prior: prior(0.0, sd), start: 0.0, step: sd, run: None });
            }
        }
        for (r, run) in self.runs.iter().enumerate() {
            all.push(Unknown {
                name: format!("entry speed m/s, run {}", run.measured.name),
                source: "set-up, +-1.5 m/s assumed; its start time informs it".into(),
                prior: prior(entry_m_s, ENTRY_SD_M_S),
                start: run.entry_m_s,
                step: 0.02,
                run: Some(r),
            });
        }
        all
    }

    /// Slopes of a run's times at all eyes, and of its speeds, by the unknowns: `[eye][unknown]`.
    pub fn slopes(
        &self,
        layout: &Layout,
        unknowns: &[Unknown],
        x: &[f64],
        run: usize,
    ) -> Option<Vec<Vec<[f64; 2]>>> {
        let mut all = vec![vec![[0.0; 2]; unknowns.len()]; self.track.data.eyes.len()];
        for (j, unknown) in unknowns.iter().enumerate() {
            if unknown.run.is_some_and(|own| own != run) {
                continue;
            }
            let beside = |side: f64| {
                let mut y = x.to_vec();
                y[j] += side * unknown.step;
                self.at_eyes(layout, run, &y)
            };
            let (more, less) = (beside(1.0)?, beside(-1.0)?);
            for (eye, slopes) in all.iter_mut().enumerate() {
                slopes[j] = [0, 1].map(|k| (more[eye][k] - less[eye][k]) / (2.0 * unknown.step));
            }
        }
        Some(all)
    }
}

/// The question of a layout: a model to be called, and its unknowns.
pub fn question<'q>(unknowns: &'q [Unknown], runs: &'q [Measured], predict: &'q Predict<'q>) -> Question<'q> {
    Question { unknowns, runs, predict, held_out: None }
}
