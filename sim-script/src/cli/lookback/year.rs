//! One recorded year of a farm, worked by the model.

use crate::cli::Failure;
use crate::cli::args::LookbackArgs;
use crate::cli::work::BASE;
use crate::script::Deciders;
use crate::tables::TraceRow;
use crate::tables::record::{Reading, read_record};
use crate::words;
use sim_core::farm::Farm;
use sim_core::farm::spec::{FarmSpec, RecordSpec, RecordUse};
use sim_core::kernel::Log;
use sim_core::season::{Entry, JobAccount, Outcome, Season, SeasonError};
use sim_core::study::{PolicyMaker as _, Variant};
use sim_core::weather::{Order, RainDay, Sky, Station, prepare};
use std::path::Path;
use std::sync::Arc;

/// Which season of which weather the year is.
#[derive(Debug)]
pub(super) struct SeasonNumber {
    /// Among the record's years.
    pub(super) index: u64,
    /// Whether the script's own weather replays the record, so that its seasons have these numbers.
    pub(super) by_script: bool,
}

/// What the model did in the year.
#[derive(Debug)]
pub(super) struct Worked {
    pub(super) outcome: Outcome,
    pub(super) accounts: Vec<JobAccount>,
    pub(super) log: Vec<TraceRow>,
}

/// The farm under its record's years as they were, and which of them the year is.
pub(super) fn variant(mut spec: FarmSpec, args: &LookbackArgs) -> Result<(Variant, SeasonNumber), Failure> {
    let mut by_script = false;
    match (&args.record, &mut spec.record) {
        (Some(path), own) => {
            let rules = own.as_mut().map_or_else(Vec::new, |own| std::mem::take(&mut own.rules));
            let read = record(path, &spec)?;
            spec.record = Some(RecordSpec { origin: spec.origin, rules, ..read });
            spec.suitable.clear();
            spec.drivers.clear();
        }
        (None, Some(own)) => {
            by_script = own.serves_as == RecordUse::Years(Order::Replay);
            own.serves_as = RecordUse::Years(Order::Replay);
        }
        (None, None) => {
            return Err(Failure::Request(
                "the script's weather is a table of suitable days, which has no years to look back on\nGive the daily \
                 record of where the farm lies with --record, or let the script say weather: replay(\"record.csv\")."
                    .into(),
            ));
        }
    }
    let farm = Farm::new(&spec).map_err(|error| Failure::Request(error.to_string()))?;
    let variant = Variant::new(BASE, farm)?;
    let years: Vec<i16> = variant
        .weather
        .recorded()
        .map_or_else(Vec::new, |of| of.years().iter().map(|year| year.year).collect());
    let Some(index) = years.iter().position(|year| *year == args.year) else {
        return Err(Failure::Request(format!(
            "the record has no whole season that begins in {}\nIt has {}.",
            args.year,
            spans(&years)
        )));
    };
    Ok((variant, SeasonNumber { index: index as u64, by_script }))
}

/// Years with those that follow one another drawn together: "1980 to 1994 and 1996".
fn spans(years: &[i16]) -> String {
    let mut spans: Vec<(i16, i16)> = Vec::new();
    for year in years {
        match spans.last_mut() {
            Some((_, last)) if *last + 1 == *year => *last = *year,
            _ => spans.push((*year, *year)),
        }
    }
    let text = |(first, last): &(i16, i16)| {
        if first == last { first.to_string() } else { format!("{first} to {last}") }
    };
    words::one_after_another(&spans.iter().map(text).collect::<Vec<_>>())
}

/// Reads a record; what it does not note is worked out for where the farm lies.
fn record(path: &Path, spec: &FarmSpec) -> Result<RecordSpec, Failure> {
    let bytes = std::fs::read(path).map_err(|error| {
        Failure::Request(format!(
            "cannot read {}: {error}\nName a CSV file with a row for each day.",
            path.display()
        ))
    })?;
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let reading = Reading::default();
    let mut read =
        read_record(&name, &bytes, &reading).map_err(|error| Failure::Record(error.coloured()))?.record;
    // The height of the place is not known to the farm; sea level, and an anemometer at 10 m.
    let station = Station::new(spec.site.latitude_deg(), 0.0, 10.0)?;
    let _ = prepare(&mut read, Some(&station));
    Ok(RecordSpec {
        origin: spec.origin,
        record: Arc::new(read),
        serves_as: RecordUse::Years(Order::Replay),
        rain_day: RainDay::OfTheDay,
        rules: Vec::new(),
    })
}

/// Works the year; what happened until a decision failed is kept.
pub(super) fn work(
    variant: &Variant,
    deciders: &Deciders<'_>,
    number: &SeasonNumber,
) -> (Worked, Option<SeasonError>) {
    let mut log: Log<Entry> = Log::default();
    let mut sky = Sky::default();
    variant.weather.draw(1, number.index, &mut sky);
    let mut season = Season::new(&variant.plan);
    let worked = season.work_traced(number.index, &sky, &mut deciders.make(0), &mut log).cloned();
    let (outcome, failed) = match worked {
        Ok(outcome) => (outcome, None),
        Err(error) => (Outcome::default(), Some(error)),
    };
    (Worked { outcome, accounts: season.accounts().collect(), log: log.rows }, failed)
}

/// The record's years in words.
pub(super) fn record_words(farm: &Farm) -> String {
    words::weather(farm)
}
