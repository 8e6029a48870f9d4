//! What a run says on the terminal: the worst risks first.

use super::load::changes;
use super::odd;
use super::plain::{Fit, Plain, wrapped};
use super::today;
use crate::script::{Parameter, ScriptVariant};
use crate::words::{self, day_month, number, one_after_another, percent_interval, thousands, years};
use sim_core::farm::{Farm, Row};
use sim_core::season::Cause;
use sim_core::study::{Quantile, Risk, Study, Variant, VariantFindings};

/// What the summary is made from.
pub(super) struct Facts<'a> {
    pub(super) variant: &'a Variant,
    pub(super) findings: &'a VariantFindings,
    pub(super) parameters: &'a [Parameter],
    /// What decisions compare in vain.
    pub(super) strange: &'a [String],
    pub(super) seasons: u64,
    pub(super) seed: u64,
    /// Whether to show also what is hardly ever late.
    pub(super) all: bool,
}

/// Late less often than this is left out unless asked for.
const SHOWN_FROM: f64 = 0.01;

/// The most operations that are shown unless asked for.
const SHOWN_MOST: usize = 20;

/// The lines on top: farm, seasons, weather, changes.
pub(super) fn heading(farm: &Farm) -> String {
    let area_ha: f64 = farm.fields.iter().map(|field| field.area_ha).sum();
    let fields = if farm.fields.len() == 1 { "field" } else { "fields" };
    format!("\x1b[1m{}\x1b[0m: {} {fields}, {} ha", farm.name, farm.fields.len(), number(area_ha, 1))
}

/// How many recorded years are among so many seasons of a farm; 0 where days are drawn.
pub(super) fn years_worked(variant: &Variant, seed: u64, seasons: u64) -> u64 {
    let Some(recorded) = variant.weather.recorded() else { return 0 };
    let mut worked = vec![false; recorded.years().len()];
    let mut count = 0;
    for season in 0..seasons {
        if !std::mem::replace(&mut worked[recorded.index_of(seed, season)], true) {
            count += 1;
        }
        if count == worked.len() as u64 {
            break;
        }
    }
    count
}

/// Whether the farms of a study have one weather.
pub(super) fn one_weather(study: &Study) -> bool {
    let mut weathers = study.variants.iter().map(|variant| &variant.plan.farm().weather);
    weathers.next().is_none_or(|first| weathers.all(|other| other == first))
}

/// The lines on top of what is told of farms side by side: the farm as it is, how long they were worked, the weather,
/// what is set for all of them. `everywhere` says where the weather is the same, if it is; parameters in which the
/// farms differ are left out.
pub(super) fn side_by_side(
    farm: &Farm,
    worked: &str,
    everywhere: Option<&str>,
    parameters: &[Parameter],
    differ: &[&str],
) -> String {
    let mut text = format!("{}; {worked}\n", heading(farm));
    let weather = words::weather(farm);
    match everywhere {
        Some(everywhere) => {
            wrapped(&mut text, &format!("Weather: {weather}; the same {everywhere}."));
        }
        None => wrapped(
            &mut text,
            &format!(
                "Weather of the farm as it is: {weather}. Not all of these farms have it, and part of what differs is the \
                 weather."
            ),
        ),
    }
    let alike: Vec<Parameter> =
        parameters.iter().filter(|of| !differ.contains(&of.name.as_str())).cloned().collect();
    let set = changes(&alike);
    if !set.is_empty() {
        wrapped(&mut text, &format!("Set for every farm: {set}."));
    }
    text
}

