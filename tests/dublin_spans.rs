//! The weather that is fitted to the Dublin Airport record 1980-2024, as a season draws it, against the record: how many
//! days suit in spring, harvest and autumn, how much the years differ, whether a good spring foretells a good autumn,
//! and in how many years no drilling day came any more. Beside it by how much a plain chain misses.
//!
//! The rule is the plain one of which chains are known from outside this program (`weather_fit_record.rs`): moderately
//! drained land, a deficit of 5 mm at least and less than 2 mm of rain; for the last drilling day the default rule for
//! drilling on heavy land.

use jiff::civil::date;
use sim_core::weather::fit::{Block, Counts, RecordFit, Series, TwoState, fit_record};
use sim_core::weather::{
    Chain, DriverSpec, Limit, Measure, MonthDay, Quantity, RainDay, Record, Rule, Sky, Span, Station,
    VerdictYears, WeatherSpec, default_rules, judge, prepare,
};
use sim_script::tables::record::{Reading, read_record};
use std::path::Path;

/// Skies drawn: the sampling error of a mean and a variance is then far below what is asked.
const SEASONS: u64 = 20_000;

fn record() -> Record {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("records/dublin-airport-daily.csv");
    let bytes = std::fs::read(path).unwrap();
    let all = read_record("dublin", &bytes, &Reading::default()).unwrap().record;
    // The years of the check values.
    let quantities: Vec<Quantity> =
        Quantity::NOTED.into_iter().filter(|quantity| all.of(*quantity).is_some()).collect();
    let mut record = Record::new(&quantities);
    for day in 0..all.days() {
        let date = all.date(day);
        if (1980..=2024).contains(&date.year()) {
            let values: Vec<f64> =
                quantities.iter().map(|quantity| all.of(*quantity).unwrap()[day]).collect();
            record.push(date, &values).unwrap();
        }
    }
    assert_eq!(record.days(), 45 * 365 + 12);
    prepare(&mut record, Some(&Station::new(53.43, 71.0, 10.0).unwrap()));
    record
}

fn plain_rule() -> Rule {
    Rule {
        class: "plain".into(),
        soil: "moderate".into(),
        driver: "soil".into(),
        limits: vec![
            Limit::at_least(Measure::Today(Quantity::DeficitModerate), 5.0),
            Limit::at_most(Measure::Today(Quantity::Rain), 1.999),
        ],
        hours: None,
        shut: None,
    }
}

fn md(text: &str) -> MonthDay {
    text.parse().unwrap()
}

fn span() -> Span {
    Span::new(date(2025, 1, 1), date(2025, 12, 31)).unwrap()
}

/// The fitted weather of one rule; without spread where `chain` gives its persistence by day.
fn weather(fit: &RecordFit, driver: &str, chain: Option<&dyn Fn(MonthDay) -> f64>) -> Chain {
    let span = span();
    let mut key = fit.key_spec(0, driver, 0, span).unwrap();
    let mut drivers = fit.driver_spec(driver, span).unwrap();
    if let Some(rho) = chain {
        let days = span.days();
        key.phi = vec![0.0; days as usize];
        key.shut = None;
        let rho = (0..days).map(|day| rho(MonthDay::of(span.date(day)))).collect();
        drivers = DriverSpec { rho, ..drivers };
    }
    let (drivers, keys) = (vec![drivers], vec![key]);
    Chain::new(&WeatherSpec { span_days: span.days() as usize, drivers, keys, recorded: None }).unwrap()
}

/// Skies of it, season by season.
fn skies(chain: &Chain, mut each: impl FnMut(&Sky)) {
    let mut sky = Sky::default();
    for season in 0..SEASONS {
        chain.draw(4, season, &mut sky);
        each(&sky);
    }
}

fn day(text: &str) -> usize {
    span().day_of(md(text).in_year(2025).unwrap()).unwrap() as usize
}

fn mean_and_variance(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    (mean, values.iter().map(|value| (value - mean) * (value - mean)).sum::<f64>() / (n - 1.0))
}

fn correlation(one: &[f64], other: &[f64]) -> f64 {
    let ((a, va), (b, vb)) = (mean_and_variance(one), mean_and_variance(other));
    let n = one.len() as f64 - 1.0;
    one.iter().zip(other).map(|(x, y)| (x - a) * (y - b)).sum::<f64>() / n / (va * vb).sqrt()
}

/// Spring, harvest and autumn as the check values of this record have them.
const SEASONS_OF_YEAR: [(&str, &str, &str); 3] =
    [("spring", "03-01", "04-30"), ("harvest", "08-01", "09-30"), ("autumn", "09-01", "11-30")];

/// Lengths of the spans counted, in days.
const LENGTHS: [usize; 3] = [20, 30, 60];

/// Days between the starts of two spans of a season.
const APART: usize = 5;

