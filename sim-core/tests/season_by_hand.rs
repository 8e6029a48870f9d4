//! Seasons small enough to be worked by hand, each protecting one rule of the season.

mod common;
mod worked;

use common::*;
use sim_core::farm::spec::*;
use sim_core::farm::{Farm, Missed};
use sim_core::season::{Cause, Manager, Plan, What};
use sim_core::weather::{Loses, Sky};
use worked::*;

/// Works a farm under a sky on which `suitable` says which days suit every class.
fn work(spec: &FarmSpec, suitable: impl Fn(usize) -> bool) -> Worked {
    let plan = Plan::new(Farm::new(spec).unwrap());
    let sky = sky_of(plan.farm(), suitable);
    work_under(&plan, &mut Manager, &sky)
}

/// A farm's season under a sky whose days all suit, with the hours that a class's days have.
fn work_short(spec: &FarmSpec, hours: impl Fn(usize) -> f64) -> Worked {
    let plan = Plan::new(Farm::new(spec).unwrap());
    let weather = &plan.farm().weather;
    let mut sky = Sky::from_days(&vec![vec![true; weather.span_days]; weather.keys.len()]);
    for key in 0..weather.keys.len() {
        (0..weather.span_days).for_each(|day| sky.set_minutes(key, day, (hours(day) * 60.0) as u16));
    }
    work_under(&plan, &mut Manager, &sky)
}

/// One machine of 1 ha/h, one driver from 8 to 18 h.
fn one_machine(p: f64) -> FarmSpec {
    let mut spec = bare(p);
    spec.people.push(person("driver", &["mower"]));
    spec.machines.push(machine("mower", 1.0));
    spec.outfits.push(outfit("mowing", &["mower"]));
    spec
}

#[test]
fn a_job_takes_its_hours_overnight_and_over_wet_days() {
    let mut spec = one_machine(1.0);
    spec.crops.push(crop("grass", vec![operation("mowing", &["mowing"], ["01-01", "01-03", "01-31"])]));
    spec.fields.push(field("Home", 25.0, "grass"));
    // 25 h of work at 10 h a day; the second day is wet.
    let worked = work(&spec, |day| day != 1);
    assert_eq!(worked.outcome.rows[0].finish, Some(at(3, 13.0)));
    let row = &worked.outcome.rows[0];
    assert!(row.late);
    assert_eq!((row.days_late, row.suitable_days), (1, Some(2)));
    assert_eq!(row.area_late_ha, 5.0);
    // Undone 5 ha from midnight to 8:00, then falling to nothing in 5 hours.
    assert!((row.ha_days_late - (5.0 * 8.0 + 5.0 * 5.0 / 2.0) / 24.0).abs() < 1e-12);
    let account = &worked.accounts[0];
    assert_eq!(account.work_s, 25 * 3600);
    assert_eq!(account.waits_s[Cause::Weather as usize], 10 * 3600);
    assert_eq!(account.waits_s[Cause::ClosedHours as usize], (3 * 14 + 8) * 3600);
    assert_eq!(row.waits_s[Cause::Weather as usize], 10 * 3600);
    assert_eq!(row.waits_s[Cause::ClosedHours as usize], (3 * 14 + 8) * 3600);
}

#[test]
fn what_is_left_at_latest_is_not_done() {
    let mut spec = one_machine(1.0);
    spec.crops.push(crop("grass", vec![operation("mowing", &["mowing"], ["01-01", "01-02", "01-04"])]));
    spec.fields.push(field("Home", 50.0, "grass"));
    let worked = work(&spec, |_| true);
    let row = &worked.outcome.rows[0];
    assert_eq!((row.finish, row.late, row.days_late), (None, true, 2));
    assert_eq!((row.area_late_ha, row.area_unfinished_ha), (30.0, 10.0));
}

