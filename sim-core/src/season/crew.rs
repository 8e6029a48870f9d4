//! Crews: who is on duty, what is free, and whether one of an operation's outfits can be put together of it.

use super::plan::DAY;
use super::policy::Policy;
use super::run::{Run, SeasonError};
use super::state::{LotCause, YARD};
use super::trace::Entry;
use crate::farm::{Outfit, Unit};
use crate::kernel::Trace;

/// Machines and people: free ones, or those of an outfit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Means {
    pub(super) machines: u128,
    pub(super) people: u64,
}

impl Means {
    /// Whether any of others' machines and people is among these.
    pub(super) fn has_any_of(&self, others: Self) -> bool {
        self.machines & others.machines != 0 || self.people & others.people != 0
    }
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
        let of = &self.plan.rows[row];
        if of.drivers != 0 && of.drivers & free.people == 0 {
            return Some(LotCause::People);
        }
        let mut short = None;
        for unit in &of.units {
            if unit.drivers.is_some_and(|drivers| drivers & free.people == 0) {
                short = short.max(Some(LotCause::People));
            } else if unit.machines.iter().all(|(alike, count)| are_enough(alike & free.machines, *count)) {
                return None;
            } else {
                short = Some(LotCause::Machine);
            }
        }
        short
    }

    /// What every outfit of a row is plainly short of, even of what a job of this rank could call away.
    #[inline]
    pub(super) fn out_of_reach(&self, row: usize, rank: f64, free: Means) -> Option<LotCause> {
        let cause = self.plainly_short(row, free)?;
        let reach = self.with_worse(free, row, rank);
        (reach == free || self.plainly_short(row, reach).is_some()).then_some(cause)
    }

    /// Mask of the people on duty at a second of today; looked up anew only when someone comes or goes.
    pub(super) fn on_duty(&mut self, second: i64) -> u64 {
        let state = &mut *self.state;
        if second < state.duty.from || state.duty.until <= second {
            state.duty = self.plan.duty_at(state.day as usize, second, state.overtime_s.unwrap_or_default());
        }
        state.duty.people
    }

    /// What is free, and what is at work on jobs of worse rank, unless its outfit would only go to another field for a
    /// row's work.
    pub(super) fn with_worse(&self, free: Means, row: usize, rank: f64) -> Means {
        let mut reach = free;
        for outfit in &self.state.working {
            if outfit.rank > rank && !self.plan.farm.rows[row].outfits.contains(&(outfit.outfit as usize)) {
                reach.machines |= outfit.means.machines;
                reach.people |= outfit.means.people;
            }
        }
        reach
    }

    /// The first of the job's outfits that can be put together out of `reach` and still do some work
    /// today; what is in `free` is taken rather than the rest.
    #[inline(always)]
    pub(super) fn find_outfit(
        &mut self,
        job: usize,
        now: i64,
        close: i64,
        reach: Means,
        free: Means,
    ) -> Result<Found, SeasonError> {
        let plan = self.plan;
        let of = &plan.jobs[job];
        let named = if self.policy.names_outfits() { self.named_outfit(job)? } else { None };
        let mut short = LotCause::People;
        let mut too_late = false;
        for (choice, &outfit) in plan.farm.rows[of.row()].outfits.iter().enumerate() {
            if named.is_some_and(|named| named != choice) {
                continue;
            }
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
            let (day, overtime_s) = (self.state.day as usize, self.state.overtime_s.unwrap_or_default());
            let off_duty = bits(means.people)
                .filter_map(|person| plan.off_duty_at(person, day, now - midnight, overtime_s))
                .min();
            let travel_s = if plan.has_ways { self.travel_s(outfit, means, of.field()) } else { 0 };
            let close = off_duty.map_or(close, |end| close.min(midnight + end));
            if now + travel_s < close {
                return Ok(Found::Start(Start { choice, means, travel_s, close }));
            }
            too_late = true;
        }
        Ok(if too_late { Found::TooLate } else { Found::Short(short) })
    }

    /// The outfit that alone may take a job today, if the policy names one: asked once a day where there are several.
    fn named_outfit(&mut self, job: usize) -> Result<Option<usize>, SeasonError> {
        let day = self.state.day;
        if self.plan.farm.rows[self.plan.jobs[job].row()].outfits.len() < 2 {
            return Ok(None);
        }
        let known = self.state.named[job];
        if known.day == day {
            return Ok(known.choice.map(usize::from));
        }
        let view = self.view(job, day);
        let choice = self.policy.outfit(&view).map_err(|error| self.policy_error(error))?;
        self.state.named[job] = super::state::Named { day, choice: choice.map(|choice| choice as u16) };
        Ok(choice)
    }

    /// Seconds on the road until the last of an outfit is at a field.
    fn travel_s(&self, outfit: &Outfit, means: Means, field: usize) -> i64 {
        let fields = &self.plan.farm.fields;
        let to = &fields[field];
        let mut far_km: f64 = 0.0;
        resources(means.machines, means.people, self.plan.farm.machines.len()).for_each(|resource| {
            let km = match self.state.places[resource] {
                YARD => to.distance_km,
                at if at as usize == field => 0.0,
                at => fields[at as usize].distance_to_km(to),
            };
            if km > far_km {
                far_km = km;
            }
        });
        if far_km > 0.0 { (far_km / outfit.road_speed_km_h * 3600.0).round() as i64 } else { 0 }
    }
}

