//! Rules for a workable day, as data: limits that a day of a record must keep to suit a kind of work. What the rules
//! are applied to is a [`Record`]; how a record comes about, and what follows from the verdicts, is not here.

use crate::weather::air::DayCourse;
use crate::weather::calendar::MonthDay;
use crate::weather::record::{Quantity, Record};
use std::borrow::Cow;
use std::sync::Arc;

/// What a limit looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// The day's own value.
    Today(Quantity),
    /// The value at the close of the day before: the soil as the morning finds it.
    Yesterday(Quantity),
    /// The sum over so many days before the day, the day itself left out.
    Before(Quantity, u8),
    /// The value in an hour of the day: of the wind, the mean temperature, the mean humidity or delta-T, by a day's
    /// course ([`DayCourse`]).
    Hour(Quantity),
}

/// A limit: the measure must lie between two values, both permitted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// What is looked at.
    pub measure: Measure,
    /// The least permitted; minus infinity = no limit.
    pub least: f64,
    /// The most permitted; infinity = no limit.
    pub most: f64,
    /// Whether it is left out where the record does not note what it looks at.
    pub if_noted: bool,
}

impl Limit {
    /// At least so much.
    #[must_use]
    pub const fn at_least(measure: Measure, least: f64) -> Self {
        Self { measure, least, most: f64::INFINITY, if_noted: false }
    }

    /// At most so much.
    #[must_use]
    pub const fn at_most(measure: Measure, most: f64) -> Self {
        Self { measure, least: f64::NEG_INFINITY, most, if_noted: false }
    }

    /// Whether a value keeps it; nothing where it is unknown.
    fn holds(&self, value: f64) -> Option<bool> {
        (!value.is_nan()).then_some((self.least..=self.most).contains(&value))
    }

    /// The same, left out where the record does not note what it looks at.
    #[must_use]
    pub const fn if_noted(self) -> Self {
        Self { if_noted: true, ..self }
    }

    /// What it looks at.
    #[must_use]
    pub const fn quantity(&self) -> Quantity {
        match self.measure {
            Measure::Today(quantity)
            | Measure::Yesterday(quantity)
            | Measure::Before(quantity, _)
            | Measure::Hour(quantity) => quantity,
        }
    }

    /// What it needs and a record does not note; the first of it.
    fn lacks(&self, record: &Record) -> Option<Quantity> {
        let needs: &[Quantity] = match self.measure {
            Measure::Hour(Quantity::Wind) => &[Quantity::Wind],
            Measure::Hour(Quantity::TemperatureMean) => &[Quantity::TemperatureMin, Quantity::TemperatureMax],
            Measure::Hour(_) => &[Quantity::HumidityMean, Quantity::TemperatureMin, Quantity::TemperatureMax],
            _ => &[self.quantity()],
        };
        needs.iter().copied().find(|quantity| record.of(*quantity).is_none())
    }

    /// The limit in words.
    #[must_use]
    pub fn words(&self) -> String {
        let of = match self.measure {
            Measure::Today(quantity) => format!("{} of the day", quantity.name()),
            Measure::Yesterday(quantity) => format!("{} at yesterday's close", quantity.name()),
            Measure::Hour(quantity) => format!("{} of the hour", quantity.name()),
            Measure::Before(quantity, 1) => format!("{} of the day before", quantity.name()),
            Measure::Before(quantity, days) => format!("{} of the {days} days before", quantity.name()),
        };
        match (self.least.is_finite(), self.most.is_finite()) {
            (true, true) => format!("{of} {} to {}", self.least, self.most),
            (true, false) => format!("{of} at least {}", self.least),
            (false, true) => format!("{of} at most {}", self.most),
            (false, false) => format!("{of}: any"),
        }
    }
}

/// Land that shuts for the year: once it is wet in autumn it stays shut, whatever a dry week does to its surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shut {
    /// The first day of the year on which it can shut.
    pub from: MonthDay,
    /// The first day on which it is open again.
    pub until: MonthDay,
    /// It shuts when this falls below `below` at a day's close.
    pub quantity: Quantity,
    /// The value below which it shuts.
    pub below: f64,
}

