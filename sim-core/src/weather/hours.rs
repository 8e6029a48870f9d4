//! Open hours, day by day: the clock of a work class, the shift of a person. Whether a day is suitable is not
//! here.

use crate::weather::calendar::{MonthDay, Span};
use crate::weather::daylight::{Site, daylight};
use crate::weather::error::WeatherError;
use jiff::civil::Date;
use std::fmt;

/// An open stretch of a day, seconds from 00:00; `end` is not in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Stretch {
    /// First second.
    pub start: i64,
    /// The second after the last, at most 86 400.
    pub end: i64,
}

impl fmt::Display for Stretch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let clock = |s: i64| {
            let (hours, minutes) = (s.div_euclid(3600), s.rem_euclid(3600) / 60);
            format!("{hours:02}:{minutes:02}")
        };
        write!(f, "{} to {}", clock(self.start), clock(self.end))
    }
}

/// Monday to Friday, in the mask of an [`HoursRule`].
pub const WEEKDAYS: u8 = 0b0001_1111;
/// Saturday and Sunday, in the mask of an [`HoursRule`].
pub const WEEKEND: u8 = 0b0110_0000;
/// Holidays, in the mask of an [`HoursRule`]: on a holiday only rules with this bit hold.
pub const HOLIDAY: u8 = 0b1000_0000;
/// Every day, holidays too, in the mask of an [`HoursRule`].
pub const EVERY_DAY: u8 = WEEKDAYS | WEEKEND | HOLIDAY;

/// Open hours on some days of the year.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HoursRule {
    /// First day of the year on which the rule holds.
    pub from: MonthDay,
    /// Last day; before `from` when the rule runs over the turn of the year.
    pub to: MonthDay,
    /// Days of the week on which it holds: bit 0 is Monday, bit 6 Sunday, bit 7 a holiday.
    pub weekdays: u8,
    /// The open stretches, in order, at most three; none closes the day.
    pub open: Vec<Stretch>,
}

/// The open stretches of every day of a season.
///
/// ```
/// use jiff::civil::date;
/// use sim_core::weather::{DailyHours, EVERY_DAY, HoursRule, Span, Stretch};
/// let span = Span::new(date(2026, 1, 1), date(2026, 12, 31)).unwrap();
/// let combining = HoursRule {
///     from: "07-01".parse().unwrap(),
///     to: "09-30".parse().unwrap(),
///     weekdays: EVERY_DAY,
///     open: vec![Stretch { start: 11 * 3600 + 1800, end: 21 * 3600 }],
/// };
/// let hours = DailyHours::new(span, &[combining], &[]).unwrap();
/// assert_eq!(hours.seconds_on(200), 34_200);
/// assert_eq!(hours.seconds_on(0), 0);
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DailyHours {
    span: Span,
    stretches: Vec<Stretch>,
    /// Day `d` has the stretches `ends[d]..ends[d + 1]`.
    ends: Vec<u32>,
}

impl DailyHours {
    /// The most open stretches that a rule may have.
    pub const MAX_STRETCHES: usize = 3;

    /// The hours that `rules` give the days of `span`. A later rule overrides an earlier one; a day without a
    /// rule is closed. On the dates of `holidays` only rules whose mask has [`HOLIDAY`] hold.
    ///
    /// # Errors
    /// When a stretch ends before it starts or leaves the day, when stretches overlap, or when a rule has
    /// more than [`DailyHours::MAX_STRETCHES`].
    pub fn new(span: Span, rules: &[HoursRule], holidays: &[Date]) -> Result<Self, WeatherError> {
        for (index, rule) in rules.iter().enumerate() {
            check(index + 1, &rule.open)?;
        }
        Ok(Self::by_day(span, |day, open| {
            let date = span.date(day);
            let bit =
                if holidays.contains(&date) { HOLIDAY } else { 1 << date.weekday().to_monday_zero_offset() };
            let today = MonthDay::of(date);
            let holds = |rule: &&HoursRule| rule.weekdays & bit != 0 && today.in_period(rule.from, rule.to);
            if let Some(rule) = rules.iter().rev().find(holds) {
                open.extend_from_slice(&rule.open);
            }
        }))
    }

    /// The same open stretches every day of `span`, from midnight to midnight.
    #[must_use]
    pub fn always(span: Span) -> Self {
        Self::by_day(span, |_, open| open.push(Stretch { start: 0, end: 86_400 }))
    }

    /// The days these hours are of.
    #[must_use]
    pub fn span(&self) -> Span {
        self.span
    }

    /// The open stretches of day `day`, in order and apart.
    ///
    /// # Panics
    /// When the day is outside the season.
    #[inline]
    #[must_use]
    pub fn on(&self, day: u32) -> &[Stretch] {
        let day = day as usize;
        &self.stretches[self.ends[day] as usize..self.ends[day + 1] as usize]
    }

