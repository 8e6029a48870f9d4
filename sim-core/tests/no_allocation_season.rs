//! Once warm, a season allocates nothing, and neither does the drawing of its sky: thousands of them are
//! worked one after another in the memory of the first.

mod common;

use allocation_counter::measure;
use common::*;
use sim_core::farm::spec::*;
use sim_core::farm::{Farm, Missed};
use sim_core::season::{Manager, Plan, Season};
use sim_core::weather::{Sky, Weather};

/// Ten fields with every kind of link, two outfits, a contractor, a fallback and work that follows; with ploughing and
/// drilling that move with a stage, and on days that may be short, if so wanted.
fn busy_farm(moves: bool, short_days: bool) -> Farm {
    let mut spec = bare(0.5);
    if short_days {
        spec.classes[0].hours = vec![hours(7.0, 19.0)];
        (spec.suitable[0].hours_mean, spec.suitable[0].hours_sd) = (Some(8.0), Some(4.0));
    }
    spec.drivers[0].persistence = 0.5;
    spec.drivers[0].spread = 0.2;
    spec.drivers[0].spread_days = Some(20.0);
    spec.people.push(person("one", &["plough", "drill", "sprayer"]));
    spec.people.push(person("two", &["drill", "plough"]));
    for name in ["plough", "drill", "sprayer"] {
        spec.machines.push(machine(name, 1.5));
        spec.outfits.push(outfit(name, &[name]));
    }
    spec.contractors.push(ContractorSpec {
        origin: Origin(0),
        name: "neighbour".into(),
        work_rate_ha_h: 2.0,
        from: Some("10-01".parse().unwrap()),
        hours: vec![hours(8.0, 18.0)],
        only_if_behind: true,
        cost_ha: None,
    });
    let plough = operation("ploughing", &["plough"], ["09-01", "09-25", "10-20"]);
    let mut harrow = operation("harrowing", &["plough", "drill"], ["09-05", "10-01", "10-25"]);
    harrow.after.push(LinkSpec { follow_ha: Some(2.0), ..link("ploughing") });
    let mut drill = operation("drilling", &["drill", "neighbour"], ["09-10", "10-05", "10-25"]);
    drill.after.push(LinkSpec {
        max_lag_days: Some(4),
        if_missed: Missed::Repeat,
        min_lag_h: 5.0,
        ..link("harrowing")
    });
    drill.fallback_crop = Some("barley".into());
    let (mut plough, mut drill) = (plough, drill);
    if moves {
        spec.stages.push(StageSpec {
            origin: Origin(0),
            name: "harvest".into(),
            normally: "08-25".parse().unwrap(),
            base_c: 0.0,
            from: "01-01".parse().unwrap(),
            sd_days: 10.0,
        });
        (plough.moves_with, drill.moves_with) = (Some("harvest".into()), Some("harvest".into()));
    }
    let mut spray = operation("spraying", &["sprayer"], ["01-01", "01-01", "01-01"]);
    let after = |days| When::DaysAfter { operation: "drilling".into(), days };
    (spray.from, spray.due, spray.latest) = (after(2), after(7), Some(after(12)));
    let mut wheat = crop("wheat", Vec::new());
    wheat.following = vec![plough, harrow, drill, spray];
    let mut barley = crop("barley", Vec::new());
    barley.following = vec![operation("winter ploughing", &["plough"], ["11-01", "12-01", "12-31"])];
    spec.crops = vec![wheat, barley];
    for number in 0..10 {
        let mut one = field(&format!("field {number}"), 8.0 + f64::from(number), "wheat");
        (one.standing, one.following) = (None, Some("wheat".into()));
        one.distance_km = f64::from(number);
        one.soil = if number % 3 == 0 { "heavy" } else { "medium" }.into();
        spec.fields.push(one);
    }
    Farm::new(&spec).unwrap()
}

#[test]
fn seasons_and_their_skies_allocate_nothing_once_warm() {
    allocates_nothing_once_warm(Plan::new(busy_farm(false, false)));
}

#[test]
fn seasons_with_windows_that_move_allocate_nothing_once_warm() {
    allocates_nothing_once_warm(Plan::new(busy_farm(true, false)));
}

#[test]
fn nor_do_seasons_of_short_days() {
    allocates_nothing_once_warm(Plan::new(busy_farm(false, true)));
}

fn allocates_nothing_once_warm(plan: Plan) {
    let weather = Weather::new(&plan.farm().weather).unwrap();
    let mut sky = Sky::new(plan.farm().weather.keys.len(), plan.farm().weather.span_days);
    let mut season = Season::new(&plan);
    let (mut late, mut unfinished) = (0, 0.0);
    let mut work = |from: u64| {
        for number in from..from + 200 {
            weather.draw(1, number, &mut sky);
            let outcome = season.work(number, &sky, &mut Manager).unwrap();
            late += outcome.rows.iter().filter(|row| row.late).count();
            unfinished += outcome.rows.iter().map(|row| row.area_unfinished_ha).sum::<f64>();
        }
    };
    let cold = measure(|| work(0));
    assert!(cold.count_total > 0, "the counter counts");
    assert_eq!(measure(|| work(0)).count_total, 0);
    // Other seasons may need a little more room than any before, but not once an event.
    let others = measure(|| work(200)).count_total;
    assert!(others < 20, "{others} allocations in 200 further seasons");
    assert!(late > 100 && unfinished > 10.0, "a farm that is never late tries nothing: {late}, {unfinished}");
}
