//! A whole record fitted: for every rule the share of suitable days by period and its spread, for every driver
//! persistence and the length of spells by part of the year.

use super::shares::days_of_year;
use super::spells::fit_spells_near;
use super::{Block, FitError, Law, Series, Shares, fit_spells, fit_spread};
use crate::weather::calendar::MonthDay;
use crate::weather::shut::open_chance;
use crate::weather::workability::{Judged, Rule};
use jiff::civil::Date;

/// A rule's shares.
#[derive(Debug, Clone, PartialEq)]
pub struct KeyFit {
    /// Index of the rule.
    pub rule: usize,
    /// Its shares by period, over all days.
    pub shares: Shares,
    /// The shares of days on which its land is shut; nothing where it never shuts.
    pub shut: Option<Shares>,
    /// Its own spread in each part of the year of its driver, in their order: hard work differs more between spells
    /// than easy work does. Nothing where too few of its days say something of it: then the driver's holds.
    pub spread: Vec<Option<f64>>,
}

impl KeyFit {
    /// The chance of each of the 366 days of a leap year to suit when the land is open, with which persistence and spread
    /// go.
    #[must_use]
    pub fn open_by_day(&self) -> Vec<f64> {
        let all = self.shares.by_day();
        match &self.shut {
            Some(shut) => all.iter().zip(shut.by_day()).map(|(p, shut)| open_chance(*p, *shut)).collect(),
            None => all.to_vec(),
        }
    }

    /// The same on each day of a record of `days` days that begins on `first`.
    #[must_use]
    pub fn open_on(&self, first: Date, days: usize) -> Vec<f64> {
        let by_day = self.open_by_day();
        days_of_year(first).take(days).map(|day| by_day[day]).collect()
    }
}

/// A driver in a part of the year.
#[derive(Debug, Clone, PartialEq)]
pub struct DriverFit {
    /// The driver.
    pub driver: String,
    /// First day of the part of the year.
    pub from: MonthDay,
    /// Last day; before `from` where it runs over the year's end.
    pub to: MonthDay,
    /// Its law; nothing where fewer than one day in ten is known, open, and of a chance of 0.1 to 0.9, so that the days say
    /// little of it.
    pub law: Option<Law>,
    /// Key-days that the fit used.
    pub days: usize,
}

/// What a judged record comes to as a table of suitable days with drivers.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordFit {
    /// One for each rule, in their order.
    pub keys: Vec<KeyFit>,
    /// Driver by driver, part by part of the year.
    pub drivers: Vec<DriverFit>,
}

/// Parts of the year: spring, early summer, harvest, autumn, winter.
pub(super) const SEASONS: [((i8, i8), (i8, i8)); 5] =
    [((2, 15), (5, 15)), ((5, 16), (7, 31)), ((8, 1), (9, 15)), ((9, 16), (11, 30)), ((12, 1), (2, 14))];

/// A key's own spread, or a pair of keys, needs this part of a block's days to say something of it: one in so many.
pub(super) const DAYS_ENOUGH: usize = 3;

/// A driver's law needs this part of the days of its keys: one in so many. The few open days of land that has nearly always
/// shut say little.
const LAW_DAYS_ENOUGH: usize = 10;

pub(super) fn month_day((month, day): (i8, i8)) -> MonthDay {
    MonthDay::constant(month, day)
}

/// Periods to a month: of about five days, short enough that a span of days seldom cuts one.
const PERIODS: i8 = 6;

/// Fits a record whose days, the first of them `first`, were judged by `rules`. Days on which land is shut say nothing of
/// persistence and spread: they are those of open days.
///
/// # Errors
/// When a period has no day with a verdict.
///
/// # Panics
/// When there is not one series of verdicts for each rule.
pub fn fit_record(first: Date, rules: &[Rule], judged: &Judged) -> Result<RecordFit, FitError> {
    fit_near(first, rules, judged, None)
}

