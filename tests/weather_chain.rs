//! Simulated weather against its closed-form laws.
//!
//! Every check has a fixed seed, so it gives the same figure on every run. Seasons are independent and the
//! days of one are not: a statistic is one number a season, and its standard error is that of the mean over
//! seasons (clustered by season). A check passes when the mean is within [`BOUND`] standard errors of the law. There
//! are about 1600 such comparisons, most of them single days: the largest is expected near 3.4, and one beyond
//! 4.5 in about one of a hundred such files if every law holds.

use sim_core::study::exact::AlikeDays;
use sim_core::weather::{
    DriverSpec, KeySpec, PeriodValue, Sky, Span, Weather, WeatherSpec, daily_means, daily_steps, kappa,
};

/// Standard errors that a simulated mean may be off its law.
const BOUND: f64 = 4.5;
const SEED: u64 = 20_261_125;

/// Mean over seasons and its standard error.
#[derive(Default)]
struct Mean {
    n: f64,
    sum: f64,
    squares: f64,
}

impl Mean {
    fn add(&mut self, value: f64) {
        self.n += 1.0;
        self.sum += value;
        self.squares += value * value;
    }

    fn mean(&self) -> f64 {
        self.sum / self.n
    }

    fn standard_error(&self) -> f64 {
        ((self.squares / self.n - self.mean().powi(2)).max(0.0) / (self.n - 1.0)).sqrt()
    }

    /// Fails unless the law's value `want` is within the bound.
    fn check(&self, what: &str, want: f64) {
        let off = (self.mean() - want) / self.standard_error();
        assert!(
            off.abs() < BOUND,
            "{what}: simulated {:.5}, law {want:.5}, standard error {:.5}: {off:.1} standard errors",
            self.mean(),
            self.standard_error()
        );
    }
}

fn alike(p: f64, rho: f64, phi: f64, kappa: f64, days: usize) -> Weather {
    Weather::new(&WeatherSpec {
        span_days: days,
        drivers: vec![DriverSpec::alike("soil", 1.0, rho, kappa, days)],
        keys: vec![KeySpec::alike(0, p, phi, days)],
        recorded: None,
    })
    .unwrap()
}

/// Keys of one driver, each of its own p and phi.
fn together(laws: &[AlikeDays], kappa: f64, days: usize) -> Weather {
    Weather::new(&WeatherSpec {
        span_days: days,
        drivers: vec![DriverSpec::alike("soil", 1.0, laws[0].rho, kappa, days)],
        keys: laws.iter().map(|law| KeySpec::alike(0, law.p, law.phi, days)).collect(),
        recorded: None,
    })
    .unwrap()
}

fn each_season(weather: &Weather, seasons: u64, mut see: impl FnMut(&Sky)) {
    let mut sky = Sky::default();
    for season in 0..seasons {
        weather.draw(SEED, season, &mut sky);
        see(&sky);
    }
}

/// Lags 1 to 15 of nine chains against the closed form, and the variance of the count of a season's days; each with a
/// second key of the same driver whose spread is its own.
#[test]
fn lag_correlations_are_those_of_the_closed_form() {
    const LAGS: usize = 15;
    let days = 120;
    let year = f64::INFINITY;
    for (p, rho, phi, spread_days, other) in [
        (0.5, 0.0, 0.2, year, (0.4, 0.5)),
        (0.6, 0.4, 0.05, year, (0.8, 0.0)),
        (0.35, 0.6, 0.3, year, (0.35, 0.6)),
        (0.5, 0.0, 0.3, 20.0, (0.7, 0.1)),
        (0.6, 0.5, 0.2, 10.0, (0.3, 0.7)),
        (0.35, 0.7, 0.1, 40.0, (0.6, 0.4)),
        (0.2, 0.3, 0.5, 5.0, (0.5, 0.2)),
        (0.65, 0.8, 0.0, year, (0.5, 0.3)),
        (0.9, 0.5, 0.6, 15.0, (0.8, 0.05)),
    ] {
        let kappa = kappa(spread_days).unwrap();
        let laws = [AlikeDays { p, rho, phi }, AlikeDays { p: other.0, rho, phi: other.1 }];
        let weather = together(&laws, kappa, days);
        let mut shares = [Mean::default(), Mean::default()];
        let mut variances = [Mean::default(), Mean::default()];
        let mut correlations: [Vec<Mean>; 2] = [(); 2].map(|()| (0..LAGS).map(|_| Mean::default()).collect());
        each_season(&weather, 20_000, |sky| {
            for (key, law) in laws.iter().enumerate() {
                let p = law.p;
                let day: Vec<f64> =
                    (0..days).map(|d| f64::from(u8::from(sky.suitable(key, d))) - p).collect();
                for (lag, correlation) in (1..).zip(&mut correlations[key]) {
                    let products: f64 = day.iter().zip(&day[lag..]).map(|(a, b)| a * b).sum();
                    correlation.add(products / (days - lag) as f64 / (p * (1.0 - p)));
                }
                let count = f64::from(sky.count(key, 0, days));
                shares[key].add(count / days as f64);
                variances[key].add((count - p * days as f64).powi(2));
            }
        });
        for (key, law) in laws.iter().enumerate() {
            let what = format!("{law:?} spread_days {spread_days}");
            shares[key].check(&format!("{what}, share of days"), law.p);
            let variance = law.count_variance(kappa, days as u32);
            variances[key].check(&format!("{what}, variance of the count"), variance);
            for (lag, correlation) in (1..).zip(&correlations[key]) {
                correlation.check(&format!("{what}, lag {lag}"), law.lag_correlation(kappa, lag));
            }
        }
    }
}

