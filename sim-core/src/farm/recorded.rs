//! From a daily record and rules for a workable day to the weather: the recorded years, or a table fitted to them.

use super::error::{FarmError, FarmErrorKind};
use super::ruled::ClassRule;
use super::spec::{ClassSpec, FarmSpec, RecordSpec, RecordUse};
use super::tables::{driver_names, weather_error};
use crate::weather::fit::{FitError, HoursFit, RecordFit, Refit, fit_record, period_shares};
use crate::weather::{
    DriverSpec, Ground, Judged, KeySpec, MonthDay, Order, PeriodValue, Recorded, Rule, Span, WeatherError,
    WeatherSpec, WorkableHours, daily_means, judge,
};

/// The weather of a record, and for each key (class x soil) whether there is a rule for it.
pub(super) fn weather(
    spec: &FarmSpec,
    of: &RecordSpec,
    soils: &[String],
    span: Span,
) -> Result<(WeatherSpec, Vec<bool>, Option<Fitted>), FarmError> {
    let names = driver_names(spec);
    let driver_of = |class: &ClassSpec| names.iter().position(|name| *name == class.driver).unwrap_or(0);
    let mut rules: Vec<Rule> = Vec::new();
    let mut keys = Vec::new();
    for class in &spec.classes {
        for soil in soils {
            let rule = spec.rule_for(class, soil).map(|ClassRule { rule, .. }| rule);
            keys.push(Key {
                rule: rule.as_ref().map(|_| rules.len()),
                driver: driver_of(class),
                has_clock: class.has_clock(),
            });
            rules.extend(rule);
        }
    }
    let said = |why: &dyn std::fmt::Display| weather_error(of.origin, "the record", why);
    let refused = |why: String, fix| FarmError {
        origin: of.origin,
        word: "the record".into(),
        kind: FarmErrorKind::Record { why, fix },
    };
    let judged = judge(&of.record, &rules, of.rain_day).map_err(|lacks| {
        refused(lacks.to_string(), "take that limit out, or bring a record that notes it")
    })?;
    let known = keys.iter().map(|key| key.rule.is_some()).collect();
    let first = of.record.first();
    let hours: Vec<Option<WorkableHours>> = keys
        .iter()
        .map(|key| Some(HoursFit::of(first, &judged.days[key.rule?], key.hours(&judged)?)?.by_day(span)))
        .collect();
    let (weather, fitted) = match of.serves_as {
        RecordUse::Years(order) => {
            let weather =
                years((of, order), &judged, (&keys, hours), &names, span).map_err(|error| said(&error))?;
            if weather.recorded.as_ref().is_some_and(|recorded| recorded.years().is_empty()) {
                let why = format!(
                    "the record holds no whole season: it goes from {first} to {}, a season from {} to {}",
                    of.record.last(),
                    MonthDay::of(span.first()),
                    MonthDay::of(span.last())
                );
                return Err(refused(why, "bring a longer record, or give the farm a season that lies in it"));
            }
            (weather, None)
        }
        RecordUse::Table => {
            let whole = of.record.years(MonthDay::of(span.first())).len();
            if whole < 2 {
                let there = if whole == 0 { "is none" } else { "is one" };
                let why = format!("a table needs two whole years of record, and there {there}");
                return Err(refused(why, "bring ten years or more; thirty say something of a bad year"));
            }
            let fit = fit_record(first, &rules, &judged).map_err(|error| said(&error))?;
            let refit = Refit::new(first, &rules, &judged, fit);
            let names = names.iter().map(|name| (*name).to_owned()).collect();
            let fitted = Fitted { refit, keys, hours, names, span };
            (fitted.weather(fitted.refit.fit()).map_err(|error| said(&error))?, Some(fitted))
        }
    };
    Ok((weather, known, fitted))
}

/// A class on a soil: its rule, if there is one, and its driver.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Key {
    rule: Option<usize>,
    driver: usize,
    /// Whether the class has a clock, of which a short day can lose some.
    has_clock: bool,
}

