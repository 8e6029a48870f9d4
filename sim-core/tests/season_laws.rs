//! Laws that hold on every farm, checked on random ones: accounts to the second, nobody and nothing in two
//! places, no overtaking, no work in hours that a short day has lost, lateness as the finish has it, and more suitable
//! days or hours never making a lone job later.

mod common;

use common::*;
use proptest::prelude::*;
use sim_core::farm::spec::*;
use sim_core::farm::{Farm, Missed};
use sim_core::kernel::Log;
use sim_core::season::{
    Cause, DAY, Entry, FieldView, JobView, Manager, Outcome, Plan, Policy, PolicyError, Season, What,
};
use sim_core::weather::{HoursRule, Left, Loses, MonthDay, Sky, Stretch};

/// What a random farm is made of: numbers only, so that it shrinks well.
#[derive(Debug, Clone)]
struct Recipe {
    people: Vec<(u8, u8, u8)>,
    outfits: Vec<(u8, u8)>,
    operations: Vec<Step>,
    fields: Vec<(u8, u8, bool)>,
    days: Vec<(bool, bool)>,
    short: Option<Short>,
    decides: Decides,
}

/// What a policy decides, and how: by numbers that mean nothing.
#[derive(Debug, Clone, Copy, Default)]
struct Decides {
    straw: Option<u8>,
    tillage: Option<u8>,
    outfit: Option<u8>,
}

impl Decides {
    fn anything(self) -> bool {
        self.straw.is_some() || self.tillage.is_some() || self.outfit.is_some()
    }

    fn pick(number: u8, field: usize, ways: usize) -> usize {
        (usize::from(number) >> (field % 5)) % ways
    }
}

impl Policy for Decides {
    fn fields_rank_alike(&self) -> bool {
        true
    }

    fn names_outfits(&self) -> bool {
        self.outfit.is_some()
    }

    fn outfit(&mut self, job: &JobView<'_>) -> Result<Option<usize>, PolicyError> {
        let outfits = job.farm.rows[job.farm.jobs[job.job].row].outfits.len();
        let picked = Self::pick(self.outfit.unwrap_or(0), job.job + job.day as usize, outfits + 1);
        Ok((picked < outfits).then_some(picked))
    }

    fn straw(&mut self, field: &FieldView<'_>, usual: Straw) -> Result<Straw, PolicyError> {
        let other = self.straw.is_some_and(|number| Self::pick(number, field.field, 2) == 1);
        Ok(if other { usual.other() } else { usual })
    }

    fn tillage(&mut self, field: &FieldView<'_>, usual: usize) -> Result<usize, PolicyError> {
        Ok(self.tillage.map_or(usual, |number| Self::pick(number, field.field, TILLAGE.len())))
    }
}

/// Part-suitable days: a clock, what it loses, whether only the first soil has them, and their minutes.
#[derive(Debug, Clone)]
struct Short {
    clock: u8,
    loses: Loses,
    one_soil: bool,
    minutes: Vec<(u16, u16)>,
}

#[derive(Debug, Clone)]
struct Step {
    outfit: u8,
    second: Option<u8>,
    from: u8,
    due: u8,
    latest: u8,
    link: Option<(u8, u8)>,
    after_days: bool,
    /// Done only with some straw or on some seedbeds, or chopping slows it.
    only: u8,
}

fn loses() -> impl Strategy<Value = Loses> {
    prop_oneof![Just(Loses::Start), Just(Loses::End), Just(Loses::Middle)]
}

fn short() -> impl Strategy<Value = Short> {
    let minutes = prop_oneof![1 => Just(0), 1 => Just(1440), 6 => 1u16..1000];
    let minutes = prop::collection::vec((minutes.clone(), minutes), 80);
    (any::<u8>(), loses(), any::<bool>(), minutes).prop_map(|(clock, loses, one_soil, minutes)| Short {
        clock,
        loses,
        one_soil,
        minutes,
    })
}

/// A clock of one, two or three stretches.
fn clock(number: u8) -> HoursRule {
    let mut rule = hours(5.0, 21.0);
    let cuts: &[[f64; 2]] = match number % 3 {
        0 => &[[5.0, 21.0]],
        1 => &[[0.0, 11.5], [13.0, 24.0]],
        _ => &[[6.0, 9.0], [10.0, 12.0], [15.0, 22.0]],
    };
    let stretch = |cut: &[f64; 2]| Stretch { start: (cut[0] * 3600.0) as i64, end: (cut[1] * 3600.0) as i64 };
    rule.open = cuts.iter().map(stretch).collect();
    rule
}

fn recipe() -> impl Strategy<Value = Recipe> {
    let step = (
        any::<u8>(),
        prop::option::of(any::<u8>()),
        0u8..40,
        0u8..15,
        0u8..15,
        prop::option::of((any::<u8>(), 0u8..7)),
        prop::bool::weighted(0.2),
        0u8..12,
    )
        .prop_map(|(outfit, second, from, due, latest, link, after_days, only)| Step {
            outfit,
            second,
            from,
            due,
            latest,
            link,
            after_days,
            only,
        });
    let decided = || prop::option::weighted(0.3, any::<u8>());
    let decides = (decided(), decided(), decided()).prop_map(|(straw, tillage, outfit)| Decides {
        straw,
        tillage,
        outfit,
    });
    (
        prop::collection::vec((6u8..10, 4u8..12, any::<u8>()), 1..5),
        prop::collection::vec((1u8..4, any::<u8>()), 1..5),
        prop::collection::vec(step, 1..5),
        prop::collection::vec((1u8..40, 0u8..10, any::<bool>()), 1..7),
        prop::collection::vec((prop::bool::weighted(0.6), prop::bool::weighted(0.4)), 80),
        prop::option::of(short()),
        decides,
    )
        .prop_map(|(people, outfits, operations, fields, days, short, decides)| Recipe {
            people,
            outfits,
            operations,
            fields,
            days,
            short,
            decides,
        })
}

