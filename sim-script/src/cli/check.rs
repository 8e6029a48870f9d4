//! `dryspell check`: what was understood of a farm, and what is worth a second look. No season is worked.

use super::args::CheckArgs;
use super::load::{Loaded, changes, load};
use super::plain::{Fit, Plain, wrapped};
use super::summary::heading;
use super::{Failure, print};
use crate::script::Parameter;
use crate::words::{self, day_month, number};
use sim_core::farm::spec::{FarmSpec, FieldSpec};
use sim_core::farm::{Farm, Outfit, Row, Window};
use sim_core::season::Plan;

pub(super) fn check(args: &CheckArgs) -> Result<(), Failure> {
    let Loaded { spec, farm, parameters, .. } = load(&args.farm)?;
    // Tables that no weather can be drawn from are found here, not on the first run.
    sim_core::weather::Weather::new(&farm.weather)?;
    print(&understood(&spec, &Plan::new(farm), &parameters))
}

/// What was understood.
pub(super) fn understood(spec: &FarmSpec, plan: &Plan, parameters: &[Parameter]) -> String {
    let farm = plan.farm();
    let season = format!("{} to {}", farm.span.first(), farm.span.last());
    let mut text = format!("{}; the season is {season}\n", heading(farm));
    wrapped(&mut text, &format!("Weather: {}.", words::weather(&farm.weather)));
    if !parameters.is_empty() {
        let names: Vec<String> =
            parameters.iter().map(|parameter| format!("{} = {}", parameter.name, parameter.value)).collect();
        wrapped(&mut text, &format!("Parameters: {}.", names.join(", ")));
    }
    let changed = changes(parameters);
    if !changed.is_empty() {
        wrapped(&mut text, &format!("Set: {changed}."));
    }
    let needs: Vec<Need> = (0..farm.rows.len()).map(|row| Need::of(plan, row)).collect();
    text.push_str("\nFields by crop and soil\n");
    text.push_str(&areas(spec));
    text.push_str("\nOperations, each by its first outfit\n");
    text.push_str(&operations(farm, &needs));
    text.push_str("\nPeople\n");
    text.push_str(&people(spec, farm));
    text.push('\n');
    let warnings = warnings(farm, &needs);
    if warnings.is_empty() {
        text.push_str("Nothing looks odd.\n");
    }
    for warning in warnings {
        wrapped(&mut text, &format!("Look again: {warning}"));
    }
    text
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
    let mut soils: Vec<&str> = Vec::new();
    for field in &spec.fields {
        if !soils.contains(&field.soil.as_str()) {
            soils.push(&field.soil);
        }
    }
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

/// What a row needs by its first outfit, and what its window may be expected to give.
struct Need {
    hours: f64,
    area_ha: f64,
    /// `None` where the window follows other work.
    window: Option<Expected>,
    /// How many of its first outfit the machines and people make at once.
    at_once: u32,
}

struct Expected {
    hours: f64,
    suitable_days: f64,
}

impl Need {
    fn of(plan: &Plan, row: usize) -> Self {
        let farm = plan.farm();
        let of = &farm.rows[row];
        let jobs = || of.jobs.iter().map(|job| &farm.jobs[*job]).filter(|job| !job.dormant);
        let hours: f64 = jobs().map(|job| job.work[0].total_s as f64 / 3600.0).sum();
        // Days differ by soil: each soil counts by its share of the work.
        let mut window = of.dates.map(|_| Expected { hours: 0.0, suitable_days: 0.0 });
        for job in jobs() {
            let Window::Fixed { from, due, .. } = job.window else { continue };
            let share = job.work[0].total_s as f64 / 3600.0 / hours;
            let p = &farm.weather.keys[farm.lots[job.lot].key].p;
            let days = p.iter().enumerate().take(due as usize + 1).skip(from as usize);
            for (day, p) in days {
                let open_h = plan.open_seconds(row, day) as f64 / 3600.0;
                if let Some(expected) = window.as_mut().filter(|_| open_h > 0.0) {
                    expected.hours += share * p * open_h;
                    expected.suitable_days += share * p;
                }
            }
        }
        Self { hours, area_ha: of.area_ha, window, at_once: at_once(&farm.outfits[of.outfits[0]]) }
    }

    /// Suitable days that one outfit needs, of as many hours as such a day has in its window.
    fn days(&self) -> Option<f64> {
        let expected = self.window.as_ref().filter(|expected| expected.hours > 0.0)?;
        Some(self.hours / (expected.hours / expected.suitable_days))
    }
}

/// How many of an outfit can be at work at once, if nothing else is.
fn at_once(outfit: &Outfit) -> u32 {
    let units = &outfit.units;
    let machines = units.iter().flat_map(|unit| &unit.machines).map(|(mask, _)| {
        let wanted: u32 =
            units.iter().flat_map(|unit| &unit.machines).filter(|(of, _)| of == mask).map(|(_, n)| n).sum();
        mask.count_ones() / wanted.max(1)
    });
    let drivers = units.iter().filter(|unit| unit.drivers.is_some()).count() as u32;
    let people = outfit.anyone.count_ones().checked_div(drivers).unwrap_or(u32::MAX);
    machines.fold(people, u32::min).max(1)
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

/// What is worth a second look.
fn warnings(farm: &Farm, needs: &[Need]) -> Vec<String> {
    let mut warnings = Vec::new();
    for (row, need) in farm.rows.iter().zip(needs).filter(|(_, need)| need.hours > 0.0) {
        let label = format!("{} of {}", row.operation, farm.crops[row.crop]);
        let Some(expected) = &need.window else { continue };
        let given = expected.hours * f64::from(need.at_once);
        if given <= 0.0 {
            warnings.push(format!(
                "{label} has no suitable open hours to expect between its first and its due day."
            ));
        } else if need.hours > given {
            let also = match (row.outfits.len(), need.at_once) {
                (1, 1) => String::new(),
                (1, n) => format!(", with {n} of its outfit at work at once"),
                (_, 1) => ", with its first outfit alone".into(),
                (_, n) => format!(", with {n} of its first outfit at work at once and no other"),
            };
            warnings.push(format!(
                "{label} needs {} h, but its window can be expected to have {} suitable hours{also}.",
                number(need.hours, 0),
                number(given, 0),
            ));
        }
    }
    let used = |outfit: usize| farm.rows.iter().any(|row| row.outfits.contains(&outfit));
    for (_, outfit) in farm.outfits.iter().enumerate().filter(|(index, _)| !used(*index)) {
        warnings.push(format!("the outfit \"{}\" has no work.", outfit.name));
    }
    let working =
        || farm.outfits.iter().enumerate().filter(|(index, _)| used(*index)).map(|(_, outfit)| outfit);
    for (index, machine) in farm.machines.iter().enumerate() {
        let mut masks = working().flat_map(|outfit| &outfit.units).flat_map(|unit| &unit.machines);
        if !masks.any(|(mask, _)| mask >> index & 1 == 1) {
            warnings.push(format!("the machine \"{}\" is in no outfit that has work.", machine.name));
        }
    }
    for (index, person) in farm.people.iter().enumerate().filter(|(_, person)| !person.contractor) {
        if !working().any(|outfit| outfit.anyone >> index & 1 == 1) {
            warnings.push(format!("\"{}\" may drive nothing that has work.", person.name));
        }
    }
    for (index, crop) in farm.crops.iter().enumerate() {
        if !farm.rows.iter().any(|row| row.crop == index) {
            warnings.push(format!("no field grows the crop \"{crop}\"."));
        }
    }
    for (index, field) in farm.fields.iter().enumerate() {
        if !farm.jobs.iter().any(|job| job.field == index) {
            warnings.push(format!("the field \"{}\" has no work in the season.", field.name));
        }
    }
    warnings
}
