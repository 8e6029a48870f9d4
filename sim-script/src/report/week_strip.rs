//! Weekly statistics as a calendar strip: a line a year, a cell for every week; below it a fan of the suitable days in
//! each week.

use super::page::{FAN, FAN_SHARES, LEFT, LINE, Page, Run, TOP};
use crate::words::{MONTHS, number};
use jiff::civil::Date;
use sim_core::weather::weekly::{WEEK_DAYS, WeekOfYear};

/// What the picture shows.
pub(crate) struct WeekStrip<'a> {
    /// Its heading.
    pub(crate) heading: &'a str,
    /// The weeks, in their order.
    pub(crate) weeks: &'a [WeekOfYear],
    /// Weeks that fewer years report are left out of the fan.
    pub(crate) years_enough: usize,
}

/// Height of a year, and the greatest width of a week, in pixels; the weeks share out [`WIDTH`].
const YEAR: f64 = 15.0;
const WEEK: f64 = 48.0;
const WIDTH: f64 = 878.0;
/// Room for the name of a month, in pixels.
const MONTH_NAME: f64 = 24.0;
/// Colours of a week without suitable days, of a middling one, and of one with nothing but them: red, green, blue.
const COLOURS: [[f64; 3]; 3] = [[58.0, 98.0, 148.0], [240.0, 234.0, 214.0], [196.0, 126.0, 20.0]];
/// In this year week 1 begins on 1 January.
const YEAR_OF_WEEKS: i16 = 2024;

/// The picture as SVG.
pub(crate) fn week_strip(of: &WeekStrip<'_>) -> String {
    let numbers = || of.weeks.iter().map(|week| week.number);
    let first = numbers().min().unwrap_or(1);
    let weeks = usize::try_from(numbers().max().unwrap_or(first) - first + 1).unwrap_or(1);
    let years = || of.weeks.iter().flat_map(|week| week.years.iter().map(|(year, _)| *year));
    let (from, to) = (years().min().unwrap_or(0), years().max().unwrap_or(-1));
    let wide = (WIDTH / weeks as f64).min(WEEK);
    let left_of = |number: i8| LEFT + f64::from(number - first) * wide;
    let right = LEFT + weeks as f64 * wide;

    let top = TOP + 2.0 * LINE;
    let strip_end = top + f64::from(to - from + 1) * YEAR;
    let fan_top = strip_end + 46.0;
    let about = [format!(
        "One line a year, one cell a week: how many of its seven days were suitable. Below, each week over the years, if {} \
         or more report it.",
        of.years_enough
    )];
    // The text below the fan wants its width, whatever the number of weeks.
    let mut page = Page::new([(LEFT + WIDTH) + 16.0, fan_top + FAN + 48.0], of.heading, &about);
    legend(&mut page, 48.0);
    let begins = |month: i8| {
        let day = Date::new(YEAR_OF_WEEKS, month, 1).map_or(1, Date::day_of_year);
        left_of(1) + f64::from(day - 1) / WEEK_DAYS * wide
    };
    for (month, name) in (1..).zip(MONTHS) {
        // A month that has begun before the first week is named at the edge, if enough of it is left for its name.
        let (x, past) = (begins(month).max(LEFT), if month < 12 { begins(month + 1) } else { right });
        if x < right && past - x > MONTH_NAME {
            page.month(name, x, top - 6.0, [(top - 16.0, strip_end + 4.0), (fan_top - 4.0, fan_top + FAN)]);
            page.note(x + 2.0, fan_top - 6.0, name);
        }
    }
    for year in from..=to {
        let y = top + f64::from(year - from) * YEAR;
        page.left_of_edge(y + YEAR - 4.0, &year.to_string());
        for number in first..first + weeks as i8 {
            let days = of
                .weeks
                .iter()
                .find(|week| week.number == number)
                .and_then(|week| week.years.iter().find(|(of, _)| *of == year).map(|(_, days)| *days));
            cell(&mut page, [left_of(number), y, wide, YEAR], days);
        }
    }
    page.fan(fan_top, right, &runs(of, |number| left_of(number) + 0.5 * wide, wide));
    page.end()
}

