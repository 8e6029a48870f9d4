//! A record from the bytes of a file.

use super::dates::{DateFormat, NoDate, day_of};
use super::dialect::Dialect;
use super::doubt::doubt;
use super::error::{At, RecordReadError};
use super::mapping::{self, DayColumns, Mapping};
use super::mistake::Mistake;
use super::units::{Dimension, Unit};
use crate::tables::{cell_span, skip_to_row};
use crate::words::nearest;
use csv::StringRecord;
use jiff::civil::Date;
use sim_core::weather::{Gap, Quantity, Record, RecordError};
use std::ops::Range;

/// The years that a day may lie in: wider than any record or scenario, so that one wrong figure cannot make a record
/// of thousands of empty years.
const YEARS: (i16, i16) = (1600, 2400);
/// How many lines below the first are searched for the header that should be there.
const LINES_FOR_HEADER: usize = 100;

/// How a record is to be read.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Reading {
    /// Which column holds what; what it does not name is found by the record's own names.
    pub mapping: Mapping,
    /// Texts that stand for no value, as an empty cell does: "NA", "-999" (which is "-999.0" as well).
    pub missing: Vec<String>,
    /// Gaps of at most so many days are bridged by straight lines ([`Record::bridge`]); 0 bridges none.
    pub bridge_days: usize,
}

/// A record that was read, and what there is to say of its file.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadRecord {
    /// The record, in its own units.
    pub record: Record,
    /// Where values are missing, days without a row counted.
    pub gaps: Vec<Gap>,
    /// Where values were missing and were bridged.
    pub bridged: Vec<Gap>,
    /// The columns that were not used, in the order of the file.
    pub unused: Vec<String>,
    /// How the file is written.
    pub dialect: Dialect,
}

/// Reads a daily record; `name` is the file's, for messages.
///
/// The file has a header and a row for each day, from the earliest to the latest; days may be left out. Lines that
/// begin with `#`, blank lines and rows of empty cells are skipped. Separator, byte-order mark, ends of lines and the
/// sign before decimals are found from the text. Values are converted to the record's own units.
///
/// # Errors
/// The first mistake from the top: text that is not UTF-8 or no table, columns that are not there or there twice, rows
/// too short or too long, cells that are no dates or numbers, days twice or out of order, values that no day can have;
/// at last years that no place has. It names row, column, the cell's text, and what to do.
pub fn read_record(name: &str, bytes: &[u8], reading: &Reading) -> Result<ReadRecord, RecordReadError> {
    read(bytes, reading).map_err(|error| error.in_file(name))
}

fn read(bytes: &[u8], reading: &Reading) -> Result<ReadRecord, RecordReadError> {
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let before = &bytes[..error.valid_up_to()];
        Mistake::NotUtf8 { line: 1 + before.iter().filter(|byte| **byte == b'\n').count() }
    })?;
    let (text, mark) = text.strip_prefix('\u{feff}').map_or((text, false), |rest| (rest, true));
    if !text.contains('\n') && text.trim_end().contains('\r') {
        return Err(Mistake::CarriageReturns.into());
    }
    let header_at = skip_to_row(text, 0);
    if header_at == text.len() {
        return Err(Mistake::Empty.into());
    }
    let dialect = Dialect::of(text, mark, header_at);
    let mut rows = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(dialect.separator as u8)
        .comment(Some(b'#'))
        .terminator(csv::Terminator::Any(b'\n'))
        .from_reader(&text.as_bytes()[header_at..]);
    let mut row = StringRecord::new();
    rows.read_record(&mut row).map_err(no_table)?;
    let file = File { text, header_at, separator: dialect.separator, header: row.clone() };
    Row { file: &file, cells: &row }.refuse_line_breaks()?;
    let layout = Layout::of(&file, &reading.mapping)?;
    let mut cells = Cells::new(&file, dialect, &reading.missing);
    let mut record = Record::new(&layout.columns.iter().map(|column| column.quantity).collect::<Vec<_>>());
    let mut values = vec![f64::NAN; layout.columns.len()];
    while rows.read_record(&mut row).map_err(no_table)? {
        if row.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        let here = Row { file: &file, cells: &row };
        let date = here.read(&layout, &mut cells, &mut values)?;
        record.push(date, &values).map_err(|error| here.refused(&layout, date, error))?;
    }
    if record.days() == 0 {
        return Err(Mistake::NoDays.into());
    }
    if let Some(doubt) = doubt(&record) {
        let column = layout.column(doubt.quantity);
        let mistake = Mistake::Absurd {
            name: file.column(column.at).into(),
            figure: doubt.figure,
            own: Unit::own(doubt.quantity).name,
            per: doubt.per,
            first: record.date(doubt.days.0),
            last: record.date(doubt.days.1),
            bound: doubt.bound,
            written: column.unit.name,
            fitting: Dimension::of(doubt.quantity).unit_names(),
        };
        return Err(RecordReadError::from(mistake).at(file.at(file.header_at, Some(column.at))));
    }
    let bridged = if reading.bridge_days > 0 { record.bridge(reading.bridge_days) } else { Vec::new() };
    Ok(ReadRecord { gaps: record.gaps(), record, bridged, unused: layout.unused, dialect: cells.dialect })
}

