//! Laws of the steps: whatever the farm, a step makes a farm that can be, and more of anything makes a lone job no later.

mod common;

use common::*;
use proptest::prelude::*;
use sim_core::farm::Farm;
use sim_core::farm::spec::*;
use sim_core::farm::steps::{self, Step};
use sim_core::season::{DayView, Manager, Outcome, Plan, Policy, PolicyError, Season};
use sim_core::study::relief::{RankBy, choose};
use sim_core::study::{Hooks, Study, Variant};
use sim_core::weather::{MonthDay, Sky};

/// All steps that there are for a farm.
fn all_steps(spec: &FarmSpec) -> Vec<Step> {
    let (from, to): (MonthDay, MonthDay) = ("01-05".parse().unwrap(), "02-20".parse().unwrap());
    let machines = (0..spec.machines.len())
        .flat_map(|index| [steps::one_more_machine(spec, index), steps::one_metre_wider(spec, index)]);
    let people = (0..spec.people.len())
        .flat_map(|index| [steps::one_more_person(spec, index), steps::casual(spec, index, from, to)]);
    let hours = [steps::more_overtime(spec), steps::week_ends(spec)];
    let crops = spec.crops.iter().flat_map(|crop| {
        let operations = crop.standing.iter().chain(&crop.following);
        let hired = operations.map(|operation| steps::contractor(spec, &crop.name, &operation.name));
        let tilled = steps::other_tillage(crop).into_iter().map(|way| steps::tillage(spec, &crop.name, way));
        let swapped = spec.crops.iter().map(|other| steps::crop_mix(spec, &crop.name, &other.name));
        hired.chain(tilled).chain(swapped).collect::<Vec<_>>()
    });
    machines.chain(people).chain(hours).chain(crops).flatten().collect()
}

/// All overtime every day, so that whoever is ahead does not rest for it.
struct AllOut;

impl Policy for AllOut {
    fn overtime_h(&mut self, _day: &DayView<'_>) -> Result<f64, PolicyError> {
        Ok(f64::INFINITY)
    }
}

fn work(farm: Farm, days: &[bool]) -> Outcome {
    let sky = Sky::from_days(&vec![days.to_vec(); farm.weather.keys.len()]);
    let plan = Plan::new(farm);
    Season::new(&plan).work(0, &sky, &mut AllOut).unwrap().clone()
}

/// One job of a tractor and a mower, on the road too, with hours, overtime and week-ends as they come.
fn one_job(area_ha: f64, start: u8, length: u8, overtime_h: u8, distance_km: u8, weekdays: u8) -> FarmSpec {
    let mut spec = bare(0.5);
    spec.last_day = spec.first_day.saturating_add(jiff::Span::new().days(79));
    let mut driver = person("driver", &["tractor"]);
    driver.hours = vec![hours(f64::from(start), f64::from(start + length))];
    driver.hours[0].weekdays = weekdays;
    driver.overtime_h = f64::from(overtime_h);
    spec.people.push(driver);
    spec.machines.push(MachineSpec {
        work_rate_ha_h: None,
        road_speed_km_h: Some(20.0),
        ..machine("tractor", 1.0)
    });
    spec.machines.push(MachineSpec {
        needs_driver: false,
        work_rate_ha_h: None,
        width_m: Some(2.0),
        speed_km_h: Some(8.0),
        efficiency: Some(0.7),
        ..machine("mower", 1.0)
    });
    spec.outfits
        .push(OutfitSpec { units: vec![vec!["tractor".into(), "mower".into()]], ..outfit("mowing", &[]) });
    spec.crops.push(crop("grass", vec![operation("mowing", &["mowing"], ["01-06", "01-25", "02-20"])]));
    let mut home = field("Home", area_ha, "grass");
    home.distance_km = f64::from(distance_km);
    spec.fields.push(home);
    spec
}

/// When a lone job is done: never is later than any day.
fn done(outcome: &Outcome) -> (i64, bool) {
    (outcome.rows[0].finish.unwrap_or(i64::MAX), outcome.rows[0].late)
}

proptest! {
    #[test]
    fn more_of_anything_makes_a_lone_job_no_later(
        area_ha in 1.0..120.0f64,
        (start, length, overtime_h) in (4u8..12, 2u8..10, 0u8..4),
        distance_km in 0u8..9,
        weekdays in 1u8..=255,
        days in prop::collection::vec(prop::bool::weighted(0.6), 80),
    ) {
        let spec = one_job(area_ha, start, length, overtime_h, distance_km, weekdays);
        let base = Farm::new(&spec).unwrap();
        let (finish, late) = done(&work(base.clone(), &days));
        let more = all_steps(&spec).into_iter().map(|step| (step.name.clone(), Farm::new(&step.farm).unwrap()));
        let mut seen = 0;
        for (name, farm) in more.chain([("plenty".to_string(), base.with_plenty())]) {
            let (other, other_late) = done(&work(farm, &days));
            prop_assert!(other <= finish && other_late <= late, "{name}: {other} against {finish}");
            seen += 1;
        }
        prop_assert!(seen >= 7);
    }
}

