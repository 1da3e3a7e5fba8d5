//! Runner pairs as records: what is known of a pair, how well, and what is taken for what is not known.

use ice_contact::runner::RunnerSpec;

/// A number of a record.
#[derive(Debug)]
pub struct RecordKey {
    /// Key in a file, with its unit.
    pub key: &'static str,
    /// Key of its standard error.
    pub error_key: &'static str,
    /// What it is.
    pub doc: &'static str,
    /// Least allowed.
    pub least: f64,
    /// Greatest allowed.
    pub most: f64,
    /// What is taken when it is not known, and its standard error; assumed.
    pub assumed: [f64; 2],
}

const fn key(
    key: &'static str,
    error_key: &'static str,
    [least, most]: [f64; 2],
    assumed: [f64; 2],
    doc: &'static str,
) -> RecordKey {
    RecordKey { key, error_key, doc, least, most, assumed }
}

/// Numbers of a record.
pub const NUMBERS: usize = 8;
/// Every number of a record, in the order of a written file. What is taken for an unknown one is assumed: rods by the
/// federation's rule, the rest by the width in which pairs are said to differ.
pub static KEYS: [RecordKey; NUMBERS] = [
    key("diameter_mm", "diameter_error_mm", [8.0, 30.0], [16.0, 0.05], "diameter of the rod"),
    key(
        "free_bow_left_mm",
        "free_bow_left_error_mm",
        [-5.0, 5.0],
        [0.0, 0.2],
        "bow of the free left runner, middle against pins, towards the ice",
    ),
    key(
        "free_bow_right_mm",
        "free_bow_right_error_mm",
        [-5.0, 5.0],
        [0.0, 0.2],
        "bow of the free right runner, middle against pins, towards the ice",
    ),
    key(
        "groove_start_mm",
        "groove_start_error_mm",
        [-800.0, 800.0],
        [0.0, 30.0],
        "where the groove begins, ahead of the middle; it runs backwards from there",
    ),
    key(
        "groove_edge_radius_mm",
        "groove_edge_radius_error_mm",
        [0.02, 5.0],
        [0.3, 0.15],
        "radius of the edges of the groove",
    ),
    key("groove_depth_mm", "groove_depth_error_mm", [0.05, 8.0], [1.0, 0.5], "depth of the groove"),
    key("hardness_hv", "hardness_error_hv", [50.0, 1500.0], [350.0, 80.0], "Vickers hardness of the steel"),
    key(
        "roughness_um",
        "roughness_error_um",
        [0.0, 20.0],
        [0.25, 0.1],
        "RMS roughness of the polished steel",
    ),
];

/// A number that may be unknown, and its standard error, which may be unknown as well.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Quantity {
    /// Value, in the unit of its key.
    pub value: Option<f64>,
    /// Standard error, in the unit of its key.
    pub error: Option<f64>,
}

/// A number as it is reckoned with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reckoned {
    /// Value, in the unit of its key.
    pub value: f64,
    /// Standard error, in the unit of its key.
    pub error: f64,
    /// Whether the value stands in the record.
    pub known: bool,
}

/// A pair of runners.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RunnerRecord {
    /// Name of the pair; names are local.
    pub pair: String,
    /// Numbers in the order of [`KEYS`].
    pub numbers: [Quantity; NUMBERS],
    /// Scratches, in words; empty where unknown.
    pub scratches: String,
    /// What happened to the pair, in words; empty where unknown.
    pub history: String,
}

impl RunnerRecord {
    /// A number as it is reckoned with: an unknown value becomes the assumed one with its wide error, a value without
    /// an error has the error of the assumed one at most.
    pub fn reckoned(&self, number: usize) -> Option<Reckoned> {
        let (quantity, key) = (self.numbers.get(number)?, KEYS.get(number)?);
        let [value, error] = key.assumed;
        Some(match *quantity {
            Quantity { value: Some(value), error: own } => {
                Reckoned { value, error: own.unwrap_or(error), known: true }
            }
            _ => Reckoned { value, error, known: false },
        })
    }

    /// A runner with what the record knows in place of what the set-up says.
    pub fn put_on(&self, runner: &RunnerSpec) -> RunnerSpec {
        let mut runner = runner.clone();
        for (quantity, key) in self.numbers.iter().zip(&KEYS) {
            let Some(value) = quantity.value else { continue };
            match key.key {
                "diameter_mm" => runner.diameter_m = value / 1e3,
                "groove_start_mm" => runner.groove_start_m = value / 1e3,
                "groove_edge_radius_mm" => runner.groove_edge_radius_m = value / 1e3,
                "roughness_um" => runner.roughness_m = value / 1e6,
                _ => {}
            }
        }
        runner
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_what_is_unknown_is_assumed_with_a_wide_error() {
        let mut record = RunnerRecord { pair: "A".into(), ..RunnerRecord::default() };
        record.numbers[4] = Quantity { value: Some(0.2), error: Some(0.02) };
        record.numbers[0] = Quantity { value: Some(15.9), error: None };
        assert_eq!(record.reckoned(4), Some(Reckoned { value: 0.2, error: 0.02, known: true }));
        assert_eq!(record.reckoned(0), Some(Reckoned { value: 15.9, error: 0.05, known: true }));
        assert_eq!(record.reckoned(7), Some(Reckoned { value: 0.25, error: 0.1, known: false }));
        assert_eq!(record.reckoned(NUMBERS), None);
        let runner = record.put_on(&RunnerSpec::default());
        // the same decimal number over a power of ten
        assert_eq!((runner.diameter_m, runner.groove_edge_radius_m), (0.0159, 0.0002));
        assert_eq!(runner.roughness_m, RunnerSpec::default().roughness_m);
    }

    #[test]
    fn house_assumed_numbers_are_inside_their_limits() {
        for key in &KEYS {
            assert!(
                key.least <= key.assumed[0] && key.assumed[0] <= key.most && key.assumed[1] > 0.0,
                "{}",
                key.key
            );
            let (stem, unit) = key.key.rsplit_once('_').expect("a unit");
            assert_eq!(key.error_key, format!("{stem}_error_{unit}"));
        }
    }
}
