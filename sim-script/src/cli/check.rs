//! `dryspell check`: what was understood of a farm, and what is worth a second look. No season is worked.

use super::args::CheckArgs;
use super::load::{Loaded, changes, load};
use super::moves::moves;
use super::odd::{self, Need, needs};
use super::plain::{Fit, Plain, wrapped};
use super::summary::heading;
use super::{Failure, print};
use crate::script::Parameter;
use crate::words::{self, day_month, number};
use sim_core::farm::spec::{ClassSpec, FarmSpec, FieldSpec};
use sim_core::farm::{Farm, Row};
use sim_core::season::Plan;

pub(super) fn check(args: &CheckArgs) -> Result<(), Failure> {
    let Loaded { spec, farm, parameters, strange, .. } = load(&args.farm)?;
    // Tables that no weather can be drawn from are found here, not on the first run.
    sim_core::weather::Weather::new(&farm.weather)?;
    print(&understood(&spec, &Plan::new(farm), &parameters, &strange))
}

/// What was understood; `strange` is what decisions compare in vain.
pub(super) fn understood(
    spec: &FarmSpec,
    plan: &Plan,
    parameters: &[Parameter],
    strange: &[String],
) -> String {
    let farm = plan.farm();
    let season = format!("{} to {}", farm.span.first(), farm.span.last());
    let mut text = format!("{}; the season is {season}\n", heading(farm));
    wrapped(&mut text, &format!("Weather: {}.", words::weather(farm)));
    if let Some(machines) = machines(spec) {
        wrapped(&mut text, &format!("Days judged by the rules to start from are for {machines}."));
    }
    if !parameters.is_empty() {
        let names: Vec<String> =
            parameters.iter().map(|parameter| format!("{} = {}", parameter.name, parameter.value)).collect();
        wrapped(&mut text, &format!("Parameters: {}.", names.join(", ")));
    }
    let changed = changes(parameters);
    if !changed.is_empty() {
        wrapped(&mut text, &format!("Set: {changed}."));
    }
    let needs = needs(plan);
    text.push_str("\nFields by crop and soil\n");
    text.push_str(&areas(spec));
    text.push_str("\nOperations, each by its first outfit\n\n");
    text.push_str(&operations(farm, &needs));
    let moves = moves(farm);
    if !moves.is_empty() {
        text.push_str("Windows that move in early and late years; above they are a middling year's\n\n");
        moves.iter().for_each(|of| wrapped(&mut text, of));
        text.push('\n');
    }
    text.push_str("People\n");
    text.push_str(&people(spec, farm));
    text.push('\n');
    let warnings = odd::warnings(plan, &needs, strange);
    if warnings.is_empty() {
        text.push_str("Nothing looks odd.\n");
    }
    for warning in warnings {
        wrapped(&mut text, &format!("Look again: {warning}"));
    }
    text
}

/// Which machines the rules to start from are for, where such a rule judges the days of a record.
fn machines(spec: &FarmSpec) -> Option<String> {
    spec.record.as_ref()?;
    let soils = spec.soils();
    let of_class =
        |class: &ClassSpec| soils.iter().find_map(|soil| spec.rule_for(class, soil)?.machine_weight);
    words::machines_of(spec.classes.iter().map(|class| (class.name.as_str(), of_class(class))))
}

