//! What a farm under recorded years knows of rain and soil in the morning: the days before, up to yesterday's close.
//! What it makes of that is the policy's business.

use crate::weather::calendar::Span;
use crate::weather::record::{Quantity, Record};
use crate::weather::recorded::in_year;
use crate::weather::soil::Drainage;
use crate::weather::workability::RainDay;

/// Rain and soil of a record's days, and where in them the days of each recorded season lie.
#[derive(Debug, Clone, Default)]
pub struct Ground {
    /// Day by day in mm, `NAN` where unknown; empty if the record has none at all.
    rain: Vec<f32>,
    topsoil: Vec<f32>,
    /// In the order of [`Drainage::ALL`].
    deficits: [Vec<f32>; 3],
    /// The record's day of each season's day, season after season.
    places: Vec<u32>,
    /// Days in a season.
    days: usize,
}

/// The same numbers, unknown ones included.
impl PartialEq for Ground {
    fn eq(&self, other: &Self) -> bool {
        let alike = |one: &[f32], other: &[f32]| {
            one.len() == other.len()
                && one.iter().zip(other).all(|(one, other)| one.to_bits() == other.to_bits())
        };
        (self.days, &self.places) == (other.days, &other.places)
            && alike(&self.rain, &other.rain)
            && alike(&self.topsoil, &other.topsoil)
            && self.deficits.iter().zip(&other.deficits).all(|(one, other)| alike(one, other))
    }
}

impl Ground {
    /// What a record has of rain and soil, for seasons of `span` that begin in these years. Nothing is worked out
    /// here: see [`prepare`](crate::weather::prepare()).
    #[must_use]
    pub fn new(record: &Record, rain_day: RainDay, span: Span, years: impl Iterator<Item = i16>) -> Self {
        let compact = |values: &[f64]| values.iter().map(|mm| *mm as f32).collect();
        let of = |quantity| record.of(quantity).map_or_else(Vec::new, compact);
        let place =
            |year, day| in_year(span, day, year).and_then(|date| record.day_of(date)).unwrap_or_default();
        Self {
            rain: record.of(Quantity::Rain).map_or_else(Vec::new, |noted| compact(&rain_day.by_day(noted))),
            topsoil: of(Quantity::Topsoil),
            deficits: Drainage::ALL.map(|drainage| of(drainage.deficit())),
            places: years.flat_map(|year| (0..span.days()).map(move |day| place(year, day) as u32)).collect(),
            days: span.days() as usize,
        }
    }

    /// The day before a season's day, in the recorded year of this index; nothing if the record does not reach back to
    /// it.
    #[inline]
    #[must_use]
    pub fn before(&self, year: usize, day: u32) -> Option<Yesterday<'_>> {
        let day = Some(day as usize).filter(|day| *day < self.days)?;
        let today = *self.places.get(year * self.days + day)?;
        Some(Yesterday { ground: self, day: today.checked_sub(1)? })
    }
}

/// What is known of rain and soil at yesterday's close, from a record. Of today and of later days it tells nothing.
///
/// On a 29 February that the recorded year does not have, the day is the 28th a second time, and yesterday the 27th.
#[derive(Debug, Clone, Copy)]
pub struct Yesterday<'a> {
    ground: &'a Ground,
    /// The record's day.
    day: u32,
}

impl Yesterday<'_> {
    /// Soil moisture deficit of soil that drains so, in mm; below 0 it is wetter than field capacity. `None` where the
    /// record does not say.
    #[must_use]
    pub fn deficit_mm(&self, drainage: Drainage) -> Option<f64> {
        self.of(&self.ground.deficits[drainage as usize])
    }

    /// Water gone from the layer at the surface, in mm: 0 is wet through. `None` where the record does not say.
    #[must_use]
    pub fn topsoil_mm(&self) -> Option<f64> {
        self.of(&self.ground.topsoil)
    }

    /// Rain of the `days` days that ended yesterday, in mm; they may begin before the season. `None` where the record
    /// does not say of one of them. Rain noted to the morning ([`RainDay::ToTheMorning`]) is yesterday's where it is
    /// read this morning, as rules count it.
    #[must_use]
    pub fn rain_mm(&self, days: u32) -> Option<f64> {
        let past = self.day as usize + 1;
        let rain = self.ground.rain.get(past.checked_sub(days as usize)?..past)?;
        let sum: f64 = rain.iter().map(|mm| told_mm(*mm)).sum();
        Some(sum).filter(|sum| !sum.is_nan())
    }

    fn of(&self, series: &[f32]) -> Option<f64> {
        series.get(self.day as usize).map(|mm| told_mm(*mm)).filter(|mm| !mm.is_nan())
    }
}