#[test]
fn travel_counts_from_the_yard_each_morning() {
    let mut spec = one_machine(1.0);
    spec.machines[0].road_speed_km_h = Some(20.0);
    spec.crops.push(crop("grass", vec![operation("mowing", &["mowing"], ["01-01", "01-20", "01-31"])]));
    let mut home = field("Home", 12.0, "grass");
    home.distance_km = 5.0;
    spec.fields.push(home);
    let worked = work(&spec, |_| true);
    // 15 minutes out: 9.75 h on the first day, 2.25 h on the second after another 15 minutes.
    assert_eq!(worked.outcome.rows[0].finish, Some(at(1, 10.5)));
    assert_eq!(worked.accounts[0].travel_s, 1800);
}

#[test]
fn one_outfit_does_one_field_after_another_and_the_second_waits_for_people() {
    let mut spec = one_machine(1.0);
    spec.crops.push(crop("grass", vec![operation("mowing", &["mowing"], ["01-01", "01-20", "01-31"])]));
    spec.fields.push(field("Far", 5.0, "grass"));
    spec.fields.push(field("Near", 5.0, "grass"));
    spec.fields[0].distance_km = 4.0;
    let worked = work(&spec, |_| true);
    // The nearest first; then 4 km at 25 km/h (576 s), so that much is left for the next morning, when
    // the way counts again.
    assert_eq!(worked.accounts[1].finish, Some(at(0, 13.0)));
    assert_eq!(worked.accounts[0].finish, Some(at(1, 8.0) + 2 * 576));
    assert_eq!(worked.accounts[0].waits_s[Cause::People as usize], 5 * 3600);
}

#[test]
fn a_follower_enters_after_its_area_and_never_overtakes() {
    let mut spec = bare(1.0);
    spec.people.push(person("one", &["plough"]));
    spec.people.push(person("two", &["drill"]));
    spec.machines.push(machine("plough", 1.0));
    spec.machines.push(machine("drill", 2.0));
    spec.outfits.push(outfit("ploughing", &["plough"]));
    spec.outfits.push(outfit("drilling", &["drill"]));
    let plough = operation("ploughing", &["ploughing"], ["01-01", "01-20", "01-31"]);
    let mut drill = operation("drilling", &["drilling"], ["01-01", "01-20", "01-31"]);
    drill.after.push(LinkSpec { follow_ha: Some(4.0), ..link("ploughing") });
    spec.crops.push(crop("wheat", vec![plough, drill]));
    spec.fields.push(field("Home", 9.0, "wheat"));
    let worked = work(&spec, |_| true);
    let starts: Vec<i64> = worked
        .log
        .iter()
        .filter(|(_, entry)| entry.job == 1 && entry.what == What::Starts)
        .map(|(now, _)| *now)
        .collect();
    // In at 4 ha (12:00); both at 8 ha at 16:00; the plough is done at 17:00 and the drill goes on.
    assert_eq!(starts, [at(0, 12.0), at(0, 17.0)]);
    assert_eq!(worked.accounts[1].finish, Some(at(0, 17.5)));
    assert_eq!(worked.accounts[1].waits_s[Cause::Predecessor as usize], (4 + 1) * 3600);
}

#[test]
fn a_follower_does_not_pass_work_whose_outfit_has_gone() {
    let mut spec = bare(1.0);
    spec.people.push(PersonSpec { hours: vec![hours(8.0, 12.0)], ..person("one", &["plough"]) });
    spec.people.push(person("two", &["drill"]));
    spec.machines.push(machine("plough", 1.0));
    spec.machines.push(machine("drill", 0.75));
    spec.outfits.push(outfit("ploughing", &["plough"]));
    spec.outfits.push(outfit("drilling", &["drill"]));
    let plough = operation("ploughing", &["ploughing"], ["01-01", "01-20", "01-31"]);
    let mut drill = operation("drilling", &["drilling"], ["01-01", "01-20", "01-31"]);
    drill.after.push(LinkSpec { follow_ha: Some(2.0), ..link("ploughing") });
    spec.crops.push(crop("wheat", vec![plough, drill]));
    spec.fields.push(field("Home", 6.0, "wheat"));
    let worked = work(&spec, |_| true);
    let drill: Vec<(i64, What)> = worked
        .log
        .iter()
        .filter(|(_, entry)| entry.job == 1)
        .map(|(now, entry)| (*now, entry.what))
        .collect();
    // In at 2 ha (10:00). The plough stops at 12:00 with 4 ha; the drill has done these at 15:20. Next day the
    // plough has its last 2 ha done at 10:00, when the drill may go on to the end.
    assert_eq!(
        drill,
        [
            (0, What::WindowOpens),
            (at(0, 10.0), What::Starts),
            (at(0, 15.0) + 20 * 60, What::Stops),
            (at(1, 10.0), What::Starts),
            (at(1, 12.0) + 40 * 60, What::Done),
        ]
    );
}

