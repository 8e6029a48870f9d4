//! trace.csv: one season, event by event.

use super::column::TRACE;
use super::folder::{OutError, OutFolder};
use jiff::ToSpan as _;
use jiff::civil::Time;
use sim_core::farm::Farm;
use sim_core::season::Entry;
use std::io;

/// An event with its instant, seconds from the season's start.
pub type TraceRow = (i64, Entry);

/// A season told event by event.
#[derive(Debug)]
pub struct Told<'a> {
    /// The farm.
    pub farm: &'a Farm,
    /// The recorded year that the season is, if it is one.
    pub year: Option<i16>,
    /// What happened.
    pub rows: &'a [TraceRow],
}

/// Writes trace.csv into the folder.
///
/// # Errors
///
/// When the file cannot be written.
pub(crate) fn keep_trace(out: &mut OutFolder, told: &Told<'_>) -> Result<(), OutError> {
    let mut csv = out.begin(&TRACE)?;
    write_rows(&mut csv, told).map_err(|error| out.error(TRACE.name, error.into()))?;
    out.keep(&TRACE, csv)
}

/// Writes the table of a traced season.
///
/// # Errors
///
/// When it cannot be written.
pub fn write_trace(to: impl io::Write, told: &Told<'_>) -> io::Result<()> {
    let mut csv = csv::Writer::from_writer(to);
    csv.write_record(TRACE.columns.iter().map(|column| column.name))?;
    write_rows(&mut csv, told)?;
    csv.flush()
}

fn write_rows<W: io::Write>(csv: &mut csv::Writer<W>, told: &Told<'_>) -> csv::Result<()> {
    let farm = told.farm;
    let year = told.year.map_or_else(String::new, |year| year.to_string());
    let start = farm.span.first().to_datetime(Time::midnight());
    for (now, entry) in told.rows {
        let job = &farm.jobs[entry.job];
        let row = &farm.rows[job.row];
        csv.write_record([
            start.saturating_add(now.seconds()).to_string().as_str(),
            &year,
            farm.fields[job.field].name.as_str(),
            &format!("{} of {}", row.operation, farm.crops[row.crop]),
            entry.outfit.map_or("", |outfit| farm.outfits[outfit].name.as_str()),
            entry.what.name(),
            entry.why.name(),
        ])?;
    }
    Ok(())
}
