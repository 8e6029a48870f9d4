//! The mistakes a user can make in describing the weather and its hours, one variant each.

use crate::weather::calendar::MonthDay;
use jiff::civil::Date;

/// A mistake in a description of weather, calendar or hours. Each names the field, the value and what is
/// permitted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum WeatherError {
    /// A day of the year that does not parse.
    #[error("`{text}` is not a day of the year: write MM-DD, from 01-01 to 12-31")]
    MonthDay {
        /// What was written.
        text: String,
    },
    /// A season that ends before it starts, or is too long.
    #[error("the season {first} to {last} has {days} days: permitted are 1 to {max} days")]
    Span {
        /// First day of the season.
        first: Date,
        /// Last day of the season.
        last: Date,
        /// Days from first to last, both counted; 0 or less when last is before first.
        days: i64,
        /// The longest season permitted, days.
        max: u32,
    },
    /// A number outside its range.
    #[error("{field} is {value}: permitted is {permitted}")]
    Range {
        /// The field, with its unit.
        field: String,
        /// The value given.
        value: f64,
        /// The range, in words.
        permitted: &'static str,
    },
    /// Workable hours that differ more than hours of a day can.
    #[error(
        "{field} is {sd_h} h: hours of a mean of {mean_h} h have a standard deviation of at most {most_h:.2} h"
    )]
    HoursSpread {
        /// The field.
        field: String,
        /// The mean, h.
        mean_h: f64,
        /// The standard deviation given, h.
        sd_h: f64,
        /// The greatest that there is, h.
        most_h: f64,
    },
    /// A series that does not have a value for each day.
    #[error("{field} has {found} values: permitted is one for each of the season's {expected} days")]
    Length {
        /// The series.
        field: String,
        /// Values given.
        found: usize,
        /// Days in the season.
        expected: usize,
    },
    /// A key that names a driver that does not exist.
    #[error("key {key} names driver {driver}: permitted are 0 to {last}", last = *.drivers as i64 - 1)]
    Driver {
        /// Index of the key.
        key: usize,
        /// Index of the driver it names.
        driver: usize,
        /// Number of drivers.
        drivers: usize,
    },
    /// A record that holds no season from its first to its last day.
    #[error(
        "the record holds no whole season: it must reach from the season's first day to its last in one year"
    )]
    NoYears,
    /// Two drivers of one name: they would draw the same luck.
    #[error("driver `{name}` is given twice: each driver has its own name")]
    DriverTwice {
        /// The name.
        name: String,
    },
    /// A table without rows.
    #[error("the table has no rows: give at least one period")]
    NoPeriods,
    /// Two periods of a table that share a day.
    #[error("periods {first} and {second} both hold {day}: a day may be in one period only")]
    PeriodOverlap {
        /// Number of the earlier row, from 1.
        first: usize,
        /// Number of the later row, from 1.
        second: usize,
        /// The first day that both hold.
        day: MonthDay,
    },
    /// An open stretch that ends before it starts.
    #[error(
        "hours rule {rule}: {open} ends before it starts; hours past midnight are a second stretch from 00:00"
    )]
    StretchOrder {
        /// Number of the rule, from 1.
        rule: usize,
        /// The stretch.
        open: crate::weather::hours::Stretch,
    },
    /// An open stretch that leaves the day.
    #[error("hours rule {rule}: {open} leaves the day; permitted is 00:00 to 24:00")]
    StretchRange {
        /// Number of the rule, from 1.
        rule: usize,
        /// The stretch.
        open: crate::weather::hours::Stretch,
    },
    /// Open stretches that overlap or are out of order.
    #[error("hours rule {rule}: {second} starts before {first} ends; give a day's stretches in order, apart")]
    StretchOverlap {
        /// Number of the rule, from 1.
        rule: usize,
        /// The earlier stretch as given.
        first: crate::weather::hours::Stretch,
        /// The stretch that overlaps it.
        second: crate::weather::hours::Stretch,
    },
    /// Too many open stretches in a day.
    #[error("hours rule {rule} has {found} stretches a day: permitted are at most {max}")]
    StretchCount {
        /// Number of the rule, from 1.
        rule: usize,
        /// Stretches given.
        found: usize,
        /// The most permitted.
        max: usize,
    },
}

/// `value` when it lies in the closed range, else an error that names `field`.
pub(crate) fn within(
    field: impl FnOnce() -> String,
    value: f64,
    range: std::ops::RangeInclusive<f64>,
    permitted: &'static str,
) -> Result<f64, WeatherError> {
    // A NaN is in no range.
    if range.contains(&value) {
        Ok(value)
    } else {
        Err(WeatherError::Range { field: field(), value, permitted })
    }
}