#[test]
fn undone_area_drops_out_of_required_work_and_frees_optional_work() {
    let mut spec = one_machine(1.0);
    let plough = operation("ploughing", &["mowing"], ["01-01", "01-01", "01-01"]);
    let mut drill = operation("drilling", &["mowing"], ["01-02", "01-20", "01-31"]);
    drill.after.push(link("ploughing"));
    let mut roll = operation("rolling", &["mowing"], ["01-02", "01-20", "01-31"]);
    roll.after.push(LinkSpec { required: false, ..link("ploughing") });
    spec.crops.push(crop("wheat", vec![plough, drill, roll]));
    spec.fields.push(field("Home", 15.0, "wheat"));
    let worked = work(&spec, |_| true);
    let [plough, drill, roll] = &worked.outcome.rows[..] else { panic!("three rows") };
    assert_eq!((plough.finish, plough.area_unfinished_ha), (None, 5.0));
    assert_eq!((drill.finish, drill.area_unfinished_ha), (None, 5.0));
    assert_eq!(worked.accounts[1].work_s, 10 * 3600);
    assert!(roll.finish.is_some());
    assert_eq!(worked.accounts[2].work_s, 15 * 3600);
}

#[test]
fn a_window_follows_the_work_that_dates_it() {
    let mut spec = one_machine(1.0);
    let drill = operation("drilling", &["mowing"], ["01-05", "01-20", "01-31"]);
    let mut spray = operation("pre-emergence spray", &["mowing"], ["01-01", "01-01", "01-01"]);
    let after = |days| When::DaysAfter { operation: "drilling".into(), days };
    (spray.from, spray.due, spray.latest) = (after(3), after(7), Some(after(9)));
    spec.crops.push(crop("wheat", vec![drill, spray]));
    spec.fields.push(field("Home", 8.0, "wheat"));
    // Drilled on 5 January (day 4); days 7 to 12 are wet.
    let worked = work(&spec, |day| !(7..=12).contains(&day));
    assert_eq!(worked.accounts[0].finish, Some(at(4, 16.0)));
    assert_eq!(worked.accounts[1].ready, Some(at(7, 0.0)));
    let spray = &worked.outcome.rows[1];
    assert_eq!((spray.finish, spray.late, spray.days_late), (Some(at(13, 16.0)), true, 2));
}

#[test]
fn a_missed_maximum_lag_repeats_the_earlier_work() {
    let mut spec = one_machine(1.0);
    let harrow = operation("harrowing", &["mowing"], ["01-01", "01-20", "01-31"]);
    let mut drill = operation("drilling", &["mowing"], ["01-10", "01-20", "01-31"]);
    drill.after.push(LinkSpec { max_lag_days: Some(5), if_missed: Missed::Repeat, ..link("harrowing") });
    spec.crops.push(crop("wheat", vec![harrow, drill]));
    spec.fields.push(field("Home", 8.0, "wheat"));
    let worked = work(&spec, |_| true);
    // Harrowed on day 0, again on day 6 (and 12 does not come: drilling starts on day 9).
    assert_eq!(worked.accounts[0].finish, Some(at(6, 16.0)));
    assert_eq!(worked.accounts[0].work_s, 16 * 3600);
    assert_eq!(worked.accounts[1].finish, Some(at(9, 16.0)));
    assert_eq!(worked.outcome.rows[1].missed_lags, 1);
}

