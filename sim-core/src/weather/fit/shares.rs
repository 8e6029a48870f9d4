//! Shares of suitable days by period of the year, and the smooth chance by day of the year that keeps them.

use super::FitError;
use crate::weather::calendar::{MonthDay, Span};
use crate::weather::table::{PeriodValue, daily_means, daily_rises};
use jiff::civil::Date;

/// The calendar that holds every day of the year.
const LEAP_YEAR: (Date, Date) = (Date::constant(2024, 1, 1), Date::constant(2024, 12, 31));

/// What a record says of one key: the share of suitable days in each period, and the chance of each day of the year.
#[derive(Debug, Clone, PartialEq)]
pub struct Shares {
    rows: Vec<PeriodValue>,
    by_day: Vec<f64>,
}

impl Shares {
    /// The shares of a record's `verdicts`, the first of them on `first`, in `periods` (first and last day of each,
    /// both counted). Days whose verdict is unknown (`None`) are left out.
    ///
    /// # Errors
    /// When two periods share a day, there is none, or one has no day with a verdict.
    ///
    /// ```
    /// use jiff::civil::date;
    /// use sim_core::weather::fit::Shares;
    /// let verdicts: Vec<_> = (0..365).map(|day| Some(day % 4 == 0)).collect();
    /// let halves = [("01-01", "06-30"), ("07-01", "12-31")].map(|(a, b)| (a.parse().unwrap(), b.parse().unwrap()));
    /// let shares = Shares::of(date(2023, 1, 1), &verdicts, &halves).unwrap();
    /// assert_eq!(shares.rows()[0].value, 46.0 / 181.0);
    /// assert_eq!(shares.by_day().len(), 366);
    /// ```
    pub fn of(
        first: Date,
        verdicts: &[Option<bool>],
        periods: &[(MonthDay, MonthDay)],
    ) -> Result<Self, FitError> {
        let rows = rows(first, verdicts, periods)?;
        let by_day = daily_means(&rows, leap_year()?)?;
        Ok(Self { rows, by_day })
    }

    /// The shares of the days of a record with a verdict on which land was shut (`shut`), which build up through an
    /// autumn ([`daily_rises`]).
    ///
    /// # Errors
    /// As [`of`](Self::of).
    pub fn of_shut(
        first: Date,
        verdicts: &[Option<bool>],
        shut: &[bool],
        periods: &[(MonthDay, MonthDay)],
    ) -> Result<Self, FitError> {
        let known =
            verdicts.iter().zip(shut).map(|(verdict, shut)| verdict.map(|_| *shut)).collect::<Vec<_>>();
        let rows = rows(first, &known, periods)?;
        let by_day = daily_rises(&rows, leap_year()?)?;
        Ok(Self { rows, by_day })
    }

    /// The share of each period, in the order in which the periods were given.
    #[must_use]
    pub fn rows(&self) -> &[PeriodValue] {
        &self.rows
    }

    /// The chance of each of the 366 days of a leap year, such that each period keeps its share
    /// ([`daily_means`]); 0 outside all periods.
    #[must_use]
    pub fn by_day(&self) -> &[f64] {
        &self.by_day
    }

    /// The chance on each day of a record of `days` days that begins on `first`.
    #[must_use]
    pub fn on(&self, first: Date, days: usize) -> Vec<f64> {
        days_of_year(first).take(days).map(|day| self.by_day[day]).collect()
    }
}

/// The share of each period.
fn rows(
    first: Date,
    verdicts: &[Option<bool>],
    periods: &[(MonthDay, MonthDay)],
) -> Result<Vec<PeriodValue>, FitError> {
    let row = |(&(from, to), share): (&(MonthDay, MonthDay), Option<f64>)| {
        Ok(PeriodValue { from, to, value: share.ok_or(FitError::NoVerdicts { from, to })? })
    };
    periods.iter().zip(period_shares(first, verdicts, periods)).map(row).collect()
}

/// The share of suitable days in each of some periods (first and last day, both counted) of all years of a record
/// together, its first day `first`; nothing where no verdict of a period is known.
#[must_use]
pub fn period_shares(
    first: Date,
    verdicts: &[Option<bool>],
    periods: &[(MonthDay, MonthDay)],
) -> Vec<Option<f64>> {
    // By place in a leap year: known and suitable days.
    let mut days = [[0u32; 2]; 366];
    for (place, suits) in
        days_of_year(first).zip(verdicts).filter_map(|(day, verdict)| Some((day, (*verdict)?)))
    {
        days[place][0] += 1;
        days[place][1] += u32::from(suits);
    }
    let year = std::iter::successors(Some(LEAP_YEAR.0), |date| date.tomorrow().ok()).map(MonthDay::of);
    let year: Vec<(MonthDay, [u32; 2])> = year.zip(days).collect();
    let share = |&(from, to): &(MonthDay, MonthDay)| {
        let inside = year.iter().filter(|(day, _)| day.in_period(from, to));
        let [known, suitable] = inside.fold([0, 0], |sum, (_, of)| [sum[0] + of[0], sum[1] + of[1]]);
        (known > 0).then(|| f64::from(suitable) / f64::from(known))
    };
    periods.iter().map(share).collect()
}

fn leap_year() -> Result<Span, FitError> {
    Ok(Span::new(LEAP_YEAR.0, LEAP_YEAR.1)?)
}

/// The place in a leap year of each day from `first` on, 0 to 365.
pub(super) fn days_of_year(first: Date) -> impl Iterator<Item = usize> {
    std::iter::successors(Some(first), |date| date.tomorrow().ok()).map(|date| MonthDay::of(date).place())
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn days_keep_their_number_in_common_years() {
        let days: Vec<usize> = days_of_year(date(2023, 2, 27)).take(4).collect();
        assert_eq!(days, [57, 58, 60, 61]);
        let days: Vec<usize> = days_of_year(date(2024, 2, 28)).take(3).collect();
        assert_eq!(days, [58, 59, 60]);
        assert_eq!(days_of_year(date(2023, 12, 31)).take(2).collect::<Vec<_>>(), [365, 0]);
    }

    #[test]
    fn periods_keep_their_share_and_say_what_they_lack() {
        let md = |text: &str| text.parse::<MonthDay>().unwrap();
        let verdicts: Vec<_> = (0..731).map(|day| (day != 3).then_some(day % 3 == 0)).collect();
        let periods = [(md("11-16"), md("02-28")), (md("02-29"), md("02-29")), (md("03-01"), md("11-15"))];
        let shares = Shares::of(date(2023, 1, 1), &verdicts, &periods).unwrap();
        let mean: f64 = shares.by_day()[60..320].iter().sum::<f64>() / 260.0;
        assert!((mean - shares.rows()[2].value).abs() < 1e-12);
        let on = shares.on(date(2023, 2, 28), 2);
        assert_eq!(on, [shares.by_day()[58], shares.by_day()[60]]);
        let error = Shares::of(date(2023, 1, 1), &verdicts[..365], &periods).unwrap_err();
        assert_eq!(
            error.to_string(),
            "no day from 02-29 to 02-29 has a verdict: the record must know at least one"
        );
    }
}
