//! Windows that move with stages: seasons worked by hand, and the law that a moved window is a window with other dates.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

mod common;

use common::*;
use jiff::civil::{Date, date};
use proptest::prelude::*;
use sim_core::farm::spec::*;
use sim_core::farm::{Farm, FarmErrorKind};
use sim_core::kernel::{Log, NoTrace};
use sim_core::season::{DAY, Entry, Manager, Plan, Season, What};
use sim_core::study::{Hooks, Study, Variant};
use sim_core::weather::{MonthDay, Order, Quantity, Record};
use sim_core::weather::{Sky, SkySource, Span, Stage, Weather};

fn stage(name: &str, normally: &str, sd_days: f64) -> StageSpec {
    StageSpec {
        origin: Origin(0),
        name: name.into(),
        normally: normally.parse().unwrap(),
        base_c: 0.0,
        from: "01-01".parse().unwrap(),
        sd_days,
    }
}

/// 25 h of combining at 10 h a day, from 1 August, due on the 3rd, given up after the 6th, moving with ripeness.
///
/// All warmth of a year falls on one day: 31 July 2001, 10 August 2002, 5 August 2003. On 5 August, when a middling year
/// is ripe, two of the three have it: 2001 is 5 days early, 2002 as many late. In all years 28 July, 2 August and 7 to
/// 10 August are wet.
fn harvest() -> FarmSpec {
    let mut record = Record::new(&[Quantity::TemperatureMean, Quantity::Rain]);
    let warm = [date(2001, 7, 31), date(2002, 8, 10), date(2003, 8, 5)];
    let wet = |on: Date| matches!((on.month(), on.day()), (7, 28) | (8, 2 | 7..=10));
    for day in 0..3 * 365 {
        let on = date(2001, 1, 1).saturating_add(jiff::Span::new().days(day));
        let mean_c = if warm.contains(&on) { 40.0 } else { -1.0 };
        record.push(on, &[mean_c, if wet(on) { 5.0 } else { 0.0 }]).unwrap();
    }
    let mut spec = bare(1.0);
    spec.suitable.clear();
    let dry = rule("work", ANY_SOIL, rain_at_most(1.0));
    spec.record = Some(on_record(record, RecordUse::Years(Order::Replay), vec![dry]));
    spec.stages.push(stage("ripeness", "08-05", 0.0));
    spec.people.push(person("driver", &["combine"]));
    spec.machines.push(machine("combine", 1.0));
    spec.outfits.push(outfit("combining", &["combine"]));
    let mut combining = operation("combining", &["combining"], ["08-01", "08-03", "08-06"]);
    combining.moves_with = Some("ripeness".into());
    spec.crops.push(crop("wheat", vec![combining]));
    spec.fields.push(field("Home", 25.0, "wheat"));
    spec
}

/// A day of a season that begins on 1 January 2025, and an hour of it.
fn at(month: i8, day: i8, hour: i64) -> i64 {
    i64::from(date(2025, month, day).day_of_year() - 1) * DAY + hour * 3600
}

#[test]
fn early_and_late_years_have_their_own_windows_and_are_judged_by_them() {
    let variant = Variant::new("as it is", Farm::new(&harvest()).unwrap()).unwrap();
    let stage = &variant.plan.farm().stages[0];
    assert_eq!(
        (stage.normally, &stage.shifts),
        (date(2025, 8, 5), &Stage::Recorded(vec![Some(-5), Some(5), Some(0)]))
    );
    let study = Study { variants: vec![variant], seasons: 3, seed: 1, threads: 1 };
    let mut keep = Keep::default();
    let found = study.run(&Manager, Hooks { sink: Some(&mut keep), ..Hooks::default() }).unwrap();
    let rows: Vec<_> = keep.0.iter().map(|season| season.rows[0]).collect();
    // Early: 27 July, the 29th after a wet day, 5 h on the 30th; due on the 29th.
    assert_eq!((rows[0].finish, rows[0].late, rows[0].days_late), (Some(at(7, 30, 13)), true, 1));
    assert_eq!((rows[0].area_late_ha, rows[0].suitable_days), (5.0, Some(2)));
    // Late: the 6th, then four wet days; due on the 8th, given up at the end of the 11th with 5 ha undone.
    assert_eq!((rows[1].finish, rows[1].late, rows[1].days_late), (None, true, 3));
    assert_eq!((rows[1].area_late_ha, rows[1].area_unfinished_ha), (15.0, 5.0));
    assert_eq!(rows[1].suitable_days, Some(1));
    // Middling: the 1st, the 3rd after a wet day, 5 h on the 4th; due on the 3rd.
    assert_eq!((rows[2].finish, rows[2].late, rows[2].days_late), (Some(at(8, 4, 13)), true, 1));
    // All three are late by their own due day, though one is done by the 3rd, the middling year's.
    let risk = &found.variants[0].risks[0];
    assert_eq!((risk.due, risk.late, risk.p_late()), (None, 3, 1.0));
    assert!((risk.p_done(date(2025, 8, 3).day_of_year() as usize - 1) - 1.0 / 3.0).abs() < 1e-12);
    for (season, opens) in [at(7, 27, 0), at(8, 6, 0), at(8, 1, 0)].into_iter().enumerate() {
        let mut log = Log::<Entry>::default();
        let alone = study.work_one(&Manager, 0, season as u64, &mut log).unwrap();
        assert_eq!(alone, keep.0[season]);
        let opened =
            log.rows.iter().filter(|(_, entry)| entry.what == What::WindowOpens).map(|(now, _)| *now);
        assert_eq!(opened.collect::<Vec<_>>(), [opens]);
    }
}

