//! Units by the names that open standards give them, and the one unit each quantity is kept in.
//!
//! A name that means two things is refused, not guessed: "g" is gram in RFC 8428 and gravity in the
//! mouth of whoever makes accelerometers, "C" is coulomb and "F" farad.

/// Any unit a payload may carry its figures in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Unit {
    Celsius,
    Kelvin,
    Fahrenheit,
    Volt,
    Millivolt,
    Ampere,
    Milliampere,
    /// What is left in a battery, in percent.
    Charge,
    /// Relative humidity, in percent.
    Humidity,
    /// A share of one.
    Ratio,
    Percent,
    Thousandth,
    Millionth,
    Second,
    Millisecond,
    Minute,
    Hour,
    Day,
    PerMinute,
    PerSecond,
    PerHour,
    Acceleration,
    Gravity,
    Latitude,
    Longitude,
    Kilogram,
    Metre,
    Millimetre,
    Centimetre,
    Kilometre,
    Speed,
    KilometresPerHour,
    Count,
    Acidity,
    Lux,
    Pascal,
    Hectopascal,
    Decibel,
    DecibelWatt,
    DecibelMilliwatt,
    CubicMetre,
    Litre,
    Degree,
}

struct Row {
    unit: Unit,
    /// The first is how it is shown: RFC 8428 section 12.1 or RFC 8798 where they have it.
    names: &'static [&'static str],
    /// The unit its quantity is kept in.
    kept: Unit,
    // Kept figure = (figure - zero) * up / down: whole factors, so that 101.3 degF is 38.5 Cel.
    zero: f64,
    up: f64,
    down: f64,
}

const fn kept(unit: Unit, names: &'static [&'static str]) -> Row {
    Row { unit, names, kept: unit, zero: 0.0, up: 1.0, down: 1.0 }
}

const fn times(unit: Unit, names: &'static [&'static str], kept: Unit, up: f64, down: f64) -> Row {
    Row { unit, names, kept, zero: 0.0, up, down }
}

/// In the order of the enum. Names: RFC 8428 section 12.1, RFC 8798 tables 1 and 2, and UCUM's own
/// where it differs ("[degF]", "[g]", "d", "/min", "[pH]", "L").
const ROWS: [Row; 43] = {
    use Unit::*;
    [
        kept(Celsius, &["Cel"]),
        Row { unit: Kelvin, names: &["K"], kept: Celsius, zero: 273.15, up: 1.0, down: 1.0 },
        Row {
            unit: Fahrenheit,
            names: &["degF", "[degF]"],
            kept: Celsius,
            zero: 32.0,
            up: 5.0,
            down: 9.0,
        },
        kept(Volt, &["V"]),
        times(Millivolt, &["mV"], Volt, 1.0, 1000.0),
        kept(Ampere, &["A"]),
        times(Milliampere, &["mA"], Ampere, 1.0, 1000.0),
        kept(Charge, &["%EL"]),
        kept(Humidity, &["%RH"]),
        kept(Ratio, &["/", "1"]),
        times(Percent, &["%", "/100"], Ratio, 1.0, 100.0),
        times(Thousandth, &["/1000"], Ratio, 1.0, 1000.0),
        times(Millionth, &["ppm", "[ppm]"], Ratio, 1.0, 1_000_000.0),
        kept(Second, &["s"]),
        times(Millisecond, &["ms"], Second, 1.0, 1000.0),
        times(Minute, &["min"], Second, 60.0, 1.0),
        times(Hour, &["h"], Second, 3600.0, 1.0),
        times(Day, &["d"], Second, 86_400.0, 1.0),
        kept(PerMinute, &["1/min", "beat/min", "/min"]),
        times(PerSecond, &["1/s", "Hz", "/s"], PerMinute, 60.0, 1.0),
        times(PerHour, &["1/h", "/h"], PerMinute, 1.0, 60.0),
        kept(Acceleration, &["m/s2"]),
        // Standard gravity: 3rd General Conference on Weights and Measures, 1901.
        times(Gravity, &["[g]"], Acceleration, 9.80665, 1.0),
        kept(Latitude, &["lat"]),
        kept(Longitude, &["lon"]),
        kept(Kilogram, &["kg"]),
        kept(Metre, &["m"]),
        times(Millimetre, &["mm"], Metre, 1.0, 1000.0),
        times(Centimetre, &["cm"], Metre, 1.0, 100.0),
        times(Kilometre, &["km"], Metre, 1000.0, 1.0),
        kept(Speed, &["m/s"]),
        times(KilometresPerHour, &["km/h"], Speed, 1.0, 3.6),
        kept(Count, &["count"]),
        kept(Acidity, &["pH", "[pH]"]),
        kept(Lux, &["lx"]),
        kept(Pascal, &["Pa"]),
        times(Hectopascal, &["hPa"], Pascal, 100.0, 1.0),
        kept(Decibel, &["dB"]),
        kept(DecibelWatt, &["dBW"]),
        Row {
            unit: DecibelMilliwatt,
            names: &["dBm"],
            kept: DecibelWatt,
            zero: 30.0,
            up: 1.0,
            down: 1.0,
        },
        kept(CubicMetre, &["m3"]),
        times(Litre, &["L", "l"], CubicMetre, 1.0, 1000.0),
        kept(Degree, &["deg"]),
    ]
};

/// What a side field says for want of a standard name (common practice, no source). A sign of its
/// own such as "°F" can mean nothing else; "g" only beside a field that the settings call an
/// acceleration.
const LOOSE: [(&str, Unit); 14] = [
    ("c", Unit::Celsius),
    ("°c", Unit::Celsius),
    ("degc", Unit::Celsius),
    ("celsius", Unit::Celsius),
    ("f", Unit::Fahrenheit),
    ("°f", Unit::Fahrenheit),
    ("degf", Unit::Fahrenheit),
    ("fahrenheit", Unit::Fahrenheit),
    ("k", Unit::Kelvin),
    ("kelvin", Unit::Kelvin),
    ("bpm", Unit::PerMinute),
    ("sec", Unit::Second),
    ("volt", Unit::Volt),
    ("lux", Unit::Lux),
];

