//! How a record writes its days.

use jiff::civil::Date;

/// A pattern of a date in one column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum DateFormat {
    Iso,
    Compact,
    DayMonthSlash,
    DayMonthPoint,
    MonthDaySlash,
}

/// Why a text is no date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum NoDate {
    /// It does not look like the pattern.
    Shape,
    /// It looks like it, but no calendar has the day.
    NoSuchDay,
}

impl DateFormat {
    pub(crate) const ALL: [Self; 5] =
        [Self::Iso, Self::Compact, Self::DayMonthSlash, Self::DayMonthPoint, Self::MonthDaySlash];

    /// The pattern as it is written in a mapping.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Iso => "YYYY-MM-DD",
            Self::Compact => "YYYYMMDD",
            Self::DayMonthSlash => "DD/MM/YYYY",
            Self::DayMonthPoint => "DD.MM.YYYY",
            Self::MonthDaySlash => "MM/DD/YYYY",
        }
    }

    /// All patterns in a row.
    pub(crate) fn words() -> String {
        Self::ALL.map(Self::word).join(", ")
    }

    pub(crate) fn named(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|format| format.word().eq_ignore_ascii_case(text.trim()))
    }

    /// The day that a text means; days and months may have one figure where signs stand between.
    pub(crate) fn read(self, text: &str) -> Result<Date, NoDate> {
        let parts = |sign: char| {
            let mut parts = text.split(sign);
            let three = [parts.next()?, parts.next()?, parts.next()?];
            parts.next().is_none().then_some(three)
        };
        let split = || match self {
            Self::Iso => parts('-').filter(|[_, month, day]| month.len() == 2 && day.len() == 2),
            Self::Compact => {
                (text.len() == 8 && text.is_ascii()).then(|| [&text[..4], &text[4..6], &text[6..]])
            }
            Self::DayMonthSlash => parts('/').map(|[day, month, year]| [year, month, day]),
            Self::DayMonthPoint => parts('.').map(|[day, month, year]| [year, month, day]),
            Self::MonthDaySlash => parts('/').map(|[month, day, year]| [year, month, day]),
        };
        let [year, month, day] = split().filter(|[year, ..]| year.len() == 4).ok_or(NoDate::Shape)?;
        day_of(year, month, day)
    }
}

/// The day that a year, a month and a day in figures mean.
pub(crate) fn day_of(year: &str, month: &str, day: &str) -> Result<Date, NoDate> {
    let figures = |text: &str, most: usize| {
        let sound = (1..=most).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit());
        sound.then(|| text.parse::<i16>().ok()).flatten().ok_or(NoDate::Shape)
    };
    let (year, month, day) = (figures(year, 4)?, figures(month, 2)?, figures(day, 2)?);
    Date::new(year, month as i8, day as i8).map_err(|_| NoDate::NoSuchDay)
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn each_pattern_reads_its_own_and_refuses_days_that_no_calendar_has() {
        let day = Ok(date(2020, 2, 29));
        for (format, right, shape, no_such_day) in [
            (DateFormat::Iso, "2020-02-29", "2020-2-29", "2021-02-29"),
            (DateFormat::Compact, "20200229", "2020229", "20210229"),
            (DateFormat::DayMonthSlash, "29/2/2020", "29/02/20", "02/29/2020"),
            (DateFormat::DayMonthPoint, "29.02.2020", "29/02/2020", "31.04.2020"),
            (DateFormat::MonthDaySlash, "2/29/2020", "2-29-2020", "29/02/2020"),
        ] {
            assert_eq!(format.read(right), day);
            assert_eq!(format.read(shape), Err(NoDate::Shape), "{shape}");
            assert_eq!(format.read(no_such_day), Err(NoDate::NoSuchDay), "{no_such_day}");
            assert_eq!(DateFormat::named(&format.word().to_lowercase()), Some(format));
        }
        assert_eq!(day_of("2020", "2", "29"), day);
        assert_eq!(day_of("2020", "+2", "29"), Err(NoDate::Shape));
        assert_eq!(DateFormat::Compact.read("2020é29"), Err(NoDate::Shape));
    }
}
