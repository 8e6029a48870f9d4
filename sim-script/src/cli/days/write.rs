//! The files: tables for a script, a picture for each kind of work, and the descriptor, written last.

use super::agree::Agreement;
use super::day;
use super::findings::Findings;
use crate::cli::Failure;
use crate::cli::args::DaysArgs;
use crate::report::{Strip, strip};
use crate::tables::column::{DAYS, DRIVERS};
use crate::tables::{self, DESCRIPTOR, DaysOrigin, RuleEntry};
use crate::words::number;
use sim_core::weather::{Limit, MachineWeight, MonthDay, Rule, Share};
use std::collections::BTreeMap;
use std::path::Path;

/// Tables with their descriptor, and pictures by name.
pub(super) struct Files<'a> {
    pub(super) days: Vec<Vec<String>>,
    pub(super) drivers: Vec<Vec<String>>,
    pub(super) pictures: Vec<(String, String)>,
    pub(super) origin: DaysOrigin<'a>,
}

impl Files<'_> {
    /// Writes them into a folder; gives their names.
    pub(super) fn write(self, folder: &Path) -> Result<Vec<String>, Failure> {
        let texts = [(&DAYS, &self.days), (&DRIVERS, &self.drivers)]
            .map(|(table, rows)| (table, tables::table_text(table, rows)));
        let package = tables::days_package(
            &self.origin,
            &texts.each_ref().map(|(table, text)| (*table, text.as_str())),
            &self.pictures,
        );
        let mut files: Vec<(String, String)> =
            texts.into_iter().map(|(table, text)| (format!("{}.csv", table.name), text)).collect();
        files.extend(self.pictures);
        files.push((DESCRIPTOR.into(), package));
        tables::write_whole(folder, &files).map_err(Failure::Out)?;
        Ok(files.into_iter().map(|(name, _)| name).collect())
    }
}

/// What a row of days.csv says beside the share, where there is something to say.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Beside {
    /// The share of days on which the land is shut.
    pub(super) shut: Option<f64>,
    pub(super) spread: Option<f64>,
    /// Mean and standard deviation of workable hours.
    pub(super) hours: Option<(f64, f64)>,
}

/// A row of days.csv.
pub(super) fn days_row(
    [class, soil]: [&str; 2],
    (from, to): (MonthDay, MonthDay),
    beside: Beside,
    share: Share,
) -> Vec<String> {
    let Beside { shut, spread, hours } = beside;
    vec![
        class.into(),
        soil.into(),
        from.to_string(),
        to.to_string(),
        number(share.share, 4),
        // Rounded down: with the share it must stay within 1.
        shut.map_or_else(String::new, |shut| number((shut * 1e4).floor() / 1e4, 4)),
        spread.map_or_else(String::new, |phi| number(phi, 3)),
        hours.map_or_else(String::new, |(mean_h, _)| number(mean_h, 2)),
        // Rounded down: the greatest there is must stay one.
        hours.map_or_else(String::new, |(_, sd_h)| number((sd_h * 100.0).floor() / 100.0, 2)),
        number(share.low, 4),
        number(share.high, 4),
        share.years.to_string(),
    ]
}

/// What was asked for, by name, where it bears on the tables.
fn settings(args: &DaysArgs) -> BTreeMap<&'static str, String> {
    let mut settings = BTreeMap::from([
        ("bridge_days", args.bridge_days.to_string()),
        ("rain_to_the_morning", args.rain_to_the_morning.to_string()),
        ("year_begins", args.year_begins.to_string()),
    ]);
    if args.rules.is_none() {
        settings.insert("machine_weight", args.machine_weight.unwrap_or_default().name().into());
    }
    if let Some(latitude_deg) = args.latitude_deg {
        settings.insert("latitude_deg", latitude_deg.to_string());
        settings.insert("altitude_m", args.altitude_m.to_string());
        settings.insert("anemometer_m", args.anemometer_m.to_string());
    }
    if !args.missing.is_empty() {
        settings.insert("missing", args.missing.join(", "));
    }
    let given = [("columns", &args.columns), ("class", &args.class), ("soil", &args.soil)];
    settings.extend(given.into_iter().filter_map(|(name, value)| Some((name, value.clone()?))));
    settings
}

