//! A record fitted again with its years drawn anew: how much of a figure is the luck of these years. Years are
//! clusters: each is drawn whole.

use super::record::{SEASONS, fit_near, month_day};
use super::{FitError, RecordFit};
use crate::kernel::draw::{Stream, name_hash};
use crate::weather::calendar::MonthDay;
use crate::weather::workability::Rule;
use jiff::civil::Date;

/// Days of a leap year, in which every day of the year has its place.
const PLACES: usize = 366;

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
    /// For each year, which begins with a part of the year that is fitted by itself, each rule's verdicts by place.
    years: Vec<Vec<[Option<bool>; PLACES]>>,
}

impl Refit {
    /// Cuts a record whose days, the first of them `first`, were judged by `rules` (`verdicts[rule][day]`), and whose
    /// fit is `fit`. The days before the first cut and after the last make a year together where they are not of the
    /// same days of the year.
    ///
    /// # Panics
    /// When there is not one series of verdicts for each rule.
    #[must_use]
    pub fn new(first: Date, rules: &[Rule], verdicts: &[Vec<Option<bool>>], fit: RecordFit) -> Self {
        assert_eq!(rules.len(), verdicts.len(), "verdicts for every rule");
        let cut = month_day(SEASONS[0].0);
        let days = verdicts.first().map_or(0, Vec::len);
        let mut years: Vec<Vec<[Option<bool>; PLACES]>> = Vec::new();
        let mut date = first;
        for day in 0..days {
            if years.is_empty() || MonthDay::of(date) == cut {
                years.push(vec![[None; PLACES]; rules.len()]);
            }
            let place = MonthDay::of(date).place();
            if let Some(year) = years.last_mut() {
                for (days, verdicts) in year.iter_mut().zip(verdicts) {
                    days[place] = verdicts[day];
                }
            }
            date = date.tomorrow().unwrap_or(date);
        }
        if years.len() > 1 {
            let apart = |(a, b): (&[Option<bool>; PLACES], &[Option<bool>; PLACES])| {
                a.iter().zip(b).all(|(a, b)| a.is_none() || b.is_none())
            };
            let last = years.len() - 1;
            if years[0].iter().zip(&years[last]).all(apart) {
                let start = years.swap_remove(0);
                // What was last now stands first.
                for (days, other) in years[0].iter_mut().zip(&start) {
                    for (day, other) in days.iter_mut().zip(other) {
                        *day = day.or(*other);
                    }
                }
            }
        }
        years.retain(|year| year.iter().any(|days| days.iter().flatten().count() >= KNOWN_ENOUGH));
        Self { rules: rules.to_vec(), fit, years }
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
            let (first, verdicts) = self.laid_end_to_end(&drawn);
            match fit_near(first, &self.rules, &verdicts, Some(&self.fit)) {
                Ok(fit) => return Ok(Some(fit)),
                Err(FitError::NoVerdicts { .. }) => {}
                Err(other) => return Err(other),
            }
        }
        Ok(None)
    }

    /// The years of these indices one after another, from the day of the cut in 2001 on. A leap year's 29 February is
    /// left out where the year it comes to has none, and unknown where it comes the other way.
    fn laid_end_to_end(&self, drawn: &[usize]) -> (Date, Vec<Vec<Option<bool>>>) {
        let cut = month_day(SEASONS[0].0);
        let first = Date::constant(2001, cut.month(), cut.day());
        let mut verdicts = vec![Vec::with_capacity(drawn.len() * PLACES); self.rules.len()];
        let mut date = first;
        for year in drawn {
            loop {
                let place = MonthDay::of(date).place();
                for (all, days) in verdicts.iter_mut().zip(&self.years[*year]) {
                    all.push(days[place]);
                }
                date = date.tomorrow().unwrap_or(date);
                if MonthDay::of(date) == cut {
                    break;
                }
            }
        }
        (first, verdicts)
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
    fn record(years: i16) -> Vec<Option<bool>> {
        let days = date(2000, 1, 1).until(date(2000 + years, 1, 1)).unwrap().get_days();
        let day = |at: i32| {
            let hash = (u64::from((at / 5).unsigned_abs()) + 7).wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 60;
            Some(hash < 6 + (at / 365 % 3) as u64)
        };
        (0..days).map(day).collect()
    }

    #[test]
    fn a_calendar_record_has_its_years_and_loses_no_day() {
        let verdicts = vec![record(20)];
        let fit = fit_record(date(2000, 1, 1), &[rule()], &verdicts).unwrap();
        let refit = Refit::new(date(2000, 1, 1), &[rule()], &verdicts, fit.clone());
        assert_eq!(refit.years(), 20);
        let suits = |days: &[Option<bool>]| days.iter().flatten().filter(|suits| **suits).count();
        let all: usize = refit.years.iter().map(|year| suits(&year[0])).sum();
        assert_eq!(all, suits(&verdicts[0]));
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
        let verdicts = vec![record(30)];
        let fit = fit_record(date(2000, 1, 1), &[rule()], &verdicts).unwrap();
        let refit = Refit::new(date(2000, 1, 1), &[rule()], &verdicts, fit);
        for number in 0..20 {
            let near = refit.again(number).unwrap().unwrap();
            assert_eq!(refit.again(number).unwrap().unwrap(), near);
            let draws = Stream::new(SEED, number, name_hash("years of a record drawn anew"));
            let drawn: Vec<usize> = (0..30).map(|at| draws.below(at, 30)).collect();
            let (first, verdicts) = refit.laid_end_to_end(&drawn);
            let far = fit_record(first, &[rule()], &verdicts).unwrap();
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
        let verdicts = vec![record(1)];
        let fit = fit_record(date(2000, 1, 1), &[rule()], &verdicts).unwrap();
        let refit = Refit::new(date(2000, 1, 1), &[rule()], &verdicts, fit);
        assert_eq!((refit.years(), refit.again(0).unwrap()), (1, None));
    }
}
