//! Hours, days of the week and days of the year as texts.

use jiff::ToSpan as _;
use jiff::civil::Date;
use sim_core::weather::{DailyHours, EVERY_DAY, HOLIDAY, MonthDay, Stretch};

/// A text that cannot be read: what is wrong and what to write.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Unreadable {
    /// What is wrong, as in "`x` ...".
    pub(crate) why: String,
    /// What to write.
    pub(crate) fix: String,
}

fn unreadable(why: String, fix: impl Into<String>) -> Unreadable {
    Unreadable { why, fix: fix.into() }
}

const HOURS_FIX: &str =
    "write hours as \"07:00-18:00\", several stretches with commas between, or \"closed\"";

/// Reads hours of a day: stretches in order and apart, or "closed".
pub(crate) fn open_hours(text: &str) -> Result<Vec<Stretch>, Unreadable> {
    let text = text.trim();
    if text.is_empty() || text == "closed" {
        return Ok(Vec::new());
    }
    let mut open: Vec<Stretch> = Vec::new();
    for part in text.split(',') {
        let part = part.trim();
        let (start, end) = part
            .split_once('-')
            .and_then(|(start, end)| Some((time_of_day(start.trim())?, time_of_day(end.trim())?)))
            .ok_or_else(|| unreadable(format!("\"{part}\" cannot be read as hours"), HOURS_FIX))?;
        if end <= start {
            return Err(unreadable(
                format!("the hours \"{part}\" end before they start"),
                "write hours past midnight as two stretches: \"18:00-24:00\" today and \"00:00-02:00\" the day after",
            ));
        }
        if open.last().is_some_and(|before| start < before.end) {
            return Err(unreadable(
                format!("the hours \"{part}\" start before those in front of them end"),
                "write a day's stretches in order, each after the end of the one before",
            ));
        }
        open.push(Stretch { start, end });
    }
    if open.len() > DailyHours::MAX_STRETCHES {
        let (count, most) = (open.len(), DailyHours::MAX_STRETCHES);
        return Err(unreadable(
            format!("{count} stretches are more than the {most} that a day may have"),
            "join the stretches that lie close together",
        ));
    }
    Ok(open)
}

/// Seconds of the day of "HH:MM" or "HH:MM:SS", up to 24:00.
pub(crate) fn time_of_day(text: &str) -> Option<i64> {
    let parts: Vec<&str> = text.split(':').collect();
    if !(2..=3).contains(&parts.len()) {
        return None;
    }
    let mut seconds = 0;
    for (place, part) in parts.iter().enumerate() {
        let digits = (1..=2).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_digit());
        let value: i64 =
            part.parse().ok().filter(|value| digits && *value <= if place == 0 { 24 } else { 59 })?;
        seconds += value * [3600, 60, 1][place];
    }
    (seconds <= 86_400).then_some(seconds)
}

/// Writes hours from a time of the day on, to the second.
pub(crate) fn hours_text(start_s: i64, hours: f64) -> Result<String, Unreadable> {
    let length_s = (hours * 3600.0).round();
    let left_s = 86_400 - start_s;
    if !(1.0..=left_s as f64).contains(&length_s) {
        return Err(unreadable(
            format!("{hours} hours from {} do not fit into the day", clock(start_s)),
            format!("give more than 0 and at most {} hours", left_s as f64 / 3600.0),
        ));
    }
    Ok(format!("{}-{}", clock(start_s), clock(start_s + length_s as i64)))
}

fn clock(s: i64) -> String {
    let (hours, minutes, seconds) = (s / 3600, s / 60 % 60, s % 60);
    if seconds == 0 {
        format!("{hours:02}:{minutes:02}")
    } else {
        format!("{hours:02}:{minutes:02}:{seconds:02}")
    }
}

const DAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

/// Reads days of the week into the mask of an hours rule.
pub(crate) fn weekdays(text: &str) -> Result<u8, Unreadable> {
    let day = |text: &str| DAYS.iter().position(|day| *day == text);
    let mut mask = 0;
    for part in text.split(',') {
        let part = part.trim().to_lowercase();
        mask |= match part.as_str() {
            "every day" => EVERY_DAY,
            "holidays" => HOLIDAY,
            one => {
                let (first, last) = one.split_once('-').unwrap_or((one, one));
                let (Some(first), Some(last)) = (day(first.trim()), day(last.trim())) else {
                    return Err(unreadable(
                        format!("\"{part}\" cannot be read as days of the week"),
                        "write \"mon-fri\", \"sat, sun\", \"holidays\" or \"every day\"; the days are mon, tue, wed, \
                         thu, fri, sat, sun",
                    ));
                };
                let count = (last + 7 - first) % 7;
                (0..=count).fold(0, |mask, step| mask | 1 << ((first + step) % 7))
            }
        };
    }
    Ok(mask)
}

/// Reads a day of the year.
pub(crate) fn month_day(text: &str) -> Result<MonthDay, Unreadable> {
    text.trim().parse().map_err(|_| {
        let fix = match text.trim().parse::<Date>() {
            Ok(date) => format!("leave out the year: \"{}\"", MonthDay::of(date)),
            Err(_) => "write month and day with two digits each, the month first, as in \"03-15\"".into(),
        };
        unreadable(format!("\"{text}\" is not a day of the year"), fix)
    })
}

