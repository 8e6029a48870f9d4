//! What a comparison says on the terminal: which farm is better at what, by how much, and what cannot be told.

use super::with::{Farm, differ};
use crate::cli::plain::{Fit, Plain, wrapped};
use crate::cli::summary::{one_weather, side_by_side};
use crate::cli::today;
use crate::script::Parameter;
use crate::tables::pairs_more;
use crate::words::{self, about, one_after_another, operation, thousands};
use sim_core::farm;
use sim_core::study::{ComparedRow, Comparison, Findings, Study};
use std::cmp::Ordering;

/// What is told.
pub(super) struct Told<'a> {
    pub(super) study: &'a Study,
    pub(super) found: &'a Findings,
    /// The base's.
    pub(super) parameters: &'a [Parameter],
    /// The farms beside the base.
    pub(super) farms: &'a [Farm],
    /// Whether to show every operation that differs.
    pub(super) all: bool,
}

/// The most operations of a kind that are shown unless asked for.
const SHOWN_MOST: usize = 12;

/// From so many operations on some will seem to differ that do not.
const MANY: usize = 5;

/// What is known of an operation on two farms.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Verdict {
    Better,
    Worse,
    Open,
    Alike,
}

/// The whole text, without what was written.
pub(super) fn told(of: &Told<'_>) -> String {
    let base = of.study.variants[0].plan.farm();
    let worked = format!("{} seasons, seed {}", thousands(of.found.seasons), of.study.seed);
    let everywhere = one_weather(of.study).then_some("for every farm compared");
    let mut text = side_by_side(base, &worked, everywhere, of.parameters, &differ(of.farms));
    today::told(&mut text, &of.study.variants[0].plan);
    for (comparison, farm) in of.found.comparisons.iter().zip(of.farms) {
        text.push('\n');
        compared(&mut text, of, comparison, farm);
    }
    text.push('\n');
    let most = of.found.comparisons.iter().map(|comparison| comparison.rows.len()).max().unwrap_or(0);
    wrapped(&mut text, &sureness(of.found, of.study, most));
    text.push('\n');
    wrapped(&mut text, words::CAUTION);
    text
}

/// How sure all of it is.
fn sureness(found: &Findings, study: &Study, most: usize) -> String {
    let mut text = String::from("In brackets: 95 % intervals of the difference.");
    if most >= MANY {
        text.push_str(" Among so many operations, 1 in 20 to 1 in 10 that do not differ will still seem to.");
    }
    if found.comparisons.iter().any(|of| of.rows.iter().any(|row| verdict_of(row) == Verdict::Open)) {
        text.push_str(" What it would take to tell more apart holds if the differences stay as they are.");
    }
    text.push_str(&too_skew(found, study));
    let of_years = found.comparisons.iter().find(|of| of.years);
    let farm = |index: usize| study.variants[index].plan.farm();
    let judged = of_years.map(|of| [0, of.variant].map(farm));
    let judged = judged.and_then(|farms| farms.into_iter().find(|farm| farm.weather.recorded.is_some()));
    let pairs = of_years.map_or(0, |of| of.pairs);
    text.push_str(&words::what_years_leave(judged.unwrap_or(farm(0)), pairs));
    text
}

/// At which operations the pairs are too few for the interval of days late that is shown.
fn too_skew(found: &Findings, study: &Study) -> String {
    let mut names: Vec<String> = Vec::new();
    let mut most = 0.0f64;
    for of in &found.comparisons {
        for row in of.rows.iter().filter(|row| row.days_late.told_apart()) {
            let Some(enough) = row.days_late.pairs_for_interval().filter(|pairs| *pairs > of.pairs as f64)
            else {
                continue;
            };
            most = most.max(enough);
            let name = operation(study.variants[0].plan.farm(), row.base);
            if !names.contains(&name) {
                names.push(name);
            }
        }
    }
    let which = match names.as_slice() {
        [] => return String::new(),
        [first] => first.clone(),
        [first, _] => format!("{first} and one other operation"),
        [first, others @ ..] => format!("{first} and {} other operations", others.len()),
    };
    let (units, come) = if found.comparisons.iter().any(|of| of.years) {
        ("years of record", "known")
    } else {
        ("seasons", "worked")
    };
    format!(
        " At {which} a few {units} make most of the difference in days late: these brackets are too narrow until about \
         {} {units} are {come}.",
        about(most as u64)
    )
}