impl Key {
    /// Workable hours of every day of the record, where short days cost the class some.
    fn hours<'a>(&self, judged: &'a Judged) -> Option<&'a [f64]> {
        judged.hours[self.rule.filter(|_| self.has_clock)?].as_deref()
    }
}

/// The recorded years as they were, with the shares and the `expected` hours of suitable days that may be expected of
/// them. The years tell the hours of each day themselves, so that none are drawn.
fn years(
    (of, order): (&RecordSpec, Order),
    judged: &Judged,
    (keys, expected): (&[Key], Vec<Option<WorkableHours>>),
    names: &[&str],
    span: Span,
) -> Result<WeatherSpec, WeatherError> {
    let (days, first) = (span.days() as usize, of.record.first());
    let never = vec![Some(false); of.record.days()];
    let verdicts: Vec<&[Option<bool>]> = keys
        .iter()
        .map(|key| key.rule.map_or(never.as_slice(), |rule| judged.days[rule].as_slice()))
        .collect();
    let hours: Vec<Option<&[f64]>> = keys.iter().map(|key| key.hours(judged)).collect();
    let recorded = Recorded::new(order, first, &verdicts, &hours, span);
    let ground = Ground::new(&of.record, of.rain_day, span, recorded.years().iter().map(|year| year.year));
    let recorded = recorded.with_ground(ground);
    let half_months = MonthDay::parts_of_months(2);
    let mut specs = Vec::with_capacity(keys.len());
    for ((key, verdicts), hours) in keys.iter().zip(&verdicts).zip(expected) {
        let shares = period_shares(first, verdicts, &half_months);
        let row = |(&(from, to), share): (&(MonthDay, MonthDay), Option<f64>)| PeriodValue {
            from,
            to,
            value: share.unwrap_or(0.0),
        };
        let rows: Vec<PeriodValue> = half_months.iter().zip(shares).map(row).collect();
        let p = daily_means(&rows, span)?;
        specs.push(KeySpec { driver: key.driver, p, phi: vec![0.0; days], shut: None, hours });
    }
    let drivers = names.iter().map(|name| DriverSpec::alike(name, 1.0, 0.0, 0.0, days)).collect();
    Ok(WeatherSpec { span_days: days, drivers, keys: specs, recorded: Some(recorded) })
}

/// A table fitted to a record: can be fitted again to the record's years drawn anew.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    refit: Refit,
    keys: Vec<Key>,
    /// Workable hours of each key's suitable days, as the record has them: they are not drawn anew with the years.
    hours: Vec<Option<WorkableHours>>,
    names: Vec<String>,
    span: Span,
}

impl Fitted {
    /// How many years the record has.
    #[must_use]
    pub fn years(&self) -> usize {
        self.refit.years()
    }

    /// The weather of the table fitted to as many years drawn anew from the record; the same for the same number.
    ///
    /// # Errors
    /// When what was drawn cannot be fitted.
    pub fn again(&self, number: u64) -> Result<Option<WeatherSpec>, FitError> {
        let fit = self.refit.again(number)?;
        Ok(fit.map(|fit| self.weather(&fit)).transpose()?)
    }

    fn weather(&self, fit: &RecordFit) -> Result<WeatherSpec, WeatherError> {
        let days = self.span.days() as usize;
        let key = |(key, hours): (&Key, &Option<WorkableHours>)| match key.rule {
            Some(rule) => {
                let spec = fit.key_spec(rule, &self.names[key.driver], key.driver, self.span)?;
                Ok(KeySpec { hours: hours.clone(), ..spec })
            }
            None => Ok(KeySpec::alike(key.driver, 0.0, 0.0, days)),
        };
        // A driver of classes without rules has no law.
        let driver = |name: &String| match fit.drivers.iter().any(|of| of.driver == *name) {
            true => fit.driver_spec(name, self.span),
            false => Ok(DriverSpec::alike(name, 1.0, 0.0, 0.0, days)),
        };
        Ok(WeatherSpec {
            span_days: days,
            drivers: self.names.iter().map(driver).collect::<Result<_, _>>()?,
            keys: self.keys.iter().zip(&self.hours).map(key).collect::<Result<_, _>>()?,
            recorded: None,
        })
    }
}
