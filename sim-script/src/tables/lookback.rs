//! lookback.csv: what a farm noted of a year beside what the model did in it, and the descriptor of it.

use super::column::{Column, Kind, Table};
use super::days_package::table_text;
use super::descriptor::{PROFILE, Resource, Setting};
use super::folder::{DESCRIPTOR, OutError, hex, write_whole};
use crate::words;
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::path::Path;

const fn column(name: &'static str, kind: Kind, unit: &'static str, about: &'static str) -> Column {
    Column { name, kind, unit, about }
}

const LOOKBACK: Table = Table {
    name: "lookback",
    about: "When the farm finished its operations in a recorded year, and when the model did.",
    columns: &[
        column("year", Kind::Whole, "", "The year in which the season begins."),
        column("crop", Kind::Text, "", "The crop."),
        column("operation", Kind::Text, "", "The operation of the crop."),
        column("field", Kind::Text, "", "The field; empty: all fields that see the operation."),
        column(
            "due",
            Kind::Date,
            "",
            "Should be finished by the end of this day; empty where the window follows other work or moves with a stage.",
        ),
        column("begun", Kind::Date, "", "The day on which the farm began, where it is noted."),
        column("begun_model", Kind::Date, "", "The day on which the model began; empty where it never did."),
        column("finished", Kind::Date, "", "The day on which the farm finished."),
        column("finished_model", Kind::Date, "", "The day on which the model had all of it done."),
        column(
            "days_apart",
            Kind::Whole,
            "d",
            "Days by which the model finished later than the farm; below 0: earlier; empty: never.",
        ),
        column(
            "waited_mostly_for",
            Kind::Text,
            "",
            "The cause for which the model waited longest, closed hours left out.",
        ),
        column("hours_waited", Kind::Number, "h", "The hours for which it waited for that cause."),
    ],
};

/// What the table was made from.
#[derive(Debug)]
pub(crate) struct LookbackOrigin<'a> {
    pub(crate) farm: &'a str,
    pub(crate) year: i16,
    /// Name and text.
    pub(crate) script: (&'a str, &'a str),
    pub(crate) parameters: Vec<Setting>,
    pub(crate) diary: (&'a str, &'a str),
    /// The record in words.
    pub(crate) record: String,
}

#[derive(Serialize)]
struct Package<'a> {
    #[serde(rename = "$schema")]
    schema: &'static str,
    name: &'static str,
    title: String,
    description: &'static str,
    program: &'static str,
    version: &'static str,
    year: i16,
    script: Named<'a>,
    parameters: &'a [Setting],
    diary: Named<'a>,
    weather: &'a str,
    caution: &'static str,
    resources: Vec<Resource>,
}

#[derive(Serialize)]
struct Named<'a> {
    name: &'a str,
    sha256: String,
}

impl<'a> Named<'a> {
    fn of((name, text): (&'a str, &str)) -> Self {
        Self { name, sha256: hex(&Sha256::digest(text)) }
    }
}

/// Writes the table and its descriptor into a folder; gives their names.
///
/// # Errors
/// When the folder or a file cannot be written.
pub(crate) fn write_lookback(
    folder: &Path,
    origin: &LookbackOrigin<'_>,
    rows: &[Vec<String>],
) -> Result<Vec<String>, OutError> {
    let text = table_text(&LOOKBACK, rows);
    let resource = Resource::new(&LOOKBACK, text.len() as u64, hex(&Sha256::digest(&text)));
    let package = Package {
        schema: PROFILE,
        name: "dryspell-lookback",
        title: format!("{}: the year {} as it was and as the model has it", origin.farm, origin.year),
        description: "Dates are those of the year itself. A cell `never` is a date that does not come, an empty cell cannot be \
                      said.",
        program: "dryspell",
        version: env!("CARGO_PKG_VERSION"),
        year: origin.year,
        script: Named::of(origin.script),
        parameters: &origin.parameters,
        diary: Named::of(origin.diary),
        weather: &origin.record,
        caution: words::CAUTION,
        resources: vec![resource],
    };
    // A map with texts for keys always has a form.
    let described = serde_json::to_string_pretty(&package).unwrap_or_default() + "\n";
    let files = [(format!("{}.csv", LOOKBACK.name), text), (DESCRIPTOR.to_string(), described)];
    write_whole(folder, &files)?;
    Ok(files.map(|(name, _)| name).into())
}