/// The hours of a day that work may use, where its limits are looked at hour by hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hours {
    /// The first hour looked at begins at this hour of the clock of the record, 0 to 23.
    pub from_h: u8,
    /// The last one ends at this hour, up to 24.
    pub to_h: u8,
    /// A day suits when at least so many of them keep every limit on the hour; fewer are not worth going for.
    pub least_h: u8,
}

/// When a day suits a work class on a soil: when it keeps every limit, has hours enough, and the land is not shut.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    /// The work class.
    pub class: String,
    /// The soil.
    pub soil: String,
    /// The driver: which part of the weather stops this work first.
    pub driver: String,
    /// The limits.
    pub limits: Vec<Limit>,
    /// Which hours of the day the limits on the hour are looked at in, and how many must keep them. Nothing where the
    /// day is looked at as a whole.
    pub hours: Option<Hours>,
    /// Whether and when the land shuts for the year.
    pub shut: Option<Shut>,
}

impl Rule {
    /// The limits on the hour that a record can be asked for.
    fn hourly(&self, record: &Record) -> Vec<Limit> {
        let asked = self.limits.iter().filter(|limit| matches!(limit.measure, Measure::Hour(_)));
        asked.filter(|limit| !limit.if_noted || limit.lacks(record).is_none()).copied().collect()
    }

    /// What the rule needs and a record does not note; the first of it.
    #[must_use]
    pub fn lacks(&self, record: &Record) -> Option<Quantity> {
        let mut asked = self.limits.iter().filter(|limit| !limit.if_noted);
        let shut = self.shut.map(|shut| shut.quantity).filter(|quantity| record.of(*quantity).is_none());
        asked.find_map(|limit| limit.lacks(record)).or(shut)
    }
}

/// Of which hours a day's rain is the sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum RainDay {
    /// Midnight to midnight, or from the morning of the day it is noted under: it falls on that day's work.
    #[default]
    OfTheDay,
    /// From the morning before to the morning of the day it is noted under, when the gauge is read (09-09): what falls
    /// on a day's work is noted under the next day.
    ToTheMorning,
}

impl RainDay {
    /// Rain by the day on which it fell, from rain by the day it is noted under.
    #[must_use]
    pub fn by_day(self, noted_mm: &[f64]) -> Vec<f64> {
        match self {
            Self::OfTheDay => noted_mm.to_vec(),
            Self::ToTheMorning => noted_mm.iter().copied().skip(1).chain(std::iter::once(f64::NAN)).collect(),
        }
    }
}

/// The verdicts on a record's days.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// For each rule and each day of the record: does the day suit it? `None` where a value that the rule needs is
    /// missing, as on the first days, whose yesterdays are unknown.
    pub days: Vec<Vec<Option<bool>>>,
    /// For each rule with [`Hours`], how many hours of each day keep its limits on the hour; `NAN` where unknown.
    pub hours: Vec<Option<Arc<[f64]>>>,
    /// For each rule of land that shuts whether it is shut on each day of the record, and so does not suit.
    pub shut: Vec<Option<Vec<bool>>>,
}

impl Judged {
    /// Verdicts of rules without hours on land that never shuts.
    #[must_use]
    pub fn of_days(days: Vec<Vec<Option<bool>>>) -> Self {
        Self { hours: vec![None; days.len()], shut: vec![None; days.len()], days }
    }

    /// The verdicts of a rule on the days on which its land is open; unknown where it is shut.
    ///
    /// # Panics
    /// When there is no such rule.
    #[must_use]
    pub fn open(&self, rule: usize) -> Cow<'_, [Option<bool>]> {
        let days = &self.days[rule];
        match &self.shut[rule] {
            Some(shut) => days.iter().zip(shut).map(|(day, shut)| day.filter(|_| !shut)).collect(),
            None => Cow::Borrowed(days),
        }
    }
}

/// A rule that asks for what a record does not note.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("the rule for {class} on {soil} needs {}, which the record does not have{}", .quantity.name(), from_what(*.quantity))]
pub struct NotNoted {
    /// The work class.
    pub class: String,
    /// The soil.
    pub soil: String,
    /// What is missing.
    pub quantity: Quantity,
}

/// What a quantity that a record does not note is worked out from, as an addition to a message.
fn from_what(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::EtRef => ": it is worked out from temperatures and latitude_deg",
        Quantity::DeficitWell | Quantity::DeficitModerate | Quantity::DeficitPoor | Quantity::Topsoil => {
            ": it is worked out from rain_mm and et_ref_mm, and that from temperatures and latitude_deg"
        }
        Quantity::DeltaT => ": it is worked out from temperature and rh_mean_pct",
        _ => "",
    }
}

