//! What is fitted: verdicts on the days of a record, the part of each year that is looked at, and what can be counted
//! in it without any model.

use crate::weather::calendar::MonthDay;
use crate::weather::error::{WeatherError, within};
use jiff::civil::Date;
use std::ops::Range;

/// The verdicts of one key on every day of a record, beside the chance that the day of the year has over the years.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Series<'a> {
    verdicts: &'a [Option<bool>],
    p: &'a [f64],
}

impl<'a> Series<'a> {
    /// `verdicts` has for each day whether it was suitable, `None` where that is unknown; `p` the chance of the same
    /// day, 0 to 1, as [`Shares::on`](crate::weather::fit::Shares::on) gives it.
    ///
    /// # Errors
    /// When a chance is outside 0 to 1.
    ///
    /// # Panics
    /// When there is not one chance for each verdict.
    pub fn new(verdicts: &'a [Option<bool>], p: &'a [f64]) -> Result<Self, WeatherError> {
        assert_eq!(verdicts.len(), p.len(), "one chance for each verdict");
        for (day, p) in p.iter().enumerate() {
            within(|| format!("the chance of day {day} of the record"), *p, 0.0..=1.0, "0 to 1")?;
        }
        Ok(Self { verdicts, p })
    }

    /// The verdicts.
    #[must_use]
    pub fn verdicts(&self) -> &'a [Option<bool>] {
        self.verdicts
    }

    /// The chances.
    #[must_use]
    pub fn p(&self) -> &'a [f64] {
        self.p
    }

    /// How far the day is off its chance; `None` where the verdict is unknown.
    pub(super) fn deviation(&self, day: usize) -> Option<f64> {
        self.verdicts[day].map(|suitable| f64::from(u8::from(suitable)) - self.p[day])
    }
}

/// A part of the year in one year of a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Occurrence {
    /// Its days in the record.
    pub days: Range<usize>,
    /// Whether the record has it from its first day to its last.
    pub whole: bool,
}

/// A part of the year wherever a record has it. Years are apart: no two days of different occurrences are ever paired.
///
/// ```
/// use jiff::civil::date;
/// use sim_core::weather::fit::Block;
/// let winter = Block::of_period(date(2020, 1, 1), 731, "12-01".parse().unwrap(), "02-14".parse().unwrap());
/// let days: Vec<_> = winter.occurrences().iter().map(|year| (year.days.clone(), year.whole)).collect();
/// assert_eq!(days, [(0..45, false), (335..411, true), (700..731, false)]);
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Block {
    occurrences: Vec<Occurrence>,
}

impl Block {
    /// Seasons of `days` days that follow one another in a record.
    #[must_use]
    pub fn of_seasons(seasons: usize, days: usize) -> Self {
        let season = |index: usize| Occurrence { days: index * days..(index + 1) * days, whole: true };
        Self { occurrences: (0..seasons).map(season).collect() }
    }

    /// The days `from` to `to`, both counted, in a record of `days` days that begins on `first`; a `to` before `from`
    /// lies in the next year.
    #[must_use]
    pub fn of_period(first: Date, days: usize, from: MonthDay, to: MonthDay) -> Self {
        let mut occurrences: Vec<Occurrence> = Vec::new();
        let mut date = first;
        for day in 0..days {
            let today = MonthDay::of(date);
            if today.in_period(from, to) {
                let starts = starts(date, from);
                match occurrences.last_mut() {
                    Some(last) if last.days.end == day && !starts => last.days.end += 1,
                    _ => occurrences.push(Occurrence { days: day..day + 1, whole: starts }),
                }
            }
            let Ok(tomorrow) = date.tomorrow() else { break };
            date = tomorrow;
        }
        // The record's last day may cut one off: it is whole if the day after is no longer of this occurrence.
        if let Some(last) = occurrences.last_mut().filter(|last| last.days.end == days) {
            last.whole &= !MonthDay::of(date).in_period(from, to) || starts(date, from);
        }
        Self { occurrences }
    }

    /// The occurrences in the order of the record.
    #[must_use]
    pub fn occurrences(&self) -> &[Occurrence] {
        &self.occurrences
    }

    /// The days of those occurrences that are whole and have no unknown day in `series`.
    pub(super) fn known(&self, series: Series<'_>) -> impl Iterator<Item = Range<usize>> {
        self.occurrences
            .iter()
            .filter(move |year| year.whole && series.verdicts[year.days.clone()].iter().all(Option::is_some))
            .map(|year| year.days.clone())
    }
}

/// Whether a part of the year that begins on `from` begins on `date`; 29 February of a common year is 1 March.
fn starts(date: Date, from: MonthDay) -> bool {
    from.in_year_or_after(date.year()) == Some(date)
}

