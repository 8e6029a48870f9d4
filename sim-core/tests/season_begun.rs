//! Seasons that have begun: what was done before the day on which they are taken up counts as done, at its date, and no
//! more than that. Worked by hand, and as laws on random farms.

mod common;
mod recipe;
mod worked;

use common::*;
use proptest::prelude::*;
use recipe::{farm, recipe, sky as recipe_sky};
use sim_core::farm::spec::*;
use sim_core::farm::{BegunError, BegunErrorKind, BegunSpec, DoneSpec, Farm, Known, Missed, Window};
use sim_core::season::{Cause, DAY, FieldView, Manager, Plan, Policy, PolicyError, What, Why};
use sim_core::study::{Hooks, Study, Variant};
use worked::*;

/// Works a farm under days that all suit, from a day on.
fn work(spec: &FarmSpec, begun: &BegunSpec) -> Worked {
    let farm = Farm::new(spec).unwrap().begun(begun).unwrap();
    let sky = sky_of(&farm, |_| true);
    work_under(&Plan::new(farm), &mut Manager, &sky)
}

fn from(today: u32, done: Vec<DoneSpec>) -> BegunSpec {
    BegunSpec { today, done, rest_done: false }
}

fn done(operation: &str, day: u32) -> DoneSpec {
    DoneSpec { crop: "wheat".into(), operation: operation.into(), field: None, area_ha: None, day }
}

fn on(field: &str, operation: &str, day: u32) -> DoneSpec {
    DoneSpec { field: Some(field.into()), ..done(operation, day) }
}

fn area(operation: &str, area_ha: f64, day: u32) -> DoneSpec {
    DoneSpec { area_ha: Some(area_ha), ..done(operation, day) }
}

/// One machine of 1 ha/h, one driver from 8 to 18 h.
fn one_machine(operations: Vec<OperationSpec>, fields: &[(&str, f64)]) -> FarmSpec {
    let mut spec = bare(1.0);
    spec.people.push(person("driver", &["mower"]));
    spec.machines.push(machine("mower", 1.0));
    spec.outfits.push(outfit("mowing", &["mower"]));
    spec.crops.push(crop("wheat", operations));
    for (index, (name, area_ha)) in fields.iter().enumerate() {
        spec.fields.push(FieldSpec { distance_km: index as f64, ..field(name, *area_ha, "wheat") });
    }
    spec
}

fn step(name: &str, window: [&str; 3], after: &[&str]) -> OperationSpec {
    OperationSpec {
        after: after.iter().map(|name| link(name)).collect(),
        ..operation(name, &["mowing"], window)
    }
}

#[test]
fn what_is_done_is_done_at_its_date_and_used_no_machine() {
    let windows = [["01-02", "01-06", "01-20"], ["01-02", "01-20", "01-31"]];
    let spec = one_machine(
        vec![step("ploughing", windows[0], &[]), step("drilling", windows[1], &["ploughing"])],
        &[("Home", 10.0)],
    );
    // Ploughed by the end of 8 January, two days late; taken up on the 13th, when drilling takes 10 h.
    let worked = work(&spec, &from(12, vec![done("ploughing", 7)]));
    let [ploughing, drilling] = &worked.outcome.rows[..] else { panic!("two rows") };
    assert_eq!((ploughing.finish, ploughing.late, ploughing.days_late), (Some(at(8, 0.0)), true, 2));
    // 10 ha undone over two days after its due day.
    assert_eq!((ploughing.area_late_ha, ploughing.ha_days_late), (10.0, 20.0));
    assert_eq!((drilling.finish, drilling.late), (Some(at(12, 18.0)), false));
    // Waiting counts from the day on: from midnight to 8 h.
    assert_eq!(drilling.waits_s[Cause::ClosedHours as usize], 8 * 3600);
    assert_eq!(drilling.waits_s.iter().sum::<i64>(), 8 * 3600);
    assert_eq!(ploughing.waits_s, [0; 7]);
    // The machine's and the driver's 10 hours are those of drilling.
    assert_eq!(worked.outcome.use_s.iter().sum::<i64>(), 2 * 10 * 3600);
    assert_eq!((worked.accounts[0].work_s, worked.accounts[1].work_s), (0, 10 * 3600));
    let ploughed = worked.log.iter().find(|(_, entry)| entry.job == 0 && entry.what == What::Done).unwrap();
    assert_eq!((ploughed.0, ploughed.1.why, ploughed.1.outfit), (at(8, 0.0), Why::BeforeToday, None));
}

