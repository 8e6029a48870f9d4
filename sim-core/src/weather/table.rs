//! From a table by period of the year to a value for each day of a season. What the values mean is not here.

use crate::weather::calendar::{MonthDay, Span, days_between};
use crate::weather::error::{WeatherError, within};

/// A row of a table: a value for a period of the year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PeriodValue {
    /// First day of the period.
    pub from: MonthDay,
    /// Last day; before `from` when the period runs over the turn of the year.
    pub to: MonthDay,
    /// The value: for [`daily_means`] the mean over the period's days, 0 to 1.
    pub value: f64,
}

/// The value of each day of `span`, running smoothly from period to period, such that the mean over each
/// period's days is the period's value.
///
/// The curve is a broken line with a node on each border of two adjacent periods and one in the middle of each
/// period. The border's node is the mean of its two periods' values, kept where both periods can still reach
/// their means within 0 to 1 (a period of 0 stays 0 to its last day); the middle's node then restores the
/// mean on the days there are, 29 February included. Two neighbours that differ by more than a half may have
/// no such border in common: then the curve jumps there. A table of one value stays constant. A day outside
/// all periods has 0, and nothing is interpolated over such a gap. All days are from 0 to 1.
///
/// # Errors
/// When there are no rows, a value is outside 0 to 1, or two periods share a day.
///
/// ```
/// use jiff::civil::date;
/// use sim_core::weather::{PeriodValue, Span, daily_means};
/// let row = |from: &str, to: &str, value| PeriodValue { from: from.parse().unwrap(), to: to.parse().unwrap(), value };
/// let table = [row("03-01", "03-31", 0.4), row("04-01", "04-30", 0.7)];
/// let span = Span::new(date(2026, 1, 1), date(2026, 12, 31)).unwrap();
/// let p = daily_means(&table, span).unwrap();
/// let march: f64 = p[59..90].iter().sum();
/// assert!((march / 31.0 - 0.4).abs() < 1e-12);
/// assert!(p[89] > 0.5 && p[0] == 0.0);
/// ```
pub fn daily_means(rows: &[PeriodValue], span: Span) -> Result<Vec<f64>, WeatherError> {
    check_values(rows)?;
    let occurrences = occurrences(rows, span)?;
    let mut values = vec![0.0; span.days() as usize];
    for (before, now, after) in with_neighbours(&occurrences) {
        let left = before.map_or(now.value, |o| border(now.value, o.value));
        let right = after.map_or(now.value, |o| border(now.value, o.value));
        let curve = Curve::keeping_mean(now.value, left, right, now.end - now.start);
        for day in now.start.max(0)..now.end.min(span.days() as i32) {
            values[day as usize] = curve.at(day - now.start).clamp(0.0, 1.0);
        }
    }
    Ok(values)
}

/// The value of each day of `span` where values build up from period to period and end at once, as the chance that land
/// has shut by a day: between the middles of two adjacent periods of which the later has more the value grows evenly, after
/// a period of 0 from the border on, and where the later has less it keeps its own to the border. A day outside all
/// periods has 0.
///
/// # Errors
/// As [`daily_means`].
///
/// ```
/// use jiff::civil::date;
/// use sim_core::weather::{PeriodValue, Span, daily_rises};
/// let row = |from: &str, to: &str, value| PeriodValue { from: from.parse().unwrap(), to: to.parse().unwrap(), value };
/// let shut = [row("10-01", "10-10", 0.2), row("10-11", "10-20", 0.7), row("10-21", "10-31", 0.0)];
/// let by_day = daily_rises(&shut, Span::new(date(2026, 10, 1), date(2026, 10, 31)).unwrap()).unwrap();
/// assert_eq!([0, 19, 20].map(|day| by_day[day]), [0.2, 0.7, 0.0]);
/// assert!((by_day[9] - 0.425).abs() < 1e-12 && (by_day[10] - 0.475).abs() < 1e-12);
/// ```
pub fn daily_rises(rows: &[PeriodValue], span: Span) -> Result<Vec<f64>, WeatherError> {
    check_values(rows)?;
    let occurrences = occurrences(rows, span)?;
    let mut values = vec![0.0; span.days() as usize];
    for (before, now, after) in with_neighbours(&occurrences) {
        let middle = now.middle();
        // From where to where it grows before and after the middle.
        let before = before.filter(|o| o.value < now.value).map(|o| match o.value {
            0.0 => (f64::from(now.start), 0.0),
            value => (o.middle(), value),
        });
        let after = after.filter(|o| o.value > now.value && now.value > 0.0).map(|o| (o.middle(), o.value));
        for day in now.start.max(0)..now.end.min(span.days() as i32) {
            let at = f64::from(day) + 0.5;
            let other = if at < middle { before } else { after };
            values[day as usize] = other.map_or(now.value, |(place, value)| {
                now.value + (value - now.value) * (at - middle) / (place - middle)
            });
        }
    }
    Ok(values)
}

