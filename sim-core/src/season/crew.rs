//! Crews: who is on duty, what is free, and whether one of an operation's outfits can be put together of it.

use super::plan::DAY;
use super::policy::Policy;
use super::run::{Run, SeasonError, resources};
use super::state::{Duty, LotCause, YARD};
use super::trace::Entry;
use crate::farm::{Outfit, Unit};
use crate::kernel::Trace;

/// Machines and people: free ones, or those of an outfit.
#[derive(Debug, Clone, Copy)]
pub(super) struct Means {
    pub(super) machines: u128,
    pub(super) people: u64,
}

/// What came of looking for an outfit.
#[derive(Debug, Clone, Copy)]
pub(super) enum Found {
    /// This one can set out.
    Start(Start),
    /// One could, but would come too late to work today.
    TooLate,
    /// None could.
    Short(LotCause),
}

/// An outfit that can set out.
#[derive(Debug, Clone, Copy)]
pub(super) struct Start {
    pub(super) choice: usize,
    pub(super) means: Means,
    pub(super) travel_s: i64,
    pub(super) close: i64,
}

impl<P: Policy, T: Trace<Entry>> Run<'_, P, T> {
    /// What is not in use, of those on duty.
    pub(super) fn free(&self, on_duty: u64) -> Means {
        Means { machines: !self.state.busy_machines, people: on_duty & !self.state.busy_people }
    }

    /// What every outfit of a row is short of, where that can be seen without putting any together.
    pub(super) fn plainly_short(&self, row: usize, free: Means) -> Option<LotCause> {
        let mut short = LotCause::People;
        for &outfit in &self.plan.farm.rows[row].outfits {
            let outfit = &self.plan.farm.outfits[outfit];
            let [unit] = outfit.units.as_slice() else { return None };
            if unit.drivers.is_some_and(|drivers| drivers & free.people == 0) {
                continue;
            }
            if unit.machines.iter().all(|(alike, count)| (alike & free.machines).count_ones() >= *count) {
                return None;
            }
            short = LotCause::Machine;
        }
        Some(short)
    }

    /// Mask of the people on duty at a second of today; found anew only when someone comes or goes.
    pub(super) fn on_duty(&mut self, second: i64) -> u64 {
        let known = self.state.duty;
        if known.from <= second && second < known.until {
            return known.people;
        }
        let mut duty = Duty { from: second, until: DAY + 1, people: 0 };
        for person in 0..self.plan.farm.people.len() {
            match self.off_duty_at(person, second) {
                Some(end) => {
                    duty.people |= 1 << person;
                    self.state.off_duty[person] = end;
                    duty.until = duty.until.min(end);
                }
                None => {
                    let hours = self.plan.person_hours[person].on(self.state.day as usize);
                    if let Some(next) = hours.iter().find(|open| open.start > second) {
                        duty.until = duty.until.min(next.start);
                    }
                }
            }
        }
        self.state.duty = duty;
        duty.people
    }

    /// The end of the hours, overtime included, that a person is in at a second of today.
    fn off_duty_at(&self, person: usize, second: i64) -> Option<i64> {
        let of = &self.plan.farm.people[person];
        if self.state.day < of.from_day {
            return None;
        }
        let hours = self.plan.person_hours[person].on(self.state.day as usize);
        hours.iter().enumerate().find_map(|(index, open)| {
            let last = hours.get(index + 1).is_none_or(|next| next.start == next.end);
            let overtime = if last { self.state.overtime_s.min(of.overtime_s) } else { 0 };
            let end = (open.end + overtime).min(DAY);
            (open.start <= second && second < end).then_some(end)
        })
    }

    /// What is free, and what is at work on jobs of worse rank.
    pub(super) fn with_worse(&self, free: Means, rank: f64) -> Means {
        let mut reach = free;
        for job in &self.state.working {
            let job = &self.state.jobs[*job as usize];
            if job.rank > rank {
                reach.machines |= job.machines;
                reach.people |= job.people;
            }
        }
        reach
    }

    /// The first of the job's outfits that can be put together out of `reach` and still do some work
    /// today; what is in `free` is taken rather than the rest.
    pub(super) fn find_outfit(
        &mut self,
        job: usize,
        now: i64,
        close: i64,
        reach: Means,
        free: Means,
    ) -> Result<Found, SeasonError> {
        let plan = self.plan;
        let of = &plan.farm.jobs[job];
        let mut short = LotCause::People;
        let mut too_late = false;
        for (choice, &outfit) in plan.farm.rows[of.row].outfits.iter().enumerate() {
            let outfit = &plan.farm.outfits[outfit];
            if outfit.contractor.is_some_and(|person| self.state.day < plan.farm.people[person].from_day) {
                continue;
            }
            let means = match put_together(outfit, reach, free, &plan.people_order) {
                Ok(means) => means,
                Err(cause) => {
                    short = short.max(cause);
                    continue;
                }
            };
            if let Some(person) = outfit.contractor {
                let view = self.view(job, self.state.day);
                let only_if_behind = plan.farm.people[person].only_if_behind;
                let hired =
                    self.policy.hire(&view, only_if_behind).map_err(|error| self.policy_error(error))?;
                if !hired {
                    continue;
                }
            }
            let midnight = i64::from(self.state.day) * DAY;
            let off_duty = resources(0, means.people, 0)
                .map(|person| self.state.off_duty[person])
                .min()
                .map_or(close, |end| midnight + end);
            let travel_s = self.travel_s(outfit, means, of.field);
            let close = close.min(off_duty);
            if now + travel_s < close {
                return Ok(Found::Start(Start { choice, means, travel_s, close }));
            }
            too_late = true;
        }
        Ok(if too_late { Found::TooLate } else { Found::Short(short) })
    }

    /// Seconds on the road until the last of an outfit is at a field.
    fn travel_s(&self, outfit: &Outfit, means: Means, field: usize) -> i64 {
        let fields = &self.plan.farm.fields;
        let to = &fields[field];
        let mut far_km: f64 = 0.0;
        for resource in resources(means.machines, means.people, self.plan.farm.machines.len()) {
            far_km = far_km.max(match self.state.places[resource] {
                YARD => to.distance_km,
                at if at as usize == field => 0.0,
                at => fields[at as usize].distance_to_km(to),
            });
        }
        if far_km > 0.0 { (far_km / outfit.road_speed_km_h * 3600.0).round() as i64 } else { 0 }
    }
}

