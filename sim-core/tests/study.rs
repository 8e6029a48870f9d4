//! Seasons in bulk: the same bytes however they are worked, and figures that agree with each other.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

mod common;

use common::*;
use sim_core::farm::Farm;
use sim_core::farm::spec::*;
use sim_core::kernel::NoTrace;
use sim_core::season::{Cause, Manager, Outcome, Policy, PolicyError};
use sim_core::study::{
    Findings, HalfWidth, Hooks, PolicyMaker, Quantile, ResourceKind, SelectionRule, Sink, Study, Usage,
    Variant, exact::AlikeDays,
};
use std::sync::atomic::{AtomicBool, Ordering};

/// Two machines, two people, three operations of which one follows another, and a fallback crop.
fn mixed() -> FarmSpec {
    let mut spec = bare(0.4);
    spec.drivers[0].persistence = 0.5;
    spec.drivers[0].spread = 0.2;
    spec.drivers[0].spread_days = Some(20.0);
    spec.people.push(person("Ann", &["tractor", "second tractor"]));
    spec.people.push(person("Bob", &["second tractor"]));
    spec.machines.push(machine("tractor", 1.0));
    spec.machines.push(MachineSpec { count: 2, ..machine("second tractor", 1.5) });
    spec.outfits.push(outfit("ploughing", &["tractor"]));
    spec.outfits.push(outfit("drilling", &["second tractor"]));
    let mut wheat = crop("wheat", Vec::new());
    let plough = operation("ploughing", &["ploughing"], ["02-01", "02-25", "03-10"]);
    let mut drill = operation("drilling", &["drilling"], ["02-05", "02-28", "03-10"]);
    drill.after.push(link("ploughing"));
    drill.fallback_crop = Some("barley".into());
    let mut spray = operation("spraying", &["drilling", "ploughing"], ["01-01", "01-01", "01-01"]);
    let after = |days| When::DaysAfter { operation: "drilling".into(), days };
    (spray.from, spray.due, spray.latest) = (after(3), after(7), Some(after(12)));
    wheat.following = vec![plough, drill, spray];
    let mut barley = crop("barley", Vec::new());
    barley.following = vec![operation("spring drilling", &["drilling"], ["03-11", "04-10", "04-30"])];
    spec.crops = vec![wheat, barley];
    for (name, area_ha) in [("North", 38.0), ("South", 27.0), ("West", 22.0)] {
        let bare = FieldSpec { standing: None, following: Some("wheat".into()), ..field(name, area_ha, "") };
        spec.fields.push(bare);
    }
    spec
}

fn study(seasons: u64, threads: usize) -> Study {
    let mut faster = mixed();
    faster.machines[0].work_rate_ha_h = Some(1.6);
    let mut wetter = mixed();
    wetter.suitable[0].p_suitable = 0.3;
    let variant = |name: &str, spec: &FarmSpec| Variant::new(name, Farm::new(spec).unwrap()).unwrap();
    let variants =
        vec![variant("as it is", &mixed()), variant("faster", &faster), variant("wetter", &wetter)];
    Study { variants, seasons, seed: 7, threads }
}

/// Keeps everything.
#[derive(Default)]
struct Keep(Vec<(usize, Outcome)>);

impl Sink for Keep {
    fn season(&mut self, variant: usize, outcome: &Outcome) {
        self.0.push((variant, outcome.clone()));
    }
}

fn run(study: &Study) -> (Findings, Keep) {
    let mut keep = Keep::default();
    let found = study.run(&Manager, Hooks { sink: Some(&mut keep), ..Hooks::default() }).unwrap();
    (found, keep)
}

#[test]
fn any_number_of_threads_gives_the_same_bytes() {
    let (found, keep) = run(&study(300, 1));
    assert_eq!(found.seasons, 300);
    assert!(found.variants[0].risks.iter().any(|risk| risk.p_late() > 0.02 && risk.p_late() < 0.98));
    for threads in [2, 7] {
        let (again, kept) = run(&study(300, threads));
        // Debug writes every bit that tells two numbers apart.
        assert_eq!(format!("{found:?}"), format!("{again:?}"), "{threads} threads");
        assert!(keep.0 == kept.0, "{threads} threads");
    }
}