#[test]
fn abandoned_winter_ground_goes_to_a_spring_crop() {
    let mut spec = one_machine(1.0);
    let mut wheat = crop("wheat", Vec::new());
    wheat.following = vec![operation("drilling", &["mowing"], ["01-01", "01-01", "01-02"])];
    wheat.following[0].fallback_crop = Some("barley".into());
    let mut barley = crop("barley", Vec::new());
    barley.following = vec![operation("winter ploughing", &["mowing"], ["01-03", "01-20", "01-31"])];
    spec.crops = vec![wheat, barley];
    spec.fields.push(field("Home", 25.0, "wheat"));
    spec.fields[0].standing = None;
    spec.fields[0].following = Some("wheat".into());
    let worked = work(&spec, |_| true);
    assert_eq!(worked.outcome.rows[0].area_unfinished_ha, 5.0);
    assert_eq!(worked.outcome.rows[1].finish, Some(at(2, 13.0)));
    // In a season in which all is drilled there is nothing to plough.
    spec.fields[0].area_ha = 20.0;
    let worked = work(&spec, |_| true);
    assert_eq!(worked.outcome.rows[1].finish, Some(0));
    assert!(!worked.outcome.rows[1].late);
}

#[test]
fn a_team_calls_its_drivers_away_when_its_hours_open() {
    let mut spec = bare(1.0);
    spec.classes.push(ClassSpec {
        name: "combining".into(),
        hours: vec![hours(12.0, 20.0)],
        ..spec.classes[0].clone()
    });
    let mut row = spec.suitable[0].clone();
    row.class = "combining".into();
    spec.suitable.push(row);
    spec.people.push(person("one", &["combine", "tractor"]));
    spec.people.push(person("two", &["tractor"]));
    spec.machines.push(machine("combine", 1.0));
    let mut tractor = machine("tractor", 1.0);
    tractor.work_rate_ha_h = None;
    spec.machines.push(tractor);
    let mut plough = machine("plough", 1.0);
    plough.needs_driver = false;
    spec.machines.push(plough);
    spec.outfits.push(OutfitSpec {
        units: vec![vec!["combine".into()], vec!["tractor".into()]],
        ..outfit("harvest team", &[])
    });
    spec.outfits.push(outfit("ploughing", &["tractor", "plough"]));
    let mut cut = operation("combining", &["harvest team"], ["01-01", "01-02", "01-31"]);
    cut.class = "combining".into();
    spec.crops.push(crop("wheat", vec![cut]));
    spec.crops
        .push(crop("fallow", vec![operation("ploughing", &["ploughing"], ["01-01", "03-01", "03-31"])]));
    spec.fields.push(field("Wheat", 6.0, "wheat"));
    spec.fields.push(field("Fallow", 9.0, "fallow"));
    let worked = work(&spec, |_| true);
    // Ploughing 8 to 12, then the harvest team 12 to 18, then 5 h of ploughing next morning.
    assert_eq!(worked.accounts[0].finish, Some(at(0, 18.0)));
    assert_eq!(worked.accounts[1].finish, Some(at(1, 13.0)));
    assert!(worked.log.iter().any(|(_, entry)| entry.why == sim_core::season::Why::CalledAway));
}

#[test]
fn a_contractor_comes_from_the_trigger_date_for_what_is_behind() {
    let mut spec = one_machine(1.0);
    spec.contractors.push(ContractorSpec {
        origin: Origin(0),
        name: "neighbour".into(),
        work_rate_ha_h: 2.0,
        from: Some("01-03".parse().unwrap()),
        hours: vec![hours(8.0, 18.0)],
        only_if_behind: true,
        cost_ha: None,
    });
    let mow = operation("mowing", &["mowing", "neighbour"], ["01-01", "01-04", "01-31"]);
    spec.crops.push(crop("grass", vec![mow]));
    spec.fields.push(field("One", 30.0, "grass"));
    spec.fields.push(field("Two", 30.0, "grass"));
    let worked = work(&spec, |_| true);
    // 60 h of work in 4 days of 10 h is behind: on day 2 the neighbour comes and does 20 ha of the second
    // field. The own mower is done with the first one that evening, and does the last 10 ha itself.
    assert_eq!(worked.accounts[0].finish, Some(at(2, 18.0)));
    assert_eq!(worked.accounts[1].finish, Some(at(3, 18.0)));
}