/// The value of each day of `span` as a step function: a period's value on its days, `outside` on days outside
/// all periods. Without rows every day has `outside`.
///
/// # Errors
/// When two periods share a day.
pub fn daily_steps(rows: &[PeriodValue], span: Span, outside: f64) -> Result<Vec<f64>, WeatherError> {
    let mut values = vec![outside; span.days() as usize];
    if rows.is_empty() {
        return Ok(values);
    }
    for now in occurrences(rows, span)? {
        for day in now.start.max(0)..now.end.min(span.days() as i32) {
            values[day as usize] = now.value;
        }
    }
    Ok(values)
}

/// Checks that the values are chances.
fn check_values(rows: &[PeriodValue]) -> Result<(), WeatherError> {
    for (index, row) in rows.iter().enumerate() {
        let field = || format!("row {} ({} to {}): value", index + 1, row.from, row.to);
        within(field, row.value, 0.0..=1.0, "0 to 1")?;
    }
    Ok(())
}

/// One period in one year, as days from the season's first; `end` is not in it.
struct Occurrence {
    start: i32,
    end: i32,
    value: f64,
}

/// Each occurrence with the one before it and the one after it, where they share a border with it.
fn with_neighbours(
    all: &[Occurrence],
) -> impl Iterator<Item = (Option<&Occurrence>, &Occurrence, Option<&Occurrence>)> {
    all.iter().enumerate().map(|(index, now)| {
        let before = index.checked_sub(1).map(|before| &all[before]).filter(|before| before.end == now.start);
        let after = all.get(index + 1).filter(|after| after.start == now.end);
        (before, now, after)
    })
}

impl Occurrence {
    /// Its middle, in days from the start of the season's first.
    fn middle(&self) -> f64 {
        f64::from(self.start + self.end) / 2.0
    }
}

/// Every period in every year that could touch the span or a neighbour of what touches it, in order.
fn occurrences(rows: &[PeriodValue], span: Span) -> Result<Vec<Occurrence>, WeatherError> {
    if rows.is_empty() {
        return Err(WeatherError::NoPeriods);
    }
    for (first, a) in rows.iter().enumerate() {
        for (second, b) in rows.iter().enumerate().skip(first + 1) {
            // Two periods that share a day share one at which one of them starts.
            let shared =
                [a.from, b.from].into_iter().find(|d| d.in_period(a.from, a.to) && d.in_period(b.from, b.to));
            if let Some(day) = shared {
                return Err(WeatherError::PeriodOverlap { first: first + 1, second: second + 1, day });
            }
        }
    }
    // A period may start in the year before the span's first, and its neighbour a year before that.
    let years = span.first().year() - 2..=span.last().year() + 1;
    let mut all = Vec::with_capacity(rows.len() * years.clone().count());
    for year in years {
        for row in rows {
            let end_year = if row.to < row.from { year + 1 } else { year };
            let (Some(first), Some(after)) = (
                row.from.in_year_or_after(year),
                row.to.in_year_or_before(end_year).and_then(|last| last.tomorrow().ok()),
            ) else {
                continue;
            };
            let (start, end) = (days_between(span.first(), first), days_between(span.first(), after));
            // A period of only 29 February has no days in a common year.
            if start < end {
                all.push(Occurrence { start, end, value: row.value });
            }
        }
    }
    all.sort_by_key(|o| o.start);
    Ok(all)
}