/// What the farm has of each name is found again, and only that was changed.
#[test]
fn a_step_changes_what_it_says_and_nothing_else() {
    let spec = one_job(20.0, 7, 8, 1, 3, 0b1001_1111);
    let step = steps::one_more_machine(&spec, 1).unwrap();
    assert_eq!(step.name, "one more mower");
    assert_eq!(step.farm.machines[1].count, 2);
    let wider = steps::one_metre_wider(&spec, 1).unwrap();
    assert_eq!((wider.name.as_str(), wider.farm.machines[1].width_m), ("mower 1 m wider (3 m)", Some(3.0)));
    assert_eq!(steps::one_metre_wider(&spec, 0), None);
    let casual = steps::casual(&spec, 0, "01-16".parse().unwrap(), "02-15".parse().unwrap()).unwrap();
    assert_eq!(casual.name, "a casual from 16 Jan to 15 Feb");
    let farm = Farm::new(&casual.farm).unwrap();
    let on: Vec<u32> = (0..80).filter(|day| farm.people[1].hours.seconds_on(*day) > 0).collect();
    // 16 January is day 15, a Thursday of 2025; 15 February is a Saturday.
    assert_eq!((on.first(), on.last()), (Some(&15), Some(&44)));
    assert_eq!(farm.people[1].overtime_s, 0);
    let week_ends = steps::week_ends(&spec).unwrap();
    assert_eq!(week_ends.farm.people[0].hours[0].weekdays, 0b1111_1111);
    assert_eq!(steps::week_ends(&week_ends.farm), None);
    for mut step in [step, wider, casual, week_ends] {
        step.farm.machines.clone_from(&spec.machines);
        step.farm.people.clone_from(&spec.people);
        assert_eq!(step.farm, spec);
    }
}

#[test]
fn a_quarter_of_a_crop_goes_in_whole_fields() {
    let mut spec = one_job(20.0, 7, 8, 1, 3, 255);
    spec.crops.push(crop("clover", vec![operation("mowing", &["mowing"], ["01-06", "01-25", "02-20"])]));
    spec.fields = (0..8).map(|index| field(&format!("field {index}"), 10.0, "grass")).collect();
    let step = steps::crop_mix(&spec, "grass", "clover").unwrap();
    let clover = step.farm.fields.iter().filter(|field| field.standing.as_deref() == Some("clover")).count();
    assert_eq!(clover, 2);
    assert!(step.assumes.starts_with("20 ha of what stands and 0 ha of what follows"), "{}", step.assumes);
    assert_eq!(steps::crop_mix(&spec, "clover", "grass"), None);
    assert_eq!(steps::crop_mix(&spec, "grass", "grass"), None);
}

/// A farm of one machine too few: the machine is what is chosen and what helps, and with everything nothing waits for it.
#[test]
fn what_is_short_is_found() {
    let mut spec = one_job(60.0, 7, 10, 0, 0, 255);
    spec.suitable[0].p_suitable = 0.9;
    spec.fields = (0..4).map(|index| field(&format!("field {index}"), 50.0, "grass")).collect();
    spec.people.push(PersonSpec { name: "other driver".into(), ..spec.people[0].clone() });
    spec.machines[0].count = 2;
    let base = Farm::new(&spec).unwrap();
    let study = |variants, seasons| Study { variants, seasons, seed: 1, threads: 2 };
    let as_it_is = Variant::new("as it is", base.clone()).unwrap();
    let seen = study(vec![as_it_is.clone()], 300).run(&Manager, Hooks::default()).unwrap();
    let chosen = choose(&spec, &as_it_is.plan, &seen.variants[0], RankBy::LateOperations, false);
    let names: Vec<&str> = chosen.steps.iter().map(|(step, _)| step.name.as_str()).collect();
    assert!(names.contains(&"one more mower") && names.contains(&"mower 1 m wider (3 m)"), "{names:?}");
    let mut variants = vec![as_it_is, Variant::new("plenty", base.with_plenty()).unwrap()];
    let farm = |name: &str| chosen.steps.iter().find(|(step, _)| step.name == name).unwrap().1.clone();
    for name in ["one more mower", "one more tractor"] {
        variants.push(Variant::new(name, farm(name)).unwrap());
    }
    let found = study(variants, 300).run(&Manager, Hooks::default()).unwrap();
    let late: Vec<f64> = found.variants.iter().map(|of| of.whole.late_operations.mean()).collect();
    // 200 ha at 1.12 ha/h are 18 days of 10 h, of some 18 suitable ones; by two mowers 9.
    let [as_it_is, plenty, mower, tractor] = <[f64; 4]>::try_from(late).unwrap();
    assert!(
        plenty <= mower && mower <= as_it_is && tractor == as_it_is,
        "{as_it_is} {plenty} {mower} {tractor}"
    );
    assert_eq!(found.variants[1].risks[0].wait_hours_mean(sim_core::season::Cause::Machine), 0.0);
    assert_eq!(found.variants[1].risks[0].wait_hours_mean(sim_core::season::Cause::People), 0.0);
}

/// A farm on which nothing is late has no step worth trying.
#[test]
fn nothing_late_is_nothing_to_choose() {
    let spec = one_job(1.0, 7, 10, 0, 0, 255);
    let variant = Variant::new("as it is", Farm::new(&spec).unwrap()).unwrap();
    let study = Study { variants: vec![variant.clone()], seasons: 50, seed: 1, threads: 1 };
    let seen = study.run(&Manager, Hooks::default()).unwrap();
    let chosen = choose(&spec, &variant.plan, &seen.variants[0], RankBy::LateOperations, false);
    assert!(chosen.steps.is_empty() && chosen.untried.is_empty());
}
