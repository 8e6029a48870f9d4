//! Water vapour in the air, and the wet bulb.

use libm::{exp, pow};

/// Psychrometer coefficient, per degree: that of an aspirated instrument in the formula of the World Meteorological
/// Organization (Guide No. 8; from memory), without its rise of 0.1 % a degree.
///
/// FAO 56 has 0.000662 (eq. 16); the bulb of thermodynamics, which takes no heat but the air's, behaves as if it were
/// about 0.000645. The wet bulb here lies between the two and within 0.1 degrees of both.
pub(super) const PSYCHROMETER_PER_K: f64 = 0.000_653;

/// Pressure of saturated vapour over water, kPa, at a temperature in degrees Celsius (eq. 11).
#[must_use]
pub fn saturation_kpa(temperature_c: f64) -> f64 {
    0.6108 * exp(17.27 * temperature_c / (temperature_c + 237.3))
}

/// Slope of the curve of [`saturation_kpa`], kPa per degree (eq. 13).
pub(super) fn saturation_slope_kpa_k(temperature_c: f64) -> f64 {
    let shifted = temperature_c + 237.3;
    4098.0 * saturation_kpa(temperature_c) / (shifted * shifted)
}

/// Saturated vapour's mean pressure over a day, kPa, from its lowest and highest temperature (eq. 12).
#[must_use]
pub fn mean_saturation_kpa(tmin_c: f64, tmax_c: f64) -> f64 {
    saturation_kpa(tmin_c).midpoint(saturation_kpa(tmax_c))
}

/// Vapour pressure of a day, kPa, from its temperatures and mean relative humidity, % (eq. 19).
#[must_use]
pub fn vapour_from_mean_kpa(tmin_c: f64, tmax_c: f64, humidity_pct: f64) -> f64 {
    humidity_pct / 100.0 * mean_saturation_kpa(tmin_c, tmax_c)
}

/// Vapour pressure of a day, kPa, from its temperatures and its lowest and highest relative humidity, % (eq. 17):
/// better than from the mean, where both are known. It is most humid when it is coldest.
#[must_use]
pub fn vapour_from_range_kpa(tmin_c: f64, tmax_c: f64, humidity_min_pct: f64, humidity_max_pct: f64) -> f64 {
    let cold = saturation_kpa(tmin_c) * humidity_max_pct / 100.0;
    cold.midpoint(saturation_kpa(tmax_c) * humidity_min_pct / 100.0)
}

/// Pressure of the air at an altitude in m, kPa (eq. 7).
#[must_use]
pub fn pressure_kpa(altitude_m: f64) -> f64 {
    101.3 * pow((293.0 - 0.0065 * altitude_m) / 293.0, 5.26)
}

/// Psychrometric constant, kPa per degree, at a pressure of the air in kPa (eq. 8).
#[must_use]
pub fn psychrometric_kpa_k(pressure_kpa: f64) -> f64 {
    0.000_665 * pressure_kpa
}

/// Temperature of an aspirated wet bulb, degrees Celsius, in air of a temperature (degrees Celsius, -40 to 60), a
/// relative humidity (0 to 100 %) and a pressure (kPa, [`pressure_kpa`]).
///
/// It solves the psychrometric equation `e = e_s(t_wet) - 0.000653 * pressure * (t - t_wet)` (eq. 15 with the
/// coefficient of the World Meteorological Organization, from memory) to far less than 0.1 degrees; so near are, from
/// 20 % of humidity, the wet bulbs of FAO 56 and of thermodynamics. Below 0 the bulb is taken to be wet, not icy.
///
/// ```
/// use sim_core::weather::air::{pressure_kpa, wet_bulb_c};
/// let wet_c = wet_bulb_c(20.0, 50.0, pressure_kpa(0.0));
/// assert!((wet_c - 13.8).abs() < 0.1);
/// ```
#[must_use]
pub fn wet_bulb_c(temperature_c: f64, humidity_pct: f64, pressure_kpa: f64) -> f64 {
    let vapour = humidity_pct / 100.0 * saturation_kpa(temperature_c);
    let cooling = PSYCHROMETER_PER_K * pressure_kpa;
    let mut wet = temperature_c;
    // Newton's steps from the dry bulb: the equation rises and bends upwards, so they only fall, and never too far.
    for _ in 0..50 {
        let off = saturation_kpa(wet) - cooling * (temperature_c - wet) - vapour;
        let step = off / (saturation_slope_kpa_k(wet) + cooling);
        wet -= step;
        if step < 1e-9 {
            break;
        }
    }
    wet
}

/// Delta-T, the depression of the wet bulb in degrees: how fast droplets of a spray dry. 0 in saturated air;
/// arguments as for [`wet_bulb_c`].
///
/// ```
/// use sim_core::weather::air::{delta_t_c, pressure_kpa};
/// assert_eq!(delta_t_c(15.0, 100.0, pressure_kpa(0.0)), 0.0);
/// ```
#[must_use]
pub fn delta_t_c(temperature_c: f64, humidity_pct: f64, pressure_kpa: f64) -> f64 {
    let depression = temperature_c - wet_bulb_c(temperature_c, humidity_pct, pressure_kpa);
    // Not `max`, which would make a missing value 0.
    if depression < 0.0 { 0.0 } else { depression }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_missing_value_stays_missing() {
        assert!(delta_t_c(f64::NAN, 50.0, 101.3).is_nan());
        assert!(delta_t_c(20.0, f64::NAN, 101.3).is_nan());
    }

    proptest! {
        #[test]
        fn the_wet_bulb_solves_its_equation(t in -40.0..60.0f64, humidity in 0.0..=100.0f64, altitude in -100.0..4000.0f64) {
            let pressure = pressure_kpa(altitude);
            let wet = wet_bulb_c(t, humidity, pressure);
            let vapour = saturation_kpa(wet) - PSYCHROMETER_PER_K * pressure * (t - wet);
            prop_assert!((vapour - humidity / 100.0 * saturation_kpa(t)).abs() < 1e-6, "{}", wet);
        }

        #[test]
        fn delta_t_falls_to_nothing_as_the_air_becomes_moist(
            t in -40.0..60.0f64, humidity in 0.0..=100.0f64, more in 0.0..=100.0f64
        ) {
            let delta = delta_t_c(t, humidity, 101.3);
            prop_assert!(delta >= 0.0);
            let moister = delta_t_c(t, humidity.max(more), 101.3);
            prop_assert!(moister <= delta + 1e-7, "{} then {}", delta, moister);
            prop_assert_eq!(delta_t_c(t, 100.0, 101.3), 0.0);
        }
    }
}