fn no_table(error: csv::Error) -> RecordReadError {
    Mistake::NoTable { why: error.to_string() }.into()
}

/// A file being read.
struct File<'a> {
    /// Its text after the byte-order mark.
    text: &'a str,
    /// The header's first byte.
    header_at: usize,
    separator: char,
    header: StringRecord,
}

impl File<'_> {
    fn column(&self, at: usize) -> &str {
        self.header.get(at).unwrap_or_default().trim()
    }

    /// The columns of that name.
    fn places<'s>(&'s self, name: &'s str) -> impl Iterator<Item = usize> + 's {
        self.header.iter().enumerate().filter(move |(_, header)| header.trim() == name).map(|(at, _)| at)
    }

    /// The place of a row that begins at a byte, or of a cell in it.
    fn at(&self, start: usize, column: Option<usize>) -> At {
        let rest = &self.text[start..];
        let text = rest[..rest.find('\n').unwrap_or(rest.len())].trim_end().to_string();
        // A value with a line break in it is marked as far as its first line goes.
        let within = |span: Range<usize>| span.start.min(text.len())..span.end.min(text.len());
        let span = column.map_or(0..text.len(), |column| within(cell_span(rest, self.separator, column)));
        At { line: self.line(start), text, span }
    }

    fn line(&self, start: usize) -> usize {
        1 + self.text.as_bytes()[..start].iter().filter(|byte| **byte == b'\n').count()
    }

    fn in_header(&self, mistake: Mistake) -> RecordReadError {
        RecordReadError::from(mistake).at(self.at(self.header_at, None))
    }

    /// The place of a column that must be there once.
    fn need(&self, name: &str, word: &'static str) -> Result<usize, RecordReadError> {
        self.find(name)?.ok_or_else(|| {
            let has =
                |line: &str| line.split([',', ';', '\t']).any(|cell| cell.trim().trim_matches('"') == name);
            let lines = self.text[self.header_at..].lines().skip(1).take(LINES_FOR_HEADER);
            let below = lines.enumerate().find(|(_, line)| has(line)).map(|(number, _)| number + 1);
            self.in_header(Mistake::NoColumn {
                name: name.into(),
                word,
                near: nearest(name, self.header.iter().map(str::trim)).map(str::to_string),
                columns: self.columns(),
                line: below.map(|below| self.line(self.header_at) + below),
            })
        })
    }

    fn find(&self, name: &str) -> Result<Option<usize>, RecordReadError> {
        let times = self.places(name).count();
        if times > 1 {
            let last = self.places(name).last();
            let mistake = Mistake::ColumnTwice { name: name.into(), times };
            return Err(RecordReadError::from(mistake).at(self.at(self.header_at, last)));
        }
        Ok(self.places(name).next())
    }

    /// The names of the columns in a row.
    fn columns(&self) -> String {
        let names: Vec<&str> = self.header.iter().map(str::trim).filter(|name| !name.is_empty()).collect();
        shown(&names.join(", "), 200)
    }
}

/// A text as messages show it: not longer than so many characters.
fn shown(text: &str, most: usize) -> String {
    match text.char_indices().nth(most) {
        Some((end, _)) => format!("{}...", &text[..end]),
        None => text.into(),
    }
}

/// A column with a quantity.
struct Column {
    at: usize,
    quantity: Quantity,
    unit: &'static Unit,
}

/// Which column of the file is what.
struct Layout {
    day: Day,
    columns: Vec<Column>,
    unused: Vec<String>,
}

enum Day {
    One(usize, DateFormat),
    Three([usize; 3]),
}