/// Whether the variance of a count is the record's. Of one span 45 years tell it to a fifth (the root of 2/44): as much as
/// is asked. So it is asked of all spans of a length that lie in a season, together; single ones are printed.
#[test]
fn counts_have_the_records_mean_and_variance() {
    let record = record();
    let judged = judge(&record, &[plain_rule()], RainDay::OfTheDay).unwrap();
    let fit = fit_record(record.first(), &[plain_rule()], &judged).unwrap();
    let p = fit.keys[0].shares.on(record.first(), record.days());
    let series = Series::new(&judged.days[0], &p).unwrap();
    let rho = |of: MonthDay| {
        let season = fit.drivers.iter().find(|part| of.in_period(part.from, part.to)).unwrap();
        let block = Block::of_period(record.first(), record.days(), season.from, season.to);
        TwoState::of(&block, &judged.days[0]).rho().clamp(0.0, 1.0)
    };
    let drawn = [weather(&fit, "soil", None), weather(&fit, "soil", Some(&rho))].map(|weather| {
        let mut all = Vec::with_capacity(SEASONS as usize);
        skies(&weather, |sky| all.push(sky.clone()));
        all
    });
    let counts = |skies: &[Sky], from: usize, length: usize| -> Vec<f64> {
        skies.iter().map(|sky| f64::from(sky.count(0, from, from + length))).collect()
    };
    println!(
        "spans              mean: record, fitted   variance: record, fitted over it (each span), chain over it"
    );
    for (name, from, to) in SEASONS_OF_YEAR {
        for length in LENGTHS {
            let (mut seen, mut fitted, mut chain, mut each) = ([0.0; 2], [0.0; 2], [0.0; 2], Vec::new());
            let starts: Vec<usize> = (day(from)..=day(to) + 1 - length).step_by(APART).collect();
            for &start in &starts {
                let of = |at: usize| MonthDay::of(span().date(at as u32));
                let (first, last) = (of(start), of(start + length - 1));
                let counted =
                    Counts::of(&Block::of_period(record.first(), record.days(), first, last), series);
                assert_eq!(counted.years, 45);
                let [of_fitted, of_chain] =
                    [0, 1].map(|kind| mean_and_variance(&counts(&drawn[kind], start, length)));
                each.push(of_fitted.1 / counted.variance);
                for (sum, (mean, variance)) in [
                    (&mut seen, (counted.mean, counted.variance)),
                    (&mut fitted, of_fitted),
                    (&mut chain, of_chain),
                ] {
                    *sum = [sum[0] + mean / starts.len() as f64, sum[1] + variance / starts.len() as f64];
                }
            }
            let (least, most) = each.iter().fold((9.0_f64, 0.0_f64), |(a, b), of| (a.min(*of), b.max(*of)));
            println!(
                "{name:8} {:2} of {length} days  {:6.2} {:6.2}   {:7.2} {:5.2} ({least:.2} to {most:.2}) {:5.2}",
                starts.len(),
                seen[0],
                fitted[0],
                seen[1],
                fitted[1] / seen[1],
                chain[1] / seen[1]
            );
            assert!((fitted[0] / seen[0] - 1.0).abs() < 0.02, "{name} {length}: mean");
            assert!((0.8..=1.2).contains(&(fitted[1] / seen[1])), "{name} {length}: variance");
        }
    }
    let of_skies = |from: &str| counts(&drawn[0], day(from), 60);
    let of_years = |from: &str, to: &str| -> Vec<f64> {
        let years = VerdictYears::new(record.first(), &judged.days[0], md("01-01"));
        years.counts(md(from), md(to)).iter().map(|(_, count)| f64::from(*count)).collect()
    };
    let seen = correlation(&of_years("03-01", "04-29"), &of_years("09-15", "11-13"));
    let drawn = correlation(&of_skies("03-01"), &of_skies("09-15"));
    // Fisher's z of 45 years.
    let standard_error = 1.0 / 42.0_f64.sqrt();
    println!("spring and autumn: record {seen:.3}, fitted {drawn:.3} (standard error {standard_error:.3})");
    assert!((drawn.atanh() - seen.atanh()).abs() < 2.0 * standard_error);
}

#[test]
fn the_last_drilling_day_on_heavy_land_comes_as_early_as_it_did() {
    let record = record();
    let rules: Vec<Rule> = default_rules()
        .into_iter()
        .filter(|rule| (rule.class.as_str(), rule.soil.as_str()) == ("drilling", "heavy"))
        .collect();
    let judged = judge(&record, &rules, RainDay::OfTheDay).unwrap();
    let years = VerdictYears::new(record.first(), &judged.days[0], md("01-01"));
    let fit = fit_record(record.first(), &rules, &judged).unwrap();
    let block = Block::of_period(record.first(), record.days(), md("09-16"), md("11-30"));
    let rho = TwoState::of(&block, &judged.days[0]).rho();
    let (fitted, chain) = (weather(&fit, "soil", None), weather(&fit, "soil", Some(&|_| rho)));
    let none_after = |weather: &Chain, last: &str| {
        let mut none = 0u64;
        skies(weather, |sky| none += u64::from(sky.count(0, day(last) + 1, 365) == 0));
        none as f64 / SEASONS as f64
    };
    println!("no drilling day after   record   fitted   chain");
    for last in ["10-01", "10-15", "10-31"] {
        let (none, all) = years.none_after(md(last), md("12-31"));
        let (seen, drawn) = (none as f64 / all as f64, none_after(&fitted, last));
        println!("{last}   {none:2} of {all}  {seen:.3}   {drawn:.3}   {:.3}", none_after(&chain, last));
        let standard_error = (drawn * (1.0 - drawn) / all as f64).sqrt();
        assert!((drawn - seen).abs() < 2.0 * standard_error, "{last}");
    }
}
