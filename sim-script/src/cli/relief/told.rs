//! What is said of the steps: first what is short at all, then what each step brings and costs, then what was taken for
//! granted.

use super::{BOUND, FIRST_STEP, row_of};
use crate::cli::plain::{Fit, Plain, wrapped};
use crate::cli::summary::side_by_side;
use crate::script::Parameter;
use crate::words::{self, number, one_after_another, thousands, years_in_100};
use sim_core::farm::Farm;
use sim_core::farm::steps::Step;
use sim_core::study::relief::{Gain, RankBy, Untried};
use sim_core::study::{Findings, Study};

/// What is told.
pub(super) struct Told<'a> {
    pub(super) study: &'a Study,
    pub(super) found: &'a Findings,
    pub(super) parameters: &'a [Parameter],
    pub(super) steps: &'a [Step],
    pub(super) untried: &'a [Untried],
    /// The decisions that the script takes over, by their keys.
    pub(super) decides: &'a [&'static str],
    pub(super) measure: RankBy,
    /// Whether every step was asked for.
    pub(super) all: bool,
}

/// From this share of the risk on, what is short is days; up to the other, machines and people.
const DAYS: f64 = 0.75;
const MEANS: f64 = 0.35;

/// From so many steps on some will seem to change something that do not.
const MANY: usize = 5;

impl Told<'_> {
    fn farm(&self) -> &Farm {
        self.study.variants[0].plan.farm()
    }

    /// The measure of a variant: late operations a year, or years late in 100.
    fn size(&self, variant: usize) -> f64 {
        match row_of(self.measure) {
            None => self.found.variants[variant].whole.late_operations.mean(),
            Some(row) => {
                let late = |of: fn(&sim_core::study::PairedShare) -> f64| {
                    let rows = self.found.comparisons.get(variant.max(1) - 1).map(|of| of.rows.as_slice());
                    rows.and_then(|rows| rows.iter().find(|of| of.base == row))
                        .map_or(0.0, |row| of(&row.late) * 100.0)
                };
                if variant == 0 { late(|share| share.of_base()) } else { late(|share| share.of_variant()) }
            }
        }
    }

    /// Of each step what it brings; those of whose farm nothing can be said are left out.
    fn gains(&self) -> Vec<(&Step, Gain)> {
        let comparisons = &self.found.comparisons[FIRST_STEP - 1..];
        let gains = self.steps.iter().zip(comparisons);
        let mut gains: Vec<(&Step, Gain)> = gains
            .filter_map(|(step, comparison)| Some((step, Gain::of(comparison, self.measure, step.priced)?)))
            .collect();
        gains.sort_by(|(one, a), (other, b)| b.fall.total_cmp(&a.fall).then(one.name.cmp(&other.name)));
        gains
    }
}

/// The whole text, without what was written.
pub(super) fn told(of: &Told<'_>) -> String {
    let farm = of.farm();
    let worked = format!("{} seasons, seed {}", thousands(of.found.seasons), of.study.seed);
    let mut text = side_by_side(farm, &worked, Some("for every step"), of.parameters, &[]);
    text.push('\n');
    wrapped(&mut text, &what_is_short(of));
    let gains = of.gains();
    if of.size(0) > 0.0 && !gains.is_empty() {
        text.push('\n');
        wrapped(&mut text, &best(of, &gains));
        listed(&mut text, of, &gains);
        taken_for_granted(&mut text, &gains);
        if !of.decides.is_empty() {
            let decides = one_after_another(of.decides);
            wrapped(&mut text, &format!("Every step: the script decides as on its own farm ({decides})."));
        }
    }
    let silent: Vec<&str> = of
        .steps
        .iter()
        .map(|step| step.name.as_str())
        .filter(|name| !gains.iter().any(|(step, _)| step.name == *name))
        .collect();
    if !silent.is_empty() {
        text.push('\n');
        wrapped(&mut text, &format!("On these farms the work is not done: {}.", one_after_another(&silent)));
    }
    if !of.untried.is_empty() {
        text.push_str("\nNot tried\n");
        for Untried { what, why } in of.untried {
            wrapped(&mut text, &format!("{what}: {why}."));
        }
    }
    text.push('\n');
    wrapped(&mut text, &sureness(of, gains.len()));
    text.push('\n');
    wrapped(&mut text, words::CAUTION);
    text
}

