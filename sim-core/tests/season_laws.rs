//! Laws that hold on every farm, checked on random ones: accounts to the second, nobody and nothing in two
//! places, no overtaking, no work in hours that a short day has lost, lateness as the finish has it, and more suitable
//! days or hours never making a lone job later.

mod common;
mod recipe;

use common::*;
use proptest::prelude::*;
use recipe::{Recipe, clock, farm, loses, recipe, sky};
use sim_core::farm::spec::*;
use sim_core::farm::{Farm, Missed};
use sim_core::kernel::Log;
use sim_core::season::{Cause, DAY, Entry, Manager, Outcome, Plan, Season, What};
use sim_core::weather::{Left, Sky};

proptest! {
    #![proptest_config(ProptestConfig { cases: 3000, ..ProptestConfig::default() })]

    #[test]
    fn accounts_places_and_lateness_hold_on_every_farm(recipe in recipe()) {
        // An outfit that nobody can man is refused: not the farm that this is about.
        let Ok(farm) = Farm::new(&farm(&recipe)) else { return Ok(()) };
        let plan = Plan::new(farm);
        let farm = plan.farm();
        let sky = sky(&recipe, farm.weather.keys.len());
        let mut season = Season::new(&plan);
        let mut log: Log<Entry> = Log::default();
        let mut decides = recipe.decides;
        let outcome = season.work_traced(3, &sky, &mut decides, &mut log).unwrap().clone();

        for account in season.accounts() {
            let (Some(ready), Some(finish)) = (account.ready, account.finish) else { continue };
            let waits: i64 = account.waits_s.iter().sum();
            prop_assert_eq!(finish - ready, account.work_s + account.travel_s + waits, "{:?}", account);
            prop_assert!(account.waits_s.iter().all(|wait| *wait >= 0), "{:?}", account);
        }

        let (mut machines, mut people) = (0u128, 0u64);
        let mut at: Vec<Option<(i64, u128, u64)>> = vec![None; farm.jobs.len()];
        let mut last = 0;
        for (now, entry) in &log.rows {
            prop_assert!(*now >= last);
            last = *now;
            match entry.what {
                What::Starts => {
                    prop_assert_eq!(machines & entry.machines, 0, "a machine in two places");
                    prop_assert_eq!(people & entry.people, 0, "a person in two places");
                    prop_assert!(sky.suitable(farm.lots[farm.jobs[entry.job].lot].key, (now / DAY) as usize));
                    machines |= entry.machines;
                    people |= entry.people;
                    prop_assert!(at[entry.job].replace((*now, entry.machines, entry.people)).is_none());
                }
                What::Stops | What::Done | What::GivenUp => {
                    if let Some((start, its_machines, its_people)) = at[entry.job].take() {
                        let (day, key) = ((start / DAY) as usize, farm.lots[farm.jobs[entry.job].lot].key);
                        let class = &farm.classes[farm.rows[farm.jobs[entry.job].row].class];
                        let clock = class.hours.on(day as u32);
                        let left = Left::of(clock, sky.minutes(key, day).unwrap_or(1440), class.short_day_loses);
                        let within = left.holding(start % DAY).is_some_and(|open| now - day as i64 * DAY <= open.end);
                        prop_assert!(within, "at work from {} to {} in {:?}", start, now, left);
                        machines &= !its_machines;
                        people &= !its_people;
                    }
                }
                _ => {}
            }
        }
        prop_assert_eq!((machines, people), (0, 0));

        for (row, out) in farm.rows.iter().zip(&outcome.rows) {
            if let Some((_, due, _)) = row.dates {
                let due_end = (i64::from(due) + 1) * DAY;
                prop_assert_eq!(out.late, out.finish.is_none_or(|finish| finish > due_end));
                prop_assert_eq!(out.days_late > 0, out.late && (out.finish.is_some() || row.dates.is_some_and(|(_, due, latest)| latest > due)));
            }
            // Work that has to be done again after its due day was done by then, and may be undone in the end.
            let again = farm.links.iter().any(|link| link.if_missed == Missed::Repeat);
            prop_assert!(again || out.area_late_ha >= out.area_unfinished_ha - 1e-9, "{:?}", out);
            prop_assert!(out.area_late_ha <= row.area_ha + 1e-9 || recipe.decides.anything(), "{:?}", out);
            prop_assert!(out.ha_days_late >= -1e-9);
            prop_assert!(out.waits_s.iter().all(|wait| *wait >= 0), "{:?}", out);
        }

        // What a row's only job waits for its row waits for; done again, it leaves out the time for which it stood done.
        for (row, out) in farm.rows.iter().zip(&outcome.rows) {
            let [job] = row.jobs[..] else { continue };
            let account = season.accounts().nth(job).unwrap();
            let always_seen = row.dates.is_some() && !farm.links.iter().any(|link| link.if_missed == Missed::Repeat);
            if account.ready.is_some() && always_seen && farm.choices.is_empty() {
                prop_assert_eq!(out.waits_s, account.waits_s, "row and job {}", row.operation);
            }
        }

        // The same again: a season leaves nothing behind for the next.
        let again = season.work(3, &sky, &mut decides).unwrap();
        prop_assert_eq!(&outcome, again);
    }

    #[test]
    fn who_decides_as_usual_changes_nothing(recipe in recipe()) {
        let said = farm(&recipe);
        let settled = FarmSpec { left_open: LeftOpen::default(), ..said.clone() };
        let (Ok(open), Ok(settled)) = (Farm::new(&said), Farm::new(&settled)) else { return Ok(()) };
        let mut worked = [open, settled].map(|farm| {
            let plan = Plan::new(farm);
            let sky = sky(&recipe, plan.farm().weather.keys.len());
            let outcome = Season::new(&plan).work(3, &sky, &mut Manager).unwrap().clone();
            (plan, outcome)
        });
        let [(open, of_open), (settled, of_settled)] = &mut worked;
        prop_assert_eq!(&of_open.use_s, &of_settled.use_s);
        for (row, out) in settled.farm().rows.iter().zip(&of_settled.rows) {
            let same = open.farm().rows.iter().position(|of| of.operation == row.operation).unwrap();
            prop_assert_eq!(&of_open.rows[same], out, "{}", row.operation);
        }
    }

    #[test]
    fn work_that_follows_never_overtakes(
        recipe in recipe(),
        ahead in 0.5f64..8.0,
        rates in (0.3f64..4.0, 0.3f64..4.0),
        ends in (11u8..19, 11u8..19),
    ) {
        let mut spec = bare(0.5);
        spec.people.push(person("one", &["plough"]));
        spec.people.push(person("two", &["drill"]));
        // Either may go home while the other works on.
        spec.people[0].hours = vec![hours(8.0, f64::from(ends.0))];
        spec.people[1].hours = vec![hours(6.0, f64::from(ends.1))];
        spec.machines.push(machine("plough", rates.0));
        spec.machines.push(machine("drill", rates.1));
        spec.outfits.push(outfit("ploughing", &["plough"]));
        spec.outfits.push(outfit("drilling", &["drill"]));
        let plough = operation("ploughing", &["ploughing"], ["01-01", "01-20", "03-10"]);
        let mut drill = operation("drilling", &["drilling"], ["01-01", "01-20", "03-15"]);
        drill.after.push(LinkSpec { follow_ha: Some(ahead), ..link("ploughing") });
        spec.crops.push(crop("wheat", vec![plough, drill]));
        for (index, (area, distance, _)) in recipe.fields.iter().enumerate() {
            let mut one = field(&format!("field {index}"), f64::from(*area), "wheat");
            one.distance_km = f64::from(*distance);
            spec.fields.push(one);
        }
        let plan = Plan::new(Farm::new(&spec).unwrap());
        let days: Vec<bool> = (0..365).map(|day| recipe.days[day % 80].0).collect();
        let sky = Sky::from_days(&[days]);
        let mut season = Season::new(&plan);
        let mut log: Log<Entry> = Log::default();
        season.work_traced(0, &sky, &mut Manager, &mut log).unwrap();
        // Worked seconds by stretches, and at every instant of the log the areas of the pair.
        let farm = plan.farm();
        let speed = |job: usize| farm.jobs[job].area_ha / farm.jobs[job].work[0].total_s as f64;
        let travel = |job: usize, from: &Option<usize>| {
            let to = &farm.fields[farm.jobs[job].field];
            let km = from.map_or(to.distance_km, |at| farm.fields[at].distance_to_km(to));
            (km / 25.0 * 3600.0).round() as i64
        };
        let mut done = vec![0.0f64; farm.jobs.len()];
        let mut since: Vec<Option<i64>> = vec![None; farm.jobs.len()];
        let mut place: [(i64, Option<usize>); 2] = [(-1, None); 2];
        for (now, entry) in &log.rows {
            let which = usize::from(farm.rows[farm.jobs[entry.job].row].operation == "drilling");
            match entry.what {
                What::Starts => {
                    let today = now / DAY;
                    let from = if place[which].0 == today { place[which].1 } else { None };
                    since[entry.job] = Some(now + travel(entry.job, &from));
                    place[which] = (today, Some(farm.jobs[entry.job].field));
                }
                What::Stops | What::Done => {
                    if let Some(start) = since[entry.job].take() {
                        done[entry.job] += (now - start).max(0) as f64 * speed(entry.job);
                    }
                }
                _ => {}
            }
            for link in &farm.links {
                let area = |job: usize| {
                    done[job] + since[job].map_or(0.0, |start| (now - start).max(0) as f64 * speed(job))
                };
                // Where the plough was given up, the drill's share is rounded to a whole second of its work.
                let (before, after) = (area(link.before), area(link.after));
                prop_assert!(after <= before + speed(link.after), "overtaken at {now}: {before} and {after}");
            }
        }
    }

    #[test]
    fn more_suitable_days_never_make_a_lone_job_later(
        area in 1.0f64..80.0,
        days in prop::collection::vec((prop::bool::weighted(0.4), prop::bool::weighted(0.2)), 365),
    ) {
        let mut spec = bare(0.5);
        spec.people.push(person("one", &["plough"]));
        spec.machines.push(machine("plough", 1.3));
        spec.outfits.push(outfit("ploughing", &["plough"]));
        spec.crops.push(crop("wheat", vec![operation("ploughing", &["ploughing"], ["01-10", "02-20", "06-30"])]));
        spec.fields.push(field("Home", area, "wheat"));
        let plan = Plan::new(Farm::new(&spec).unwrap());
        let mut season = Season::new(&plan);
        let mut finish = |more: bool| {
            let sky = Sky::from_days(&[days.iter().map(|day| day.0 || (more && day.1)).collect::<Vec<_>>()]);
            season.work(0, &sky, &mut Manager).unwrap().rows[0]
        };
        let (fewer, more) = (finish(false), finish(true));
        prop_assert!(more.finish.unwrap_or(i64::MAX) <= fewer.finish.unwrap_or(i64::MAX));
        prop_assert!(more.ha_days_late <= fewer.ha_days_late + 1e-9);
        prop_assert!(more.waits_s[Cause::Weather as usize] <= fewer.waits_s[Cause::Weather as usize]);
    }

    #[test]
    fn more_workable_hours_never_make_a_lone_job_later(
        area in 1.0f64..80.0,
        days in prop::collection::vec((prop::bool::weighted(0.5), 0u16..900, 0u16..300), 365),
        loses in loses(),
        number in any::<u8>(),
    ) {
        let mut spec = bare(0.5);
        spec.classes[0].hours = vec![clock(number)];
        spec.classes[0].short_day_loses = loses;
        spec.people.push(person("one", &["plough"]));
        spec.machines.push(machine("plough", 1.3));
        spec.outfits.push(outfit("ploughing", &["plough"]));
        spec.crops.push(crop("wheat", vec![operation("ploughing", &["ploughing"], ["01-10", "02-20", "06-30"])]));
        spec.fields.push(field("Home", area, "wheat"));
        let plan = Plan::new(Farm::new(&spec).unwrap());
        let mut season = Season::new(&plan);
        let mut finish = |more: u16| {
            let mut sky = Sky::from_days(&[days.iter().map(|day| day.0).collect::<Vec<_>>()]);
            for (at, day) in days.iter().enumerate() {
                sky.set_minutes(0, at, day.1 + more * day.2);
            }
            season.work(0, &sky, &mut Manager).unwrap().rows[0]
        };
        let (fewer, more) = (finish(0), finish(1));
        prop_assert!(more.finish.unwrap_or(i64::MAX) <= fewer.finish.unwrap_or(i64::MAX));
        prop_assert!(more.ha_days_late <= fewer.ha_days_late + 1e-9);
        prop_assert!(more.waits_s[Cause::Weather as usize] <= fewer.waits_s[Cause::Weather as usize]);
    }

    /// Whole days said in minutes are whole days. Without overtime: a clock that opens again only in overtime, after
    /// everyone's hours, is no opening of whole days, and is one of days that may be short.
    #[test]
    fn days_with_all_their_hours_are_whole_days(recipe in recipe()) {
        let mut spec = farm(&recipe);
        spec.people.iter_mut().for_each(|person| person.overtime_h = 0.0);
        let Ok(farm) = Farm::new(&spec) else { return Ok(()) };
        let plan = Plan::new(farm);
        let mut season = Season::new(&plan);
        let plain = sky(&Recipe { short: None, ..recipe }, plan.farm().weather.keys.len());
        let mut said = plain.clone();
        (0..said.keys()).for_each(|key| (0..said.days()).for_each(|day| said.set_minutes(key, day, 1440)));
        // A turn looks anew at what is short, so people and machine may be told apart at other moments.
        let together = |mut outcome: Outcome| {
            for row in &mut outcome.rows {
                row.waits_s[Cause::People as usize] += std::mem::take(&mut row.waits_s[Cause::Machine as usize]);
            }
            outcome
        };
        let whole = together(season.work(3, &plain, &mut Manager).unwrap().clone());
        prop_assert_eq!(whole, together(season.work(3, &said, &mut Manager).unwrap().clone()));
    }
}
