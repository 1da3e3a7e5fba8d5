//! Runner pairs as records: what is known of a pair, how well, and what is taken for what is not known.

/// A number of a record.
#[derive(Debug)]
pub struct RecordKey {
    /// Key in a file, with its unit.
    pub key: &'static str,
    /// Key of its standard error.
    pub(crate) error_key: &'static str,
    /// What it is.
    pub doc: &'static str,
    /// Least allowed.
    pub(crate) least: f64,
    /// Greatest allowed.
    pub(crate) most: f64,
    /// What is taken when it is not known, and its standard error; assumed.
    pub(crate) assumed: [f64; 2],
    /// Key of a set-up that it stands for, in the same unit; `None`: no result uses it.
    pub setup_key: Option<&'static str>,
}

const fn key(
    key: &'static str,
    error_key: &'static str,
    [least, most]: [f64; 2],
    assumed: [f64; 2],
    setup_key: Option<&'static str>,
    doc: &'static str,
) -> RecordKey {
    RecordKey { key, error_key, doc, least, most, assumed, setup_key }
}

/// Numbers of a record.
pub(crate) const NUMBERS: usize = 8;
/// Every number of a record, in the order of a written file. What is taken for an unknown one is assumed: rods by the
/// federation's rule, the rest by the width in which pairs are said to differ.
pub static KEYS: [RecordKey; NUMBERS] = [
    key(
        "diameter_mm",
        "diameter_error_mm",
        [8.0, 30.0],
        [16.0, 0.05],
        Some("runners.diameter_mm"),
        "diameter of the rod",
    ),
    key(
        "free_bow_left_mm",
        "free_bow_left_error_mm",
        [-5.0, 5.0],
        [0.0, 0.2],
        Some("runners.left.free_bow_mm"),
        "bow of the free left runner, middle against pins, towards the ice",
    ),
    key(
        "free_bow_right_mm",
        "free_bow_right_error_mm",
        [-5.0, 5.0],
        [0.0, 0.2],
        Some("runners.right.free_bow_mm"),
        "bow of the free right runner, middle against pins, towards the ice",
    ),
    key(
        "groove_start_mm",
        "groove_start_error_mm",
        [-800.0, 800.0],
        [0.0, 30.0],
        Some("runners.groove_start_mm"),
        "where the groove begins, ahead of the middle; it runs backwards from there",
    ),
    key(
        "groove_edge_radius_mm",
        "groove_edge_radius_error_mm",
        [0.02, 5.0],
        [0.3, 0.15],
        Some("runners.groove_edge_radius_mm"),
        "radius of the edges of the groove",
    ),
    key("groove_depth_mm", "groove_depth_error_mm", [0.05, 8.0], [1.0, 0.5], None, "depth of the groove"),
    key(
        "hardness_hv",
        "hardness_error_hv",
        [50.0, 1500.0],
        [350.0, 80.0],
        None,
        "Vickers hardness of the steel",
    ),
    key(
        "roughness_um",
        "roughness_error_um",
        [0.0, 10.0],
        [0.25, 0.1],
        Some("runners.roughness_um"),
        "RMS roughness of the polished steel",
    ),
];

/// A number that may be unknown, and its standard error, which may be unknown as well.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Quantity {
    /// Value, in the unit of its key.
    pub value: Option<f64>,
    /// Standard error, in the unit of its key.
    pub(crate) error: Option<f64>,
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

    /// What the record says of the keys of a set-up, each in the unit of its key. Where it knows nothing the assumed
    /// value stands: what the set-up had belongs to another pair.
    pub fn settings(&self) -> Vec<(&'static str, f64)> {
        let setting = |(i, key): (usize, &RecordKey)| Some((key.setup_key?, self.reckoned(i)?.value));
        KEYS.iter().enumerate().filter_map(setting).collect()
    }

    /// The same record with a number at a value.
    pub fn with(&self, number: usize, value: f64) -> Self {
        let mut record = self.clone();
        if let Some(quantity) = record.numbers.get_mut(number) {
            quantity.value = Some(value);
        }
        record
    }

    /// The ends of the 95 % band of a number, cut at its limits: 1.96 errors to both sides; of a number that cannot be
    /// negative the lower end by the same factor as the upper one, so that a wide error does not end at nothing.
    ///
    /// Checked by: `exact_bands_of_what_is_known_well_and_badly`.
    pub fn band(&self, number: usize) -> Option<[f64; 2]> {
        let (Reckoned { value, error, .. }, key) = (self.reckoned(number)?, KEYS.get(number)?);
        let high = value + BAND * error;
        let low = if key.least >= 0.0 && value > 0.0 { value * value / high } else { value - BAND * error };
        Some([low.max(key.least), high.min(key.most)])
    }
}

/// Half-width of a 95 % band over its standard error.
const BAND: f64 = 1.959964;

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
        let settings = record.settings();
        for wanted in [
            ("runners.diameter_mm", 15.9),
            ("runners.groove_edge_radius_mm", 0.2),
            ("runners.roughness_um", 0.25),
            ("runners.left.free_bow_mm", 0.0),
        ] {
            assert!(settings.contains(&wanted), "{wanted:?}");
        }
        // depth and hardness stand for nothing in a set-up
        assert_eq!(settings.len(), NUMBERS - 2);
    }

    #[test]
    fn exact_bands_of_what_is_known_well_and_badly() {
        let mut record = RunnerRecord::default();
        record.numbers[0] = Quantity { value: Some(16.0), error: Some(0.01) };
        let [low, high] = record.band(0).expect("a number");
        // 16 +- 1.96 * 0.01; the factor moves the lower end by 1.96^2 * 0.01^2 / 16
        approx::assert_abs_diff_eq!(high, 16.0196, epsilon = 1e-6);
        approx::assert_abs_diff_eq!(low, 15.9804, epsilon = 3e-5);
        // 0.3 +- 0.15, not known: up to 0.594, down to 0.3^2 / 0.594
        let [low, high] = record.band(4).expect("a number");
        approx::assert_abs_diff_eq!(high, 0.594, epsilon = 1e-5);
        approx::assert_abs_diff_eq!(low, 0.09 / 0.594, epsilon = 1e-5);
        // a bow may be hollow
        let [low, high] = record.band(1).expect("a number");
        assert_eq!(low, -high);
        // cut at the limit
        record.numbers[3] = Quantity { value: Some(790.0), error: Some(30.0) };
        assert_eq!(record.band(3).expect("a number")[1], 800.0);
        assert_eq!(record.with(3, 5.0).reckoned(3).map(|r| (r.value, r.error)), Some((5.0, 30.0)));
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
