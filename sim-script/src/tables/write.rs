//! The tables that a whole study gives: risk, finish, use, waits.

use super::column::{self, Table};
use super::folder::{Csv, OutError, OutFolder};
use crate::words::number;
use jiff::civil::Date;
use sim_core::farm::Farm;
use sim_core::season::Cause;
use sim_core::study::{Findings, Quantile, ResourceKind, Risk, Variant, VariantFindings};
use sim_core::weather::Span;

/// Writes risk.csv.
///
/// # Errors
///
/// When the file cannot be written.
pub fn write_risk(out: &mut OutFolder, variants: &[Variant], found: &Findings) -> Result<(), OutError> {
    table(out, &column::RISK, |csv| {
        for (variant, findings) in variants.iter().zip(&found.variants) {
            let farm = variant.plan.farm();
            for risk in &findings.risks {
                let (crop, operation) = names(farm, risk);
                let (low, high) = risk.p_late_interval();
                let record = risk.p_late_record_interval();
                let of_record =
                    |end: fn((f64, f64)) -> f64| record.map_or_else(String::new, |ends| chance(end(ends)));
                let finish = |percent| date_of(farm.span, risk.finish(percent));
                csv.write_record([
                    &variant.name,
                    crop,
                    operation,
                    &risk.seasons.to_string(),
                    &risk.due.map_or_else(String::new, |due| farm.span.date(due).to_string()),
                    &chance(risk.p_late()),
                    &chance(low),
                    &chance(high),
                    &of_record(|ends| ends.0),
                    &of_record(|ends| ends.1),
                    &chance(risk.p_unfinished()),
                    &finish(10),
                    &finish(50),
                    &finish(80),
                    &finish(90),
                    &number(risk.days_late_mean(), 4),
                    &risk.days_late_p90().map_or_else(String::new, |days| days.to_string()),
                    &number(risk.area_late_ha_mean(), 4),
                    &number(risk.ha_days_late_mean(), 4),
                ])?;
            }
        }
        Ok(())
    })
}

/// Writes finish.csv.
///
/// # Errors
///
/// When the file cannot be written.
pub fn write_finish(out: &mut OutFolder, variants: &[Variant], found: &Findings) -> Result<(), OutError> {
    table(out, &column::FINISH, |csv| {
        for (variant, findings) in variants.iter().zip(&found.variants) {
            let farm = variant.plan.farm();
            for risk in &findings.risks {
                let (crop, operation) = names(farm, risk);
                for day in 0..risk.days() {
                    let date = farm.span.date(day as u32).to_string();
                    csv.write_record([
                        &variant.name,
                        crop,
                        operation,
                        date.as_str(),
                        &chance(risk.p_done(day)),
                    ])?;
                }
            }
        }
        Ok(())
    })
}

/// Writes waits.csv: every operation with every cause, also those for which it never waited.
///
/// # Errors
///
/// When the file cannot be written.
pub fn write_waits(out: &mut OutFolder, variants: &[Variant], found: &Findings) -> Result<(), OutError> {
    table(out, &column::WAITS, |csv| {
        for (variant, findings) in variants.iter().zip(&found.variants) {
            let farm = variant.plan.farm();
            for risk in &findings.risks {
                let (crop, operation) = names(farm, risk);
                for cause in Cause::ALL {
                    csv.write_record([
                        &variant.name,
                        crop,
                        operation,
                        cause.name(),
                        &number(risk.wait_hours_mean(cause), 4),
                        &chance(risk.wait_share(cause)),
                    ])?;
                }
            }
        }
        Ok(())
    })
}

/// Writes use.csv.
///
/// # Errors
///
/// When the file cannot be written.
pub fn write_use(out: &mut OutFolder, variants: &[Variant], found: &Findings) -> Result<(), OutError> {
    table(out, &column::USE, |csv| {
        for (variant, VariantFindings { uses, .. }) in variants.iter().zip(&found.variants) {
            let farm = variant.plan.farm();
            let hours = |hours: Option<f64>| hours.map_or_else(String::new, |hours| number(hours, 4));
            for of in uses {
                let kind = match of.resource.kind {
                    ResourceKind::Machine => "machine",
                    ResourceKind::Person => "person",
                    ResourceKind::Contractor => "contractor",
                };
                csv.write_record([
                    &variant.name,
                    of.resource.name(farm),
                    kind,
                    &half_month_from(farm.span, of.half_month).to_string(),
                    &number(of.hours_needed, 4),
                    &hours(of.hours_available_middling),
                    &hours(of.hours_available_bad),
                    &number(of.hours_mean, 4),
                    &of.hours_p90.map_or_else(String::new, |hours| hours.to_string()),
                ])?;
            }
        }
        Ok(())
    })
}

pub(super) fn table(
    out: &mut OutFolder,
    table: &'static Table,
    fill: impl FnOnce(&mut Csv) -> csv::Result<()>,
) -> Result<(), OutError> {
    let mut csv = out.begin(table)?;
    fill(&mut csv).map_err(|error| out.error(table.name, error.into()))?;
    out.keep(table, csv)
}

fn names<'f>(farm: &'f Farm, risk: &Risk) -> (&'f str, &'f str) {
    let row = &farm.rows[risk.row];
    (&farm.crops[row.crop], &row.operation)
}

/// A chance in six decimals: what is written of it and of its complement adds to 1.
pub(super) fn chance(chance: f64) -> String {
    number(chance, 6)
}

pub(super) fn date_of(span: Span, quantile: Quantile) -> String {
    match quantile {
        Quantile::Day(day) => span.date(day).to_string(),
        Quantile::Never => super::NEVER.into(),
        Quantile::Unsupported => String::new(),
    }
}

/// First day of a half-month counted from that of the season's first month.
fn half_month_from(span: Span, half_month: usize) -> Date {
    let first = span.first();
    let months = (half_month / 2) as i16 + i16::from(first.month()) - 1;
    let day = if half_month.is_multiple_of(2) { 1 } else { 16 };
    Date::new(first.year() + months / 12, (months % 12 + 1) as i8, day).unwrap_or(first)
}