#[test]
fn an_area_lies_on_the_fields_nearest_the_yard_and_the_rest_is_left() {
    let spec = one_machine(
        vec![step("drilling", ["01-02", "01-20", "01-31"], &[])],
        &[("Near", 6.0), ("Middle", 8.0), ("Far", 5.0)],
    );
    // 9 ha: all of Near and 3 of Middle's 8 ha; 5 + 5 ha are left, which is the first day; ways are not counted here.
    let farm = Farm::new(&spec).unwrap().begun(&from(9, vec![area("drilling", 9.0, 7)])).unwrap();
    let of = farm.begun.as_ref().unwrap();
    let areas: Vec<(usize, f64, bool)> =
        of.done.iter().map(|done| (done.job, done.area_ha, done.whole)).collect();
    assert_eq!(areas, [(0, 6.0, true), (1, 3.0, false)]);
    let mut spec = spec;
    spec.fields.iter_mut().for_each(|field| field.distance_km *= 1e-9);
    let worked = work(&spec, &from(9, vec![area("drilling", 9.0, 7)]));
    assert_eq!(worked.outcome.rows[0].finish, Some(at(9, 18.0)));
    let work_h: Vec<f64> = worked.accounts.iter().map(|of| of.work_s as f64 / 3600.0).collect();
    assert_eq!(work_h, [0.0, 5.0, 5.0]);
    // What was begun goes first.
    assert_eq!(worked.accounts[1].finish, Some(at(9, 13.0)));
}

#[test]
fn what_is_past_its_last_day_and_not_done_is_given_up_with_what_needs_it() {
    let spec = one_machine(
        vec![
            step("ploughing", ["01-01", "01-03", "01-05"], &[]),
            step("drilling", ["01-01", "01-20", "01-31"], &["ploughing"]),
            step("spraying", ["01-01", "01-20", "01-31"], &[]),
        ],
        &[("Home", 10.0), ("Other", 10.0)],
    );
    let worked = work(&spec, &from(9, vec![on("Home", "ploughing", 4)]));
    // Home's ploughing was done on its last day, Other's never: so Other is not drilled.
    let [ploughing, drilling, spraying] = &worked.outcome.rows[..] else { panic!("three rows") };
    assert_eq!((ploughing.finish, ploughing.area_unfinished_ha), (None, 10.0));
    assert_eq!((drilling.finish, drilling.area_unfinished_ha), (None, 10.0));
    assert_eq!(spraying.area_unfinished_ha, 0.0);
    assert_eq!(worked.accounts[3].finish, Some(at(5, 0.0)));
    assert!(worked.log.iter().all(|(now, entry)| *now >= at(9, 0.0) || entry.outfit.is_none()));
}

#[test]
fn windows_and_lags_are_counted_from_the_dates_that_are_said() {
    let mut spray = step("spraying", ["01-01", "01-01", "01-01"], &[]);
    let after = |days| When::DaysAfter { operation: "drilling".into(), days };
    (spray.from, spray.due, spray.latest) = (after(3), after(7), Some(after(9)));
    let mut roll = step("rolling", ["01-01", "01-20", "01-31"], &[]);
    roll.after.push(LinkSpec { min_lag_h: 36.0, ..link("drilling") });
    let spec =
        one_machine(vec![step("drilling", ["01-02", "01-20", "01-31"], &[]), spray, roll], &[("Home", 4.0)]);
    // Drilled by the end of the 9th (day 8): rolling from the 11th noon, spraying from the 12th (day 11) to be done by day 15.
    let worked = work(&spec, &from(9, vec![done("drilling", 8)]));
    assert_eq!(worked.accounts[1].ready, Some(at(11, 0.0)));
    assert_eq!(worked.accounts[2].finish, Some(at(10, 16.0)));
    assert_eq!(worked.outcome.rows[1].finish, Some(at(11, 12.0)));
    // Taken up only when the spray is overdue: it is late by the days from day 15.
    let worked = work(&spec, &from(17, vec![done("drilling", 8), done("rolling", 9)]));
    let spraying = &worked.outcome.rows[1];
    assert_eq!((spraying.finish, spraying.late, spraying.days_late), (Some(at(17, 12.0)), true, 2));
}