/// One machine of 1 ha/h, its class open from 6 to 20 h, its driver from 8 to 18 h, 13 h of mowing.
fn short_days(loses: Loses) -> FarmSpec {
    let mut spec = one_machine(1.0);
    spec.classes[0].hours = vec![hours(6.0, 20.0)];
    spec.classes[0].short_day_loses = loses;
    spec.crops.push(crop("grass", vec![operation("mowing", &["mowing"], ["01-01", "01-03", "01-31"])]));
    spec.fields.push(field("Home", 13.0, "grass"));
    spec
}

/// What a worked job did, and the row's and the job's waits for weather and closed hours in hours: the same, as the row
/// has one job.
fn told(worked: &Worked) -> (Vec<(i64, What)>, f64, f64) {
    let (row, job) = (&worked.outcome.rows[0], &worked.accounts[0]);
    assert_eq!(row.waits_s, job.waits_s);
    let hours = |cause: Cause| job.waits_s[cause as usize] as f64 / 3600.0;
    let events = worked.log.iter().map(|(now, entry)| (*now, entry.what)).collect();
    (events, hours(Cause::Weather), hours(Cause::ClosedHours))
}

#[test]
fn a_short_day_loses_its_start() {
    // The first two days have 9 of the class's 14 hours: from 11:00, when the driver is there, to 18:00, when he leaves.
    let worked = work_short(&short_days(Loses::Start), |day| if day < 2 { 9.0 } else { 24.0 });
    let (events, weather, closed) = told(&worked);
    assert_eq!(
        events,
        [
            (0, What::WindowOpens),
            (at(0, 11.0), What::Starts),
            (at(0, 18.0), What::Stops),
            (at(1, 11.0), What::Starts),
            (at(1, 17.0), What::Done),
        ]
    );
    assert_eq!((weather, closed), (3.0 + 3.0, 8.0 + 14.0));
    assert!(!worked.outcome.rows[0].late);
}

#[test]
fn a_short_day_loses_its_end() {
    // The first day has 5 hours, from 6:00 to 11:00; the second none, and is no suitable day.
    let worked = work_short(&short_days(Loses::End), |day| [5.0, 0.0].get(day).copied().unwrap_or(24.0));
    let (events, weather, closed) = told(&worked);
    assert_eq!(
        events,
        [
            (0, What::WindowOpens),
            (at(0, 8.0), What::Starts),
            (at(0, 11.0), What::Stops),
            (at(2, 8.0), What::Starts),
            (at(2, 18.0), What::Done),
        ]
    );
    assert_eq!((weather, closed), (7.0 + 10.0, 8.0 + 14.0 + 14.0));
    assert_eq!(worked.outcome.rows[0].suitable_days, Some(2));
}

#[test]
fn a_short_day_loses_its_middle() {
    // 8 hours a day: 6:00 to 10:00 and 16:00 to 20:00, of which the driver has two of each.
    let worked = work_short(&short_days(Loses::Middle), |day| if day < 3 { 8.0 } else { 24.0 });
    let (events, weather, closed) = told(&worked);
    let mut want = vec![(0, What::WindowOpens)];
    for day in 0..3 {
        for (hour, what) in
            [(8.0, What::Starts), (10.0, What::Stops), (16.0, What::Starts), (18.0, What::Stops)]
        {
            want.push((at(day, hour), what));
        }
    }
    want.extend([(at(3, 8.0), What::Starts), (at(3, 9.0), What::Done)]);
    assert_eq!(events, want);
    assert_eq!((weather, closed), (3.0 * 6.0, 8.0 + 3.0 * 14.0));
}

