//! Farms worked beside one another that judge a record alike have its weather made once; who judges it otherwise has his own.

mod common;

use common::*;
use jiff::civil::date;
use sim_core::farm::spec::*;
use sim_core::farm::{Farm, SharedWeather};
use sim_core::weather::{Limit, Measure, Order, Quantity, RainDay, Record, Rule};
use std::sync::Arc;

/// A farm on eight years with showers now and then, which drills when less than so much has fallen.
fn farm(serves_as: RecordUse, rain_max_mm: f64, work_rate_ha_h: f64) -> FarmSpec {
    let mut record = Record::new(&[Quantity::Rain]);
    let (mut day, mut number) = (date(2001, 1, 1), 1u32);
    while day.year() < 2009 {
        number = number.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        // Now and then nobody looked.
        let none = number % 97 == 0;
        record.push(day, &[if none { f64::NAN } else { f64::from(number >> 28) }]).unwrap();
        day = day.tomorrow().unwrap();
    }
    let rule = Rule {
        class: "work".into(),
        soil: ANY_SOIL.into(),
        driver: String::new(),
        limits: vec![Limit::at_most(Measure::Today(Quantity::Rain), rain_max_mm)],
        hours: None,
        shut: None,
    };
    let mut spec = bare(1.0);
    spec.suitable.clear();
    spec.drivers.clear();
    spec.record = Some(RecordSpec {
        origin: Origin(0),
        record: Arc::new(record),
        serves_as,
        rain_day: RainDay::OfTheDay,
        rules: vec![RuleSpec { origin: Origin(0), rule }],
    });
    spec.people.push(person("driver", &["drill"]));
    spec.machines.push(machine("drill", work_rate_ha_h));
    spec.outfits.push(outfit("drilling", &["drill"]));
    spec.crops.push(crop("barley", vec![operation("drilling", &["drilling"], ["03-01", "03-02", "03-10"])]));
    spec.fields.push(field("Home", 15.0, "barley"));
    spec
}

#[test]
fn a_table_is_fitted_once_for_all_farms_that_judge_alike() {
    let mut shared = SharedWeather::default();
    let mut made = |rain_max_mm, rate| {
        let spec = farm(RecordUse::Table, rain_max_mm, rate);
        let of = Farm::sharing(&spec, &mut shared).unwrap();
        // Shared or not, it is the weather that the farm has alone.
        let alone = Farm::new(&spec).unwrap();
        assert_eq!((&of.weather, &of.fitted), (&alone.weather, &alone.fitted));
        of
    };
    let (base, wider, drier, again) = (made(8.0, 1.0), made(8.0, 2.0), made(3.0, 1.0), made(8.0, 3.0));
    let fitted = |farm: &Farm| farm.fitted.clone().unwrap();
    assert!(Arc::ptr_eq(&fitted(&base), &fitted(&wider)) && Arc::ptr_eq(&fitted(&base), &fitted(&again)));
    assert_ne!(base.weather, drier.weather);
}

#[test]
fn what_else_the_weather_hangs_on_is_not_shared() {
    let base = farm(RecordUse::Years(Order::Replay), 8.0, 1.0);
    let soil = FarmSpec {
        fields: vec![FieldSpec { soil: "heavy".into(), ..base.fields[0].clone() }],
        ..base.clone()
    };
    let shorter = FarmSpec { last_day: date(2025, 6, 30), ..base.clone() };
    let table = farm(RecordUse::Table, 8.0, 1.0);
    let mut clock = base.clone();
    clock.classes[0].daylight = true;
    let mut more = base.clone();
    more.classes.push(ClassSpec { name: "other".into(), ..base.classes[0].clone() });
    let mut shared = SharedWeather::default();
    for spec in [&base, &soil, &shorter, &table, &clock, &more, &base] {
        let (of, alone) = (Farm::sharing(spec, &mut shared).unwrap(), Farm::new(spec).unwrap());
        assert_eq!((of.weather, of.fitted, of.soils), (alone.weather, alone.fitted, alone.soils));
    }
}
