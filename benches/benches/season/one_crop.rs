//! The farm of one crop, whose fields are worked in one order known beforehand.

use std::fmt::Write as _;

use sim_core::farm::spec::*;
use sim_core::season::{JobAccount, Plan};
use sim_core::weather::Sky;
use speed::plain::{ByHand, Found, OPERATIONS, PlainFarm};

use crate::FIELDS;
use crate::common::*;
use crate::contest::Floor;

/// Operation, ha/h, hours, chance of a suitable day, window.
type PlainOperation = (&'static str, f64, [f64; 2], f64, [&'static str; 3]);

const PLAIN: [PlainOperation; OPERATIONS] = [
    ("ploughing", 1.5, [8.0, 18.0], 0.65, ["09-01", "10-15", "12-15"]),
    ("drilling", 2.4, [9.0, 18.0], 0.5, ["09-20", "10-31", "12-15"]),
    ("rolling", 3.6, [10.0, 17.0], 0.45, ["09-20", "11-05", "12-15"]),
];

pub(crate) fn farm() -> FarmSpec {
    let mut spec = bare(0.5);
    (spec.suitable, spec.classes) = (Vec::new(), Vec::new());
    let plain = bare(0.5);
    let driver = &mut spec.drivers[0];
    (driver.persistence, driver.spread, driver.spread_days) = (0.5, 0.3, Some(10.0));
    let mut chain: Vec<OperationSpec> = Vec::new();
    for (name, ha_h, [start, end], p_suitable, window) in PLAIN {
        spec.suitable.push(SuitableRow { class: name.into(), p_suitable, ..plain.suitable[0].clone() });
        spec.classes.push(ClassSpec { name: name.into(), ..plain.classes[0].clone() });
        spec.people.push(PersonSpec { hours: vec![hours(start, end)], ..person(name, &[name]) });
        spec.machines.push(machine(name, ha_h));
        spec.outfits.push(outfit(name, &[name]));
        let mut work = operation(name, &[name], window);
        work.class = name.into();
        work.after.extend(chain.last().map(|before| link(&before.name)));
        chain.push(work);
    }
    spec.crops.push(crop("wheat", chain));
    for index in 0..FIELDS {
        let area_ha = 4.0 + (index * 7 % 11) as f64 * 0.9;
        spec.fields.push(field(&format!("field {index}"), area_ha, "wheat"));
    }
    spec
}

/// The same farm in numbers.
pub(crate) fn numbers(plan: &Plan) -> PlainFarm {
    let farm = plan.farm();
    let day_seconds = |hour: f64| (hour * 3600.0) as i64;
    let dates = |row: usize| farm.rows[row].dates.unwrap();
    PlainFarm {
        work_s: (0..FIELDS)
            .map(|field| std::array::from_fn(|row| farm.jobs[farm.rows[row].jobs[field]].work[0].total_s))
            .collect(),
        area_ha: farm.fields.iter().map(|field| field.area_ha).collect(),
        hours: PLAIN.map(|(_, _, [start, end], _, _)| (day_seconds(start), day_seconds(end))),
        window: std::array::from_fn(|row| (dates(row).0 as usize, dates(row).1 as usize)),
        latest: dates(0).2 as usize,
        half_month: (0..farm.span.days() as usize).map(|day| plan.half_month_of(day)).collect(),
    }
}

/// What SimPy is given to read, before the days.
pub(crate) fn in_text(farm: &PlainFarm) -> String {
    let mut text = format!("{FIELDS} {} {}\n", farm.half_month.len(), farm.latest);
    for ((start, end), (from, _)) in farm.hours.iter().zip(&farm.window) {
        writeln!(text, "{start} {end} {from}").unwrap();
    }
    for [a, b, c] in &farm.work_s {
        writeln!(text, "{a} {b} {c}").unwrap();
    }
    text
}

impl Floor for ByHand<'_> {
    fn work(&mut self, sky: &Sky) {
        self.work(sky);
    }

    fn found(&self) -> &[Found] {
        &self.found
    }

    fn use_s(&self, operation: usize) -> &[i64] {
        &self.use_s[operation]
    }

    fn jobs(&self) -> Vec<(usize, usize, i64, Option<JobAccount>)> {
        let of = |(operation, finish): (usize, &Vec<i64>)| {
            let jobs = finish.iter().enumerate();
            jobs.map(|(field, finish)| (operation, field, *finish, None)).collect::<Vec<_>>()
        };
        self.finish.iter().enumerate().flat_map(of).collect()
    }
}