#[test]
fn a_maximum_lag_runs_from_the_date_that_is_said() {
    let mut drill = step("drilling", ["01-02", "01-25", "01-31"], &[]);
    drill.after.push(LinkSpec { max_lag_days: Some(5), if_missed: Missed::Repeat, ..link("harrowing") });
    let spec =
        one_machine(vec![step("harrowing", ["01-01", "01-20", "01-31"], &[]), drill], &[("Home", 8.0)]);
    let harrowed = |worked: &Worked| worked.outcome.rows[0].finish;
    // Within the lag it stands; when the lag has passed before today it is done again.
    assert_eq!(harrowed(&work(&spec, &from(8, vec![done("harrowing", 6)]))), Some(at(7, 0.0)));
    let again = work(&spec, &from(14, vec![done("harrowing", 6)]));
    assert_eq!(harrowed(&again), Some(at(14, 16.0)));
    assert_eq!(again.outcome.rows[1].missed_lags, 1);
    // Where it was drilled after all, nothing is done again.
    let drilled = work(&spec, &from(14, vec![done("harrowing", 3), done("drilling", 12)]));
    assert_eq!((harrowed(&drilled), drilled.outcome.use_s.iter().sum::<i64>()), (Some(at(4, 0.0)), 0));
}

#[test]
fn a_follower_stays_behind_what_is_half_done() {
    let mut spec = bare(1.0);
    spec.people.extend([person("one", &["plough"]), person("two", &["drill"])]);
    spec.machines.extend([machine("plough", 1.0), machine("drill", 2.0)]);
    spec.outfits.extend([outfit("ploughing", &["plough"]), outfit("drilling", &["drill"])]);
    let plough = operation("ploughing", &["ploughing"], ["01-01", "01-20", "01-31"]);
    let mut drill = operation("drilling", &["drilling"], ["01-01", "01-20", "01-31"]);
    drill.after.push(LinkSpec { follow_ha: Some(4.0), ..link("ploughing") });
    spec.crops.push(crop("wheat", vec![plough, drill]));
    spec.fields.push(field("Home", 9.0, "wheat"));
    // 5 ha ploughed, 2 ha drilled behind: the drill waits until the plough is 4 ha ahead, at 9 h. The plough is
    // done at 12 h with the drill 1 ha behind.
    let worked = work(&spec, &from(3, vec![area("ploughing", 5.0, 2), area("drilling", 2.0, 2)]));
    let starts = worked.log.iter().filter(|(_, entry)| entry.job == 1 && entry.what == What::Starts);
    assert_eq!(starts.map(|(now, _)| *now).collect::<Vec<_>>(), [at(3, 9.0)]);
    assert_eq!(worked.accounts[1].finish, Some(at(3, 12.5)));
    // 5 ha ploughed and nothing drilled: in at once.
    let worked = work(&spec, &from(3, vec![area("ploughing", 5.0, 2)]));
    assert_eq!(
        worked.log.iter().find(|(_, entry)| entry.job == 1 && entry.what == What::Starts).unwrap().0,
        at(3, 8.0)
    );
}