/// Machines and people for every unit of an outfit out of `reach`, what is in `free` first; or what is short.
fn put_together(outfit: &Outfit, reach: Means, free: Means, order: &[u8]) -> Result<Means, LotCause> {
    if outfit.anyone & reach.people == 0 && outfit.anyone != 0 {
        return Err(LotCause::People);
    }
    let people = man(&outfit.units, 0, reach.people, free.people, order).ok_or(LotCause::People)?;
    let mut machines = 0;
    for &(alike, count) in outfit.units.iter().flat_map(|unit| &unit.machines) {
        for _ in 0..count {
            let left = alike & reach.machines & !machines;
            let first = if left & free.machines != 0 { left & free.machines } else { left };
            if first == 0 {
                return Err(LotCause::Machine);
            }
            machines |= first & first.wrapping_neg();
        }
    }
    Ok(Means { machines, people })
}

/// A driver for each unit from `next` on that needs one, each another person.
fn man(units: &[Unit], next: usize, reach: u64, free: u64, order: &[u8]) -> Option<u64> {
    let Some(unit) = units.get(next) else { return Some(0) };
    let Some(drivers) = unit.drivers else { return man(units, next + 1, reach, free, order) };
    let may = drivers & reach;
    for pool in [may & free, may & !free] {
        if pool == 0 {
            continue;
        }
        for person in order {
            let bit = 1u64 << person;
            if pool & bit != 0
                && let Some(rest) = man(units, next + 1, reach & !bit, free & !bit, order)
            {
                return Some(rest | bit);
            }
        }
    }
    None
}
