//! Recorded years as the weather of seasons: worked as they were, one after another, or drawn whole. How their days
//! were judged is in [`workability`](crate::weather::workability).

use crate::kernel::draw::{Stream, name_hash};
use crate::weather::calendar::{MonthDay, Span};
use crate::weather::error::WeatherError;
use crate::weather::part_days::PartDays;
use crate::weather::sky::{Sky, SkySource, WHOLE_DAY_MIN};
use crate::weather::spec::WeatherSpec;
use crate::weather::yesterday::Ground;
use jiff::civil::Date;
use std::sync::Arc;

/// In which order recorded years become seasons.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// Season 0 is the first year, and so on; after the last it begins again.
    Replay,
    /// Every season draws a whole year, each as likely as another.
    Resample,
}

/// A recorded year as the sky of a season.
#[derive(Debug, Clone, PartialEq)]
pub struct YearSky {
    /// The year in which the season begins.
    pub year: i16,
    /// The days that suit each key. A day whose verdict is unknown suits none.
    pub sky: Sky,
    /// Verdicts that are unknown, all keys together.
    pub unknown: usize,
}

/// Recorded years, and the order in which they become seasons.
///
/// ```
/// use jiff::civil::date;
/// use sim_core::weather::{Order, Recorded, Sky, Span};
/// let span = Span::new(date(2025, 3, 1), date(2025, 3, 3)).unwrap();
/// // A record of two years in which only 2 March 2001 suits.
/// let mut days = vec![Some(false); 730];
/// days[365 + 60] = Some(true);
/// let recorded = Recorded::new(Order::Replay, date(2000, 1, 2), &[&days], &[], span);
/// assert_eq!(recorded.years().iter().map(|year| year.year).collect::<Vec<_>>(), [2000, 2001]);
/// let mut sky = Sky::default();
/// recorded.draw(1, 3, &mut sky);
/// assert_eq!(recorded.year_of(1, 3), 2001);
/// assert!(sky.suitable(0, 1) && !sky.suitable(0, 0));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Recorded {
    order: Order,
    years: Vec<YearSky>,
    ground: Option<Arc<Ground>>,
    /// Hours of keys of which the record tells only the days.
    drawn: Option<PartDays>,
}

/// The purpose of the draw of a year.
const YEAR: u64 = name_hash("weather recorded year");

impl Recorded {
    /// Cuts verdicts into years: `days[key][day]` from the day `first` on, and every year for which they hold all
    /// dates of the span. A season's 29 February takes the verdict of the 28th in a common year; a leap year's is left
    /// out of a season that has none.
    ///
    /// `hours` are the workable hours (0 to 24 h) of the same days for each key of which the record tells them; keys
    /// beyond its end have none. A day with hours that are not a number suits nothing.
    ///
    /// # Panics
    /// When a key has fewer days of hours than of verdicts.
    #[must_use]
    pub fn new(
        order: Order,
        first: Date,
        days: &[&[Option<bool>]],
        hours: &[Option<&[f64]>],
        span: Span,
    ) -> Self {
        let length = days.iter().map(|days| days.len()).min().unwrap_or(0);
        let place = |date: Date| {
            let place = usize::try_from(first.until(date).map_or(-1, |span| span.get_days())).ok()?;
            (place < length).then_some(place)
        };
        let last = i64::try_from(length).unwrap_or(0).saturating_sub(1);
        let last = first.saturating_add(jiff::Span::new().days(last));
        let years = (first.year()..=last.year()).filter_map(|year| {
            let places: Option<Vec<usize>> =
                (0..span.days()).map(|day| place(in_year(span, day, year)?)).collect();
            let places = places?;
            let mut sky = Sky::new(days.len(), places.len());
            let mut unknown = 0;
            for (key, verdicts) in days.iter().enumerate() {
                for (day, place) in places.iter().enumerate() {
                    unknown += usize::from(verdicts[*place].is_none());
                    sky.set(key, day, verdicts[*place] == Some(true));
                }
            }
            let of_keys = hours.iter().enumerate().filter_map(|(key, hours)| Some((key, (*hours)?)));
            for (key, hours) in of_keys.take_while(|(key, _)| *key < days.len()) {
                for (day, place) in places.iter().enumerate() {
                    let minutes = (hours[*place] * 60.0).round().clamp(0.0, f64::from(WHOLE_DAY_MIN));
                    sky.set_minutes(key, day, minutes as u16);
                }
            }
            Some(YearSky { year, sky, unknown })
        });
        Self { order, years: years.collect(), ground: None, drawn: None }
    }

