//! Sunrise and sunset on the local clock. Which work needs daylight is not decided here.

use crate::weather::calendar::days_between;
use crate::weather::error::{WeatherError, within};
use jiff::civil::Date;
use libm::{acos, asin, cos, sin, tan};
use std::f64::consts::{PI, TAU};

/// Where the farm is and what its clocks show.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Site {
    latitude_deg: f64,
    longitude_deg: f64,
    utc_offset_h: f64,
    summer_time: bool,
}

impl Site {
    /// A site at `latitude_deg` (north positive) and `longitude_deg` (east positive), whose winter clock is
    /// `utc_offset_h` hours ahead of UTC; with `summer_time` the clock is an hour further ahead from the
    /// last Sunday of March to the last Sunday of October (European Union, Directive 2000/84/EC).
    ///
    /// # Errors
    /// When a value is outside its range.
    pub fn new(
        latitude_deg: f64,
        longitude_deg: f64,
        utc_offset_h: f64,
        summer_time: bool,
    ) -> Result<Self, WeatherError> {
        Ok(Self {
            latitude_deg: within(|| "latitude_deg".into(), latitude_deg, -90.0..=90.0, "-90 to 90")?,
            longitude_deg: within(|| "longitude_deg".into(), longitude_deg, -180.0..=180.0, "-180 to 180")?,
            utc_offset_h: within(|| "utc_offset_h".into(), utc_offset_h, -12.0..=14.0, "-12 to 14")?,
            summer_time,
        })
    }

    /// Hours that the clock is ahead of UTC at noon of `date`.
    fn clock_ahead_h(&self, date: Date) -> f64 {
        self.utc_offset_h + if self.summer_time && is_summer_time(date) { 1.0 } else { 0.0 }
    }

    /// Degrees north.
    #[must_use]
    pub fn latitude_deg(&self) -> f64 {
        self.latitude_deg
    }
}

/// Whether noon of `date` is in European summer time.
fn is_summer_time(date: Date) -> bool {
    // Sundays up to and with this date's, in the month: the last Sunday is the one within 7 days of the 31st.
    let since_sunday = i32::from(date.weekday().to_sunday_zero_offset());
    let last_sunday_passed = i32::from(date.day()) - since_sunday + 7 > 31;
    match date.month() {
        4..=9 => true,
        3 => last_sunday_passed,
        10 => !last_sunday_passed,
        _ => false,
    }
}

/// Zenith of the sun's centre at sunrise and sunset, degrees: 90, refraction of 34' and the sun's radius of 16'.
const SUNRISE_ZENITH_DEG: f64 = 90.833;

const DAY_S: i64 = 86_400;

/// Sunrise and sunset at `site` on `date`, seconds of the day on the local clock.
///
/// In polar day that is (0, 86 400), in polar night (43 200, 43 200): an empty day. A sun that rises before
/// midnight of the clock is cut to the day. Errors are seconds at middle latitudes; hills, weather and height are
/// not known to it.
///
/// Source: the sunrise equation and the sun's place as in NOAA's solar calculator, after Meeus, "Astronomical
/// algorithms" (coefficients from memory, checked against a reference library in the tests).
///
/// ```
/// use jiff::civil::date;
/// use sim_core::weather::{Site, daylight};
/// let site = Site::new(52.0, 0.0, 0.0, true).unwrap();
/// let (sunrise_s, sunset_s) = daylight(&site, date(2026, 6, 21));
/// assert_eq!(sunrise_s / 3600, 4);
/// assert_eq!(sunset_s / 3600, 21);
/// ```
#[must_use]
pub fn daylight(site: &Site, date: Date) -> (i64, i64) {
    let half_day = |sun: &Sun| half_day_rad(site.latitude_deg, sun.declination_rad, SUNRISE_ZENITH_DEG);
    let noon_s = |sun: &Sun| 43_200.0 - 240.0 * site.longitude_deg - 60.0 * sun.equation_of_time_min;
    let noon_sun = Sun::at(date, 43_200.0 - 240.0 * site.longitude_deg);
    match half_day(&noon_sun) {
        half if half <= 0.0 => (DAY_S / 2, DAY_S / 2),
        half if half >= PI => (0, DAY_S),
        _ => {
            // The sun moves between noon and its setting: a second pass takes its place at the first's time.
            let event_s = |side: f64| {
                let time_s = |sun: &Sun| noon_s(sun) + side * half_day(sun) / TAU * 86_400.0;
                time_s(&Sun::at(date, time_s(&noon_sun))) + 3_600.0 * site.clock_ahead_h(date)
            };
            let clock = |s: f64| (s.round() as i64).clamp(0, DAY_S);
            (clock(event_s(-1.0)), clock(event_s(1.0)))
        }
    }
}

