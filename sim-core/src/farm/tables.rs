//! From rows of suitable days and drivers to the weather's daily tables.

use super::error::{FarmError, FarmErrorKind};
use super::recorded::{self, Fitted};
use super::spec::{
    ANY_SOIL, DEFAULT_PERSISTENCE, DEFAULT_SPREAD, DEFAULT_SPREAD_DAYS, FarmSpec, Origin, SuitableRow,
};
use crate::weather::{
    DriverSpec, KeySpec, PeriodValue, Span, WeatherError, WeatherSpec, WorkableHours, daily_means,
    daily_rises, daily_steps,
};

/// A weather error said of a part of the farm.
pub(super) fn weather_error(origin: Origin, of: &str, error: &dyn std::fmt::Display) -> FarmError {
    FarmError {
        origin,
        word: of.to_string(),
        kind: FarmErrorKind::Weather { of: of.to_string(), why: error.to_string() },
    }
}

/// The weather's tables, for each key (class x soil) whether the farm has days for it, and the record that the tables
/// were fitted to, if there is one.
pub(super) fn weather(
    spec: &FarmSpec,
    soils: &[String],
    span: Span,
) -> Result<(WeatherSpec, Vec<bool>, Option<Fitted>), FarmError> {
    if let Some(record) = &spec.record {
        return recorded::weather(spec, record, soils, span);
    }
    let names = driver_names(spec);
    let drivers = names.iter().map(|name| driver(spec, name, span)).collect::<Result<Vec<_>, _>>()?;
    let (drivers, spreads): (Vec<_>, Vec<_>) = drivers.into_iter().unzip();
    let mut keys = Vec::with_capacity(spec.classes.len() * soils.len());
    let mut known = Vec::with_capacity(keys.capacity());
    for class in &spec.classes {
        let driver = names.iter().position(|name| *name == class.driver).unwrap_or(0);
        for soil in soils {
            let rows = rows_of(spec, &class.name, soil);
            known.push(!rows.is_empty());
            let mut key = KeySpec {
                driver,
                p: vec![0.0; span.days() as usize],
                phi: spreads[driver].clone(),
                shut: None,
                hours: None,
            };
            if !rows.is_empty() {
                let of = format!("the suitable days of \"{}\"", class.name);
                let said = |error| weather_error(class.origin, &of, &error);
                key.p =
                    daily_means(&rows.iter().map(|row| over(row, row.p_suitable)).collect::<Vec<_>>(), span)
                        .map_err(said)?;
                let own: Vec<_> = rows.iter().filter_map(|row| Some(over(row, row.spread?))).collect();
                // No spread is a number that a row could not have.
                let own = daily_steps(&own, span, f64::NAN).map_err(said)?;
                for (phi, own) in key.phi.iter_mut().zip(own).filter(|(_, own)| !own.is_nan()) {
                    *phi = own;
                }
                let shut: Vec<_> = rows.iter().map(|row| over(row, row.p_shut.unwrap_or(0.0))).collect();
                if shut.iter().any(|row| row.value > 0.0) {
                    key.shut = Some(daily_rises(&shut, span).map_err(said)?);
                }
                key.hours = hours(&rows, span).map_err(said)?;
            }
            keys.push(key);
        }
    }
    Ok((WeatherSpec { span_days: span.days() as usize, drivers, keys, recorded: None }, known, None))
}

/// The workable hours of suitable days, period by period; nothing where all are whole days.
fn hours(rows: &[&SuitableRow], span: Span) -> Result<Option<WorkableHours>, WeatherError> {
    let of = |value: fn(&SuitableRow) -> Option<f64>| -> Vec<PeriodValue> {
        rows.iter().filter_map(|row| Some(over(row, value(row)?))).collect()
    };
    let mean_h = of(|row| row.hours_mean);
    if mean_h.is_empty() {
        return Ok(None);
    }
    Ok(Some(WorkableHours {
        mean_h: daily_steps(&mean_h, span, 24.0)?,
        sd_h: daily_steps(&of(|row| row.hours_sd), span, 0.0)?,
    }))
}

/// A value for the period of a row.
fn over(row: &SuitableRow, value: f64) -> PeriodValue {
    PeriodValue { from: row.from, to: row.to, value }
}

/// The rows of a class on a soil; rows for any soil count where there are none for this one.
fn rows_of<'a>(spec: &'a FarmSpec, class: &str, soil: &str) -> Vec<&'a SuitableRow> {
    let of_soil = |wanted: &str| -> Vec<&SuitableRow> {
        spec.suitable.iter().filter(|row| row.class == class && row.soil == wanted).collect()
    };
    let own = of_soil(soil);
    if own.is_empty() { of_soil(ANY_SOIL) } else { own }
}

/// The drivers' names: those with rows first, then those that only classes name.
pub(super) fn driver_names(spec: &FarmSpec) -> Vec<&str> {
    let mut names: Vec<&str> = Vec::new();
    let said = spec.drivers.iter().map(|row| row.driver.as_str());
    for name in said.chain(spec.classes.iter().map(|class| class.driver.as_str())) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

/// A driver, and for each day the spread of those of its keys that have none of their own.
fn driver(spec: &FarmSpec, name: &str, span: Span) -> Result<(DriverSpec, Vec<f64>), FarmError> {
    let rows: Vec<_> = spec.drivers.iter().filter(|row| row.driver == name).collect();
    let steps = |value: fn(&super::spec::DriverRow) -> f64, outside: f64| {
        let periods: Vec<PeriodValue> =
            rows.iter().map(|row| PeriodValue { from: row.from, to: row.to, value: value(row) }).collect();
        let origin = rows.first().map_or(spec.origin, |row| row.origin);
        daily_steps(&periods, span, outside)
            .map_err(|error| weather_error(origin, &format!("the driver \"{name}\""), &error))
    };
    let driver = DriverSpec {
        name: name.to_string(),
        agreement: rows.first().map_or(1.0, |row| row.agreement),
        rho: steps(|row| row.persistence, DEFAULT_PERSISTENCE)?,
        kappa: steps(|row| kappa(row.spread_days), kappa(Some(DEFAULT_SPREAD_DAYS)))?,
    };
    Ok((driver, steps(|row| row.spread, DEFAULT_SPREAD)?))
}

/// The probability that a spell goes on for one more day.
fn kappa(spread_days: Option<f64>) -> f64 {
    spread_days.map_or(1.0, |days| 1.0 - 1.0 / days)
}
