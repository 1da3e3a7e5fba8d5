//! Files of caliper readings as commands about bow take them, and the words for what was found in them.

use crate::files;
use file_faults::FileFault;
use sled_bench::bow_fit::{Apart, Baseline, BowFit, FitWarning, GUIDE_BULGE_M, MOST_ADVANCE_M};
use sled_bench::pair_fit::{PairFit, PairWarning, Swap, fit_pair};
use sled_bench::readings::{Reading, ReadingRules, Side, State, parse_readings};
use sled_dynamics::setup::Setup;
use std::path::{Path, PathBuf};

/// Files of readings.
#[derive(clap::Args)]
pub struct Calipers {
    /// Readings without bow of the same runners at the same points: the zero
    #[arg(long, value_name = "FILE")]
    pub reference: Option<PathBuf>,
    /// Distances below 4 mm are in millimetres, not in inches
    #[arg(long)]
    pub millimetres: bool,
}

impl Calipers {
    /// Reads both files, with every fault of both at once, and fits both runners.
    pub fn fit(&self, readings: &Path, setup: &Setup) -> Result<PairFit, String> {
        let mut rules = ReadingRules::of(&setup.runners.both, self.millimetres);
        rules.reference_allowed = self.reference.is_none();
        let mut faults: Vec<FileFault> = Vec::new();
        let mut texts = Vec::new();
        let mut read = |path: &Path, rules: &ReadingRules| -> Result<Vec<Reading>, String> {
            let text = files::read_table(path)?;
            texts.push(text.clone());
            let parsed = parse_readings(&path.display().to_string(), &text, rules);
            Ok(parsed.map_err(|found| faults.extend(found)).unwrap_or_default())
        };
        // the zero first: its points are known to the other file
        let mut all = match &self.reference {
            Some(path) => read(path, &rules.clone().reference())?,
            None => Vec::new(),
        };
        let mut known = rules.clone();
        for r in &all {
            if !known.points.iter().any(|p| p.0 == r.point) {
                known.points.push((r.point.clone(), r.position_m));
            }
        }
        all.extend(read(readings, &known)?);
        if let ([zero, bowed], Some(path)) = (&texts[..], &self.reference)
            && zero == bowed
        {
            return Err(format!(
                "--reference {}: the same readings as {}; allowed: readings of the same runners without bow",
                path.display(),
                readings.display()
            ));
        }
        if !faults.is_empty() {
            let told: Vec<String> = faults.iter().map(ToString::to_string).collect();
            return Err(format!("these readings cannot be used\n{}", told.join("\n")));
        }
        let r = &setup.runners;
        let fit = fit_pair(&r.pair(), &all, Some([r.left, r.right]));
        let fit = fit.map_err(|(side, e)| format!("{}: {} runner: {e}", readings.display(), name(side)))?;
        self.refuse_yield(readings, &fit)?;
        Ok(fit)
    }

    /// A bow past yield is no bow: the reading that says so is wrong, or the runner is bent.
    fn refuse_yield(&self, readings: &Path, pair: &PairFit) -> Result<(), String> {
        let mut told = Vec::new();
        for fit in pair.fits.iter().flatten() {
            let past = fit.warnings.iter().find_map(|w| match w {
                FitWarning::PastYield(stress) => Some(stress),
                _ => None,
            });
            let Some([got, allowed]) = past else { continue };
            let most = fit.drops.iter().max_by(|a, b| a.drop_m.abs().total_cmp(&b.drop_m.abs()));
            let Some(most) = most else { continue };
            let fault = FileFault::at(
                &readings.display().to_string(),
                (most.line, most.column),
                "distance_mm",
                format!("{:.2}, {:+.2} from its zero", 1e3 * most.reading_m, 1e3 * most.drop_m),
                format!(
                    "up to the yield stress of the {} runner, {:.0} MPa; its bow of {:.1} mm at the front and {:.1} mm at \
                     the rear screw would be {:.0} MPa",
                    name(fit.side),
                    allowed / 1e6,
                    1e3 * fit.bow.front_m,
                    1e3 * fit.bow.rear_m,
                    got / 1e6
                ),
            );
            told.push(fault.to_string());
        }
        if told.is_empty() {
            Ok(())
        } else {
            Err(format!("these readings cannot be used\n{}", told.join("\n")))
        }
    }
}

