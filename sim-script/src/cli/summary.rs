//! What a run says on the terminal: the worst risks first.

use super::load::changes;
use crate::script::Parameter;
use crate::words::{self, day_month, number, percent_interval, thousands, years};
use comfy_table::{CellAlignment, ContentArrangement, LineStyle, Table, TableStyle};
use sim_core::farm::Farm;
use sim_core::season::Cause;
use sim_core::study::{Quantile, Risk, Variant, VariantFindings};
use std::fmt::Write as _;

/// What the summary is made from.
pub(super) struct Facts<'a> {
    pub(super) variant: &'a Variant,
    pub(super) findings: &'a VariantFindings,
    pub(super) parameters: &'a [Parameter],
    pub(super) seasons: u64,
    pub(super) seed: u64,
    /// Whether to show also what is hardly ever late.
    pub(super) all: bool,
}

/// Late less often than this is left out unless asked for.
const SHOWN_FROM: f64 = 0.01;

/// Columns of a terminal that the summary keeps within.
pub(super) const WIDTH: u16 = 100;

const LINED: TableStyle = TableStyle::new().header_separator(LineStyle::none().fill('-').junction('-'));

/// A plain table with a line under its header, no wider than the terminal is taken to be.
pub(super) fn plain_table(header: &[&str], right: &[usize]) -> Table {
    let mut table = Table::new();
    table
        .load_style(LINED)
        .force_no_tty()
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(WIDTH)
        .set_header(header);
    for index in 0..header.len() {
        if let Some(column) = table.column_mut(index) {
            column.set_padding((0, 2));
            if right.contains(&index) {
                column.set_cell_alignment(CellAlignment::Right);
            }
        }
    }
    table
}

/// The lines on top: farm, seasons, weather, changes.
pub(super) fn heading(farm: &Farm) -> String {
    let area_ha: f64 = farm.fields.iter().map(|field| field.area_ha).sum();
    format!("\x1b[1m{}\x1b[0m: {} fields, {} ha", farm.name, farm.fields.len(), number(area_ha, 1))
}

/// The whole summary, without what was written.
pub(super) fn summary(facts: &Facts<'_>) -> String {
    let farm = facts.variant.plan.farm();
    let seasons = thousands(facts.seasons);
    let mut text = format!("{}; {seasons} seasons, seed {}\n", heading(farm), facts.seed);
    wrapped(&mut text, &format!("Weather: {}.", words::weather(&farm.weather)));
    let changed = changes(facts.parameters);
    if !changed.is_empty() {
        wrapped(&mut text, &format!("Set: {changed}."));
    }
    text.push('\n');
    let mut risks: Vec<&Risk> = facts.findings.risks.iter().collect();
    risks.sort_by(|one, other| {
        other
            .late
            .cmp(&one.late)
            .then(other.area_late_ha_mean().total_cmp(&one.area_late_ha_mean()))
            .then(one.row.cmp(&other.row))
    });
    let shown =
        if facts.all { risks.len() } else { risks.partition_point(|risk| risk.p_late() >= SHOWN_FROM) };
    if shown > 0 {
        text.push_str(&risk_table(farm, &risks[..shown]));
    }
    let rest = risks.len() - shown;
    let rest = match (rest, shown) {
        (0, _) => String::new(),
        (1, 0) => "The one operation is late less than 1 year in 100. Show it with --all.\n".into(),
        (_, 0) => format!("All {rest} operations are late less than 1 year in 100. Show them with --all.\n"),
        (1, _) => "1 other is late less than 1 year in 100. Show it with --all.\n".into(),
        (_, _) => format!("{rest} others are late less than 1 year in 100. Show them with --all.\n"),
    };
    text.push_str(&rest);
    text.push('\n');
    wrapped(&mut text, words::CAUTION);
    text
}

/// A line about the files.
pub(super) fn written(folder: &str, names: &[String]) -> String {
    let mut text = String::from("\n");
    wrapped(&mut text, &format!("Wrote {} into {folder}.", names.join(", ")));
    text
}

fn risk_table(farm: &Farm, risks: &[&Risk]) -> String {
    let header = [
        "Crop",
        "Operation",
        "Due",
        "Late",
        "95 % interval",
        "In 8 years of 10 done by",
        "Mostly waited for",
        "Mean ha late",
    ];
    let mut table = plain_table(&header, &[7]);
    for risk in risks {
        let row = &farm.rows[risk.row];
        table.add_row([
            farm.crops[row.crop].clone(),
            row.operation.clone(),
            risk.due.map_or_else(|| row.due_text.clone(), |due| day_month(farm.span.date(due))),
            years(risk.p_late()),
            percent_interval(risk.p_late_interval()),
            match risk.finish(80) {
                Quantile::Day(day) => day_month(farm.span.date(day)),
                Quantile::Never => "never".into(),
                Quantile::Unsupported => "too few seasons".into(),
            },
            waited_for(risk),
            number(risk.area_late_ha_mean(), 1),
        ]);
    }
    lines(&table)
}

/// A table as text, no spaces at the ends of its lines.
pub(super) fn lines(table: &Table) -> String {
    table.lines().fold(String::new(), |mut text, line| {
        text.push_str(line.trim_end());
        text.push('\n');
        text
    })
}

/// The cause that a row waited longest for, closed hours left out, with its share of such waiting.
fn waited_for(risk: &Risk) -> String {
    let open = || Cause::ALL.into_iter().filter(|cause| *cause != Cause::ClosedHours);
    let all: f64 = open().map(|cause| risk.wait_hours_mean(cause)).sum();
    // Of equals the first in the causes' order.
    let most =
        open().reduce(
            |one, other| {
                if risk.wait_hours_mean(other) > risk.wait_hours_mean(one) { other } else { one }
            },
        );
    match most.filter(|_| all > 0.0) {
        Some(cause) => {
            format!("{} {} %", cause.name(), number(risk.wait_hours_mean(cause) / all * 100.0, 0))
        }
        None => "nothing".into(),
    }
}

/// Adds a paragraph, broken into lines.
pub(super) fn wrapped(text: &mut String, paragraph: &str) {
    let mut width = 0;
    for word in paragraph.split_whitespace() {
        let long = word.chars().count();
        if width > 0 && width + 1 + long > usize::from(WIDTH) {
            text.push('\n');
            width = 0;
        }
        if width > 0 {
            text.push(' ');
            width += 1;
        }
        // Writing to a String cannot fail.
        let _ = write!(text, "{word}");
        width += long;
    }
    text.push('\n');
}
