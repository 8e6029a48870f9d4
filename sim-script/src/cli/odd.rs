//! What is worth a second look before a season is worked: needs against expectations, and things without use.

use crate::words::{day_month, number};
use sim_core::farm::{Farm, Outfit, Row, Window};
use sim_core::season::Plan;

/// What a row needs by its first outfit, and what its window may be expected to give.
pub(super) struct Need {
    pub(super) hours: f64,
    pub(super) area_ha: f64,
    /// `None` where the window follows other work.
    pub(super) window: Option<Expected>,
    /// How many of its first outfit the machines and people make at once.
    at_once: u32,
}

pub(super) struct Expected {
    hours: f64,
    pub(super) suitable_days: f64,
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
                let open_h = plan.suitable_seconds(job.lot, day) / 3600.0;
                if let Some(expected) = window.as_mut().filter(|_| open_h > 0.0) {
                    expected.hours += share * p * open_h;
                    expected.suitable_days += share * p;
                }
            }
        }
        Self { hours, area_ha: of.area_ha, window, at_once: at_once(&farm.outfits[of.outfits[0]]) }
    }

    /// Suitable days that one outfit needs, of as many hours as such a day has in its window.
    pub(super) fn days(&self) -> Option<f64> {
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

/// The need of every row.
pub(super) fn needs(plan: &Plan) -> Vec<Need> {
    (0..plan.farm().rows.len()).map(|row| Need::of(plan, row)).collect()
}

/// What is worth a second look, and behind it the strange names that are known from the script.
pub(super) fn warnings(plan: &Plan, needs: &[Need], strange: &[String]) -> Vec<String> {
    let farm = plan.farm();
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
    warnings.extend(farm.rows.iter().filter_map(|row| days_without_hope(farm, row)));
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
    warnings.extend_from_slice(strange);
    warnings
}

/// Days inside a window for which the table has no suitable day at all: more often a gap in the table than
/// land that is never fit.
fn days_without_hope(farm: &Farm, row: &Row) -> Option<String> {
    let (from, due, _) = row.dates?;
    let keys: Vec<usize> =
        farm.lots.iter().filter(|lot| farm.rows[lot.row] == *row).map(|lot| lot.key).collect();
    let none = |day: &u32| keys.iter().all(|key| farm.weather.keys[*key].p[*day as usize] <= 0.0);
    let count = (from..=due).filter(none).count();
    let first = (from..=due).find(none)?;
    Some(format!(
        "the table of suitable days gives {} no chance on {count} of the {} days from `from` to `due`, first on {}.",
        format_args!("{} of {}", row.operation, farm.crops[row.crop]),
        due - from + 1,
        day_month(farm.span.date(first)),
    ))
}