#[test]
fn what_cannot_move_is_refused() {
    let kind = |change: fn(&mut FarmSpec)| {
        let mut spec = harvest();
        change(&mut spec);
        Farm::new(&spec).unwrap_err().kind
    };
    let unknown = kind(|spec| spec.crops[0].standing[0].moves_with = Some("ripenes".into()));
    assert!(
        matches!(&unknown, FarmErrorKind::Unknown { kind: "stage", like: Some(like), .. } if like == "ripeness")
    );
    // Also where no field has the crop.
    let unused = kind(|spec| {
        let mut other = spec.crops[0].clone();
        other.name = "barley".into();
        other.standing[0].moves_with = Some("heading".into());
        spec.crops.push(other);
    });
    assert_eq!(unused.to_string(), "there is no stage called \"heading\"");
    let backwards = kind(|spec| spec.stages[0].from = "08-05".parse().unwrap());
    assert!(backwards.to_string().contains("a day that is not before `normally`"), "{backwards}");
    let warm = kind(|spec| spec.stages[0].base_c = 40.0);
    assert_eq!(
        warm.to_string(),
        "the stage \"ripeness\": no day of the record from 01-01 to 08-05 is warmer than `base_c`"
    );
}

/// Three operations, one counted from another and one with a fallback, of which two move.
fn moving(windows: &[[MonthDay; 3]; 3], moves: bool) -> FarmSpec {
    let mut spec = bare(0.5);
    spec.drivers[0].persistence = 0.5;
    spec.stages = vec![stage("jointing", "04-20", 8.0), stage("ripeness", "08-05", 6.0)];
    spec.people.push(person("Ann", &["tractor", "second tractor"]));
    spec.people.push(person("Bob", &["second tractor"]));
    spec.machines.push(machine("tractor", 1.0));
    spec.machines.push(machine("second tractor", 1.5));
    spec.outfits.push(outfit("first", &["tractor"]));
    spec.outfits.push(outfit("second", &["second tractor"]));
    let operation = |name: &str, outfit: &str, window: [MonthDay; 3], stage: Option<&str>| OperationSpec {
        moves_with: stage.filter(|_| moves).map(Into::into),
        ..operation(name, &[outfit], window.map(|day| day.to_string()).each_ref().map(String::as_str))
    };
    let spraying = operation("spraying", "second", windows[0], Some("jointing"));
    let mut combining = operation("combining", "first", windows[1], Some("ripeness"));
    combining.after.push(LinkSpec { required: false, ..link("spraying") });
    let mut baling = operation("baling", "second", windows[1], None);
    let after = |days| When::DaysAfter { operation: "combining".into(), days };
    (baling.from, baling.due, baling.latest) = (after(0), after(3), Some(after(9)));
    let ploughing = operation("ploughing", "first", windows[2], None);
    let mut wheat = crop("wheat", vec![spraying, combining, baling]);
    let mut drilling = operation("drilling", "second", windows[1], Some("ripeness"));
    drilling.fallback_crop = Some("barley".into());
    wheat.following = vec![drilling];
    let mut barley = crop("barley", Vec::new());
    barley.following = vec![OperationSpec {
        moves_with: Some("ripeness".into()).filter(|_| moves),
        ..operation("late drilling", "second", windows[2], Some("ripeness"))
    }];
    let mut oats = crop("oats", Vec::new());
    oats.following = vec![ploughing];
    spec.crops = vec![wheat, barley, oats];
    for (name, area_ha) in [("North", 38.0), ("South", 27.0), ("West", 22.0)] {
        let following = if name == "West" { "oats" } else { "wheat" };
        spec.fields.push(FieldSpec { following: Some(following.into()), ..field(name, area_ha, "wheat") });
    }
    spec
}

/// Windows as days of the season.
fn windows() -> impl Strategy<Value = [[u32; 3]; 3]> {
    let one = (0u32..365, 0u32..30, 0u32..30)
        .prop_map(|(from, due, latest)| [from, (from + due).min(364), (from + due + latest).min(364)]);
    [one.clone(), one.clone(), one]
}

