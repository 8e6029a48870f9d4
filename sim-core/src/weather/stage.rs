//! Stages of growth that come early in warm years and late in cold ones: by how many days, for each recorded year from
//! its temperatures, for drawn seasons by a draw. What moves with a stage is the farm's business.
//!
//! The clock is accumulated temperature (thermal time, degree-days): the sum over days of how far the mean temperature
//! lies above a base, below which plants stand still. That plants' stages keep to it rather than to the calendar is
//! common practice, no source; day length, drought and the drilling date move stages too and are not counted here.

use crate::kernel::draw::{Stream, name_hash};
use crate::weather::calendar::{MonthDay, days_between};
use crate::weather::record::Record;
use crate::weather::sky::SkySource;
use rand_distr::{Distribution as _, StandardNormal};
use statrs::statistics::Statistics as _;

/// The furthest that a stage moves, days: beyond a month and a half it would be another season's.
pub const FURTHEST_DAYS: i32 = 45;

/// The purpose of the draw of how late a season is.
const LATENESS: u64 = name_hash("stage earliness");

/// Which warmth brings a stage on, and when it has normally come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Warmth {
    /// The first day whose warmth counts; before `normally` in the same year.
    pub from: MonthDay,
    /// The day at whose close a middling year has come to the stage.
    pub normally: MonthDay,
    /// The mean temperature above which warmth counts, degrees Celsius.
    pub base_c: f64,
}

/// Why a record cannot say when a stage comes.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StageError {
    /// It has no temperatures.
    #[error(
        "the record notes no temperatures, from which early and late years are told: it needs tmean_c, or tmin_c and \
         tmax_c"
    )]
    NoTemperatures,
    /// No year has them all.
    #[error("no year of the record has temperatures on every day from {from} to {normally}")]
    NoYear {
        /// The first day whose warmth counts.
        from: MonthDay,
        /// The stage's day in a middling year.
        normally: MonthDay,
    },
    /// No year is warm enough.
    #[error("no day of the record from {from} to {normally} is warmer than `base_c`")]
    NoWarmth {
        /// The first day whose warmth counts.
        from: MonthDay,
        /// The stage's day in a middling year.
        normally: MonthDay,
    },
}

impl Warmth {
    /// By how many days the stage is later in each of `years` than in a middling one; less than 0 where it is earlier.
    ///
    /// A middling year's sum at the close of `normally` is the mean over the record's years; a year's day is the one at
    /// whose close its sum is nearest to that: half a day late or early at most, and as often the one as the other. It
    /// is at most [`FURTHEST_DAYS`] away. `None` where a temperature is missing before it.
    ///
    /// # Errors
    /// When the record's temperatures do not say what a middling year is.
    pub fn shifts(
        &self,
        record: &Record,
        years: impl Iterator<Item = i16>,
    ) -> Result<Vec<Option<i16>>, StageError> {
        let Self { from, normally, .. } = *self;
        if (0..record.days()).all(|day| record.temperature(day).is_none()) {
            return Err(StageError::NoTemperatures);
        }
        let whole =
            |year| Some(self.sums(record, year)?.nth(self.days(year)?)?.1).filter(|sum: &f64| !sum.is_nan());
        let all = record.first().year()..=record.last().year();
        let sums: Vec<f64> = all.filter_map(whole).collect();
        if sums.is_empty() {
            return Err(StageError::NoYear { from, normally });
        }
        let middling = sums.iter().sum::<f64>() / sums.len() as f64;
        if middling <= 0.0 {
            return Err(StageError::NoWarmth { from, normally });
        }
        Ok(years.map(|year| self.shift(record, year, middling)).collect())
    }

    fn shift(&self, record: &Record, year: i16, middling: f64) -> Option<i16> {
        let normally = self.days(year)?;
        let last = normally + FURTHEST_DAYS as usize;
        let mut before = 0.0;
        for (day, sum) in self.sums(record, year)?.take(last + 1) {
            if sum.is_nan() {
                return None;
            }
            if sum >= middling || day == last {
                let nearer_before = day > 0 && sum >= middling && middling - before < sum - middling;
                let reached = if nearer_before { day - 1 } else { day };
                return i16::try_from((reached as i32 - normally as i32).max(-FURTHEST_DAYS)).ok();
            }
            before = sum;
        }
        // The record ends before it.
        None
    }

    /// The sum at the close of each day from `from` on, numbered from 0; unknown from the first missing temperature on.
    fn sums<'a>(
        &self,
        record: &'a Record,
        year: i16,
    ) -> Option<impl Iterator<Item = (usize, f64)> + use<'a>> {
        let first = record.day_of(self.from.in_year_or_before(year)?)?;
        let base_c = self.base_c;
        let warmth = move |day| record.temperature(day).map_or(f64::NAN, |mean_c| (mean_c - base_c).max(0.0));
        Some(
            (first..record.days())
                .map(warmth)
                .scan(0.0, |sum, warmth: f64| {
                    *sum += warmth;
                    Some(*sum)
                })
                .enumerate(),
        )
    }

    /// Days from `from` to `normally`.
    fn days(&self, year: i16) -> Option<usize> {
        usize::try_from(days_between(
            self.from.in_year_or_before(year)?,
            self.normally.in_year_or_before(year)?,
        ))
        .ok()
    }
}

