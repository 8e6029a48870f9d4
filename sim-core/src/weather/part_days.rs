//! Workable hours of suitable days: drawn from mean and standard deviation, a day of a driver at a time. Which days are
//! suitable is not here, nor which part of a clock a short day leaves.
//!
//! The hours are Beta on 0 to 24 h. A day of a driver has one uniform, addressed by (seed, season, driver, day), so that
//! a day that is short of its usual hours for one kind of work and soil is so for all of the driver. The uniform is cut
//! into 256 equal bins, and a bin's hours are the mean of the Beta's quantiles over it, to the whole minute: the
//! mean stays within half a minute, and from day to day hours hang together only through suitable days.

use crate::kernel::draw::{Stream, name_hash};
use crate::weather::error::WeatherError;
use crate::weather::sky::{Sky, WHOLE_DAY_MIN, WORD_DAYS};
use crate::weather::spec::{DriverSpec, KeySpec, check_series};
use crate::weather::spread::{BINS, quantile_means};

/// Hours in a day.
const DAY_H: f64 = 24.0;

/// The widest Beta that is drawn: variance over that of a day with either all 24 hours or none.
const WIDEST: f64 = 0.99;

/// The workable hours of a key's suitable days.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkableHours {
    /// For each day the mean in h, above 0 to 24.
    pub mean_h: Vec<f64>,
    /// For each day the standard deviation in h, at most [`greatest_sd_h`]; 0: always the mean.
    pub sd_h: Vec<f64>,
}

/// The greatest standard deviation, in h, that workable hours of a mean (0 to 24 h) can have: a little less than that of
/// days with either all 24 hours or none.
///
/// ```
/// use sim_core::weather::greatest_sd_h;
/// assert!((greatest_sd_h(12.0) - 11.94).abs() < 0.01);
/// assert_eq!(greatest_sd_h(24.0), 0.0);
/// ```
#[must_use]
pub fn greatest_sd_h(mean_h: f64) -> f64 {
    (WIDEST * mean_h * (DAY_H - mean_h)).max(0.0).sqrt()
}

impl WorkableHours {
    /// Hours whose `days` days are all alike.
    #[must_use]
    pub fn alike(mean_h: f64, sd_h: f64, days: usize) -> Self {
        Self { mean_h: vec![mean_h; days], sd_h: vec![sd_h; days] }
    }

    fn check(&self, key: usize, days: usize) -> Result<(), WeatherError> {
        let field = |what: &str| format!("key {key}: {what}");
        let above_zero = f64::MIN_POSITIVE..=DAY_H;
        check_series(|| field("mean_h"), &self.mean_h, days, above_zero, "above 0 to 24 h")?;
        check_series(|| field("sd_h"), &self.sd_h, days, 0.0..=DAY_H, "0 to 24 h")?;
        for (day, (&mean_h, &sd_h)) in self.mean_h.iter().zip(&self.sd_h).enumerate() {
            if sd_h > greatest_sd_h(mean_h) {
                let field = format!("{} on day {day}", field("sd_h"));
                let most_h = greatest_sd_h(mean_h);
                return Err(WeatherError::HoursSpread { field, mean_h, sd_h, most_h });
            }
        }
        Ok(())
    }
}

/// A key's hours as they are drawn: equally likely minutes, by day.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct HoursTable {
    columns: Vec<[u16; BINS]>,
    /// For each day its column.
    of_day: Vec<u32>,
}

impl HoursTable {
    /// Makes one column for each different mean and standard deviation: a tenth of a millisecond each.
    pub(crate) fn new(hours: &WorkableHours) -> Self {
        let mut known: Vec<(f64, f64)> = Vec::new();
        let mut columns = Vec::new();
        let column = |(&mean_h, &sd_h): (&f64, &f64)| {
            let place = known.iter().position(|have| *have == (mean_h, sd_h)).unwrap_or_else(|| {
                known.push((mean_h, sd_h));
                columns.push(minutes(mean_h, sd_h));
                known.len() - 1
            });
            place as u32
        };
        let of_day = hours.mean_h.iter().zip(&hours.sd_h).map(column).collect();
        Self { columns, of_day }
    }