fn dates(windows: [[u32; 3]; 3]) -> [[MonthDay; 3]; 3] {
    let span = Span::new(date(2025, 1, 1), date(2025, 12, 31)).unwrap();
    windows.map(|window| window.map(|day| MonthDay::of(span.date(day))))
}

proptest! {
    /// A season whose stages are shifted is the season of a farm that was told the shifted dates, to the second: each
    /// date at most as early as the first day and as late as the last.
    #[test]
    fn a_moved_window_is_a_window_with_other_dates(
        windows in windows(), early in -45i32..=45, late in -45i32..=45, season in 0u64..1000
    ) {
        let mut farm = Farm::new(&moving(&dates(windows), true)).unwrap();
        for stage in &mut farm.stages {
            let days = if stage.name == "jointing" { early } else { late };
            stage.shifts = Stage::Recorded(vec![Some(days as i16)]);
        }
        let by = |shift: i32, window: [u32; 3]| window.map(|day| (day as i32 + shift).clamp(0, 364) as u32);
        // The plough and the late drilling have one window, of which only the latter's moves.
        let mut told = moving(&dates([by(early, windows[0]), by(late, windows[1]), windows[2]]), false);
        let barley = &mut told.crops[1].following[0];
        let [from, due, latest] = dates([by(late, windows[2]); 3])[0].map(When::Date);
        (barley.from, barley.due, barley.latest) = (from, due, Some(latest));
        let told = Farm::new(&told).unwrap();
        let weather = Weather::new(&told.weather).unwrap();
        let (moved, told) = (Plan::new(farm), Plan::new(told));
        let mut sky = Sky::default();
        weather.draw(9, season, &mut sky);
        let mut expected = Season::new(&told);
        let want = expected.work(season, &sky, &mut Manager).unwrap().clone();
        sky.set_source(SkySource::Recorded { year: 0 });
        let mut found = Season::new(&moved);
        // A season before must leave nothing behind.
        sky.set_source(SkySource::Given);
        found.work(season, &sky, &mut Manager).unwrap();
        sky.set_source(SkySource::Recorded { year: 0 });
        let outcome = found.work(season, &sky, &mut Manager).unwrap().clone();
        prop_assert_eq!(&outcome.rows, &want.rows);
        prop_assert_eq!(&outcome.use_s, &want.use_s);
        prop_assert!(found.accounts().eq(expected.accounts()));
    }
}

#[test]
fn drawn_stages_are_the_same_alone_and_in_any_batch() {
    let windows = dates([[100, 115, 130], [210, 222, 240], [280, 300, 330]]);
    let variant =
        |name: &str, moves| Variant::new(name, Farm::new(&moving(&windows, moves)).unwrap()).unwrap();
    let variants = vec![variant("moves", true), variant("stays", false)];
    let study = Study { variants, seasons: 150, seed: 4, threads: 1 };
    let worked = |threads| {
        let mut keep = Keep::default();
        let study = Study { threads, ..study.clone() };
        let found = study.run(&Manager, Hooks { sink: Some(&mut keep), ..Hooks::default() }).unwrap();
        (found, keep.0)
    };
    let (found, outcomes) = worked(1);
    assert_eq!((&found, &outcomes), (&worked(2).0, &worked(7).1));
    for (index, outcome) in outcomes.iter().enumerate() {
        let (season, variant) = (index as u64 / 2, index % 2);
        assert_eq!(study.work_one(&Manager, variant, season, &mut NoTrace).unwrap(), *outcome);
    }
    // Same skies, same farm but for the windows: some seasons differ, and each variant's lateness is what its rows say.
    assert!(outcomes.chunks(2).filter(|pair| pair[0].rows != pair[1].rows).count() > 100);
    for (variant, found) in found.variants.iter().enumerate() {
        for risk in &found.risks {
            let late =
                outcomes.iter().skip(variant).step_by(2).filter(|season| season.rows[risk.row].late).count();
            assert_eq!(risk.late, late as u64);
        }
    }
}

/// A table fitted to a record moves a stage by as much as the record's years differ, unless it is said by how much.
#[test]
fn a_fitted_table_moves_a_stage_as_far_as_the_record_does() {
    let of = |sd_days: f64| {
        let mut spec = harvest();
        if let Some(record) = &mut spec.record {
            record.serves_as = RecordUse::Table;
        }
        spec.stages[0].sd_days = sd_days;
        Farm::new(&spec).unwrap().stages[0].shifts.clone()
    };
    // The three years are 5 days early, 5 late and in the middle.
    assert_eq!(of(0.0), Stage::Drawn { sd_days: 5.0, year: 0 });
    assert_eq!(of(2.5), Stage::Drawn { sd_days: 2.5, year: 0 });
}
