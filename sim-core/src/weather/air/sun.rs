//! The sun by the day of the year: what it sends to the top of the air, how long it is up, and what sunshine hours
//! tell of the radiation at the ground. Sunrise on the clock is in [`daylight()`](crate::weather::daylight()).

use jiff::civil::Date;
use libm::{acos, cos, sin, tan};
use std::f64::consts::{PI, TAU};

/// Radiation on a plane that faces the sun outside the air, MJ/m2 a minute (eq. 21).
const SOLAR_CONSTANT: f64 = 0.0820;

/// The sun of a day as the paper has it: the same on the same day of every year.
struct Sun {
    /// Relative nearness of the earth to the sun (eq. 23).
    nearness: f64,
    declination_rad: f64,
    /// Hour angle of sunset: 0 in polar night, pi in polar day (eq. 25).
    sunset_rad: f64,
}

impl Sun {
    fn at(latitude_deg: f64, date: Date) -> Self {
        let year_rad = TAU / 365.0 * f64::from(date.day_of_year());
        let declination_rad = 0.409 * sin(year_rad - 1.39);
        let cos_sunset = -tan(latitude_deg.to_radians()) * tan(declination_rad);
        Self {
            nearness: 1.0 + 0.033 * cos(year_rad),
            declination_rad,
            sunset_rad: acos(cos_sunset.clamp(-1.0, 1.0)),
        }
    }
}

/// Radiation of a day on the level at the top of the air, MJ/m2, at a latitude in degrees, north positive (eq. 21).
///
/// ```
/// use sim_core::weather::air::extraterrestrial_mj_m2;
/// // FAO 56, example 8.
/// let found = extraterrestrial_mj_m2(-20.0, jiff::civil::date(2025, 9, 3));
/// assert!((found - 32.2).abs() < 0.05);
/// ```
#[must_use]
pub fn extraterrestrial_mj_m2(latitude_deg: f64, date: Date) -> f64 {
    let sun = Sun::at(latitude_deg, date);
    let latitude = latitude_deg.to_radians();
    let upright = sun.sunset_rad * sin(latitude) * sin(sun.declination_rad);
    let slanting = cos(latitude) * cos(sun.declination_rad) * sin(sun.sunset_rad);
    (24.0 * 60.0 / PI * SOLAR_CONSTANT * sun.nearness * (upright + slanting)).max(0.0)
}

/// Hours that the sun's centre is above the level horizon, at a latitude in degrees, north positive (eq. 34).
///
/// Shorter than from sunrise to sunset, which count the sun's upper edge and the bending of its light: by 7 minutes at
/// the equator, 11 or more at 52 degrees. The paper's formulas were made for this one.
#[must_use]
pub fn day_length_h(latitude_deg: f64, date: Date) -> f64 {
    24.0 / PI * Sun::at(latitude_deg, date).sunset_rad
}

/// Global radiation of a day, MJ/m2, from its hours of bright sunshine (Angstrom's formula, eq. 35, with 0.25 and 0.50
/// as the paper advises where no local figures are known).
#[must_use]
pub fn radiation_from_sunshine_mj_m2(latitude_deg: f64, date: Date, sunshine_h: f64) -> f64 {
    let day_h = day_length_h(latitude_deg, date);
    // A recorder may outlast the level horizon's day by minutes. `clamp` keeps a missing value missing.
    let share = if day_h > 0.0 { (sunshine_h / day_h).clamp(0.0, 1.0) } else { 0.0 * sunshine_h };
    (0.25 + 0.50 * share) * extraterrestrial_mj_m2(latitude_deg, date)
}

/// Global radiation of a day without a cloud, MJ/m2 (eq. 37).
pub(super) fn clear_sky_mj_m2(extraterrestrial_mj_m2: f64, altitude_m: f64) -> f64 {
    (0.75 + 2e-5 * altitude_m) * extraterrestrial_mj_m2
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn the_poles_have_their_day_and_their_night() {
        for latitude in [80.0, 90.0] {
            for (day, north_h) in [(date(2025, 6, 21), 24.0), (date(2025, 12, 21), 0.0)] {
                assert_eq!(day_length_h(latitude, day), north_h);
                assert_eq!(day_length_h(-latitude, day), 24.0 - north_h);
                let (north, south) =
                    (extraterrestrial_mj_m2(latitude, day), extraterrestrial_mj_m2(-latitude, day));
                assert!(if north_h > 0.0 {
                    north > 40.0 && south == 0.0
                } else {
                    north == 0.0 && south > 40.0
                });
            }
        }
        assert_eq!(radiation_from_sunshine_mj_m2(80.0, date(2025, 12, 21), 0.0), 0.0);
    }

    #[test]
    fn sunshine_tells_between_a_quarter_and_three_quarters_of_the_suns_radiation() {
        let (latitude, day) = (52.0, date(2025, 5, 1));
        let all = extraterrestrial_mj_m2(latitude, day);
        let share = |sunshine_h| radiation_from_sunshine_mj_m2(latitude, day, sunshine_h) / all;
        assert!((share(0.0) - 0.25).abs() < 1e-12 && (share(24.0) - 0.75).abs() < 1e-12);
        assert!(share(5.0) > share(4.0));
        assert!(share(f64::NAN).is_nan());
    }
}