    /// The same years with what is known of their soil every morning.
    #[must_use]
    pub fn with_ground(self, ground: Ground) -> Self {
        Self { ground: Some(Arc::new(ground)), ..self }
    }

    /// What is known of their soil every morning, if anything.
    #[must_use]
    pub fn ground(&self) -> Option<&Ground> {
        self.ground.as_deref()
    }

    /// These years with hours drawn, season by season, for the keys that have hours of which the record tells none.
    pub(crate) fn with_drawn_hours(&self, spec: &WeatherSpec) -> Result<Self, WeatherError> {
        let told = |key: usize| self.years.iter().any(|year| year.sky.minutes(key, 0).is_some());
        let drawn = PartDays::new(&spec.drivers, &spec.keys, spec.span_days, |key| !told(key))?;
        Ok(Self { drawn, ..self.clone() })
    }

    /// The years, the earliest first.
    #[must_use]
    pub fn years(&self) -> &[YearSky] {
        &self.years
    }

    /// In which order they become seasons.
    #[must_use]
    pub fn order(&self) -> Order {
        self.order
    }

    /// Index of the year that season `season` is under `seed`.
    ///
    /// # Panics
    /// When there are no years.
    #[must_use]
    pub fn index_of(&self, seed: u64, season: u64) -> usize {
        let count = self.years.len();
        match self.order {
            Order::Replay => (season % count as u64) as usize,
            Order::Resample => Stream::new(seed, season, YEAR).below(0, count),
        }
    }

    /// The year that season `season` is under `seed`.
    ///
    /// # Panics
    /// When there are no years.
    #[must_use]
    pub fn year_of(&self, seed: u64, season: u64) -> i16 {
        self.years[self.index_of(seed, season)].year
    }

    /// Puts the sky of season `season` under `seed` into `sky`. Nothing is allocated when `sky` has held one like it.
    ///
    /// # Panics
    /// When there are no years.
    pub fn draw(&self, seed: u64, season: u64, sky: &mut Sky) {
        let year = self.index_of(seed, season);
        sky.copy_from(&self.years[year].sky);
        if let Some(hours) = &self.drawn {
            hours.draw(seed, season, sky);
        }
        sky.set_source(SkySource::Recorded { year: year as u32 });
    }
}