/// Left or right.
pub fn name(side: Side) -> &'static str {
    match side {
        Side::Left => "left",
        Side::Right => "right",
    }
}

/// Which zero the readings of a runner were counted from.
pub fn zero(fit: &BowFit, setup: &Setup) -> String {
    let side = name(fit.side);
    let free_bow_m = match fit.side {
        Side::Left => setup.runners.left_free_bow_m,
        Side::Right => setup.runners.right_free_bow_m,
    };
    match fit.baseline {
        Baseline::ReferenceReadings => format!("{side}: zero is the readings without bow at the same points"),
        Baseline::StatedShape => {
            let shape = if free_bow_m == 0.0 {
                "straight when free".to_string()
            } else {
                format!("bowed by {:.2} mm when free, as the set-up says", 1e3 * free_bow_m)
            };
            format!(
                "{side}: no readings without bow; the runner is taken as {shape}, the guide as straight and parallel to it"
            )
        }
    }
}

/// What is to be known of the fits, in words; and whether any of it is more than a note.
pub fn warnings(pair: &PairFit) -> (Vec<String>, bool) {
    let mut told = Vec::new();
    let mut serious = !pair.warnings.is_empty();
    // first what would explain the rest
    told.extend(pair.warnings.iter().map(|w| match w {
        PairWarning::AgainstSetup(swap) => {
            format!("{} look swapped: the bows are those of the set-up the other way round", swapped(*swap))
        }
        PairWarning::AgainstReference(swap) => {
            let other = match swap {
                Swap::Sides => "the zero of the other runner",
                Swap::Ends => "the zero of the other end",
                Swap::SidesOrEnds | Swap::SidesAndEnds => "another zero",
            };
            format!("{} look swapped: the readings with bow fit {other} far better", swapped(*swap))
        }
    }));
    for fit in pair.fits.iter().flatten() {
        for warning in &fit.warnings {
            serious |= !matches!(warning, FitWarning::GuideTakenStraight(_));
            told.push(format!("{} runner: {}", name(fit.side), of_fit(warning)));
        }
    }
    (told, serious)
}

fn swapped(swap: Swap) -> &'static str {
    match swap {
        Swap::Sides => "left and right",
        Swap::Ends => "front and rear",
        Swap::SidesOrEnds => "left and right, or front and rear,",
        Swap::SidesAndEnds => "left and right, and front and rear,",
    }
}

fn of_fit(warning: &FitWarning) -> String {
    let mm = |v: &[f64; 2]| format!("front {:.2} mm, rear {:.2} mm", 1e3 * v[0], 1e3 * v[1]);
    match warning {
        FitWarning::Disagree(apart) => {
            let place = |a: &Apart| {
                let zero = if a.state == State::Reference { " without bow" } else { "" };
                format!("{}{zero} (line {})", a.point, a.line)
            };
            let places: Vec<String> = apart.iter().map(place).collect();
            format!(
                "these readings disagree with the others by more than 3 of their errors: {}; read them again",
                places.join(", ")
            )
        }
        FitWarning::Scatter(p) => format!(
            "the readings scatter more than their errors allow (chance {p:.1e}): larger errors, a bent runner, or points not \
             where they are said to be"
        ),
        FitWarning::NoReference(line) => {
            format!("line {line}: no reading without bow at this point; left out")
        }
        FitWarning::GuideTakenStraight(passes) => format!(
            "a guide that bulges by {:.1} mm between the pins would pass for a bow of {}; readings without bow do away with \
             that",
            1e3 * GUIDE_BULGE_M,
            mm(passes)
        ),
        FitWarning::BehindStraight(bow) => format!("a screw stands behind straight: {}", mm(bow)),
        FitWarning::TooFar(bow) => {
            format!("a screw stands out further than {:.0} mm: {}", 1e3 * MOST_ADVANCE_M, mm(bow))
        }
        FitWarning::PastYield([got, allowed]) => {
            format!("bent to {:.0} MPa; it yields at {:.0} MPa", got / 1e6, allowed / 1e6)
        }
    }
}