/// By how many days a stage is later or earlier than in a middling year.
#[derive(Debug, Clone, PartialEq)]
pub enum Stage {
    /// Each season draws how late it is: one standard normal for all stages of one calendar year, since a late year is
    /// late throughout.
    Drawn {
        /// Standard deviation over years, days.
        sd_days: f64,
        /// Which calendar year of the season it lies in, 0 the first.
        year: u32,
    },
    /// Each recorded year has its own, `None` where its temperatures do not say.
    Recorded(Vec<Option<i16>>),
}

impl Stage {
    /// By how many days years differ, as a standard deviation (of recorded years: the sample's, over those whose shift is
    /// known). `None` where fewer than two are known.
    ///
    /// ```
    /// use sim_core::weather::Stage;
    /// assert_eq!(Stage::Recorded(vec![Some(-5), None, Some(5), Some(0)]).sd_days(), Some(5.0));
    /// assert_eq!(Stage::Recorded(vec![Some(3), None]).sd_days(), None);
    /// assert_eq!(Stage::Drawn { sd_days: 6.0, year: 0 }.sd_days(), Some(6.0));
    /// ```
    #[must_use]
    pub fn sd_days(&self) -> Option<f64> {
        match self {
            Self::Drawn { sd_days, .. } => Some(*sd_days),
            // Of fewer than two it is not a number.
            Self::Recorded(years) => {
                let sd_days = years.iter().flatten().map(|days| f64::from(*days)).std_dev();
                Some(sd_days).filter(|sd_days| !sd_days.is_nan())
            }
        }
    }

