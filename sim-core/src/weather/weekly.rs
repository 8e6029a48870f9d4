//! Weeks with a number of suitable days each, as observers report them: by week of the year, year by year. What a law makes
//! of them is in [`fit`](crate::weather::fit).

use crate::weather::bootstrap::mean_interval;
use crate::weather::calendar::MonthDay;
use jiff::ToSpan as _;
use jiff::civil::{Date, ISOWeekDate, Weekday};

/// Days of a week.
pub const WEEK_DAYS: f64 = 7.0;

/// A week of the year is the ISO 8601 one in which most of its days lie; the rare 53rd counts as the 52nd.
const LAST_WEEK: i8 = 52;
/// In this year week 1 begins on 1 January.
const YEAR_OF_WEEKS: i16 = 2024;

/// A reported week.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Week {
    /// Its last day.
    pub ending: Date,
    /// Suitable days, 0 to 7; not whole where it is the mean of several reports.
    pub days: f64,
}

impl Week {
    /// The ISO year and the number, 1 to 52, of the week of the year.
    #[must_use]
    pub fn of_year(&self) -> (i16, i8) {
        let week = self.ending.saturating_sub(3.days()).iso_week_date();
        (week.year(), week.week().min(LAST_WEEK))
    }
}

/// A week of the year over the years.
#[derive(Debug, Clone, PartialEq)]
pub struct WeekOfYear {
    /// Its number, 1 to 52.
    pub number: i8,
    /// Suitable days by year, the earliest first; only years that report it.
    pub years: Vec<(i16, f64)>,
}

impl WeekOfYear {
    /// Its first and last day in a year that begins with a Monday, which other years miss by three days at most; the
    /// 52 weeks of the year share out all its days.
    #[must_use]
    pub fn period(&self) -> (MonthDay, MonthDay) {
        let monday = |number| {
            ISOWeekDate::new(YEAR_OF_WEEKS, number, Weekday::Monday).map_or(Date::ZERO, ISOWeekDate::date)
        };
        let last = if self.number == LAST_WEEK {
            Date::constant(YEAR_OF_WEEKS, 12, 31)
        } else {
            monday(self.number).saturating_add(6.days())
        };
        (MonthDay::of(monday(self.number)), MonthDay::of(last))
    }

    /// Mean number of suitable days.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.years.iter().map(|(_, days)| days).sum::<f64>() / self.years.len() as f64
    }

    /// The mean's 95 % interval, from years drawn anew; nothing without years.
    #[must_use]
    pub fn interval(&self) -> Option<(f64, f64)> {
        mean_interval(&self.years.iter().map(|(_, days)| *days).collect::<Vec<_>>())
    }

    /// The days that a share (0 to 1) of the years have at least, between two years by a straight line; `NAN` without
    /// years.
    #[must_use]
    pub fn reached_by(&self, share: f64) -> f64 {
        let mut days: Vec<f64> = self.years.iter().map(|(_, days)| *days).collect();
        days.sort_by(f64::total_cmp);
        let Some(last) = days.len().checked_sub(1) else { return f64::NAN };
        let place = last as f64 * (1.0 - share).clamp(0.0, 1.0);
        let below = place as usize;
        days[below] + (place - below as f64) * (days[(below + 1).min(last)] - days[below])
    }
}

/// Weeks by week of the year, in its order. Where two weeks of one year fall on one of the 52 their mean counts.
///
/// ```
/// use jiff::civil::date;
/// use sim_core::weather::weekly::{Week, weeks_of_year};
/// let weeks: Vec<Week> = std::iter::zip([2022, 2023, 2024], [2.0, 4.0, 7.0])
///     .map(|(year, days)| Week { ending: date(year, 9, 15), days })
///     .collect();
/// let of = &weeks_of_year(&weeks)[0];
/// assert_eq!((of.number, of.reached_by(0.5), of.reached_by(1.0)), (37, 4.0, 2.0));
/// assert_eq!(of.period().0.to_string(), "09-09");
/// ```
#[must_use]
pub fn weeks_of_year(weeks: &[Week]) -> Vec<WeekOfYear> {
    let mut keyed: Vec<(i8, i16, f64)> = weeks
        .iter()
        .map(|week| {
            let (year, number) = week.of_year();
            (number, year, week.days)
        })
        .collect();
    keyed.sort_by_key(|week| (week.0, week.1));
    let mut all: Vec<WeekOfYear> = Vec::new();
    for same in keyed.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
        let (number, year, _) = same[0];
        let mean = same.iter().map(|(_, _, days)| days).sum::<f64>() / same.len() as f64;
        match all.last_mut() {
            Some(last) if last.number == number => last.years.push((year, mean)),
            _ => all.push(WeekOfYear { number, years: vec![(year, mean)] }),
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn weeks_share_out_the_year() {
        let mut day = MonthDay::of(date(2024, 1, 1));
        for number in 1..=52 {
            let (from, to) = WeekOfYear { number, years: Vec::new() }.period();
            assert_eq!(from, day, "week {number}");
            day = to.next();
        }
        assert_eq!(day, MonthDay::of(date(2024, 1, 1)));
    }

    #[test]
    fn a_week_belongs_where_most_of_its_days_lie() {
        // 31 December 2020 is a Thursday of week 53; a week that ends on Saturday lies mostly in the same ISO week.
        for (ending, year, number) in [
            (date(2021, 1, 3), 2020, 52),
            (date(2021, 1, 10), 2021, 1),
            (date(2024, 9, 15), 2024, 37),
            (date(2024, 9, 14), 2024, 37),
            (date(2024, 9, 17), 2024, 37),
            (date(2024, 9, 19), 2024, 38),
        ] {
            assert_eq!(Week { ending, days: 0.0 }.of_year(), (year, number), "{ending}");
        }
        let weeks = [(date(2020, 12, 27), 2.0), (date(2021, 1, 3), 6.0)];
        let weeks = weeks.map(|(ending, days)| Week { ending, days });
        assert_eq!(weeks_of_year(&weeks), [WeekOfYear { number: 52, years: vec![(2020, 4.0)] }]);
    }
}
