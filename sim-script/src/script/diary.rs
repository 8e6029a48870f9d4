//! A farm's diary: which work was finished when, from a small table that a person keeps. What it says of a farm's own crops
//! and fields is looked up elsewhere; a mistake found there is shown at its row.

use super::clock::{self, Unreadable};
use super::csv_rows::{self, Table};
use super::error::ScriptError;
use super::source::Source;
use jiff::civil::Date;
use sim_core::weather::{MonthDay, Span};
use std::sync::Arc;

/// The columns that a diary may have besides those that it must have.
const OPTIONAL: [&str; 3] = ["field", "begun", "area_done_ha"];

/// The columns that it must have.
const NEEDED: [&str; 3] = ["crop", "operation", "finished"];

/// A diary.
#[derive(Debug, Clone)]
pub(crate) struct Diary {
    source: Arc<Source>,
    pub(crate) rows: Vec<DiaryRow>,
}

/// A row of it.
#[derive(Debug, Clone)]
pub(crate) struct DiaryRow {
    offset: usize,
    pub(crate) crop: String,
    pub(crate) operation: String,
    pub(crate) field: Option<String>,
    pub(crate) begun: Option<DiaryDay>,
    /// Nothing where it goes on.
    pub(crate) finished: Option<DiaryDay>,
    pub(crate) area_done_ha: Option<f64>,
}

/// A day as it was written, with its year or without.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum DiaryDay {
    Date(Date),
    OfAnyYear(MonthDay),
}

impl DiaryDay {
    /// Reads YYYY-MM-DD or MM-DD.
    pub(crate) fn parse(text: &str) -> Result<Self, Unreadable> {
        if let Ok(date) = clock::date(text) {
            return Ok(Self::Date(date));
        }
        clock::month_day(text).map(Self::OfAnyYear).map_err(|_| Unreadable {
            why: format!("\"{text}\" is not a date"),
            fix: "write YYYY-MM-DD as in \"2024-10-08\", or MM-DD as in \"10-08\"".into(),
        })
    }
}

impl std::fmt::Display for DiaryDay {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Date(date) => date.fmt(f),
            Self::OfAnyYear(day) => day.fmt(f),
        }
    }
}

/// The season that a diary is of: the days of the reference season, in the year in which it really began.
#[derive(Debug, Clone, Copy)]
pub(crate) struct DiarySeason {
    span: Span,
    /// The year in which it began, once it is known.
    pub(crate) year: Option<i16>,
}

impl DiarySeason {
    pub(crate) fn new(span: Span, year: Option<i16>) -> Self {
        Self { span, year }
    }

    /// The day of the season; a date with a year settles which year the season is of.
    ///
    /// # Errors
    /// What is wrong and what to write.
    pub(crate) fn day(&mut self, of: DiaryDay) -> Result<u32, Unreadable> {
        let (first, last) = (self.span.first(), self.span.last());
        let outside = |season: String| Unreadable {
            why: format!("{of} is outside the season, {season}"),
            fix: "give a day of the season, or leave the row out".into(),
        };
        match of {
            DiaryDay::OfAnyYear(day) => {
                let on = |year| self.span.day_of(day.in_year_or_before(year)?);
                let mut days = (first.year()..=last.year()).filter_map(on);
                match (days.next(), days.next()) {
                    (Some(_), Some(_)) => Err(Unreadable {
                        why: format!("the season has the day {of} twice"),
                        fix: "write it with its year, as YYYY-MM-DD".into(),
                    }),
                    (Some(day), None) => Ok(day),
                    (None, _) => {
                        let season = format!("{} to {}", MonthDay::of(first), MonthDay::of(last));
                        Err(outside(season))
                    }
                }
            }
            DiaryDay::Date(date) => {
                let years = last.year() - first.year();
                let as_if = |began: i16| {
                    let date = MonthDay::of(date).in_year_or_before(first.year() + date.year() - began)?;
                    self.span.day_of(date)
                };
                let known = |began: i16| as_if(began).map(|day| (began, day));
                let found = match self.year {
                    Some(began) => known(began),
                    None => (date.year() - years..=date.year()).rev().find_map(known),
                };
                let Some((began, day)) = found else {
                    let season = self.year.map_or_else(
                        || format!("{} to {}", MonthDay::of(first), MonthDay::of(last)),
                        |began| {
                            let (first, last) = (MonthDay::of(first), MonthDay::of(last));
                            format!("{began}-{first} to {}-{last}", began + years)
                        },
                    );
                    return Err(outside(season));
                };
                self.year = Some(began);
                Ok(day)
            }
        }
    }
}