    /// Days by which it is later under a sky that came from `source`, less than 0 where it is earlier; 0 where nothing
    /// is known of it, as under a sky that was given. At most [`FURTHEST_DAYS`] either way.
    #[must_use]
    pub fn shift_days(&self, source: SkySource) -> i32 {
        match (self, source) {
            (Self::Drawn { sd_days, year }, SkySource::Drawn { seed, season }) if *sd_days > 0.0 => {
                let mut generator = Stream::new(seed, season, LATENESS).generator(u64::from(*year));
                let lateness: f64 = StandardNormal.sample(&mut generator);
                ((sd_days * lateness).round() as i32).clamp(-FURTHEST_DAYS, FURTHEST_DAYS)
            }
            (Self::Recorded(years), SkySource::Recorded { year }) => {
                years.get(year as usize).copied().flatten().map_or(0, i32::from)
            }
            _ => 0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weather::record::Quantity;
    use jiff::ToSpan as _;
    use jiff::civil::{Date, date};
    use proptest::prelude::*;

    fn warmth(from: &str, normally: &str) -> Warmth {
        Warmth { from: from.parse().unwrap(), normally: normally.parse().unwrap(), base_c: 0.0 }
    }

    /// A record of mean temperatures from 1 January 2001 on, some years long.
    fn record(years: i16, mean_c: impl Fn(Date) -> f64) -> Record {
        let mut record = Record::new(&[Quantity::TemperatureMean]);
        let first = date(2001, 1, 1);
        for day in 0..days_between(first, date(2001 + years, 1, 1)) {
            let on = first.saturating_add(i64::from(day).days());
            record.push(on, &[mean_c(on)]).unwrap();
        }
        record
    }

    fn shifts(record: &Record, of: Warmth) -> Vec<Option<i16>> {
        of.shifts(record, record.first().year()..=record.last().year()).unwrap()
    }

    /// 10 and 20 degrees a day: at the close of 10 January 100 and 200 degree-days, 150 in the mean. The cold year has
    /// 150 on the 15th; the warm one 140 on the 7th and 160 on the 8th, of which the first that is reached counts.
    #[test]
    fn early_and_late_years_by_hand() {
        let of = warmth("01-01", "01-10");
        let two = record(2, |on| if on.year() == 2001 { 10.0 } else { 20.0 });
        assert_eq!(shifts(&two, of), [Some(5), Some(-2)]);
        // With the sum from 6 January: 50 and 100, 75 in the mean; 13 January has 80 and is further off than the 12th.
        let two = record(2, |on| if on.year() == 2001 { 10.0 } else { 20.6 });
        assert_eq!(shifts(&two, warmth("01-06", "01-10")), [Some(3), Some(-1)]);
        // Above a base of 15 the cold year never gets on.
        assert_eq!(shifts(&two, Warmth { base_c: 15.0, ..of }), [Some(45), Some(-5)]);
    }

    #[test]
    fn what_the_temperatures_do_not_say_is_not_told() {
        let of = warmth("01-01", "03-01");
        let gap = record(3, |on| if on == date(2002, 2, 10) { f64::NAN } else { 5.0 });
        assert_eq!(shifts(&gap, of), [Some(0), None, Some(0)]);
        assert_eq!(shifts(&gap, warmth("02-11", "03-01")), [Some(0); 3]);
        let ends = record(1, |_| 5.0);
        assert_eq!(of.shifts(&ends, 2000..=2002), Ok(vec![None, Some(0), None]));
        let refused = |record: &Record, of: Warmth| of.shifts(record, 2001..=2001).unwrap_err().to_string();
        assert_eq!(
            refused(&record(1, |on| if on.day() == 5 { f64::NAN } else { 5.0 }), of),
            "no year of the record has temperatures on every day from 01-01 to 03-01"
        );
        assert_eq!(
            refused(&ends, Warmth { base_c: 6.0, ..of }),
            "no day of the record from 01-01 to 03-01 is warmer than `base_c`"
        );
        let mut rain = Record::new(&[Quantity::Rain]);
        rain.push(date(2001, 1, 1), &[0.0]).unwrap();
        assert!(refused(&rain, of).contains("it needs tmean_c, or tmin_c and tmax_c"));
    }

    /// Over 20 000 seasons the mean is within four standard errors of 0, and the spread is what was asked for.
    #[test]
    fn drawn_stages_have_the_spread_asked_for_and_move_together() {
        let stage = |sd_days, year| Stage::Drawn { sd_days, year };
        let (mut sum, mut squares, mut apart) = (0.0, 0.0, 0);
        let seasons = 20_000;
        for season in 0..seasons {
            let source = SkySource::Drawn { seed: 5, season };
            let days = f64::from(stage(6.0, 0).shift_days(source));
            (sum, squares) = (sum + days, squares + days * days);
            let wider = f64::from(stage(12.0, 0).shift_days(source));
            assert!(wider.abs() > 44.0 || (wider - 2.0 * days).abs() <= 1.5, "{days} {wider}");
            apart += u32::from(stage(6.0, 1).shift_days(source) != days as i32);
            assert_eq!(stage(0.0, 0).shift_days(source), 0);
        }
        let mean = sum / seasons as f64;
        // Rounding to whole days adds 1/12 to the variance.
        let sd = (squares / seasons as f64 - mean * mean).sqrt();
        assert!(mean.abs() < 4.0 * 6.0 / (seasons as f64).sqrt(), "{mean}");
        assert!((sd - 36.083f64.sqrt()).abs() < 0.12, "{sd}");
        assert!(apart > 17_000, "another calendar year is another draw: {apart}");
        assert_eq!(stage(6.0, 0).shift_days(SkySource::Given), 0);
        assert_eq!(stage(6.0, 0).shift_days(SkySource::Recorded { year: 0 }), 0);
        let wild = (0..2_000).map(|season| stage(30.0, 0).shift_days(SkySource::Drawn { seed: 5, season }));
        assert_eq!((wild.clone().min(), wild.max()), (Some(-FURTHEST_DAYS), Some(FURTHEST_DAYS)));
    }

    proptest! {
        /// At the close of the day found the sum is nearer to the middling one than at any other, and a year that is
        /// warmer by the same every day is never later.
        #[test]
        fn the_day_found_is_the_nearest_and_warmth_brings_it_on(
            offsets in prop::collection::vec(-3.0..3.0f64, 2..6), warmer in 0.0..4.0f64
        ) {
            let of = warmth("02-01", "05-20");
            let years = offsets.len() as i16;
            let mean_c = |on: Date| {
                let season = f64::from(on.day_of_year()) / 15.0;
                season + offsets[(on.year() - 2001) as usize] + f64::from(on.day_of_year() % 7) - 3.0
            };
            let plain = record(years, mean_c);
            let found = shifts(&plain, of);
            let sums: Vec<Vec<f64>> =
                (2001..2001 + years).map(|year| of.sums(&plain, year).unwrap().map(|(_, sum)| sum).take(250).collect()).collect();
            let at = |year: usize| of.days(2001 + year as i16).unwrap();
            let middling = (0..offsets.len()).map(|year| sums[year][at(year)]).sum::<f64>() / offsets.len() as f64;
            for (year, shift) in found.iter().enumerate() {
                let shift = shift.unwrap();
                let off = |day: usize| (sums[year][day] - middling).abs();
                if shift.abs() < 45 {
                    let day = (at(year) as i32 + i32::from(shift)) as usize;
                    prop_assert!(sums[year].iter().enumerate().all(|(other, _)| off(day) <= off(other) + 1e-9));
                }
            }
            // The first year warmer: it is no later, and the others, now colder than the mean, are no earlier.
            let warm = record(years, |on| mean_c(on) + if on.year() == 2001 { warmer } else { 0.0 });
            let warm = shifts(&warm, of);
            prop_assert!(warm[0] <= found[0] && (1..offsets.len()).all(|year| warm[year] >= found[year]));
        }
    }
}