/// Whether a mask of machines holds so many.
fn are_enough(machines: u128, count: u32) -> bool {
    if count == 1 { machines != 0 } else { machines.count_ones() >= count }
}

/// Machines and people for every unit of an outfit out of `reach`, what is in `free` first; or what is short.
#[inline]
fn put_together(outfit: &Outfit, reach: Means, free: Means, order: &[u8]) -> Result<Means, LotCause> {
    if outfit.anyone & reach.people == 0 && outfit.anyone != 0 {
        return Err(LotCause::People);
    }
    let people = match outfit.units.as_slice() {
        [Unit { drivers: Some(drivers), .. }] => {
            let may = drivers & reach.people;
            first_asked(if may & free.people != 0 { may & free.people } else { may }, order)
        }
        units => man(units, reach.people, free.people, order),
    };
    let people = people.ok_or(LotCause::People)?;
    let mut machines = 0;
    for unit in &outfit.units {
        for &(alike, count) in &unit.machines {
            for _ in 0..count {
                let left = alike & reach.machines & !machines;
                let first = if left & free.machines != 0 { left & free.machines } else { left };
                if first == 0 {
                    return Err(LotCause::Machine);
                }
                machines |= first & first.wrapping_neg();
            }
        }
    }
    Ok(Means { machines, people })
}

/// A driver for each unit that needs one, each another person.
fn man(units: &[Unit], reach: u64, free: u64, order: &[u8]) -> Option<u64> {
    let Some((unit, others)) = units.split_first() else { return Some(0) };
    let Some(drivers) = unit.drivers else { return man(others, reach, free, order) };
    for mut pool in [drivers & reach & free, drivers & reach & !free] {
        while let Some(person) = first_asked(pool, order) {
            if let Some(rest) = man(others, reach & !person, free & !person, order) {
                return Some(rest | person);
            }
            pool &= !person;
        }
    }
    None
}

/// The one of some people who is asked first.
#[inline]
fn first_asked(people: u64, order: &[u8]) -> Option<u64> {
    if people.is_power_of_two() {
        return Some(people);
    }
    order.iter().map(|person| 1 << person).find(|person| people & person != 0)
}

/// The places of the bits of a mask.
pub(super) fn bits(mut mask: u64) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        (mask != 0).then(|| {
            let bit = mask.trailing_zeros() as usize;
            mask &= mask - 1;
            bit
        })
    })
}

/// The indices of machines, then of people behind them, in a pair of masks. Best gone through with `for_each`.
pub(super) fn resources(machines: u128, people: u64, count: usize) -> impl Iterator<Item = usize> {
    let high = bits((machines >> 64) as u64).map(|bit| 64 + bit);
    bits(machines as u64).chain(high).chain(bits(people).map(move |person| count + person))
}