/// The sun's place at an instant.
struct Sun {
    equation_of_time_min: f64,
    declination_rad: f64,
}

impl Sun {
    /// At `utc_s` seconds after 00:00 UTC of `date`.
    fn at(date: Date, utc_s: f64) -> Self {
        // Centuries since noon of 1 January 2000.
        let days = f64::from(days_between(Date::constant(2000, 1, 1), date)) + (utc_s - 43_200.0) / 86_400.0;
        let t = days / 36_525.0;
        let mean_longitude = (280.466_46 + t * (36_000.769_83 + t * 0.000_303_2)).to_radians();
        let anomaly = (357.529_11 + t * (35_999.050_29 - t * 0.000_153_7)).to_radians();
        let eccentricity = 0.016_708_634 - t * 0.000_042_037;
        let centre_deg = (1.914_602 - t * 0.004_817) * sin(anomaly)
            + (0.019_993 - t * 0.000_101) * sin(2.0 * anomaly)
            + 0.000_289 * sin(3.0 * anomaly);
        let node = (125.04 - 1_934.136 * t).to_radians();
        let longitude = mean_longitude + (centre_deg - 0.005_69 - 0.004_78 * sin(node)).to_radians();
        let tilt = (23.439_291 - 0.013_004_2 * t + 0.002_56 * cos(node)).to_radians();
        let y = tan(tilt / 2.0) * tan(tilt / 2.0);
        let equation_of_time_rad = y * sin(2.0 * mean_longitude) - 2.0 * eccentricity * sin(anomaly)
            + 4.0 * eccentricity * y * sin(anomaly) * cos(2.0 * mean_longitude)
            - 0.5 * y * y * sin(4.0 * mean_longitude)
            - 1.25 * eccentricity * eccentricity * sin(2.0 * anomaly);
        Self {
            // A degree is four minutes.
            equation_of_time_min: 4.0 * equation_of_time_rad.to_degrees(),
            declination_rad: asin(sin(tilt) * sin(longitude)),
        }
    }
}