/// The date of a season's day when the season begins in `year`.
pub(crate) fn in_year(span: Span, day: u32, year: i16) -> Option<Date> {
    let date = span.date(day);
    let year = year.checked_add(date.year() - span.first().year())?;
    MonthDay::of(date).in_year_or_before(year)
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    /// Verdicts that are true on the first of each month.
    fn firsts(first: Date, days: usize) -> Vec<Option<bool>> {
        (0..days as i64)
            .map(|day| Some(first.saturating_add(jiff::Span::new().days(day)).day() == 1))
            .collect()
    }

    #[test]
    fn years_keep_their_dates_with_and_without_a_leap_day() {
        let first = date(1999, 8, 1);
        let days = firsts(first, 1300);
        for span in [
            Span::new(date(2025, 1, 1), date(2025, 12, 31)).unwrap(),
            Span::new(date(2024, 1, 1), date(2024, 12, 31)).unwrap(),
            Span::new(date(2023, 8, 1), date(2024, 7, 31)).unwrap(),
        ] {
            let recorded = Recorded::new(Order::Replay, first, &[&days], &[], span);
            let years: Vec<i16> = recorded.years().iter().map(|year| year.year).collect();
            let expected =
                if span.first().month() == 1 { vec![2000, 2001, 2002] } else { vec![1999, 2000, 2001] };
            assert_eq!(years, expected);
            for year in recorded.years() {
                let suits = (0..span.days()).filter(|day| year.sky.suitable(0, *day as usize));
                assert!(
                    suits.clone().count() == 12 && suits.map(|day| span.date(day).day()).all(|day| day == 1)
                );
                assert_eq!(year.unknown, 0);
            }
        }
    }

    #[test]
    fn an_unknown_day_suits_nobody_and_is_counted() {
        let first = date(2000, 1, 1);
        let mut days = vec![Some(true); 366];
        days[9] = None;
        let span = Span::new(date(2025, 1, 1), date(2025, 12, 31)).unwrap();
        let recorded = Recorded::new(Order::Resample, first, &[&days, &vec![Some(true); 366]], &[], span);
        assert_eq!((recorded.years().len(), recorded.years()[0].unknown), (1, 1));
        assert!(!recorded.years()[0].sky.suitable(0, 9) && recorded.years()[0].sky.suitable(1, 9));
    }

    /// Hours that the record tells are the day's; those that it does not tell are drawn, season by season, and leave
    /// the days alone.
    #[test]
    fn recorded_hours_are_kept_and_others_drawn() {
        use crate::weather::{DriverSpec, KeySpec, Weather, WorkableHours};
        let first = date(2000, 1, 1);
        let days = vec![Some(true); 366];
        let mut hours: Vec<f64> = (0..366).map(|day| f64::from(day) / 20.0).collect();
        hours[40] = f64::NAN;
        let span = Span::new(date(2025, 1, 1), date(2025, 12, 31)).unwrap();
        let recorded =
            Recorded::new(Order::Replay, first, &[&days, &days, &days], &[None, Some(&hours)], span);
        let sky = &recorded.years()[0].sky;
        assert_eq!([sky.minutes(0, 30), sky.minutes(1, 30)], [None, Some(90)]);
        // The first day has no hours, one is not known; 29 February is left out.
        let unsuitable: Vec<usize> = (0..365).filter(|day| !sky.suitable(1, *day)).collect();
        assert_eq!((unsuitable, sky.minutes(1, 59)), (vec![0, 40], Some(180)));

        let mut keys = vec![KeySpec::alike(0, 1.0, 0.0, 365); 3];
        for key in &mut keys[1..] {
            key.hours = Some(WorkableHours::alike(8.0, 3.0, 365));
        }
        let drivers = vec![DriverSpec::alike("soil", 1.0, 0.0, 0.0, 365)];
        let spec = WeatherSpec { span_days: 365, drivers, keys, recorded: Some(recorded.clone()) };
        let weather = Weather::new(&spec).unwrap();
        let (mut one, mut other) = (Sky::default(), Sky::default());
        weather.draw(1, 0, &mut one);
        weather.draw(1, 1, &mut other);
        assert!((0..365).all(|day| one.minutes(1, day) == sky.minutes(1, day)));
        assert!((0..365).all(|day| one.suitable(2, day) == one.minutes(2, day).is_some_and(|m| m > 0)));
        assert!((0..365).filter(|day| one.minutes(2, *day) == other.minutes(2, *day)).count() < 20);
        assert!(!one.suitable(1, 40) && one.minutes(0, 40).is_none());
    }

    #[test]
    fn every_year_is_drawn_about_as_often() {
        let first = date(1980, 1, 1);
        let days = vec![Some(true); 366 * 9];
        let span = Span::new(date(2025, 1, 1), date(2025, 12, 31)).unwrap();
        let recorded = Recorded::new(Order::Resample, first, &[&days], &[], span);
        assert_eq!(recorded.years().len(), 9);
        let mut counts = [0u32; 9];
        for season in 0..9_000 {
            counts[recorded.index_of(7, season)] += 1;
        }
        // Binomial, n = 9000, p = 1/9: sd 29.8.
        assert!(counts.iter().all(|count| (f64::from(*count) - 1000.0).abs() < 4.0 * 29.8), "{counts:?}");
    }
}
