//! What follows from a day's air and sun: radiation, vapour, wind at another height, the depression of the wet bulb,
//! reference evapotranspiration ([`reference_et`]), and what the hours of a day were like ([`DayCourse`]). Which of it stops which work is not decided here, nor what the
//! soil does with it.
//!
//! Equations named by number are those of FAO Irrigation and Drainage Paper 56 (R. G. Allen, L. S. Pereira, D. Raes and
//! M. Smith, 1998, "Crop evapotranspiration"). Days are days as the record has them, at local time.

mod course;
mod evaporation;
mod reference;
mod sun;
mod vapour;
mod wind;

pub use course::{DayCourse, WIND_PEAK};
pub use evaporation::{PenmanMonteith, hargreaves_mm, makkink_mm};
pub use reference::{EtError, EtMethod, ReferenceEt, Station, reference_et};
pub use sun::{day_length_h, extraterrestrial_mj_m2, radiation_from_sunshine_mj_m2};
pub use vapour::{
    delta_t_c, mean_saturation_kpa, pressure_kpa, psychrometric_kpa_k, saturation_kpa, vapour_from_mean_kpa,
    vapour_from_range_kpa, wet_bulb_c,
};
pub use wind::wind_at_2m_m_s;
