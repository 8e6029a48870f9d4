//! The files: tables for a script, and a picture for each kind of work.

use super::agree::Agreement;
use super::day;
use super::findings::Findings;
use crate::cli::Failure;
use crate::report::{Strip, strip};
use crate::words::number;
use std::fmt::Write as _;
use std::path::Path;

/// Writes days.csv, drivers.csv and the pictures; gives their names.
pub(super) fn write(of: &Findings, agreement: &Agreement, folder: &Path) -> Result<Vec<String>, Failure> {
    let mut files: Vec<(String, String)> = Vec::new();
    let mut days = String::from("class,soil,from,to,p_suitable,spread,p_low,p_high,years\n");
    for ((rule, years), key) in of.rules.iter().zip(&of.years).zip(&of.fit.keys) {
        for row in key.shares.rows() {
            let Some(share) = years.share(row.from, row.to) else { continue };
            let _ = writeln!(
                days,
                "{},{},{},{},{},{},{},{},{}",
                rule.class,
                rule.soil,
                row.from,
                row.to,
                number(row.value, 4),
                of.fit
                    .spread_on(key.rule, &rule.driver, row.from)
                    .map_or_else(String::new, |phi| number(phi, 3)),
                number(share.low, 4),
                number(share.high, 4),
                share.years
            );
        }
    }
    files.push(("days.csv".into(), days));
    let mut drivers = String::from("driver,from,to,persistence,spread,spread_days,agreement\n");
    for driver in &of.fit.drivers {
        let Some(law) = driver.law else { continue };
        let (first, last) = (day((1, 1)), day((12, 31)));
        let parts = if driver.from <= driver.to {
            vec![(driver.from, driver.to)]
        } else {
            vec![(first, driver.to), (driver.from, last)]
        };
        for (from, to) in parts {
            let figures = [
                number(law.rho, 3),
                number(law.phi, 3),
                number(law.spread_days, 1),
                number(agreement.of(&driver.driver), 3),
            ]
            .join(",");
            let _ = writeln!(drivers, "{},{from},{to},{figures}", driver.driver);
        }
    }
    files.push(("drivers.csv".into(), drivers));
    for (rule, years) in of.rules.iter().zip(&of.years) {
        let words: Vec<String> = rule.limits.iter().map(sim_core::weather::Limit::words).collect();
        let picture = strip(&Strip {
            heading: &format!("Suitable days for {} on {} land, {}", rule.class, rule.soil, of.name),
            about: &words,
            years,
        });
        files.push((format!("{}-{}.svg", rule.class, rule.soil), picture));
    }
    crate::tables::write_whole(folder, &files).map_err(Failure::Out)?;
    Ok(files.into_iter().map(|(name, _)| name).collect())
}