#[test]
fn one_season_alone_is_that_season_in_bulk() {
    let study = study(100, 2);
    let (_, keep) = run(&study);
    // In any order, and for every variant.
    for season in [99, 0, 31, 32, 64, 7] {
        for variant in [2, 0, 1] {
            let alone = study.work_one(&Manager, variant, season, &mut NoTrace).unwrap();
            assert_eq!((variant, alone), keep.0[season as usize * 3 + variant]);
        }
    }
}

#[test]
fn a_variant_among_others_is_that_variant_alone() {
    let (found, _) = run(&study(100, 2));
    for variant in 0..3 {
        let mut alone = study(100, 2);
        alone.variants = vec![alone.variants.remove(variant)];
        assert_eq!(run(&alone).0.variants[0], found.variants[variant]);
    }
}

#[test]
fn a_stopped_study_has_its_first_seasons() {
    let long = Study { seasons: 1_000_000, ..study(0, 3) };
    let stop = AtomicBool::new(false);
    let mut keep = Keep::default();
    let mut progress = |done: u64| stop.store(done >= 96, Ordering::Relaxed);
    let hooks =
        Hooks { sink: Some(&mut keep), progress: Some(&mut progress), stop: Some(&stop), until: None };
    let found = long.run(&Manager, hooks).unwrap();
    assert!((96..2000).contains(&found.seasons), "{}", found.seasons);
    let (prefix, kept) = run(&study(found.seasons, 1));
    assert_eq!(found, prefix);
    assert!(keep.0 == kept.0);
}

#[test]
fn late_is_one_less_done_by_the_due_day_to_the_bit() {
    // Numbers of seasons whose shares are not exact in binary.
    for seasons in [3, 10, 97, 300] {
        let study = study(seasons, 2);
        let (found, keep) = run(&study);
        for (variant, findings) in found.variants.iter().enumerate() {
            for risk in &findings.risks {
                let rows = || keep.0.iter().filter(|(of, _)| *of == variant).map(|(_, o)| o.rows[risk.row]);
                assert_eq!(risk.late, rows().filter(|row| row.late).count() as u64);
                assert_eq!(risk.unfinished, rows().filter(|row| row.finish.is_none()).count() as u64);
                if let Some(due) = risk.due {
                    assert_eq!(risk.p_late().to_bits(), (1.0 - risk.p_done(due as usize)).to_bits());
                }
                let (low, high) = risk.p_late_interval();
                assert!(low <= risk.p_late() + 1e-15 && risk.p_late() <= high + 1e-15);
                assert!((risk.p_done(risk.days() - 1) - (1.0 - risk.p_unfinished())).abs() < 1e-15);
                let waits: i64 = rows().map(|row| row.waits_s[Cause::Weather as usize]).sum();
                let mean = waits as f64 / 3600.0 / seasons as f64;
                assert!((risk.wait_hours_mean(Cause::Weather) - mean).abs() < 1e-9 * mean.max(1.0));
            }
        }
    }
}

#[test]
fn few_seasons_leave_quantiles_empty() {
    let (found, _) = run(&study(20, 1));
    for risk in &found.variants[0].risks {
        assert_eq!(risk.finish(90), Quantile::Unsupported);
        assert_eq!(risk.finish(10), Quantile::Unsupported);
        assert_ne!(risk.finish(80), Quantile::Unsupported);
        assert_eq!(risk.days_late_p90(), None);
    }
    assert!(found.variants[0].uses.iter().all(|of| of.hours_p90.is_none()));
    assert!(found.variants[0].uses.iter().all(|of| of.hours_available_bad.is_some()));
}

#[test]
fn never_is_said_where_unfinished_seasons_weigh_more() {
    let mut spec = mixed();
    spec.suitable[0].p_suitable = 0.02;
    let farm = Farm::new(&spec).unwrap();
    let study =
        Study { variants: vec![Variant::new("wet", farm).unwrap()], seasons: 60, seed: 1, threads: 1 };
    let (found, _) = run(&study);
    let ploughing = &found.variants[0].risks[0];
    assert!(ploughing.p_unfinished() > 0.9);
    assert_eq!(ploughing.finish(50), Quantile::Never);
}