/// Reads a date with its year.
pub(crate) fn date(text: &str) -> Result<Date, Unreadable> {
    let text = text.trim();
    let date = text.parse().ok().filter(|date: &Date| (1900..2200).contains(&date.year()));
    date.ok_or_else(|| {
        let fix = match text.parse::<MonthDay>() {
            Ok(day) => format!("add the year: \"2025-{day}\""),
            Err(_) => "write year (1900 to 2199), month and day, as in \"2025-03-15\"".into(),
        };
        unreadable(format!("\"{text}\" is not a date"), fix)
    })
}

/// A year of 365 days, for counting from one day of the year to another.
const COMMON_YEAR: i16 = 2025;

fn in_common_year(day: MonthDay) -> Date {
    // 29 February counts as the 28th.
    day.in_year(COMMON_YEAR).unwrap_or_else(|| Date::constant(COMMON_YEAR, 2, 28))
}

/// The day of the year so many days later, running over the turn of the year.
pub(crate) fn add_days(day: MonthDay, days: i64) -> MonthDay {
    let number = i64::from(in_common_year(day).day_of_year() - 1) + days;
    MonthDay::of(Date::constant(COMMON_YEAR, 1, 1).saturating_add(number.rem_euclid(365).days()))
}

/// Days from the first day of the year to the second.
pub(crate) fn days_between(first: MonthDay, second: MonthDay) -> i64 {
    let number = |day| i64::from(in_common_year(day).day_of_year());
    number(second) - number(first)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn h(start: f64, end: f64) -> Stretch {
        Stretch { start: (start * 3600.0) as i64, end: (end * 3600.0) as i64 }
    }

    #[test]
    fn hours_are_read_or_refused_with_what_to_write() {
        assert_eq!(open_hours("07:00-18:30").unwrap(), [h(7.0, 18.5)]);
        assert_eq!(open_hours(" 5:00-10:00,18:00 - 24:00").unwrap(), [h(5.0, 10.0), h(18.0, 24.0)]);
        assert_eq!(open_hours("00:00-00:00:01").unwrap(), [Stretch { start: 0, end: 1 }]);
        assert_eq!(open_hours("closed").unwrap(), []);
        assert_eq!(open_hours("").unwrap(), []);
        for (text, why) in [
            ("7-18", "\"7-18\" cannot be read as hours"),
            ("07:00", "\"07:00\" cannot be read as hours"),
            ("07:00-24:01", "\"07:00-24:01\" cannot be read as hours"),
            ("07:60-08:00", "\"07:60-08:00\" cannot be read as hours"),
            ("+7:00-08:00", "\"+7:00-08:00\" cannot be read as hours"),
            ("18:00-02:00", "the hours \"18:00-02:00\" end before they start"),
            ("07:00-10:00, 09:00-12:00", "the hours \"09:00-12:00\" start before those in front of them end"),
            (
                "1:00-2:00,3:00-4:00,5:00-6:00,7:00-8:00",
                "4 stretches are more than the 3 that a day may have",
            ),
        ] {
            assert_eq!(open_hours(text).unwrap_err().why, why);
        }
    }

    #[test]
    fn hours_written_are_hours_read() {
        assert_eq!(hours_text(0, 24.0).unwrap(), "00:00-24:00");
        assert_eq!(hours_text(7 * 3600, 10.51).unwrap(), "07:00-17:30:36");
        for (start_s, hours) in [(0, 0.001), (3600, 22.999), (43_199, 1.0 / 7.0)] {
            let open = open_hours(&hours_text(start_s, hours).unwrap()).unwrap();
            assert_eq!(
                (open[0].start, open[0].end - open[0].start),
                (start_s, (hours * 3600.0).round() as i64)
            );
        }
        for hours in [0.0, -1.0, 17.001, f64::NAN, f64::INFINITY] {
            assert!(hours_text(7 * 3600, hours).is_err(), "{hours}");
        }
    }

    #[test]
    fn days_of_the_week_are_a_mask() {
        assert_eq!(weekdays("mon-fri").unwrap(), 0b001_1111);
        assert_eq!(weekdays("Sat, sun").unwrap(), 0b110_0000);
        assert_eq!(weekdays("sat-mon").unwrap(), 0b110_0001);
        assert_eq!(weekdays("mon-sun, holidays").unwrap(), EVERY_DAY);
        assert_eq!(weekdays("every day").unwrap(), EVERY_DAY);
        assert_eq!(weekdays("moon").unwrap_err().why, "\"moon\" cannot be read as days of the week");
    }

    #[test]
    fn days_are_counted_in_a_common_year() {
        let day = |text| month_day(text).unwrap();
        assert_eq!(add_days(day("03-01"), 20), day("03-21"));
        assert_eq!(add_days(day("02-28"), 1), day("03-01"));
        assert_eq!(add_days(day("02-29"), 1), day("03-01"));
        assert_eq!(add_days(day("12-31"), 1), day("01-01"));
        assert_eq!(add_days(day("01-01"), -1), day("12-31"));
        assert_eq!(add_days(day("01-01"), 364), day("12-31"));
        assert_eq!(days_between(day("03-01"), day("03-21")), 20);
        assert_eq!(days_between(day("12-31"), day("01-01")), -364);
    }
}