#[test]
fn work_that_is_blocked_waits_for_weather_in_the_hours_that_a_short_day_loses() {
    // Two men, each his own machine; the drill may go on when the plough is done, 17:00 on the first day.
    let mut spec = short_days(Loses::Start);
    spec.people.push(person("second", &["drill"]));
    spec.machines.push(machine("drill", 2.0));
    spec.outfits.push(outfit("drilling", &["drill"]));
    let mut drill = operation("drilling", &["drilling"], ["01-01", "01-03", "01-31"]);
    drill.after.push(link("mowing"));
    spec.crops[0].standing.push(drill);
    spec.fields[0].area_ha = 5.0;
    let worked = work_short(&spec, |day| if day == 0 { 8.0 } else { 10.0 });
    // 12:00 to 20:00 the first day, of which the drill has from 17:00 to 18:00 and half an hour more the next.
    assert_eq!(worked.accounts[0].finish, Some(at(0, 17.0)));
    let (row, drill) = (&worked.outcome.rows[1], &worked.accounts[1]);
    assert_eq!(drill.finish, Some(at(1, 11.5)));
    assert_eq!(row.waits_s, drill.waits_s);
    assert_eq!(drill.waits_s[Cause::Predecessor as usize], 5 * 3600);
    assert_eq!(drill.waits_s[Cause::Weather as usize], (4 + 2) * 3600);
}

#[test]
fn two_kinds_of_work_turn_each_at_its_hour_and_better_ranked_work_calls_the_driver_away() {
    // Spraying is done early and late, and first of all (its window ends sooner); mowing has the rest of the day.
    let mut spec = short_days(Loses::Start);
    spec.classes.push(ClassSpec {
        name: "spraying".into(),
        short_day_loses: Loses::Middle,
        machine_weight: None,
        ..spec.classes[0].clone()
    });
    spec.suitable.push(SuitableRow { class: "spraying".into(), ..spec.suitable[0].clone() });
    spec.people[0].drives.push("sprayer".into());
    spec.machines.push(machine("sprayer", 1.0));
    spec.outfits.push(outfit("spraying", &["sprayer"]));
    let mut spray = operation("spraying", &["spraying"], ["01-01", "01-01", "01-31"]);
    spray.class = "spraying".into();
    spec.crops[0].standing.push(spray);
    spec.fields[0].area_ha = 4.0;
    // Both have 8 hours: mowing from 12:00 to 20:00, spraying to 10:00 and from 16:00.
    let worked = work_short(&spec, |_| 8.0);
    let events: Vec<_> = worked.log.iter().map(|(now, entry)| (*now, entry.job, entry.what)).collect();
    assert_eq!(
        events[2..],
        [
            (at(0, 8.0), 1, What::Starts),
            (at(0, 10.0), 1, What::Stops),
            (at(0, 12.0), 0, What::Starts),
            (at(0, 16.0), 0, What::Done),
            (at(0, 16.0), 1, What::Starts),
            (at(0, 18.0), 1, What::Done),
        ]
    );
    // With a hectare more to mow the sprayer still goes at its hour.
    let worked = work_short(&FarmSpec { fields: vec![field("Home", 5.0, "grass")], ..spec }, |_| 8.0);
    let called = worked.log.iter().filter(|(now, _)| *now == at(0, 16.0));
    assert_eq!(
        called.map(|(_, entry)| (entry.job, entry.what)).collect::<Vec<_>>(),
        [(0, What::Stops), (1, What::Starts)]
    );
}

#[test]
fn what_may_be_expected_of_short_days_is_their_mean_within_the_hours() {
    let mut spec = short_days(Loses::Start);
    let expected = |spec: &FarmSpec| Plan::new(Farm::new(spec).unwrap()).suitable_seconds(0, 5);
    assert_eq!(expected(&spec), 36_000.0);
    // Always 9 hours, from 11:00 to 20:00: 7 with the driver.
    spec.suitable[0].hours_mean = Some(9.0);
    assert_eq!(expected(&spec), 7.0 * 3600.0);
    // All 24 hours or none, nearly: whole days half the time.
    (spec.suitable[0].hours_mean, spec.suitable[0].hours_sd) = (Some(12.0), Some(11.9));
    assert!((expected(&spec) - 18_000.0).abs() < 600.0, "{}", expected(&spec));
}
