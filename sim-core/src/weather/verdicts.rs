//! What a judged record says by itself, year by year: shares, counts, last days, dry runs. What a model makes of it is
//! in the fit.

use crate::weather::bootstrap::mean_interval;
use crate::weather::calendar::{MonthDay, PLACES, days_in_years};
use jiff::civil::Date;

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

/// Verdicts laid out in years that begin on a stated day: calendar years, or harvest years in which the work of an
/// autumn and winter stays together.
#[derive(Debug, Clone, PartialEq)]
pub struct VerdictYears {
    begins: MonthDay,
    years: Vec<i16>,
    /// For each year, each day of a leap year from its first on; `None` where unknown, outside the record, or no such
    /// day.
    days: Vec<[Option<bool>; PLACES]>,
}

impl VerdictYears {
    /// Lays out verdicts of the days from `first` on, in years that begin on `begins` (29 February counts as 1 March).
    ///
    /// ```
    /// use jiff::civil::date;
    /// use sim_core::weather::VerdictYears;
    /// let day = |text: &str| text.parse().unwrap();
    /// let verdicts = [Some(true), Some(false), None, Some(true)];
    /// let years = VerdictYears::new(date(2023, 12, 31), &verdicts, day("01-01"));
    /// assert_eq!(years.years(), [2023, 2024]);
    /// let share = years.share(day("01-01"), day("01-15")).unwrap();
    /// assert_eq!((share.share, share.years), (0.5, 1));
    /// // From 1 August on it is one winter, called after the year in which it begins.
    /// assert_eq!(VerdictYears::new(date(2023, 12, 31), &verdicts, day("08-01")).years(), [2023]);
    /// ```
    #[must_use]
    pub fn new(first: Date, verdicts: &[Option<bool>], begins: MonthDay) -> Self {
        let begins = if begins == MonthDay::LEAP_DAY { begins.next() } else { begins };
        let mut laid = Self { begins, years: Vec::new(), days: Vec::new() };
        for (verdict, (year, today)) in verdicts.iter().zip(days_in_years(first, begins)) {
            if laid.years.last() != Some(&year) {
                laid.years.push(year);
                laid.days.push([None; PLACES]);
            }
            let place = laid.place(today);
            if let Some(days) = laid.days.last_mut() {
                days[place] = *verdict;
            }
        }
        laid
    }

    /// The day on which its years begin.
    #[must_use]
    pub fn begins(&self) -> MonthDay {
        self.begins
    }

    /// The calendar years in which its years begin, the earliest first; the first and the last may be incomplete.
    #[must_use]
    pub fn years(&self) -> &[i16] {
        &self.years
    }

    /// A year's verdicts by [`place`](Self::place).
    ///
    /// # Panics
    /// When there is no such year.
    #[must_use]
    pub fn year(&self, index: usize) -> &[Option<bool>; 366] {
        &self.days[index]
    }

    /// The place of a day of the year among the 366 of a year here: 0 for the day on which it begins.
    #[must_use]
    pub fn place(&self, day: MonthDay) -> usize {
        (day.place() + PLACES - self.begins.place()) % PLACES
    }

    /// Whether the days `from` to `to`, both counted, lie in one year here.
    #[must_use]
    pub fn holds(&self, from: MonthDay, to: MonthDay) -> bool {
        self.place(from) <= self.place(to)
    }

    /// The days from one day of the year to another, both counted, wherever the record has them: the year in which they
    /// begin, and their verdicts in one or, where they run into the next year here, two pieces.
    fn spans(
        &self,
        from: MonthDay,
        to: MonthDay,
    ) -> impl Iterator<Item = (i16, [&[Option<bool>]; 2])> + Clone {
        let (from, to) = (self.place(from), self.place(to));
        let inside = from <= to;
        let first = self.years.first().copied().unwrap_or(0);
        let count = self.days.len() + usize::from(!inside && !self.days.is_empty());
        (0..count).map(move |at| {
            let nothing: &[Option<bool>] = &[];
            if inside {
                return (self.years[at], [&self.days[at][from..=to], nothing]);
            }
            let before = at.checked_sub(1);
            let tail = before.map_or(nothing, |before| &self.days[before][from..]);
            let head = self.days.get(at).map_or(nothing, |days| &days[..=to]);
            (before.map_or(first - 1, |before| self.years[before]), [tail, head])
        })
    }