/// Half the day as an hour angle: 0 when the sun does not rise, pi when it does not set.
fn half_day_rad(latitude_deg: f64, declination_rad: f64, zenith_deg: f64) -> f64 {
    // At the pole itself the tangent is some 1e16 and the limits below hold.
    let latitude = latitude_deg.to_radians();
    let cos_hour = cos(zenith_deg.to_radians()) / (cos(latitude) * cos(declination_rad))
        - tan(latitude) * tan(declination_rad);
    acos(cos_hour.clamp(-1.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    /// FAO Irrigation and Drainage Paper 56, Example 9: 11.7 h at 20 degrees south on 3 September (day 246),
    /// counted from horizon to horizon (zenith 90) with that paper's declination, equation 24.
    #[test]
    fn day_length_of_fao_56_example_9() {
        let declination_rad = 0.409 * sin(TAU / 365.0 * 246.0 - 1.39);
        let fao_h = half_day_rad(-20.0, declination_rad, 90.0) / PI * 24.0;
        assert!((fao_h - 11.7).abs() < 0.05, "{fao_h}");
        // The declination used here is nearer the sun's: it gives 11.62 h, three minutes less.
        let sun = Sun::at(date(2025, 9, 3), 43_200.0);
        let ours_h = half_day_rad(-20.0, sun.declination_rad, 90.0) / PI * 24.0;
        assert!((ours_h - fao_h).abs() < 0.06, "{ours_h} against {fao_h}");
    }

    /// Against the library `astral` 3.2 (PyPI) at the same zenith of 90.833 degrees without a refraction of its
    /// own (its default zenith, some 0.04 degrees less, makes days 20 to 45 s shorter at 52 degrees).
    #[test]
    fn sun_times_agree_with_a_reference_library() {
        for (latitude, longitude, offset, day, rise_s, set_s) in [
            (52.0, 0.0, 0.0, date(2026, 1, 15), 28_866, 58_688),
            (52.0, 0.0, 0.0, date(2026, 3, 20), 21_769, 65_584),
            (52.0, 0.0, 0.0, date(2026, 6, 21), 13_186, 73_432),
            (53.4, -6.3, 0.0, date(2026, 9, 3), 20_273, 69_004),
            (53.4, -6.3, 0.0, date(2026, 12, 21), 31_118, 58_075),
            (35.0, -100.0, -6.0, date(2026, 6, 21), 19_587, 71_837),
            (-20.0, 30.0, 2.0, date(2026, 9, 3), 22_018, 64_325),
            (-45.0, 170.0, 12.0, date(2026, 12, 21), 17_352, 73_589),
            (0.0, 0.0, 0.0, date(2026, 3, 20), 21_850, 65_441),
            (60.0, 25.0, 2.0, date(2026, 6, 21), 10_544, 78_472),
            (65.5, 20.0, 1.0, date(2026, 12, 21), 36_103, 47_661),
        ] {
            let site = Site::new(latitude, longitude, offset, false).unwrap();
            let (sunrise_s, sunset_s) = daylight(&site, day);
            let off_s = (sunrise_s - rise_s).abs().max((sunset_s - set_s).abs());
            assert!(off_s <= 5, "{latitude} {day}: {sunrise_s} {sunset_s}, off by {off_s} s");
        }
    }

    #[test]
    fn summer_time_runs_from_the_last_sunday_of_march_to_that_of_october() {
        // 2024: 31 March and 27 October; 2026: 29 March and 25 October.
        for (day, want) in [
            (date(2024, 3, 30), false),
            (date(2024, 3, 31), true),
            (date(2024, 10, 26), true),
            (date(2024, 10, 27), false),
            (date(2026, 3, 28), false),
            (date(2026, 3, 29), true),
            (date(2026, 7, 1), true),
            (date(2026, 10, 24), true),
            (date(2026, 10, 25), false),
            (date(2026, 10, 31), false),
            (date(2026, 12, 25), false),
        ] {
            assert_eq!(is_summer_time(day), want, "{day}");
        }
    }

    #[test]
    fn the_polar_day_is_open_and_the_polar_night_closed() {
        for latitude in [80.0, 90.0] {
            let north = Site::new(latitude, 15.0, 1.0, false).unwrap();
            assert_eq!(daylight(&north, date(2026, 6, 21)), (0, 86_400));
            assert_eq!(daylight(&north, date(2026, 12, 21)), (43_200, 43_200));
            let south = Site::new(-latitude, 15.0, 1.0, false).unwrap();
            assert_eq!(daylight(&south, date(2026, 6, 21)), (43_200, 43_200));
            assert_eq!(daylight(&south, date(2026, 12, 21)), (0, 86_400));
        }
    }

    #[test]
    fn an_impossible_site_is_refused() {
        let error = Site::new(91.0, 0.0, 0.0, false).unwrap_err();
        assert_eq!(error.to_string(), "latitude_deg is 91: permitted is -90 to 90");
        assert!(Site::new(0.0, f64::NAN, 0.0, false).is_err());
        assert!(Site::new(0.0, 0.0, 15.0, false).is_err());
    }
}
