//! Daily records: what a weather station noted day by day, in one set of units. Reading a file is not here, nor
//! what a day means for work.

use crate::weather::calendar::MonthDay;
use jiff::ToSpan as _;
use jiff::civil::Date;

/// What a station notes of a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Quantity {
    /// Lowest air temperature, degrees Celsius.
    TemperatureMin,
    /// Highest air temperature, degrees Celsius.
    TemperatureMax,
    /// Mean air temperature, degrees Celsius.
    TemperatureMean,
    /// Rain and melted snow, mm.
    Rain,
    /// Mean relative humidity, %.
    HumidityMean,
    /// Lowest relative humidity, %.
    HumidityMin,
    /// Mean wind speed at the height of the anemometer, m/s.
    Wind,
    /// Global radiation on the level, MJ/m2.
    Radiation,
    /// Bright sunshine, hours.
    Sunshine,
    /// Reference evapotranspiration, mm.
    EtRef,
    /// Soil moisture deficit of well drained soil at the close of the day, mm.
    DeficitWell,
    /// The same of moderately drained soil; below 0 it is wetter than field capacity.
    DeficitModerate,
    /// The same of poorly drained soil.
    DeficitPoor,
    /// Water gone from the layer at the surface at the close of the day, mm: 0 is wet through.
    Topsoil,
    /// Wet-bulb depression, degrees Celsius: temperature less wet-bulb temperature.
    DeltaT,
}

impl Quantity {
    /// Those that stations note; the others are worked out from them.
    pub const NOTED: [Self; 13] = [
        Self::TemperatureMin,
        Self::TemperatureMax,
        Self::TemperatureMean,
        Self::Rain,
        Self::HumidityMean,
        Self::HumidityMin,
        Self::Wind,
        Self::Radiation,
        Self::Sunshine,
        Self::EtRef,
        Self::DeficitWell,
        Self::DeficitModerate,
        Self::DeficitPoor,
    ];

    /// Its name as a column, which ends in its unit.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::TemperatureMin => "tmin_c",
            Self::TemperatureMax => "tmax_c",
            Self::TemperatureMean => "tmean_c",
            Self::Rain => "rain_mm",
            Self::HumidityMean => "rh_mean_pct",
            Self::HumidityMin => "rh_min_pct",
            Self::Wind => "wind_m_s",
            Self::Radiation => "radiation_mj_m2",
            Self::Sunshine => "sunshine_h",
            Self::EtRef => "et_ref_mm",
            Self::DeficitWell => "smd_well_mm",
            Self::DeficitModerate => "smd_moderate_mm",
            Self::DeficitPoor => "smd_poor_mm",
            Self::Topsoil => "topsoil_mm",
            Self::DeltaT => "delta_t_c",
        }
    }

    /// The least and the most that a day can have: beyond them a value is a mistake of the file or of its unit.
    /// Wide bounds, common practice, no source: the earth's records of temperature, rain and wind lie inside,
    /// radiation and evapotranspiration stay below what the sun can give outside the air.
    #[must_use]
    pub const fn limits(self) -> (f64, f64) {
        match self {
            Self::TemperatureMin | Self::TemperatureMax | Self::TemperatureMean => (-70.0, 60.0),
            Self::Rain => (0.0, 1_900.0),
            Self::HumidityMean | Self::HumidityMin => (0.0, 100.0),
            Self::Wind => (0.0, 75.0),
            Self::Radiation => (0.0, 45.0),
            Self::Sunshine => (0.0, 24.0),
            Self::EtRef => (-1.0, 20.0),
            Self::DeficitWell | Self::DeficitModerate | Self::DeficitPoor => (-300.0, 500.0),
            Self::Topsoil => (0.0, 200.0),
            Self::DeltaT => (0.0, 40.0),
        }
    }
}

