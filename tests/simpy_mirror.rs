//! A small farm's season told a second time, in SimPy (`mirror.py`), by its own statement of the rules.
//!
//! Both are given the same days; every job must be done at the same second, or in neither. A disagreement is a
//! mistake of one of the two: find out whose.

#[path = "../sim-core/tests/common/mod.rs"]
mod common;
#[path = "support/python.rs"]
mod python;

use common::*;
use serde_json::{Value, json};
use sim_core::farm::Farm;
use sim_core::farm::spec::*;
use sim_core::kernel::draw::Stream;
use sim_core::season::{Cause, JobView, Plan, Policy, PolicyError, Season};
use sim_core::weather::Sky;

const DAYS: usize = 90;
const SEASONS: u64 = 200;

/// Operations in the order in which a field sees them: name, ha/h, hours of the day, rank (the lowest goes first),
/// hours to wait after the one before.
const OPERATIONS: [(&str, f64, [f64; 2], u32, f64); 3] = [
    ("ploughing", 1.3, [6.0, 20.0], 2, 0.0),
    ("drilling", 1.7, [9.0, 20.0], 1, 30.0),
    ("rolling", 2.1, [10.5, 17.0], 0, 5.5),
];
/// Name, hours on duty, the operations whose tractor they drive. Both roll, and each has another job beside.
const DRIVERS: [(&str, [f64; 2], &[&str]); 2] =
    [("Ann", [7.0, 18.0], &["ploughing", "rolling"]), ("Bob", [8.0, 19.0], &["drilling", "rolling"])];
/// Name, ha, km from the yard, block.
const FIELDS: [(&str, f64, f64, Option<&str>); 7] = [
    ("Long Acre", 14.3, 1.2, Some("north")),
    ("Mill Field", 31.0, 3.7, Some("north")),
    ("Hollow", 8.9, 5.1, Some("south")),
    ("The Leas", 22.4, 6.3, Some("south")),
    ("Over Road", 17.7, 0.4, None),
    ("Far Piece", 40.2, 11.9, None),
    ("Barn Field", 26.5, 0.0, None),
];
const ROAD_KM_H: f64 = 22.0;
/// Days of the season on which the windows open, and after which what is left is given up.
const FROM: [&str; 3] = ["01-04", "01-06", "01-06"];
const FROM_DAYS: [usize; 3] = [3, 5, 5];
const LATEST: &str = "03-21";
const LATEST_DAY: usize = 79;

fn farm() -> FarmSpec {
    let mut spec = bare(0.5);
    spec.last_day = jiff::civil::date(2025, 3, 31);
    spec.suitable.clear();
    spec.classes.clear();
    let mut chain: Vec<OperationSpec> = Vec::new();
    for (index, (name, ha_h, [begin, end], _, lag_h)) in OPERATIONS.into_iter().enumerate() {
        spec.suitable.push(SuitableRow { class: name.into(), ..bare(0.5).suitable.remove(0) });
        let class =
            ClassSpec { name: name.into(), hours: vec![hours(begin, end)], ..bare(0.5).classes.remove(0) };
        spec.classes.push(class);
        let mut tractor = machine(name, ha_h);
        tractor.road_speed_km_h = Some(ROAD_KM_H);
        spec.machines.push(tractor);
        spec.outfits.push(outfit(name, &[name]));
        let mut work = operation(name, &[name], [FROM[index], LATEST, LATEST]);
        work.class = name.into();
        if let Some(before) = chain.last() {
            work.after.push(LinkSpec { min_lag_h: lag_h, ..link(&before.name) });
        }
        chain.push(work);
    }
    spec.crops.push(crop("wheat", chain));
    for (name, [start, end], drives) in DRIVERS {
        spec.people.push(PersonSpec { hours: vec![hours(start, end)], ..person(name, drives) });
    }
    for (name, area_ha, distance_km, block) in FIELDS {
        let block = block.map(String::from);
        spec.fields.push(FieldSpec { distance_km, block, ..field(name, area_ha, "wheat") });
    }
    spec
}

fn in_json() -> Value {
    let operations = OPERATIONS.iter().zip(FROM_DAYS).map(|((name, ha_h, hours, rank, lag_h), from)| {
        let lag_s = (lag_h * 3600.0).round() as i64;
        json!({"name": name, "ha_h": ha_h, "hours": hours, "rank": rank, "lag_s": lag_s, "from": from,
            "latest": LATEST_DAY})
    });
    let drivers = DRIVERS
        .iter()
        .map(|(name, duty_h, drives)| json!({"name": name, "duty_h": duty_h, "drives": drives}));
    let fields =
        FIELDS.iter().map(|(_, area_ha, km, block)| json!({"area_ha": area_ha, "km": km, "block": block}));
    json!({
        "days": DAYS,
        "road_km_h": ROAD_KM_H,
        "operations": operations.collect::<Vec<_>>(),
        "drivers": drivers.collect::<Vec<_>>(),
        "fields": fields.collect::<Vec<_>>(),
    })
}

