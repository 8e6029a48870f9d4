//! The permitted ranges of the numbers of a farm, by the part that has them: one table for the check, its messages, and
//! whoever explains the keys. The upper bounds are wide: they catch a wrong unit, not a big farm.
//!
//! What numbers must be together is not here, nor what the weather asks of its own.

/// A number's permitted range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// What has it, named as in the part's specification; two names are separated by " or ".
    pub what: &'static str,
    /// The least, in the unit of the name.
    pub least: f64,
    /// The most, in the unit of the name.
    pub most: f64,
    /// Whether `least` itself is refused.
    pub open: bool,
    /// The range in words, with its unit, as in "give a value that is ...".
    pub words: &'static str,
}

impl Range {
    /// Whether a number lies in it.
    #[must_use]
    pub fn holds(&self, value: f64) -> bool {
        let low = if self.open { value > self.least } else { value >= self.least };
        low && value <= self.most
    }

    /// Whether it is that of this name.
    #[must_use]
    pub fn is_of(&self, name: &str) -> bool {
        self.what.split(" or ").any(|what| what == name)
    }
}

const fn between(what: &'static str, least: f64, most: f64, words: &'static str) -> Range {
    Range { what, least, most, open: false, words }
}

const fn above_zero(what: &'static str, most: f64, words: &'static str) -> Range {
    Range { what, least: 0.0, most, open: true, words }
}

const fn from_zero(what: &'static str, most: f64, words: &'static str) -> Range {
    between(what, 0.0, most, words)
}

/// The numbers of a row of suitable days.
pub const SUITABLE: &[Range] = &[P_SUITABLE, P_SHUT, OWN_SPREAD, HOURS_MEAN, HOURS_SD];
pub(super) const P_SUITABLE: Range = from_zero("p_suitable", 1.0, "between 0 and 1");
pub(super) const P_SHUT: Range = from_zero("p_shut", 1.0, "between 0 and what p_suitable leaves of 1");
// Beyond this the weather has no table.
pub(super) const OWN_SPREAD: Range = from_zero("spread", 0.99, "between 0 and 0.99");
pub(super) const HOURS_MEAN: Range = above_zero("hours_mean", 24.0, "above 0 and at most 24 h");
pub(super) const HOURS_SD: Range = from_zero("hours_sd", 24.0, "0 h or more");

/// The numbers of a driver.
pub const DRIVER: &[Range] = &[PERSISTENCE, SPREAD, AGREEMENT, SPREAD_DAYS];
pub(super) const PERSISTENCE: Range = from_zero("persistence", 0.999, "between 0 and 0.999");
pub(super) const SPREAD: Range = from_zero("spread", 0.99, "between 0 and 0.99");
pub(super) const AGREEMENT: Range = from_zero("agreement", 1.0, "between 0 and 1");
pub(super) const SPREAD_DAYS: Range = between("spread_days", 1.0, 1e6, "at least 1 day, or \"year\"");

/// The numbers of a stage of growth.
pub const STAGE: &[Range] = &[BASE_C, SD_DAYS];
pub(super) const BASE_C: Range = between("base_c", -20.0, 40.0, "from -20 to 40 degrees C");
pub(super) const SD_DAYS: Range = from_zero("sd_days", 30.0, "from 0 to 30 days");

/// The numbers of a field.
pub const FIELD: &[Range] = &[AREA_HA, DISTANCE_KM];
pub(super) const AREA_HA: Range = above_zero("area_ha", 10_000.0, "above 0 and at most 10000 ha");
pub(super) const DISTANCE_KM: Range = from_zero("distance_km", 200.0, "from 0 to 200 km");

/// The numbers of a crop.
pub const CROP: &[Range] = &[YIELD_T_HA, STRAW_T_HA];
pub(super) const YIELD_T_HA: Range = from_zero("yield_t_ha", 200.0, "from 0 to 200 t/ha");
pub(super) const STRAW_T_HA: Range = from_zero("straw_t_ha", 200.0, "from 0 to 200 t/ha");

/// The numbers of an operation.
pub const OPERATION: &[Range] = &[CHOPPING_FACTOR];
pub(super) const CHOPPING_FACTOR: Range = above_zero("chopping_factor", 1.0, "above 0 and at most 1");

/// The numbers of what comes after an operation.
pub const LINK: &[Range] = &[MIN_LAG_H, FOLLOW_HA];
pub(super) const MIN_LAG_H: Range = from_zero("min_lag_h", 8760.0, "from 0 to 8760 h");
pub(super) const FOLLOW_HA: Range = between("follow_ha", 0.1, 10_000.0, "from 0.1 to 10000 ha");