/// How late the farm is as it is, and how late it would be with machines and people without end.
fn what_is_short(of: &Told<'_>) -> String {
    let farm = of.farm();
    let (now, least) = (of.size(0), of.size(BOUND));
    let mut text = match row_of(of.measure) {
        None => {
            let whole = &of.found.variants[0].whole;
            let operations = match of.found.variants[0].risks.len() {
                1 => format!("the one operation of a year is late {}", years_in_100(now, 1)),
                all => format!("{} of the {all} operations of a year are late on average", few(now)),
            };
            let ha_days = whole.ha_days_late.mean().round().max(0.0) as u64;
            let come = if ha_days == 1 { "hectare-day of work comes" } else { "hectare-days of work come" };
            format!("As it is, {operations}, and {} {come} after the due days.", thousands(ha_days))
        }
        Some(row) => format!("As it is, {} is late {}.", said(farm, row), years_in_100(now / 100.0, 1)),
    };
    if now <= 0.0 {
        text.push_str(" There is nothing to relieve.");
        return text;
    }
    let left = match row_of(of.measure) {
        None if of.found.variants[0].risks.len() > 1 => format!("{} would still be late", few(least)),
        None => format!("it would still be late {}", years_in_100(least, 1)),
        Some(_) => format!("it would still be late {}", years_in_100(least / 100.0, 1)),
    };
    let wished = "With all the machines and people that one could wish for, standing by at every field, at the rates and in \
                  the hours of the farm's own,";
    let share = least / now;
    if share >= DAYS {
        text.push_str(&format!(
            " What is short is suitable days, not more machines or people. {wished} {left}. Only faster machines, longer hours \
             or more suitable days help that: look to the windows, the mix of crops, the way of tillage and the drainage \
             before buying anything."
        ));
    } else if share > MEANS {
        text.push_str(&format!(
            " {wished} {left}: that much only faster machines, longer hours or more suitable days help. The rest is short of \
             machines and people."
        ));
    } else {
        text.push_str(&format!(
            " What is short is machines and people more than suitable days. {wished} {}.",
            left.replace("would still be", "would be")
        ));
    }
    text
}

/// A number of operations.
fn few(late: f64) -> String {
    number(late, if late < 1.0 { 2 } else { 1 })
}

/// An operation in a sentence.
fn said(farm: &Farm, row: usize) -> String {
    let row = &farm.rows[row];
    format!("{} of {}", row.operation, farm.crops[row.crop])
}

/// Which step brings most, and which most for its cost.
fn best(of: &Told<'_>, gains: &[(&Step, Gain)]) -> String {
    let helping: Vec<&(&Step, Gain)> = gains.iter().filter(|(_, gain)| gain.sign() > 0).collect();
    let Some((step, gain)) = helping.first().copied() else {
        return "No step that was tried can be told to help: it would take more seasons, or more than one step at a time."
            .into();
    };
    let mut text =
        format!("Of {} steps most is gained by: {} ({}).", gains.len(), step.name, fewer(of, gain));
    let near = helping[1..].iter().filter(|(_, other)| other.fall_interval.1 >= gain.fall_interval.0);
    let near: Vec<&str> = near.map(|(step, _)| step.name.as_str()).collect();
    if !near.is_empty() {
        text.push_str(&format!(" Near it: {}.", one_after_another(&near)));
    }
    let of_money = |(_, gain): &&&(&Step, Gain)| gain.for_money.is_some();
    let for_money = |gain: &Gain| gain.for_money.map_or(0.0, |(ratio, _)| ratio);
    let dearest = helping
        .iter()
        .filter(of_money)
        .max_by(|(one, a), (other, b)| for_money(a).total_cmp(&for_money(b)).then(other.name.cmp(&one.name)));
    let free: Vec<&str> = helping
        .iter()
        .filter(|(_, gain)| gain.cost.is_some_and(|(_, (_, high))| high < 0.0))
        .map(|(step, _)| step.name.as_str())
        .collect();
    if !free.is_empty() {
        text.push_str(&format!(
            " Helps and costs less than the farm as it is: {}.",
            one_after_another(&free)
        ));
    }
    match dearest {
        Some((step, _)) => text.push_str(&format!(" Most for its cost, of those whose cost is known: {}.", step.name)),
        None if !of.farm().costs.given() => text.push_str(
            " The script does not say what anything costs: cost_year, cost_m_year, cost_h and cost_ha do, and steps are then \
             weighed by it too.",
        ),
        None => {}
    }
    text
}

/// "2.1 fewer late in a year", as the measure has it.
fn fewer(of: &Told<'_>, gain: &Gain) -> String {
    match row_of(of.measure) {
        None => format!("{} fewer late in a year", number(gain.fall, 2)),
        Some(_) => format!("{} fewer late years in 100", number(gain.fall * 100.0, 1)),
    }
}