const MACHINES: u8 = 5;

fn day(number: u32) -> When {
    let date = jiff::civil::date(2025, 1, 1).saturating_add(jiff::Span::new().days(i64::from(number)));
    When::Date(MonthDay::of(date))
}

/// A farm of a season of 80 days. Machine `m` may be driven by everyone whose mask has bit `m`, and by the
/// first person, so that every outfit can be manned where it has no more units than there are people.
fn farm(recipe: &Recipe) -> FarmSpec {
    let mut spec = bare(0.5);
    spec.last_day = spec.first_day.saturating_add(jiff::Span::new().days(79));
    if let Some(short) = &recipe.short {
        spec.classes[0].hours = vec![clock(short.clock)];
        spec.classes[0].short_day_loses = short.loses;
    }
    for (index, (start, length, mask)) in recipe.people.iter().enumerate() {
        let drives: Vec<String> = (0..MACHINES)
            .filter(|m| index == 0 || mask >> m & 1 == 1)
            .map(|m| format!("machine {m}"))
            .collect();
        let names: Vec<&str> = drives.iter().map(String::as_str).collect();
        let mut someone = person(&format!("person {index}"), &names);
        someone.hours = vec![hours(f64::from(*start), f64::from(*start + *length))];
        someone.overtime_h = f64::from(mask % 3);
        spec.people.push(someone);
    }
    for m in 0..MACHINES {
        let mut one = machine(&format!("machine {m}"), f64::from(m + 1) * 0.7);
        one.road_speed_km_h = Some(20.0 + f64::from(m));
        spec.machines.push(one);
    }
    for (index, (units, first)) in recipe.outfits.iter().enumerate() {
        let units: Vec<Vec<String>> = (0..*units)
            .map(|unit| vec![format!("machine {}", (first.wrapping_add(unit)) % MACHINES)])
            .collect();
        spec.outfits.push(OutfitSpec { units, ..outfit(&format!("outfit {index}"), &[]) });
    }
    let outfit_name = |number: u8| format!("outfit {}", number as usize % recipe.outfits.len());
    let mut operations: Vec<OperationSpec> = Vec::new();
    for (index, step) in recipe.operations.iter().enumerate() {
        let name = format!("operation {index}");
        let mut one = operation(&name, &[&outfit_name(step.outfit)], ["01-01", "01-01", "01-01"]);
        if let Some(second) = step.second {
            one.outfits.push(outfit_name(second));
            one.outfits.dedup();
        }
        let due = u32::from(step.from) + u32::from(step.due);
        (one.from, one.due, one.latest) =
            (day(step.from.into()), day(due), Some(day(due + u32::from(step.latest))));
        if let Some((before, kind)) = step.link
            && index > 0
        {
            let before = before as usize % index;
            let mut to = link(&format!("operation {before}"));
            match kind {
                0 => to.required = false,
                1 => to.min_lag_h = 30.0,
                2 | 3 => to.follow_ha = Some(2.0),
                4 => (to.max_lag_days, to.if_missed) = (Some(3), Missed::Repeat),
                5 => (to.max_lag_days, to.if_missed) = (Some(3), Missed::Drop),
                _ => {}
            }
            if step.after_days {
                let after = |days| When::DaysAfter { operation: to.operation.clone(), days };
                one.from = after(step.from.into());
                one.due = after(due);
                one.latest = Some(after(due + u32::from(step.latest)));
            }
            one.after.push(to);
        }
        match step.only {
            0 => one.straw = Some(Straw::Bale),
            1 => one.straw = Some(Straw::Chop),
            2 | 3 => one.chopping_factor = 0.6,
            4..7 => one.tillage = vec![TILLAGE[usize::from(step.only - 4)].into()],
            7 => (one.straw, one.tillage) = (Some(Straw::Bale), vec![TILLAGE[1].into()]),
            8 => one.tillage = TILLAGE[..2].iter().map(|way| (*way).into()).collect(),
            _ => {}
        }
        operations.push(one);
    }
    spec.left_open =
        LeftOpen { straw: recipe.decides.straw.is_some(), tillage: recipe.decides.tillage.is_some() };
    spec.crops.push(crop("crop", operations));
    for (index, (area, distance, heavy)) in recipe.fields.iter().enumerate() {
        let mut one = field(&format!("field {index}"), f64::from(*area), "crop");
        one.distance_km = f64::from(*distance);
        one.soil = if *heavy { "heavy" } else { "medium" }.into();
        spec.fields.push(one);
    }
    spec
}

fn sky(recipe: &Recipe, keys: usize) -> Sky {
    let rows: Vec<Vec<bool>> = (0..keys)
        .map(|key| recipe.days.iter().map(|day| if key == 0 { day.0 } else { day.0 && day.1 }).collect())
        .collect();
    let mut sky = Sky::from_days(&rows);
    if let Some(short) = &recipe.short {
        for key in 0..if short.one_soil { 1 } else { keys } {
            for (day, minutes) in short.minutes.iter().enumerate() {
                sky.set_minutes(key, day, if key == 0 { minutes.0 } else { minutes.1 });
            }
        }
    }
    sky
}

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