/// A value as it was noted: four decimals undo what the compact series loses, so that 4.1 mm is not below 4.1.
fn told_mm(mm: f32) -> f64 {
    (f64::from(mm) * 1e4).round() / 1e4
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;
    use proptest::prelude::*;

    /// A record from 30 December 2002 to the end of 2005 of rain and the deficit of poorly drained soil.
    fn record(value: impl Fn(usize) -> [f64; 2]) -> Record {
        let mut record = Record::new(&[Quantity::Rain, Quantity::DeficitPoor]);
        let first = date(2002, 12, 30);
        for day in 0..(2 + 365 + 366 + 365) {
            record.push(first.saturating_add(jiff::Span::new().days(day as i64)), &value(day)).unwrap();
        }
        record
    }

    fn common_year() -> Span {
        Span::new(date(2025, 1, 1), date(2025, 12, 31)).unwrap()
    }

    #[test]
    fn the_days_before_are_those_of_the_recorded_year() {
        let record = record(|day| [1.0, day as f64 / 8.0]);
        let ground = Ground::new(&record, RainDay::OfTheDay, common_year(), 2003..=2005);
        let deficit = |year, day| ground.before(year, day).unwrap().deficit_mm(Drainage::Poor);
        // 1 January of the first year is the record's third day, its yesterday the second.
        assert_eq!(deficit(0, 0), Some(1.0 / 8.0));
        // 1 March 2004 comes after a 29 February, which is the day before it.
        assert_eq!(deficit(1, 59), Some((2 + 365 + 59) as f64 / 8.0));
        assert_eq!(deficit(2, 0), Some((2 + 365 + 365) as f64 / 8.0));
        assert_eq!(ground.before(0, 0).unwrap().rain_mm(2), Some(2.0));
        assert_eq!(ground.before(0, 0).unwrap().rain_mm(3), None);
        assert_eq!(ground.before(0, 0).unwrap().rain_mm(0), Some(0.0));
        assert_eq!(ground.before(0, 0).unwrap().deficit_mm(Drainage::Well), None);
        assert_eq!(ground.before(0, 0).unwrap().topsoil_mm(), None);
        assert!(ground.before(3, 0).is_none() && ground.before(0, 365).is_none());
        let from_the_start = Ground::new(
            &record,
            RainDay::OfTheDay,
            Span::new(date(2025, 12, 30), date(2025, 12, 31)).unwrap(),
            2002..=2002,
        );
        assert!(from_the_start.before(0, 0).is_none() && from_the_start.before(0, 1).is_some());
    }

    #[test]
    fn a_leap_day_that_the_year_lacks_knows_what_the_28th_knew() {
        let record = record(|day| [0.0, day as f64 / 8.0]);
        let leap_year = Span::new(date(2024, 1, 1), date(2024, 12, 31)).unwrap();
        let ground = Ground::new(&record, RainDay::OfTheDay, leap_year, 2003..=2003);
        let [on_28th, on_29th, on_first] =
            [58, 59, 60].map(|day| ground.before(0, day).unwrap().deficit_mm(Drainage::Poor));
        assert_eq!((on_28th, on_first), (on_29th, on_28th.map(|mm| mm + 1.0 / 8.0)));
    }

    #[test]
    fn what_is_unknown_is_not_told_and_equal_to_itself() {
        let record = record(|day| [if day == 40 { f64::NAN } else { 1.0 }, f64::NAN]);
        let ground = Ground::new(&record, RainDay::OfTheDay, common_year(), 2003..=2005);
        let rain = |day| ground.before(0, day).unwrap().rain_mm(3);
        assert_eq!([rain(38), rain(39), rain(41), rain(42)], [Some(3.0), None, None, Some(3.0)]);
        assert_eq!(ground.before(0, 9).unwrap().deficit_mm(Drainage::Poor), None);
        assert_eq!(ground, Ground::new(&record, RainDay::OfTheDay, common_year(), 2003..=2005));
        assert_ne!(ground, Ground::new(&record, RainDay::OfTheDay, common_year(), 2003..=2004));
    }

    #[test]
    fn a_value_is_told_as_it_was_noted() {
        let record = record(|day| [day as f64 / 10.0, (day as f64 - 700.0) / 10.0]);
        let ground = Ground::new(&record, RainDay::OfTheDay, common_year(), 2003..=2003);
        for day in 0..365 {
            let yesterday = ground.before(0, day).unwrap();
            assert_eq!(yesterday.rain_mm(1), Some(f64::from(day + 1) / 10.0));
            assert_eq!(yesterday.deficit_mm(Drainage::Poor), Some((f64::from(day + 1) - 700.0) / 10.0));
        }
    }

    #[test]
    fn rain_read_this_morning_is_yesterdays() {
        let record = record(|day| [day as f64, 0.0]);
        let rain = |rain_day| {
            Ground::new(&record, rain_day, common_year(), 2003..=2003).before(0, 7).unwrap().rain_mm(2)
        };
        assert_eq!(rain(RainDay::OfTheDay), Some(7.0 + 8.0));
        assert_eq!(rain(RainDay::ToTheMorning), Some(8.0 + 9.0));
    }

    proptest! {
        /// Whatever today and the days after it bring, this morning's knowledge is the same; yesterday's counts.
        #[test]
        fn today_and_later_days_are_not_known(
            year in 0usize..3, day in 0u32..365, rain in 0.0..50.0f64, days in 1u32..40
        ) {
            let plain = |day: usize| [(day % 7) as f64, day as f64 / 8.0];
            let changed_from = |from: usize| {
                let record = record(|day| if day < from { plain(day) } else { [10.0 + rain, -rain - 1.0] });
                let ground = Ground::new(&record, RainDay::OfTheDay, common_year(), 2003..=2005);
                let yesterday = ground.before(year, day).unwrap();
                (yesterday.deficit_mm(Drainage::Poor), yesterday.rain_mm(days))
            };
            let known = changed_from(usize::MAX);
            let today = Ground::new(&record(plain), RainDay::OfTheDay, common_year(), 2003..=2005).places[year * 365 + day as usize];
            prop_assert_eq!(known, changed_from(today as usize));
            let changed = changed_from(today as usize - 1);
            prop_assert!(known.0 != changed.0 && (known.1.is_none() || known.1 != changed.1));
        }
    }
}