    /// How many days lie from one day of the year to another, both counted, in a leap year, and whether 29 February is
    /// one of them.
    fn length(&self, from: MonthDay, to: MonthDay) -> (u32, bool) {
        let days = (to.place() + PLACES - from.place()) % PLACES + 1;
        (days as u32, MonthDay::LEAP_DAY.in_period(from, to))
    }

    /// The share of suitable days between two days of the year, both counted; nothing without a known day.
    #[must_use]
    pub fn share(&self, from: MonthDay, to: MonthDay) -> Option<Share> {
        let tallies: Vec<(u32, u32)> =
            self.spans(from, to).map(|(_, pieces)| tally(pieces)).filter(|(known, _)| *known > 0).collect();
        let known: u32 = tallies.iter().map(|(known, _)| known).sum();
        let suitable: u32 = tallies.iter().map(|(_, suitable)| suitable).sum();
        let by_year: Vec<f64> =
            tallies.iter().map(|(known, suits)| f64::from(*suits) / f64::from(*known)).collect();
        let (low, high) = mean_interval(&by_year)?;
        let share = f64::from(suitable) / f64::from(known);
        Some(Share { share, low: low.min(share), high: high.max(share), years: by_year.len() })
    }

    /// Suitable days between two days of the year, both counted, in each year for which all of them are known (29
    /// February may lack); the year is that in which they begin.
    #[must_use]
    pub fn counts(&self, from: MonthDay, to: MonthDay) -> Vec<(i16, u32)> {
        let (days, leap) = self.length(from, to);
        let of = |(year, pieces): (i16, [&[Option<bool>]; 2])| {
            let (known, suitable) = tally(pieces);
            (known + u32::from(leap) >= days).then_some((year, suitable))
        };
        self.spans(from, to).filter_map(of).collect()
    }

    /// Of the years whose days from the one after `day` to `until` are known, those without any suitable one among
    /// them: how many, and of how many.
    #[must_use]
    pub fn none_after(&self, day: MonthDay, until: MonthDay) -> (u64, u64) {
        if day == until {
            let years = self.counts(day, day).len() as u64;
            return (years, years);
        }
        let counts = self.counts(day.next(), until);
        (counts.iter().filter(|(_, suits)| *suits == 0).count() as u64, counts.len() as u64)
    }