impl Layout {
    fn of(file: &File, mapping: &Mapping) -> Result<Self, RecordReadError> {
        let day = match mapping.day_columns()? {
            DayColumns::One(name, format) => Day::One(file.need(&name, "date")?, format),
            DayColumns::Three(names) => {
                let mut places = [0; 3];
                for ((place, name), word) in places.iter_mut().zip(&names).zip(mapping::PARTS) {
                    *place = file.need(name, word)?;
                }
                Day::Three(places)
            }
        };
        let mut taken: Vec<usize> = match day {
            Day::One(at, _) => vec![at],
            Day::Three(places) => places.to_vec(),
        };
        let mut columns = Vec::new();
        for mapped in mapping.columns() {
            let at = file.need(&mapped.column, mapping::word(mapped.quantity))?;
            taken.push(at);
            columns.push(Column { at, quantity: mapped.quantity, unit: mapped.unit });
        }
        for quantity in Quantity::NOTED {
            let free = |at: &usize| !taken.contains(at);
            if columns.iter().all(|column| column.quantity != quantity)
                && let Some(at) = file.find(quantity.name())?.filter(free)
            {
                taken.push(at);
                columns.push(Column { at, quantity, unit: Unit::own(quantity) });
            }
        }
        columns.sort_by_key(|column| column.quantity);
        let rest = file
            .header
            .iter()
            .enumerate()
            .filter(|(at, name)| !taken.contains(at) && !name.trim().is_empty());
        let unused: Vec<String> = rest.map(|(_, name)| name.trim().to_string()).collect();
        if columns.is_empty() {
            let example = unused.first().map_or_else(|| "RAINFALL".into(), |name| shown(name, 40));
            return Err(file.in_header(Mistake::NoQuantity { columns: file.columns(), example }));
        }
        Ok(Self { day, columns, unused })
    }

    fn column(&self, quantity: Quantity) -> &Column {
        self.columns.iter().find(|column| column.quantity == quantity).unwrap_or(&self.columns[0])
    }

    /// The column to mark where the day is wrong.
    fn day_at(&self) -> usize {
        match self.day {
            Day::One(at, _) => at,
            Day::Three([_, _, day]) => day,
        }
    }
}

/// How cells are read; it learns the sign before decimals.
struct Cells {
    dialect: Dialect,
    /// Whether a number with decimals has shown the sign before them; commas between values leave a point only.
    decimal_is_known: bool,
    missing: Vec<(String, Option<f64>)>,
    buffer: String,
}

impl Cells {
    fn new(file: &File, dialect: Dialect, missing: &[String]) -> Self {
        let mut cells = Self {
            dialect,
            decimal_is_known: file.separator == ',',
            missing: Vec::new(),
            buffer: String::new(),
        };
        let numbers = missing.iter().map(|marker| marker.trim());
        cells.missing = numbers.map(|marker| (marker.to_string(), cells.plain(marker))).collect();
        cells
    }

    /// A number with a point or a comma before its decimals.
    fn plain(&mut self, text: &str) -> Option<f64> {
        if !text.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'+' | b'-' | b'.' | b',' | b'e' | b'E')) {
            return None;
        }
        let number = if text.contains(',') {
            self.buffer.clear();
            self.buffer.extend(text.chars().map(|letter| if letter == ',' { '.' } else { letter }));
            self.buffer.parse()
        } else {
            text.parse()
        };
        number.ok().filter(|number: &f64| number.is_finite())
    }

    /// The number in a cell, `NAN` where it has none.
    fn number(&mut self, column: &str, text: &str) -> Result<f64, Mistake> {
        let number = if text.is_empty() { None } else { self.plain(text) };
        let is_marker =
            |(marker, value): &(String, Option<f64>)| marker == text || (value.is_some() && *value == number);
        if text.is_empty() || self.missing.iter().any(is_marker) {
            return Ok(f64::NAN);
        }
        let (column, cell) = (|| column.to_string(), || shown(text, 40));
        let Some(number) = number else {
            return Err(Mistake::NotANumber { column: column(), text: cell() });
        };
        if let Some(sign) = text.chars().find(|letter| matches!(letter, '.' | ',')) {
            if !self.decimal_is_known {
                self.dialect.decimal = sign;
                self.decimal_is_known = true;
            }
            if sign != self.dialect.decimal {
                let (column, text, above) = (column(), cell(), self.dialect.decimal);
                return Err(match self.dialect.separator {
                    ',' => Mistake::DecimalComma { column, text },
                    _ => Mistake::MixedDecimals { column, text, above },
                });
            }
        }
        Ok(number)
    }
}

/// A row being read.
struct Row<'a> {
    file: &'a File<'a>,
    cells: &'a StringRecord,
}