/// The numbers of a person.
pub const PERSON: &[Range] = &[SERVICING_H, OVERTIME_H, COST_YEAR, COST_H];
pub(super) const SERVICING_H: Range = from_zero("servicing_h", 8.0, "from 0 to 8 h");
pub(super) const OVERTIME_H: Range = from_zero("overtime_h", 12.0, "from 0 to 12 h");

/// The numbers of a contractor.
pub const CONTRACTOR: &[Range] = &[HIRED_RATE_HA_H, COST_HA];
pub(super) const HIRED_RATE_HA_H: Range =
    above_zero("work_rate_ha_h", 1000.0, "above 0 and at most 1000 ha/h");

/// The numbers of a machine.
pub const MACHINE: &[Range] = &[
    WIDTH_M,
    SPEED_KM_H,
    EFFICIENCY,
    WORK_RATE_HA_H,
    THROUGHPUT_T_H,
    ROAD_SPEED_KM_H,
    HOLD_KG,
    FILL_MIN,
    LOAD_T,
    UNLOAD_MIN,
    COST_YEAR,
    COST_M_YEAR,
    COST_H,
];
pub(super) const WIDTH_M: Range = above_zero("width_m", 100.0, "above 0 and at most 100 m");
pub(super) const SPEED_KM_H: Range = above_zero("speed_km_h", 60.0, "above 0 and at most 60 km/h");
pub(super) const EFFICIENCY: Range = above_zero("efficiency", 1.0, "above 0 and at most 1");
pub(super) const WORK_RATE_HA_H: Range =
    above_zero("work_rate_ha_h", 1000.0, "above 0 and at most 1000 ha/h");
pub(super) const THROUGHPUT_T_H: Range = above_zero("throughput_t_h", 1000.0, "above 0 and at most 1000 t/h");
pub(super) const ROAD_SPEED_KM_H: Range = above_zero("road_speed_km_h", 90.0, "above 0 and at most 90 km/h");
pub(super) const HOLD_KG: Range = above_zero("tank_l or hopper_kg", 1e6, "above 0 and at most 1000000");
pub(super) const FILL_MIN: Range = from_zero("fill_min", 600.0, "from 0 to 600 min");
pub(super) const LOAD_T: Range = above_zero("load_t", 100.0, "above 0 and at most 100 t");
pub(super) const UNLOAD_MIN: Range = from_zero("unload_min", 600.0, "from 0 to 600 min");

// Money: a currency of small units has large numbers.
pub(super) const COST_YEAR: Range = from_zero("cost_year", 1e12, "from 0 to 1e12 of money a year");
pub(super) const COST_M_YEAR: Range =
    from_zero("cost_m_year", 1e12, "from 0 to 1e12 of money a metre and year");
pub(super) const COST_H: Range = from_zero("cost_h", 1e9, "from 0 to 1e9 of money an hour");
pub(super) const COST_HA: Range = from_zero("cost_ha", 1e9, "from 0 to 1e9 of money a hectare");

/// Where a farm lies; what `Site` permits.
pub const SITE: &[Range] = &[
    between("latitude_deg", -90.0, 90.0, "from -90 to 90 degrees"),
    between("longitude_deg", -180.0, 180.0, "from -180 to 180 degrees"),
    between("utc_offset_h", -12.0, 14.0, "from -12 to 14 h"),
];

/// Where a record was noted; what `Station` permits.
pub const STATION: &[Range] = &[
    between("latitude_deg", -90.0, 90.0, "from -90 to 90 degrees"),
    between("altitude_m", -450.0, 6_000.0, "from -450 to 6000 m"),
    between("anemometer_m", 0.5, 100.0, "from 0.5 to 100 m"),
];

/// The limits of a rule for a workable day. The deficits are those that the soil-water bucket can have.
pub const RULE: &[Range] = &[
    between("deficit_min_mm", -10.0, 110.0, "from -10 to 110 mm"),
    between("topsoil_min_mm", 0.0, 10.0, "from 0 to 10 mm"),
    between("rain_max_mm", 0.0, 500.0, "from 0 to 500 mm"),
    between("rain_before_max_mm", 0.0, 5_000.0, "from 0 to 5000 mm"),
    between("wind_max_m_s", 0.0, 60.0, "from 0 to 60 m/s"),
    between("humidity_max_pct", 0.0, 100.0, "from 0 to 100 %"),
    between("delta_t_min_c", 0.0, 40.0, "from 0 to 40 degrees C"),
    between("delta_t_max_c", 0.0, 40.0, "from 0 to 40 degrees C"),
    between("night_min_c", -60.0, 50.0, "from -60 to 50 degrees C"),
    between("mean_min_c", -60.0, 50.0, "from -60 to 50 degrees C"),
    between("et_min_mm", 0.0, 25.0, "from 0 to 25 mm"),
    between("shuts_below_mm", -10.0, 110.0, "from -10 to 110 mm"),
];