/// The files of a daily record.
pub(super) fn files<'a>(of: &'a Findings, agreement: &Agreement, args: &DaysArgs) -> Files<'a> {
    let mut days = Vec::new();
    for ((rule, years), key) in of.rules.iter().zip(&of.years).zip(&of.fit.keys) {
        for (at, row) in key.shares.rows().iter().enumerate() {
            let Some(share) = years.share(row.from, row.to) else { continue };
            let beside = Beside {
                shut: key.shut.as_ref().map(|shut| shut.rows()[at].value),
                spread: of.fit.spread_on(key.rule, &rule.driver, row.from),
                hours: of.hours[key.rule].map(|hours| hours.on(row.from)),
            };
            days.push(days_row([&rule.class, &rule.soil], (row.from, row.to), beside, share));
        }
    }
    let mut drivers = Vec::new();
    for driver in &of.fit.drivers {
        let Some(law) = driver.law else { continue };
        let (first, last) = (day((1, 1)), day((12, 31)));
        let parts = if driver.from <= driver.to {
            vec![(driver.from, driver.to)]
        } else {
            vec![(first, driver.to), (driver.from, last)]
        };
        for (from, to) in parts {
            drivers.push(vec![
                driver.driver.clone(),
                from.to_string(),
                to.to_string(),
                number(law.rho, 3),
                number(law.phi, 3),
                number(law.spread_days, 1),
                number(agreement.of(&driver.driver), 3),
            ]);
        }
    }
    let record = &of.read.record;
    Files {
        days,
        drivers,
        pictures: pictures(of),
        origin: DaysOrigin {
            record: (&of.name, &of.bytes),
            holds: format!("{} days, {} to {}", record.days(), record.first(), record.last()),
            script: of.script.as_ref().map(|(name, text)| (name.as_str(), text.as_str())),
            rules: of.rules.iter().zip(&of.weights).map(rule_entry).collect(),
            how: "Chances are 0 to 1; intervals are 95 %, from whole years drawn anew. Shares are those of all recorded \
                  days of a period; persistence, spread and its length are fitted to the correlation of days 1 to 25 \
                  days apart."
                .into(),
            settings: settings(args),
        },
    }
}

fn rule_entry((rule, weight): (&Rule, &Option<MachineWeight>)) -> RuleEntry {
    let mut limits: Vec<String> = rule.limits.iter().map(Limit::words).collect();
    limits.extend(rule.shut.map(|shut| {
        let (quantity, from, until) = (shut.quantity.name(), shut.from, shut.until);
        format!("shut until {until} once {quantity} is below {} from {from} on", shut.below)
    }));
    RuleEntry {
        class: rule.class.clone(),
        soil: rule.soil.clone(),
        driver: rule.driver.clone(),
        machine_weight: weight.map(MachineWeight::name),
        limits,
    }
}

fn pictures(of: &Findings) -> Vec<(String, String)> {
    let mut pictures: Vec<(String, String)> = Vec::new();
    for (rule, years) in of.rules.iter().zip(&of.years) {
        let words: Vec<String> = rule.limits.iter().map(Limit::words).collect();
        let picture = strip(&Strip {
            heading: &format!("Suitable days for {} on {} land, {}", rule.class, rule.soil, of.name),
            about: &words,
            years,
        });
        let name = picture_name(&rule.class, &rule.soil);
        let stem = name.trim_end_matches(".svg");
        let taken = |name: &str| pictures.iter().any(|(taken, _)| taken.eq_ignore_ascii_case(name));
        let names = std::iter::once(name.clone()).chain((2..).map(|at| format!("{stem}-{at}.svg")));
        let name = names.into_iter().find(|name| !taken(name)).unwrap_or_default();
        pictures.push((name, picture));
    }
    pictures
}

/// The file of the picture of a class on a soil.
pub(super) fn picture_name(class: &str, soil: &str) -> String {
    format!("{}-{}.svg", file_word(class), file_word(soil))
}

/// A name as part of a file's name: a script may call its classes and soils anything.
fn file_word(name: &str) -> String {
    name.chars().map(|letter| if letter.is_alphanumeric() || letter == '_' { letter } else { '-' }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_leaves_the_folder() {
        assert_eq!(file_word("../wheat: late, 2nd_cut"), "---wheat--late--2nd_cut");
    }
}
