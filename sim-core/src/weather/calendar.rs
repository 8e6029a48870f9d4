//! Days of the year and the days of a season. Hours of the day are in [`hours`](crate::weather::hours).

use crate::weather::error::WeatherError;
use jiff::ToSpan as _;
use jiff::civil::Date;
use std::fmt;
use std::str::FromStr;

/// A day of the year without a year, written `MM-DD`. 29 February is one.
///
/// ```
/// use sim_core::weather::MonthDay;
/// let due: MonthDay = "10-15".parse().unwrap();
/// assert_eq!((due.month(), due.day()), (10, 15));
/// assert!("02-30".parse::<MonthDay>().is_err());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct MonthDay {
    month: i8,
    day: i8,
}

/// Any leap year: the calendar that holds every `MonthDay`.
const LEAP_YEAR: i16 = 2024;

impl MonthDay {
    /// 29 February, which most years do not have.
    pub const LEAP_DAY: Self = Self { month: 2, day: 29 };

    /// The day `day` (1 to 31) of `month` (1 to 12).
    ///
    /// # Errors
    /// When no year has such a day.
    pub fn new(month: i8, day: i8) -> Result<Self, WeatherError> {
        Date::new(LEAP_YEAR, month, day)
            .map(|_| Self { month, day })
            .map_err(|_| WeatherError::MonthDay { text: format!("{month:02}-{day:02}") })
    }

    /// The day `day` of `month`, for days written in the program itself.
    ///
    /// # Panics
    /// When no year has such a day.
    #[must_use]
    pub const fn constant(month: i8, day: i8) -> Self {
        let _ = Date::constant(LEAP_YEAR, month, day);
        Self { month, day }
    }

    /// The day of the year on which `date` falls.
    #[must_use]
    pub fn of(date: Date) -> Self {
        Self { month: date.month(), day: date.day() }
    }

    /// Its place in a leap year, which has one for every day of the year: 0 to 365.
    #[must_use]
    pub fn place(self) -> usize {
        Date::constant(LEAP_YEAR, self.month, self.day).day_of_year() as usize - 1
    }

    /// The day after it in a leap year.
    #[must_use]
    pub fn next(self) -> Self {
        Date::constant(LEAP_YEAR, self.month, self.day).tomorrow().map_or(self, Self::of)
    }

    /// Equal parts of every month as first and last day, both counted, in the order of the year: of half a month (2),
    /// of about five days (6) and the like; the last of a month takes what is left of it.
    ///
    /// # Panics
    /// When a month is to have no part, or more than 28.
    ///
    /// ```
    /// use sim_core::weather::MonthDay;
    /// let halves = MonthDay::parts_of_months(2);
    /// assert_eq!(halves.len(), 24);
    /// assert_eq!([halves[2].0.to_string(), halves[3].1.to_string()], ["02-01", "02-29"]);
    /// ```
    #[must_use]
    pub fn parts_of_months(parts: i8) -> Vec<(Self, Self)> {
        assert!((1..=28).contains(&parts), "a month in {parts} parts");
        let days = 30 / parts;
        let part = |month: i8, part: i8| {
            let last = Date::constant(LEAP_YEAR, month, 1).days_in_month();
            let to = if part + 1 == parts { last } else { (part + 1) * days };
            (Self { month, day: part * days + 1 }, Self { month, day: to })
        };
        (1..=12).flat_map(|month| (0..parts).map(move |at| part(month, at))).collect()
    }

    /// Month, 1 to 12.
    #[must_use]
    pub fn month(self) -> i8 {
        self.month
    }

    /// Day of the month, 1 to 31.
    #[must_use]
    pub fn day(self) -> i8 {
        self.day
    }

    /// This day in `year`; 29 February is `None` in a common year.
    #[must_use]
    pub fn in_year(self, year: i16) -> Option<Date> {
        Date::new(year, self.month, self.day).ok()
    }

    /// This day in `year`; 1 March for a 29 February that it does not have. `None` in a year that no calendar has.
    #[must_use]
    pub fn in_year_or_after(self, year: i16) -> Option<Date> {
        self.in_year(year).or_else(|| Date::new(year, 3, 1).ok())
    }

    /// This day in `year`; the 28th for a 29 February that it does not have. `None` in a year that no calendar has.
    #[must_use]
    pub fn in_year_or_before(self, year: i16) -> Option<Date> {
        self.in_year(year).or_else(|| Date::new(year, 2, 28).ok())
    }

    /// Whether this day lies in the period `from` to `to`, both counted; a period whose `to` is before its
    /// `from` runs over the turn of the year.
    #[must_use]
    pub fn in_period(self, from: Self, to: Self) -> bool {
        if from <= to { from <= self && self <= to } else { self >= from || self <= to }
    }
}

impl fmt::Display for MonthDay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}-{:02}", self.month, self.day)
    }
}

impl FromStr for MonthDay {
    type Err = WeatherError;

    fn from_str(text: &str) -> Result<Self, WeatherError> {
        let wrong = || WeatherError::MonthDay { text: text.to_owned() };
        let (month, day) = text.split_once('-').ok_or_else(wrong)?;
        let digits = |part: &str| -> Option<i8> {
            let plain = part.len() == 2 && part.bytes().all(|b| b.is_ascii_digit());
            if plain { part.parse().ok() } else { None }
        };
        let (month, day) = digits(month).zip(digits(day)).ok_or_else(wrong)?;
        Self::new(month, day).map_err(|_| wrong())
    }
}

