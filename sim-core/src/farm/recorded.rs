//! From a daily record and rules for a workable day to the weather's recorded years.

use super::error::FarmError;
use super::spec::{ANY_SOIL, FarmSpec, RecordSpec, RuleSpec};
use super::tables::{driver_names, weather_error};
use crate::weather::fit::period_shares;
use crate::weather::{
    DriverSpec, KeySpec, MonthDay, PeriodValue, Recorded, Rule, Span, WeatherSpec, daily_means, judge,
};

/// The weather of a record, and for each key (class x soil) whether there is a rule for it.
pub(super) fn weather(
    spec: &FarmSpec,
    of: &RecordSpec,
    soils: &[String],
    span: Span,
) -> Result<(WeatherSpec, Vec<bool>), FarmError> {
    let names = driver_names(spec);
    let days = span.days() as usize;
    let mut rules: Vec<Rule> = Vec::new();
    let mut ruled = Vec::new();
    for class in &spec.classes {
        for soil in soils {
            let rule = rule_for(&of.rules, &class.name, soil);
            ruled.push(rule.map(|_| rules.len()));
            rules.extend(rule.map(|rule| rule.rule.clone()));
        }
    }
    let said = |why: &dyn std::fmt::Display| weather_error(of.origin, "the record", why);
    let judged = judge(&of.record, &rules, of.rain_day).map_err(|lacks| said(&lacks))?.days;
    let never = vec![Some(false); of.record.days()];
    let verdicts: Vec<&[Option<bool>]> =
        ruled.iter().map(|rule| rule.map_or(never.as_slice(), |rule| judged[rule].as_slice())).collect();
    let recorded = Recorded::new(of.order, of.record.first(), &verdicts, &[], span);
    let half_months = MonthDay::parts_of_months(2);
    let mut keys = Vec::with_capacity(verdicts.len());
    for (index, verdicts) in verdicts.iter().enumerate() {
        let class = &spec.classes[index / soils.len()];
        let driver = names.iter().position(|name| *name == class.driver).unwrap_or(0);
        let shares = period_shares(of.record.first(), verdicts, &half_months);
        let row = |(&(from, to), share): (&(MonthDay, MonthDay), Option<f64>)| PeriodValue {
            from,
            to,
            value: share.unwrap_or(0.0),
        };
        let rows: Vec<PeriodValue> = half_months.iter().zip(shares).map(row).collect();
        let p = daily_means(&rows, span).map_err(|error| said(&error))?;
        keys.push(KeySpec { driver, p, phi: vec![0.0; days], hours: None });
    }
    let drivers = names.iter().map(|name| DriverSpec::alike(name, 1.0, 0.0, 0.0, days)).collect();
    let known = ruled.iter().map(Option::is_some).collect();
    Ok((WeatherSpec { span_days: days, drivers, keys, recorded: Some(recorded) }, known))
}

/// The rule for a class on a soil; one for any soil counts where there is none for this one.
fn rule_for<'a>(rules: &'a [RuleSpec], class: &str, soil: &str) -> Option<&'a RuleSpec> {
    let of_soil =
        |wanted: &str| rules.iter().find(|rule| rule.rule.class == class && rule.rule.soil == wanted);
    of_soil(soil).or_else(|| of_soil(ANY_SOIL))
}