/// Fields and area of each crop, standing and following, by soil.
fn areas(spec: &FarmSpec) -> String {
    let mut table = Plain::new(&[
        ("Crop", Fit::Text),
        ("Soil", Fit::Text),
        ("Standing\nfields", Fit::Number),
        ("\nha", Fit::Number),
        ("Following\nfields", Fit::Number),
        ("\nha", Fit::Number),
    ]);
    let soils = spec.soils();
    let crops = spec.crops.iter().map(|crop| Some(crop.name.as_str())).chain([None]);
    for (crop, soil) in crops.flat_map(|crop| soils.iter().map(move |soil| (crop, *soil))) {
        let sum = |of: fn(&FieldSpec) -> Option<&str>| {
            let fields = spec.fields.iter().filter(|field| field.soil == soil && of(field) == crop);
            (fields.clone().count(), fields.map(|field| field.area_ha).sum::<f64>())
        };
        let (standing, following) =
            (sum(|field| field.standing.as_deref()), sum(|field| field.following.as_deref()));
        if standing.0 + following.0 > 0 {
            let name = crop.unwrap_or("(none)").to_string();
            let [one, other] = [standing, following].map(|(fields, ha)| {
                if fields > 0 { [fields.to_string(), number(ha, 1)] } else { <_>::default() }
            });
            table.row([vec![name, soil.to_string()], one.to_vec(), other.to_vec()].concat());
        }
    }
    table.text()
}

/// A table for each crop, so that the crop need not stand in every row.
fn operations(farm: &Farm, needs: &[Need]) -> String {
    let mut text = String::new();
    for (crop, name) in farm.crops.iter().enumerate() {
        let mut rows = farm.rows.iter().zip(needs).filter(|(row, _)| row.crop == crop).peekable();
        if rows.peek().is_some() {
            text.push_str(&format!("{name}\n{}\n", operations_of(farm, rows)));
        }
    }
    text
}

fn operations_of<'a>(farm: &Farm, rows: impl Iterator<Item = (&'a Row, &'a Need)>) -> String {
    let mut table = Plain::new(&[
        ("Operation", Fit::Text),
        ("From", Fit::Whole),
        ("Due", Fit::Whole),
        ("Latest", Fit::Whole),
        ("Outfit", Fit::Text),
        ("ha", Fit::Number),
        ("ha/h", Fit::Number),
        ("Days\nneeded", Fit::Number),
        ("Suitable\ndays", Fit::Number),
    ]);
    for (row, need) in rows {
        let day = |day: u32| day_month(farm.span.date(day));
        let (from, due, latest) = match row.dates {
            Some((from, due, latest)) => (day(from), day(due), day(latest)),
            None => (String::new(), row.due_text.clone(), String::new()),
        };
        let (ha, ha_h) = if need.area_ha > 0.0 {
            (number(need.area_ha, 1), number(need.area_ha / need.hours, 2))
        } else {
            ("0 (fallback)".into(), String::new())
        };
        table.row([
            row.operation.clone(),
            from,
            due,
            latest,
            farm.outfits[row.outfits[0]].name.clone(),
            ha,
            ha_h,
            need.days().filter(|_| need.hours > 0.0).map_or_else(String::new, |days| number(days, 1)),
            need.window
                .as_ref()
                .filter(|_| need.hours > 0.0)
                .map_or_else(String::new, |expected| number(expected.suitable_days, 1)),
        ]);
    }
    table.text()
}

fn people(spec: &FarmSpec, farm: &Farm) -> String {
    let mut table = Plain::new(&[
        ("Name", Fit::Text),
        ("Days", Fit::Number),
        ("Hours", Fit::Number),
        ("Longest\nday, h", Fit::Number),
        ("Overtime\na day, h", Fit::Number),
        ("Drives", Fit::Text),
    ]);
    // The farm has its people in the order in which they were said, then the contractors.
    for (index, person) in farm.people.iter().enumerate() {
        let days = person.from_day..farm.span.days();
        let seconds: Vec<i64> = days.map(|day| person.hours.seconds_on(day)).collect();
        table.row([
            person.name.clone(),
            seconds.iter().filter(|seconds| **seconds > 0).count().to_string(),
            number(seconds.iter().sum::<i64>() as f64 / 3600.0, 0),
            number(seconds.iter().max().copied().unwrap_or(0) as f64 / 3600.0, 1),
            number(person.overtime_s as f64 / 3600.0, 1),
            spec.people.get(index).map_or_else(|| "(contractor)".into(), |person| person.drives.join(", ")),
        ]);
    }
    table.text()
}
