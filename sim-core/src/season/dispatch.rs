//! Dispatch: today's ready jobs by rank, each taken up if an outfit can be put together.
//!
//! An outfit is taken whole or not at all. When the hours of a job's class open, it may call machines and
//! people away from jobs of worse rank; at other times it takes what is free.

use super::crew::{Found, Means, Start, resources};
use super::job::{NEVER, Stage};
use super::plan::DAY;
use super::policy::Policy;
use super::run::{Event, Run, SeasonError, phase};
use super::state::{AtWork, LotCause, Ranked};
use super::trace::{Entry, What, Why};
use crate::kernel::{Agenda, Trace};

impl<P: Policy, T: Trace<Entry>> Run<'_, P, T> {
    /// Goes through today's list once; `opening` says that some hours of the day begin at this instant.
    pub(super) fn dispatch(
        &mut self,
        now: i64,
        opening: bool,
        agenda: &mut Agenda<Event>,
    ) -> Result<(), SeasonError> {
        let plan = self.plan;
        self.state.dispatches += 1;
        let mut this = self.state.dispatches;
        let day = self.state.day as usize;
        let midnight = day as i64 * DAY;
        let second = now - midnight;
        let on_duty = self.on_duty(second);
        let mut free = self.free(on_duty);
        let mut index = 0;
        while let Some(&ranked) = self.state.queue.get(index) {
            let (lot, row) = (ranked.lot as usize, ranked.row as usize);
            index += 1;
            let state = &self.state.lots[lot];
            if state.ready == 0 || state.tried == this {
                continue;
            }
            if ranked.held {
                self.set_lot_cause(lot, now, LotCause::Policy);
                continue;
            }
            if !opening && let Some(cause) = self.plainly_short(row, free) {
                // Outside the hours, too, where the cause does not count yet.
                self.set_lot_cause(lot, now, cause);
                continue;
            }
            let hours = &plan.hours[plan.rows[row].hours];
            let left = self.left_on(lot, day);
            let stretch = left.map_or_else(|| plan.stretch_at(row, day, second), |left| left.holding(second));
            let Some(stretch) = stretch else { continue };
            let opens_now = opening
                && left.map_or_else(
                    || hours.begin_at(day, second),
                    |left| left.begins_within(hours.daily.on(day), second),
                );
            let close = midnight + stretch.end;
            let mut turn = 0;
            let mut seen = !opening;
            loop {
                let reach = if opens_now { self.with_worse(free, ranked.rank) } else { free };
                if !seen && self.plainly_short(row, reach).is_some() {
                    if self.state.lots[lot].ready > 0 {
                        let cause = self.plainly_short(row, free).unwrap_or(LotCause::Machine);
                        self.set_lot_cause(lot, now, cause);
                        self.state.lots[lot].tried = this;
                    }
                    break;
                }
                seen = false;
                let Some(job) = self.candidate(&ranked, &mut turn) else { break };
                if plan.has_choices() && !self.decide_whether(job, now, agenda)? {
                    continue;
                }
                let mut found = self.find_outfit(job, now, close, free, free)?;
                if reach != free
                    && matches!(found, Found::Short(_))
                    && let Some(start) = self.call_for(job, now, close, reach, free, agenda)?
                {
                    found = Found::Start(start);
                    // What was short may now be free.
                    self.state.dispatches += 1;
                    this = self.state.dispatches;
                }
                match found {
                    // The next of the lot may find another outfit.
                    Found::Start(start) => {
                        if plan.has_choices() {
                            self.decide_at_start(job, now, agenda)?;
                        }
                        // Other work may now have to come first.
                        if self.state.jobs[job].stage == Stage::Ready {
                            self.set_out(job, ranked.rank, now, start, agenda);
                        }
                        free = self.free(on_duty);
                    }
                    // Another field of the lot may lie nearer.
                    Found::TooLate => self.set_lot_cause(lot, now, LotCause::People),
                    Found::Short(cause) => {
                        self.set_lot_cause(lot, now, cause);
                        if self.policy.names_outfits() {
                            // Another job may be meant for another outfit.
                            continue;
                        }
                        self.state.lots[lot].tried = this;
                        break;
                    }
                }
            }
        }
        self.set_row_causes(now);
        Ok(())
    }

    /// The next ready job of an entry of the list: of a whole lot one after another.
    fn candidate(&self, ranked: &Ranked, turn: &mut usize) -> Option<usize> {
        let job = ranked.job as usize;
        if ranked.whole_lot {
            let (job, next) = self.next_ready(ranked.lot as usize, *turn)?;
            *turn = next;
            return Some(job);
        }
        let first = *turn == 0 && self.state.jobs[job].stage == Stage::Ready;
        *turn = 1;
        first.then_some(job)
    }

    /// An outfit for a job out of `reach`, called away from what it is at; nothing if there is none.
    #[inline(never)]
    fn call_for(
        &mut self,
        job: usize,
        now: i64,
        close: i64,
        reach: Means,
        free: Means,
        agenda: &mut Agenda<Event>,
    ) -> Result<Option<Start>, SeasonError> {
        let Found::Start(start) = self.find_outfit(job, now, close, reach, free)? else { return Ok(None) };
        self.call_away(start.means, now, agenda);
        Ok(Some(start))
    }

    /// Stops the jobs that hold any of these machines and people.
    fn call_away(&mut self, means: Means, now: i64, agenda: &mut Agenda<Event>) {
        let mut index = 0;
        while let Some(outfit) = self.state.working.get(index) {
            if !outfit.means.has_any_of(means) {
                index += 1;
                continue;
            }
            let job = outfit.job as usize;
            let outfit = self.leave(job, now, agenda);
            self.pause(job, now, Why::CalledAway, &outfit, agenda);
        }
    }

    /// An outfit sets out for a job.
    fn set_out(&mut self, job: usize, rank: f64, now: i64, start: Start, agenda: &mut Agenda<Event>) {
        let plan = self.plan;
        let of = &plan.jobs[job];
        self.end_wait(job, now);
        self.settle_row(of.row(), now);
        self.state.rows[of.row()].working += 1;
        let (choice, other) = (self.state.jobs[job].choice, self.state.jobs[job].other);
        if choice != start.choice as u16 {
            self.reckon(job, start.choice, other);
        }
        let all = &mut *self.state;
        let state = &mut all.jobs[job];
        state.stage = Stage::Working;
        let Start { means, close, .. } = start;
        let begins = now + start.travel_s;
        let stop_at = (begins + state.left_s).min(close);
        let stop = agenda.schedule(stop_at, phase::RELEASE, Event::Stop(job as u32));
        let outfit = AtWork { job: job as u32, start: now, begins, means, rank, close, stop_at, stop };
        all.working.push(outfit);
        if !plan.farm.plenty {
            all.busy_machines |= means.machines;
            all.busy_people |= means.people;
        }
        if plan.has_ways {
            // From here on they are there, also for whoever calls them away on the road.
            resources(means.machines, means.people, plan.farm.machines.len()).for_each(|resource| {
                all.places[resource] = of.field() as u32;
            });
        }
        self.note(now, job, What::Starts, Why::None, Some(&outfit));
        if of.follows {
            self.plan_stop(job, now, agenda);
        }
        if of.is_followed {
            self.followers_after_start(job, now, agenda);
        }
    }

    /// Counts what is left of a job as the work of another outfit, or with the straw treated otherwise.
    pub(super) fn reckon(&mut self, job: usize, choice: usize, other: bool) {
        let plan = self.plan;
        let state = &mut self.state.jobs[job];
        let share = state.live_ha / plan.farm.jobs[job].area_ha;
        let total = ((plan.work(job, choice, other).total_s as f64 * share).round() as i64).max(1);
        let left = state.left_s as f64 / state.total_s as f64 * total as f64;
        let left = (left.ceil() as i64).clamp(1, total);
        if state.stage != Stage::Dormant {
            self.state.rows[plan.jobs[job].row()].needed_s += left - state.left_s;
        }
        state.left_s = left;
        state.total_s = total;
        state.choice = choice as u16;
        state.other = other;
    }

    /// Puts a working job's stop on the agenda anew: when it is done, its hours end, or it has caught up.
    pub(super) fn plan_stop(&mut self, job: usize, now: i64, agenda: &mut Agenda<Event>) {
        let caught_up = if self.plan.jobs[job].follows { self.catches_up_at(job, now) } else { NEVER };
        let left_s = self.state.jobs[job].left_s;
        let Some(outfit) = self.state.working.iter_mut().find(|outfit| outfit.job == job as u32) else {
            return;
        };
        agenda.cancel(outfit.stop);
        outfit.stop_at = (outfit.begins + left_s).min(outfit.close).min(caught_up);
        outfit.stop = agenda.schedule(outfit.stop_at, phase::RELEASE, Event::Stop(job as u32));
    }

    /// The outfit at a job.
    pub(super) fn outfit_at(&self, job: usize) -> Option<&AtWork> {
        self.state.working.iter().find(|outfit| outfit.job == job as u32)
    }
}