impl Row<'_> {
    fn cell(&self, at: usize) -> &str {
        self.cells.get(at).unwrap_or_default().trim()
    }

    fn wrong(&self, at: Option<usize>, mistake: Mistake) -> RecordReadError {
        // The reader's place is before blank lines and comments that it has skipped.
        let place = self.cells.position().map_or(0, |position| position.byte() as usize);
        let start = skip_to_row(self.file.text, self.file.header_at + place);
        RecordReadError::from(mistake).at(self.file.at(start, at))
    }

    /// A quote that does not end would swallow the rows below it unseen.
    fn refuse_line_breaks(&self) -> Result<(), RecordReadError> {
        let Some(at) = self.cells.iter().position(|cell| cell.contains('\n')) else { return Ok(()) };
        let column = shown(self.file.column(at).lines().next().unwrap_or_default(), 40);
        Err(self.wrong(Some(at), Mistake::LineBreak { column }))
    }

    /// The day of the row; its values are put into `values`.
    fn read(&self, layout: &Layout, cells: &mut Cells, values: &mut [f64]) -> Result<Date, RecordReadError> {
        self.refuse_line_breaks()?;
        let (has, columns) = (self.cells.len(), self.file.header.len());
        if has != columns {
            let separator = self.file.separator;
            return Err(self.wrong(None, Mistake::Length { has, columns, separator }));
        }
        let date = self.date(layout)?;
        for (column, value) in layout.columns.iter().zip(values) {
            let text = self.cell(column.at);
            let name = self.file.column(column.at);
            let written = cells.number(name, text).map_err(|mistake| self.wrong(Some(column.at), mistake))?;
            *value = column.unit.to_own(written);
            let (least, most) = column.quantity.limits();
            if *value < least || *value > most {
                return Err(self.wrong(Some(column.at), impossible(column, name, text, written)));
            }
        }
        Ok(date)
    }

    fn date(&self, layout: &Layout) -> Result<Date, RecordReadError> {
        let at = layout.day_at();
        let column = || self.file.column(at).to_string();
        let (read, text, format) = match layout.day {
            Day::One(at, format) => (format.read(self.cell(at)), self.cell(at).to_string(), format),
            Day::Three(places) => {
                let [year, month, day] = places.map(|at| self.cell(at));
                let text = [year, month, day].join("-");
                (day_of(year, month, day), text, DateFormat::Iso)
            }
        };
        let date = read.map_err(|why| {
            let one = matches!(layout.day, Day::One(..));
            let others = DateFormat::ALL.into_iter().filter(|other| one && other.read(&text).is_ok());
            let (text, others) = (shown(&text, 40), others.map(DateFormat::word).collect());
            let pattern = format.word();
            self.wrong(
                Some(at),
                match why {
                    NoDate::Shape if !one => Mistake::NotFigures { column: column(), text },
                    NoDate::Shape => Mistake::NotADate { column: column(), text, pattern, others },
                    NoDate::NoSuchDay => Mistake::NoSuchDay { column: column(), text, others },
                },
            )
        })?;
        let (least, most) = YEARS;
        if date.year() < least || date.year() > most {
            let mistake = Mistake::Year { column: column(), year: date.year(), least, most };
            return Err(self.wrong(Some(at), mistake));
        }
        Ok(date)
    }

    /// What the record has against the row.
    fn refused(&self, layout: &Layout, date: Date, error: RecordError) -> RecordReadError {
        let day = layout.day_at();
        let column = |at| self.file.column(at).to_string();
        match error {
            RecordError::Twice { .. } => self.wrong(Some(day), Mistake::Twice { column: column(day), date }),
            RecordError::OutOfOrder { above, .. } => {
                self.wrong(Some(day), Mistake::OutOfOrder { column: column(day), date, above })
            }
            RecordError::Crossed { low, low_value, high, high_value, .. } => {
                let (at, other) = (layout.column(low).at, column(layout.column(high).at));
                let own = Unit::own(low).name;
                let mistake =
                    Mistake::Crossed { column: column(at), low: low_value, other, high: high_value, own };
                self.wrong(Some(at), mistake)
            }
            RecordError::Impossible { quantity, value, .. } => {
                let found = layout.column(quantity);
                let name = self.file.column(found.at);
                self.wrong(Some(found.at), impossible(found, name, self.cell(found.at), value))
            }
        }
    }
}

/// A value that no day can have, with the units in which one could.
fn impossible(column: &Column, name: &str, text: &str, written: f64) -> Mistake {
    let (least, most) = column.quantity.limits();
    let own = Unit::own(column.quantity);
    let others = Dimension::of(column.quantity).units().filter(|unit| *unit != column.unit);
    let others = others.map(|unit| (unit.name, unit.to_own(written)));
    Mistake::Impossible {
        column: name.into(),
        text: shown(text, 40),
        written: (column.unit != own).then_some(column.unit.name),
        value: column.unit.to_own(written),
        own: own.name,
        least,
        most,
        others: others.filter(|(_, value)| (least..=most).contains(value)).collect(),
        rain: column.quantity == Quantity::Rain,
    }
}