/// The whole summary, without what was written.
pub(super) fn summary(facts: &Facts<'_>) -> String {
    let farm = facts.variant.plan.farm();
    let seasons = thousands(facts.seasons);
    let mut text = format!("{}; {seasons} seasons, seed {}\n", heading(farm), facts.seed);
    wrapped(&mut text, &format!("Weather: {}.", words::weather(farm)));
    let changed = changes(facts.parameters);
    if !changed.is_empty() {
        wrapped(&mut text, &format!("Set: {changed}."));
    }
    today::told(&mut text, &facts.variant.plan);
    let plan = &facts.variant.plan;
    match odd::warnings(plan, &odd::needs(plan), facts.strange).len() {
        0 => {}
        1 => text.push_str("One thing on the farm looks odd: `dryspell check` says what.\n"),
        count => {
            text.push_str(&format!("{count} things on the farm look odd: `dryspell check` says what.\n"))
        }
    }
    text.push('\n');
    let settled = today::settled(&facts.variant.plan);
    let mut risks: Vec<&Risk> = facts.findings.risks.iter().filter(|risk| !settled[risk.row]).collect();
    risks.sort_by(|one, other| {
        other
            .late
            .cmp(&one.late)
            .then(other.area_late_ha_mean().total_cmp(&one.area_late_ha_mean()))
            .then(one.row.cmp(&other.row))
    });
    let at_risk = risks.partition_point(|risk| risk.p_late() >= SHOWN_FROM);
    let shown = if facts.all { risks.len() } else { at_risk.min(SHOWN_MOST) };
    if shown > 0 {
        text.push_str(&risk_table(farm, &risks[..shown]));
    }
    text.push_str(&left_out(&risks[shown..], shown));
    let years = risks.iter().map(|risk| risk.recorded_years()).max().unwrap_or(0);
    if years > 0 {
        let words = format!(
            "The intervals are those that {years} recorded years leave, however many seasons are worked from them; it \
             would take about {} years to halve them.",
            4 * years
        );
        wrapped(&mut text, &words);
    }
    if let Some(cost) = &facts.findings.whole.cost
        && let Some(ends) = cost.interval()
    {
        let (amount, currency) = (words::money(cost.mean(), ends), words::currency(&farm.costs));
        wrapped(
            &mut text,
            &format!("What the script says of costs comes to {amount} {currency} a year on average."),
        );
    }
    text.push('\n');
    wrapped(&mut text, words::CAUTION);
    text
}

/// A line about farms that a script would have compared.
pub(super) fn variants(variants: &[ScriptVariant]) -> String {
    let names: Vec<String> = variants.iter().map(|variant| format!("\"{}\"", variant.name)).collect();
    let mut text = String::new();
    if !names.is_empty() {
        let (has, them) = if names.len() == 1 { ("a variant", "it") } else { ("variants", "them") };
        text.push('\n');
        wrapped(
            &mut text,
            &format!(
                "The script has {has}, {}: `dryspell compare` works {them} beside this farm.",
                one_after_another(&names)
            ),
        );
    }
    text
}

/// A line about the files.
pub(super) fn written(folder: &str, names: &[String]) -> String {
    let mut text = String::from("\n");
    wrapped(&mut text, &format!("Wrote {} into {folder}.", names.join(", ")));
    text
}

/// A line about what the table does not show.
fn left_out(risks: &[&Risk], shown: usize) -> String {
    let Some(worst) = risks.first() else { return String::new() };
    let often = if worst.p_late() < SHOWN_FROM {
        "less than 1 year in 100".to_string()
    } else {
        format!("{} or less", years(worst.p_late()))
    };
    match (risks.len(), shown) {
        (1, 0) => format!("The one operation is late {often}. Show it with --all.\n"),
        (count, 0) => format!("All {count} operations are late {often}. Show them with --all.\n"),
        (1, _) => format!("1 other is late {often}. Show it with --all.\n"),
        (count, _) => format!("{count} others are late {often}. Show them with --all.\n"),
    }
}

fn risk_table(farm: &Farm, risks: &[&Risk]) -> String {
    let mut table = Plain::new(&[
        ("Operation", Fit::Text),
        ("Due", Fit::Whole),
        ("Late", Fit::Whole),
        ("95 %", Fit::Whole),
        ("80 %\ndone by", Fit::Whole),
        ("Waited\nmostly for", Fit::Whole),
    ]);
    for risk in risks {
        let row = &farm.rows[risk.row];
        table.row([
            words::operation(farm, risk.row),
            due_text(farm, row),
            years(risk.p_late()),
            // So few recorded years leave more open than the simulation does.
            percent_interval(risk.p_late_record_interval().unwrap_or_else(|| risk.p_late_interval())),
            match risk.finish(80) {
                Quantile::Day(day) => day_month(farm.span.date(day)),
                Quantile::Never => "never".into(),
                Quantile::Unsupported => "too few years".into(),
            },
            waited_for(risk),
        ]);
    }
    table.text()
}

/// The due day, a middling year's where it moves; of work counted from other work, from what.
pub(super) fn due_text(farm: &Farm, row: &Row) -> String {
    let day = |due| day_month(farm.span.date(due));
    match row.dates {
        Some((_, due, _)) if row.stage.is_some() => format!("about {}", day(due)),
        Some((_, due, _)) => day(due),
        None => row.due_text.clone(),
    }
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