    /// Open seconds of day `day`.
    ///
    /// # Panics
    /// When the day is outside the season.
    #[must_use]
    pub fn seconds_on(&self, day: u32) -> i64 {
        self.on(day).iter().map(|stretch| stretch.end - stretch.start).sum()
    }

    /// These hours from sunrise to sunset only.
    #[must_use]
    pub fn cut_to_daylight(&self, site: &Site) -> Self {
        Self::by_day(self.span, |day, open| {
            let (start, end) = daylight(site, self.span.date(day));
            intersect(self.on(day), &[Stretch { start, end }], open);
        })
    }

    /// The hours open in both.
    ///
    /// # Panics
    /// When the two are of different seasons.
    #[must_use]
    pub fn and(&self, other: &Self) -> Self {
        assert_eq!(self.span, other.span, "hours of two different seasons");
        Self::by_day(self.span, |day, open| intersect(self.on(day), other.on(day), open))
    }

    /// For each day the one stretch from the first opening of any of `all` to the last closing; no day is
    /// open when `all` is empty, and then there is no season to give: `None`.
    ///
    /// # Panics
    /// When they are of different seasons.
    #[must_use]
    pub fn hull(all: &[&Self]) -> Option<Self> {
        let span = all.first()?.span;
        assert!(all.iter().all(|hours| hours.span == span), "hours of different seasons");
        Some(Self::by_day(span, |day, open| {
            let start = all.iter().filter_map(|hours| hours.on(day).first()).map(|s| s.start).min();
            let end = all.iter().filter_map(|hours| hours.on(day).last()).map(|s| s.end).max();
            open.extend(start.zip(end).map(|(start, end)| Stretch { start, end }));
        }))
    }

    fn by_day(span: Span, mut fill: impl FnMut(u32, &mut Vec<Stretch>)) -> Self {
        let mut stretches = Vec::with_capacity(span.days() as usize);
        let mut ends = Vec::with_capacity(span.days() as usize + 1);
        ends.push(0);
        for day in 0..span.days() {
            fill(day, &mut stretches);
            // At most 800 days of a handful of stretches.
            ends.push(stretches.len() as u32);
        }
        Self { span, stretches, ends }
    }
}

/// Pushes the parts open in both; each side is in order and apart.
fn intersect(a: &[Stretch], b: &[Stretch], open: &mut Vec<Stretch>) {
    let (mut i, mut j) = (0, 0);
    while i < a.len() && j < b.len() {
        let (start, end) = (a[i].start.max(b[j].start), a[i].end.min(b[j].end));
        if start < end {
            open.push(Stretch { start, end });
        }
        if a[i].end <= b[j].end { i += 1 } else { j += 1 }
    }
}