#[test]
fn rows_that_only_a_fallback_brings_show_when_it_did() {
    let row_names = |p: f64| {
        let mut spec = mixed();
        spec.suitable[0].p_suitable = p;
        let farm = Farm::new(&spec).unwrap();
        let names: Vec<String> = farm.rows.iter().map(|row| row.operation.clone()).collect();
        let variants = vec![Variant::new("one", farm).unwrap()];
        let (found, _) = run(&Study { variants, seasons: 50, seed: 1, threads: 1 });
        found.variants[0].risks.iter().map(|risk| names[risk.row].clone()).collect::<Vec<_>>()
    };
    assert!(row_names(0.4).iter().any(|name| name == "spring drilling"));
    assert_eq!(row_names(1.0), ["ploughing", "drilling", "spraying"]);
}

/// One field, one outfit, 10 h a day: late is a count of suitable days, whose law is known.
#[test]
fn the_risk_of_one_operation_is_its_exact_law() {
    for (persistence, spread) in [(0.0, 0.0), (0.4, 0.0), (0.0, 0.05)] {
        let mut spec = bare(0.6);
        spec.drivers[0].persistence = persistence;
        spec.drivers[0].spread = spread;
        spec.people.push(person("driver", &["mower"]));
        spec.machines.push(machine("mower", 1.0));
        spec.outfits.push(outfit("mowing", &["mower"]));
        spec.crops.push(crop("grass", vec![operation("mowing", &["mowing"], ["01-01", "01-24", "12-31"])]));
        spec.fields.push(field("Home", 120.0, "grass"));
        let variants = vec![Variant::new("one", Farm::new(&spec).unwrap()).unwrap()];
        let (found, _) = run(&Study { variants, seasons: 20_000, seed: 3, threads: 2 });
        let law = AlikeDays { p: 0.6, rho: persistence, phi: spread };
        let (risk, exact) = (&found.variants[0].risks[0], law.p_late(12, 24));
        // Four standard errors of a share of 20 000.
        let bound = 4.0 * (exact * (1.0 - exact) / 20_000.0f64).sqrt();
        assert!((risk.p_late() - exact).abs() < bound, "{} against {exact}", risk.p_late());
        let finish = law.finish(12, 300);
        let moment = |power: i32| -> f64 {
            let late =
                (25..=300).map(|day| f64::from(day - 24).powi(power) * finish.on_day[day as usize - 1]);
            late.sum()
        };
        let bound = 4.0 * ((moment(2) - moment(1) * moment(1)) / 20_000.0).sqrt();
        let mean = risk.days_late_mean();
        assert!((mean - moment(1)).abs() < bound, "{mean} against {} within {bound}", moment(1));
    }
}

#[test]
fn hours_needed_are_the_work_and_hours_there_are_the_suitable_days() {
    let mut spec = bare(1.0);
    spec.people.push(person("Ann", &["tractor"]));
    spec.people.push(PersonSpec { hours: vec![hours(8.0, 14.0)], ..person("Bob", &["tractor"]) });
    spec.machines.push(MachineSpec { count: 2, ..machine("tractor", 1.0) });
    spec.machines.push(machine("idle", 1.0));
    spec.outfits.push(outfit("mowing", &["tractor"]));
    spec.crops.push(crop("grass", vec![operation("mowing", &["mowing"], ["01-11", "01-20", "01-31"])]));
    spec.fields.push(field("Home", 40.0, "grass"));
    let variants = vec![Variant::new("one", Farm::new(&spec).unwrap()).unwrap()];
    let study = Study { variants, seasons: 30, seed: 1, threads: 2 };
    let (found, _) = run(&study);
    let farm = study.variants[0].plan.farm();
    let of = |name: &str, half_month: usize| -> Usage {
        let uses = found.variants[0].uses.iter();
        *uses.clone().find(|of| of.resource.name(farm) == name && of.half_month == half_month).unwrap()
    };
    // 40 h over ten days alike, half of them in each half of January, shared by two of each.
    for name in ["tractor 1", "tractor 2", "Ann", "Bob"] {
        for half_month in 0..2 {
            assert!((of(name, half_month).hours_needed - 10.0).abs() < 1e-9, "{name}");
        }
        assert_eq!(of(name, 2).hours_needed, 0.0);
    }
    assert_eq!(of("idle", 0).hours_needed, 0.0);
    // Five days of ten hours, of six for Bob; every day suits.
    assert_eq!(of("Ann", 0).hours_available_middling, Some(50.0));
    assert_eq!(of("Bob", 0).hours_available_bad, Some(30.0));
    assert_eq!(of("tractor 1", 1).hours_available_middling, Some(50.0));
    assert_eq!(of("idle", 0).hours_available_middling, Some(0.0));
    assert_eq!(of("Ann", 0).resource.kind, ResourceKind::Person);
    // What was worked: one tractor at a time on the one field.
    let worked: f64 = ["Ann", "Bob"].iter().map(|name| of(name, 0).hours_mean).sum();
    assert_eq!(worked, 40.0);
    let busiest = found.variants[0].uses.iter().filter_map(|of| of.hours_p90).max();
    assert!(busiest.is_some_and(|hours| (20..=40).contains(&hours)), "{busiest:?}");
}

