//! Tables beside a script: rows of suitable days and of drivers. A mistake names file, row, column and value.

use super::clock::{self, Unreadable};
use super::error::ScriptError;
use super::source::Source;
use crate::tables::{cell_span, skip_to_row};
use crate::words::nearest;
use sim_core::farm::spec::{DriverRow, Origin, SuitableRow};
use std::ops::Range;
use std::sync::Arc;

/// Columns that any table may have for people; they change nothing.
const FOR_PEOPLE: [&str; 5] = ["note", "source", "p_low", "p_high", "years"];

/// A table being read.
pub(super) struct Table<'a> {
    source: &'a Arc<Source>,
    headers: Vec<String>,
    rows: Vec<(usize, csv::StringRecord)>,
}

/// A row being read.
pub(super) struct Row<'a> {
    table: &'a Table<'a>,
    pub(super) offset: usize,
    record: &'a csv::StringRecord,
}

/// Reads rows of suitable days; `origin` gives each row's number from its first byte.
pub(crate) fn suitable(
    source: &Arc<Source>,
    mut origin: impl FnMut(usize) -> Origin,
) -> Result<Vec<SuitableRow>, ScriptError> {
    let columns = ["class", "soil", "from", "to", "p_suitable"];
    Table::open(source, &columns, &["p_shut", "spread", "hours_mean", "hours_sd"])?.read(|row| {
        // Not every row need have its own.
        let may = |column| if row.is_empty(column) { Ok(None) } else { row.number(column).map(Some) };
        Ok(SuitableRow {
            origin: origin(row.offset),
            class: row.text("class")?.to_string(),
            soil: row.text("soil")?.to_string(),
            from: row.parsed("from", clock::month_day)?,
            to: row.parsed("to", clock::month_day)?,
            p_suitable: row.number("p_suitable")?,
            p_shut: may("p_shut")?,
            spread: may("spread")?,
            hours_mean: may("hours_mean")?,
            hours_sd: may("hours_sd")?,
        })
    })
}

/// Reads rows of drivers.
pub(crate) fn drivers(
    source: &Arc<Source>,
    mut origin: impl FnMut(usize) -> Origin,
) -> Result<Vec<DriverRow>, ScriptError> {
    let columns = ["driver", "from", "to", "persistence", "spread", "spread_days"];
    Table::open(source, &columns, &["agreement"])?.read(|row| {
        let whole_season = row.text("spread_days")? == "year";
        Ok(DriverRow {
            origin: origin(row.offset),
            driver: row.text("driver")?.to_string(),
            from: row.parsed("from", clock::month_day)?,
            to: row.parsed("to", clock::month_day)?,
            persistence: row.number("persistence")?,
            spread: row.number("spread")?,
            spread_days: if whole_season { None } else { Some(row.spell("spread_days")?) },
            agreement: if row.table.has("agreement") { row.number("agreement")? } else { 1.0 },
        })
    })
}

impl<'a> Table<'a> {
    pub(super) fn open(
        source: &'a Arc<Source>,
        needed: &[&str],
        optional: &[&str],
    ) -> Result<Self, ScriptError> {
        let mut reader = csv::ReaderBuilder::new()
            .comment(Some(b'#'))
            .trim(csv::Trim::All)
            .from_reader(source.text.as_bytes());
        let first_line = || {
            let start = skip_to_row(&source.text, 0);
            let length = source.text[start..].find('\n').unwrap_or(source.text.len() - start);
            start..start + length
        };
        let headers = reader.headers().map_err(|error| broken(source, &error))?.clone();
        let headers: Vec<String> = headers.iter().map(str::to_string).collect();
        let all = format!(
            "the columns are {}",
            needed.iter().chain(optional).copied().collect::<Vec<_>>().join(", ")
        );
        for header in &headers {
            let known = needed.iter().chain(optional).chain(&FOR_PEOPLE);
            if !known.clone().any(|name| name == header) {
                let line = first_line();
                let span = source.text[line.clone()]
                    .find(header.as_str())
                    .map_or(line.clone(), |at| line.start + at..line.start + at + header.len());
                let help = match nearest(header, known.copied()) {
                    Some(near) => format!("did you mean `{near}`? {all}"),
                    None => format!("{all}, and `note` or `source` for people"),
                };
                let message = format!("{} has a column `{header}` that means nothing here", source.name);
                return Err(ScriptError::new(message).at(source, span).help(help));
            }
        }
        if let Some(missing) = needed.iter().find(|name| !headers.iter().any(|header| header == *name)) {
            let message = format!("{} has no column `{missing}`", source.name);
            return Err(ScriptError::new(message).at(source, first_line()).help(all));
        }
        let mut rows = Vec::new();
        for record in reader.records() {
            let record = record.map_err(|error| broken(source, &error))?;
            // The reader's place is before blank lines and comments that it has skipped.
            let start = record.position().map_or(0, |position| position.byte() as usize);
            rows.push((skip_to_row(&source.text, start), record));
        }
        Ok(Self { source, headers, rows })
    }