/// A mistake in a record.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RecordError {
    /// A day that comes a second time.
    #[error("{date} is there twice: each day may have one row")]
    Twice {
        /// The day.
        date: Date,
    },
    /// A day that lies before the one above it.
    #[error("{date} comes after {above}: the rows must run from the earliest day to the latest")]
    OutOfOrder {
        /// The day.
        date: Date,
        /// The day of the row above.
        above: Date,
    },
    /// A value that no day can have.
    #[error("{name} of {date} is {value}: a day can have {least} to {most}; is its unit right?", name = .quantity.name())]
    Impossible {
        /// The quantity.
        quantity: Quantity,
        /// The day.
        date: Date,
        /// The value.
        value: f64,
        /// The least that a day can have.
        least: f64,
        /// The most.
        most: f64,
    },
    /// A lowest value above the highest of the same day.
    #[error("{date}: {low} is {low_value}, above {high} with {high_value}", low = .low.name(), high = .high.name())]
    Crossed {
        /// The day.
        date: Date,
        /// The quantity that should be lower.
        low: Quantity,
        /// Its value.
        low_value: f64,
        /// The quantity that should be higher.
        high: Quantity,
        /// Its value.
        high_value: f64,
    },
}

/// Days in a row without a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Gap {
    /// Of what.
    pub quantity: Quantity,
    /// First day without.
    pub first: Date,
    /// How many days.
    pub days: usize,
}

impl Gap {
    /// Last day without.
    #[must_use]
    pub fn last(&self) -> Date {
        self.first.saturating_add((self.days as i64 - 1).days())
    }
}

/// One whole year of a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RecordYear {
    /// The year in which it begins.
    pub year: i16,
    /// The record's day on which it begins.
    pub first: usize,
    /// Its days, 365 or 366.
    pub days: usize,
}

/// A daily record: days without a break, each with a value of a quantity or none.
///
/// ```
/// use jiff::civil::date;
/// use sim_core::weather::{Quantity, Record};
/// let mut record = Record::new(&[Quantity::Rain, Quantity::Wind]);
/// record.push(date(2020, 2, 28), &[1.5, 4.0]).unwrap();
/// record.push(date(2020, 3, 1), &[0.0, f64::NAN]).unwrap();
/// assert_eq!(record.days(), 3);
/// assert!(record.of(Quantity::Rain).unwrap()[1].is_nan());
/// assert_eq!(record.gaps()[0].first, date(2020, 2, 29));
/// assert!(record.push(date(2020, 3, 1), &[0.0, 1.0]).is_err());
/// ```
#[derive(Debug, Clone)]
pub struct Record {
    first: Date,
    days: usize,
    quantities: Vec<Quantity>,
    columns: Vec<Vec<f64>>,
}

/// Two records are the same when each has no value where the other has none.
impl PartialEq for Record {
    fn eq(&self, other: &Self) -> bool {
        let bits = |column: &[f64], others: &[f64]| {
            column.iter().zip(others).all(|(one, other)| one.to_bits() == other.to_bits())
        };
        (self.first, self.days, &self.quantities) == (other.first, other.days, &other.quantities)
            && self.columns.iter().zip(&other.columns).all(|(one, others)| bits(one, others))
    }
}

impl Record {
    /// A record of some quantities, without days.
    #[must_use]
    pub fn new(quantities: &[Quantity]) -> Self {
        Self {
            first: Date::constant(1, 1, 1),
            days: 0,
            quantities: quantities.to_vec(),
            columns: vec![Vec::new(); quantities.len()],
        }
    }

    /// Adds a day with its values in the order of the quantities; `NAN` is none. Days left out before it have none.
    ///
    /// # Errors
    /// When the day does not come after the last one, or a value is impossible. The record is then as it was.
    ///
    /// # Panics
    /// When there are not as many values as quantities.
    pub fn push(&mut self, date: Date, values: &[f64]) -> Result<(), RecordError> {
        assert_eq!(values.len(), self.quantities.len(), "one value for each quantity");
        self.judge(date, values)?;
        if self.days == 0 {
            self.first = date;
        }
        let missing = (days_between(self.first, date) as usize).saturating_sub(self.days);
        for (column, value) in self.columns.iter_mut().zip(values) {
            column.extend(std::iter::repeat_n(f64::NAN, missing));
            column.push(*value);
        }
        self.days += missing + 1;
        Ok(())
    }

