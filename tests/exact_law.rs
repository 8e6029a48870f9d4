//! One operation on one field, days all alike: the simulated risk against its exact law.
//!
//! The farm is `scenarios/one-operation.rhai`, read by the script reader and worked by [`Study`]: scripts, farm, weather,
//! season and study are all between the parameters and the figure. The law is `study::exact`'s, which must agree with
//! the independent one of `exact_law.py`.

#[path = "support/python.rs"]
mod python;

use std::path::Path;

use serde_json::json;
use sim_core::farm::Farm;
use sim_core::season::{DAY, Manager, Outcome};
use sim_core::study::exact::AlikeDays;
use sim_core::study::{Hooks, Sink, Study, Variant};
use sim_script::script::Script;
use statrs::distribution::{ChiSquared, ContinuousCDF as _};

const SEASONS: u64 = 20_000;
const SEEDS: [u64; 5] = [1, 2, 3, 5, 8];
/// Standard errors that p_late may be off; one of 75 of the 5 x 12 below would be by chance, over all seeds one in 36.
const BOUND: f64 = 3.5;
/// The least chance of a chi-square as large as that found; one of 60 would be smaller by chance once in 170.
const LEAST_CHANCE: f64 = 1e-4;
/// Days are pooled until so many seasons are expected in a cell.
const CELL: f64 = 20.0;
/// How far the two exact laws may be apart on any day.
const LAWS_APART: f64 = 1e-10;

struct Case {
    mode: &'static str,
    area_ha: f64,
    work_rate_ha_h: f64,
    hours_per_day: f64,
    p: f64,
    rho: f64,
    phi: f64,
    allowed: usize,
}

impl Case {
    /// Suitable days that the job needs: whole seconds of work over whole seconds a day.
    fn needed(&self) -> usize {
        let work_s = (self.area_ha / self.work_rate_ha_h * 3600.0).round() as usize;
        work_s.div_ceil((self.hours_per_day * 3600.0).round() as usize)
    }

    fn law(&self) -> AlikeDays {
        AlikeDays { p: self.p, rho: self.rho, phi: self.phi }
    }

    fn farm(&self) -> Farm {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/one-operation.rhai");
        let settings = [
            ("area_ha", self.area_ha.to_string()),
            ("work_rate_ha_h", self.work_rate_ha_h.to_string()),
            ("hours_per_day", self.hours_per_day.to_string()),
            ("p_suitable", self.p.to_string()),
            ("persistence", self.rho.to_string()),
            ("year_spread", self.phi.to_string()),
            ("allowed_days", self.allowed.to_string()),
        ];
        let settings = settings.map(|(name, value)| (name.to_owned(), value));
        let (spec, _) = Script::from_file(&path).unwrap().farm(&settings).unwrap();
        spec
    }

    fn name(&self) -> String {
        format!(
            "{}: {} of {} days, p {}, persistence {}, year spread {}",
            self.mode,
            self.needed(),
            self.allowed,
            self.p,
            self.rho,
            self.phi
        )
    }
}

fn case(mode: &'static str, job: [f64; 3], days: [f64; 3], allowed: usize) -> Case {
    let [area_ha, work_rate_ha_h, hours_per_day] = job;
    let [p, rho, phi] = days;
    Case { mode, area_ha, work_rate_ha_h, hours_per_day, p, rho, phi, allowed }
}

/// Areas that are and are not whole days' work; 25 ha at 2.5 ha/h and 10 h is exactly one day.
fn cases() -> Vec<Case> {
    vec![
        case("independent", [97.3, 2.5, 8.0], [0.5, 0.0, 0.0], 12),
        case("independent", [250.0, 2.5, 10.0], [0.5, 0.0, 0.0], 20),
        case("independent", [118.0, 1.3, 7.75], [0.6, 0.0, 0.0], 24),
        case("persistence", [300.0, 2.5, 10.0], [0.6, 0.4, 0.0], 24),
        case("persistence", [97.3, 2.5, 8.0], [0.5, 0.7, 0.0], 14),
        case("persistence", [61.0, 0.9, 7.0], [0.35, 0.85, 0.0], 40),
        case("year spread", [300.0, 2.5, 10.0], [0.6, 0.0, 0.05], 24),
        case("year spread", [97.3, 2.5, 8.0], [0.5, 0.0, 0.1], 14),
        case("year spread", [61.0, 0.9, 7.0], [0.7, 0.0, 0.4], 18),
        case("both", [100.0, 2.5, 8.0], [0.5, 0.4, 0.1], 14),
        case("both", [300.0, 2.5, 10.0], [0.6, 0.7, 0.1], 24),
        case("both", [61.0, 0.9, 7.0], [0.4, 0.9, 0.3], 45),
    ]
}

/// How often the work was done on each day, counted from 1; index 0 is never.
struct Finishes(Vec<u64>);

impl Sink for Finishes {
    fn season(&mut self, _variant: usize, outcome: &Outcome) {
        let day = outcome.rows[0].finish.map_or(0, |finish| (finish - 1) / DAY + 1);
        self.0[day as usize] += 1;
    }
}

