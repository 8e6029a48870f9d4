//! The descriptor `datapackage.json`, after the Data Package standard 2.0 (datapackage.org): what the files and
//! columns are, and what they were made from.

use super::column::{Column, Kind, Table};
use super::folder::hex;
use crate::words;
use serde::Serialize;
use sha2::{Digest, Sha256};
use sim_core::farm::{Done, Farm, Known};
use sim_core::study::{HalfWidth, Variant};
use std::io::{self, Write};

/// The standard's profile of a descriptor.
pub(super) const PROFILE: &str = "https://datapackage.org/profiles/2.0/datapackage.json";

/// What the tables were made from.
#[derive(Debug)]
pub struct Origin<'a> {
    /// The variants.
    pub variants: &'a [Variant],
    /// The script's name.
    pub script: &'a str,
    /// The script's text.
    pub source: &'a str,
    /// The script's parameters.
    pub parameters: Vec<Setting>,
    /// The parameters in which each variant after the first differs from it; its own value is the default there.
    pub changes: Vec<Vec<Setting>>,
    /// The seed.
    pub seed: u64,
    /// Seasons worked.
    pub seasons: u64,
    /// Seasons asked for; the most that might be worked where what they told decided how many.
    pub asked: u64,
    /// The half-width at which enough was known.
    pub until: Option<HalfWidth>,
    /// The season of the trace, if there is one.
    pub traced: Option<u64>,
    /// The parameters that were varied.
    pub varied: Vec<Varied>,
}

/// A parameter that was varied.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Varied {
    /// Its name.
    pub name: String,
    /// The values that it was given.
    pub values: Vec<String>,
}

/// A parameter with its value, as text.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Setting {
    /// Its name.
    pub name: String,
    /// Its value.
    pub value: String,
    /// Its value unless it is set.
    pub default: String,
}

#[derive(Serialize)]
struct Package<'a> {
    #[serde(rename = "$schema")]
    schema: &'static str,
    name: &'static str,
    title: String,
    description: String,
    program: &'static str,
    version: &'static str,
    script: ScriptEntry<'a>,
    parameters: &'a [Setting],
    seed: u64,
    seasons: u64,
    seasons_asked: u64,
    /// Half of the width that intervals should have at most.
    #[serde(skip_serializing_if = "Option::is_none")]
    until_halfwidth: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    season_traced: Option<u64>,
    #[serde(skip_serializing_if = "<[_]>::is_empty")]
    varied: &'a [Varied],
    #[serde(skip_serializing_if = "Vec::is_empty")]
    variants: Vec<VariantEntry<'a>>,
    weather: Vec<VariantWeather<'a>>,
    /// The first farm's season, where it is taken up on a day.
    #[serde(skip_serializing_if = "Option::is_none")]
    taken_up: Option<TakenUp<'a>>,
    caution: &'static str,
    resources: Vec<Resource>,
}

#[derive(Serialize)]
struct ScriptEntry<'a> {
    name: &'a str,
    sha256: String,
}

/// In what a variant differs from the first.
#[derive(Serialize)]
struct VariantEntry<'a> {
    variant: &'a str,
    changes: Vec<Change<'a>>,
}

#[derive(Serialize)]
struct Change<'a> {
    name: &'a str,
    value: &'a str,
    base: &'a str,
}

#[derive(Serialize)]
struct VariantWeather<'a> {
    variant: &'a str,
    weather: String,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    recorded_years: Vec<i16>,
    /// Years of the record that the table was fitted to.
    #[serde(skip_serializing_if = "Option::is_none")]
    fitted_years: Option<usize>,
}

/// A season that is taken up on a day.
#[derive(Serialize)]
struct TakenUp<'a> {
    from: String,
    done: Vec<DoneEntry<'a>>,
}

/// What is done by then; `assumed` where it was not said but must have been done.
#[derive(Serialize)]
struct DoneEntry<'a> {
    crop: &'a str,
    operation: &'a str,
    field: &'a str,
    finished: String,
    area_ha: f64,
    assumed: bool,
}

impl<'a> TakenUp<'a> {
    fn of(farm: &'a Farm) -> Option<Self> {
        let begun = farm.begun.as_ref()?;
        let entry = |done: &Done| {
            let job = &farm.jobs[done.job];
            let row = &farm.rows[job.row];
            DoneEntry {
                crop: &farm.crops[row.crop],
                operation: &row.operation,
                field: &farm.fields[job.field].name,
                finished: farm.span.date(done.day).to_string(),
                area_ha: done.area_ha,
                assumed: done.known != Known::Said,
            }
        };
        let done = begun.done.iter().map(entry).collect();
        Some(Self { from: farm.span.date(begun.day).to_string(), done })
    }
}