    fn judge(&self, date: Date, values: &[f64]) -> Result<(), RecordError> {
        if self.days > 0 {
            let above = self.last();
            if date == above {
                return Err(RecordError::Twice { date });
            }
            if date < above {
                return Err(RecordError::OutOfOrder { date, above });
            }
        }
        for (&quantity, &value) in self.quantities.iter().zip(values) {
            let (least, most) = quantity.limits();
            if value < least || value > most {
                return Err(RecordError::Impossible { quantity, date, value, least, most });
            }
        }
        let of = |quantity| self.quantities.iter().position(|has| *has == quantity).map(|at| values[at]);
        for (low, high) in [
            (Quantity::TemperatureMin, Quantity::TemperatureMax),
            (Quantity::TemperatureMin, Quantity::TemperatureMean),
            (Quantity::TemperatureMean, Quantity::TemperatureMax),
            (Quantity::HumidityMin, Quantity::HumidityMean),
        ] {
            if let (Some(low_value), Some(high_value)) = (of(low), of(high))
                && low_value > high_value
            {
                return Err(RecordError::Crossed { date, low, low_value, high, high_value });
            }
        }
        Ok(())
    }

    /// The first day.
    #[must_use]
    pub fn first(&self) -> Date {
        self.first
    }

    /// The last day.
    #[must_use]
    pub fn last(&self) -> Date {
        self.date(self.days.saturating_sub(1))
    }

    /// How many days, those without values counted.
    #[must_use]
    pub fn days(&self) -> usize {
        self.days
    }

    /// The date of a day, 0 the first.
    #[must_use]
    pub fn date(&self, day: usize) -> Date {
        self.first.saturating_add((day as i64).days())
    }

    /// The place of a date, if the record has it.
    #[must_use]
    pub fn day_of(&self, date: Date) -> Option<usize> {
        usize::try_from(days_between(self.first, date)).ok().filter(|day| *day < self.days)
    }

    /// The quantities that it notes.
    #[must_use]
    pub fn quantities(&self) -> &[Quantity] {
        &self.quantities
    }

    /// The values of a quantity day by day, `NAN` where there is none; nothing if it is not noted at all.
    #[must_use]
    pub fn of(&self, quantity: Quantity) -> Option<&[f64]> {
        let at = self.quantities.iter().position(|has| *has == quantity)?;
        Some(&self.columns[at])
    }

    /// The mean temperature of a day in degrees Celsius: as noted, or half of lowest and highest.
    #[must_use]
    pub fn temperature(&self, day: usize) -> Option<f64> {
        let of = |quantity| self.of(quantity).map(|values| values[day]).filter(|value| !value.is_nan());
        of(Quantity::TemperatureMean).or_else(|| {
            let low = of(Quantity::TemperatureMin)?;
            Some(low.midpoint(of(Quantity::TemperatureMax)?))
        })
    }

    /// Adds a quantity, or puts other values in the place of one: a value for each day.
    ///
    /// # Panics
    /// When there are not as many values as days.
    pub fn set(&mut self, quantity: Quantity, values: Vec<f64>) {
        assert_eq!(values.len(), self.days, "one value for each day");
        if let Some(at) = self.quantities.iter().position(|has| *has == quantity) {
            self.columns[at] = values;
        } else {
            self.quantities.push(quantity);
            self.columns.push(values);
        }
    }

    /// Where values are missing, in the order of quantities and days.
    #[must_use]
    pub fn gaps(&self) -> Vec<Gap> {
        let mut gaps = Vec::new();
        for (&quantity, values) in self.quantities.iter().zip(&self.columns) {
            for (start, days) in runs_without(values) {
                gaps.push(Gap { quantity, first: self.date(start), days });
            }
        }
        gaps
    }

    /// Bridges gaps of at most so many days by straight lines between the values beside them, rain included
    /// (common practice, no source); gaps at either end stay. Gives those that it bridged.
    pub fn bridge(&mut self, longest_days: usize) -> Vec<Gap> {
        let first = self.first;
        let mut bridged = Vec::new();
        for (&quantity, values) in self.quantities.iter().zip(&mut self.columns) {
            for (start, days) in runs_without(values) {
                let after = start + days;
                if days > longest_days || start == 0 || after == values.len() {
                    continue;
                }
                let (low, high) = (values[start - 1], values[after]);
                for step in 1..=days {
                    let share = step as f64 / (days + 1) as f64;
                    values[start + step - 1] = low + share * (high - low);
                }
                bridged.push(Gap { quantity, first: first.saturating_add((start as i64).days()), days });
            }
        }
        bridged
    }

