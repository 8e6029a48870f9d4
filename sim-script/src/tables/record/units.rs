//! Units of a record's columns and how they become the record's own. Which column has which is not here.

use crate::words::nearest;
use sim_core::weather::Quantity;

/// What a unit measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Dimension {
    Temperature,
    Water,
    Speed,
    Radiation,
    Humidity,
    Duration,
}

/// A unit: a value `v` in it is `(v + before) * times / over` in the record's own, so that exact definitions stay
/// exact and tenths round as they were written.
#[derive(Debug, PartialEq)]
pub(crate) struct Unit {
    /// As messages and descriptions show it.
    pub(crate) name: &'static str,
    /// Other spellings, as [`plain`] makes them.
    also: &'static [&'static str],
    /// What it measures.
    pub(crate) dimension: Dimension,
    before: f64,
    times: f64,
    over: f64,
}

const fn unit(
    name: &'static str,
    also: &'static [&'static str],
    dimension: Dimension,
    (before, times, over): (f64, f64, f64),
) -> Unit {
    Unit { name, also, dimension, before, times, over }
}

/// All units; the first of a dimension is the record's own.
///
/// Exact by definition: degrees Fahrenheit and kelvins against Celsius; the inch of 25.4 mm and the mile of 1609.344 m
/// (international yard and pound agreement, 1959); the nautical mile of 1852 m (Monaco, 1929), a knot being one an
/// hour; the SI prefixes; the day of 86 400 s. Tenths are how some weather services publish whole numbers.
static UNITS: [Unit; 27] = [
    unit("C", &["degc", "celsius", "degcelsius"], Dimension::Temperature, (0.0, 1.0, 1.0)),
    unit("F", &["degf", "fahrenheit", "degfahrenheit"], Dimension::Temperature, (-32.0, 5.0, 9.0)),
    unit("K", &["kelvin"], Dimension::Temperature, (-273.15, 1.0, 1.0)),
    unit("0.1C", &["0.1degc", "tenthsofc"], Dimension::Temperature, (0.0, 1.0, 10.0)),
    unit("mm", &["millimetre", "millimetres"], Dimension::Water, (0.0, 1.0, 1.0)),
    unit("inch", &["in", "inches"], Dimension::Water, (0.0, 254.0, 10.0)),
    unit("0.1mm", &["tenthsofmm"], Dimension::Water, (0.0, 1.0, 10.0)),
    unit("cm", &["centimetre", "centimetres"], Dimension::Water, (0.0, 10.0, 1.0)),
    unit("m", &["metre", "metres"], Dimension::Water, (0.0, 1000.0, 1.0)),
    unit("m/s", &["m_s", "ms-1"], Dimension::Speed, (0.0, 1.0, 1.0)),
    unit("knots", &["knot", "kn", "kt", "kts"], Dimension::Speed, (0.0, 1852.0, 3600.0)),
    unit("km/h", &["km_h", "kmh", "kmh-1"], Dimension::Speed, (0.0, 10.0, 36.0)),
    unit("mph", &["mi/h"], Dimension::Speed, (0.0, 1609.344, 3600.0)),
    unit("0.1m/s", &["tenthsofm/s"], Dimension::Speed, (0.0, 1.0, 10.0)),
    unit("MJ/m2", &["mj_m2", "mjm-2"], Dimension::Radiation, (0.0, 1.0, 1.0)),
    unit("J/cm2", &["j_cm2", "jcm-2"], Dimension::Radiation, (0.0, 1.0, 100.0)),
    unit("W/m2", &["w_m2", "wm-2"], Dimension::Radiation, (0.0, 864.0, 10_000.0)),
    unit("kWh/m2", &["kwh_m2", "kwhm-2"], Dimension::Radiation, (0.0, 36.0, 10.0)),
    unit("Wh/m2", &["wh_m2", "whm-2"], Dimension::Radiation, (0.0, 36.0, 10_000.0)),
    unit("kJ/m2", &["kj_m2", "kjm-2"], Dimension::Radiation, (0.0, 1.0, 1000.0)),
    unit("J/m2", &["j_m2", "jm-2"], Dimension::Radiation, (0.0, 1.0, 1e6)),
    unit("%", &["pct", "percent"], Dimension::Humidity, (0.0, 1.0, 1.0)),
    unit("fraction", &["1", "share"], Dimension::Humidity, (0.0, 100.0, 1.0)),
    unit("h", &["hour", "hours"], Dimension::Duration, (0.0, 1.0, 1.0)),
    unit("min", &["minute", "minutes"], Dimension::Duration, (0.0, 1.0, 60.0)),
    unit("0.1h", &["tenthsofh", "tenthsofhours"], Dimension::Duration, (0.0, 1.0, 10.0)),
    unit("s", &["second", "seconds"], Dimension::Duration, (0.0, 1.0, 3600.0)),
];

