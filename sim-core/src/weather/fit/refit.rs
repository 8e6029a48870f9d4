//! A record fitted again with its years drawn anew: how much of a figure is the luck of these years. Years are
//! clusters: each is drawn whole.

use super::record::{SEASONS, fit_near, month_day};
use super::{FitError, RecordFit};
use crate::kernel::draw::{Stream, name_hash};
use crate::weather::calendar::{MonthDay, PLACES, days_in_years};
use crate::weather::workability::{Judged, Rule};
use jiff::civil::Date;

/// A year of this part of known days or more stands for itself.
const KNOWN_ENOUGH: usize = PLACES / 2;

/// The seed of the years drawn, which must not change with the seed of the seasons.
const SEED: u64 = 20;

/// How often years are drawn for one fit before it is given up: a draw can lack a period wherever all its years do.
const TRIES: u64 = 20;

/// A judged record in years that can be drawn anew.
#[derive(Debug, Clone, PartialEq)]
pub struct Refit {
    rules: Vec<Rule>,
    fit: RecordFit,
    /// For each year, which begins with a part of the year that is fitted by itself, each rule's days by place.
    years: Vec<Vec<[Day; PLACES]>>,
    /// For each rule whether its land can shut.
    can_shut: Vec<bool>,
}

/// What is known of a rule's day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Day {
    verdict: Option<bool>,
    shut: bool,
}

impl Refit {
    /// Cuts a record whose days, the first of them `first`, were judged by `rules`, and whose fit is `fit`. The days
    /// before the first cut and after the last make a year together where they are not of the same days of the year.
    ///
    /// # Panics
    /// When there is not one series of verdicts for each rule.
    #[must_use]
    pub fn new(first: Date, rules: &[Rule], judged: &Judged, fit: RecordFit) -> Self {
        assert_eq!(rules.len(), judged.days.len(), "verdicts for every rule");
        let cut = month_day(SEASONS[0].0);
        let days = judged.days.first().map_or(0, Vec::len);
        let mut years: Vec<Vec<[Day; PLACES]>> = Vec::new();
        let mut last = None;
        for (day, (year, today)) in (0..days).zip(days_in_years(first, cut)) {
            if last.replace(year) != Some(year) {
                years.push(vec![[Day::default(); PLACES]; rules.len()]);
            }
            if let Some(year) = years.last_mut() {
                for (rule, days) in year.iter_mut().enumerate() {
                    let shut = judged.shut[rule].as_ref().is_some_and(|shut| shut[day]);
                    days[today.place()] = Day { verdict: judged.days[rule][day], shut };
                }
            }
        }
        if years.len() > 1 {
            let apart = |(a, b): (&[Day; PLACES], &[Day; PLACES])| {
                a.iter().zip(b).all(|(a, b)| a.verdict.is_none() || b.verdict.is_none())
            };
            let last = years.len() - 1;
            if years[0].iter().zip(&years[last]).all(apart) {
                let start = years.swap_remove(0);
                // What was last now stands first.
                for (days, other) in years[0].iter_mut().zip(&start) {
                    for (day, other) in days.iter_mut().zip(other).filter(|(day, _)| day.verdict.is_none()) {
                        *day = *other;
                    }
                }
            }
        }
        let known = |days: &[Day; PLACES]| days.iter().filter(|day| day.verdict.is_some()).count();
        years.retain(|year| year.iter().any(|days| known(days) >= KNOWN_ENOUGH));
        let can_shut = judged.shut.iter().map(Option::is_some).collect();
        Self { rules: rules.to_vec(), fit, years, can_shut }
    }

    /// The fit of the record as it is.
    #[must_use]
    pub fn fit(&self) -> &RecordFit {
        &self.fit
    }

    /// How many years it has.
    #[must_use]
    pub fn years(&self) -> usize {
        self.years.len()
    }

    /// The fit of as many years drawn from the record's; the same for the same number. Nothing where the record has
    /// fewer than two years, or periods so rarely known that no draw has them all.
    ///
    /// # Errors
    /// When what is drawn cannot be fitted for another reason than that it lacks a period.
    pub fn again(&self, number: u64) -> Result<Option<RecordFit>, FitError> {
        let count = self.years.len();
        if count < 2 {
            return Ok(None);
        }
        for attempt in 0..TRIES {
            let draws = Stream::new(SEED, number, name_hash("years of a record drawn anew") ^ attempt);
            let drawn: Vec<usize> = (0..count as u64).map(|at| draws.below(at, count)).collect();
            let (first, judged) = self.laid_end_to_end(&drawn);
            match fit_near(first, &self.rules, &judged, Some(&self.fit)) {
                Ok(fit) => return Ok(Some(fit)),
                Err(FitError::NoVerdicts { .. }) => {}
                Err(other) => return Err(other),
            }
        }
        Ok(None)
    }