#[test]
fn the_first_season_that_fails_stops_the_study() {
    struct Fails(u64);
    impl Policy for Fails {
        fn begin(&mut self, season: u64) {
            self.0 = season;
        }
        fn rank(&mut self, _: &sim_core::season::JobView<'_>) -> Result<f64, PolicyError> {
            if self.0 >= 50 { Err(PolicyError("on purpose".into())) } else { Ok(0.0) }
        }
    }
    struct Make;
    impl PolicyMaker for Make {
        type Policy = Fails;
        fn make(&self, _: usize) -> Fails {
            Fails(0)
        }
    }
    for threads in [1, 4] {
        let error = study(100_000, threads).run(&Make, Hooks::default()).unwrap_err().to_string();
        assert!(error.starts_with("season 50, ") && error.ends_with("on purpose"), "{error}");
        let rule = SelectionRule::new(0.02, 0.05, 20).unwrap();
        let choice = study(100_000, threads).choose(&Make, rule, &|_, _| 0.0, Hooks::default());
        let error = choice.unwrap_err().to_string();
        assert!(error.starts_with("season 50, ") && error.ends_with("on purpose"), "{error}");
    }
}

#[test]
fn a_study_ends_when_it_knows_enough() {
    // The widest interval at a look, of which that before was not narrow enough.
    let widest = |study: &Study| run(study).0.widest().unwrap().half_width;
    let of = |seasons: u64, variants: usize, threads: usize| {
        let mut study = study(seasons, threads);
        study.variants.truncate(variants);
        study
    };
    for variants in [1, 3] {
        let at_most = widest(&of(1600, variants, 2)) + 1e-12;
        let until = |threads: usize| {
            let hooks = Hooks { until: HalfWidth::new(at_most), ..Hooks::default() };
            of(1_000_000, variants, threads).run(&Manager, hooks).unwrap()
        };
        let found = until(1);
        assert!(found.narrow && found.widest().unwrap().half_width <= at_most);
        let looks: Vec<u64> = HalfWidth::looks().take_while(|look| *look < found.seasons).collect();
        for look in looks {
            assert!(widest(&of(look, variants, 2)) > at_most, "{look}");
        }
        for threads in [2, 7] {
            assert_eq!(format!("{found:?}"), format!("{:?}", until(threads)), "{threads} threads");
        }
        // The first so many seasons, and no others.
        let mut prefix = run(&of(found.seasons, variants, 2)).0;
        prefix.narrow = true;
        assert_eq!(found, prefix);
        // Not so many as it would take.
        let hooks = Hooks { until: HalfWidth::new(at_most), ..Hooks::default() };
        let few = of(1300, variants, 2).run(&Manager, hooks).unwrap();
        assert_eq!((few.narrow, few.seasons), (false, 1300));
    }
}