/// How often a harder key is suitable and an easier key of its driver is not: never where their spreads are the same,
/// else as often as its chance is the higher of the two, `E max(P_harder - P_easier, 0)`. The Beta's quantiles are
/// those of `statrs`.
#[test]
fn a_harder_key_is_ahead_of_an_easier_only_where_its_chance_is() {
    use statrs::distribution::{Beta, ContinuousCDF as _};
    let days = 100;
    let quantile = |law: &AlikeDays| {
        let size = (1.0 - law.phi) / law.phi;
        let beta = Beta::new(law.p * size, (1.0 - law.p) * size).unwrap();
        move |q: f64| beta.inverse_cdf(q)
    };
    for ((p_easy, phi_easy), (p_hard, phi_hard)) in [
        ((0.6, 0.3), (0.5, 0.3)),
        ((0.86, 0.1), (0.41, 0.61)),
        ((0.6, 0.3), (0.39, 0.8)),
        ((0.41, 0.61), (0.39, 0.8)),
        ((0.7, 0.6), (0.5, 0.1)),
    ] {
        let easy = AlikeDays { p: p_easy, rho: 0.4, phi: phi_easy };
        let hard = AlikeDays { p: p_hard, phi: phi_hard, ..easy };
        let weather = together(&[easy, hard], 0.85, days);
        let mut ahead = Mean::default();
        each_season(&weather, 20_000, |sky| {
            let days_ahead = (0..days).filter(|day| sky.suitable(1, *day) && !sky.suitable(0, *day)).count();
            ahead.add(days_ahead as f64 / days as f64);
        });
        let what = format!("p {p_hard} phi {phi_hard} ahead of p {p_easy} phi {phi_easy}");
        if phi_easy == phi_hard {
            assert_eq!(ahead.sum, 0.0, "{what}");
            continue;
        }
        let (of_easy, of_hard) = (quantile(&easy), quantile(&hard));
        let n = 5_000;
        let middles = (0..n).map(|i| (f64::from(i) + 0.5) / f64::from(n));
        let want = middles.map(|q| (of_hard(q) - of_easy(q)).max(0.0)).sum::<f64>() / f64::from(n);
        println!("{what}: {:.5} of days, law {want:.5}", ahead.mean());
        ahead.check(&what, want);
    }
}

/// Without spread: P(s | s) = p + rho (1 - p) and P(s | u) = p (1 - rho). A ratio's error is that of the
/// season's excess of transitions.
#[test]
fn transitions_are_those_of_the_two_state_chain() {
    let days = 200;
    for (p, rho) in [(0.6, 0.4), (0.353, 0.684), (0.1, 0.2), (0.9, 0.9)] {
        let (after_s, after_u) = (p + rho * (1.0 - p), p * (1.0 - rho));
        let (mut excess_s, mut excess_u) = (Mean::default(), Mean::default());
        each_season(&alike(p, rho, 0.0, 1.0, days), 10_000, |sky| {
            let (mut s, mut u) = (0.0, 0.0);
            for day in 1..days {
                let today = f64::from(u8::from(sky.suitable(0, day)));
                if sky.suitable(0, day - 1) { s += today - after_s } else { u += today - after_u }
            }
            excess_s.add(s);
            excess_u.add(u);
        });
        excess_s.check(&format!("p {p} rho {rho}: suitable after suitable"), 0.0);
        excess_u.check(&format!("p {p} rho {rho}: suitable after unsuitable"), 0.0);
    }
}

