//! Tables of samples whose columns are keys of a set-up, such as a calibration leaves; and sets of either kind.

use super::{Sample, UNKNOWNS, Unknown};
use file_faults::FileFault;
use sled_dynamics::laws::on_runners::bending_stress_pa;
use sled_dynamics::riding::errors_of_ride::Skill;
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::checks::misfits;
use sled_dynamics::setup::keys::{find, set};

/// Columns before the values.
const BEFORE: [&str; 2] = ["sample", "seed"];

/// A sample of some keys of a set-up.
#[derive(Clone, Debug, PartialEq)]
pub struct Keyed {
    /// Its number.
    pub(crate) number: usize,
    /// Its seed.
    pub(crate) seed: u64,
    /// The keys.
    pub keys: Vec<&'static str>,
    /// Their values, in the units of the keys.
    pub(crate) values: Vec<f64>,
}

/// One number that nobody has measured, the others as they are.
#[derive(Clone, Debug)]
pub struct Single {
    /// Which.
    pub(crate) unknown: &'static Unknown,
    /// Its value, in the unit of its name.
    pub(crate) value: f64,
}

impl PartialEq for Single {
    fn eq(&self, other: &Single) -> bool {
        (self.unknown.name, self.value) == (other.unknown.name, other.value)
    }
}

/// A set of what is not known: of the plausible set, of keys of a set-up, or one number alone.
#[derive(Clone, Debug, PartialEq)]
pub enum Set {
    /// A value for every unknown of the plausible set.
    Plausible(Sample),
    /// Values of some keys.
    Keyed(Keyed),
    /// One number.
    Single(Single),
}

impl Set {
    /// A set-up with these numbers; in words, why there is none.
    pub fn on(&self, base: &Setup) -> Result<Setup, String> {
        let mut setup = base.clone();
        match self {
            Set::Plausible(sample) => return sample.on(base),
            Set::Keyed(keyed) => {
                for (key, value) in keyed.keys.iter().zip(&keyed.values) {
                    set(&mut setup, key, *value).map_err(|f| format!("{}: {}", f.key(), f.problem))?;
                }
            }
            Set::Single(one) => one.unknown.put(&mut setup, one.value)?,
        }
        // one ice for rides and for the guided estimate
        if base.ice.friction_factor > 0.0 {
            setup.ice.guided_friction *= setup.ice.friction_factor / base.ice.friction_factor;
        }
        match misfits(&setup, Some(&bending_stress_pa)).first() {
            Some(misfit) => Err(format!("{}: {}", misfit.key, misfit.problem)),
            None => Ok(setup),
        }
    }

    /// A level of skill with these numbers.
    pub fn skilled(&self, level: &Skill) -> Skill {
        match self {
            Set::Plausible(sample) => sample.skilled(level),
            Set::Keyed(_) => *level,
            Set::Single(one) => one.unknown.skilled(one.value, level),
        }
    }

    /// Names of the numbers.
    pub fn names(&self) -> Vec<&'static str> {
        match self {
            Set::Plausible(_) => UNKNOWNS.iter().map(|u| u.name).collect(),
            Set::Keyed(keyed) => keyed.keys.clone(),
            Set::Single(one) => vec![one.unknown.name],
        }
    }

    /// The numbers.
    pub fn values(&self) -> &[f64] {
        match self {
            Set::Plausible(sample) => &sample.0,
            Set::Keyed(keyed) => &keyed.values,
            Set::Single(one) => std::slice::from_ref(&one.value),
        }
    }
}

/// The keys in the header of a table, if all its columns after number and seed are keys that take a number.
pub fn keys_of(text: &str) -> Option<Vec<&'static str>> {
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
    let header = reader.headers().ok()?.clone();
    let keys = header.iter().skip(BEFORE.len()).map(|name| {
        let key = find(name).ok()?;
        key.number().map(|_| key.path)
    });
    let keys: Vec<&'static str> = keys.collect::<Option<_>>()?;
    let begins = BEFORE.iter().enumerate().all(|(i, name)| header.get(i) == Some(*name));
    (begins && !keys.is_empty()).then_some(keys)
}

