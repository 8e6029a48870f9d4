//! Weekly statistics of days suitable for field work, from CSV: a row for each reported week, with its last day and the
//! number of days.

use super::record::Dialect;
use super::skip_to_row;
use jiff::civil::Date;
use sim_core::weather::weekly::{WEEK_DAYS, Week};

/// The column of a week's last day, and that of its suitable days; a column `year` does no harm.
pub(crate) const COLUMNS: [&str; 2] = ["week_ending", "days_suitable"];

/// A mistake in weekly statistics.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{message}\n{fix}")]
pub(crate) struct WeeklyError {
    message: String,
    fix: &'static str,
}

/// What was read.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Weekly {
    /// The reported weeks in their order.
    pub(crate) weeks: Vec<Week>,
    /// Weeks without a number.
    pub(crate) empty: usize,
    /// Columns not used.
    pub(crate) unused: Vec<String>,
}

/// Reads weekly statistics, if the file's columns are those of some; nothing where it is another kind of file. `name`
/// is the file's, for messages.
///
/// # Errors
/// The first row that is no week: a date or a number that cannot be, or weeks out of order or over one another.
pub(crate) fn read_weekly(name: &str, bytes: &[u8]) -> Result<Option<Weekly>, WeeklyError> {
    // What is not even text is for the reader of daily records to refuse.
    let Ok(text) = std::str::from_utf8(bytes) else { return Ok(None) };
    let (text, mark) = text.strip_prefix('\u{feff}').map_or((text, false), |rest| (rest, true));
    let header_at = skip_to_row(text, 0);
    let dialect = Dialect::of(text, mark, header_at);
    let mut rows = csv::ReaderBuilder::new()
        .flexible(true)
        .delimiter(dialect.separator as u8)
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .from_reader(&text.as_bytes()[header_at..]);
    let Ok(headers) = rows.headers().cloned() else { return Ok(None) };
    let [Some(ending_at), Some(days_at)] =
        COLUMNS.map(|column| headers.iter().position(|header| header == column))
    else {
        return Ok(None);
    };
    let unused = headers.iter().filter(|header| !COLUMNS.contains(header) && *header != "year");
    let mut read = Weekly { weeks: Vec::new(), empty: 0, unused: unused.map(String::from).collect() };
    let lines_before = text[..header_at].matches('\n').count() as u64;
    for row in rows.records() {
        let row = row.map_err(|error| WeeklyError {
            message: format!("{name} is no table: {error}"),
            fix: "Bring a CSV file with a header and a row for each week.",
        })?;
        let line = lines_before + row.position().map_or(0, csv::Position::line);
        let wrong = |column: &str, why: String, fix| WeeklyError {
            message: format!("{name}, row {line}, column `{column}`: {why}"),
            fix,
        };
        let cell = |at: usize| row.get(at).unwrap_or_default();
        if row.iter().all(str::is_empty) {
            continue;
        }
        let ending: Date = cell(ending_at).parse().map_err(|_| {
            let fix = "Write the week's last day as YYYY-MM-DD.";
            wrong(COLUMNS[0], format!("`{}` is no date", cell(ending_at)), fix)
        })?;
        if let Some(last) = read.weeks.last().filter(|last| (ending - last.ending).get_days() < 7) {
            let why = format!("the week to {ending} does not lie after the week to {}", last.ending);
            return Err(wrong(COLUMNS[0], why, "Sort the weeks, the earliest first, each once."));
        }
        if cell(days_at).is_empty() {
            read.empty += 1;
            continue;
        }
        let written = cell(days_at);
        let days = if dialect.separator == ';' { written.replace(',', ".") } else { written.to_string() };
        match days.parse::<f64>() {
            Ok(days) if (0.0..=WEEK_DAYS).contains(&days) => read.weeks.push(Week { ending, days }),
            _ => {
                let why = format!("`{written}` is no number of days in a week");
                return Err(wrong(COLUMNS[1], why, "Write a number from 0 to 7, or leave the cell empty."));
            }
        }
    }
    Ok(Some(read))
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn read(text: &str) -> Result<Option<Weekly>, WeeklyError> {
        read_weekly("weeks.csv", text.as_bytes())
    }

    #[test]
    fn weeks_are_known_by_their_columns() {
        let text =
            "# note\n\nyear;week_ending;place;days_suitable\n2024;2024-09-08;x;4,5\n2024;2024-09-15;x;\n";
        let weekly = read(text).unwrap().unwrap();
        assert_eq!(weekly.weeks, [Week { ending: date(2024, 9, 8), days: 4.5 }]);
        assert_eq!((weekly.empty, weekly.unused), (1, vec!["place".to_string()]));
        for other in ["date,rain_mm\n2024-01-01,1\n", "", "week_ending\n2024-09-08\n"] {
            assert_eq!(read(other), Ok(None));
        }
        assert_eq!(read_weekly("x", &[0xff, 0xfe]), Ok(None));
    }

    #[test]
    fn a_wrong_row_is_named_with_what_to_write() {
        for (row, words) in [
            ("8.9.2024,4", "row 3, column `week_ending`: `8.9.2024` is no date"),
            ("2024-09-08,9", "row 3, column `days_suitable`: `9` is no number of days in a week"),
            ("2024-09-08,NaN", "`NaN` is no number of days"),
            ("2024-09-05,4", "the week to 2024-09-05 does not lie after the week to 2024-09-01"),
        ] {
            let error = read(&format!("week_ending,days_suitable\n2024-09-01,3\n{row}\n")).unwrap_err();
            assert!(error.to_string().contains(words) && error.to_string().contains('\n'), "{error}");
        }
    }
}