/// The days of a season, numbered from 0.
///
/// ```
/// use jiff::civil::date;
/// use sim_core::weather::Span;
/// let year = Span::new(date(2026, 1, 1), date(2026, 12, 31)).unwrap();
/// assert_eq!(year.days(), 365);
/// assert_eq!(year.date(31), date(2026, 2, 1));
/// assert_eq!(year.day_of(date(2026, 2, 1)), Some(31));
/// assert_eq!(year.day_of(date(2027, 1, 1)), None);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    first: Date,
    days: u32,
}

impl Span {
    /// The longest season, days: two years and some weeks.
    pub const MAX_DAYS: u32 = 800;

    /// The days from `first` to `last`, both counted.
    ///
    /// # Errors
    /// When `last` is before `first` or the season is longer than [`Span::MAX_DAYS`].
    pub fn new(first: Date, last: Date) -> Result<Self, WeatherError> {
        let days = i64::from(days_between(first, last)) + 1;
        match u32::try_from(days) {
            Ok(days) if (1..=Self::MAX_DAYS).contains(&days) => Ok(Self { first, days }),
            _ => Err(WeatherError::Span { first, last, days, max: Self::MAX_DAYS }),
        }
    }

    /// The first day.
    #[must_use]
    pub fn first(&self) -> Date {
        self.first
    }

    /// The last day.
    #[must_use]
    pub fn last(&self) -> Date {
        self.date(self.days - 1)
    }

    /// Number of days.
    #[must_use]
    pub fn days(&self) -> u32 {
        self.days
    }

    /// The date of day `day`; days past the season's end count on.
    #[must_use]
    pub fn date(&self, day: u32) -> Date {
        self.first.saturating_add(i64::from(day).days())
    }

    /// The number of the day `date`, or `None` outside the season.
    #[must_use]
    pub fn day_of(&self, date: Date) -> Option<u32> {
        u32::try_from(days_between(self.first, date)).ok().filter(|day| *day < self.days)
    }
}

/// Days from `first` to `second`, negative when `second` is earlier.
pub(crate) fn days_between(first: Date, second: Date) -> i32 {
    (second - first).get_days()
}

/// Days of a leap year, in which every day of the year has its place.
pub(crate) const PLACES: usize = 366;

/// The days from `first` on, each with the calendar year in which its year began; years begin on `begins`.
pub(crate) fn days_in_years(first: Date, begins: MonthDay) -> impl Iterator<Item = (i16, MonthDay)> {
    let dates = std::iter::successors(Some(first), |date| date.tomorrow().ok());
    dates.map(move |date| {
        let today = MonthDay::of(date);
        (date.year() - i16::from(today < begins), today)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn month_days_parse_or_say_what_to_write() {
        for (text, want) in [("01-01", (1, 1)), ("02-29", (2, 29)), ("12-31", (12, 31))] {
            let got: MonthDay = text.parse().unwrap();
            assert_eq!((got.month(), got.day()), want);
            assert_eq!(got.to_string(), text);
        }
        for text in ["", "1-1", "13-01", "00-10", "02-30", "04-31", "2024-04-01", "ab-cd", "+1-05", "04/01"] {
            let error = text.parse::<MonthDay>().unwrap_err();
            assert_eq!(
                error.to_string(),
                format!("`{text}` is not a day of the year: write MM-DD, from 01-01 to 12-31")
            );
        }
    }

    #[test]
    fn periods_wrap_the_year() {
        let md = |text: &str| text.parse::<MonthDay>().unwrap();
        assert!(md("12-31").in_period(md("11-15"), md("02-10")));
        assert!(md("02-10").in_period(md("11-15"), md("02-10")));
        assert!(!md("02-11").in_period(md("11-15"), md("02-10")));
        assert!(md("07-01").in_period(md("07-01"), md("07-01")));
        assert!(!md("07-02").in_period(md("07-01"), md("07-01")));
    }

    #[test]
    fn a_span_numbers_its_days_over_a_leap_day_and_a_new_year() {
        let span = Span::new(date(2023, 8, 1), date(2024, 8, 31)).unwrap();
        assert_eq!(span.days(), 397);
        for day in 0..span.days() {
            assert_eq!(span.day_of(span.date(day)), Some(day));
        }
        assert_eq!(span.last(), date(2024, 8, 31));
        assert_eq!(span.day_of(date(2023, 7, 31)), None);
        assert_eq!(span.day_of(date(2024, 9, 1)), None);
    }

    #[test]
    fn a_span_that_is_empty_or_too_long_is_refused() {
        let error = Span::new(date(2024, 3, 2), date(2024, 3, 1)).unwrap_err();
        assert_eq!(
            error.to_string(),
            "the season 2024-03-02 to 2024-03-01 has 0 days: permitted are 1 to 800 days"
        );
        assert!(Span::new(date(2024, 1, 1), date(2027, 1, 1)).is_err());
        assert_eq!(Span::new(date(2024, 1, 1), date(2024, 1, 1)).unwrap().days(), 1);
    }
}