    /// Which column a day has: days of one column are alike.
    pub(crate) fn column(&self, day: usize) -> usize {
        self.of_day[day] as usize
    }

    /// The equally likely minutes of a column, ascending.
    pub(crate) fn minutes(&self, column: usize) -> &[u16; BINS] {
        &self.columns[column]
    }
}

/// Minutes for each bin of the uniform.
fn minutes(mean_h: f64, sd_h: f64) -> [u16; BINS] {
    let share = mean_h / DAY_H;
    let mut means = [share; BINS];
    if share > 0.0 && share < 1.0 {
        let phi = (sd_h * sd_h / (mean_h * (DAY_H - mean_h))).min(WIDEST);
        quantile_means(share, phi, &mut means);
    }
    means.map(|share| (share * f64::from(WHOLE_DAY_MIN)).round() as u16)
}

/// The hours of all keys that have some, as a season draws them.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct PartDays {
    drivers: Vec<(u64, Vec<(usize, HoursTable)>)>,
}

impl PartDays {
    /// The hours of those of `keys` that are `wanted`; nothing if none has hours.
    pub(crate) fn new(
        drivers: &[DriverSpec],
        keys: &[KeySpec],
        days: usize,
        wanted: impl Fn(usize) -> bool,
    ) -> Result<Option<Self>, WeatherError> {
        let purpose = |driver: &DriverSpec| name_hash(&format!("weather driver {}: hours", driver.name));
        let mut all: Vec<(u64, Vec<_>)> = drivers.iter().map(|of| (purpose(of), Vec::new())).collect();
        for (index, key) in keys.iter().enumerate().filter(|(index, _)| wanted(*index)) {
            let Some(hours) = &key.hours else { continue };
            hours.check(index, days)?;
            let Some((_, keys)) = all.get_mut(key.driver) else {
                return Err(WeatherError::Driver { key: index, driver: key.driver, drivers: drivers.len() });
            };
            keys.push((index, HoursTable::new(hours)));
        }
        all.retain(|(_, keys)| !keys.is_empty());
        Ok((!all.is_empty()).then_some(Self { drivers: all }))
    }