/// Operations by their rank, then fields by number; nothing else.
struct ByRank;

impl Policy for ByRank {
    fn rank(&mut self, view: &JobView<'_>) -> Result<f64, PolicyError> {
        let job = &view.farm.jobs[view.job];
        let operation = &view.farm.rows[job.row].operation;
        let rank = OPERATIONS.iter().find(|known| known.0 == operation).map(|known| known.3);
        Ok(f64::from(rank.unwrap()) * 100.0 + job.field as f64)
    }
}

/// Days of every operation: each season has its own share of suitable days, so that some are easy and some
/// leave work undone.
fn days(season: u64) -> Vec<Vec<bool>> {
    let share = 0.12 + 0.7 * Stream::new(7, season, 0).uniform(0);
    let suits = |operation: usize, day| Stream::new(7, season, 1 + operation as u64).uniform(day) < share;
    (0..OPERATIONS.len())
        .map(|operation| (0..DAYS as u64).map(|day| suits(operation, day)).collect())
        .collect()
}

#[test]
fn every_job_is_done_at_the_same_second() {
    let plan = Plan::new(Farm::new(&farm()).unwrap());
    assert_eq!(plan.farm().span.days() as usize, DAYS);
    let seasons: Vec<_> = (0..SEASONS).map(days).collect();
    let told = python::ask("mirror.py", &json!({"farm": in_json(), "seasons": seasons}));
    let mut season = Season::new(&plan);
    let (mut done, mut undone, mut called_away, mut waited_for_people) = (0, 0, 0, 0);
    let mut differ = Vec::new();
    for (number, days) in seasons.iter().enumerate() {
        let mut log = sim_core::kernel::Log::default();
        season.work_traced(number as u64, &Sky::from_days(days), &mut ByRank, &mut log).unwrap();
        for (job, account) in season.accounts().enumerate() {
            let ours = account.done.then_some(account.finish).flatten();
            let theirs = told[number][job].as_i64();
            if ours != theirs {
                differ.push(format!("season {number}, {}: {ours:?}, SimPy {theirs:?}", plan.job_label(job)));
            }
            done += u32::from(account.done);
            undone += u32::from(!account.done);
            waited_for_people += u32::from(account.waits_s[Cause::People as usize] > 0);
        }
        let away = |why| why == sim_core::season::Why::CalledAway;
        called_away += log.rows.iter().filter(|(_, entry)| away(entry.why)).count();
    }
    assert!(
        differ.is_empty(),
        "{} jobs differ, the first:\n{}",
        differ.len(),
        differ[..differ.len().min(5)].join("\n")
    );
    println!(
        "{done} jobs done, {undone} not, {called_away} called away, {waited_for_people} waited for people"
    );
    // What the comparison is to be about did happen.
    assert_eq!(done + undone, 200 * 21);
    assert!(done > 3000 && undone > 100, "{done} done, {undone} not");
    assert!(
        called_away > 100 && waited_for_people > 1000,
        "{called_away} called away, {waited_for_people} waited"
    );
}

/// Worked by hand: Bob drills 10 km out; at 10:30 rolling begins at the yard and is worth more, so he comes back for it,
/// 10 km at 22 km/h.
#[test]
fn who_is_called_away_goes_from_where_they_are() {
    let mut spec = farm();
    for (name, work) in [("sown", 1), ("to roll", 2)] {
        let mut only = spec.crops[0].standing[work].clone();
        only.after.clear();
        spec.crops.push(crop(name, vec![only]));
    }
    spec.fields = vec![
        FieldSpec { distance_km: 10.0, ..field("Far", 50.0, "sown") },
        FieldSpec { distance_km: 0.0, ..field("Near", 2.1, "to roll") },
    ];
    spec.people.remove(0); // Ann would do the rolling
    spec.people[0].drives.push("ploughing".into());
    let plan = Plan::new(Farm::new(&spec).unwrap());
    let mut season = Season::new(&plan);
    let suits = vec![vec![true; DAYS]; plan.farm().weather.keys.len()];
    season.work(0, &Sky::from_days(&suits), &mut ByRank).unwrap();
    let rolling = season.accounts().nth(1).unwrap();
    let back_s = (10.0 / ROAD_KM_H * 3600.0_f64).round() as i64;
    let begins = 5 * 86_400 + 10 * 3600 + 1800;
    assert_eq!((rolling.travel_s, rolling.finish), (back_s, Some(begins + back_s + 3600)));
}