    /// The whole years of the record that begin on `start`. A year that begins on 29 February begins on 1 March
    /// where there is none.
    #[must_use]
    pub fn years(&self, start: MonthDay) -> Vec<RecordYear> {
        let whole = |year: i16| {
            let begins = start.in_year_or_after(year)?;
            let first = self.day_of(begins)?;
            let days = days_between(begins, start.in_year_or_after(year + 1)?) as usize;
            (first + days <= self.days).then_some(RecordYear { year, first, days })
        };
        if self.days == 0 {
            return Vec::new();
        }
        (self.first.year()..=self.last().year()).filter_map(whole).collect()
    }
}

/// Days from one date to another.
fn days_between(from: Date, to: Date) -> i64 {
    i64::from(from.until(to).map_or(0, |span| span.get_days()))
}

/// Where values are missing in a row: first place and how many.
fn runs_without(values: &[f64]) -> Vec<(usize, usize)> {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for (place, _) in values.iter().enumerate().filter(|(_, value)| value.is_nan()) {
        match runs.last_mut() {
            Some((start, days)) if *start + *days == place => *days += 1,
            _ => runs.push((place, 1)),
        }
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn rain(first: Date, values: &[f64]) -> Record {
        let mut record = Record::new(&[Quantity::Rain]);
        for (day, value) in values.iter().enumerate() {
            record.push(first.saturating_add((day as i64).days()), &[*value]).unwrap();
        }
        record
    }

    #[test]
    fn each_mistake_is_refused_and_changes_nothing() {
        let mut record = Record::new(&[Quantity::TemperatureMin, Quantity::TemperatureMax]);
        record.push(date(2020, 1, 2), &[1.0, 5.0]).unwrap();
        let before = record.clone();
        let mistakes = [
            (date(2020, 1, 2), [1.0, 5.0], "2020-01-02 is there twice: each day may have one row"),
            (
                date(2020, 1, 1),
                [1.0, 5.0],
                "2020-01-01 comes after 2020-01-02: the rows must run from the earliest day to the latest",
            ),
            (
                date(2020, 1, 3),
                [1.0, 68.0],
                "tmax_c of 2020-01-03 is 68: a day can have -70 to 60; is its unit right?",
            ),
            (date(2020, 1, 3), [6.0, 5.0], "2020-01-03: tmin_c is 6, above tmax_c with 5"),
        ];
        for (day, values, message) in mistakes {
            assert_eq!(record.push(day, &values).unwrap_err().to_string(), message);
            assert_eq!(record, before);
        }
    }

    #[test]
    fn short_gaps_are_bridged_and_long_ones_and_ends_are_not() {
        let none = f64::NAN;
        let mut record = rain(date(2021, 2, 27), &[none, 1.0, none, 4.0, none, none, none, 0.0, none]);
        let days = |gaps: &[Gap]| gaps.iter().map(|gap| (gap.first, gap.days)).collect::<Vec<_>>();
        assert_eq!(
            days(&record.gaps()),
            [(date(2021, 2, 27), 1), (date(2021, 3, 1), 1), (date(2021, 3, 3), 3), (date(2021, 3, 7), 1)]
        );
        assert_eq!(days(&record.bridge(2)), [(date(2021, 3, 1), 1)]);
        assert_eq!(record.of(Quantity::Rain).unwrap()[2], 2.5);
        assert_eq!(record.gaps()[1].last(), date(2021, 3, 5));
    }

    #[test]
    fn years_are_whole_and_may_begin_in_autumn() {
        let record = rain(date(2019, 7, 1), &vec![0.0; 900]);
        let calendar: Vec<_> = record.years("01-01".parse().unwrap());
        assert_eq!(calendar, [RecordYear { year: 2020, first: 184, days: 366 }]);
        let harvest = record.years("08-01".parse().unwrap());
        assert_eq!(
            harvest.iter().map(|year| (year.year, year.days)).collect::<Vec<_>>(),
            [(2019, 366), (2020, 365)]
        );
        assert_eq!(record.date(harvest[1].first), date(2020, 8, 1));
        assert!(Record::new(&[]).years("01-01".parse().unwrap()).is_empty());
    }
}
