//! What rules for a workable day ask and stations seldom note, worked out from what a record has: evapotranspiration,
//! soil moisture deficits, the state of the surface, delta-T.

use crate::weather::air::{EtError, Station, delta_t_c, pressure_kpa, reference_et};
use crate::weather::record::{Quantity, Record};
use crate::weather::soil::{Drainage, Topsoil, deficits};

/// What was worked out for a record.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Prepared {
    /// How reference evapotranspiration was come by, in words; nothing where it was noted or cannot be had.
    pub evapotranspiration: Option<String>,
    /// Why it cannot be had.
    pub lacking: Option<String>,
    /// The quantities that were worked out.
    pub quantities: Vec<Quantity>,
}

/// Whether a record has a value of a quantity on some day.
fn has(record: &Record, quantity: Quantity) -> bool {
    record.of(quantity).is_some_and(|values| values.iter().any(|value| !value.is_nan()))
}

/// Works out what the record does not note; what it notes stays as it is. Without a station only that which needs none.
///
/// The soil is taken to be at field capacity on the first day where that lies in November to February (common practice,
/// no source); else it is unknown until rain or drought has made the start forgotten. A day without rain or
/// evapotranspiration leaves it unknown again: bridge short gaps first.
///
/// ```
/// use jiff::civil::date;
/// use sim_core::weather::{Quantity, Record, prepare};
/// let mut record = Record::new(&[Quantity::Rain, Quantity::EtRef]);
/// record.push(date(2024, 1, 1), &[0.0, 0.5]).unwrap();
/// record.push(date(2024, 1, 2), &[12.0, 0.2]).unwrap();
/// let prepared = prepare(&mut record, None);
/// assert!(prepared.quantities.contains(&Quantity::DeficitPoor));
/// assert_eq!(record.of(Quantity::DeficitWell).unwrap(), [0.5, 0.0]);
/// ```
pub fn prepare(record: &mut Record, station: Option<&Station>) -> Prepared {
    let mut prepared = Prepared::default();
    if !has(record, Quantity::EtRef) {
        match station.map(|station| reference_et(record, station, None)) {
            Some(Ok(et)) => {
                prepared.evapotranspiration = Some(et.to_string());
                prepared.quantities.push(Quantity::EtRef);
                record.set(Quantity::EtRef, et.daily_mm);
            }
            Some(Err(why @ (EtError::Columns { .. } | EtError::None { .. }))) => {
                prepared.lacking = Some(why.to_string());
            }
            None => {
                let why =
                    "the record notes no et_ref_mm, and where it was noted is not said: give latitude_deg";
                prepared.lacking = Some(why.into());
            }
        }
    }
    if has(record, Quantity::Rain) && has(record, Quantity::EtRef) {
        soil(record, &mut prepared);
    }
    air(record, station, &mut prepared);
    prepared
}

fn soil(record: &mut Record, prepared: &mut Prepared) {
    let values = |quantity| record.of(quantity).map(<[f64]>::to_vec).unwrap_or_default();
    let (rain, et) = (values(Quantity::Rain), values(Quantity::EtRef));
    let winter = matches!(record.first().month(), 11 | 12 | 1 | 2);
    let start_mm = if winter { 0.0 } else { f64::NAN };
    for (drainage, quantity) in [
        (Drainage::Well, Quantity::DeficitWell),
        (Drainage::Moderate, Quantity::DeficitModerate),
        (Drainage::Poor, Quantity::DeficitPoor),
    ] {
        if !has(record, quantity) {
            record.set(quantity, deficits(&rain, &et, drainage, start_mm));
            prepared.quantities.push(quantity);
        }
    }
    record.set(Quantity::Topsoil, Topsoil::default().dryness(&rain, &et, start_mm));
    prepared.quantities.push(Quantity::Topsoil);
}

fn air(record: &mut Record, station: Option<&Station>, prepared: &mut Prepared) {
    if !has(record, Quantity::HumidityMean) {
        return;
    }
    let pressure = pressure_kpa(station.map_or(0.0, Station::altitude_m));
    let humidity = record.of(Quantity::HumidityMean).unwrap_or_default();
    let delta_t = |day: usize| {
        let temperature = record.temperature(day)?;
        let humidity = Some(humidity[day]).filter(|humidity| !humidity.is_nan())?;
        Some(delta_t_c(temperature, humidity, pressure))
    };
    let values: Vec<f64> = (0..record.days()).map(|day| delta_t(day).unwrap_or(f64::NAN)).collect();
    if values.iter().any(|value| !value.is_nan()) {
        record.set(Quantity::DeltaT, values);
        prepared.quantities.push(Quantity::DeltaT);
    }
}