    /// How many runs of suitable days of each length lie between two days of the year: `[length - 1]`. A run that is
    /// cut off by either end or by an unknown day counts with what is seen of it.
    #[must_use]
    pub fn runs(&self, from: MonthDay, to: MonthDay) -> Vec<u64> {
        let leap = (MonthDay::LEAP_DAY.place() + PLACES - from.place()) % PLACES;
        let mut runs: Vec<u64> = Vec::new();
        for (year, pieces) in self.spans(from, to) {
            let mut length = 0usize;
            let mut end = |length: &mut usize| {
                if *length > 0 {
                    runs.resize(runs.len().max(*length), 0);
                    runs[*length - 1] += 1;
                }
                *length = 0;
            };
            let of_leap = year + i16::from(from < self.begins) + i16::from(from > MonthDay::LEAP_DAY);
            let has_leap = Date::new(of_leap, 2, 29).is_ok();
            let first =
                if pieces[0].is_empty() { self.length(from, to).0 as usize - pieces[1].len() } else { 0 };
            for (at, verdict) in pieces.into_iter().flatten().enumerate() {
                if first + at == leap && !has_leap {
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

/// Known and suitable days.
fn tally(pieces: [&[Option<bool>]; 2]) -> (u32, u32) {
    let known = pieces.into_iter().flatten().flatten();
    (known.clone().count() as u32, known.filter(|suits| **suits).count() as u32)
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
        let years = VerdictYears::new(date(2023, 1, 1), &days, day("01-01"));
        assert_eq!(years.counts(day("02-01"), day("03-31")), [(2023, 59), (2024, 60)]);
        assert_eq!(years.counts(day("11-15"), day("12-15")), [(2023, 0)]);
        assert_eq!(
            (years.none_after(day("03-31"), day("12-31")), years.none_after(day("03-30"), day("12-31"))),
            ((1, 1), (0, 1))
        );
        let runs = years.runs(day("01-01"), day("12-31"));
        assert_eq!((runs.len(), runs[58], runs[59]), (60, 1, 1));
        let share = years.share(day("02-15"), day("04-15")).unwrap();
        assert!(
            (share.share - 90.0 / 120.0).abs() < 0.01
                && share.low <= share.share
                && share.share <= share.high
        );
    }

    /// Whatever the year begins with, the same days give the same counts, shares and runs, named after the year in
    /// which they begin; only what lies over the record's ends or over the border differs.
    #[test]
    fn spans_do_not_depend_on_where_the_year_begins() {
        let suits = |at: usize| at * at % 7 < 3;
        let days: Vec<Option<bool>> = (0..2200).map(|at| (at != 900).then_some(suits(at))).collect();
        let first = date(2018, 10, 5);
        let calendar = VerdictYears::new(first, &days, day("01-01"));
        let harvest = VerdictYears::new(first, &days, day("08-01"));
        let leap = VerdictYears::new(first, &days, day("02-29"));
        assert_eq!(leap.begins(), day("03-01"));
        assert!(harvest.holds(day("09-15"), day("01-31")) && !calendar.holds(day("09-15"), day("01-31")));
        for (from, to) in [
            ("09-15", "01-31"),
            ("12-01", "03-05"),
            ("02-20", "03-10"),
            ("07-20", "08-10"),
            ("02-29", "02-29"),
        ] {
            let (from, to) = (day(from), day(to));
            let span = crate::weather::fit::Block::of_period(first, days.len(), from, to);
            let by_hand: Vec<u32> = span
                .occurrences()
                .iter()
                .filter(|year| year.whole && days[year.days.clone()].iter().all(Option::is_some))
                .map(|year| days[year.days.clone()].iter().filter(|day| **day == Some(true)).count() as u32)
                .collect();
            for years in [&calendar, &harvest, &leap] {
                let counts: Vec<u32> = years.counts(from, to).iter().map(|(_, count)| *count).collect();
                if from != to {
                    assert_eq!(counts, by_hand, "{from} to {to}");
                }
                assert_eq!(years.runs(from, to), calendar.runs(from, to), "{from} to {to}");
                assert_eq!(years.share(from, to), calendar.share(from, to), "{from} to {to}");
            }
        }
        // A harvest year is that of its August; a span of spring is one of the year before.
        assert_eq!(calendar.counts(day("09-15"), day("01-31"))[0].0, 2019);
        assert_eq!(harvest.counts(day("09-15"), day("01-31"))[0].0, 2019);
        assert_eq!(harvest.counts(day("03-01"), day("04-30"))[0].0, 2018);
    }

    #[test]
    fn nothing_after_new_year_is_seen_in_a_year_from_august() {
        // Only 10 January 2021 suits.
        let days: Vec<Option<bool>> = (0..800)
            .map(|at| Some(date(2019, 8, 1).saturating_add(jiff::Span::new().days(at)) == date(2021, 1, 10)))
            .collect();
        let years = VerdictYears::new(date(2019, 8, 1), &days, day("08-01"));
        assert_eq!(years.none_after(day("11-15"), day("01-31")), (1, 2));
        assert_eq!(years.none_after(day("01-10"), day("07-31")), (2, 2));
        assert_eq!(years.none_after(day("07-31"), day("07-31")), (2, 2));
    }
}