#[test]
fn comparisons_are_those_of_the_seasons() {
    let (found, keep) = run(&study(300, 2));
    assert_eq!(found.comparisons.len(), 2);
    for (of, variant) in found.comparisons.iter().zip(1..) {
        assert_eq!((of.variant, of.pairs, of.years), (variant, 300, false));
        let rows: Vec<usize> = found.variants[0].risks.iter().map(|risk| risk.row).collect();
        assert!(of.rows.iter().map(|row| row.base).filter(|row| rows.contains(row)).count() == rows.len());
        assert!(of.only_base.is_empty() && of.only_variant.is_empty());
        for row in &of.rows {
            let pairs =
                || keep.0.chunks_exact(3).map(|of| (of[0].1.rows[row.base], of[variant].1.rows[row.variant]));
            let only_base = pairs().filter(|(base, other)| base.late && !other.late).count();
            assert_eq!(row.late.only_base, only_base as f64);
            assert_eq!(row.late.pairs(), 300.0);
            let days: f64 =
                pairs().map(|(base, other)| f64::from(other.days_late) - f64::from(base.days_late)).sum();
            assert!((row.days_late.mean() - days / 300.0).abs() < 1e-9);
            let ha: f64 = pairs().map(|(base, other)| other.area_late_ha - base.area_late_ha).sum();
            assert!((row.area_late_ha.mean() - ha / 300.0).abs() < 1e-9);
            let ha_days: f64 = pairs().map(|(base, other)| other.ha_days_late - base.ha_days_late).sum();
            assert!((row.ha_days_late.mean() - ha_days / 300.0).abs() < 1e-9);
        }
    }
    // More suitable land is what the wetter variant lacks.
    assert!(found.comparisons[1].rows[0].late.difference() > 0.0);
}

#[test]
fn swapped_variants_turn_every_sign_to_the_bit() {
    let one = study(200, 2);
    let mut other = one.clone();
    other.variants.swap(0, 1);
    let (one, other) = (run(&one).0, run(&other).0);
    let mut differ = 0;
    for (row, swapped) in one.comparisons[0].rows.iter().zip(&other.comparisons[0].rows) {
        assert_eq!((row.base, row.variant), (swapped.variant, swapped.base));
        assert_eq!(row.late.difference(), -swapped.late.difference());
        assert_eq!(row.late.interval(), (-swapped.late.interval().1, -swapped.late.interval().0));
        for (mean, swapped) in [
            (row.days_late, swapped.days_late),
            (row.area_late_ha, swapped.area_late_ha),
            (row.ha_days_late, swapped.ha_days_late),
        ] {
            assert_eq!(mean.mean(), -swapped.mean());
            let (low, high) = swapped.interval().unwrap();
            assert_eq!(mean.interval(), Some((-high, -low)));
        }
        differ += usize::from(!row.alike());
    }
    assert!(differ > 0);
}

#[test]
fn a_farm_against_itself_never_differs() {
    let mut alike = study(100, 2);
    alike.variants[1] = Variant { name: "again".into(), ..alike.variants[0].clone() };
    let (found, _) = run(&alike);
    assert!(found.comparisons[0].rows.iter().all(|row| row.alike() && !row.late.told_apart()));
    assert!(found.comparisons[0].rows.len() >= 3);
}

#[test]
fn rows_of_one_farm_alone_are_told() {
    let mut spec = mixed();
    spec.crops[0].following.retain(|operation| operation.name != "spraying");
    spec.crops[0].following[0].name = "deep ploughing".into();
    spec.crops[0].following[1].after = vec![link("deep ploughing")];
    let mut farms = study(50, 1);
    farms.variants.truncate(1);
    farms.variants.push(Variant::new("other", Farm::new(&spec).unwrap()).unwrap());
    let (found, _) = run(&farms);
    let name = |variant: usize, row: usize| farms.variants[variant].plan.farm().rows[row].operation.as_str();
    let of = &found.comparisons[0];
    assert_eq!(of.only_base.iter().map(|row| name(0, *row)).collect::<Vec<_>>(), ["ploughing", "spraying"]);
    assert_eq!(of.only_variant.iter().map(|row| name(1, *row)).collect::<Vec<_>>(), ["deep ploughing"]);
    assert!(of.rows.iter().all(|row| name(0, row.base) == name(1, row.variant)));
    assert_eq!(name(0, of.rows[0].base), "drilling");
}
