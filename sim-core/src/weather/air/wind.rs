//! Wind at another height than the anemometer's.

use libm::log;

/// Wind speed at 2 m above short grass, m/s, from that at `height_m`, which must be above 0.1 m (eq. 47, a logarithmic
/// law). From 10 m it is 0.748 of the wind there.
///
/// ```
/// assert!((sim_core::weather::air::wind_at_2m_m_s(1.0, 10.0) - 0.748).abs() < 5e-4);
/// ```
#[must_use]
pub fn wind_at_2m_m_s(wind_m_s: f64, height_m: f64) -> f64 {
    wind_m_s * 4.87 / log(67.8 * height_m - 5.42)
}