/// Judges every day of a record by every rule.
///
/// # Errors
/// When a rule needs what the record does not note.
///
/// ```
/// use jiff::civil::date;
/// use sim_core::weather::{Limit, Measure, Quantity, RainDay, Record, Rule, judge};
/// let mut record = Record::new(&[Quantity::Rain]);
/// for (day, rain_mm) in [(1, 0.0), (2, 3.0), (3, 0.0), (4, 0.0)] {
///     record.push(date(2024, 8, day), &[rain_mm]).unwrap();
/// }
/// let rule = Rule {
///     class: "combining".into(),
///     soil: "any".into(),
///     driver: "air".into(),
///     limits: vec![
///         Limit::at_most(Measure::Today(Quantity::Rain), 0.5),
///         Limit::at_most(Measure::Before(Quantity::Rain, 1), 2.0),
///     ],
///     hours: None,
///     shut: None,
/// };
/// let judged = judge(&record, &[rule], RainDay::OfTheDay).unwrap();
/// assert_eq!(judged.days[0], [None, Some(false), Some(false), Some(true)]);
/// ```
pub fn judge(record: &Record, rules: &[Rule], rain_day: RainDay) -> Result<Judged, NotNoted> {
    let rain = record.of(Quantity::Rain).map(|noted| rain_day.by_day(noted));
    let noted = |quantity| if quantity == Quantity::Rain { rain.as_deref() } else { record.of(quantity) };
    // Rules for several soils ask the same of the hours.
    let mut counted: Vec<(Hours, Vec<Limit>, Arc<[f64]>)> = Vec::new();
    let mut hours = Vec::with_capacity(rules.len());
    let mut shuts = Vec::with_capacity(rules.len());
    let days = rules.iter().map(|rule| {
        if let Some(quantity) = rule.lacks(record) {
            return Err(NotNoted { class: rule.class.clone(), soil: rule.soil.clone(), quantity });
        }
        let mut verdicts = vec![Some(true); record.days()];
        let of_day = rule.limits.iter().filter(|limit| !matches!(limit.measure, Measure::Hour(_)));
        for limit in of_day {
            if let Some(values) = noted(limit.quantity()) {
                keep(&mut verdicts, limit, values);
            }
        }
        let shut = rule.shut.and_then(|shut| Some(shut_days(&shut, noted(shut.quantity)?, record)));
        for (verdict, _) in verdicts.iter_mut().zip(shut.iter().flatten()).filter(|(_, shut)| **shut) {
            *verdict = Some(false);
        }
        shuts.push(shut);
        let within = rule.hours.map(|of_day| {
            let limits = rule.hourly(record);
            let known = counted.iter().find(|(hours, asked, _)| *hours == of_day && *asked == limits);
            let within = match known {
                Some((.., within)) => Arc::clone(within),
                None => {
                    let within = count_hours(record, of_day, &limits);
                    counted.push((of_day, limits, Arc::clone(&within)));
                    within
                }
            };
            keep_hours(&mut verdicts, of_day, &within);
            within
        });
        hours.push(within);
        Ok(verdicts)
    });
    let days = days.collect::<Result<_, _>>()?;
    Ok(Judged { days, hours, shut: shuts })
}

/// How many hours of each day keep every limit on the hour; unknown where a limit cannot be looked at.
fn count_hours(record: &Record, of_day: Hours, limits: &[Limit]) -> Arc<[f64]> {
    let keeps = |course: &DayCourse, hour: usize| {
        let mut all = Some(true);
        for limit in limits {
            let kept = match limit.quantity() {
                Quantity::Wind => limit.holds(course.wind_m_s(hour)),
                Quantity::TemperatureMean => limit.holds(course.temperature_c(hour)),
                Quantity::DeltaT => course.delta_t_within(hour, limit.least, limit.most),
                _ => limit.holds(course.humidity_pct(hour)),
            };
            match kept {
                // One that is broken decides, whatever else is unknown.
                Some(false) => return Some(false),
                None => all = None,
                Some(true) => {}
            }
        }
        all
    };
    let day = |day: usize| {
        let course = DayCourse::of(record, day);
        let mut hours = 0.0;
        for hour in usize::from(of_day.from_h)..usize::from(of_day.to_h).min(24) {
            match keeps(&course, hour) {
                Some(true) => hours += 1.0,
                Some(false) => {}
                None => return f64::NAN,
            }
        }
        hours
    };
    (0..record.days()).map(day).collect()
}