/// The value on the border of a period of mean `own` with a neighbour of mean `other`, as `own` sees it.
fn border(own: f64, other: f64) -> f64 {
    let mean = f64::midpoint(own, other);
    let (low, high) = ((2.0 * own - 1.0).max(2.0 * other - 1.0), (2.0 * own).min(2.0 * other));
    if low <= high { mean.clamp(low, high) } else { mean.clamp(2.0 * own - 1.0, 2.0 * own) }
}

/// The broken line of one period over its days: `left` at its start, `middle` half-way, `right` at its end.
struct Curve {
    left: f64,
    middle: f64,
    right: f64,
    days: i32,
}

impl Curve {
    /// The curve whose mean over the middles of `days` days is `mean`.
    fn keeping_mean(mean: f64, left: f64, right: f64, days: i32) -> Self {
        if left == mean && right == mean {
            return Self { left, middle: mean, right, days };
        }
        let ends = Self { left, middle: 0.0, right, days };
        let unit = Self { left: 0.0, middle: 1.0, right: 0.0, days };
        let sum = |curve: &Self| (0..days).map(|day| curve.at(day)).sum::<f64>();
        Self { middle: (mean * f64::from(days) - sum(&ends)) / sum(&unit), ..ends }
    }

    /// The value in the middle of day `day` of the period.
    fn at(&self, day: i32) -> f64 {
        // From 0 at the start over 1 half-way to 2 at the end.
        let x = f64::from(2 * day + 1) / f64::from(self.days);
        if x <= 1.0 {
            self.left + (self.middle - self.left) * x
        } else {
            self.middle + (self.right - self.middle) * (x - 1.0)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::{Date, date};
    use proptest::prelude::*;

    fn row(from: &str, to: &str, value: f64) -> PeriodValue {
        PeriodValue { from: from.parse().unwrap(), to: to.parse().unwrap(), value }
    }

    fn span(first: Date, last: Date) -> Span {
        Span::new(first, last).unwrap()
    }

    #[test]
    fn a_table_of_one_value_stays_constant_to_the_bit() {
        let table = [row("12-15", "03-10", 0.35), row("03-11", "07-01", 0.35), row("07-02", "12-14", 0.35)];
        let p = daily_means(&table, span(date(2023, 8, 1), date(2024, 8, 31))).unwrap();
        assert!(p.iter().all(|p| *p == 0.35));
    }

    #[test]
    fn a_gap_is_zero_and_its_edges_are_not_interpolated() {
        let table = [row("03-01", "04-30", 0.6), row("06-01", "06-30", 0.2)];
        let p = daily_means(&table, span(date(2026, 1, 1), date(2026, 12, 31))).unwrap();
        for (day, want) in
            [(0, 0.0), (58, 0.0), (59, 0.6), (119, 0.6), (120, 0.0), (150, 0.0), (151, 0.2), (181, 0.0)]
        {
            assert_eq!(p[day], want, "day {day}");
        }
    }

    #[test]
    fn never_and_always_hold_to_the_border() {
        let table = [row("01-01", "06-30", 0.0), row("07-01", "12-31", 1.0)];
        let p = daily_means(&table, span(date(2026, 1, 1), date(2026, 12, 31))).unwrap();
        assert!(p[..181].iter().all(|p| *p == 0.0) && p[181..].iter().all(|p| *p == 1.0));
    }

    #[test]
    fn mistakes_name_row_value_and_range() {
        let year = span(date(2026, 1, 1), date(2026, 12, 31));
        let text = |rows: &[PeriodValue]| daily_means(rows, year).unwrap_err().to_string();
        assert_eq!(text(&[]), "the table has no rows: give at least one period");
        assert_eq!(
            text(&[row("03-01", "03-31", 0.5), row("04-01", "04-30", 1.3)]),
            "row 2 (04-01 to 04-30): value is 1.3: permitted is 0 to 1"
        );
        assert_eq!(
            text(&[row("11-01", "02-28", 0.5), row("03-01", "03-31", 0.5), row("02-20", "02-25", 0.1)]),
            "periods 1 and 3 both hold 02-20: a day may be in one period only"
        );
        assert_eq!(
            daily_steps(&[row("02-20", "02-25", 0.5), row("02-10", "02-20", 0.5)], year, 0.0)
                .unwrap_err()
                .to_string(),
            "periods 1 and 2 both hold 02-20: a day may be in one period only"
        );
    }

    #[test]
    fn steps_hold_their_value_and_the_rest_is_outside() {
        let table = [row("12-01", "01-31", 0.2), row("02-01", "02-29", 0.4)];
        let steps = daily_steps(&table, span(date(2024, 1, 1), date(2024, 12, 31)), 0.9).unwrap();
        assert_eq!((steps[0], steps[30], steps[31], steps[59], steps[60]), (0.2, 0.2, 0.4, 0.4, 0.9));
        assert_eq!((steps[334], steps[335], steps[365]), (0.9, 0.2, 0.2));
        assert_eq!(daily_steps(&[], span(date(2024, 1, 1), date(2024, 1, 3)), 1.0).unwrap(), [1.0; 3]);
    }

    /// Periods that cut the whole year at given days of a leap year, with values of every kind.
    fn whole_year() -> impl Strategy<Value = Vec<PeriodValue>> {
        let value = prop_oneof![Just(0.0), Just(1.0), 0.0..=1.0];
        prop::collection::btree_set(0u32..366, 1..14).prop_flat_map(move |cuts| {
            let cuts: Vec<u32> = cuts.into_iter().collect();
            prop::collection::vec(value.clone(), cuts.len()).prop_map(move |values| {
                let leap = span(date(2024, 1, 1), date(2024, 12, 31));
                let day = |d: u32| MonthDay::of(leap.date(d % 366));
                (0..cuts.len())
                    .map(|i| {
                        let next = cuts[(i + 1) % cuts.len()];
                        PeriodValue { from: day(cuts[i]), to: day(next + 365), value: values[i] }
                    })
                    .collect()
            })
        })
    }

    proptest! {
        /// Each period keeps its mean over its days, in leap and common years and over the turn of the
        /// year; every day is a probability.
        #[test]
        fn every_period_keeps_its_mean(rows in whole_year(), first_year in 2020i16..2026) {
            let two_years = span(date(first_year, 1, 1), date(first_year + 1, 12, 31));
            let p = daily_means(&rows, two_years).unwrap();
            prop_assert!(p.iter().all(|p| (0.0..=1.0).contains(p)));
            for now in occurrences(&rows, two_years).unwrap() {
                if now.start < 0 || now.end > two_years.days() as i32 {
                    continue;
                }
                let days = &p[now.start as usize..now.end as usize];
                let mean = days.iter().sum::<f64>() / days.len() as f64;
                prop_assert!((mean - now.value).abs() < 1e-12, "{mean} for {}", now.value);
            }
        }

        /// A season that starts in August has the same days as the years it lies in.
        #[test]
        fn the_curve_is_by_day_of_the_year(rows in whole_year(), first_year in 2020i16..2026) {
            let two_years = span(date(first_year, 1, 1), date(first_year + 1, 12, 31));
            let season = span(date(first_year, 8, 1), date(first_year + 1, 8, 31));
            let offset = two_years.day_of(season.first()).unwrap() as usize;
            let whole = daily_means(&rows, two_years).unwrap();
            let part = daily_means(&rows, season).unwrap();
            prop_assert_eq!(&whole[offset..offset + part.len()], &part[..]);
        }

        /// Between neighbours that differ by at most a half the curve does not jump: the two days beside a
        /// border lie within the steps of the two lines that meet there.
        #[test]
        fn close_neighbours_meet(a in 0.0f64..=1.0, b in 0.0f64..=1.0) {
            let meet = border(a, b) == border(b, a);
            prop_assert!(meet || (a - b).abs() > 0.5);
        }
    }
}