/// The rain chain of Tel Aviv: P(wet | dry) 0.250, P(wet | wet) 0.662, wet days in 30 of mean 12.755 and
/// variance 17.024 (Gabriel and Neumann 1962, as quoted by later publications). A wet day is a "suitable" one here.
#[test]
fn wet_days_of_tel_aviv() {
    let rho = 0.662 - 0.250;
    let p = 0.250 / (1.0 - rho);
    let (mut mean, mut variance) = (Mean::default(), Mean::default());
    each_season(&alike(p, rho, 0.0, 1.0, 30), 200_000, |sky| {
        let wet = f64::from(sky.count(0, 0, 30));
        mean.add(wet);
        variance.add((wet - 30.0 * p).powi(2));
    });
    mean.check("wet days in 30", 12.755);
    variance.check("variance of wet days in 30", 17.024);
    // Independent days would have 7.332: far outside.
    assert!((variance.mean() - 7.332) / variance.standard_error() > 100.0);
}

/// Persistence 0.6 raises the sd of the suitable days among 20 (p 0.5) from 2.24 to 4.26 (derived).
#[test]
fn persistence_widens_the_count_of_suitable_days() {
    for (rho, want) in [(0.0, 2.24), (0.6, 4.26)] {
        let mut variance = Mean::default();
        each_season(&alike(0.5, rho, 0.0, 1.0, 20), 100_000, |sky| {
            variance.add((f64::from(sky.count(0, 0, 20)) - 10.0).powi(2));
        });
        // The sd to its last printed digit, and within the sampling error of its square.
        let sd = variance.mean().sqrt();
        let standard_error = variance.standard_error() / (2.0 * sd);
        assert!((sd - want).abs() < 0.005 + BOUND * standard_error, "rho {rho}: {sd} +- {standard_error}");
    }
}

/// Twelve suitable days needed of 24, p 0.6: late with 0.1143, with persistence 0.4 0.2121, with spread 0.05 one q
/// a season 0.2086 (derived); and persistence with spread against the exact law.
#[test]
fn lateness_of_twelve_days_in_twenty_four() {
    let both = AlikeDays { p: 0.6, rho: 0.4, phi: 0.05 }.p_late(12, 24);
    for (rho, phi, want) in [(0.0, 0.0, 0.1143), (0.4, 0.0, 0.2121), (0.0, 0.05, 0.2086), (0.4, 0.05, both)] {
        let mut late = Mean::default();
        each_season(&alike(0.6, rho, phi, 1.0, 24), 200_000, |sky| {
            late.add(f64::from(u8::from(sky.count(0, 0, 24) < 12)));
        });
        late.check(&format!("late, rho {rho} phi {phi}"), want);
    }
}

/// The whole law of the count with persistence and spread, day counts pooled so that each is expected 50 times:
/// chi-square over seasons, which are independent.
#[test]
fn the_count_has_its_whole_law() {
    use statrs::distribution::{ChiSquared, ContinuousCDF as _};
    let seasons = 50_000;
    for (p, rho, phi) in [(0.6, 0.4, 0.05), (0.35, 0.7, 0.3), (0.15, 0.0, 0.6)] {
        let days = 40;
        let mut seen = vec![0.0; days + 1];
        each_season(&alike(p, rho, phi, 1.0, days), seasons, |sky| {
            seen[sky.count(0, 0, days) as usize] += 1.0;
        });
        let law = AlikeDays { p, rho, phi }.suitable_days(days);
        let (mut chi, mut cells, mut observed, mut expected) = (0.0, 0.0, 0.0, 0.0);
        for (count, chance) in law.iter().enumerate() {
            observed += seen[count];
            expected += chance * seasons as f64;
            let rest: f64 = law[count + 1..].iter().sum::<f64>() * seasons as f64;
            if expected >= 50.0 && (rest >= 50.0 || count == days) {
                chi += (observed - expected) * (observed - expected) / expected;
                cells += 1.0;
                (observed, expected) = (0.0, 0.0);
            }
        }
        if expected > 0.0 {
            chi += (observed - expected) * (observed - expected) / expected;
            cells += 1.0;
        }
        let tail = 1.0 - ChiSquared::new(cells - 1.0).unwrap().cdf(chi);
        assert!(tail > 1e-4, "p {p} rho {rho} phi {phi}: chi-square {chi:.1} in {cells} cells, tail {tail}");
    }
}