    fn has(&self, column: &str) -> bool {
        self.headers.iter().any(|header| header == column)
    }

    pub(super) fn read<T>(
        &self,
        mut row: impl FnMut(Row) -> Result<T, ScriptError>,
    ) -> Result<Vec<T>, ScriptError> {
        self.rows.iter().map(|(offset, record)| row(Row { table: self, offset: *offset, record })).collect()
    }
}

impl Row<'_> {
    fn column(&self, name: &str) -> usize {
        self.table.headers.iter().position(|header| header == name).unwrap_or(0)
    }

    pub(super) fn wrong(&self, column: &str, why: &str, fix: String) -> ScriptError {
        let source = self.table.source;
        let line = source.line(self.offset);
        let message = format!("{}, row {line}, column `{column}`: {why}", source.name);
        ScriptError::new(message).at(source, field_span(source, self.offset, self.column(column))).help(fix)
    }

    pub(super) fn text(&self, column: &str) -> Result<&str, ScriptError> {
        match self.record.get(self.column(column)).unwrap_or_default() {
            "" => Err(self.wrong(column, "there is nothing", format!("give every row a `{column}`"))),
            text => Ok(text),
        }
    }

    /// Whether the row has nothing in a column, or the table no such column.
    pub(super) fn is_empty(&self, column: &str) -> bool {
        !self.table.has(column) || self.record.get(self.column(column)).is_none_or(str::is_empty)
    }

    pub(super) fn number(&self, column: &str) -> Result<f64, ScriptError> {
        let text = self.text(column)?;
        text.parse().ok().filter(|number: &f64| number.is_finite()).ok_or_else(|| {
            self.wrong(
                column,
                &format!("\"{text}\" is not a number"),
                "write a number with a point, as in 0.45".into(),
            )
        })
    }

    fn spell(&self, column: &str) -> Result<f64, ScriptError> {
        self.number(column)
            .map_err(|error| error.help("write a number of days, or year for whole seasons".to_string()))
    }

    pub(super) fn parsed<T>(
        &self,
        column: &str,
        parse: impl Fn(&str) -> Result<T, Unreadable>,
    ) -> Result<T, ScriptError> {
        parse(self.text(column)?).map_err(|Unreadable { why, fix }| self.wrong(column, &why, fix))
    }
}

fn broken(source: &Arc<Source>, error: &csv::Error) -> ScriptError {
    let line = error.position().map_or(1, |position| position.line() as usize);
    let start = skip_to_row(&source.text, source.offset(line, 1));
    let end = source.text[start..].find('\n').map_or(source.text.len(), |at| start + at);
    let (message, help) = match error.kind() {
        csv::ErrorKind::UnequalLengths { expected_len, len, .. } => (
            format!(
                "{}, row {}, has {len} values for {expected_len} columns",
                source.name,
                source.line(start)
            ),
            "give every row one value for each column; put a value with a comma in double quotes",
        ),
        _ => (
            format!("{} is not a table: {error}", source.name),
            "write one row a line, with commas between values",
        ),
    };
    ScriptError::new(message).at(source, start..end).help(help.to_string())
}

/// The bytes of a named column's value in the row that begins at `offset`; of its first value where there is no such
/// column.
pub(super) fn column_span(source: &Source, offset: usize, column: &str) -> Range<usize> {
    let header = source.text[skip_to_row(&source.text, 0)..].lines().next().unwrap_or_default();
    let names = header.split(',').map(|name| name.trim().trim_matches('"'));
    field_span(source, offset, names.into_iter().position(|name| name == column).unwrap_or(0))
}

/// The bytes of a value of the row that begins at `offset`.
pub(crate) fn field_span(source: &Source, offset: usize, column: usize) -> Range<usize> {
    let span = cell_span(&source.text[offset..], ',', column);
    offset + span.start..offset + span.end
}