/// Takes the hours into the verdicts.
fn keep_hours(verdicts: &mut [Option<bool>], of_day: Hours, hours: &[f64]) {
    for (verdict, hours) in verdicts.iter_mut().zip(hours) {
        if *hours < f64::from(of_day.least_h) {
            *verdict = Some(false);
        } else if hours.is_nan() && *verdict == Some(true) {
            *verdict = None;
        }
    }
}

/// Takes a limit into the verdicts. A limit that is broken decides, whatever else is unknown.
fn keep(verdicts: &mut [Option<bool>], limit: &Limit, values: &[f64]) {
    let mut judge = |day: usize, value: f64| {
        let verdict = &mut verdicts[day];
        if value < limit.least || value > limit.most {
            *verdict = Some(false);
        } else if value.is_nan() && *verdict == Some(true) {
            *verdict = None;
        }
    };
    match limit.measure {
        // Looked at hour by hour.
        Measure::Hour(_) => {}
        Measure::Today(_) => {
            for (day, value) in values.iter().enumerate() {
                judge(day, *value);
            }
        }
        Measure::Yesterday(_) => {
            for day in 0..values.len() {
                judge(day, if day == 0 { f64::NAN } else { values[day - 1] });
            }
        }
        Measure::Before(_, count) => {
            let count = usize::from(count);
            for day in 0..values.len() {
                let sum = if day < count { f64::NAN } else { values[day - count..day].iter().sum() };
                judge(day, sum);
            }
        }
    }
}

/// Whether each day lies between the first wet close from `from` on and `until`.
fn shut_days(shut: &Shut, values: &[f64], record: &Record) -> Vec<bool> {
    let mut is_shut = false;
    let day = |day: usize| {
        let of_year = MonthDay::of(record.date(day));
        is_shut &= of_year != shut.until;
        is_shut |= day > 0 && can_shut(shut, of_year) && values[day - 1] < shut.below;
        is_shut
    };
    (0..values.len()).map(day).collect()
}

