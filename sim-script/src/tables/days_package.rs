//! The descriptor of what `dryspell days` writes: its pictures, what the columns of the tables are, and which record,
//! rules and settings they were made from.

use super::column::Table;
use super::descriptor::{PROFILE, Resource};
use super::folder::hex;
use crate::words;
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// What the tables were made from.
#[derive(Debug)]
pub(crate) struct DaysOrigin<'a> {
    /// The record's name and bytes.
    pub(crate) record: (&'a str, &'a [u8]),
    /// What it holds, in words.
    pub(crate) holds: String,
    /// The script that rules and drivers are from, with its text.
    pub(crate) script: Option<(&'a str, &'a str)>,
    /// The rules.
    pub(crate) rules: Vec<RuleEntry>,
    /// How the tables were fitted, in words.
    pub(crate) how: String,
    /// What was asked for, by name.
    pub(crate) settings: BTreeMap<&'static str, String>,
}

/// A rule in words.
#[derive(Debug, Serialize)]
pub(crate) struct RuleEntry {
    pub(crate) class: String,
    pub(crate) soil: String,
    pub(crate) driver: String,
    /// Which machines a rule to start from is for; nothing for a farm's own.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) machine_weight: Option<&'static str>,
    pub(crate) limits: Vec<String>,
}

#[derive(Serialize)]
struct Package<'a> {
    #[serde(rename = "$schema")]
    schema: &'static str,
    name: &'static str,
    title: String,
    description: &'a str,
    program: &'static str,
    version: &'static str,
    record: Named<'a>,
    #[serde(skip_serializing_if = "Option::is_none")]
    script: Option<Named<'a>>,
    #[serde(skip_serializing_if = "<[RuleEntry]>::is_empty")]
    rules: &'a [RuleEntry],
    settings: &'a BTreeMap<&'static str, String>,
    caution: &'static str,
    resources: Vec<Resource>,
}

#[derive(Serialize)]
struct Named<'a> {
    name: &'a str,
    sha256: String,
    #[serde(skip_serializing_if = "str::is_empty")]
    holds: &'a str,
}

/// Rows as the text of a table with its header.
pub(crate) fn table_text(table: &Table, rows: &[Vec<String>]) -> String {
    let mut csv = csv::Writer::from_writer(Vec::new());
    // Writing into memory does not fail.
    let _ = csv.write_record(table.columns.iter().map(|column| column.name));
    for row in rows {
        let _ = csv.write_record(row);
    }
    String::from_utf8(csv.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// The descriptor of tables and of pictures by name, given with their texts.
pub(crate) fn days_package(
    origin: &DaysOrigin<'_>,
    tables: &[(&'static Table, &str)],
    pictures: &[(String, String)],
) -> String {
    let sha256 = |bytes: &[u8]| hex(&Sha256::digest(bytes));
    let resource = |(table, text): &(&'static Table, &str)| {
        Resource::new(table, text.len() as u64, sha256(text.as_bytes()))
    };
    let picture = |(path, text): &(String, String)| {
        Resource::picture(path, text.len() as u64, &sha256(text.as_bytes()))
    };
    let package = Package {
        schema: PROFILE,
        name: "dryspell-days",
        title: format!("Suitable days from {}", origin.record.0),
        description: &origin.how,
        program: "dryspell",
        version: env!("CARGO_PKG_VERSION"),
        record: Named { name: origin.record.0, sha256: sha256(origin.record.1), holds: &origin.holds },
        script: origin.script.map(|(name, text)| Named { name, sha256: sha256(text.as_bytes()), holds: "" }),
        rules: &origin.rules,
        settings: &origin.settings,
        caution: words::CAUTION,
        resources: tables.iter().map(resource).chain(pictures.iter().map(picture)).collect(),
    };
    // A map with texts for keys always has a form.
    let mut text = serde_json::to_string_pretty(&package).unwrap_or_default();
    text.push('\n');
    text
}
