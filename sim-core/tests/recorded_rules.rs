//! Which rule judges a recorded day, and which classes can lose hours of it.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

mod common;

use common::*;
use jiff::civil::date;
use sim_core::farm::spec::*;
use sim_core::farm::{Farm, FarmErrorKind};
use sim_core::weather::{
    Hours, Limit, MachineWeight, Measure, Order, Quantity, Record, Sky, Weather, default_rule,
};

/// A farm on three years whose days have winds of 2 and 5.5 m/s in turn, with its own rules.
fn farm(serves_as: RecordUse, rules: Vec<RuleSpec>) -> FarmSpec {
    let mut record = Record::new(&[Quantity::Rain, Quantity::Wind]);
    let mut day = date(2001, 1, 1);
    while day.year() < 2004 {
        record.push(day, &[0.0, if day.day_of_year() % 2 == 0 { 5.5 } else { 2.0 }]).unwrap();
        day = day.tomorrow().unwrap();
    }
    let mut spec = bare(1.0);
    spec.suitable.clear();
    spec.record = Some(on_record(record, serves_as, rules));
    spec.people.push(person("driver", &["drill"]));
    spec.machines.push(machine("drill", 1.0));
    spec.outfits.push(outfit("drilling", &["drill"]));
    spec.crops.push(crop("barley", vec![operation("drilling", &["drilling"], ["03-01", "03-02", "03-10"])]));
    spec.fields.push(field("Home", 15.0, "barley"));
    spec
}

#[test]
fn a_soil_has_the_farms_rule_or_its_rule_for_any_soil_or_one_to_start_from() {
    let dry = rain_at_most;
    let mut spec = farm(
        RecordUse::Years(Order::Replay),
        vec![
            rule("work", ANY_SOIL, dry(1.0)),
            rule("drilling", "heavy", dry(2.0)),
            rule("work", "heavy", dry(3.0)),
        ],
    );
    let class = |name: &str, machine_weight| ClassSpec {
        name: name.into(),
        driver: "sward".into(),
        machine_weight,
        ..spec.classes[0].clone()
    };
    for machine_weight in [None, Some(MachineWeight::Light), Some(MachineWeight::Heavy)] {
        let most = |name: &str, soil: &str| {
            let of = spec.rule_for(&class(name, machine_weight), soil).unwrap();
            assert_eq!((of.rule.driver.as_str(), of.machine_weight), ("sward", None));
            (of.rule.limits.len(), of.rule.limits[0].most)
        };
        assert_eq!([most("work", "heavy"), most("work", "medium")], [(1, 3.0), (1, 1.0)]);
        assert_eq!(most("drilling", "heavy"), (1, 2.0));
        let weight = machine_weight.unwrap_or_default();
        let medium = spec.rule_for(&class("drilling", machine_weight), "medium").unwrap();
        let start = default_rule("drilling", "medium", weight).unwrap();
        assert_eq!((medium.rule.limits, medium.machine_weight), (start.limits, Some(weight)));
        assert_eq!(medium.rule.driver, "sward");
        assert_eq!(spec.rule_for(&class("drilling", machine_weight), "loam"), None);
    }
    // A farm without a record has no rules of its own.
    let drilling = class("drilling", None);
    spec.record = None;
    assert_eq!(spec.rule_for(&drilling, "heavy").unwrap().machine_weight, Some(MachineWeight::Middling));
}

/// Also the middling weight that would be taken anyway: said where nothing asks for it, it is a mistake.
#[test]
fn a_weight_that_nothing_asks_for_is_refused() {
    let dry = || rule("work", ANY_SOIL, rain_at_most(1.0));
    for weight in MachineWeight::ALL {
        let mut spec = farm(RecordUse::Years(Order::Replay), vec![dry()]);
        assert!(Farm::new(&spec).is_ok());
        spec.classes[0].machine_weight = Some(weight);
        let why = |spec: &FarmSpec| match Farm::new(spec).unwrap_err().kind {
            FarmErrorKind::Conflict { why, .. } => why,
            other => panic!("{other}"),
        };
        assert!(why(&spec).contains("changes the rules to start from"));
        (spec.record, spec.suitable) = (None, bare(1.0).suitable);
        assert!(why(&spec).contains("the days of a record, and there is none"));
    }
}

/// A wind of 5.5 m/s leaves the early and late hours of a day. Hours of the class's own are a clock that loses some, and
/// so is daylight; of a clock of day and night nothing can be lost. Replayed, drawn or fitted it is the same.
#[test]
fn daylight_is_a_clock_that_a_short_day_can_shorten() {
    for serves_as in [RecordUse::Years(Order::Replay), RecordUse::Years(Order::Resample), RecordUse::Table] {
        for (own, daylight) in [(false, false), (false, true), (true, false), (true, true)] {
            let mut calm = rule("work", ANY_SOIL, Limit::at_most(Measure::Hour(Quantity::Wind), 5.0));
            calm.rule.hours = Some(Hours { from_h: 5, to_h: 21, least_h: 2 });
            let mut spec = farm(serves_as, vec![calm]);
            spec.classes[0].daylight = daylight;
            if own {
                spec.classes[0].hours = vec![hours(6.0, 20.0)];
            }
            let farm = Farm::new(&spec).unwrap();
            let weather = Weather::new(&farm.weather).unwrap();
            let mut sky = Sky::default();
            weather.draw(3, 0, &mut sky);
            let minutes: Vec<Option<u16>> = (0..365).map(|day| sky.minutes(0, day)).collect();
            if own || daylight {
                let known = minutes.iter().flatten();
                let (least, most) = (known.clone().min().unwrap(), known.max().unwrap());
                assert!(least < most, "{serves_as:?}: {least} to {most} minutes");
            } else {
                assert!(minutes.iter().all(Option::is_none), "{serves_as:?}");
            }
        }
    }
}