    /// Draws the hours of season `season` under `seed` into a sky that has its suitable days. Nothing is allocated when
    /// the sky has held one like it.
    pub(crate) fn draw(&self, seed: u64, season: u64, sky: &mut Sky) {
        for (purpose, keys) in &self.drivers {
            for (key, _) in keys {
                sky.give_hours(*key);
            }
            let stream = Stream::new(seed, season, *purpose);
            for first in (0..sky.days()).step_by(WORD_DAYS) {
                let bins: [u8; WORD_DAYS] =
                    std::array::from_fn(|day| (stream.bits((first + day) as u64) >> 56) as u8);
                for (key, table) in keys {
                    sky.set_hours(*key, first, |day| {
                        table.minutes(table.column(day))[bins[day - first] as usize]
                    });
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weather::{Chain, WeatherSpec};
    use proptest::prelude::*;

    const DAYS: usize = 365;

    fn spec(hours: &[Option<(f64, f64)>]) -> WeatherSpec {
        let key = |hours: &Option<(f64, f64)>| {
            let mut key = KeySpec::alike(0, 0.6, 0.2, DAYS);
            key.hours = hours.map(|(mean_h, sd_h)| WorkableHours::alike(mean_h, sd_h, DAYS));
            key
        };
        WeatherSpec {
            span_days: DAYS,
            drivers: vec![DriverSpec::alike("soil", 1.0, 0.4, 0.8, DAYS)],
            keys: hours.iter().map(key).collect(),
            recorded: None,
        }
    }

    fn drawn(spec: &WeatherSpec, season: u64) -> Sky {
        let mut sky = Sky::default();
        Chain::new(spec).unwrap().draw(7, season, &mut sky);
        sky
    }

    #[test]
    fn drawn_hours_have_their_mean_and_spread() {
        for (mean_h, sd_h) in [(6.0, 2.0), (3.0, 2.5), (12.0, 6.0), (20.0, 3.0), (8.0, 0.0), (23.5, 0.5)] {
            let chain = Chain::new(&spec(&[Some((mean_h, sd_h))])).unwrap();
            let mut sky = Sky::default();
            let mut hours: Vec<f64> = Vec::new();
            for season in 0..200 {
                chain.draw(3, season, &mut sky);
                // Drawn for every day, suitable or not.
                hours.extend((0..DAYS).map(|day| f64::from(sky.minutes(0, day).unwrap()) / 60.0));
            }
            let n = hours.len() as f64;
            let mean = hours.iter().sum::<f64>() / n;
            let moment = |power: i32| hours.iter().map(|h| (h - mean).powi(power)).sum::<f64>() / n;
            let sd = moment(2).sqrt();
            // Four standard errors, half a minute for the rounding of mean and spread each.
            let half_minute = 0.5 / 60.0;
            assert!((mean - mean_h).abs() <= 4.0 * sd_h / n.sqrt() + half_minute, "{mean} for {mean_h}");
            let error =
                if sd_h > 0.0 { ((moment(4) - moment(2).powi(2)) / n).sqrt() / (2.0 * sd) } else { 0.0 };
            assert!((sd - sd_h).abs() <= 4.0 * error + half_minute, "{sd} for {sd_h}");
        }
    }

    /// Hours belong to the day of the driver: a better day is better for all keys of it, whatever their means.
    #[test]
    fn keys_of_a_driver_are_comonotone() {
        let sky = drawn(&spec(&[Some((6.0, 2.0)), None, Some((12.0, 6.0)), Some((3.0, 2.5))]), 5);
        let mut days: Vec<usize> = (0..DAYS).collect();
        days.sort_by_key(|day| [0, 2, 3].map(|key| sky.minutes(key, *day)));
        for key in [0, 2, 3] {
            assert!(days.is_sorted_by_key(|day| sky.minutes(key, *day)), "key {key}");
        }
        assert!(sky.minutes(1, 0).is_none());
    }

    /// Two drivers have good and bad days of their own.
    #[test]
    fn drivers_have_hours_of_their_own() {
        let mut two = spec(&[Some((8.0, 3.0)), Some((8.0, 3.0))]);
        two.drivers.push(DriverSpec::alike("wind", 1.0, 0.4, 0.8, DAYS));
        two.keys[1].driver = 1;
        let sky = drawn(&two, 5);
        let alike = (0..DAYS).filter(|day| sky.minutes(0, *day) == sky.minutes(1, *day)).count();
        assert!(alike < 20, "{alike} of {DAYS} days alike");
    }

    proptest! {
        /// Hours change no suitable day but one without any, and no other key's days or hours.
        #[test]
        fn hours_leave_the_rest_of_the_sky_alone(season in 0u64..1_000, mean_h in 0.1f64..23.9, part in 0.0f64..1.0) {
            let hours = (mean_h, part * greatest_sd_h(mean_h));
            let (plain, alone) = (drawn(&spec(&[None, None]), season), drawn(&spec(&[None, Some(hours)]), season));
            let both = drawn(&spec(&[Some((9.0, 4.0)), Some(hours)]), season);
            prop_assert!(!plain.has_hours());
            for day in 0..DAYS {
                prop_assert_eq!(plain.suitable(0, day), alone.suitable(0, day));
                let minutes = alone.minutes(1, day).unwrap();
                prop_assert_eq!(alone.suitable(1, day), plain.suitable(1, day) && minutes > 0);
                prop_assert_eq!(both.minutes(1, day), Some(minutes));
            }
        }
    }

    #[test]
    fn a_spread_that_no_hours_have_is_refused() {
        let error = |mean_h, sd_h| Chain::new(&spec(&[None, Some((mean_h, sd_h))])).unwrap_err().to_string();
        assert_eq!(
            error(6.0, 11.0),
            "key 1: sd_h on day 0 is 11 h: hours of a mean of 6 h have a standard deviation of at most 10.34 h"
        );
        assert_eq!(error(0.0, 0.0), "key 1: mean_h on day 0 is 0: permitted is above 0 to 24 h");
        assert_eq!(error(25.0, 0.0), "key 1: mean_h on day 0 is 25: permitted is above 0 to 24 h");
    }
}
