//! Judging a record by rules for a workable day: 50 years by six classes, for itself and with what the rules need worked
//! out first. The times are kept by criterion from run to run.
#![allow(missing_docs, reason = "criterion's macros make undocumented functions")]

use criterion::{Criterion, criterion_group, criterion_main};
use jiff::civil::date;
use sim_core::kernel::draw::{Stream, name_hash};
use sim_core::weather::{Quantity, RainDay, Record, Rule, Station, default_rules, judge, prepare};

/// A made-up record of 50 years: what is judged does not change how long it takes.
fn record() -> Record {
    let quantities = [
        Quantity::TemperatureMin,
        Quantity::TemperatureMax,
        Quantity::Rain,
        Quantity::HumidityMean,
        Quantity::Wind,
        Quantity::Radiation,
        Quantity::EtRef,
    ];
    let draws = Stream::new(1, 0, name_hash("a made-up record"));
    let mut record = Record::new(&quantities);
    let mut day = date(1970, 1, 1);
    for index in 0.. {
        if day.year() == 2020 {
            break;
        }
        let draw = |of: u64| draws.uniform(8 * index + of);
        let summer = 1.0 - (f64::from(day.day_of_year()) - 200.0).abs() / 200.0;
        let night_c = 12.0 * summer - 4.0 + 6.0 * draw(0);
        let rain_mm = (12.0 * draw(1) - 7.0).max(0.0);
        let values = [
            night_c,
            night_c + 2.0 + 8.0 * draw(2),
            rain_mm,
            60.0 + 39.0 * draw(3),
            9.0 * draw(4),
            2.0 + 20.0 * summer * draw(5),
            0.2 + 4.0 * summer * draw(6),
        ];
        record.push(day, &values).unwrap_or_else(|error| panic!("{error}"));
        day = day.tomorrow().unwrap_or(day);
    }
    record
}

fn judging(criterion: &mut Criterion) {
    let noted = record();
    let station = Station::new(52.0, 50.0, 10.0).unwrap_or_else(|error| panic!("{error}"));
    let mut prepared = noted.clone();
    prepare(&mut prepared, Some(&station));
    let classes = ["ploughing", "drilling", "carting", "combining", "spraying", "spreading"];
    let of_six = |rule: &Rule| rule.soil == "heavy" && classes.contains(&rule.class.as_str());
    let rules: Vec<Rule> = default_rules().into_iter().filter(of_six).collect();
    assert_eq!(rules.len(), 6);
    let mut group = criterion.benchmark_group("50 years, 6 classes");
    group.sample_size(20);
    group.bench_function("judge", |bencher| bencher.iter(|| judge(&prepared, &rules, RainDay::OfTheDay)));
    group.bench_function("prepare and judge", |bencher| {
        bencher.iter(|| {
            let mut record = noted.clone();
            prepare(&mut record, Some(&station));
            judge(&record, &rules, RainDay::OfTheDay)
        });
    });
    group.finish();
}

criterion_group!(weather, judging);
criterion_main!(weather);