/// One farm against the base.
fn compared(text: &mut String, of: &Told<'_>, comparison: &Comparison, farm: &Farm) {
    let base = of.study.variants[0].plan.farm();
    let variant = of.study.variants[comparison.variant].plan.farm();
    let changes: Vec<String> = farm
        .changes
        .iter()
        .map(|change| format!("{} = {}, not {}", change.name, change.value, change.default))
        .collect();
    let title = if farm.by_script { format!("{}: ", farm.name) } else { String::new() };
    wrapped(text, &format!("\x1b[1m{title}{}\x1b[0m", changes.join("; ")));
    if variant.weather != base.weather {
        let weather = words::weather(variant);
        wrapped(text, &format!("Its weather is another: {weather}. So its seasons are not the same years."));
    }
    let rows = |verdict| -> Vec<&ComparedRow> {
        let mut rows: Vec<_> = comparison.rows.iter().filter(|row| verdict_of(row) == verdict).collect();
        rows.sort_by(|one, other| larger_first(one, other));
        rows
    };
    let (better, worse, open, alike) =
        (rows(Verdict::Better), rows(Verdict::Worse), rows(Verdict::Open), rows(Verdict::Alike));
    wrapped(text, &in_brief(better.len(), worse.len(), open.len(), alike.len()));
    if let Some(cost) = &comparison.whole.cost
        && let Some(ends) = cost.interval()
    {
        wrapped(text, &words::costs_more(&variant.costs, cost.mean(), ends));
    }
    for (title, rows) in [("Better", &better), ("Worse", &worse)] {
        if !rows.is_empty() {
            text.push_str(&format!("\n{title}\n"));
            let shown = if of.all { rows.len() } else { rows.len().min(SHOWN_MOST) };
            text.push_str(&differences(base, &rows[..shown]));
            left_out(text, rows.len() - shown);
        }
    }
    if !open.is_empty() {
        let units = if comparison.years { "years of record" } else { "seasons" };
        text.push_str("\nCannot be told apart\n");
        let shown = if of.all { open.len() } else { open.len().min(SHOWN_MOST) };
        text.push_str(&cannot(base, comparison, &open[..shown], units));
        left_out(text, open.len() - shown);
    }
    let only = |farm: &farm::Farm, rows: &[usize]| {
        one_after_another(&rows.iter().map(|row| operation(farm, *row)).collect::<Vec<_>>())
    };
    if !comparison.only_base.is_empty() {
        wrapped(text, &format!("Done only on the farm as it is: {}.", only(base, &comparison.only_base)));
    }
    if !comparison.only_variant.is_empty() {
        wrapped(text, &format!("Done only on this farm: {}.", only(variant, &comparison.only_variant)));
    }
}

/// How many operations of which kind.
fn in_brief(better: usize, worse: usize, open: usize, alike: usize) -> String {
    let mut parts = Vec::new();
    if better > 0 {
        parts.push(format!("better at {}", better));
    }
    if worse > 0 {
        parts.push(format!("worse at {}", worse));
    }
    if open > 0 {
        parts.push(format!("not to be told apart at {}", open));
    }
    if alike > 0 {
        parts.push(format!("the same in every season at {}", alike));
    }
    match better + worse + open + alike {
        0 => "No operation is done on both farms.".into(),
        1 => format!("The one operation, against the farm as it is: {}.", parts.join(", ")),
        all => format!("Of {all} operations, against the farm as it is: {}.", parts.join(", ")),
    }
}