/// The chance of a chi-square at least as large as that of counts against a law of the days 1, 2, ...; index 0 of the
/// counts is none of these days. Neighbouring days are pooled.
fn chance_of_counts(counts: &[u64], on_day: &[f64], not_done: f64) -> (f64, usize) {
    let total: u64 = counts.iter().sum();
    let (mut square, mut cells) = (0.0, 0usize);
    let (mut expected, mut found) = (0.0, 0);
    let (mut expected_so_far, mut found_so_far) = (0.0, 0);
    for (day, chance) in on_day.iter().enumerate() {
        expected += chance * total as f64;
        found += counts[day + 1];
        let rest = total as f64 - expected_so_far - expected;
        if expected >= CELL && rest >= CELL {
            square += (found as f64 - expected).powi(2) / expected;
            cells += 1;
            expected_so_far += expected;
            found_so_far += found;
            (expected, found) = (0.0, 0);
        }
    }
    // What is left, with those that are never done, is the last cell.
    let rest = total as f64 - expected_so_far;
    assert!((expected + not_done * total as f64 - rest).abs() < 1e-6 * total as f64);
    square += ((total - found_so_far) as f64 - rest).powi(2) / rest;
    cells += 1;
    assert!(cells >= 5, "{cells} cells say little");
    (ChiSquared::new((cells - 1) as f64).unwrap().sf(square), cells)
}

#[test]
fn simulated_risk_has_its_exact_law() {
    let mut wrong = Vec::new();
    let (mut most, mut least) = (0.0f64, 1.0f64);
    for case in cases() {
        let farm = case.farm();
        let days = farm.span.days() as usize;
        let law = case.law().finish(case.needed(), days);
        let want = case.law().p_late(case.needed(), case.allowed);
        assert!((0.05..0.95).contains(&want), "{}: {want} is not worth checking", case.name());
        let error = (want * (1.0 - want) / SEASONS as f64).sqrt();
        let variant = Variant::new("as it is", farm).unwrap();
        let mut study = Study { variants: vec![variant], seasons: SEASONS, seed: 0, threads: 2 };
        for seed in SEEDS {
            study.seed = seed;
            let mut finishes = Finishes(vec![0; days + 1]);
            let hooks = Hooks { sink: Some(&mut finishes), ..Hooks::default() };
            let found = study.run(&Manager, hooks).unwrap();
            let p_late = found.variants[0].risks[0].p_late();
            let off = (p_late - want) / error;
            let (chance, cells) = chance_of_counts(&finishes.0, &law.on_day, law.not_done);
            most = most.max(off.abs());
            least = least.min(chance);
            println!(
                "{}, seed {seed}: p_late {p_late:.4} (exact {want:.4}, {off:+.2} standard errors), chi-square chance {chance:.4} in {cells} cells",
                case.name()
            );
            if off.abs() > BOUND || chance < LEAST_CHANCE {
                wrong.push(format!(
                    "{}, seed {seed}: {off:+.2} standard errors, chance {chance:.2e}",
                    case.name()
                ));
            }
        }
    }
    println!("most standard errors off {most:.2}, least chance {least:.4}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The comparison itself must be able to fail: a law that is slightly wrong is found out.
#[test]
fn a_wrong_law_is_found_out() {
    let case = case("persistence", [97.3, 2.5, 8.0], [0.5, 0.7, 0.0], 14);
    let farm = case.farm();
    let days = farm.span.days() as usize;
    let study = Study {
        variants: vec![Variant::new("as it is", farm).unwrap()],
        seasons: SEASONS,
        seed: 1,
        threads: 2,
    };
    let mut finishes = Finishes(vec![0; days + 1]);
    study.run(&Manager, Hooks { sink: Some(&mut finishes), ..Hooks::default() }).unwrap();
    for (p, rho, needed) in [(0.5, 0.66, 5), (0.52, 0.7, 5), (0.5, 0.7, 6)] {
        let law = AlikeDays { p, rho, phi: 0.0 }.finish(needed, days);
        let (chance, _) = chance_of_counts(&finishes.0, &law.on_day, law.not_done);
        assert!(chance < LEAST_CHANCE, "p {p}, persistence {rho}, {needed} days: chance {chance}");
    }
}

#[test]
fn two_exact_laws_agree() {
    const DAYS: usize = 120;
    let cases = cases();
    let asked: Vec<_> = cases
        .iter()
        .map(|case| json!({"p": case.p, "rho": case.rho, "phi": case.phi, "needed": case.needed(), "days": DAYS}))
        .collect();
    let told: Vec<Vec<f64>> = serde_json::from_value(python::ask("exact_law.py", &json!(asked))).unwrap();
    let mut most = 0.0f64;
    for (case, told) in cases.iter().zip(&told) {
        assert_eq!(told.len(), DAYS);
        let ours = case.law().finish(case.needed(), DAYS);
        for (day, (ours, told)) in ours.on_day.iter().zip(told).enumerate() {
            let apart = (ours - told).abs();
            assert!(apart < LAWS_APART, "{}, day {}: {ours} and {told}", case.name(), day + 1);
            most = most.max(apart);
        }
        let late = 1.0 - told[..case.allowed].iter().sum::<f64>();
        assert!((late - case.law().p_late(case.needed(), case.allowed)).abs() < LAWS_APART);
    }
    println!("at most {most:.1e} apart on any day");
}

/// Negative binomial, a chain and a beta-binomial by figures derived outside the program.
#[test]
fn derived_figures() {
    let late = |p, rho, phi, needed, allowed| AlikeDays { p, rho, phi }.p_late(needed, allowed);
    for (found, derived) in [
        (late(0.5, 0.0, 0.0, 10, 20), 0.4119),
        (late(0.6, 0.0, 0.0, 12, 24), 0.1143),
        (late(0.6, 0.4, 0.0, 12, 24), 0.2121),
        (late(0.6, 0.0, 0.05, 12, 24), 0.2086),
    ] {
        assert!((found - derived).abs() < 5e-5, "{found} against {derived}");
    }
}