/// The number of suitable days of each year, over the years that are whole and known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Counts {
    /// How many years.
    pub years: usize,
    /// Mean number of suitable days.
    pub mean: f64,
    /// Variance between the years (of a sample: over `years - 1`), in days squared; `NAN` when there are fewer than two.
    pub variance: f64,
    /// The same of the number less the sum of the year's chances: equal unless the years differ in their days.
    pub variance_about_p: f64,
}

impl Counts {
    /// Counts the suitable days of `series` in each year of `block`.
    #[must_use]
    pub fn of(block: &Block, series: Series<'_>) -> Self {
        let (mut counts, mut about_p) = (Vec::new(), Vec::new());
        for days in block.known(series) {
            let count =
                series.verdicts[days.clone()].iter().filter(|verdict| **verdict == Some(true)).count() as f64;
            counts.push(count);
            about_p.push(count - series.p[days].iter().sum::<f64>());
        }
        let (mean, variance) = mean_and_variance(&counts);
        Self { years: counts.len(), mean, variance, variance_about_p: mean_and_variance(&about_p).1 }
    }
}

fn mean_and_variance(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    (
        mean,
        if n < 2.0 {
            f64::NAN
        } else {
            values.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / (n - 1.0)
        },
    )
}

/// The days of a part of the year taken as alike: how often a suitable day follows each kind of day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoState {
    /// Share of suitable days.
    pub p: f64,
    /// Chance of a suitable day after an unsuitable one; `NAN` when there is none.
    pub after_unsuitable: f64,
    /// Chance of a suitable day after a suitable one; `NAN` when there is none.
    pub after_suitable: f64,
}

impl TwoState {
    /// Counts days and pairs of neighbouring days, both known, of `verdicts` in the years of `block`.
    #[must_use]
    pub fn of(block: &Block, verdicts: &[Option<bool>]) -> Self {
        // By yesterday's verdict: pairs, and those whose today is suitable.
        let (mut pairs, mut suitable) = ([0.0; 2], [0.0; 2]);
        let (mut known, mut good) = (0.0, 0.0);
        for year in &block.occurrences {
            let days = &verdicts[year.days.clone()];
            for today in days.iter().flatten() {
                known += 1.0;
                good += f64::from(u8::from(*today));
            }
            for pair in days.windows(2) {
                if let [Some(yesterday), Some(today)] = *pair {
                    pairs[usize::from(yesterday)] += 1.0;
                    suitable[usize::from(yesterday)] += f64::from(u8::from(today));
                }
            }
        }
        Self {
            p: good / known,
            after_unsuitable: suitable[0] / pairs[0],
            after_suitable: suitable[1] / pairs[1],
        }
    }

    /// The chain's lag-1 correlation.
    #[must_use]
    pub fn rho(&self) -> f64 {
        self.after_suitable - self.after_unsuitable
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn a_whole_year_is_cut_at_each_of_its_starts() {
        let md = |text: &str| text.parse::<MonthDay>().unwrap();
        let block = Block::of_period(date(2023, 1, 1), 3 * 365 + 1, md("03-01"), md("02-29"));
        let days: Vec<_> = block.occurrences().iter().map(|year| (year.days.clone(), year.whole)).collect();
        assert_eq!(days, [(0..59, false), (59..425, true), (425..790, true), (790..1096, false)]);
        // A record that ends with the block's last day has it whole.
        let block = Block::of_period(date(2023, 1, 1), 365, md("12-01"), md("12-31"));
        assert_eq!(block.occurrences(), [Occurrence { days: 334..365, whole: true }]);
    }

    #[test]
    fn counts_and_transitions_leave_out_what_is_unknown() {
        let verdicts: Vec<_> = [1, 1, 0, 0, 1, 2, 1, 0, 0]
            .map(|verdict| if verdict == 2 { None } else { Some(verdict == 1) })
            .to_vec();
        let p = vec![0.5; 9];
        let series = Series::new(&verdicts, &p).unwrap();
        let block = Block::of_seasons(3, 3);
        let counts = Counts::of(&block, series);
        assert_eq!((counts.years, counts.mean, counts.variance), (2, 1.5, 0.5));
        let chain = TwoState::of(&block, &verdicts);
        assert_eq!((chain.p, chain.after_suitable, chain.after_unsuitable), (0.5, 1.0 / 3.0, 0.5));
        assert_eq!(chain.rho(), 1.0 / 3.0 - 0.5);
        assert_eq!(
            Series::new(&verdicts, &[1.5; 9]).unwrap_err().to_string(),
            "the chance of day 0 of the record is 1.5: permitted is 0 to 1"
        );
    }
}
