//! The course of a day: what its hours were like, from what was noted of the day as a whole. Which hours suit a kind of
//! work is judged in [`workability`](crate::weather::workability).
//!
//! The wind is about constant in the dark and rises and falls in a bow by day: so J. Gregory and others found it at
//! stations of the Great Plains (1994 and 1996, as quoted by R. Vining and J. Gregory, "Daily wind patterns"; READ there).
//! Here the bow is half a sine from 06:00 to 20:00, [`WIND_PEAK`] times the day's mean at 13:00, which leaves 0.82 times
//! it from evening to morning: at stations inland the windiest hour has 1.2 to 1.4 times the mean in summer, less in
//! winter (from memory; common practice, no source). The temperature is a cosine from the day's lowest at 03:00 to its
//! highest at 15:00 (common practice, no source). The water in the air is the same all day, so that the air is driest when
//! it is warmest.
//! On the De Bilt record 1980-2019 the humidity at 15:00 comes so to 0.9 % below the lowest noted, on average, with a root
//! mean square difference of 6 % (tests/soil_and_air.rs). A day's own gusts and lulls are not in it.

use super::vapour::{PSYCHROMETER_PER_K, pressure_kpa, saturation_kpa};
use crate::weather::record::{Quantity, Record};
use libm::{cos, sin};
use std::f64::consts::PI;
use std::sync::LazyLock;

/// Wind of the windiest moment over the day's mean.
pub const WIND_PEAK: f64 = 1.3;

/// The hours between which the wind is above that of the night.
const BREEZE_H: (f64, f64) = (6.0, 20.0);
/// The hour of the highest temperature.
const WARMEST_H: f64 = 15.0;

/// What a bulb is cooled by, kPa per degree, as in [`wet_bulb_c`](super::wet_bulb_c) at sea level.
static COOLING_KPA_K: LazyLock<f64> = LazyLock::new(|| PSYCHROMETER_PER_K * pressure_kpa(0.0));

/// Of the middle of each hour: the wind over the day's mean, and the cosine of the temperature.
struct Courses {
    wind: [f64; 24],
    temperature: [f64; 24],
}

static COURSES: LazyLock<Courses> = LazyLock::new(|| {
    let middle = |hour: usize| hour as f64 + 0.5;
    let bow: [f64; 24] = std::array::from_fn(|hour| {
        let share = (middle(hour) - BREEZE_H.0) / (BREEZE_H.1 - BREEZE_H.0);
        if (0.0..=1.0).contains(&share) { sin(share * PI) } else { 0.0 }
    });
    // night + rise = peak, and the mean over the hours is 1.
    let mean = bow.iter().sum::<f64>() / 24.0;
    let rise = (WIND_PEAK - 1.0) / (1.0 - mean);
    Courses {
        wind: bow.map(|bow| 1.0 + rise * (bow - mean)),
        temperature: std::array::from_fn(|hour| cos((middle(hour) - WARMEST_H) * PI / 12.0)),
    }
});

/// A day of a record, hour by hour; what was not noted is `NAN` in all of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayCourse {
    wind_m_s: f64,
    mean_c: f64,
    swing_c: f64,
    vapour_kpa: f64,
}

impl DayCourse {
    /// The course of a day from its mean wind in m/s, lowest and highest temperature in degrees Celsius, and mean
    /// relative humidity in %; `NAN` for what is not known.
    ///
    /// ```
    /// use sim_core::weather::air::DayCourse;
    /// let day = DayCourse::new(4.0, 6.0, 16.0, 75.0);
    /// assert!((day.wind_m_s(12) - 5.2).abs() < 0.02 && (day.wind_m_s(4) - 3.3).abs() < 0.02);
    /// assert!((day.temperature_c(14) - 16.0).abs() < 0.1 && (day.temperature_c(2) - 6.0).abs() < 0.1);
    /// assert!(day.humidity_pct(14) < 60.0 && day.humidity_pct(2) == 100.0);
    /// ```
    #[must_use]
    pub fn new(wind_m_s: f64, tmin_c: f64, tmax_c: f64, humidity_pct: f64) -> Self {
        let mean_c = tmin_c.midpoint(tmax_c);
        let vapour_kpa = humidity_pct / 100.0 * saturation_kpa(mean_c);
        Self { wind_m_s, mean_c, swing_c: (tmax_c - tmin_c) / 2.0, vapour_kpa }
    }

