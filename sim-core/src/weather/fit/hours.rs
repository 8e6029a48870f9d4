//! Workable hours of suitable days, from a record judged hour by hour: their mean and standard deviation by month.

use crate::weather::calendar::{MonthDay, Span};
use crate::weather::part_days::{WorkableHours, greatest_sd_h};
use jiff::civil::Date;

/// A month with fewer suitable days than this takes the figures of the whole year.
const DAYS_ENOUGH: usize = 10;

/// Workable hours of the suitable days of each month.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HoursFit {
    /// Mean in h, January first.
    pub mean_h: [f64; 12],
    /// Standard deviation in h.
    pub sd_h: [f64; 12],
}

impl HoursFit {
    /// The hours of a record's suitable days, the first day `first`; nothing where there is none.
    ///
    /// ```
    /// use jiff::civil::date;
    /// use sim_core::weather::fit::HoursFit;
    /// let verdicts: Vec<_> = (0..365).map(|day| Some(day % 2 == 0)).collect();
    /// let hours: Vec<f64> = (0..365).map(|day| if day % 4 == 0 { 4.0 } else { 8.0 }).collect();
    /// let fit = HoursFit::of(date(2023, 1, 1), &verdicts, &hours).unwrap();
    /// assert!((fit.mean_h[6] - 6.0).abs() < 0.2 && (fit.sd_h[6] - 2.0).abs() < 0.2);
    /// ```
    #[must_use]
    pub fn of(first: Date, verdicts: &[Option<bool>], hours: &[f64]) -> Option<Self> {
        let mut by_month: [Vec<f64>; 12] = Default::default();
        let dates = std::iter::successors(Some(first), |date| date.tomorrow().ok());
        for ((date, verdict), hours) in dates.zip(verdicts).zip(hours) {
            if *verdict == Some(true) && !hours.is_nan() {
                by_month[date.month() as usize - 1].push(*hours);
            }
        }
        let year: Vec<f64> = by_month.concat();
        if year.is_empty() {
            return None;
        }
        let figures = by_month.map(|month| moments(if month.len() < DAYS_ENOUGH { &year } else { &month }));
        Some(Self { mean_h: figures.map(|of| of.0), sd_h: figures.map(|of| of.1) })
    }

    /// Mean and standard deviation on a day of the year, h.
    #[must_use]
    pub fn on(&self, day: MonthDay) -> (f64, f64) {
        let month = day.month() as usize - 1;
        (self.mean_h[month], self.sd_h[month])
    }

    /// The hours of each day of a season.
    #[must_use]
    pub fn by_day(&self, span: Span) -> WorkableHours {
        let of = |day| self.on(MonthDay::of(span.date(day)));
        WorkableHours {
            mean_h: (0..span.days()).map(|day| of(day).0).collect(),
            sd_h: (0..span.days()).map(|day| of(day).1).collect(),
        }
    }
}

fn moments(hours: &[f64]) -> (f64, f64) {
    let n = hours.len() as f64;
    let mean = hours.iter().sum::<f64>() / n;
    let variance = hours.iter().map(|hours| (hours - mean) * (hours - mean)).sum::<f64>() / n;
    (mean, libm::sqrt(variance).min(greatest_sd_h(mean)))
}
