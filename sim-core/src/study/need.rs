//! The hours that the work of a farm needs of each machine and person, half-month by half-month: work to be
//! done, not work done. No season is worked for it.

use crate::farm::{Farm, Window};
use crate::season::Plan;

/// from and due of a job in days of the season; `None` if it lies beyond the season's end, or if nothing of it is left
/// where the season has begun. What is overdue then is needed on that day.
///
/// A window that follows other work has no dates of its own: it is taken as open from the first day to the
/// last that it can be while the work before keeps to its own window.
pub(super) fn window_of(farm: &Farm, job: usize) -> Option<(usize, usize)> {
    let last = farm.span.days() - 1;
    // A chain of windows is at most as long as there are jobs; the farm has refused circles.
    let (mut from, mut due, mut at) = (0, 0, job);
    loop {
        match farm.jobs[at].window {
            Window::Fixed { from: first, due: second, .. } => {
                let (from, due) = (from + first, (due + second).min(last));
                let Some(begun) = &farm.begun else {
                    return (from <= due).then_some((from as usize, due as usize));
                };
                let over = at == job
                    && matches!(farm.jobs[at].window, Window::Fixed { latest, .. } if latest < begun.day);
                let from = from.max(begun.day);
                let nothing = over || left_of(farm, job) == 0.0 || from > last;
                return (!nothing).then_some((from as usize, due.max(from) as usize));
            }
            Window::After { job, from: later, due: latest, .. } => {
                from += later;
                due += latest;
                at = job;
            }
        }
    }
}

/// The share of a job that is left to do, 1 unless the season has begun.
fn left_of(farm: &Farm, job: usize) -> f64 {
    let done = farm.begun.iter().flat_map(|begun| &begun.done).find(|done| done.job == job);
    done.map_or(1.0, |done| if done.whole { 0.0 } else { 1.0 - done.area_ha / farm.jobs[job].area_ha })
}

/// Hours needed: `[resource * half_months + half_month]`, machines first, then people.
///
/// Each job's work by its row's first outfit is spread over the days from..due in proportion to the suitable
/// open hours to be expected of them, evenly where none are. Machines alike share it evenly, and so do those
/// who may drive a unit. Jobs that only a fallback would bring are left out.
pub(super) fn hours_needed(plan: &Plan) -> Vec<f64> {
    let farm = plan.farm();
    let half_months = plan.half_months();
    let mut needed = vec![0.0; (farm.machines.len() + farm.people.len()) * half_months];
    let mut spread = vec![0.0; half_months];
    for (index, job) in farm.jobs.iter().enumerate() {
        let (false, Some((from, due))) = (job.dormant, window_of(farm, index)) else { continue };
        let p = &farm.weather.keys[farm.lots[job.lot].key].p;
        let expected = |day: usize| p[day] * plan.suitable_seconds(job.lot, day);
        let all: f64 = (from..=due).map(expected).sum();
        spread.fill(0.0);
        for day in from..=due {
            let share = if all > 0.0 { expected(day) / all } else { 1.0 / (due - from + 1) as f64 };
            spread[plan.half_month_of(day)] += share;
        }
        let hours = job.work[0].total_s as f64 / 3600.0 * left_of(farm, index);
        let mut give = |resource: usize, part: f64| {
            let own = &mut needed[resource * half_months..][..half_months];
            for (needed, share) in own.iter_mut().zip(&spread) {
                *needed += share * hours * part;
            }
        };
        for unit in &farm.outfits[farm.rows[job.row].outfits[0]].units {
            for (mask, count) in &unit.machines {
                let part = f64::from(*count) / f64::from(mask.count_ones());
                (0..farm.machines.len()).filter(|bit| mask >> bit & 1 == 1).for_each(|bit| give(bit, part));
            }
            if let Some(mask) = unit.drivers {
                let part = 1.0 / f64::from(mask.count_ones());
                let people = (0..farm.people.len()).filter(|bit| mask >> bit & 1 == 1);
                people.for_each(|bit| give(farm.machines.len() + bit, part));
            }
        }
    }
    needed
}
