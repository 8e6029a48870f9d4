//! What is said of a season that is taken up on a day: what is done, what was assumed, what is no longer to be done.

use super::standing::{Standing, standing};
use crate::cli::plain::wrapped;
use crate::words::{day_month, number, one_after_another};
use sim_core::farm::{Done, Farm, Known};
use sim_core::season::Plan;

/// Adds what is to be known of a season from a day on; nothing where seasons are worked from their first day.
pub(in crate::cli) fn told(text: &mut String, plan: &Plan) {
    let farm = plan.farm();
    let Some(begun) = &farm.begun else { return };
    let today = day_month(farm.span.date(begun.day));
    let weather = if farm.weather.recorded.is_some() {
        "The days from then on are the recorded years' own, whatever the soil and the sky are like today."
    } else {
        "The days from then on are drawn: they know nothing of the soil and the sky today."
    };
    let costs = if farm.costs.given() { " Running costs count from then on." } else { "" };
    wrapped(text, &format!("From {today} on, with what is done by then. {weather}{costs}"));
    let standing = standing(plan);
    let mut done = 0;
    let mut part = Vec::new();
    let mut by_area = false;
    for (index, row) in farm.rows.iter().enumerate() {
        let of: Vec<&Done> = begun.done.iter().filter(|done| farm.jobs[done.job].row == index).collect();
        let own =
            || row.jobs.iter().filter(|job| standing.get(**job).is_some_and(|of| *of != Standing::Asleep));
        if of.is_empty() {
            continue;
        }
        let name = format!("{}, {}", row.operation, farm.crops[row.crop]);
        if own().all(|job| standing[*job] == Standing::Done) {
            done += 1;
        } else if of.iter().any(|done| done.known == Known::Said) {
            by_area |= of.iter().any(|done| !done.whole) && own().count() > 1;
            let done_ha: f64 = of.iter().map(|done| done.area_ha).sum();
            let all_ha: f64 = own().map(|job| farm.jobs[*job].area_ha).sum();
            part.push(format!(
                "{name}: {} of {} ha ({})",
                number(done_ha, 1),
                number(all_ha, 1),
                fields(farm, &of)
            ));
        }
    }
    match done {
        0 => {}
        1 => text.push_str("1 operation is done.\n"),
        count => text.push_str(&format!("{count} operations are done.\n")),
    }
    for of in part {
        wrapped(text, &format!("Part done: {of}."));
    }
    if by_area {
        wrapped(text, "Of what is said as an area, the fields nearest the yard are taken to be done first.");
    }
    let due = rows(farm, |job| begun.done.iter().any(|done| done.job == job && done.known == Known::WasDue));
    if !due.is_empty() {
        let are = if due.len() == 1 { "1 of them is" } else { &format!("{} of them are", due.len()) };
        wrapped(text, &format!("{are} not in the diary but due by then, at least on some fields."));
    }
    let assumed =
        rows(farm, |job| begun.done.iter().any(|done| done.job == job && done.known == Known::MustBe));
    if !assumed.is_empty() {
        wrapped(
            text,
            &format!(
                "Not said, but taken as done, since work that comes after it is: {}.",
                assumed.join("; ")
            ),
        );
    }
    let given_up = rows(farm, |job| standing.get(job) == Some(&Standing::GivenUp));
    if !given_up.is_empty() {
        wrapped(
            text,
            &format!(
                "Not said to be done, and past its last day or without the work before it, so taken as given up: {}. What \
                 is done after all, say in the diary, or take all that was due by then as done with --rest-done.",
                given_up.join("; ")
            ),
        );
    }
}

/// Rows with such jobs, each with how many of its fields it is.
fn rows(farm: &Farm, such: impl Fn(usize) -> bool) -> Vec<String> {
    let of = |row: &sim_core::farm::Row| {
        let jobs: Vec<usize> = row.jobs.iter().copied().filter(|job| such(*job)).collect();
        let sure = row.jobs.iter().filter(|job| !farm.jobs[**job].dormant).count();
        let name = format!("{}, {}", row.operation, farm.crops[row.crop]);
        match jobs.as_slice() {
            [] => None,
            all if all.len() == sure => Some(name),
            [only] => Some(format!("{name} on {}", farm.fields[farm.jobs[*only].field].name)),
            some => Some(format!("{name} on {} fields", some.len())),
        }
    };
    farm.rows.iter().filter_map(of).collect()
}

/// The fields of what is done, with the area where it is not all.
fn fields(farm: &Farm, done: &[&Done]) -> String {
    let of = |done: &&Done| {
        let name = farm.fields[farm.jobs[done.job].field].name.clone();
        if done.whole { name } else { format!("{} ha of {name}", number(done.area_ha, 1)) }
    };
    one_after_another(&done.iter().map(of).collect::<Vec<_>>())
}