/// A file and what its columns mean.
#[derive(Debug, Serialize)]
pub(crate) struct Resource {
    name: String,
    #[serde(rename = "type", skip_serializing_if = "str::is_empty")]
    kind: &'static str,
    pub(crate) path: String,
    description: &'static str,
    format: &'static str,
    mediatype: &'static str,
    encoding: &'static str,
    bytes: u64,
    hash: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    schema: Option<Schema>,
}

#[derive(Debug, Serialize)]
struct Schema {
    #[serde(rename = "missingValues")]
    missing_values: [&'static str; 2],
    fields: Vec<Field>,
}

#[derive(Debug, Serialize)]
struct Field {
    name: &'static str,
    #[serde(rename = "type")]
    kind: &'static str,
    #[serde(skip_serializing_if = "str::is_empty")]
    unit: &'static str,
    description: &'static str,
}

impl Resource {
    pub(crate) fn new(table: &Table, bytes: u64, sha256: String) -> Self {
        Self {
            name: table.name.into(),
            kind: "table",
            path: format!("{}.csv", table.name),
            description: table.about,
            format: "csv",
            mediatype: "text/csv",
            encoding: "utf-8",
            bytes,
            hash: format!("sha256:{sha256}"),
            schema: Some(Schema {
                missing_values: ["", super::NEVER],
                fields: table.columns.iter().map(Field::new).collect(),
            }),
        }
    }

    /// A picture in a file of its own.
    pub(crate) fn picture(path: &str, bytes: u64, sha256: &str) -> Self {
        Self {
            name: path.trim_end_matches(".svg").to_lowercase(),
            kind: "",
            path: path.into(),
            description: "The suitable days of every year, and of each week over the years",
            format: "svg",
            mediatype: "image/svg+xml",
            encoding: "utf-8",
            bytes,
            hash: format!("sha256:{sha256}"),
            schema: None,
        }
    }
}

impl<'a> Change<'a> {
    fn new(of: &'a Setting) -> Self {
        Self { name: &of.name, value: &of.value, base: &of.default }
    }
}

impl Field {
    fn new(column: &Column) -> Self {
        let kind = match column.kind {
            Kind::Text => "string",
            Kind::Whole => "integer",
            Kind::Number => "number",
            Kind::Date => "date",
            Kind::DateTime => "datetime",
        };
        Self { name: column.name, kind, unit: column.unit, description: column.about }
    }
}

/// Writes the descriptor.
pub(super) fn write(to: &mut impl Write, origin: &Origin<'_>, resources: Vec<Resource>) -> io::Result<()> {
    let weather_of = |variant: &Variant| words::weather(variant.plan.farm());
    let farm = origin.variants.first().map_or("", |variant| variant.plan.farm().name.as_str());
    let package = Package {
        schema: PROFILE,
        name: "dryspell-run",
        title: format!("{farm}: the risk of finishing late"),
        description:
            "Dates are ISO dates of the reference season; chances are 0 to 1; intervals are 95 %. A \
                      cell `never` is a date that does not come, an empty cell cannot be said."
                .into(),
        program: "dryspell",
        version: env!("CARGO_PKG_VERSION"),
        script: ScriptEntry { name: origin.script, sha256: hex(&Sha256::digest(origin.source)) },
        parameters: &origin.parameters,
        seed: origin.seed,
        seasons: origin.seasons,
        seasons_asked: origin.asked,
        until_halfwidth: origin.until.map(HalfWidth::at_most),
        season_traced: origin.traced,
        varied: &origin.varied,
        variants: origin
            .variants
            .iter()
            .skip(1)
            .zip(&origin.changes)
            .map(|(variant, changes)| VariantEntry {
                variant: &variant.name,
                changes: changes.iter().map(Change::new).collect(),
            })
            .collect(),
        weather: origin
            .variants
            .iter()
            .map(|variant| VariantWeather {
                variant: &variant.name,
                weather: weather_of(variant),
                fitted_years: variant.plan.farm().fitted.as_ref().map(|fitted| fitted.years()),
                recorded_years: variant.weather.recorded().map_or_else(Vec::new, |recorded| {
                    recorded.years().iter().map(|year| year.year).collect()
                }),
            })
            .collect(),
        taken_up: origin.variants.first().and_then(|variant| TakenUp::of(variant.plan.farm())),
        caution: words::CAUTION,
        resources,
    };
    serde_json::to_writer_pretty(&mut *to, &package)?;
    writeln!(to)?;
    to.flush()
}
