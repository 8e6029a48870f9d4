//! The numbers by day that a drawn weather is made from. How a sky is drawn from them is in
//! [`chain`](crate::weather::chain).

use crate::weather::error::{WeatherError, within};
use crate::weather::part_days::WorkableHours;
use crate::weather::recorded::Recorded;

/// What makes days suitable for some work classes: its persistence and how long its spells last, day by day.
#[derive(Debug, Clone, PartialEq)]
pub struct DriverSpec {
    /// Its name; its own draws are addressed by it.
    pub name: String,
    /// Chance that a day takes the shared draws, 0 (a sky apart) to 1 (the shared sky).
    pub agreement: f64,
    /// For each day the chance that it keeps yesterday's `w`, 0 to 1 (the first day's is not used).
    pub rho: Vec<f64>,
    /// For each day the chance that it keeps yesterday's `q`, 0 to 1; see [`kappa`]. 1: one `q` a season.
    pub kappa: Vec<f64>,
}

impl DriverSpec {
    /// A driver whose `days` days are all alike.
    #[must_use]
    pub fn alike(name: &str, agreement: f64, rho: f64, kappa: f64, days: usize) -> Self {
        Self { name: name.to_owned(), agreement, rho: vec![rho; days], kappa: vec![kappa; days] }
    }
}

/// A key: a work class on a soil, whose name is the caller's business.
#[derive(Debug, Clone, PartialEq)]
pub struct KeySpec {
    /// Index of its driver.
    pub driver: usize,
    /// For each day the chance that it is suitable, 0 to 1; see [`daily_means`](crate::weather::daily_means).
    pub p: Vec<f64>,
    /// For each day the spread: variance of the day's chance over `p (1 - p)`, 0 to 0.99. Keys of one driver whose
    /// spreads differ need not be nested; see [`chain`](crate::weather::chain).
    pub phi: Vec<f64>,
    /// For each day the chance that the land is shut, 0 to 1, whatever the day is like; one draw a season decides, see
    /// [`daily_rises`](crate::weather::daily_rises). `p` counts these days too. `None` = land that never shuts.
    pub shut: Option<Vec<f64>>,
    /// The workable hours of its suitable days; `None` = all of each.
    pub hours: Option<WorkableHours>,
}

impl KeySpec {
    /// A key whose `days` days are all alike, and whole.
    #[must_use]
    pub fn alike(driver: usize, p: f64, phi: f64, days: usize) -> Self {
        Self { driver, p: vec![p; days], phi: vec![phi; days], shut: None, hours: None }
    }
}

/// The weather of a season as numbers by day.
#[derive(Debug, Clone, PartialEq)]
pub struct WeatherSpec {
    /// Number of days, at least 1.
    pub span_days: usize,
    /// The drivers.
    pub drivers: Vec<DriverSpec>,
    /// The keys.
    pub keys: Vec<KeySpec>,
    /// Recorded years that take the place of drawn days; the keys' chances are then only what may be expected.
    pub recorded: Option<Recorded>,
}

/// The chance that a day keeps yesterday's spell when spells last `spread_days` days on average (at least 1):
/// `1 - 1 / spread_days`. Infinity is one spell a season.
///
/// # Errors
/// When `spread_days` is below 1.
pub fn kappa(spread_days: f64) -> Result<f64, WeatherError> {
    within(|| "spread_days".into(), spread_days, 1.0..=f64::INFINITY, "1 or more")?;
    Ok(1.0 - 1.0 / spread_days)
}

/// Checks that `values` has one value a day, each in its range.
pub(crate) fn check_series(
    field: impl Fn() -> String,
    values: &[f64],
    days: usize,
    range: std::ops::RangeInclusive<f64>,
    permitted: &'static str,
) -> Result<(), WeatherError> {
    if values.len() != days {
        return Err(WeatherError::Length { field: field(), found: values.len(), expected: days });
    }
    for (day, value) in values.iter().enumerate() {
        within(|| format!("{} on day {day}", field()), *value, range.clone(), permitted)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spells_last_as_said() {
        assert_eq!(kappa(f64::INFINITY), Ok(1.0));
        assert_eq!(kappa(1.0), Ok(0.0));
        assert_eq!(kappa(20.0), Ok(0.95));
        assert_eq!(kappa(0.5).unwrap_err().to_string(), "spread_days is 0.5: permitted is 1 or more");
    }
}
