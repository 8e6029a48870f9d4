//! `dryspell relief` from outside: what can be asked, what is said, and that the tables bear it out.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

#[path = "support/command.rs"]
mod command;

use command::{files, number, rows, scenario};
use sim_core::farm::Farm;
use sim_core::farm::steps::{self, Step};
use sim_script::script::Script;
use std::fs;
use std::path::Path;

fn told(args: &[&str]) -> String {
    command::told("relief", args)
}

#[test]
fn what_cannot_be_asked_is_a_wrong_request() {
    let wrong: [&[&str]; 4] = [
        &["--for", "drilin, spring barley"],
        &["--for", "harvest"],
        &["--seasons", "1"],
        &["--set", "drill_width=6"],
    ];
    let mut text = String::new();
    for args in wrong {
        let told = told(args);
        assert!(told.starts_with("status 2\n"), "{args:?}: {told}");
        text.push_str(&format!("$ dryspell relief {}\n{told}\n", args.join(" ")));
    }
    insta::assert_snapshot!(text);
}

#[test]
fn relief_reads_as_a_farmer_asks() {
    for (name, args) in [
        ("whole_farm", &["--seasons", "120"] as &[&str]),
        ("one_operation", &["--seasons", "120", "--for", "Drilling, spring barley"]),
        ("no_costs", &[&scenario("one-operation.rhai"), "--seasons", "400"]),
        ("rarely_late", &[&scenario("one-operation.rhai"), "--seasons", "400", "--set", "p_suitable=0.95"]),
        ("recorded", &[&scenario("demo/independent-days.rhai"), "--seasons", "20"]),
        ("never_late", &[&scenario("one-operation.rhai"), "--seasons", "100", "--set", "p_suitable=1"]),
    ] {
        let text = told(args);
        for line in text.lines() {
            assert!(line.chars().count() <= 100, "{line}");
        }
        assert!(!text.contains("safe"), "{text}");
        insta::assert_snapshot!(name, text);
    }
}

#[test]
fn the_tables_bear_it_out_and_are_the_same_on_any_threads() {
    let folders = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
    for (folder, threads) in folders.iter().zip(["1", "3"]) {
        let out = folder.path().display().to_string();
        let told = told(&["--seasons", "70", "--threads", threads, "--out", &out]);
        assert!(told.starts_with("status 0\n"), "{told}");
    }
    let folder = folders[0].path();
    assert_eq!(files(folder), files(folders[1].path()));
    let table = |name: &str| rows(&fs::read(folder.join(name)).unwrap());
    let (relief, farm, risk) = (table("relief.csv"), table("farm.csv"), table("risk.csv"));
    assert!((15..=22).contains(&relief.len()), "{} rows", relief.len());
    assert_eq!(relief[0]["kind"], "bound");
    let falls: Vec<f64> = relief[1..].iter().map(|row| number(row, "late_fewer")).collect();
    assert!(falls.is_sorted_by(|one, other| one >= other), "{falls:?}");
    for row in &relief {
        let whole = farm.iter().find(|of| of["variant"] == row["step"]).unwrap();
        let late = |variant: &str| -> f64 {
            risk.iter().filter(|row| row["variant"] == variant).map(|row| number(row, "p_late")).sum()
        };
        // Late operations a year are the chances of being late added up.
        assert!((number(row, "late_base") - late("base")).abs() < 1e-4);
        assert!((late("base") - late(&row["step"]) - number(row, "late_fewer")).abs() < 2e-4, "{row:?}");
        assert!((number(whole, "late_operations_difference") + number(row, "late_fewer")).abs() < 2e-6);
        if row["cost_more"].is_empty() {
            assert!(row["late_fewer_for_1000"].is_empty());
            continue;
        }
        let cost = number(row, "cost_more");
        assert!((number(whole, "cost_difference") - cost).abs() < 2e-6);
        let base = number(&farm[0], "cost_mean");
        assert!((number(whole, "cost_mean") - base - cost).abs() < 1e-4);
        if !row["late_fewer_for_1000"].is_empty() {
            let ratio = number(row, "late_fewer") / cost * 1000.0;
            assert!(
                (number(row, "late_fewer_for_1000") - ratio).abs() < 1e-4 * ratio.abs().max(1.0),
                "{row:?}"
            );
        }
    }
    // A metre of drill costs 2 400 a year; the hours of tractor and driver that it spares come off.
    let drill = relief.iter().find(|row| row["step"] == "drill 1 m wider (5 m)").unwrap();
    assert!((0.0..2400.0).contains(&number(drill, "cost_more")), "{drill:?}");
}

/// Every step that the farms that come with the program can take makes a farm that can be.
#[test]
fn every_step_of_the_farms_that_come_with_the_program_makes_a_farm() {
    let mut kinds: Vec<steps::StepKind> = Vec::new();
    for name in ["demo/farm.rhai", "new-farm/farm.rhai", "one-operation.rhai"] {
        let spec = Script::from_file(Path::new(&scenario(name))).unwrap().evaluate(&[]).unwrap().farm;
        let mut all: Vec<Option<Step>> = vec![steps::more_overtime(&spec), steps::week_ends(&spec)];
        for index in 0..spec.machines.len() {
            all.extend([steps::one_more_machine(&spec, index), steps::one_metre_wider(&spec, index)]);
        }
        let (from, to) = ("08-16".parse().unwrap(), "10-15".parse().unwrap());
        for index in 0..spec.people.len() {
            all.extend([steps::one_more_person(&spec, index), steps::casual(&spec, index, from, to)]);
        }
        for crop in &spec.crops {
            for operation in crop.standing.iter().chain(&crop.following) {
                all.push(steps::contractor(&spec, &crop.name, &operation.name));
            }
            all.extend(
                steps::other_tillage(crop).into_iter().map(|way| steps::tillage(&spec, &crop.name, way)),
            );
            all.extend(spec.crops.iter().map(|other| steps::crop_mix(&spec, &crop.name, &other.name)));
        }
        for step in all.into_iter().flatten() {
            Farm::new(&step.farm).unwrap_or_else(|error| panic!("{name}, {}: {error}", step.name));
            kinds.push(step.kind);
        }
    }
    kinds.sort_unstable();
    kinds.dedup();
    assert_eq!(kinds.len(), 9, "{kinds:?}");
}
