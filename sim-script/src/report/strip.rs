//! A record as a calendar strip: a line a year, a mark for every suitable day; below it a fan of the suitable days in
//! each week.

use super::page::{FAN, FAN_SHARES, LEFT, LINE, Page, TOP, lines};
use crate::words::MONTHS;
use jiff::civil::Date;
use sim_core::weather::{MonthDay, VerdictYears};
use std::fmt::Write as _;

/// What the picture shows.
pub(crate) struct Strip<'a> {
    /// Its heading.
    pub(crate) heading: &'a str,
    /// What stands below the heading, one after the other: the limits of the rule.
    pub(crate) about: &'a [String],
    /// The verdicts.
    pub(crate) years: &'a VerdictYears,
}

/// Width of a day and height of a year, in pixels.
const DAY: f64 = 2.4;
const YEAR: f64 = 9.0;
const PLACES: usize = 366;

/// The picture as SVG.
pub(crate) fn strip(of: &Strip<'_>) -> String {
    let count = of.years.years().len();
    let right = LEFT + PLACES as f64 * DAY;
    let about = lines(of.about);
    let top = TOP + about.len() as f64 * LINE;
    let fan_top = top + count as f64 * YEAR + 46.0;
    let mut page = Page::new([right + 16.0, fan_top + FAN + 48.0], of.heading, &about);
    for ((first, _), name) in MonthDay::parts_of_months(1).into_iter().zip(MONTHS) {
        let x = LEFT + of.years.place(first) as f64 * DAY;
        page.month(name, x, top - 8.0, [(top - 4.0, fan_top - 42.0), (fan_top - 4.0, fan_top + FAN)]);
    }
    for (index, year) in of.years.years().iter().enumerate() {
        let y = top + index as f64 * YEAR;
        if year % 5 == 0 {
            page.left_of_edge(y + YEAR - 2.0, &name(of.years, *year));
        }
        let known = path(of.years, index, y, |verdict| verdict.is_some());
        let suits = path(of.years, index, y, |verdict| verdict == Some(true));
        page.add(format_args!(
            "<path d=\"{known}\" fill=\"#e6ebf0\"/><path d=\"{suits}\" fill=\"#c4922b\"/>"
        ));
    }
    page.note(LEFT, fan_top - 28.0, "one line a year; filled: a suitable day; blank: not known");
    let weeks: Option<Vec<[f64; 5]>> = (0..52).map(|week| quantiles(of.years, week)).collect();
    let x = |week: usize| LEFT + (week as f64 * 7.0 + 3.5) * DAY;
    let run = |weeks: Vec<_>| weeks.into_iter().enumerate().map(|(week, days)| (x(week), days)).collect();
    page.fan(fan_top, right, weeks.map(run).as_slice());
    page.end()
}

/// A year's name: 1985, or 1985/86 where it does not begin with January.
fn name(years: &VerdictYears, year: i16) -> String {
    if years.place(MonthDay::parts_of_months(1)[0].0) == 0 {
        return year.to_string();
    }
    format!("{year}/{:02}", (year + 1).rem_euclid(100))
}

/// Runs of days of a kind as rectangles in one path.
fn path(years: &VerdictYears, index: usize, y: f64, wanted: impl Fn(Option<bool>) -> bool) -> String {
    let mut path = String::new();
    let days = years.year(index);
    let leap =
        Date::new(years.years()[index] + i16::from(years.begins() > MonthDay::LEAP_DAY), 2, 29).is_ok();
    let leap_place = years.place(MonthDay::LEAP_DAY);
    // A common year has no 29 February: the mark of the 28th runs on over its place, which is never a year's first.
    let of_place = |place: usize| if place == leap_place && !leap { days[place - 1] } else { days[place] };
    let mut place = 0;
    while place < PLACES {
        let start = place;
        while place < PLACES && wanted(of_place(place)) {
            place += 1;
        }
        if place > start {
            let (x, length) = (LEFT + start as f64 * DAY, (place - start) as f64 * DAY);
            let height = YEAR - 1.0;
            let _ = write!(path, "M{x:.1} {y:.1}h{length:.1}v{height:.1}h-{length:.1}z");
        }
        place += 1;
    }
    path
}

/// The 10, 25, 50, 75 and 90 % of suitable days in a week of the year, over the years that know all of it.
fn quantiles(years: &VerdictYears, week: usize) -> Option<[f64; 5]> {
    let days = week * 7..week * 7 + 7;
    let mut counts: Vec<u32> = (0..years.years().len())
        .filter_map(|year| {
            let week = &years.year(year)[days.clone()];
            let known = week.iter().flatten().count();
            // A common year's week with 29 February has six days; a missing day more is a gap.
            (known >= 6).then(|| week.iter().filter(|verdict| **verdict == Some(true)).count() as u32)
        })
        .collect();
    counts.sort_unstable();
    let last = counts.len().checked_sub(1)?;
    Some(FAN_SHARES.map(|share| f64::from(counts[(last as f64 * share).round() as usize])))
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn every_suitable_day_is_marked_once() {
        // Two years, of which every tenth day suits.
        let days: Vec<Option<bool>> = (0..731).map(|day| Some(day % 10 == 0)).collect();
        let years = VerdictYears::new(date(2023, 1, 1), &days, "01-01".parse().unwrap());
        let about = ["a rule & a record".to_owned(), "x".repeat(140)];
        let svg = strip(&Strip { heading: "Drilling <heavy>", about: &about, years: &years });
        assert!(svg.contains("Drilling &lt;heavy&gt;") && svg.contains("a rule &amp; a record"));
        let marks: usize = svg
            .lines()
            .filter_map(|line| line.split("<path d=\"").nth(2))
            .map(|path| path.matches('M').count())
            .sum();
        assert_eq!(marks, 74, "days 0, 10, ... 730");
        assert!(svg.contains("<polyline"));
    }

    /// From August on: a dry August is at the left edge, the mark of 28 February runs over the 29th of a common year only.
    #[test]
    fn a_year_begins_where_it_is_told_to() {
        let suits = |day: i64| {
            let date = date(2022, 8, 1).saturating_add(jiff::Span::new().days(day));
            date.month() == 8 || (date.month(), date.day()) == (2, 28)
        };
        let days: Vec<Option<bool>> = (0..731).map(|day| Some(suits(day))).collect();
        let years = VerdictYears::new(date(2022, 8, 1), &days, "08-01".parse().unwrap());
        assert_eq!((years.years().len(), name(&years, 1999)), (2, "1999/00".to_string()));
        let february = LEFT + 211.0 * DAY;
        for (index, days) in [(0, 2.0), (1, 1.0)] {
            let marks = path(&years, index, 0.0, |verdict| verdict == Some(true));
            assert!(marks.starts_with(&format!("M{LEFT:.1} 0.0h{:.1}v", 31.0 * DAY)), "{marks}");
            assert!(marks.contains(&format!("M{february:.1} 0.0h{:.1}v", days * DAY)), "{marks}");
        }
    }
}