#[test]
fn what_must_have_come_before_is_taken_as_done_and_marked() {
    let mut spec = one_machine(
        vec![step("combining", ["01-01", "01-05", "01-31"], &[])],
        &[("Home", 6.0), ("Far", 4.0)],
    );
    let follow = CropSpec {
        following: vec![
            step("ploughing", ["01-05", "01-10", "01-31"], &[]),
            step("drilling", ["01-05", "01-15", "01-31"], &["ploughing"]),
        ],
        ..crop("oats", Vec::new())
    };
    spec.crops.push(follow);
    spec.fields.iter_mut().for_each(|field| field.following = Some("oats".into()));
    let oats = |of: DoneSpec| DoneSpec { crop: "oats".into(), ..of };
    let begun = from(20, vec![oats(on("Far", "drilling", 15)), oats(area("ploughing", 5.0, 18))]);
    let farm = Farm::new(&spec).unwrap().begun(&begun).unwrap();
    let of = farm.begun.as_ref().unwrap();
    let told: Vec<(String, u32, f64, bool)> = of
        .done
        .iter()
        .map(|done| {
            let job = &farm.jobs[done.job];
            let name = format!("{} {}", farm.rows[job.row].operation, farm.fields[job.field].name);
            (name, done.day, done.area_ha, done.known == Known::MustBe)
        })
        .collect();
    // The 5 ha ploughed are the 4 ha of Far, which is drilled, and 1 ha of Home; both are combined then.
    let expected = [
        ("combining Far", 15, 4.0, true),
        ("ploughing Far", 15, 4.0, false),
        ("drilling Far", 15, 4.0, false),
        ("combining Home", 18, 6.0, true),
        ("ploughing Home", 18, 1.0, false),
    ];
    assert_eq!(told, expected.map(|(name, day, area_ha, assumed)| (name.to_string(), day, area_ha, assumed)));
}

#[test]
fn all_that_was_due_can_be_taken_as_done() {
    let mut spray = step("spraying", ["01-01", "01-01", "01-01"], &[]);
    let after = |days| When::DaysAfter { operation: "drilling".into(), days };
    (spray.from, spray.due, spray.latest) = (after(1), after(3), Some(after(9)));
    let spec = one_machine(
        vec![
            step("ploughing", ["01-01", "01-10", "01-31"], &[]),
            step("drilling", ["01-01", "01-08", "01-31"], &["ploughing"]),
            spray,
            step("rolling", ["01-01", "01-20", "01-31"], &["drilling"]),
            step("spreading", ["01-01", "01-05", "01-31"], &[]),
        ],
        &[("Home", 4.0), ("Far", 4.0)],
    );
    let begun = BegunSpec { rest_done: true, ..from(12, vec![area("spreading", 4.0, 6)]) };
    let farm = Farm::new(&spec).unwrap().begun(&begun).unwrap();
    let of = farm.begun.as_ref().unwrap();
    let told: Vec<(&str, u32, Known)> = of
        .done
        .iter()
        .map(|done| (farm.rows[farm.jobs[done.job].row].operation.as_str(), done.day, done.known))
        .collect();
    // Spreading is said: of it the rest is open. Ploughing was due on day 9, but drilling, due on day 7, needs it by then;
    // spraying three days later; rolling is not due yet.
    let expected = [
        ("spreading", 6, Known::Said),
        ("ploughing", 7, Known::WasDue),
        ("ploughing", 7, Known::WasDue),
        ("drilling", 7, Known::WasDue),
        ("drilling", 7, Known::WasDue),
        ("spraying", 10, Known::WasDue),
        ("spraying", 10, Known::WasDue),
    ];
    assert_eq!(told, expected);
    let worked = work(&spec, &begun);
    assert!(worked.outcome.rows[..3].iter().all(|row| !row.late), "{:?}", worked.outcome.rows);
    assert_eq!(
        worked.outcome.use_s.iter().sum::<i64>() / 2,
        worked.accounts.iter().map(|of| of.work_s + of.travel_s).sum()
    );
}

fn refused(spec: &FarmSpec, begun: &BegunSpec) -> BegunError {
    Farm::new(spec).unwrap().begun(begun).unwrap_err()
}

