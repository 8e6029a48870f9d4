//! Short days of recorded years: what a manager expects of them, and that they are as the record has them.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

mod common;

use common::*;
use jiff::civil::date;
use sim_core::farm::Farm;
use sim_core::farm::spec::*;
use sim_core::season::{JobView, Outcome, Plan, Policy, PolicyError, Season};
use sim_core::weather::{Hours, Limit, Measure, Order, Quantity, Record, Sky, Weather, WeatherSpec};

/// Spraying from 5:00 to 21:00 by somebody there from 8:00 to 18:00, in hours of at most 5 m/s, at least two of them;
/// the days are those of three years of wind, and calm days and days of a few calm hours follow one another.
fn farm(serves_as: RecordUse) -> Farm {
    let mut record = Record::new(&[Quantity::Wind]);
    let first = date(2001, 1, 1);
    for day in 0..3 * 365 {
        let on = first.saturating_add(jiff::Span::new().days(day));
        record.push(on, &[2.0 + (day * 7 % 11) as f64 * 0.5]).unwrap();
    }
    let mut calm = rule("work", ANY_SOIL, Limit::at_most(Measure::Hour(Quantity::Wind), 5.0));
    calm.rule.hours = Some(Hours { from_h: 5, to_h: 21, least_h: 2 });
    let mut spec = bare(1.0);
    spec.suitable.clear();
    spec.classes[0].hours = vec![hours(5.0, 21.0)];
    spec.record = Some(on_record(record, serves_as, vec![calm]));
    spec.people.push(person("driver", &["sprayer"]));
    spec.machines.push(machine("sprayer", 1.0));
    spec.outfits.push(outfit("spraying", &["sprayer"]));
    spec.crops.push(crop("barley", vec![operation("spraying", &["spraying"], ["03-01", "04-10", "05-31"])]));
    spec.fields.push(field("Home", 120.0, "barley"));
    Farm::new(&spec).unwrap()
}

fn whole_days(weather: &WeatherSpec) -> WeatherSpec {
    let mut whole = weather.clone();
    whole.keys.iter_mut().for_each(|key| key.hours = None);
    whole
}

fn drawn(weather: &Weather, season: u64) -> Sky {
    let mut sky = Sky::default();
    weather.draw(9, season, &mut sky);
    sky
}

/// Works as they come, and keeps day, slack in h and days in hand of every look at a job.
#[derive(Default)]
struct Looks(Vec<(u32, f64, f64)>);

impl Policy for Looks {
    fn hold(&mut self, job: &JobView<'_>) -> Result<bool, PolicyError> {
        self.0.push((job.day, job.slack_h, job.days_in_hand));
        Ok(false)
    }
}

fn worked(farm: &Farm, sky: &Sky) -> (Vec<(u32, f64, f64)>, Outcome) {
    let plan = Plan::new(farm.clone());
    let mut looks = Looks::default();
    let outcome = Season::new(&plan).work(0, sky, &mut looks).unwrap().clone();
    (looks.0, outcome)
}

/// A table from a record and its own years let a manager hope for the same hours of a suitable day, and so, with the same
/// shares of suitable days, he sees the same slack at every look. (The years' own shares are those of half months, the
/// table's of five days; over a month they come to the same days.) Whole days would let him hope for more.
#[test]
fn recorded_years_let_expect_what_the_table_of_the_record_does() {
    let (table, years) = (farm(RecordUse::Table), farm(RecordUse::Years(Order::Replay)));
    let hours = &years.weather.keys[0].hours;
    assert!(hours.as_ref().unwrap().mean_h.iter().all(|mean_h| (2.0..16.0).contains(mean_h)));
    assert!(*hours == table.weather.keys[0].hours, "mean and spread of every day");
    let march = |farm: &Farm| farm.weather.keys[0].p[59..90].iter().sum::<f64>();
    assert!((march(&years) - march(&table)).abs() < 0.05, "{} and {}", march(&years), march(&table));
    let plans = [&table, &years].map(|farm| Plan::new(farm.clone()));
    for day in 0..365 {
        assert_eq!(plans[0].suitable_seconds(0, day).to_bits(), plans[1].suitable_seconds(0, day).to_bits());
        assert!(plans[1].suitable_seconds(0, day) < 0.9 * 36_000.0);
    }

    let sky = drawn(&Weather::new(&years.weather).unwrap(), 1);
    let (looks, _) = worked(&years, &sky);
    let mut alike = years.clone();
    alike.weather.keys[0].p.clone_from(&table.weather.keys[0].p);
    let with_shares_of_table = worked(&alike, &sky);
    assert!(looks.len() > 10 && with_shares_of_table == worked(&table, &sky), "{looks:?}");

    let mut hopeful = years.clone();
    hopeful.weather = whole_days(&years.weather);
    let (hopes, _) = worked(&hopeful, &sky);
    assert!(hopes[0].1 > looks[0].1 + 10.0, "{:?} for {:?}", hopes[0], looks[0]);
}

/// The hours are only hoped for: replayed and drawn years have the days and minutes of the record, under any season's
/// number, and those they would have if nobody hoped for anything.
#[test]
fn hours_to_be_expected_change_no_recorded_sky() {
    for order in [Order::Replay, Order::Resample] {
        let spec = farm(RecordUse::Years(order)).weather;
        let (with, without) = (Weather::new(&spec).unwrap(), Weather::new(&whole_days(&spec)).unwrap());
        let recorded = spec.recorded.as_ref().unwrap();
        for season in 0..30 {
            let sky = drawn(&with, season);
            assert_eq!(sky, drawn(&without, season));
            let year = &recorded.years()[recorded.index_of(9, season)].sky;
            for day in 0..365 {
                let of = |sky: &Sky| (sky.suitable(0, day), sky.minutes(0, day));
                assert_eq!(of(&sky), of(year));
            }
        }
        let short = (0..365).filter(|day| recorded.years()[0].sky.minutes(0, *day).is_some_and(|m| m < 600));
        assert!(short.count() > 50);
    }
}
