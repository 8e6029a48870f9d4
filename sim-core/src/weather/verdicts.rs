//! What a judged record says by itself, year by year: shares, counts, last days, dry runs. What a model makes of it is
//! in the fit.

use crate::weather::bootstrap::mean_interval;
use crate::weather::calendar::MonthDay;
use jiff::civil::Date;

/// Days of a leap year, in which every day of the year has its place.
const PLACES: usize = 366;

/// A share with its 95 % interval from years drawn anew.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// All known days together.
    pub share: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end of it.
    pub high: f64,
    /// Years with a known day.
    pub years: usize,
}

/// Verdicts laid out in calendar years.
#[derive(Debug, Clone, PartialEq)]
pub struct VerdictYears {
    years: Vec<i16>,
    /// For each year, each day of a leap year; `None` where unknown, outside the record, or no such day.
    days: Vec<[Option<bool>; PLACES]>,
}

impl VerdictYears {
    /// Lays out verdicts of the days from `first` on.
    ///
    /// ```
    /// use jiff::civil::date;
    /// use sim_core::weather::VerdictYears;
    /// let years = VerdictYears::new(date(2023, 12, 31), &[Some(true), Some(false), None, Some(true)]);
    /// assert_eq!(years.years(), [2023, 2024]);
    /// let share = years.share("01-01".parse().unwrap(), "01-15".parse().unwrap()).unwrap();
    /// assert_eq!((share.share, share.years), (0.5, 1));
    /// ```
    #[must_use]
    pub fn new(first: Date, verdicts: &[Option<bool>]) -> Self {
        let mut laid = Self { years: Vec::new(), days: Vec::new() };
        let mut date = first;
        for verdict in verdicts {
            if laid.years.last() != Some(&date.year()) {
                laid.years.push(date.year());
                laid.days.push([None; PLACES]);
            }
            if let Some(days) = laid.days.last_mut() {
                days[MonthDay::of(date).place()] = *verdict;
            }
            date = date.tomorrow().unwrap_or(date);
        }
        laid
    }

    /// The years, the earliest first; the first and the last may be incomplete.
    #[must_use]
    pub fn years(&self) -> &[i16] {
        &self.years
    }

    /// A year's verdicts by place in a leap year.
    ///
    /// # Panics
    /// When there is no such year.
    #[must_use]
    pub fn year(&self, index: usize) -> &[Option<bool>; 366] {
        &self.days[index]
    }

    /// Known and suitable days of a year between two days of the year, both counted; `from` is not after `to`.
    fn tally(&self, year: usize, from: MonthDay, to: MonthDay) -> (u32, u32) {
        let days = &self.days[year][from.place()..=to.place()];
        let known = days.iter().flatten();
        (known.clone().count() as u32, known.filter(|suits| **suits).count() as u32)
    }

    /// The share of suitable days between two days of the year, both counted; nothing without a known day.
    #[must_use]
    pub fn share(&self, from: MonthDay, to: MonthDay) -> Option<Share> {
        let tallies: Vec<(u32, u32)> = (0..self.years.len())
            .map(|year| self.tally(year, from, to))
            .filter(|(known, _)| *known > 0)
            .collect();
        let known: u32 = tallies.iter().map(|(known, _)| known).sum();
        let suitable: u32 = tallies.iter().map(|(_, suitable)| suitable).sum();
        let by_year: Vec<f64> =
            tallies.iter().map(|(known, suits)| f64::from(*suits) / f64::from(*known)).collect();
        let (low, high) = mean_interval(&by_year)?;
        let share = f64::from(suitable) / f64::from(known);
        Some(Share { share, low: low.min(share), high: high.max(share), years: by_year.len() })
    }

    /// Suitable days between two days of the year, both counted, in each year for which all of them are known (29
    /// February may lack).
    #[must_use]
    pub fn counts(&self, from: MonthDay, to: MonthDay) -> Vec<(i16, u32)> {
        let days = (to.place() - from.place() + 1) as u32;
        let leap = u32::from(from.place() <= 59 && to.place() >= 59);
        let of = |(index, year): (usize, &i16)| {
            let (known, suitable) = self.tally(index, from, to);
            (known + leap >= days).then_some((*year, suitable))
        };
        self.years.iter().enumerate().filter_map(of).collect()
    }

    /// Of the years whose days after `day` are known to the end of December, those without any suitable one among
    /// them: how many, and of how many.
    #[must_use]
    pub fn none_after(&self, day: MonthDay) -> (u64, u64) {
        let after = day.place() + 1;
        let rest = |days: &&[Option<bool>; PLACES]| {
            days[after..].iter().enumerate().all(|(at, verdict)| verdict.is_some() || after + at == 59)
        };
        let whole = self.days.iter().filter(rest);
        let none = whole.clone().filter(|days| !days[after..].contains(&Some(true)));
        (none.count() as u64, whole.count() as u64)
    }

    /// How many runs of suitable days of each length lie between two days of the year: `[length - 1]`. A run that is
    /// cut off by either end or by an unknown day counts with what is seen of it.
    #[must_use]
    pub fn runs(&self, from: MonthDay, to: MonthDay) -> Vec<u64> {
        let mut runs: Vec<u64> = Vec::new();
        for (year, days) in self.years.iter().zip(&self.days) {
            let mut length = 0usize;
            let mut end = |length: &mut usize| {
                if *length > 0 {
                    runs.resize(runs.len().max(*length), 0);
                    runs[*length - 1] += 1;
                }
                *length = 0;
            };
            let leap = Date::new(*year, 2, 29).is_ok();
            for (place, verdict) in days.iter().enumerate().take(to.place() + 1).skip(from.place()) {
                if place == 59 && !leap {
                    continue;
                }
                if *verdict == Some(true) {
                    length += 1;
                } else {
                    end(&mut length);
                }
            }
            end(&mut length);
        }
        runs
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn day(text: &str) -> MonthDay {
        text.parse().unwrap()
    }

    #[test]
    fn every_day_of_a_leap_year_has_its_place() {
        let mut date = date(2024, 1, 1);
        for place in 0..PLACES {
            assert_eq!(MonthDay::of(date).place(), place);
            date = date.tomorrow().unwrap();
        }
    }

    #[test]
    fn counts_last_days_and_runs_go_by_the_calendar() {
        // 2023 and 2024: all days of February and March suit, no others; the record ends with November 2024.
        let days: Vec<Option<bool>> = (0..730)
            .map(|at| date(2023, 1, 1).saturating_add(jiff::Span::new().days(at)))
            .take_while(|date| *date < jiff::civil::date(2024, 12, 1))
            .map(|date| Some(matches!(date.month(), 2 | 3)))
            .collect();
        let years = VerdictYears::new(date(2023, 1, 1), &days);
        assert_eq!(years.counts(day("02-01"), day("03-31")), [(2023, 59), (2024, 60)]);
        assert_eq!(years.counts(day("11-15"), day("12-15")), [(2023, 0)]);
        assert_eq!((years.none_after(day("03-31")), years.none_after(day("03-30"))), ((1, 1), (0, 1)));
        let runs = years.runs(day("01-01"), day("12-31"));
        assert_eq!((runs.len(), runs[58], runs[59]), (60, 1, 1));
        let share = years.share(day("02-15"), day("04-15")).unwrap();
        assert!(
            (share.share - 90.0 / 120.0).abs() < 0.01
                && share.low <= share.share
                && share.share <= share.high
        );
    }
}