#[test]
fn what_cannot_have_been_is_refused() {
    let spec = one_machine(
        vec![
            step("ploughing", ["01-01", "01-03", "01-05"], &[]),
            step("drilling", ["01-01", "01-20", "01-31"], &["ploughing"]),
        ],
        &[("Home", 10.0), ("Far", 10.0)],
    );
    let of = |done: Vec<DoneSpec>| refused(&spec, &from(9, done));
    let crop = DoneSpec { crop: "wheet".into(), ..done("drilling", 2) };
    assert!(matches!(of(vec![crop]).kind, BegunErrorKind::Crop { .. }));
    assert!(matches!(of(vec![done("driling", 2)]).kind, BegunErrorKind::Operation { .. }));
    assert!(matches!(of(vec![on("Hoem", "drilling", 2)]).kind, BegunErrorKind::Field { .. }));
    assert_eq!(of(vec![done("drilling", 9)]).kind, BegunErrorKind::NotBeforeToday);
    let twice = of(vec![done("drilling", 4), on("Home", "drilling", 3)]);
    assert!(matches!((twice.entry, twice.kind), (Some(1), BegunErrorKind::Twice { first: 0, .. })));
    assert!(matches!(of(vec![area("drilling", 20.5, 3)]).kind, BegunErrorKind::Area { .. }));
    assert!(matches!(of(vec![area("drilling", 0.0, 3)]).kind, BegunErrorKind::Area { .. }));
    let order = of(vec![on("Home", "drilling", 3), on("Home", "ploughing", 4)]);
    assert!(matches!((order.entry, order.kind), (Some(0), BegunErrorKind::Order { .. })));
    // Of all fields, too: but one field may be drilled before another is ploughed.
    assert!(matches!(of(vec![done("drilling", 3), done("ploughing", 4)]).kind, BegunErrorKind::Order { .. }));
    let farm = Farm::new(&spec)
        .unwrap()
        .begun(&from(9, vec![on("Home", "drilling", 3), done("ploughing", 4)]))
        .unwrap();
    let days: Vec<(usize, u32)> = farm.begun.unwrap().done.iter().map(|done| (done.job, done.day)).collect();
    assert_eq!(days, [(0, 3), (1, 3), (2, 4)]);
    assert_eq!(refused(&spec, &from(365, Vec::new())).kind, BegunErrorKind::Today);
}

/// Decides against what is usual, and counts how often it is asked.
#[derive(Default)]
struct Against(Vec<u32>);

impl Policy for Against {
    fn straw(&mut self, field: &FieldView<'_>, usual: Straw) -> Result<Straw, PolicyError> {
        self.0.push(field.day);
        Ok(usual.other())
    }

    fn tillage(&mut self, field: &FieldView<'_>, usual: usize) -> Result<usize, PolicyError> {
        self.0.push(field.day);
        Ok(1 - usual)
    }
}