impl Diary {
    /// Reads a diary.
    ///
    /// # Errors
    /// The first mistake, with its row and column.
    pub(crate) fn read(name: &str, text: String) -> Result<Self, ScriptError> {
        let source = Arc::new(Source::new(name, text));
        let rows = Table::open(&source, &NEEDED, &OPTIONAL)?.read(|row| {
            let may = |column| -> Result<Option<DiaryDay>, ScriptError> {
                if row.is_empty(column) { Ok(None) } else { row.parsed(column, DiaryDay::parse).map(Some) }
            };
            let area_done_ha =
                if row.is_empty("area_done_ha") { None } else { Some(row.number("area_done_ha")?) };
            let field = if row.is_empty("field") { None } else { Some(row.text("field")?.to_string()) };
            let finished = may("finished")?;
            if finished.is_none() && area_done_ha.is_none() {
                return Err(row.wrong(
                    "finished",
                    "there is no day",
                    "give the day on which it was finished, or in area_done_ha how much is done of what goes on"
                        .into(),
                ));
            }
            let (crop, operation) = (row.text("crop")?.to_string(), row.text("operation")?.to_string());
            let begun = may("begun")?;
            Ok(DiaryRow { offset: row.offset, crop, operation, field, begun, finished, area_done_ha })
        })?;
        if rows.is_empty() {
            let message = format!("{name} has no row");
            let help =
                "write a row for each operation that is done, below the header crop,operation,finished";
            return Err(ScriptError::new(message).help(help.to_string()));
        }
        Ok(Self { source, rows })
    }

    /// The table's text.
    pub(crate) fn text(&self) -> &str {
        &self.source.text
    }

    /// The table's name.
    pub(crate) fn name(&self) -> &str {
        &self.source.name
    }

    /// A mistake in a column of a row, found with the farm in hand.
    pub(crate) fn mistake(&self, row: usize, column: &str, why: &str, fix: String) -> ScriptError {
        let at = self.rows[row].offset;
        let span = csv_rows::column_span(&self.source, at, column);
        let message = format!("{}, row {}: {why}", self.source.name, self.line(row));
        ScriptError::new(message).at(&self.source, span).help(fix)
    }

    /// The line of a row, from 1.
    pub(crate) fn line(&self, row: usize) -> usize {
        self.source.line(self.rows[row].offset)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn day(season: &mut DiarySeason, text: &str) -> Result<Date, String> {
        let of = DiaryDay::parse(text).map_err(|wrong| wrong.why)?;
        season.day(of).map(|day| season.span.date(day)).map_err(|wrong| wrong.why)
    }

    /// Days with and without a year, in seasons within one year and over New Year, leap days included.
    #[test]
    fn days_are_those_of_the_season_that_the_diary_is_of() {
        let calendar = Span::new(date(2025, 1, 1), date(2025, 12, 31)).unwrap();
        let mut any = DiarySeason::new(calendar, None);
        assert_eq!(day(&mut any, "10-08"), Ok(date(2025, 10, 8)));
        assert_eq!(any.year, None);
        assert_eq!(day(&mut any, "2024-02-29"), Ok(date(2025, 2, 28)));
        assert_eq!(any.year, Some(2024));
        let other = day(&mut any, "2023-10-08").unwrap_err();
        assert_eq!(other, "2023-10-08 is outside the season, 2024-01-01 to 2024-12-31");
        let harvest = Span::new(date(2025, 8, 1), date(2026, 7, 31)).unwrap();
        let mut any = DiarySeason::new(harvest, None);
        assert_eq!(day(&mut any, "03-05"), Ok(date(2026, 3, 5)));
        assert_eq!(day(&mut any, "2019-03-05"), Ok(date(2026, 3, 5)));
        assert_eq!(any.year, Some(2018));
        assert_eq!(day(&mut any, "2018-10-05"), Ok(date(2025, 10, 5)));
        assert!(day(&mut any, "2019-10-05").is_err());
        let autumn = Span::new(date(2025, 8, 1), date(2025, 12, 31)).unwrap();
        let wrong = day(&mut DiarySeason::new(autumn, None), "03-05").unwrap_err();
        assert_eq!(wrong, "03-05 is outside the season, 08-01 to 12-31");
        let long = Span::new(date(2025, 8, 1), date(2026, 12, 31)).unwrap();
        let twice = day(&mut DiarySeason::new(long, None), "10-05").unwrap_err();
        assert_eq!(twice, "the season has the day 10-05 twice");
    }
}