/// By how often it is late where that can be told, else by days late.
fn verdict_of(row: &ComparedRow) -> Verdict {
    if row.alike() {
        return Verdict::Alike;
    }
    let late = row.late.told_apart().then(|| row.late.difference());
    let days = row.days_late.told_apart().then(|| row.days_late.mean());
    match late.or(days) {
        Some(difference) if difference < 0.0 => Verdict::Better,
        Some(_) => Verdict::Worse,
        None => Verdict::Open,
    }
}

fn larger_first(one: &ComparedRow, other: &ComparedRow) -> Ordering {
    let by = |size: fn(&ComparedRow) -> f64| size(other).abs().total_cmp(&size(one).abs());
    by(|row| row.late.difference()).then(by(|row| row.days_late.mean())).then(one.base.cmp(&other.base))
}

fn left_out(text: &mut String, count: usize) {
    match count {
        0 => {}
        1 => text.push_str("1 other differs less. Show it with --all.\n"),
        _ => text.push_str(&format!("{count} others differ less. Show them with --all.\n")),
    }
}

fn differences(farm: &farm::Farm, rows: &[&ComparedRow]) -> String {
    let mut table = Plain::new(&[
        ("\n\nOperation", Fit::Text),
        ("Years late\nin 100,\nas it is", Fit::Number),
        ("\n\nthen", Fit::Number),
        ("\n\ndifference", Fit::Whole),
        ("Days late\non average,\ndifference", Fit::Whole),
    ]);
    for row in rows {
        let late = &row.late;
        let years = late.told_apart().then(|| more_or_fewer(late.difference(), late.interval(), 100.0));
        let days = row.days_late.interval().filter(|_| row.days_late.told_apart());
        let days = days.map(|ends| more_or_fewer(row.days_late.mean(), ends, 1.0));
        table.row([
            operation(farm, row.base),
            format!("{:.1}", late.of_base() * 100.0),
            format!("{:.1}", late.of_variant() * 100.0),
            years.unwrap_or_else(|| "not to be told".into()),
            days.unwrap_or_else(|| "not to be told".into()),
        ]);
    }
    table.text()
}

/// A difference that is told from none, with its interval: "15.1 fewer (13.2 to 17.1)".
fn more_or_fewer(difference: f64, (low, high): (f64, f64), times: f64) -> String {
    let word = if difference < 0.0 { "fewer" } else { "more" };
    let (near, far) = (low.abs().min(high.abs()) * times, low.abs().max(high.abs()) * times);
    let size = difference.abs() * times;
    // So many decimals that the near end is seen not to be 0.
    let decimals = (1..4).find(|decimals| near * 10f64.powi(*decimals) >= 0.5).unwrap_or(4) as usize;
    format!("{size:.decimals$} {word} ({near:.decimals$} to {far:.decimals$})")
}

fn cannot(farm: &farm::Farm, of: &Comparison, rows: &[&ComparedRow], units: &str) -> String {
    let needed = format!("It would take\nso many more\n{units}");
    let mut table = Plain::new(&[
        ("\n\nOperation", Fit::Text),
        ("Years late\nin 100,\nas it is", Fit::Number),
        ("\n\nthen", Fit::Number),
        ("\n\ndifference", Fit::Whole),
        (&needed, Fit::Whole),
    ]);
    for row in rows {
        let (low, high) = row.late.interval();
        table.row([
            operation(farm, row.base),
            format!("{:.1}", row.late.of_base() * 100.0),
            format!("{:.1}", row.late.of_variant() * 100.0),
            format!("{:.1} fewer to {:.1} more", -low * 100.0, high * 100.0),
            match pairs_more(of, &row.late) {
                Some(more) => format!("about {}", about(more)),
                None => "as often late".into(),
            },
        ]);
    }
    table.text()
}