/// A week: its colour says how many days; a crossed-out cell that there is no report.
fn cell(page: &mut Page, [x, y, wide, high]: [f64; 4], days: Option<f64>) {
    let (wide, high) = (wide - 1.0, high - 1.0);
    match days {
        Some(days) => page.add(format_args!(
            "<rect class=\"week\" x=\"{x:.1}\" y=\"{y:.1}\" width=\"{wide:.1}\" height=\"{high:.1}\" fill=\"{}\"/>",
            colour(days)
        )),
        None => page.add(format_args!(
            "<path class=\"missing\" d=\"M{x:.1} {y:.1}h{wide:.1}v{high:.1}h-{wide:.1}zl{wide:.1} {high:.1}\" \
             fill=\"none\" stroke=\"#d8d8d8\" stroke-width=\"0.6\"/>"
        )),
    }
}

/// The colour of a number of days, 0 to 7.
fn colour(days: f64) -> String {
    let place = (days / WEEK_DAYS).clamp(0.0, 1.0) * 2.0;
    let below = (place as usize).min(1);
    let part = place - below as f64;
    let [red, green, blue] = std::array::from_fn(|at| {
        (COLOURS[below][at] + part * (COLOURS[below + 1][at] - COLOURS[below][at])) as u8
    });
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// The colours of 0 to 7 days, and a week without a report.
fn legend(page: &mut Page, y: f64) {
    let text = y + 11.0;
    page.note(LEFT, text, "suitable days in the week:");
    let mut x = LEFT + 154.0;
    for days in 0..=7 {
        page.add(format_args!(
            "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"18\" height=\"14\" fill=\"{}\"/>",
            colour(f64::from(days))
        ));
        page.note(x + 21.0, text, &number(f64::from(days), 0));
        x += 36.0;
    }
    page.add(format_args!(
        "<path d=\"M{x:.1} {y:.1}h18v14h-18zl18 14\" fill=\"none\" stroke=\"#d8d8d8\" stroke-width=\"0.6\"/>"
    ));
    page.note(x + 22.0, text, "no report");
}

/// The weeks of the fan, broken where a week has too few years. A week by itself is drawn as wide as its cell.
fn runs(of: &WeekStrip<'_>, middle: impl Fn(i8) -> f64, wide: f64) -> Vec<Run> {
    let enough: Vec<&WeekOfYear> =
        of.weeks.iter().filter(|week| week.years.len() >= of.years_enough).collect();
    let run = |weeks: &[&WeekOfYear]| -> Run {
        let days = |week: &WeekOfYear| FAN_SHARES.map(|share| week.reached_by(1.0 - share));
        match weeks {
            [alone] => [-0.4, 0.4].map(|off| (middle(alone.number) + off * wide, days(alone))).to_vec(),
            _ => weeks.iter().map(|week| (middle(week.number), days(week))).collect(),
        }
    };
    enough.chunk_by(|week, next| next.number == week.number + 1).map(run).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Weeks 36 to 39 of 2020 to 2023, of which 38 is reported by one year and 2022 by none.
    fn small() -> Vec<WeekOfYear> {
        let years = |days: [f64; 3]| std::iter::zip([2020, 2021, 2023], days).collect::<Vec<_>>();
        vec![
            WeekOfYear { number: 36, years: years([0.0, 7.0, 3.5]) },
            WeekOfYear { number: 37, years: years([2.0, 4.0, 6.0]) },
            WeekOfYear { number: 38, years: vec![(2021, 1.0)] },
            WeekOfYear { number: 39, years: years([5.0, 5.0, 6.4]) },
        ]
    }

    #[test]
    fn a_small_record_is_drawn() {
        let of = WeekStrip { heading: "Suitable days <a & b>", weeks: &small(), years_enough: 2 };
        let svg = week_strip(&of);
        let count = |what: &str| svg.matches(what).count();
        // Four years of four weeks, each a cell; ten reported.
        assert_eq!((count("class=\"week\""), count("class=\"missing\"")), (10, 6));
        assert!((2020..=2023).all(|year| count(&format!(">{year}<")) == 1));
        assert_eq!(count("<polyline"), 2, "broken at week 38");
        assert_eq!(count(">Sep</text>"), 2, "above the strip and the fan");
        insta::assert_snapshot!(svg);
    }

    #[test]
    fn colours_run_from_wet_to_dry() {
        assert_eq!([0.0, 3.5, 7.0].map(colour), ["#3a6294", "#f0ead6", "#c47e14"]);
    }
}
