//! From a travel plan and the files it names to what is asked.

use crate::commands::calibrated::{Used, put_on};
use crate::commands::evening::asked::{bows_of, in_the_bag, read_library};
use crate::commands::rules::{Rules, rules};
use crate::commands::runners::swing::{Swing, swing};
use crate::files::{self, ReadTrack};
use ice_contact::runner::Bow;
use sled_bench::rules::Class;
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::keys::set;
use std::path::{Path, PathBuf};
use sweep_runner::evening::Pair;
use sweep_runner::evening::travel::Traveller;
use sweep_runner::evening::travel_file::{AthleteSaid, TravelFile, read_travel_file};

/// One athlete with all that the plan names.
pub struct AskedAthlete {
    /// As typed.
    pub said: AthleteSaid,
    /// The set-up, in the conditions of the forecast.
    pub base: Setup,
    /// What is asked.
    pub traveller: Traveller,
    /// What nobody measured of each pair; none where there is no library.
    pub swings: Vec<Option<Swing>>,
    /// The rules for this athlete.
    pub rules: Rules,
    /// The calibration that all set-ups are computed with.
    pub used: Option<Used>,
}

/// A plan with all that it names.
pub struct Asked {
    /// The plan as typed.
    pub plan: TravelFile,
    /// The track.
    pub track: ReadTrack,
    /// Who travels.
    pub athletes: Vec<AskedAthlete>,
}

/// Reads a plan and what it names.
pub fn read_asked(file: &str, text: &str, folder: &Path) -> Result<Asked, String> {
    let plan = read_travel_file(file, text).map_err(|f| {
        format!("this plan cannot be used; `sagitta travel --example` prints one to begin with\n{f}")
    })?;
    let beside = |name: &String| -> PathBuf { folder.join(name) };
    let track = files::track(plan.track.as_ref().map(|t| files::track_beside(folder, t)).as_deref())?;
    let rules_file = plan.rules.file.as_ref().map(beside);
    let mut athletes = vec![];
    for said in &plan.athletes {
        let mut said = said.clone();
        let mut base = files::setup(said.setup.as_ref().map(beside).as_deref(), &[])?.setup;
        for (key, value) in &plan.forecast {
            set(&mut base, key, *value).map_err(|f| format!("{file}: {}: {}", f.key(), f.problem))?;
        }
        let used = match said.calibration.as_ref().map(beside) {
            Some(path) => {
                let mut used = put_on(&path, &track, &mut base)?;
                said.skill = used.skilled(&said.skill);
                Some(used)
            }
            None => None,
        };
        if let (Some(used), Some(_)) = (&used, &said.library) {
            used.goes_with_a_bag().map_err(|why| format!("{file}: {why}"))?;
        }
        let (pairs, swings) = match &said.library {
            None => {
                let name = "on the sled".to_string();
                (vec![Pair { name, setup: base.clone(), unknown: vec![], measured: true }], vec![None])
            }
            Some(library) => {
                let library = beside(library);
                let records = read_library(&library)?;
                let name = library.display().to_string();
                let pairs = in_the_bag(file, &said.pairs, &name, &records, &base)?;
                let swings = pairs
                    .iter()
                    .map(|p| swing(&track, &p.setup, records.iter().find(|r| r.pair == p.name)?))
                    .collect();
                (pairs, swings)
            }
        };
        let bow = |mm: &f64| bows_of(&pairs[0].setup, &[("runners.bow_mm", *mm)]);
        let bows: Vec<[Bow; 2]> = plan.bows_mm.iter().map(bow).collect::<Result<_, _>>()?;
        let (ices_c, forecast) = plan.ices_c(base.ice.temperature_c);
        let class = said.women.map(|w| if w { Class::Women } else { Class::Men });
        let rules = rules(rules_file.as_deref(), plan.rules.season.as_deref(), class)?;
        let traveller = Traveller { pairs, bows, ices_c, forecast };
        athletes.push(AskedAthlete { said: said.clone(), base, traveller, swings, rules, used });
    }
    Ok(Asked { plan, track, athletes })
}