/// As [`fit_record`]; where the fit of a record that differs little is known, its laws are where the search begins.
pub(super) fn fit_near(
    first: Date,
    rules: &[Rule],
    judged: &Judged,
    near: Option<&RecordFit>,
) -> Result<RecordFit, FitError> {
    assert_eq!(rules.len(), judged.days.len(), "verdicts for every rule");
    let periods = MonthDay::parts_of_months(PERIODS);
    let mut keys = Vec::with_capacity(rules.len());
    let (mut verdicts, mut chances) = (Vec::with_capacity(rules.len()), Vec::with_capacity(rules.len()));
    for (rule, days) in judged.days.iter().enumerate() {
        let shares = Shares::of(first, days, &periods)?;
        let shut = judged.shut[rule]
            .as_ref()
            .map(|shut| Shares::of_shut(first, days, shut, &periods))
            .transpose()?;
        let key = KeyFit { rule, shares, shut, spread: Vec::new() };
        verdicts.push(judged.open(rule));
        chances.push(key.open_on(first, days.len()));
        keys.push(key);
    }
    let mut names: Vec<&str> = Vec::new();
    for rule in rules {
        if !names.contains(&rule.driver.as_str()) {
            names.push(&rule.driver);
        }
    }
    let mut drivers: Vec<DriverFit> = Vec::new();
    for name in names {
        let own: Vec<usize> = (0..rules.len()).filter(|rule| rules[*rule].driver == name).collect();
        let series: Vec<Series<'_>> = own
            .iter()
            .map(|rule| Series::new(&verdicts[*rule], &chances[*rule]))
            .collect::<Result<_, _>>()?;
        let days = series.first().map_or(0, |series| series.verdicts().len());
        for (from, to) in SEASONS.map(|(from, to)| (month_day(from), month_day(to))) {
            let block = Block::of_period(first, days, from, to);
            let known = near.and_then(|near| near.drivers.get(drivers.len())?.law);
            let fit = match known {
                Some(law) => fit_spells_near(&law, &block, &series),
                None => fit_spells(&block, &series),
            };
            let of_block: usize = block.occurrences().iter().map(|year| year.days.len()).sum();
            let fit = match fit {
                Ok(fit) => Some(fit).filter(|fit| fit.days * LAW_DAYS_ENOUGH >= of_block * own.len()),
                Err(FitError::NothingVaries { .. }) => None,
                Err(other) => return Err(other),
            };
            for (rule, key) in own.iter().zip(&series) {
                let law = fit.as_ref().map(|fit| fit.law);
                keys[*rule].spread.push(law.and_then(|law| spread_of(&block, *key, &law)));
            }
            drivers.push(DriverFit {
                driver: name.to_owned(),
                from,
                to,
                law: fit.as_ref().map(|fit| fit.law),
                days: fit.map_or(0, |fit| fit.days),
            });
        }
    }
    Ok(RecordFit { keys, drivers })
}

/// A key's own spread, if enough of its days in the block have a chance that says something of it.
fn spread_of(block: &Block, key: Series<'_>, driver: &Law) -> Option<f64> {
    let days: usize = block.occurrences().iter().map(|year| year.days.len()).sum();
    let fit = fit_spread(block, key, driver).ok()?;
    (fit.days * DAYS_ENOUGH >= days).then_some(fit.law.phi)
}

impl RecordFit {
    /// The law of a rule's days on a day of the year: its driver's, with its own spread where it has one; independent
    /// days where the record says too little.
    ///
    /// # Panics
    /// When there is no such rule.
    #[must_use]
    pub fn law_on(&self, rule: usize, driver: &str, day: MonthDay) -> Law {
        let law = self.law_of(driver, day).unwrap_or(Law::INDEPENDENT);
        self.spread_on(rule, driver, day).map_or(law, |phi| Law { phi, ..law })
    }

    /// A driver's law on a day of the year; nothing where the record says too little of it.
    #[must_use]
    pub fn law_of(&self, driver: &str, day: MonthDay) -> Option<Law> {
        self.drivers.iter().find(|of| of.driver == driver && day.in_period(of.from, of.to))?.law
    }

    /// A rule's own spread on a day of the year; nothing where its driver's holds.
    ///
    /// # Panics
    /// When there is no such rule.
    #[must_use]
    pub fn spread_on(&self, rule: usize, driver: &str, day: MonthDay) -> Option<f64> {
        let mut parts = self.drivers.iter().filter(|of| of.driver == driver);
        let part = parts.position(|of| day.in_period(of.from, of.to))?;
        self.keys[rule].spread[part]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_day_lies_in_one_period_and_in_one_part_of_the_year() {
        let periods = MonthDay::parts_of_months(PERIODS);
        assert_eq!(periods.len(), 72);
        let mut day = jiff::civil::date(2024, 1, 1);
        while day.year() == 2024 {
            let of = MonthDay::of(day);
            assert_eq!(periods.iter().filter(|(from, to)| of.in_period(*from, *to)).count(), 1, "{day}");
            let seasons = SEASONS.map(|(from, to)| (month_day(from), month_day(to)));
            assert_eq!(seasons.iter().filter(|(from, to)| of.in_period(*from, *to)).count(), 1, "{day}");
            day = day.tomorrow().unwrap();
        }
    }

    #[test]
    fn a_record_without_variety_has_no_law_but_shares() {
        let rule = |driver: &str| Rule {
            class: "any".into(),
            soil: "any".into(),
            driver: driver.into(),
            limits: Vec::new(),
            hours: None,
            shut: None,
        };
        let always = vec![Some(true); 800];
        let fit = fit_record(jiff::civil::date(2020, 1, 1), &[rule("soil")], &Judged::of_days(vec![always]))
            .unwrap();
        assert!(fit.drivers.len() == 5 && fit.drivers.iter().all(|of| of.law.is_none()));
        assert!(fit.keys[0].shares.by_day().iter().all(|p| *p == 1.0));
        assert_eq!(fit.law_on(0, "soil", month_day((10, 1))), Law::INDEPENDENT);
    }
}