impl Unit {
    /// By one of its names as the standards write it: "Cel", never "C" (RFC 8428 section 12.1).
    pub fn named(name: &str) -> Option<Self> {
        ROWS.iter().find(|row| row.names.contains(&name)).map(|row| row.unit)
    }

    /// By what a side field of a payload says, where the settings expect this quantity.
    pub fn said(word: &str, expected: Option<Self>) -> Option<Self> {
        let word = word.trim();
        if word == "g" {
            let is = expected.is_some_and(|unit| unit.kept() == Self::Acceleration);
            return is.then_some(Self::Gravity);
        }
        Self::named(word).or_else(|| {
            let word = word.to_lowercase();
            LOOSE.iter().find(|(loose, _)| *loose == word).map(|(_, unit)| *unit)
        })
    }

    /// The name it is shown by.
    pub fn name(self) -> &'static str {
        self.row().names.first().copied().unwrap_or_default()
    }

    /// Every unit's first name, for who mistyped one.
    pub fn names() -> impl Iterator<Item = &'static str> {
        ROWS.iter().map(|row| row.unit.name())
    }

    /// The unit in which this quantity is kept.
    pub fn kept(self) -> Self {
        self.row().kept
    }

    pub fn is_kept(self) -> bool {
        self.kept() == self
    }

    /// A figure in this unit, as a figure in the unit it is kept in.
    pub fn keep(self, figure: f64) -> f64 {
        let row = self.row();
        (figure - row.zero) * row.up / row.down
    }

    /// The same for a difference of two figures: 1.8 degF warmer is 1 Cel warmer.
    pub fn keep_difference(self, figure: f64) -> f64 {
        let row = self.row();
        figure * row.up / row.down
    }

    fn row(self) -> &'static Row {
        &ROWS[self as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_unit_has_its_own_row_and_no_name_means_two_things() {
        let mut names = Vec::<&str>::new();
        for (place, row) in ROWS.iter().enumerate() {
            assert_eq!(row.unit as usize, place, "{:?}", row.unit);
            assert!(row.kept.is_kept(), "{:?}", row.unit);
            names.extend(row.names);
        }
        let all = names.len();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), all);
    }

    #[test]
    fn figures_are_turned_once_into_the_unit_they_are_kept_in() {
        for (name, figure, kept, expected) in [
            // NIST SP 811 (2008) table B.9: t/Cel = (t/degF - 32)/1.8, t/Cel = T/K - 273.15.
            ("degF", 101.3, "Cel", 38.5),
            ("[degF]", 32.0, "Cel", 0.0),
            ("degF", 212.0, "Cel", 100.0),
            ("degF", -40.0, "Cel", -40.0),
            ("K", 273.15, "Cel", 0.0),
            // NIST SP 811 table 5: 1 V = 1000 mV by its prefix.
            ("mV", 3000.0, "V", 3.0),
            // RFC 8798 table 2: min = 60 s, h = 3600 s, ms = 1/1000 s, dBm = dBW - 30.
            ("min", 2.0, "s", 120.0),
            ("h", 1.5, "s", 5400.0),
            ("ms", 250.0, "s", 0.25),
            ("dBm", -112.0, "dBW", -142.0),
            ("/100", 88.0, "/", 0.88),
            ("%", 88.0, "/", 0.88),
            ("ppm", 400.0, "/", 0.0004),
            ("km/h", 36.0, "m/s", 10.0),
            // RFC 8428 section 12.1: 1/min is the same as beat/min, Hz is once a second.
            ("beat/min", 64.0, "1/min", 64.0),
            ("Hz", 1.0, "1/min", 60.0),
            // Standard gravity, NIST SP 811 appendix B.8: 9.806 65 m/s2, exactly.
            ("[g]", 1.0, "m/s2", 9.80665),
            ("%EL", 88.0, "%EL", 88.0),
        ] {
            let unit = Unit::named(name).unwrap();
            assert_eq!(unit.kept().name(), kept, "{name}");
            assert!((unit.keep(figure) - expected).abs() < 1e-12, "{name}: {}", unit.keep(figure));
        }
        let warmer = Unit::Fahrenheit.keep_difference(1.8);
        assert!((warmer - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_name_that_means_two_things_is_no_name() {
        // RFC 8428 section 12.1: Cel, not C; C is coulomb, F farad, g gram (standards.md SN-09).
        for name in ["C", "F", "g", "", "cel", "percent"] {
            assert_eq!(Unit::named(name), None, "{name}");
        }
        assert_eq!(Unit::said("g", None), None);
        assert_eq!(Unit::said("g", Some(Unit::Kilogram)), None);
        assert_eq!(Unit::said("g", Some(Unit::Acceleration)), Some(Unit::Gravity));
    }

    #[test]
    fn a_side_field_may_say_it_loosely() {
        for (word, unit) in [
            ("F", Some(Unit::Fahrenheit)),
            ("°F", Some(Unit::Fahrenheit)),
            (" C ", Some(Unit::Celsius)),
            ("°C", Some(Unit::Celsius)),
            ("Cel", Some(Unit::Celsius)),
            ("Celsius", Some(Unit::Celsius)),
            ("mV", Some(Unit::Millivolt)),
            ("MV", None),
            ("R", None),
            ("", None),
        ] {
            assert_eq!(Unit::said(word, None), unit, "{word}");
        }
    }
}