    /// Day `day` of a record.
    ///
    /// # Panics
    /// When the record has no such day.
    #[must_use]
    pub fn of(record: &Record, day: usize) -> Self {
        let noted = |quantity| record.of(quantity).map_or(f64::NAN, |values| values[day]);
        Self::new(
            noted(Quantity::Wind),
            noted(Quantity::TemperatureMin),
            noted(Quantity::TemperatureMax),
            noted(Quantity::HumidityMean),
        )
    }

    /// Wind in an hour (0: from midnight to 01:00), m/s, at the height of the daily mean.
    ///
    /// # Panics
    /// When the day has no such hour.
    #[must_use]
    pub fn wind_m_s(&self, hour: usize) -> f64 {
        self.wind_m_s * COURSES.wind[hour]
    }

    /// Temperature in an hour, degrees Celsius.
    ///
    /// # Panics
    /// When the day has no such hour.
    #[must_use]
    pub fn temperature_c(&self, hour: usize) -> f64 {
        self.mean_c + self.swing_c * COURSES.temperature[hour]
    }

    /// Relative humidity in an hour, %, at most 100.
    ///
    /// # Panics
    /// When the day has no such hour.
    #[must_use]
    pub fn humidity_pct(&self, hour: usize) -> f64 {
        let humidity = 100.0 * self.vapour_kpa / saturation_kpa(self.temperature_c(hour));
        // Not `min`, which would make a missing value 100.
        if humidity > 100.0 { 100.0 } else { humidity }
    }

    /// Whether delta-T in an hour lies between two values, degrees; nothing where it is not known. No wet bulb is
    /// searched: it is at least so low where the air holds at most so much water. At the pressure of sea level.
    ///
    /// # Panics
    /// When the day has no such hour.
    #[must_use]
    pub fn delta_t_within(&self, hour: usize, least_c: f64, most_c: f64) -> Option<bool> {
        let temperature_c = self.temperature_c(hour);
        if self.vapour_kpa.is_nan() || temperature_c.is_nan() {
            return None;
        }
        // The vapour with which delta-T would be `c`: the more, the less delta-T is.
        let vapour = |c: f64| saturation_kpa(temperature_c - c) - *COOLING_KPA_K * c;
        let dry_enough = least_c <= 0.0 || self.vapour_kpa <= vapour(least_c);
        Some(dry_enough && (most_c.is_infinite() || self.vapour_kpa >= vapour(most_c)))
    }
}

#[cfg(test)]
mod tests {
    use super::super::delta_t_c;
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// The hours' means are the day's: of the wind, and of the temperature half-way between lowest and highest.
        #[test]
        fn hours_keep_the_days_mean(wind in 0.0..20.0f64, low in -20.0..20.0f64, more in 0.0..20.0f64) {
            let day = DayCourse::new(wind, low, low + more, 80.0);
            let mean = |of: fn(&DayCourse, usize) -> f64| (0..24).map(|hour| of(&day, hour)).sum::<f64>() / 24.0;
            prop_assert!((mean(DayCourse::wind_m_s) - wind).abs() < 1e-9);
            prop_assert!((mean(DayCourse::temperature_c) - low - more / 2.0).abs() < 1e-9);
            prop_assert!((0..24).all(|hour| (low - 1e-9..=low + more + 1e-9).contains(&day.temperature_c(hour))));
        }

        /// The short way to delta-T says what the wet bulb says.
        #[test]
        fn delta_t_is_that_of_the_wet_bulb(
            low in -5.0..15.0f64, more in 0.0..18.0f64, humidity in 20.0..100.0f64, hour in 0usize..24,
            least in 0.5..5.0f64, width in 0.5..8.0f64,
        ) {
            let day = DayCourse::new(3.0, low, low + more, humidity);
            let delta_t = delta_t_c(day.temperature_c(hour), day.humidity_pct(hour), pressure_kpa(0.0));
            prop_assume!((delta_t - least).abs() > 1e-6 && (delta_t - least - width).abs() > 1e-6);
            let within = delta_t >= least && delta_t <= least + width;
            prop_assert_eq!(day.delta_t_within(hour, least, least + width), Some(within));
        }
    }

    #[test]
    fn what_is_not_noted_is_unknown_in_every_hour() {
        let day = DayCourse::new(f64::NAN, 1.0, 9.0, f64::NAN);
        assert!(day.wind_m_s(3).is_nan() && day.humidity_pct(3).is_nan() && day.temperature_c(3) > 1.0);
        assert_eq!(day.delta_t_within(3, 2.0, 8.0), None);
    }
}
