//! What the manager takes up first and whom he calls away, on farms small enough to be worked by hand: one machine
//! more to send must not leave the pressing work undone.

mod common;

use common::*;
use sim_core::farm::Farm;
use sim_core::farm::spec::*;
use sim_core::kernel::Log;
use sim_core::season::{DAY, Entry, Manager, Plan, Season, Why};
use sim_core::weather::Sky;

/// When each job is done when every day suits, in field order, and what happens.
fn work(spec: &FarmSpec) -> (Vec<Option<i64>>, Vec<(i64, Entry)>) {
    let plan = Plan::new(Farm::new(spec).unwrap());
    let weather = &plan.farm().weather;
    let sky = Sky::from_days(&vec![vec![true; weather.span_days]; weather.keys.len()]);
    let mut season = Season::new(&plan);
    let mut log = Log::default();
    season.work_traced(0, &sky, &mut Manager, &mut log).unwrap();
    (season.accounts().map(|account| account.finish).collect(), log.rows)
}

fn at(day: i64, hour: f64) -> Option<i64> {
    Some(day * DAY + (hour * 3600.0) as i64)
}

/// Ann ploughs and Ben drills, each from 8 to 18 h and 1 ha/h; wheat is ploughed, then drilled.
fn plough_and_drill() -> FarmSpec {
    let mut spec = bare(1.0);
    for (person_of, machine_of, outfit_of) in [("Ann", "plough", "ploughing"), ("Ben", "drill", "drilling")] {
        spec.people.push(person(person_of, &[machine_of]));
        spec.machines.push(machine(machine_of, 1.0));
        spec.outfits.push(outfit(outfit_of, &[machine_of]));
    }
    let plough = operation("ploughing", &["ploughing"], ["01-01", "01-04", "01-31"]);
    let mut drill = operation("drilling", &["drilling"], ["01-01", "01-05", "01-31"]);
    drill.after.push(link("ploughing"));
    spec.crops.push(crop("wheat", vec![plough, drill]));
    spec
}

#[test]
fn one_more_machine_does_not_keep_the_driver_from_more_pressing_work() {
    let mut spec = plough_and_drill();
    spec.fields.push(field("Home", 5.0, "wheat"));
    // Ploughed from 8 to 13, drilled from 13 to 18: Ben has nothing else to do.
    let (finish, _) = work(&spec);
    assert_eq!(finish, [at(0, 13.0), at(0, 18.0)]);
    // With a cultivator he has; it can wait until March, and at 13 he is called to the drill, no hours opening then.
    spec.people[1].drives.push("cultivator".into());
    spec.machines.push(machine("cultivator", 1.0));
    spec.outfits.push(outfit("cultivating", &["cultivator"]));
    spec.crops
        .push(crop("fallow", vec![operation("cultivating", &["cultivating"], ["01-01", "03-01", "03-31"])]));
    spec.fields.push(field("Fallow", 12.0, "fallow"));
    let (finish, log) = work(&spec);
    assert_eq!(finish, [at(0, 13.0), at(0, 18.0), at(1, 15.0)]);
    let called = log.iter().filter(|(_, entry)| entry.why == Why::CalledAway);
    assert_eq!(called.map(|(now, entry)| (*now, entry.job)).collect::<Vec<_>>(), [(at(0, 13.0).unwrap(), 2)]);
}

#[test]
fn nobody_leaves_a_field_for_another_with_the_same_work() {
    let mut spec = plough_and_drill();
    spec.crops.push(crop("beans", vec![operation("drilling", &["drilling"], ["01-01", "02-01", "02-28"])]));
    spec.fields.push(field("Home", 2.0, "wheat"));
    spec.fields.push(field("Beans", 5.0, "beans"));
    // Wheat is ready for the drill at 10, and due sooner; the beans, begun at 8, are done first.
    let (finish, log) = work(&spec);
    assert_eq!(finish, [at(0, 10.0), at(0, 15.0), at(0, 13.0)]);
    assert!(log.iter().all(|(_, entry)| entry.why != Why::CalledAway));
}

/// One driver from 8 to 18 h, who drills wheat and rolls grass, each 1 ha/h.
fn drill_and_rolls(drilled: (f64, &str), rolled: (f64, &str)) -> FarmSpec {
    let mut spec = bare(1.0);
    spec.people.push(person("driver", &["drill", "rolls"]));
    for (name, machine_of, of, (area_ha, due)) in
        [("drilling", "drill", "wheat", drilled), ("rolling", "rolls", "grass", rolled)]
    {
        spec.machines.push(machine(machine_of, 1.0));
        spec.outfits.push(outfit(name, &[machine_of]));
        spec.crops.push(crop(of, vec![operation(name, &[name], ["01-01", due, "01-31"])]));
        spec.fields.push(field(of, area_ha, of));
    }
    spec
}

#[test]
fn work_that_is_due_soon_is_not_left_when_it_is_nearly_done() {
    // Hours to the due day's end, less half of what is needed: drilling 50 - 6, rolling 70 - 15. On the second morning
    // 40 - 1 and 60 - 15, though drilling has 38 h in hand then and rolling 30.
    let (finish, _) = work(&drill_and_rolls((12.0, "01-05"), (30.0, "01-07")));
    // Of 42 h in all, two are left for the fifth day.
    assert_eq!(finish, [at(1, 10.0), at(4, 10.0)]);
}

#[test]
fn of_two_operations_due_on_one_day_the_longer_goes_first() {
    // 50 - 5 and 50 - 10 in the morning, 40 - 5 and 40 - 5 on the next: then the one begun.
    let (finish, _) = work(&drill_and_rolls((10.0, "01-05"), (20.0, "01-05")));
    assert_eq!(finish, [at(2, 18.0), at(1, 18.0)]);
}
