//! Seasons that are recorded years, small enough to be worked by hand: what a policy knows of the soil.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

mod common;

use common::*;
use jiff::civil::date;
use sim_core::farm::Farm;
use sim_core::farm::spec::*;
use sim_core::kernel::NoTrace;
use sim_core::season::{Cause, DAY, DayView, JobView, Manager, Outcome, Policy, PolicyError};
use sim_core::study::{Hooks, PolicyMaker, Study, Variant};
use sim_core::weather::{Drainage, Order, Quantity, Record};

/// Deficits of moderately drained soil at the close of 28 February and of the first days of March: one year that
/// begins wet, and one that is dry.
const WET: [f64; 6] = [2.0, 4.0, 6.0, 7.0, 8.0, 9.0];
const DRY: [f64; 6] = [30.0; 6];

/// A farm whose season is 1 to 10 March and whose weather is the years 2001 (wet) to 2003 (dry), every day suitable:
/// 15 h of drilling at 10 h a day.
fn farm(order: Order) -> FarmSpec {
    let mut record = Record::new(&[Quantity::Rain, Quantity::DeficitModerate]);
    let (first, last) = (date(2001, 2, 28), date(2003, 3, 10));
    for day in 0..=(last - first).get_days() {
        let on = first.saturating_add(jiff::Span::new().days(day));
        let of_year = if on.year() == 2001 { WET } else { DRY };
        let close = usize::try_from((on - date(on.year(), 2, 28)).get_days()).unwrap_or(0);
        record.push(on, &[0.5, of_year[close.min(5)]]).unwrap();
    }
    let mut spec = bare(1.0);
    (spec.first_day, spec.last_day) = (date(2025, 3, 1), date(2025, 3, 10));
    spec.suitable.clear();
    let dry = rule("work", ANY_SOIL, rain_at_most(1.0));
    spec.record = Some(on_record(record, RecordUse::Years(order), vec![dry]));
    spec.people.push(person("driver", &["drill"]));
    spec.machines.push(machine("drill", 1.0));
    spec.outfits.push(outfit("drilling", &["drill"]));
    spec.crops.push(crop("barley", vec![operation("drilling", &["drilling"], ["03-01", "03-02", "03-10"])]));
    spec.fields.push(field("Home", 15.0, "barley"));
    spec
}

/// Leaves the land alone while its deficit at yesterday's close is below 5 mm.
#[derive(Clone, Copy)]
struct WaitsForTheSoil;

impl Policy for WaitsForTheSoil {
    fn hold(&mut self, job: &JobView<'_>) -> Result<bool, PolicyError> {
        let yesterday = job.yesterday.ok_or_else(|| PolicyError("there is no record".into()))?;
        // Half a millimetre a day; the record begins with 28 February 2001.
        assert_eq!(yesterday.rain_mm(1), Some(0.5));
        assert_eq!((yesterday.topsoil_mm(), yesterday.deficit_mm(Drainage::Poor)), (None, None));
        Ok(yesterday.deficit_mm(Drainage::Moderate).is_some_and(|deficit_mm| deficit_mm < 5.0))
    }

    fn overtime_h(&mut self, day: &DayView<'_>) -> Result<f64, PolicyError> {
        assert!(day.yesterday.is_some_and(|yesterday| yesterday.deficit_mm(Drainage::Moderate).is_some()));
        Ok(0.0)
    }
}

impl PolicyMaker for WaitsForTheSoil {
    type Policy = Self;

    fn make(&self, _variant: usize) -> Self {
        *self
    }
}

fn study(order: Order, seasons: u64, threads: usize) -> Study {
    let variant = Variant::new("as it is", Farm::new(&farm(order)).unwrap()).unwrap();
    Study { variants: vec![variant], seasons, seed: 3, threads }
}

fn worked<M: PolicyMaker>(study: &Study, maker: &M) -> Vec<Outcome> {
    let mut keep = Keep::default();
    study.run(maker, Hooks { sink: Some(&mut keep), ..Hooks::default() }).unwrap();
    keep.0
}

fn at(day: i64, hour: f64) -> Option<i64> {
    Some(day * DAY + (hour * 3600.0) as i64)
}