/// Reads a table of samples of keys; every fault of it.
pub fn read_keyed(file: &str, text: &str) -> Result<Vec<Keyed>, Vec<FileFault>> {
    let fault =
        |at: (u64, usize), key: &str, got: &str, allowed: &str| FileFault::at(file, at, key, got, allowed);
    let Some(keys) = keys_of(text) else {
        let allowed = "sample, seed, then keys of a set-up that take a number; `sagitta keys` lists them";
        return Err(vec![fault((1, 0), "header", text.lines().next().unwrap_or("nothing"), allowed)]);
    };
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
    let (mut all, mut faults) = (vec![], vec![]);
    for (record, line) in reader.records().zip(2..) {
        let record = match record {
            Ok(record) => record,
            Err(e) => {
                faults.push(fault((line, 0), "line", &e.to_string(), "CSV"));
                continue;
            }
        };
        let number = record.get(0).and_then(|t| t.parse().ok());
        let seed = record.get(1).and_then(|t| t.parse().ok());
        let mut values = vec![];
        for (j, path) in keys.iter().enumerate() {
            let read = record.get(j + BEFORE.len()).unwrap_or("");
            let limits = find(path).ok().and_then(|key| key.number().map(|n| (n.least, n.most)));
            let (least, most) = limits.unwrap_or((f64::MIN, f64::MAX));
            match read.parse::<f64>().ok().filter(|v| (least..=most).contains(v)) {
                Some(value) => values.push(value),
                None => {
                    let (got, allowed) = (format!("\"{read}\""), format!("{least} to {most}"));
                    faults.push(fault((line, j + 1 + BEFORE.len()), path, &got, &allowed));
                }
            }
        }
        match (number, seed) {
            (Some(number), Some(seed)) => all.push(Keyed { number, seed, keys: keys.clone(), values }),
            _ => faults.push(fault((line, 0), "sample", "no number or no seed", "both, as whole numbers")),
        }
    }
    if faults.is_empty() { Ok(all) } else { Err(faults) }
}

/// A table of samples of keys.
pub fn keyed_table(keys: &[&str], seed: u64, samples: &[Vec<f64>]) -> String {
    let mut text = format!("{},{}\n", BEFORE.join(","), keys.join(","));
    for (number, values) in samples.iter().enumerate() {
        let values: Vec<String> = values.iter().map(ToString::to_string).collect();
        text += &format!("{number},{seed},{}\n", values.join(","));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_keyed_samples_are_read_as_written() {
        let keys = ["ice.friction_factor", "air.drag_area_m2"];
        let samples = vec![vec![1.0625, 0.06112345], vec![0.875, 0.0625]];
        let read = read_keyed("s.csv", &keyed_table(&keys, 7, &samples)).unwrap();
        assert_eq!(read.iter().map(|k| k.values.clone()).collect::<Vec<_>>(), samples);
        assert_eq!((read[1].number, read[1].seed, read[1].keys.as_slice()), (1, 7, &keys[..]));
        let set = Set::Keyed(read[0].clone());
        let base = sled_dynamics::setup::file::read_setup("s", "", &[]).unwrap();
        let setup = set.on(&base).unwrap();
        assert_eq!((setup.ice.friction_factor, setup.air.drag_area_m2), (1.0625, 0.06112345));
        assert_eq!(set.names(), keys);
    }

    #[test]
    fn exact_faults_of_keyed_samples_have_a_place() {
        let told = |text: &str| {
            let faults = read_keyed("s.csv", text).unwrap_err();
            faults.iter().map(|f| f.to_string() + "\n").collect::<String>()
        };
        let told_rows = told("sample,seed,ice.friction_factor\n0,1,9\nx,1,1.0\n");
        assert!(
            told_rows.contains("s.csv, line 2, column 3 (ice.friction_factor): got \"9\"; allowed: 0.2 to 5"),
            "{told_rows}"
        );
        assert!(
            told_rows.contains(
                "s.csv, line 3 (sample): got no number or no seed; allowed: both, as whole numbers"
            ),
            "{told_rows}"
        );
        assert!(told("sample,seed,colour\n0,1,9\n").contains("line 1 (header)"));
        assert!(told("sample,seed\n0,1\n").contains("line 1 (header)"));
        // a table of the plausible set is none of keys alone
        let names: Vec<&str> = UNKNOWNS.iter().map(|u| u.name).collect();
        assert_eq!(keys_of(&format!("sample,seed,{}\n", names.join(","))), None);
    }
}
