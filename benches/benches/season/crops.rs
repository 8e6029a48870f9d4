//! The farm of three crops on two soils, on which something is chosen every morning and at every finish.

use std::fmt::Write as _;

use sim_core::farm::spec::*;
use sim_core::season::{Cause, JobAccount, Plan};
use sim_core::weather::Sky;
use speed::crops::{ByHand, CropFarm, CropField};
use speed::plain::{Found, NEVER, OPERATIONS};

use crate::FIELDS;
use crate::common::*;
use crate::contest::Floor;

/// Operation, ha/h, hours.
const WORK: [(&str, f64, [f64; 2]); OPERATIONS] =
    [("ploughing", 1.5, [8.0, 18.0]), ("drilling", 2.4, [9.0, 18.0]), ("rolling", 3.6, [10.0, 17.0])];
/// Soils, and by operation the chances of a suitable day up to September and after it.
const SOILS: [(&str, [[f64; 2]; OPERATIONS]); 2] =
    [("light", [[0.85, 0.7], [0.75, 0.55], [0.7, 0.5]]), ("heavy", [[0.75, 0.5], [0.6, 0.4], [0.5, 0.35]])];
/// From and due of an operation.
type Dates = [&'static str; 2];
/// Crops, the windows of their operations, their last day.
const CROPS: [(&str, [Dates; OPERATIONS], &str); 3] = [
    ("wheat", [["09-01", "10-15"], ["09-20", "10-25"], ["09-20", "10-30"]], "12-10"),
    ("barley", [["08-25", "10-05"], ["09-15", "10-12"], ["09-15", "10-16"]], "11-30"),
    ("beans", [["09-10", "10-25"], ["10-05", "11-05"], ["10-05", "11-10"]], "12-15"),
];

/// The farm, or one like it: its land in so many fields, its chances of a suitable day so many times as great.
pub(crate) fn farm(fields: usize, times: f64) -> FarmSpec {
    let mut spec = bare(0.5);
    (spec.suitable, spec.classes) = (Vec::new(), Vec::new());
    let plain = bare(0.5);
    let driver = &mut spec.drivers[0];
    (driver.persistence, driver.spread, driver.spread_days) = (0.5, 0.3, Some(10.0));
    for (at, (name, ha_h, [start, end])) in WORK.into_iter().enumerate() {
        for (soil, chances) in SOILS {
            for (from, to, p_suitable) in
                [("01-01", "09-30", chances[at][0]), ("10-01", "12-31", chances[at][1])]
            {
                spec.suitable.push(SuitableRow {
                    class: name.into(),
                    soil: soil.into(),
                    from: from.parse().unwrap(),
                    to: to.parse().unwrap(),
                    p_suitable: p_suitable * times,
                    ..plain.suitable[0].clone()
                });
            }
        }
        spec.classes.push(ClassSpec { name: name.into(), ..plain.classes[0].clone() });
        spec.people.push(PersonSpec { hours: vec![hours(start, end)], ..person(name, &[name]) });
        spec.machines.push(machine(name, ha_h));
        spec.outfits.push(outfit(name, &[name]));
    }
    for (crop, windows, latest) in CROPS {
        let mut chain: Vec<OperationSpec> = Vec::new();
        for ((name, ..), [from, due]) in WORK.into_iter().zip(windows) {
            let mut work = operation(name, &[name], [from, due, latest]);
            work.class = name.into();
            work.after.extend(chain.last().map(|before| link(&before.name)));
            chain.push(work);
        }
        spec.crops.push(crate::common::crop(crop, chain));
    }
    for index in 0..fields {
        let area_ha = (4.0 + (index * 7 % 11) as f64 * 0.9) * FIELDS as f64 / fields as f64;
        let (crop, ..) = CROPS[index % CROPS.len()];
        let (soil, _) = SOILS[index / CROPS.len() % SOILS.len()];
        let of = field(&format!("field {index}"), area_ha, crop);
        spec.fields.push(FieldSpec { soil: soil.into(), ..of });
    }
    spec
}

/// The same farm in numbers.
pub(crate) fn numbers(plan: &Plan) -> CropFarm {
    let farm = plan.farm();
    let day_seconds = |hour: f64| (hour * 3600.0) as i64;
    let job = |operation: usize, field: usize| {
        farm.jobs.iter().find(|job| (farm.rows[job.row].class, job.field) == (operation, field)).unwrap()
    };
    let dates = |operation: usize, crop: usize| {
        let (from, due, latest) =
            farm.rows.iter().find(|row| (row.class, row.crop) == (operation, crop)).unwrap().dates.unwrap();
        (from as usize, due as usize, latest as usize)
    };
    CropFarm {
        crops: CROPS.len(),
        soils: farm.soils.len(),
        fields: (0..farm.fields.len())
            .map(|field| {
                let first = job(0, field);
                CropField {
                    crop: farm.rows[first.row].crop,
                    soil: farm.lots[first.lot].soil,
                    area_ha: farm.fields[field].area_ha,
                    work_s: std::array::from_fn(|operation| job(operation, field).work[0].total_s),
                }
            })
            .collect(),
        hours: WORK.map(|(_, _, [start, end])| (day_seconds(start), day_seconds(end))),
        window: (0..CROPS.len())
            .map(|crop| std::array::from_fn(|at| (dates(at, crop).0, dates(at, crop).1)))
            .collect(),
        latest: (0..CROPS.len()).map(|crop| dates(0, crop).2).collect(),
        p: farm.weather.keys.iter().map(|key| key.p.clone()).collect(),
        half_month: (0..farm.span.days() as usize).map(|day| plan.half_month_of(day)).collect(),
    }
}

/// What SimPy is given to read, before the days.
pub(crate) fn in_text(farm: &CropFarm) -> String {
    let mut text = format!("{} {} {} {}\n", farm.fields.len(), farm.crops, farm.soils, farm.half_month.len());
    for (start, end) in &farm.hours {
        writeln!(text, "{start} {end}").unwrap();
    }
    for (window, latest) in farm.window.iter().zip(&farm.latest) {
        let [(a, b), (c, d), (e, f)] = window;
        writeln!(text, "{a} {b} {c} {d} {e} {f} {latest}").unwrap();
    }
    for p in &farm.p {
        let words: Vec<String> = p.iter().map(ToString::to_string).collect();
        writeln!(text, "{}", words.join(" ")).unwrap();
    }
    for CropField { crop, soil, work_s: [a, b, c], .. } in &farm.fields {
        writeln!(text, "{crop} {soil} {a} {b} {c}").unwrap();
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
        let jobs = self.accounts().map(|(operation, field, account)| {
            let mut waits_s = [0; Cause::ALL.len()];
            let causes = [Cause::ClosedHours, Cause::Weather, Cause::Predecessor, Cause::People];
            for (cause, wait_s) in causes.into_iter().zip(account.waits_s) {
                waits_s[cause as usize] = wait_s;
            }
            let of = JobAccount {
                ready: Some(account.ready),
                finish: Some(account.finish),
                work_s: account.work_s,
                travel_s: 0,
                waits_s,
                done: account.done,
            };
            (operation, field, if account.done { account.finish } else { NEVER }, Some(of))
        });
        jobs.collect()
    }
}
