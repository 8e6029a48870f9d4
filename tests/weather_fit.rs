//! Fits of the day model on records drawn from the model itself: do they find the variance that was put in?
//!
//! What is judged is what a farm feels, the variance between years of the number of suitable days in the season. Each
//! truth gives [`RECORDS`] records of [`YEARS`] years; p is taken from each record itself, as a user has it. A
//! single record of 45 years fixes a variance to some 20 % only (the relative error of a variance of 45 normal values is
//! the root of 2/44), so a fit can be judged by its mean over many records alone. Fixed seeds: the same figures on every
//! run. The record of a place is in `weather_fit_record.rs`.

use sim_core::study::exact::AlikeDays;
use sim_core::weather::fit::{Block, Law, Series, count_variance, fit_spells, fit_years};
use sim_core::weather::{DriverSpec, KeySpec, Sky, Weather, WeatherSpec};

const RECORDS: u64 = 200;
const YEARS: usize = 45;
const DAYS: usize = 76;
const SEED: u64 = 20_261_126;

/// Draws records of one key and hands their verdicts over.
fn each_record(p: &[f64], law: Law, mut see: impl FnMut(&[Option<bool>])) {
    let weather = Weather::new(&WeatherSpec {
        span_days: DAYS,
        drivers: vec![DriverSpec::alike("soil", 1.0, law.rho, law.kappa(), DAYS)],
        keys: vec![KeySpec { driver: 0, p: p.to_vec(), phi: vec![law.phi; DAYS], shut: None, hours: None }],
        recorded: None,
    })
    .unwrap();
    let mut sky = Sky::default();
    for record in 0..RECORDS {
        let mut verdicts = Vec::with_capacity(YEARS * DAYS);
        for year in 0..YEARS as u64 {
            weather.draw(SEED, record * YEARS as u64 + year, &mut sky);
            verdicts.extend((0..DAYS).map(|day| Some(sky.suitable(0, day))));
        }
        see(&verdicts);
    }
}

/// The record's own p: the true curve raised or lowered in its odds to the record's share, which keeps it in 0 to 1.
fn p_of_record(p: &[f64], verdicts: &[Option<bool>]) -> Vec<f64> {
    let share =
        verdicts.iter().filter(|verdict| **verdict == Some(true)).count() as f64 / verdicts.len() as f64;
    let shifted =
        |by: f64| -> Vec<f64> { p.iter().map(|p| 1.0 / (1.0 + (1.0 / p - 1.0) * f64::exp(-by))).collect() };
    let (mut low, mut high) = (-10.0, 10.0);
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        if shifted(middle).iter().sum::<f64>() < share * DAYS as f64 { low = middle } else { high = middle }
    }
    shifted(f64::midpoint(low, high)).repeat(YEARS)
}

/// Fits every record and compares the fitted variance of the season's count with the true one; gives the mean ratio.
fn proof(what: &str, p: &[f64], law: Law, fit: impl Fn(&Block, Series<'_>) -> Law) -> f64 {
    let truth = if p.iter().all(|day| *day == p[0]) {
        AlikeDays { p: p[0], rho: law.rho, phi: law.phi }.count_variance(law.kappa(), DAYS as u32)
    } else {
        count_variance(p, &[law; DAYS])
    };
    let block = Block::of_seasons(YEARS, DAYS);
    let mut ratios = Vec::new();
    let mut laws = Vec::new();
    each_record(p, law, |verdicts| {
        let p = p_of_record(p, verdicts);
        let fitted = fit(&block, Series::new(verdicts, &p).unwrap());
        ratios.push(count_variance(&p[..DAYS], &[fitted; DAYS]) / truth);
        laws.push(fitted);
    });
    let n = ratios.len() as f64;
    let mean = ratios.iter().sum::<f64>() / n;
    let sd = (ratios.iter().map(|ratio| (ratio - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    let median = |of: fn(&Law) -> f64| {
        let mut values: Vec<f64> = laws.iter().map(of).collect();
        values.sort_by(f64::total_cmp);
        values[values.len() / 2]
    };
    let (rho, phi, spread_days) =
        (median(|law| law.rho), median(|law| law.phi), median(|law| law.spread_days));
    println!(
        "{what:44} true variance {truth:6.1}  fitted/true {mean:.3} (sd {sd:.3})  median rho {rho:.3} phi {phi:.3} \
         spread_days {spread_days:.1}"
    );
    mean
}

fn years(block: &Block, key: Series<'_>) -> Law {
    fit_years(block, &[key]).unwrap().law
}

fn spells(block: &Block, key: Series<'_>) -> Law {
    fit_spells(block, &[key]).unwrap().law
}

fn law(rho: f64, phi: f64, spread_days: f64) -> Law {
    Law { rho, phi, spread_days }
}

fn autumn() -> Vec<f64> {
    (0..DAYS).map(|day| 0.7 - 0.55 * day as f64 / DAYS as f64).collect()
}

/// One q a season: truths that this fit can hold.
#[test]
fn the_fit_with_one_q_a_season_finds_the_variance() {
    let year = f64::INFINITY;
    for (what, p, truth) in [
        ("one q: independent, p 0.6", vec![0.6; DAYS], Law::INDEPENDENT),
        ("one q: persistence 0.5, p 0.4", vec![0.4; DAYS], Law::chain(0.5)),
        ("one q: year spread 0.1, p 0.5", vec![0.5; DAYS], law(0.0, 0.1, year)),
        ("one q: year spread 0.1, persistence 0.5, p 0.4", vec![0.4; DAYS], law(0.5, 0.1, year)),
        ("one q: the same, p 0.70 to 0.15", autumn(), law(0.5, 0.1, year)),
    ] {
        let ratio = proof(what, &p, truth, years);
        assert!((0.9..=1.1).contains(&ratio), "{what}: {ratio}");
    }
}

/// Spells: the truths that records show, and the plain ones, which must not be read as spells.
#[test]
fn the_fit_of_spells_finds_the_variance() {
    for (what, p, truth) in [
        ("spells: independent, p 0.6", vec![0.6; DAYS], Law::INDEPENDENT),
        ("spells: persistence 0.5, p 0.4", vec![0.4; DAYS], Law::chain(0.5)),
        ("spells: 0.3 of 8 days, persistence 0.4, p 0.5", vec![0.5; DAYS], law(0.4, 0.3, 8.0)),
        ("spells: 0.3 of 15 days, persistence 0.4, p 0.35", vec![0.35; DAYS], law(0.4, 0.3, 15.0)),
        ("spells: the same, p 0.70 to 0.15", autumn(), law(0.4, 0.3, 15.0)),
    ] {
        let ratio = proof(what, &p, truth, spells);
        assert!((0.9..=1.1).contains(&ratio), "{what}: {ratio}");
    }
}