    /// The years of these indices one after another, from the day of the cut in 2001 on. A leap year's 29 February is
    /// left out where the year it comes to has none, and unknown where it comes the other way.
    fn laid_end_to_end(&self, drawn: &[usize]) -> (Date, Judged) {
        let cut = month_day(SEASONS[0].0);
        let first = Date::constant(2001, cut.month(), cut.day());
        let days = drawn.len() * PLACES;
        let mut judged = Judged::of_days(vec![Vec::with_capacity(days); self.rules.len()]);
        judged.shut = self.can_shut.iter().map(|can| can.then(|| Vec::with_capacity(days))).collect();
        let mut date = first;
        for year in drawn {
            loop {
                let place = MonthDay::of(date).place();
                for (rule, days) in self.years[*year].iter().enumerate() {
                    judged.days[rule].push(days[place].verdict);
                    if let Some(shut) = &mut judged.shut[rule] {
                        shut.push(days[place].shut);
                    }
                }
                date = date.tomorrow().unwrap_or(date);
                if MonthDay::of(date) == cut {
                    break;
                }
            }
        }
        (first, judged)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weather::fit::fit_record;
    use jiff::civil::date;

    fn rule() -> Rule {
        Rule {
            class: "any".into(),
            soil: "any".into(),
            driver: "soil".into(),
            limits: Vec::new(),
            hours: None,
            shut: None,
        }
    }

    /// Days in runs of five that suit more often in some years than in others.
    fn record(years: i16) -> Judged {
        let days = date(2000, 1, 1).until(date(2000 + years, 1, 1)).unwrap().get_days();
        let day = |at: i32| {
            let hash = (u64::from((at / 5).unsigned_abs()) + 7).wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 60;
            Some(hash < 6 + (at / 365 % 3) as u64)
        };
        Judged::of_days(vec![(0..days).map(day).collect()])
    }

    #[test]
    fn a_calendar_record_has_its_years_and_loses_no_day() {
        let judged = record(20);
        let fit = fit_record(date(2000, 1, 1), &[rule()], &judged).unwrap();
        let refit = Refit::new(date(2000, 1, 1), &[rule()], &judged, fit.clone());
        assert_eq!(refit.years(), 20);
        let suits = |verdict: &Option<bool>| *verdict == Some(true);
        let all = refit.years.iter().flat_map(|year| &year[0]).filter(|day| suits(&day.verdict)).count();
        assert_eq!(all, judged.days[0].iter().filter(|verdict| suits(verdict)).count());
        // Each year once is the record again, but for leap days and the order of the years.
        let (first, again) = refit.laid_end_to_end(&(0..20).collect::<Vec<_>>());
        let refitted = fit_record(first, &[rule()], &again).unwrap();
        for (one, other) in fit.keys[0].shares.rows().iter().zip(refitted.keys[0].shares.rows()) {
            assert!((one.value - other.value).abs() < 0.02, "{one:?} {other:?}");
        }
        let law = |fit: &RecordFit| fit.drivers[0].law.unwrap();
        assert!((law(&fit).rho - law(&refitted).rho).abs() < 0.02);
    }

    /// From the record's own law the search comes to where it comes to from eight starts.
    #[test]
    fn one_start_nearby_does_as_well_as_many() {
        let judged = record(30);
        let fit = fit_record(date(2000, 1, 1), &[rule()], &judged).unwrap();
        let refit = Refit::new(date(2000, 1, 1), &[rule()], &judged, fit);
        for number in 0..20 {
            let near = refit.again(number).unwrap().unwrap();
            assert_eq!(refit.again(number).unwrap().unwrap(), near);
            let draws = Stream::new(SEED, number, name_hash("years of a record drawn anew"));
            let drawn: Vec<usize> = (0..30).map(|at| draws.below(at, 30)).collect();
            let (first, judged) = refit.laid_end_to_end(&drawn);
            let far = fit_record(first, &[rule()], &judged).unwrap();
            for (near, far) in near.drivers.iter().zip(&far.drivers) {
                let (near, far) = (near.law.unwrap(), far.law.unwrap());
                assert!(
                    (near.rho - far.rho).abs() < 0.02 && (near.phi - far.phi).abs() < 0.02,
                    "{near:?} {far:?}"
                );
            }
        }
    }

    #[test]
    fn a_year_or_less_cannot_be_drawn_anew() {
        let judged = record(1);
        let fit = fit_record(date(2000, 1, 1), &[rule()], &judged).unwrap();
        let refit = Refit::new(date(2000, 1, 1), &[rule()], &judged, fit);
        assert_eq!((refit.years(), refit.again(0).unwrap()), (1, None));
    }
}