/// In the wet year the deficit at yesterday's close is 2 mm on 1 March, 4 mm on the 2nd and 6 mm on the 3rd: drilling
/// begins on the 3rd and ends on the 4th at 13:00, two days late. In dry years, and with a manager who does not look,
/// it ends on the 2nd.
#[test]
fn a_policy_that_waits_for_the_soil_drills_when_yesterdays_deficit_allows() {
    let study = study(Order::Replay, 3, 1);
    let ends = |outcomes: &[Outcome]| outcomes.iter().map(|of| of.rows[0].finish).collect::<Vec<_>>();
    let waits = worked(&study, &WaitsForTheSoil);
    assert_eq!(ends(&waits), [at(3, 13.0), at(1, 13.0), at(1, 13.0)]);
    assert_eq!(waits.iter().map(|of| of.rows[0].days_late).collect::<Vec<_>>(), [2, 0, 0]);
    assert_eq!(waits[0].rows[0].waits_s[Cause::Policy as usize], 2 * 10 * 3600);
    assert_eq!(ends(&worked(&study, &Manager)), [at(1, 13.0); 3]);
}

#[test]
fn under_resampled_years_each_season_knows_the_soil_of_its_own_year() {
    let study = study(Order::Resample, 200, 3);
    let outcomes = worked(&study, &WaitsForTheSoil);
    let recorded = study.variants[0].weather.recorded().unwrap();
    let mut wet = 0;
    for (season, outcome) in outcomes.iter().enumerate() {
        let is_wet = recorded.year_of(study.seed, season as u64) == 2001;
        wet += usize::from(is_wet);
        assert_eq!(outcome.rows[0].finish, if is_wet { at(3, 13.0) } else { at(1, 13.0) }, "season {season}");
        let alone = study.work_one(&WaitsForTheSoil, 0, season as u64, &mut NoTrace).unwrap();
        assert_eq!(alone, *outcome, "season {season} alone");
    }
    assert!((40..=95).contains(&wet), "{wet} of 200 seasons are the one wet year of three");
    let one_thread = Study { threads: 1, ..study.clone() };
    assert_eq!(worked(&one_thread, &WaitsForTheSoil), outcomes);
}

#[test]
fn a_table_has_no_soil() {
    let mut spec = farm(Order::Replay);
    (spec.suitable, spec.record) = (bare(1.0).suitable, None);
    let variant = Variant::new("as it is", Farm::new(&spec).unwrap()).unwrap();
    let study = Study { variants: vec![variant], seasons: 1, seed: 3, threads: 1 };
    let error = study.run(&WaitsForTheSoil, Hooks::default()).unwrap_err().to_string();
    assert_eq!(error, "season 0, 2025-03-01: the policy failed: there is no record");
}

/// Recorded years are clusters: worked ten times over they are as many pairs as worked once, and say the same.
#[test]
fn differences_rest_on_the_years_and_not_on_the_seasons() {
    // A drill of 0.5 ha/h is late in every year; held in the wet year, so is one of 1 ha/h.
    let found = |order, seasons| {
        let mut slow = farm(order);
        slow.machines[0].work_rate_ha_h = Some(0.5);
        let variants = [("base", farm(order)), ("slow", slow)]
            .map(|(name, spec)| Variant::new(name, Farm::new(&spec).unwrap()).unwrap());
        let study = Study { variants: variants.to_vec(), seasons, seed: 1, threads: 2 };
        study.run(&WaitsForTheSoil, Hooks::default()).unwrap().comparisons
    };
    let once = found(Order::Replay, 3);
    let row = once[0].rows[0];
    assert_eq!((once[0].pairs, once[0].years), (3, true));
    assert_eq!(
        (row.late.both, row.late.only_variant, row.late.only_base, row.late.neither),
        (1.0, 2.0, 0.0, 0.0)
    );
    // Neither a whole number of times nor the order of the draw matters; sums of many seasons round in their last bit.
    for other in [found(Order::Replay, 30), found(Order::Replay, 100), found(Order::Resample, 200)] {
        let again = other[0].rows[0];
        assert_eq!((other[0].pairs, other[0].years), (3, true));
        assert_eq!((again.late, again.days_late), (row.late, row.days_late));
        assert!((again.area_late_ha.mean() - row.area_late_ha.mean()).abs() < 1e-12);
        assert!((again.ha_days_late.mean() - row.ha_days_late.mean()).abs() < 1e-12);
    }
}
