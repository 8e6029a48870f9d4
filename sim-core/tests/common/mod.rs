//! Small farms, and records that serve them, for the tests of the season.
#![allow(dead_code, unreachable_pub)]

use jiff::civil::date;
use sim_core::farm::Missed;
use sim_core::farm::spec::*;
use sim_core::season::Outcome;
use sim_core::study::Sink;
use sim_core::weather::{
    EVERY_DAY, HoursRule, Limit, Loses, Measure, Quantity, RainDay, Record, Rule, Site, Stretch,
};
use std::sync::Arc;

/// Hours from `start` to `end` on every day of the year.
pub fn hours(start: f64, end: f64) -> HoursRule {
    HoursRule {
        from: "01-01".parse().unwrap(),
        to: "12-31".parse().unwrap(),
        weekdays: EVERY_DAY,
        open: vec![Stretch { start: (start * 3600.0) as i64, end: (end * 3600.0) as i64 }],
    }
}

/// A farm without crops or fields: one class "work" on any soil, every day suitable with `p`.
pub fn bare(p: f64) -> FarmSpec {
    FarmSpec {
        origin: Origin(0),
        name: "test farm".into(),
        first_day: date(2025, 1, 1),
        last_day: date(2025, 12, 31),
        site: Site::new(53.4, -6.2, 0.0, true).unwrap(),
        holidays: Vec::new(),
        currency: None,
        suitable: vec![SuitableRow {
            origin: Origin(0),
            class: "work".into(),
            soil: ANY_SOIL.into(),
            from: "01-01".parse().unwrap(),
            to: "12-31".parse().unwrap(),
            p_suitable: p,
            p_shut: None,
            spread: None,
            hours_mean: None,
            hours_sd: None,
        }],
        record: None,
        left_open: LeftOpen::default(),
        drivers: vec![DriverRow {
            origin: Origin(0),
            driver: "soil".into(),
            from: "01-01".parse().unwrap(),
            to: "12-31".parse().unwrap(),
            persistence: 0.0,
            spread: 0.0,
            spread_days: None,
            agreement: 1.0,
        }],
        stages: Vec::new(),
        classes: vec![ClassSpec {
            origin: Origin(0),
            name: "work".into(),
            driver: "soil".into(),
            hours: Vec::new(),
            daylight: false,
            short_day_loses: Loses::Start,
            machine_weight: None,
        }],
        people: Vec::new(),
        machines: Vec::new(),
        outfits: Vec::new(),
        contractors: Vec::new(),
        crops: Vec::new(),
        fields: Vec::new(),
    }
}

pub fn person(name: &str, drives: &[&str]) -> PersonSpec {
    PersonSpec {
        origin: Origin(0),
        name: name.into(),
        hours: vec![hours(8.0, 18.0)],
        servicing_h: 0.0,
        overtime_h: 0.0,
        drives: drives.iter().map(|name| (*name).to_string()).collect(),
        holidays: Vec::new(),
        cost_year: None,
        cost_h: None,
    }
}

/// A self-propelled machine with a work rate.
pub fn machine(name: &str, work_rate_ha_h: f64) -> MachineSpec {
    MachineSpec {
        name: name.into(),
        count: 1,
        needs_driver: true,
        work_rate_ha_h: Some(work_rate_ha_h),
        ..MachineSpec::default()
    }
}

pub fn outfit(name: &str, machines: &[&str]) -> OutfitSpec {
    OutfitSpec {
        origin: Origin(0),
        name: name.into(),
        units: vec![machines.iter().map(|name| (*name).to_string()).collect()],
    }
}

pub fn operation(name: &str, outfits: &[&str], window: [&str; 3]) -> OperationSpec {
    let day = |text: &str| When::Date(text.parse().unwrap());
    OperationSpec {
        origin: Origin(0),
        name: name.into(),
        class: "work".into(),
        outfits: outfits.iter().map(|name| (*name).to_string()).collect(),
        from: day(window[0]),
        due: day(window[1]),
        latest: Some(day(window[2])),
        moves_with: None,
        after: Vec::new(),
        straw: None,
        tillage: Vec::new(),
        moves: None,
        chopping_factor: 1.0,
        fallback_crop: None,
    }
}

pub fn link(operation: &str) -> LinkSpec {
    LinkSpec {
        origin: Origin(0),
        operation: operation.into(),
        required: true,
        min_lag_h: 0.0,
        max_lag_days: None,
        if_missed: Missed::Continue,
        follow_ha: None,
    }
}

pub fn crop(name: &str, standing: Vec<OperationSpec>) -> CropSpec {
    CropSpec {
        origin: Origin(0),
        name: name.into(),
        yield_t_ha: 8.0,
        straw_t_ha: 4.0,
        straw: Straw::Bale,
        tillage: "plough".into(),
        standing,
        following: Vec::new(),
    }
}

pub fn field(name: &str, area_ha: f64, standing: &str) -> FieldSpec {
    FieldSpec {
        origin: Origin(0),
        name: name.into(),
        area_ha,
        soil: "medium".into(),
        distance_km: 0.0,
        block: None,
        standing: Some(standing.into()),
        following: None,
        straw: None,
        tillage: None,
    }
}

/// A rule that judges a class on a soil by one limit.
pub fn rule(class: &str, soil: &str, limit: Limit) -> RuleSpec {
    let rule = Rule {
        class: class.into(),
        soil: soil.into(),
        driver: String::new(),
        limits: vec![limit],
        hours: None,
        shut: None,
    };
    RuleSpec { origin: Origin(0), rule }
}

/// At most so much rain on the day, in mm.
pub fn rain_at_most(most_mm: f64) -> Limit {
    Limit::at_most(Measure::Today(Quantity::Rain), most_mm)
}

/// A record that serves a farm, judged by its own rules.
pub fn on_record(record: Record, serves_as: RecordUse, rules: Vec<RuleSpec>) -> RecordSpec {
    RecordSpec { origin: Origin(0), record: Arc::new(record), serves_as, rain_day: RainDay::OfTheDay, rules }
}

/// Keeps every outcome of a study of one farm.
#[derive(Default)]
pub struct Keep(pub Vec<Outcome>);

impl Sink for Keep {
    fn season(&mut self, _variant: usize, outcome: &Outcome) {
        self.0.push(outcome.clone());
    }
}