fn listed(text: &mut String, of: &Told<'_>, gains: &[(&Step, Gain)]) {
    let with =
        |sign: i8| -> Vec<&(&Step, Gain)> { gains.iter().filter(|(_, gain)| gain.sign() == sign).collect() };
    let worse = if row_of(of.measure).is_some() { "Late more often" } else { "More is late" };
    for (title, steps) in [("Helps", with(1)), (worse, with(-1))] {
        if !steps.is_empty() {
            text.push_str(&format!("\n{title}\n"));
            text.push_str(&table(of, &steps));
        }
    }
    let open = with(0);
    if !open.is_empty() {
        let names: Vec<&str> = open.iter().map(|(step, _)| step.name.as_str()).collect();
        text.push('\n');
        wrapped(text, &format!("Cannot be told to change anything: {}.", one_after_another(&names)));
    }
}

fn table(of: &Told<'_>, steps: &[&(&Step, Gain)]) -> String {
    let costs = &of.farm().costs;
    let (times, late) = match row_of(of.measure) {
        None => (1.0, "\nLate operations\na year, fewer"),
        Some(_) => (100.0, "\nYears late\nin 100, fewer"),
    };
    let currency = words::currency(costs);
    let for_money = format!("Fewer late\nfor each\n1 000 {currency}");
    let dearer = format!("\n{currency}\na year more");
    let mut columns =
        vec![("\n\nStep", Fit::Text), (late, Fit::Whole), ("Hectare-days\nlate a year,\nfewer", Fit::Number)];
    if costs.given() {
        columns.extend([(dearer.as_str(), Fit::Whole), (for_money.as_str(), Fit::Whole)]);
    }
    let mut table = Plain::new(&columns);
    for (step, gain) in steps {
        let mut cells = vec![
            step.name.clone(),
            with_ends(gain.fall * times, gain.fall_interval, times),
            signed(gain.ha_days_fall),
        ];
        if costs.given() {
            cells.push(gain.cost.map_or_else(|| "not known".into(), |(cost, ends)| dearer_by(cost, ends)));
            let of_money = gain
                .for_money
                .filter(|_| gain.sign() > 0)
                .map(|(ratio, ends)| with_ends(ratio * times * 1000.0, ends, times * 1000.0));
            cells.push(of_money.unwrap_or_default());
        }
        table.row(cells);
    }
    table.text()
}

/// What a step costs more, whole; its interval is in the table that is written.
fn dearer_by(cost: f64, (low, high): (f64, f64)) -> String {
    if low <= 0.0 && high >= 0.0 { "not told from 0".into() } else { signed(cost) }
}

/// A whole number that may be below 0.
fn signed(value: f64) -> String {
    let text = thousands(value.abs().round() as u64);
    if value.round() < 0.0 { format!("-{text}") } else { text }
}

/// A figure with its interval: "2.1 (1.9 to 2.3)".
fn with_ends(value: f64, (low, high): (f64, f64), times: f64) -> String {
    let (low, high) = (low * times, high * times);
    // So many decimals that the end near 0 is seen not to be 0.
    let near = low.abs().min(high.abs());
    let decimals = (1..3).find(|decimals| near * 10f64.powi(*decimals) >= 0.5).unwrap_or(3) as usize;
    format!("{value:.decimals$} ({low:.decimals$} to {high:.decimals$})")
}

fn taken_for_granted(text: &mut String, gains: &[(&Step, Gain)]) {
    let mut grouped: Vec<(&str, Vec<&str>)> = Vec::new();
    for (step, _) in gains {
        match grouped.iter_mut().find(|(assumes, _)| *assumes == step.assumes) {
            Some((_, names)) => names.push(&step.name),
            None => grouped.push((&step.assumes, vec![&step.name])),
        }
    }
    text.push_str("\nWhat was taken for granted\n");
    for (assumes, names) in grouped {
        wrapped(text, &format!("{}: {assumes}", one_after_another(&names)));
    }
}

/// How sure all of it is.
fn sureness(of: &Told<'_>, steps: usize) -> String {
    let mut text = String::from(
        "In brackets: 95 % intervals. A step is tried alone: two of them need not bring what both bring.",
    );
    if steps >= MANY {
        text.push_str(" Among so many steps, 1 in 20 that change nothing will still seem to, and the best looks a little better than it is.");
    }
    if of.farm().costs.given() {
        text.push_str(" Hours that a step spares count as money spared.");
    }
    let pairs = of.found.comparisons.first().map_or(0, |first| first.pairs);
    text.push_str(&words::what_years_leave(of.farm(), pairs));
    if !of.all {
        text.push_str(" --for \"OPERATION, CROP\" ranks by one operation, --all tries every step that touches late work.");
    }
    text
}