/// Where p, rho and phi change through the season, with spells and with a driver that half agrees, each day's chance
/// is still p(d) for each key, one of a spread apart among them, and a month's share of days its table value.
#[test]
fn the_marginal_chance_is_exact_where_everything_changes() {
    let row = |from: &str, to: &str, value| PeriodValue {
        from: from.parse().unwrap(),
        to: to.parse().unwrap(),
        value,
    };
    let span = Span::new("2024-08-01".parse().unwrap(), "2025-08-31".parse().unwrap()).unwrap();
    let days = span.days() as usize;
    let table = [
        row("11-16", "03-15", 0.15),
        row("03-16", "04-30", 0.45),
        row("05-01", "08-31", 0.7),
        row("09-01", "11-15", 0.4),
    ];
    let p = daily_means(&table, span).unwrap();
    let rho = daily_steps(&[row("10-01", "03-31", 0.7), row("04-01", "09-30", 0.4)], span, 0.0).unwrap();
    let phi = daily_steps(&[row("09-01", "12-31", 0.25), row("03-01", "05-31", 0.08)], span, 0.0).unwrap();
    let spell = daily_steps(&[row("09-01", "12-31", 25.0)], span, 12.0).unwrap();
    let kappas: Vec<f64> = spell.iter().map(|days| kappa(*days).unwrap()).collect();
    let driver = |name: &str, agreement| DriverSpec {
        name: name.into(),
        agreement,
        rho: rho.clone(),
        kappa: kappas.clone(),
    };
    let apart: Vec<f64> = phi.iter().map(|phi| 0.6 - phi).collect();
    let key =
        |driver, phi: &Vec<f64>| KeySpec { driver, p: p.clone(), phi: phi.clone(), shut: None, hours: None };
    let weather = Weather::new(&WeatherSpec {
        span_days: days,
        drivers: vec![driver("soil", 1.0), driver("air", 0.5)],
        keys: vec![key(0, &phi), key(1, &phi), key(0, &apart)],
        recorded: None,
    })
    .unwrap();
    let mut by_day: Vec<Vec<Mean>> = (0..3).map(|_| (0..days).map(|_| Mean::default()).collect()).collect();
    let mut periods: Vec<Mean> = (0..2).map(|_| Mean::default()).collect();
    // The first whole autumn, 1 September to 15 November, and the winter to 15 March.
    let day = |text: &str| span.day_of(text.parse().unwrap()).unwrap() as usize;
    let bounds = [day("2024-09-01"), day("2024-11-16"), day("2025-03-16")];
    each_season(&weather, 40_000, |sky| {
        for (key, by_day) in by_day.iter_mut().enumerate() {
            for (day, mean) in by_day.iter_mut().enumerate() {
                mean.add(f64::from(u8::from(sky.suitable(key, day))));
            }
        }
        for (period, bounds) in periods.iter_mut().zip(bounds.windows(2)) {
            period.add(f64::from(sky.count(0, bounds[0], bounds[1])) / (bounds[1] - bounds[0]) as f64);
        }
    });
    periods[0].check("share of autumn days", 0.4);
    periods[1].check("share of winter days", 0.15);
    for (key, by_day) in by_day.iter().enumerate() {
        for (day, mean) in by_day.iter().enumerate() {
            mean.check(&format!("key {key}, day {day}"), p[day]);
        }
    }
}

/// Agreement ties two drivers: 0 leaves their days uncorrelated, 1 makes them one, between them the
/// correlation grows; each keeps its own chance.
#[test]
fn agreement_ties_drivers_from_apart_to_one() {
    let (days, p) = (100, 0.4);
    let mut last = -1.0;
    for agreement in [0.0, 0.3, 0.7, 1.0] {
        let driver = |name: &str, agreement| DriverSpec::alike(name, agreement, 0.5, 0.9, days);
        let weather = Weather::new(&WeatherSpec {
            span_days: days,
            drivers: vec![driver("soil", 1.0), driver("wind", agreement)],
            keys: (0..2).map(|driver| KeySpec::alike(driver, p, 0.2, days)).collect(),
            recorded: None,
        })
        .unwrap();
        let (mut together, mut share, mut first_lag) = (Mean::default(), Mean::default(), Mean::default());
        each_season(&weather, 10_000, |sky| {
            let day = |key, day| f64::from(u8::from(sky.suitable(key, day))) - p;
            let products: f64 = (0..days).map(|d| day(0, d) * day(1, d)).sum();
            together.add(products / days as f64 / (p * (1.0 - p)));
            let lagged: f64 = (1..days).map(|d| day(1, d - 1) * day(1, d)).sum();
            first_lag.add(lagged / (days - 1) as f64 / (p * (1.0 - p)));
            share.add(f64::from(sky.count(1, 0, days)) / days as f64);
        });
        let what = format!("agreement {agreement}");
        share.check(&format!("{what}, share of days"), p);
        let law = AlikeDays { p, rho: 0.5, phi: 0.2 };
        first_lag.check(&format!("{what}, own lag 1"), law.lag_correlation(0.9, 1));
        if agreement == 0.0 {
            together.check("agreement 0, correlation", 0.0);
        }
        if agreement == 1.0 {
            together.check("agreement 1, correlation", 1.0);
        }
        assert!(together.mean() > last + 0.05, "{what}: {} after {last}", together.mean());
        last = together.mean();
    }
}
