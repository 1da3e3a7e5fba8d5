//! Units of set-up files, and SI. The only place where one is turned into the other.

/// Unit of a number in a set-up file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// No dimension.
    One,
    /// Kilogram.
    Kg,
    /// Kilogram square metre.
    KgM2,
    /// Micrometre.
    Um,
    /// Millimetre.
    Mm,
    /// Metre.
    M,
    /// Square metre.
    M2,
    /// Second.
    S,
    /// Metre per second.
    MPerS,
    /// Newton.
    N,
    /// Newton metre.
    NM,
    /// Newton metre per radian.
    NMPerRad,
    /// Newton metre per degree, kept as it is.
    NMPerDeg,
    /// Newton per metre.
    NPerM,
    /// Hectopascal.
    Hpa,
    /// Megapascal.
    Mpa,
    /// Gigapascal.
    Gpa,
    /// Degree Celsius, kept as it is.
    C,
    /// Percent.
    Percent,
}

impl Unit {
    /// Ending of a key with this unit; empty without dimension.
    pub fn suffix(self) -> &'static str {
        self.row().0
    }

    /// How people write it; empty without dimension.
    pub fn symbol(self) -> &'static str {
        self.row().1
    }

    /// From a set-up file to SI. Division by a power of ten, so that 12 mm is the same double as 0.012 m.
    pub(crate) fn to_si(self, value: f64) -> f64 {
        let (_, _, times, over) = self.row();
        value * times / over
    }

    /// From SI to a set-up file: the number with fewest digits that [`Unit::to_si`] turns back into `si`, and the
    /// nearest one where no double does.
    pub(crate) fn of_si(self, si: f64) -> f64 {
        let (_, _, times, over) = self.row();
        let plain = si * over / times;
        (0..18)
            .filter_map(|digits| format!("{plain:.digits$e}").parse::<f64>().ok())
            .find(|&value| self.to_si(value) == si)
            .unwrap_or(plain)
    }

    /// Suffix, symbol, factor and divisor towards SI.
    fn row(self) -> (&'static str, &'static str, f64, f64) {
        match self {
            Self::One => ("", "", 1.0, 1.0),
            Self::Kg => ("_kg", "kg", 1.0, 1.0),
            Self::KgM2 => ("_kg_m2", "kg m2", 1.0, 1.0),
            Self::Um => ("_um", "um", 1.0, 1e6),
            Self::Mm => ("_mm", "mm", 1.0, 1e3),
            Self::M => ("_m", "m", 1.0, 1.0),
            Self::M2 => ("_m2", "m2", 1.0, 1.0),
            Self::S => ("_s", "s", 1.0, 1.0),
            Self::MPerS => ("_m_s", "m/s", 1.0, 1.0),
            Self::N => ("_n", "N", 1.0, 1.0),
            Self::NM => ("_n_m", "N m", 1.0, 1.0),
            Self::NMPerRad => ("_n_m_per_rad", "N m/rad", 1.0, 1.0),
            Self::NMPerDeg => ("_n_m_per_deg", "N m/deg", 1.0, 1.0),
            Self::NPerM => ("_n_per_m", "N/m", 1.0, 1.0),
            Self::Hpa => ("_hpa", "hPa", 1e2, 1.0),
            Self::Mpa => ("_mpa", "MPa", 1e6, 1.0),
            Self::Gpa => ("_gpa", "GPa", 1e9, 1.0),
            Self::C => ("_c", "degC", 1.0, 1.0),
            Self::Percent => ("_percent", "%", 1.0, 1e2),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_units_towards_si() {
        // Literals on both sides: the nearest doubles of the same decimal numbers.
        assert_eq!(Unit::Mm.to_si(12.7), 0.0127);
        assert_eq!(Unit::Um.to_si(0.25), 0.25e-6);
        assert_eq!(Unit::Hpa.to_si(948.0), 94_800.0);
        assert_eq!(Unit::Mpa.to_si(17.7), 17.7e6);
        assert_eq!(Unit::Gpa.to_si(200.0), 2e11);
        assert_eq!(Unit::Percent.to_si(80.0), 0.8);
        assert_eq!(Unit::C.to_si(-5.0), -5.0);
        assert_eq!(Unit::Kg.to_si(80.5), 80.5);
    }

    #[test]
    fn exact_fewest_digits_back() {
        assert_eq!(Unit::Mm.of_si(0.36), 360.0);
        assert_eq!(Unit::Mm.of_si(0.0003), 0.3);
        assert_eq!(Unit::Um.of_si(0.25e-6), 0.25);
        assert_eq!(Unit::Percent.of_si(0.07), 7.0);
        assert!(Unit::Mm.of_si(f64::NAN).is_nan());
        for hundredths in -3000..3000 {
            let value = f64::from(hundredths) / 100.0;
            for unit in [Unit::Mm, Unit::Um, Unit::Percent, Unit::Hpa, Unit::Mpa, Unit::Gpa, Unit::C] {
                assert_eq!(unit.of_si(unit.to_si(value)), value, "{unit:?}"); // what a coach types
            }
        }
    }
}