#[test]
fn what_was_done_is_how_it_was_decided_and_nobody_is_asked_again() {
    let tilled = |name: &str, way: &str| OperationSpec {
        tillage: vec![way.into()],
        ..step(name, ["01-02", "01-20", "01-31"], &[])
    };
    let operations = vec![
        tilled("ploughing", "plough"),
        tilled("min-till", "min_till"),
        step("drilling", ["01-02", "01-20", "01-31"], &["ploughing", "min-till"]),
    ];
    let mut spec = one_machine(Vec::new(), &[]);
    spec.left_open.tillage = true;
    spec.crops[0].following = operations;
    spec.fields.push(FieldSpec { standing: None, following: Some("wheat".into()), ..field("Home", 4.0, "") });
    let of = |done: Vec<DoneSpec>| {
        let farm = Farm::new(&spec).unwrap().begun(&from(9, done)).unwrap();
        let (mut policy, sky) = (Against::default(), sky_of(&farm, |_| true));
        let worked = work_under(&Plan::new(farm), &mut policy, &sky);
        let work_h: Vec<f64> = worked.accounts.iter().map(|of| of.work_s as f64 / 3600.0).collect();
        (work_h, worked.outcome.rows.iter().map(|row| row.finish).collect::<Vec<_>>(), policy.0)
    };
    // Min-till, which is not usual, was done: nothing is ploughed, and nobody is asked.
    let (work_h, finish, asked) = of(vec![done("min-till", 5)]);
    assert_eq!((work_h, asked), (vec![0.0, 0.0, 4.0], vec![]));
    assert_eq!(finish, [Some(0), Some(at(6, 0.0)), Some(at(9, 12.0))]);
    // Drilled without a word of tillage: ploughed as usual.
    let (work_h, finish, asked) = of(vec![done("drilling", 5)]);
    assert_eq!((work_h, asked), (vec![0.0; 3], vec![]));
    assert_eq!(finish, [Some(at(6, 0.0)), Some(0), Some(at(6, 0.0))]);
    // Nothing was done: it is asked on the day on which the season is taken up.
    let (work_h, _, asked) = of(Vec::new());
    assert_eq!((work_h, asked), (vec![0.0, 4.0, 4.0], vec![9]));
    let both = refused(&spec, &from(9, vec![done("ploughing", 3), done("min-till", 4)]));
    assert!(matches!(both.kind, BegunErrorKind::Ways { .. }), "{both:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, ..ProptestConfig::default() })]

    /// Taken up on its first day with nothing done, a season is as it always is.
    #[test]
    fn a_season_taken_up_on_its_first_day_is_the_season(recipe in recipe()) {
        let Ok(plain) = Farm::new(&farm(&recipe)) else { return Ok(()) };
        let sky = recipe_sky(&recipe, plain.weather.keys.len());
        let begun = plain.clone().begun(&from(0, Vec::new())).unwrap();
        let (mut decides, mut again) = (recipe.decides, recipe.decides);
        let (one, other) = (work_under(&Plan::new(plain), &mut decides, &sky), work_under(&Plan::new(begun), &mut again, &sky));
        prop_assert_eq!(one.outcome, other.outcome);
        prop_assert_eq!((one.accounts, one.log), (other.accounts, other.log));
    }

    /// Whatever is said to be done: it is done at its date, what must come before it is done by then, nobody sets out before
    /// the day, and machines and people are used for what was done from then on alone.
    #[test]
    fn what_is_said_is_done_and_nobody_goes_out_before_today(
        recipe in recipe(),
        today in 1u32..80,
        said in prop::collection::vec((prop::bool::weighted(0.4), any::<u32>(), 1u32..10), 24),
    ) {
        let Ok(farm) = Farm::new(&farm(&recipe)) else { return Ok(()) };
        let sky = recipe_sky(&recipe, farm.weather.keys.len());
        let all = farm.jobs.iter().zip(&said).filter(|(job, said)| said.0 && !job.dormant);
        let done = all.map(|(job, (_, day, tenths))| DoneSpec {
            crop: "crop".into(),
            operation: farm.rows[job.row].operation.clone(),
            field: Some(farm.fields[job.field].name.clone()),
            area_ha: (*tenths < 6).then(|| job.area_ha * f64::from(*tenths) / 10.0),
            // Operations are listed in an order in which they can be done.
            day: ((job.row as u32 * 100 + day % 100) * today / (farm.rows.len() as u32 * 100)).min(today - 1),
        });
        let done: Vec<DoneSpec> = done.collect();
        let begun = match farm.begun(&from(today, done)) {
            Ok(begun) => begun,
            Err(error) => {
                prop_assert!(matches!(error.kind, BegunErrorKind::Ways { .. }), "{error}");
                return Ok(());
            }
        };
        let of = begun.begun.clone().unwrap();
        let mut decides = recipe.decides;
        let worked = work_under(&Plan::new(begun.clone()), &mut decides, &sky);
        for (now, entry) in &worked.log {
            prop_assert!(entry.outfit.is_none() || *now >= i64::from(today) * DAY);
        }
        let again = |job: usize| worked.log.iter().any(|(_, entry)| entry.job == job && entry.what == What::DoneAgain);
        for done in &of.done {
            let at = (i64::from(done.day) + 1) * DAY;
            let noted = worked.log.iter().any(|(now, entry)| *now == at && entry.job == done.job && entry.why == Why::BeforeToday);
            prop_assert!(noted, "{done:?}");
            if done.whole && !again(done.job) {
                let account = &worked.accounts[done.job];
                prop_assert_eq!((account.finish, account.done, account.work_s), (Some(at), true, 0));
            }
            for link in begun.jobs[done.job].links_in.iter().map(|link| begun.links[*link]).filter(|link| link.required) {
                // What a choice leaves out is not needed.
                let Some(before) = of.done.iter().find(|other| other.job == link.before) else {
                    prop_assert!(begun.jobs[link.before].dormant || !of.decided.is_empty());
                    continue;
                };
                prop_assert!(before.day <= done.day || link.follow_ha.is_some() && !done.whole);
                prop_assert!(before.whole || link.follow_ha.is_some() && before.area_ha >= done.area_ha - 1e-6);
            }
        }
        let worked_s: i64 = worked.accounts.iter().map(|of| of.work_s + of.travel_s + of.waits_s[Cause::Supply as usize]).sum();
        prop_assert_eq!(worked.outcome.use_s.iter().sum::<i64>() > 0, worked_s > 0);
        for (row, outcome) in begun.rows.iter().zip(&worked.outcome.rows) {
            prop_assert!(outcome.waits_s.iter().all(|wait| *wait >= 0), "{outcome:?}");
            let waited = outcome.waits_s.iter().sum::<i64>() - outcome.waits_s[Cause::Supply as usize];
            prop_assert!(waited <= i64::from(begun.span.days() - today) * DAY, "{}", row.operation);
            let days = row.dates.map_or(0, |(_, due, _)| (due + 1).saturating_sub(today));
            prop_assert!(outcome.suitable_days.is_none_or(|suitable| suitable <= days));
        }
        let over = |job: usize| matches!(begun.jobs[job].window, Window::Fixed { latest, .. } if latest < today);
        for job in (0..begun.jobs.len()).filter(|job| over(*job) && !of.done.iter().any(|done| done.job == *job)) {
            prop_assert!(worked.accounts[job].work_s == 0 && !worked.accounts[job].done);
        }
    }
}

/// The day decides what is left; the skies are those of the whole season.
#[test]
fn a_study_from_a_day_on_works_under_the_same_skies() {
    let spec = one_machine(vec![step("drilling", ["01-02", "01-12", "01-31"], &[])], &[("Home", 50.0)]);
    let mut spec = spec;
    spec.suitable[0].p_suitable = 0.5;
    let study = |begun: Option<BegunSpec>| {
        let farm = Farm::new(&spec).unwrap();
        let farm = begun.map_or_else(|| farm.clone(), |begun| farm.clone().begun(&begun).unwrap());
        let study =
            Study { variants: vec![Variant::new("farm", farm).unwrap()], seasons: 4000, seed: 1, threads: 2 };
        study.run(&Manager, Hooks::default()).unwrap()
    };
    let whole = study(None).variants.remove(0);
    assert_eq!(whole, study(Some(from(0, Vec::new()))).variants.remove(0));
    // From 8 January on 30 ha are left: at least 3 of the 5 days until the 12th must suit, of days alike and apart.
    let later = study(Some(from(7, vec![area("drilling", 20.0, 5)]))).variants.remove(0);
    let risk = &later.risks[0];
    // Binomial with n = 5, p = 1/2: 16 of 32 have fewer than 3.
    let (low, high) = risk.p_late_interval();
    assert!(low < 0.5 && 0.5 < high, "{low} {high}");
    // What the work needs of the machine is what is left.
    let needed: f64 = later.uses.iter().filter(|of| of.resource.index == 0).map(|of| of.hours_needed).sum();
    assert!((needed - 2.0 * 30.0).abs() < 1e-9, "{needed}");
}