fn check(rule: usize, open: &[Stretch]) -> Result<(), WeatherError> {
    let max = DailyHours::MAX_STRETCHES;
    if open.len() > max {
        return Err(WeatherError::StretchCount { rule, found: open.len(), max });
    }
    for stretch in open {
        if stretch.start < 0 || stretch.end > 86_400 {
            return Err(WeatherError::StretchRange { rule, open: *stretch });
        }
        if stretch.end <= stretch.start {
            return Err(WeatherError::StretchOrder { rule, open: *stretch });
        }
    }
    match open.windows(2).find(|pair| pair[1].start < pair[0].end) {
        Some(pair) => Err(WeatherError::StretchOverlap { rule, first: pair[0], second: pair[1] }),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;
    use proptest::prelude::*;

    fn md(text: &str) -> MonthDay {
        text.parse().unwrap()
    }

    fn h(start: f64, end: f64) -> Stretch {
        Stretch { start: (start * 3600.0) as i64, end: (end * 3600.0) as i64 }
    }

    fn rule(from: &str, to: &str, weekdays: u8, open: &[Stretch]) -> HoursRule {
        HoursRule { from: md(from), to: md(to), weekdays, open: open.to_vec() }
    }

    fn year() -> Span {
        Span::new(date(2026, 1, 1), date(2026, 12, 31)).unwrap()
    }

    #[test]
    fn later_rules_override_and_week_ends_and_holidays_have_their_own() {
        let rules = [
            rule("01-01", "12-31", WEEKDAYS, &[h(8.0, 12.0), h(13.0, 17.0)]),
            rule("07-20", "09-10", EVERY_DAY, &[h(7.0, 21.0)]),
            rule("08-16", "08-16", WEEKEND, &[]),
        ];
        let holidays = [date(2026, 5, 1), date(2026, 8, 3)];
        let hours = DailyHours::new(year(), &rules, &holidays).unwrap();
        let on = |m, d| hours.on(hours.span().day_of(date(2026, m, d)).unwrap()).to_vec();
        assert_eq!(on(4, 30), [h(8.0, 12.0), h(13.0, 17.0)]); // a Thursday
        assert_eq!(on(5, 1), []); // a Friday, but a holiday
        assert_eq!(on(5, 2), []); // a Saturday
        assert_eq!(on(8, 3), [h(7.0, 21.0)]); // a holiday in harvest
        assert_eq!(on(8, 15), [h(7.0, 21.0)]); // a Saturday in harvest
        assert_eq!(on(8, 16), []); // the closed Sunday
    }

    #[test]
    fn rules_that_wrap_the_year_hold_on_both_sides() {
        let hours =
            DailyHours::new(year(), &[rule("11-01", "02-28", EVERY_DAY, &[h(9.0, 16.0)])], &[]).unwrap();
        let open: Vec<u32> = (0..365).filter(|day| hours.seconds_on(*day) > 0).collect();
        assert_eq!(open.len(), 59 + 61);
        assert!(open.contains(&0) && open.contains(&58) && !open.contains(&59) && open.contains(&304));
    }

    #[test]
    fn wrong_stretches_are_refused_with_their_rule() {
        let text = |open: &[Stretch]| {
            let rules = [rule("01-01", "12-31", EVERY_DAY, &[]), rule("05-01", "06-01", EVERY_DAY, open)];
            DailyHours::new(year(), &rules, &[]).unwrap_err().to_string()
        };
        assert_eq!(
            text(&[h(18.0, 2.0)]),
            "hours rule 2: 18:00 to 02:00 ends before it starts; hours past midnight are a second stretch from 00:00"
        );
        assert_eq!(
            text(&[h(18.0, 25.5)]),
            "hours rule 2: 18:00 to 25:30 leaves the day; permitted is 00:00 to 24:00"
        );
        assert_eq!(
            text(&[h(6.0, 10.0), h(9.5, 12.0)]),
            "hours rule 2: 09:30 to 12:00 starts before 06:00 to 10:00 ends; give a day's stretches in order, apart"
        );
        let four = [h(1.0, 2.0), h(3.0, 4.0), h(5.0, 6.0), h(7.0, 8.0)];
        assert_eq!(text(&four), "hours rule 2 has 4 stretches a day: permitted are at most 3");
    }

    #[test]
    fn daylight_cuts_winter_days_and_leaves_summer_days() {
        let site = Site::new(52.0, 0.0, 0.0, true).unwrap();
        let hours =
            DailyHours::new(year(), &[rule("01-01", "12-31", EVERY_DAY, &[h(7.0, 19.0)])], &[]).unwrap();
        let cut = hours.cut_to_daylight(&site);
        let (summer, winter) = (171, 354);
        assert_eq!(cut.on(summer), hours.on(summer));
        let (sunrise, sunset) = daylight(&site, date(2026, 12, 21));
        assert_eq!(cut.on(winter), [Stretch { start: sunrise, end: sunset }]);
    }

    #[test]
    fn the_hull_spans_all() {
        let early =
            DailyHours::new(year(), &[rule("03-01", "03-31", EVERY_DAY, &[h(5.0, 9.0), h(18.0, 21.0)])], &[])
                .unwrap();
        let late =
            DailyHours::new(year(), &[rule("03-15", "04-15", EVERY_DAY, &[h(8.0, 22.0)])], &[]).unwrap();
        let hull = DailyHours::hull(&[&early, &late]).unwrap();
        let on = |m, d| hull.on(hull.span().day_of(date(2026, m, d)).unwrap()).to_vec();
        assert_eq!(on(3, 1), [h(5.0, 21.0)]);
        assert_eq!(on(3, 20), [h(5.0, 22.0)]);
        assert_eq!(on(4, 15), [h(8.0, 22.0)]);
        assert_eq!(on(4, 16), []);
        assert_eq!(DailyHours::hull(&[]), None);
    }

    fn stretches() -> impl Strategy<Value = Vec<Stretch>> {
        prop::collection::btree_set(0i64..=86_400, 0..=6).prop_map(|cuts| {
            let cuts: Vec<i64> = cuts.into_iter().collect();
            cuts.chunks_exact(2).map(|pair| Stretch { start: pair[0], end: pair[1] }).collect()
        })
    }

    proptest! {
        /// A second is open in the intersection exactly when it is open in both.
        #[test]
        fn the_intersection_is_open_where_both_are(a in stretches(), b in stretches()) {
            let one_day = Span::new(date(2026, 1, 1), date(2026, 1, 1)).unwrap();
            let hours = |open: &[Stretch]| {
                DailyHours::new(one_day, &[rule("01-01", "12-31", EVERY_DAY, open)], &[]).unwrap()
            };
            let both = hours(&a).and(&hours(&b));
            let is_open = |open: &[Stretch], s: i64| open.iter().any(|o| o.start <= s && s < o.end);
            let edges = a.iter().chain(&b).flat_map(|o| [o.start - 1, o.start, o.end - 1, o.end]);
            for s in edges {
                prop_assert_eq!(is_open(both.on(0), s), is_open(&a, s) && is_open(&b, s));
            }
            prop_assert!(both.on(0).windows(2).all(|pair| pair[0].end <= pair[1].start));
        }
    }
}