/// Whether a day lies between `from` and `until`, which may pass the year's end.
fn can_shut(shut: &Shut, day: MonthDay) -> bool {
    if shut.from <= shut.until {
        shut.from <= day && day < shut.until
    } else {
        shut.from <= day || day < shut.until
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::ToSpan as _;
    use jiff::civil::date;

    fn record(quantity: Quantity, values: &[f64]) -> Record {
        let mut record = Record::new(&[quantity]);
        for (day, value) in values.iter().enumerate() {
            record.push(date(2023, 9, 28).saturating_add((day as i64).days()), &[*value]).unwrap();
        }
        record
    }

    fn rule(limits: Vec<Limit>, shut: Option<Shut>) -> Rule {
        Rule {
            class: "drilling".into(),
            soil: "heavy".into(),
            driver: "soil".into(),
            limits,
            hours: None,
            shut,
        }
    }

    fn one(record: &Record, rule: Rule) -> Vec<Option<bool>> {
        judge(record, &[rule], RainDay::OfTheDay).unwrap().days.remove(0)
    }

    #[test]
    fn a_missing_value_leaves_the_day_open_unless_another_limit_decides() {
        let none = f64::NAN;
        let wet = record(Quantity::Rain, &[0.0, none, 0.0, 9.0, none]);
        let limits = vec![
            Limit::at_most(Measure::Today(Quantity::Rain), 1.0),
            Limit::at_most(Measure::Before(Quantity::Rain, 2), 1.0),
        ];
        assert_eq!(one(&wet, rule(limits, None)), [None, None, None, Some(false), Some(false)]);
    }

    #[test]
    fn rain_to_the_morning_falls_on_the_day_before_it_is_noted() {
        let wet = record(Quantity::Rain, &[0.0, 9.0, 0.0]);
        let dry = rule(vec![Limit::at_most(Measure::Today(Quantity::Rain), 1.0)], None);
        let judged = judge(&wet, &[dry], RainDay::ToTheMorning).unwrap();
        assert_eq!(judged.days[0], [Some(false), Some(true), None]);
    }

    #[test]
    fn land_that_has_shut_stays_shut_until_it_is_opened() {
        let deficit = Quantity::DeficitPoor;
        // 28 September to 7 October: wet once before it can shut, then once on 2 October.
        let wet = record(deficit, &[-8.0, 5.0, 5.0, 5.0, -8.0, 5.0, 5.0, 5.0, 5.0, 5.0]);
        let (from, until) = ("10-01".parse().unwrap(), "10-06".parse().unwrap());
        let shut = Shut { from, until, quantity: deficit, below: -5.0 };
        let open = Limit::at_least(Measure::Yesterday(deficit), 0.0);
        let verdicts = one(&wet, rule(vec![open], Some(shut)));
        let suits: Vec<bool> = verdicts[1..].iter().map(|verdict| verdict.unwrap()).collect();
        assert_eq!(suits, [false, true, true, true, false, false, false, true, true]);
    }

    /// A wind of 5.5 m/s as a mean leaves the early and late hours, one of 7 none; with the air's wetness unknown the day
    /// is open where the wind does not decide.
    #[test]
    fn hours_of_a_day_are_counted_and_make_the_verdict() {
        let mut windy = Record::new(&[
            Quantity::Wind,
            Quantity::HumidityMean,
            Quantity::TemperatureMin,
            Quantity::TemperatureMax,
        ]);
        let days = [
            [2.0, 70.0, 8.0, 16.0],
            [5.5, 70.0, 8.0, 16.0],
            [7.0, f64::NAN, 8.0, 16.0],
            [2.0, f64::NAN, 8.0, 16.0],
        ];
        for (day, values) in days.iter().enumerate() {
            windy.push(date(2024, 5, 1 + day as i8), values).unwrap();
        }
        let hours = Some(Hours { from_h: 5, to_h: 21, least_h: 2 });
        let calm = Limit::at_most(Measure::Hour(Quantity::Wind), 5.0);
        let drying = Limit::at_least(Measure::Hour(Quantity::DeltaT), 2.0);
        let of = |limits: Vec<Limit>, soil: &str| Rule { soil: soil.into(), hours, ..rule(limits, None) };
        let rules = [of(vec![calm], "heavy"), of(vec![calm], "light"), of(vec![calm, drying], "heavy")];
        let judged = judge(&windy, &rules, RainDay::OfTheDay).unwrap();
        let counted = |rule: usize| judged.hours[rule].clone().unwrap();
        assert_eq!(counted(0)[..], [16.0, 4.0, 0.0, 16.0]);
        assert!(Arc::ptr_eq(&counted(0), &counted(1)), "what is asked twice is counted once");
        assert_eq!(judged.days[0], [Some(true), Some(true), Some(false), Some(true)]);
        assert_eq!(judged.days[2][2..], [Some(false), None]);
        assert!(counted(2)[0] < 16.0 && counted(2)[3].is_nan());
        assert_eq!(calm.words(), "wind_m_s of the hour at most 5");
        let noted = Rule { limits: vec![calm, drying.if_noted()], ..rules[0].clone() };
        let dry = record(Quantity::Wind, &[2.0]);
        assert_eq!(
            judge(&dry, std::slice::from_ref(&noted), RainDay::OfTheDay).unwrap().days[0],
            [Some(true)]
        );
        assert_eq!(rules[2].lacks(&dry), Some(Quantity::HumidityMean));
    }

    #[test]
    fn a_rule_says_what_it_needs() {
        let dry = record(Quantity::Rain, &[0.0]);
        let calm = rule(vec![Limit::at_most(Measure::Today(Quantity::Wind), 5.0)], None);
        let error = judge(&dry, &[calm], RainDay::OfTheDay).unwrap_err();
        assert_eq!(
            error.to_string(),
            "the rule for drilling on heavy needs wind_m_s, which the record does not have"
        );
        assert_eq!(
            Limit::at_least(Measure::Yesterday(Quantity::DeficitPoor), 5.0).words(),
            "smd_poor_mm at yesterday's close at least 5"
        );
        assert_eq!(
            Limit::at_most(Measure::Before(Quantity::Rain, 3), 8.0).words(),
            "rain_mm of the 3 days before at most 8"
        );
    }
}