/// A unit's spelling without what people write in different ways: spaces, degree signs, raised figures, capitals.
fn plain(text: &str) -> String {
    let letters = text.chars().filter(|letter| !letter.is_whitespace() && !matches!(letter, '^' | '°'));
    letters.map(|letter| if letter == '²' { '2' } else { letter }).flat_map(char::to_lowercase).collect()
}

impl Dimension {
    /// What a quantity is.
    pub(crate) fn of(quantity: Quantity) -> Self {
        match quantity {
            Quantity::TemperatureMin
            | Quantity::TemperatureMax
            | Quantity::TemperatureMean
            | Quantity::DeltaT => Self::Temperature,
            Quantity::Rain
            | Quantity::EtRef
            | Quantity::DeficitWell
            | Quantity::DeficitModerate
            | Quantity::DeficitPoor
            | Quantity::Topsoil => Self::Water,
            Quantity::HumidityMean | Quantity::HumidityMin => Self::Humidity,
            Quantity::Wind => Self::Speed,
            Quantity::Radiation => Self::Radiation,
            Quantity::Sunshine => Self::Duration,
        }
    }

    /// In words, with its article.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Temperature => "a temperature",
            Self::Water => "a depth of water",
            Self::Speed => "a speed",
            Self::Radiation => "a day's radiation",
            Self::Humidity => "a humidity",
            Self::Duration => "a time",
        }
    }

    /// Its units, the record's own first.
    pub(crate) fn units(self) -> impl Iterator<Item = &'static Unit> {
        UNITS.iter().filter(move |unit| unit.dimension == self)
    }

    /// Their names in a row.
    pub(crate) fn unit_names(self) -> String {
        self.units().map(|unit| unit.name).collect::<Vec<_>>().join(", ")
    }
}

impl Unit {
    /// The unit of that name or spelling.
    pub(crate) fn named(text: &str) -> Option<&'static Self> {
        let text = plain(text);
        UNITS.iter().find(|unit| plain(unit.name) == text || unit.also.contains(&text.as_str()))
    }

    /// The record's own unit of a quantity.
    pub(crate) fn own(quantity: Quantity) -> &'static Self {
        let dimension = Dimension::of(quantity);
        UNITS.iter().find(|unit| unit.dimension == dimension).unwrap_or(&UNITS[0])
    }

    /// The unit of the dimension whose spelling is most like `wrong`.
    pub(crate) fn like(wrong: &str, dimension: Dimension) -> Option<&'static str> {
        let wrong = plain(wrong);
        let spellings: Vec<(&str, &str)> = dimension
            .units()
            .flat_map(|unit| {
                std::iter::once(unit.name).chain(unit.also.iter().copied()).map(|word| (word, unit.name))
            })
            .collect();
        let word = nearest(&wrong, spellings.iter().map(|(word, _)| *word))?;
        spellings.iter().find(|(known, _)| *known == word).map(|(_, name)| *name)
    }

    /// A value in this unit as the record's own.
    pub(crate) fn to_own(&self, value: f64) -> f64 {
        (value + self.before) * self.times / self.over
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_their_definitions() {
        for (value, unit, own) in [
            (212.0, "°F", 100.0),
            (-40.0, "degF", -40.0),
            (0.0, "K", -273.15),
            (58.0, "0.1 C", 5.8),
            (1.0, "inch", 25.4),
            (3.0, "0.1mm", 0.3),
            (2.5, "cm", 25.0),
            (0.012, "m", 12.0),
            (3600.0, "knots", 1852.0),
            (36.0, "km/h", 10.0),
            (3600.0, "mph", 1609.344),
            (37.0, "0.1 m/s", 3.7),
            (253.0, "J/cm²", 2.53),
            (1000.0, "Wh/m^2", 3.6),
            (1.0, "kWh/m2", 3.6),
            (100.0, "W/m2", 8.64),
            (1_000_000.0, "J/m2", 1.0),
            (1000.0, "kJ/m2", 1.0),
            (0.85, "fraction", 85.0),
            (90.0, "minutes", 1.5),
            (23.0, "0.1h", 2.3),
            (5400.0, "s", 1.5),
        ] {
            assert_eq!(Unit::named(unit).unwrap().to_own(value), own, "{value} {unit}");
        }
    }

    #[test]
    fn no_spelling_stands_for_two_units_and_own_units_change_nothing() {
        let mut spellings: Vec<String> = UNITS
            .iter()
            .flat_map(|unit| {
                std::iter::once(plain(unit.name)).chain(unit.also.iter().map(|word| (*word).to_string()))
            })
            .collect();
        assert!(spellings.iter().all(|word| *word == plain(word)));
        spellings.sort();
        let all = spellings.len();
        spellings.dedup();
        assert_eq!(spellings.len(), all);
        for quantity in Quantity::NOTED {
            assert_eq!(Unit::own(quantity).to_own(-0.7), -0.7, "{quantity:?}");
        }
    }
}
